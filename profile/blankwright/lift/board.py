"""Where is the board line, and the heel on it? The origin and the direction of x, and what they may be off."""

from __future__ import annotations

import numpy as np

from blankwright.base.arrays import Array
from blankwright.base.frozen import dataclass
from blankwright.design.lifted import BudgetRow
from blankwright.geometry.outline import Outline
from blankwright.lift.teeth import BRIDGE, OUTER
from blankwright.lift.walk import Walk

HEEL_DEG = 25.0
"""The outline turns by more at a heel."""
HEEL_SHARE = 0.025
"""Window in which a rounded heel turns, as a share of the length."""
_FLAT_MM = 8.0
"""A straight piece at least this long at the heel lies on the board."""
_SLACK_MM = 6.0
"""It may begin so far ahead of the heel, where a corner was continued a little off its line."""
_FLAT_WITHIN_MM, _FLAT_NOISE_MM, _TIP_WITHIN_MM = 0.03, 0.02, 0.3
"""A flat keeps to a line within the first, and its line is known to the second at its ends; it is taken where the tip
goes up or down by less than the third for it."""
_PLACES = 100
"""A row of points with fewer places of 800 on it is as well looked at with what is beside it."""
_END_SLOPE, _END_NOISE = (1.0, 0.6), (1.0, 4.0)
"""A line through a bend u^2, and a parabola through u^3, over a stretch of 1, have so much another slope at the end;
noise turns the end of a parabola four times as much as a line (Legendre polynomials: 12 and 192 of the variance)."""


@dataclass(frozen=True, eq=False)
class Board:
    """Where the design's coordinates lie in an outline, tip ahead and edge down.

    Args:
        heel_mm: Way to the heel [mm].
        origin: (2,) the origin [mm].
        lean_deg: Lean of the board line [degrees].
        lean_doubt: What that may be off [radians].
        origin_doubt_mm: What the origin of a rounded heel may be off [mm].
    """

    heel_mm: float
    origin: Array
    lean_deg: float
    lean_doubt: float = 0.0
    origin_doubt_mm: float = 0.0

    def rows(self, placed: Array) -> tuple[BudgetRow, ...]:
        """Return what the coordinates add to what a place may be off; what does not matter is left out."""
        far = float(np.hypot(*placed.T).max())
        rows = (
            BudgetRow(
                "the lean of the board line",
                self.lean_doubt * far,
                "Hold a rule to the edge, and correct the outline in the file.",
            ),
            BudgetRow(
                "the origin at a rounded heel", self.origin_doubt_mm, "Measure from the butt or the tip instead."
            ),
        )
        return tuple(row for row in rows if row.mm > 0)


def board_of(walk: Walk, tip_mm: float, heel_mm: float | None) -> Board:
    """Return where the heel, the origin and the board line are.

    Args:
        walk: The outline, tip ahead and edge down.
        tip_mm: Way to the tip [mm].
        heel_mm: Way to the heel [mm], None where there is none.
    """
    x = walk.points[:, 0]
    if heel_mm is None:
        low = np.flatnonzero((walk.points[:, 1] < np.mean(walk.points[:, 1])) & (x < x.min() + 0.4 * np.ptp(x)))
        heel = float(walk.ways_mm[low[np.argmax(x[low])]]) if len(low) else 0.0
        return Board(heel, np.array([walk.at(np.array([heel]))[0, 0], float(walk.points[:, 1].min())]), 0.0)
    long = float(np.ptp(x))
    corner = float(walk.turn_deg(np.array([heel_mm]), 0.02)[0])
    if corner < HEEL_DEG / 2:
        return _rounded_heel(walk, heel_mm, HEEL_SHARE * long, tip_mm)
    place = walk.at(np.array([heel_mm]))[0]
    flat = _flat_piece(walk, heel_mm)
    lean, doubt = _lean(walk, heel_mm, tip_mm, place)
    if flat is None:
        return Board(heel_mm, place, lean, doubt)
    start, along, _ = flat
    onto = start + ((place - start) @ along) * along  # the heel is where the line of the flat has it
    return Board(heel_mm, onto, lean, doubt)


def _flat_piece(walk: Walk, from_mm: float) -> tuple[Array, Array, float] | None:
    """Return start, direction and length [mm] of the straight piece of the edge at the heel, or a little ahead."""
    o = walk.outline
    starts = np.concatenate([[0.0], np.cumsum(o.lengths)[:-1]])
    ahead = np.mod(starts - from_mm + _SLACK_MM / 2, walk.length_mm) - _SLACK_MM / 2
    seen = np.array(
        [region not in (BRIDGE, OUTER) for region in o.regions]
    )  # a line between two points is as short as a scallop
    fits = np.flatnonzero((np.abs(ahead) <= _SLACK_MM) & (o.bulges == 0) & (o.lengths >= _FLAT_MM) & seen)
    if not len(fits):
        return None
    k = int(fits[np.argmax(o.lengths[fits])])
    return o.starts[k], o.start_tangents[k], float(o.lengths[k])


