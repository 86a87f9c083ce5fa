"""Are the holes of the finished knife in the file, each inside its finished circle, by the rule of how it is made?

A hole that is cut has its finished size; one that is reamed is cut under size, so that steel is left for the reamer;
one that is drilled is marked by a point, or is not in the file. On a cutter's path the circle is smaller by the slot.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np

from blankwright.base.arrays import Array
from blankwright.base.errors import GeometryError, unknown
from blankwright.base.finding import Finding, finding
from blankwright.base.frozen import dataclass
from blankwright.base.said import exact_mm, mm, said
from blankwright.proof import distance
from blankwright.proof.findings import SAME_MM, length, or_ok, spot

MADE_BY = ("cut", "ream", "drill")
"""Cut to size; cut under size and reamed; not cut at all and drilled."""

LEAST_REAM_MM, MOST_REAM_MM = 0.1, 0.4
"""What is left on the diameter for a reamer: with less it rubs, with more it cuts slowly and out of line. Common
practice below 12 mm; workshop tables give 1/64 inch (0.4 mm) as the most (from memory)."""

SHIFT_MM = 10.0
"""A hole further than this from every asked place is another hole, not a shifted one."""
MAX_HOLES = 500


@dataclass(frozen=True)
class ExpectedHole:
    """A hole of the finished knife.

    Args:
        x_mm: Centre [mm].
        y_mm: Centre [mm].
        diameter_mm: Finished diameter [mm].
        made_by: One of MADE_BY.

    Raises:
        GeometryError: A number that is not finite, or no diameter.
        RequestError: An unknown way to make a hole.
    """

    x_mm: float
    y_mm: float
    diameter_mm: float
    made_by: str

    def __post_init__(self) -> None:
        if not all(map(math.isfinite, (self.x_mm, self.y_mm, self.diameter_mm))) or self.diameter_mm <= 0:
            raise GeometryError(f"expected hole {self} needs finite numbers and a diameter above 0")
        if self.made_by not in MADE_BY:
            raise unknown("way to make a hole", self.made_by, MADE_BY)

    @property
    def at_mm(self) -> tuple[float, float]:
        """Its centre [mm]."""
        return self.x_mm, self.y_mm

    def allowed_mm(self, kerf_mm: float) -> tuple[float, float]:
        """Return the least and greatest diameter of its circle in the file [mm]."""
        if self.made_by == "ream":
            return self.diameter_mm - MOST_REAM_MM - kerf_mm, self.diameter_mm - LEAST_REAM_MM - kerf_mm
        return self.diameter_mm - kerf_mm, self.diameter_mm - kerf_mm


def hole_findings(
    circles: Array, spots: Array, wanted: Sequence[ExpectedHole], *, marks: bool, kerf_mm: float
) -> list[Finding]:
    """Match the holes of the finished knife with what was read, nearest first, and judge each.

    Args:
        circles: (n, 3) x, y and diameter read from the file [mm].
        spots: (m, 2) x and y of the points read from the file [mm].
        wanted: The finished holes.
        marks: Whether drilled holes are marked by points.
        kerf_mm: Full width of the slot on a cutter's path, else 0 [mm].
    """
    if max(len(circles), len(spots), len(wanted)) > MAX_HOLES:
        return [finding("HOLES", f"More than {MAX_HOLES} holes; no knife needs that.")]
    cut = [h for h in wanted if h.made_by != "drill"]
    drilled = [h for h in wanted if h.made_by == "drill" and marks]
    out = [*_matched("hole", circles, cut, kerf_mm), *_matched("drill spot", spots, drilled, kerf_mm)]
    return or_ok(out, "HOLES", f"{len(circles)} holes and {len(spots)} drill spots, each in its place.")


def _matched(kind: str, found: Array, asked: Sequence[ExpectedHole], kerf_mm: float) -> list[Finding]:
    pairs, missing, extra = _pairs(np.array([h.at_mm for h in asked]).reshape(-1, 2), found[:, :2])
    out: list[Finding] = []
    for i, j in pairs:
        off = float(np.hypot(*(found[j, :2] - asked[i].at_mm)))
        if not off <= SAME_MM:
            words = f"The {kind} for {{}} is {{}} away, at {{}}."
            text = said(words, spot(asked[i].at_mm, 3), length(off), spot(found[j, :2], 3))
            out.append(finding("HOLE-PLACE", text, found[j, :2]))
        if kind == "hole":
            out += _diameter(float(found[j, 2]), asked[i], kerf_mm)
    for i in missing:
        text = said(f"The {kind} at {{}} is missing.", spot(asked[i].at_mm, 3))
        out.append(finding("HOLE-MISSING", text, asked[i].at_mm))
    for j in extra:
        at = (float(found[j, 0]), float(found[j, 1]))
        out.append(finding("HOLE-EXTRA", said(f"A {kind} at {{}} was not asked for.", spot(at, 3)), at))
    return out


def _diameter(found_mm: float, hole: ExpectedHole, kerf_mm: float) -> list[Finding]:
    """Judge the circle of a hole by the rule of how it is made."""
    least, most = hole.allowed_mm(kerf_mm)
    if least - SAME_MM <= found_mm <= most + SAME_MM:
        return []
    text = said(
        "The hole at {} has {} diameter; finished it is {}, so it is cut ",
        spot(hole.at_mm, 3), length(found_mm), mm(hole.diameter_mm, 3),
    )  # fmt: skip
    cut = mm(least, 3, upto=None if hole.made_by == "cut" else most)
    text = text.then("{}" if hole.made_by == "cut" else "{}, and reamed", cut)
    text = text.then(" on the path of a slot of {}.", exact_mm(kerf_mm)) if kerf_mm else text.then(".")
    return [finding("HOLE-DIAMETER", text, hole.at_mm)]


def _pairs(asked: Array, found: Array) -> tuple[list[tuple[int, int]], list[int], list[int]]:
    """Pair places, nearest first, none further apart than SHIFT_MM; return pairs, missing and extra rows."""
    apart = np.hypot(asked[:, None, 0] - found[None, :, 0], asked[:, None, 1] - found[None, :, 1])
    order = np.argsort(apart, axis=None, kind="stable")
    pairs: list[tuple[int, int]] = []
    free_asked, free_found = set(range(len(asked))), set(range(len(found)))
    for flat in order:
        i, j = divmod(int(flat), len(found))
        if apart[i, j] > SHIFT_MM:
            break
        if i in free_asked and j in free_found:
            pairs.append((i, j))
            free_asked.remove(i)
            free_found.remove(j)
    return pairs, sorted(free_asked), sorted(free_found)


def holes_inside(circles: Array, spots: Array, outer: Array, polygon: Any) -> list[Finding]:
    """Every hole and spot lies wholly inside the contour, and holes keep clear of each other.

    Args:
        circles: (n, 3) x, y and diameter [mm].
        spots: (m, 2) x and y [mm].
        outer: (k, 3) vertices of the contour [mm].
        polygon: The contour as a GEOS polygon, or None when it is none.
    """
    import shapely  # noqa: PLC0415 - heavy

    holes = np.vstack([circles, np.column_stack([spots, np.zeros(len(spots))])])
    if not len(holes) or len(holes) > 2 * MAX_HOLES or polygon is None:
        return []
    out: list[Finding] = []
    inside = shapely.contains_xy(polygon, holes[:, 0], holes[:, 1])
    wall = distance.from_points(holes[:, :2], outer) - holes[:, 2] / 2
    for hole in holes[~inside | (wall <= 0)]:
        text = said("The hole or drill spot at {} is not wholly inside the cut outline.", spot(hole[:2], 3))
        out.append(finding("INSIDE", text, hole[:2]))
    apart = np.hypot(*(circles[:, None, :2] - circles[None, :, :2]).transpose(2, 0, 1))
    overlap = apart <= (circles[:, None, 2] + circles[None, :, 2]) / 2
    for i, j in np.argwhere(np.triu(overlap, 1)):
        same = apart[i, j] < 10 * SAME_MM
        text = said(f"Two holes {'lie on' if same else 'cut into'} each other at {{}}.", spot(circles[i, :2], 3))
        out.append(finding("DOUBLED" if same else "CROSSING", text, circles[i, :2]))
    return out
