"""The path of a cutter's middle, read back: open cuts become what they go round, bridges are measured.

Every cut is one open chain in the order it is run. Its first piece is the way in, its last the way out, what lies
between takes the part out of the sheet. A cut that comes back to where it began is a hole or the whole outline; the
others, end to start in their order, go round the outline once and leave a bridge between each two.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from blankwright.base.arrays import Array
from blankwright.base.errors import GeometryError
from blankwright.base.finding import Finding, finding
from blankwright.base.frozen import dataclass
from blankwright.base.said import mm, said
from blankwright.geometry.outline import Outline
from blankwright.proof import distance
from blankwright.proof.chains import Run, as_circle
from blankwright.proof.findings import SAME_MM, length, or_ok, spot

BRIDGE_MM = 0.05
"""A bridge is as wide as asked to this: a tenth of the narrowest that is snapped off by hand."""

ROUNDED_MM = 2e-4
"""Words of a program have four decimals: two ends that are one point may come out this far apart."""

AT_LEAST_MM = 1e-6
"""As in the proof of a contour: what "at least" may miss."""

MAX_STROKES = 500


@dataclass(frozen=True)
class Slot:
    """What a file with the cutter's path must leave.

    Args:
        kerf_mm: Full width of the slot [mm].
        bridges: Number of bridges that hold the part.
        bridge_mm: Width of each [mm]; of no use without bridges.
        clockwise: Whether the outside runs clockwise; holes run the other way.
        rounded_mm: How far rounding may move an end [mm].

    Raises:
        GeometryError: No width, or a count below zero.
    """

    kerf_mm: float
    bridges: int
    bridge_mm: float
    clockwise: bool
    rounded_mm: float = AT_LEAST_MM

    def __post_init__(self) -> None:
        widths = (self.kerf_mm, self.bridge_mm) if self.bridges else (self.kerf_mm,)
        if not all(math.isfinite(v) and v > 0 for v in widths) or self.bridges < 0:
            raise GeometryError(f"{self} needs widths above 0 and a count of 0 or more")


@dataclass(frozen=True, eq=False)
class Left:
    """What the cuts of a path go round.

    Args:
        outline: (n, 3) the outline's own path, closed, counter-clockwise [mm]; None when it is not closed.
        bridged: (n,) which of its pieces are not cut: an arc in their stead closes the ring.
        holes: (m, 3) x, y and diameter of the circles run in holes [mm].
        findings: What is wrong with it.
    """

    outline: Array | None
    bridged: NDArray[np.bool_]
    holes: Array
    findings: tuple[Finding, ...]


def what_is_left(strokes: Sequence[Array], slot: Slot, finished: Outline, clear_mm: Array) -> Left:
    """Join the cuts of a path to what they go round, and judge ways in and out, bridges and direction.

    Args:
        strokes: (k, 3) x [mm], y [mm] and bulge of every cut, in order; the last bulge has no use.
        slot: What the path must leave.
        finished: The finished outline.
        clear_mm: (n,) least distance from the path to each finished piece [mm].
    """
    if len(strokes) > MAX_STROKES or any(len(s) < 4 for s in strokes):
        text = f"A path has 1 to {MAX_STROKES} cuts, each with a way in, a cut and a way out; this one has not."
        return Left(None, np.zeros(0, dtype=bool), np.zeros((0, 3)), (finding("PATH", text),))
    found: list[Finding] = []
    circles: list[tuple[float, float, float]] = []
    around: list[Array] = []
    for stroke in strokes:
        cut = stroke[1:-1].copy()
        cut[-1, 2] = 0.0
        circle = _circle(cut)
        if circle is None:
            around.append(stroke)
            continue
        if around:
            found.append(finding("PATH", said("The hole at {} is cut when the part is loose already; holes come first.",
                                 spot(circle[:2], 2)), circle[:2]))  # fmt: skip
        circles.append(circle)
        found += _hole_leads(stroke, circle, slot)
        found += _direction(Outline(cut[:-1]).area_mm2 > 0, slot.clockwise, "hole", circle[:2])
    outline, bridged, problems = _ring(around, slot)
    found += problems
    if outline is not None:
        found += _outline_leads(around, slot, finished, clear_mm)
        ccw = Outline(outline).area_mm2 > 0
        found += _direction(ccw, not slot.clockwise, "outline", tuple(outline[0, :2]))
        if not ccw:
            outline, bridged = _turned(outline, bridged)
    line = said(f"Cuts: {len(strokes)}, {len(circles)} of them holes")
    line = line.then(f"; bridges: {slot.bridges}, each {{}} wide", mm(slot.bridge_mm)) if slot.bridges else line
    line = line.then(". Every way in and out lies in the waste.")
    return Left(outline, bridged, np.reshape(circles, (-1, 3)), tuple(or_ok(found, "PATH", line)))


def _circle(cut: Array) -> tuple[float, float, float] | None:
    """Return the circle that a cut runs once round; None when it is none."""
    if math.dist(cut[0, :2], cut[-1, :2]) > SAME_MM:
        return None
    return as_circle(Run(cut[:-1], True, "", frozenset())).circle


def _direction(ccw: bool, wanted_ccw: bool, what: str, at: Sequence[float]) -> list[Finding]:
    if ccw == wanted_ccw:
        return []
    way = "clockwise" if not wanted_ccw else "counter-clockwise"
    return [finding("PATH", said(f"The {what} at {{}} does not run {way}.", spot(at, 1)), (at[0], at[1]))]


def _hole_leads(stroke: Array, circle: tuple[float, float, float], slot: Slot) -> list[Finding]:
    """A way in or out of a hole stays inside the circle that the middle runs."""
    x, y, diameter = circle
    leads = [stroke[:2], stroke[-2:]]
    reach = max(float(np.hypot(p[:, 0] - x, p[:, 1] - y).max()) for p in (_points(lead) for lead in leads))
    if reach <= diameter / 2 + slot.rounded_mm:
        return []
    return [finding("PATH", said("A way in or out of the hole at {} leaves it.", spot((x, y), 2)), (x, y))]


def _points(chain: Array) -> Array:
    pieces = distance.pieces_of(chain, closed=False)
    share = np.linspace(0, 1, 33)
    rows = np.repeat(np.arange(len(pieces)), len(share))
    return distance.along_pieces(pieces.take(rows), np.tile(share, len(pieces)))


def _ring(around: Sequence[Array], slot: Slot) -> tuple[Array | None, NDArray[np.bool_], list[Finding]]:
    """Join cuts end to start; where they do not meet an arc stands for the bridge between them."""
    none = np.zeros(0, dtype=bool)
    if not around:
        return None, none, [finding("PATH", "No cut goes round the part.")]
    rows: list[Array] = []
    bridged: list[bool] = []
    found: list[Finding] = []
    gaps = 0
    for one, after in pairwise([*around, around[0]]):
        cut, then = one[1:-1], after[1:-1]
        rows += list(cut[:-1])
        bridged += [False] * (len(cut) - 1)
        gap = math.dist(cut[-1, :2], then[0, :2])
        if gap <= max(SAME_MM, slot.rounded_mm):
            continue
        gaps += 1
        rows.append(np.array([*cut[-1, :2], _closing_bulge(cut, then)]))
        bridged.append(True)
        found += _bridge(one, after, slot, cut[-1, :2])
    if gaps != slot.bridges:
        text = f"The path leaves {gaps} bridges, asked for are {slot.bridges}; or it does not come round."
        return None, none, [finding("PATH", text, around[0][1, :2])]
    return np.array(rows), np.array(bridged), found


def _closing_bulge(cut: Array, then: Array) -> float:
    """Return the bulge that leads on smoothly from one cut to the next; nothing is cut there."""
    leaving = distance.pieces_of(cut, closed=False).leaving[-1]
    ahead = distance.pieces_of(then, closed=False).tangent[0]
    turn = math.atan2(leaving[0] * ahead[1] - leaving[1] * ahead[0], float(leaving @ ahead))
    return math.tan(turn / 4)


def _bridge(one: Array, after: Array, slot: Slot, at: Array) -> list[Finding]:
    """A bridge is as wide as the slots beside it are apart: each cut with its leads against the other's near end."""
    apart = min(_least(one[-2:], after), _least(one, after[:2]), _least(one[-3:], after[:3]))
    wide = apart - slot.kerf_mm
    if abs(wide - slot.bridge_mm) <= BRIDGE_MM:
        return []
    text = said("The bridge at {} is {} wide, asked for is {}.", spot(at, 1), length(wide), mm(slot.bridge_mm))
    return [finding("PATH", text, at)]


def _least(one: Array, other: Array) -> float:
    """Return the least distance of two open chains [mm]."""
    return float(distance.between_chains(one, other, closed=False)[0].min())


def _outline_leads(around: Sequence[Array], slot: Slot, finished: Outline, clear_mm: Array) -> list[Finding]:
    """Ways in and out of the outline take nothing of what is to be left outside the finished outline."""
    out = []
    for stroke in around:
        for lead in (stroke[:2], stroke[-2:]):
            away, places = distance.between_chains(finished.vertices, lead, closed=True)
            short = clear_mm - away
            worst = int(short.argmax())
            if short[worst] > slot.rounded_mm:
                text = said("A way in or out comes {} too near to the part at {}.", length(short[worst]),
                            spot(places[worst], 1))  # fmt: skip
                out.append(finding("PATH", text, places[worst]))
    return out


def _turned(outline: Array, bridged: NDArray[np.bool_]) -> tuple[Array, NDArray[np.bool_]]:
    """Return a closed contour run the other way."""
    points = np.roll(outline[::-1, :2], 1, axis=0)
    return np.column_stack([points, -outline[::-1, 2]]), bridged[::-1]