def _lean(walk: Walk, from_mm: float, tip_mm: float, origin: Array) -> tuple[float, float]:
    """Return the lean of the line through the origin on which the edge rests [degrees], and its doubt [radians]."""
    flat = _flat_piece(walk, from_mm)
    within = 2 * walk.outline.max_error_mm  # both ends of a piece lie within that of what is seen
    if flat is not None:
        return float(np.degrees(np.arctan2(flat[1][1], flat[1][0]))), within / flat[2]
    way = from_mm + np.linspace(0.02, 0.95, 800) * np.mod(tip_mm - from_mm, walk.length_mm)
    points = walk.within(way, BRIDGE)
    d = walk.at(way[points] if points.sum() > _PLACES else way) - origin
    lean = np.degrees(np.arctan2(d[20:, 1], d[20:, 0]))
    rests = int(np.argmin(lean))
    far = np.hypot(*d.T)
    # an edge that rises from the heel on rests on the heel alone: there the line along it is the better one
    least = _TIP_WITHIN_MM / float(far.max()) if rests else np.inf
    return _flat_lean(d, far, (float(lean[rests]), within / float(far[20 + rests]), least), within)


def _flat_lean(d: Array, far: Array, rests: tuple[float, float, float], within_mm: float) -> tuple[float, float]:
    """Return the lean of the edge at the heel by least squares, along its flat or its bend; else the lean as it was.

    Args:
        d: (n, 2) places of the edge, from the heel on [mm].
        far: (n,) how far from it [mm].
        rests: Lean of the line through the heel on which the edge rests [degrees], what that may be off [radians],
            and by how much less another one must be off [radians].
        within_mm: What both ends of a piece may be off [mm].

    Returns:
        The lean [degrees], and what it may be off [radians].
    """
    best, known, least = rests
    for share in np.linspace(0.9, 0.04, 87):
        last = int(share * len(d))
        if last < 10 or far[last - 1] < _FLAT_MM:
            break
        long = float(far[last - 1])
        u = far[:last] / long
        for bend in (0, 1):  # a line, or a bend
            terms, off = _polynomial(d[:last, 0], d[:last, 1], 1 + bend)
            rest = abs(float(np.polyfit(u, off, 2 + bend)[0])) * _END_SLOPE[bend]
            now = (rest + _END_NOISE[bend] * _FLAT_NOISE_MM) / long
            if np.abs(off).max() <= _FLAT_WITHIN_MM and now < least:
                best, least = float(np.degrees(np.arctan(terms[-2]))), now
                known = (rest + _END_NOISE[bend] * within_mm) / long
                if (
                    bend
                ):  # it rolls: within what is taken for lying on a line, and is seen of it, that may touch anywhere
                    known += float(np.sqrt(2 * abs(2 * terms[0]) * (_FLAT_WITHIN_MM + within_mm)))
    return best, known


def _polynomial(x: Array, y: Array, degree: int) -> tuple[Array, Array]:
    """Return the terms of a polynomial by least squares, the highest first, and what it misses."""
    terms = np.polyfit(x, y, degree)
    return terms, y - np.polyval(terms, x)


def _rounded_heel(walk: Walk, heel: float, window: float, tip_mm: float) -> Board:
    """Return the same of a rounded heel: the origin is where the sides meet, the edge begins where it is straight."""
    o = walk.outline
    ends_mm = np.cumsum(o.lengths)
    apart = np.mod(ends_mm - o.lengths / 2 - heel + walk.length_mm / 2, walk.length_mm) - walk.length_mm / 2
    n, at = len(o), int(np.argmax(np.where(np.abs(apart) < window, o.curvatures, -np.inf)))
    tight = o.curvatures * window > 1.0
    first = last = at
    while tight[(first - 1) % n] and (last - first) < n - 1:
        first -= 1
    while tight[(last + 1) % n] and (last - first) < n - 1:
        last += 1
    origin = _meeting(o, first, last)
    others = [_meeting(o, first - a, last + b) for a, b in ((0, 1), (1, 0), (1, 1))]
    begins = float(ends_mm[last % n])
    lean, doubt = _lean(walk, begins, tip_mm, origin)
    away = max(float(np.hypot(*(other - origin))) for other in others)
    return Board(begins, origin, lean, doubt, away if o.max_error_mm > 0 else 0.0)  # a drawing's directions are exact


def _meeting(o: Outline, first: int, last: int) -> Array:
    """Return where the direction into one piece and that out of another meet; the end where they hardly do."""
    n = len(o)
    a, b = o.starts[first % n], o.ends[last % n]
    u, v = o.start_tangents[first % n], o.end_tangents[last % n]
    cross, d = float(u[0] * v[1] - u[1] * v[0]), b - a
    met: Array = a + u * (d[0] * v[1] - d[1] * v[0]) / cross if abs(cross) > 0.1 else b
    return met
