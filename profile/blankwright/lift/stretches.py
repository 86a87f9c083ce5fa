"""Where a thing differs from its drawing, in a maker's words: stretches of one region, left or short, and how much."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from blankwright.base.arrays import Array
from blankwright.base.frozen import dataclass
from blankwright.base.said import Line, Quantity, mm, said
from blankwright.geometry.outline import Outline
from blankwright.lift.offness import Line as Row
from blankwright.lift.offness import signed_mm

TIP_MM = 3.0
"""So near to its foremost place a blade is called its tip."""
STEP_MM = 0.25
"""Places are looked at this far apart."""
JOINED_MM = 3.0
"""Two stretches of one kind that are nearer than this are told as one."""
LEAST_TOLD_MM = 0.05
"""Less than this is told by no file: half of the tenth that a maker reads off a caliper."""


@dataclass(frozen=True)
class Stretch:
    """A stretch where a thing differs from its drawing.

    Args:
        from_mm: Where it begins, along x from the heel; ahead is positive [mm].
        to_mm: Where it ends; never less than from_mm [mm].
        region: edge, spine, heel, tang, butt, or tip.
        mm: The most it differs there: plus is left (outside), minus is short (inside) [mm].
        at_mm: Where that is [mm].
    """

    from_mm: float
    to_mm: float
    region: str
    mm: float
    at_mm: tuple[float, float]

    @property
    def line(self) -> Line:
        """The stretch as a sentence."""
        where, values = _span_words(self.from_mm, self.to_mm, self.region)
        if self.mm > 0:
            return said(f"{{}} left {where}.", mm(self.mm, 1), *values)
        return said(f"{{}} short {where}: cannot be put back.", mm(-self.mm, 1), *values)


@dataclass(frozen=True, eq=False)
class Differences:
    """How far a thing lies outside or inside its drawing, place by place along the drawing.

    Args:
        along_mm: (n,) how far along the drawing's outline, rising [mm].
        points: (n, 2) the places [mm].
        out: (n, 2) directions out of the drawing there.
        regions: (n,) region of the drawing there; the tip is one.
        off_mm: (n,) how far the thing is outside, or inside if less than 0 [mm].
    """

    along_mm: Array
    points: Array
    out: Array
    regions: tuple[str, ...]
    off_mm: Array

    @property
    def over_mm(self) -> float:
        """The most that is left [mm]."""
        return max(float(self.off_mm.max()), 0.0)

    @property
    def short_mm(self) -> float:
        """The most that is missing [mm]."""
        return max(-float(self.off_mm.min()), 0.0)

    def stretches(self, least_mm: float) -> list[Stretch]:
        """Return where it differs by more than a length, the worst first.

        Args:
            least_mm: Less than this is not told [mm].
        """
        found = []
        for region in dict.fromkeys(self.regions):
            of_region = np.array([r == region for r in self.regions])
            for sign in (1, -1):
                rows = np.flatnonzero(of_region & (sign * self.off_mm > least_mm))
                found += [self._stretch(run, region) for run in _runs(self.along_mm, rows)]
        return sorted(found, key=lambda s: -abs(s.mm))

    def _stretch(self, rows: NDArray[np.intp], region: str) -> Stretch:
        worst = rows[int(np.abs(self.off_mm[rows]).argmax())]
        x = self.points[rows, 0]
        at = (float(self.points[worst, 0]), float(self.points[worst, 1]))
        return Stretch(float(x.min()), float(x.max()), region, float(self.off_mm[worst]), at)


def _runs(along: Array, rows: NDArray[np.intp]) -> list[NDArray[np.intp]]:
    """Return rows in runs that follow each other."""
    if not len(rows):
        return []
    cut = np.flatnonzero(np.diff(along[rows]) > JOINED_MM) + 1
    return [np.asarray(run) for run in np.split(rows, cut)]


def differences(drawing: Outline, thing: Outline) -> Differences:
    """Return how far a thing lies outside or inside its drawing.

    Measured both ways, exactly on the arcs: from the thing to the drawing, which finds a burr or a nick, and from the
    drawing to the thing, which finds a tip that is missing.

    Args:
        drawing: The outline as it was to be.
        thing: The outline as it is, laid on the drawing.
    """
    row = Row(drawing, STEP_MM, corners=True)
    there = np.vstack([thing.sampled(STEP_MM)[0], thing.starts])
    near = row.nearest(there)
    outward = signed_mm(drawing, there)
    inward = -signed_mm(thing, row.places)
    index = np.concatenate([near, np.arange(len(row.places))])
    off = np.concatenate([outward, inward])
    # of all that was measured at a place of the drawing the most counts
    order = np.lexsort((np.abs(off), index))
    last = np.flatnonzero(np.diff(np.append(index[order], -1)) != 0)
    at, most = index[order][last], off[order][last]
    tip = drawing.flattened(0.01)
    foremost = tip[int(tip[:, 0].argmax())]
    at_tip = np.hypot(*(row.places[at] - foremost).T) < TIP_MM
    regions = tuple(
        "tip" if near_tip else drawing.regions[p]
        for near_tip, p in zip(at_tip.tolist(), row.piece[at].tolist(), strict=True)
    )
    return Differences(row.along_mm[at], row.places[at], row.out[at], regions, most)


def _span_words(low: float, high: float, region: str) -> tuple[str, tuple[Quantity, ...]]:
    """Return where a stretch is, with {} for its lengths."""
    if region == "tip":
        return "at the tip", ()
    if region in ("heel", "butt"):
        return f"at the {region}", ()
    if round(low) == round(high):
        return place_words((low + high) / 2, region, None)
    if low >= -0.5:
        return f"on the {region} {{}} ahead of the heel", (mm(max(low, 0.0), 0, upto=high),)
    if high <= 0.5:
        return f"on the {region} {{}} behind the heel", (mm(max(-high, 0.0), 0, upto=-low),)
    return f"on the {region} from {{}} behind the heel to {{}} ahead of it", (mm(-low, 0), mm(high, 0))


def place_words(x_mm: float, region: str, blade_mm: float | None) -> tuple[str, tuple[Quantity, ...]]:
    """Return where a place is, with {} for its length.

    Args:
        x_mm: Ahead of the heel [mm].
        region: Its region.
        blade_mm: Where the tip is [mm]; None where it does not matter.
    """
    if blade_mm is not None and abs(x_mm - blade_mm) < TIP_MM:
        return "at the tip", ()
    if region in ("heel", "butt"):
        return f"at the {region}", ()
    way = "ahead of" if x_mm >= 0 else "behind"
    return f"on the {region} {{}} {way} the heel", (mm(abs(x_mm), 0),)
