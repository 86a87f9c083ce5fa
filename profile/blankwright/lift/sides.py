"""What is seen of a border beside a corner, continued to it: a parabola, or a line that a tight bend follows."""

from __future__ import annotations

import numpy as np

from blankwright.base.arrays import Array
from blankwright.base.frozen import dataclass

LAG = 4
"""Places of a border that are so far apart know nothing of each other's noise."""
LEAST_SIDE = 10
"""Places that a side has at least."""
_TIMES, _BLOCKS = 2.0, 5
_LEAST_LINE, _TIGHT_MM, _TRIES = (4, 2), 8.0, 20
"""A line beside a corner is seen over so many places at least; a bend of a smaller radius is a tight one."""
_PARABOLA_TURNS, _FILLET_MM, _AS_GOOD = 0.8, 4.0, 4.0
"""A parabola that turns by more [radians] follows no bend of one radius; a bend of a radius below the second follows on
a line if that explains the places as well: within what noise adds in 95 of 100 (chi-square, one degree of freedom)."""


@dataclass(frozen=True, eq=False)
class Side:
    """A parabola along its own direction, away from the corner; or a line that a tight bend follows.

    Args:
        origin: (2,) the place that is nearest to the corner.
        along: (2,) direction away from the corner.
        terms: (3,) or (2,) of the polynomial, the highest first.
        spread: (3, 3) or (2, 2) of the terms, where a single place is off by 1.
        count: Of places that it was laid along.
    """

    origin: Array
    along: Array
    terms: Array
    spread: Array
    count: int

    def at(self, u: float) -> Array:
        """Return the place so far along it."""
        place: Array = self.origin + u * self.along + float(np.polyval(self.terms, u)) * self._left
        return place

    def slope(self, u: float) -> Array:
        """Return its direction away from the corner, so far along it."""
        away: Array = self.along + float(np.polyval(np.polyder(self.terms), u)) * self._left
        return away

    def doubt(self, point: Array) -> float:
        """Return what the side may be off across where it is continued to, where a single place is off by 1."""
        row = np.vander([float((point - self.origin) @ self.along)], len(self.terms))[0]
        return float(np.sqrt(row @ self.spread @ row))

    @property
    def _left(self) -> Array:
        return np.array([-self.along[1], self.along[0]])


def side_of(points: Array, jumps: float, least: int = 0) -> Side:
    """Fit a side; where neither a parabola nor a line with a tight bend behind it follows it, less of it.

    Args:
        points: (n, 2) places, from the corner on.
        jumps: What single places jump about.
        least: So many places are kept: what is continued further must be seen longer.
    """
    least = max(least, LEAST_SIDE)
    while True:
        along = points[-1] - points[0]
        long = max(float(np.hypot(*along)), 1e-12)
        along = along / long
        rel = points - points[0]
        u, v = rel @ along, rel @ np.array([-along[1], along[0]])
        rows = np.vander(u, 3 if len(points) > LEAST_SIDE + 2 else 2)
        terms, off = _least_squares(rows, v)
        follows = _follows(off, jumps)
        bend = abs(2 * terms[0]) if len(terms) == 3 else 0.0
        if bend * long > _PARABOLA_TURNS and len(points) > least:
            points = points[: max(int(len(points) * 0.8), least)]
            continue
        fillet = bool(bend > 1 / _FILLET_MM)
        bent = _line_and_bend(u, v, jumps, _LEAST_LINE[fillet]) if bend > 1 / _TIGHT_MM or not follows else None
        spare = _AS_GOOD * LAG * jumps**2 if fillet else 0.0
        if bent is not None and (not follows or bent[2] <= float(off @ off) + spare):
            rows, terms = bent[:2]
        elif not follows and len(points) > least:
            points = points[: max(int(len(points) * 0.8), least)]
            continue
        many = len(terms)
        return Side(points[0], along, terms, np.linalg.pinv(rows.T @ rows)[-many:, -many:], len(points))


def _least_squares(rows: Array, v: Array) -> tuple[Array, Array]:
    terms: Array = np.asarray(np.linalg.lstsq(rows, v, rcond=None)[0], dtype=np.float64)
    off: Array = rows @ terms - v
    return terms, off


def _line_and_bend(u: Array, v: Array, jumps: float, least: int) -> tuple[Array, Array, float] | None:
    """Return rows, terms and rest of a line with a tight bend behind it, as of a notch beside a heel, or None.

    A parabola would carry the bend into the corner. The line is seen over some places at least; where the bend begins
    is found by trying: all tries at once, each against what a line alone leaves.
    """
    first = np.arange(least, len(u) - _LEAST_LINE[0], max(1, len(u) // _TRIES))
    if not len(first):
        return None
    line = np.linalg.qr(np.column_stack([u, np.ones_like(u)]))[0]
    bends = np.maximum(u - u[first][:, None], 0.0) ** 2  # one row for each try
    left = bends - (bends @ line) @ line.T
    gains = (left @ v) ** 2 / np.maximum((left**2).sum(axis=1), 1e-30)  # by so much the rest is less than a line's
    rows = np.column_stack([bends[gains.argmax()], u, np.ones_like(u)])
    terms, off = _least_squares(rows, v)
    if abs(2 * terms[0]) < 1 / _TIGHT_MM or not _follows(off, jumps):
        return None
    return rows, terms[1:], float(off @ off)


def _follows(off: Array, jumps: float) -> bool:
    """Say whether what is left of places is their jumping about alone: then stretches of them hardly miss the line."""
    blocks = np.array_split(off, _BLOCKS)
    most = _TIMES * jumps * np.sqrt(LAG / np.array([len(b) for b in blocks])) + 1e-6
    return bool((np.abs([b.mean() for b in blocks]) <= most).all())


def jumps_of(points: Array) -> float:
    """Return what single places of a border jump about, across it.

    It is taken from their third differences over a lag at which blurred pixels know nothing of each other: 20 is the
    sum of the squares of 1, 3, 3 and 1; the median leaves corners out.
    """
    p = [np.roll(points, -k * LAG, axis=0) for k in range(4)]
    third = p[3] - 3 * p[2] + 3 * p[1] - p[0]
    along = p[3] - p[0]
    along = along / np.maximum(np.hypot(along[:, 0], along[:, 1]), 1e-12)[:, None]
    across = np.abs(third[:, 0] * along[:, 1] - third[:, 1] * along[:, 0])
    return float(np.median(across) / 0.6745 / np.sqrt(20.0))


def crossing(a: Side, b: Side, near: Array) -> tuple[Array, float] | None:
    """Return where two sides meet and by how much the border turns there [degrees]."""
    u, w = float((near - a.origin) @ a.along), float((near - b.origin) @ b.along)
    for _ in range(30):
        gap = a.at(u) - b.at(w)
        p, q = a.slope(u), b.slope(w)
        det = -p[0] * q[1] + p[1] * q[0]
        if abs(det) < 1e-9:
            return None
        du, dw = (-gap[0] * -q[1] - -gap[1] * -q[0]) / det, (p[0] * -gap[1] - p[1] * -gap[0]) / det
        u, w = u + float(np.clip(du, -5, 5)), w + float(np.clip(dw, -5, 5))
        if abs(du) + abs(dw) < 1e-10:
            break
    at = a.at(u)
    if not np.isfinite(at).all() or np.hypot(*(at - near)) > 5.0:
        return None
    come, go = -a.slope(u), b.slope(w)
    turn = np.degrees(np.arctan2(come[0] * go[1] - come[1] * go[0], come @ go))
    return at, float(turn)
