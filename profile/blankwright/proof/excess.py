"""How much more than asked a cut contour leaves outside the finished outline: a part that comes out too large.

The contour runs at the asked distance, and at most a hair further. Where the distance changes from one region to the
next it rises along a ramp in the smaller side, so near such a change the larger of both is granted.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from blankwright.base.arrays import Array
from blankwright.proof import distance
from blankwright.proof.distance import Pieces

RAMP_PER_MM, LEAST_RAMP_MM = 12.0, 3.0
"""A ramp is this long for each mm of difference, and at least so long: a slope of 1 in 8."""

_SHARES = (0.0, 0.5)
_ROWS = 40_000


def excess(contour: Array, finished: Array, asked_mm: Array) -> tuple[Array, Array, NDArray[np.intp]]:
    """Measure how much further out than asked a closed contour runs, at the start and the middle of each of its pieces.

    Args:
        contour: (n, 3) x [mm], y [mm] and bulge of the cut contour.
        finished: (m, 3) likewise of the finished outline.
        asked_mm: (m,) what was asked for outside each finished piece [mm].

    Returns:
        (2 n,) excess [mm], negative where less is left; (2 n, 2) the place on the contour [mm]; (2 n,) the nearest
        finished piece.
    """
    points = _places(distance.pieces_of(contour, closed=True))
    levels = sorted(set(asked_mm.tolist()))
    reach = 2 * max(LEAST_RAMP_MM, RAMP_PER_MM * (levels[-1] - levels[0]))
    pieces = distance.pieces_of(finished, closed=True)
    over, nearest = np.empty(len(points)), np.empty(len(points), dtype=np.intp)
    step = max(1, _ROWS // len(pieces))
    for low in range(0, len(points), step):
        away = _distances(points[low : low + step], pieces)
        rows = slice(low, low + len(away))
        nearest[rows] = away.argmin(axis=1)
        least = away.min(axis=1)
        granted = asked_mm[nearest[rows]].copy()
        for level in levels:
            near = away[:, asked_mm == level].min(axis=1) <= level + reach
            granted = np.where(near, np.maximum(granted, level), granted)
        over[rows] = least - granted
    return over, points, nearest


def _places(pieces: Pieces) -> Array:
    """Return points on each piece, its start first: a share of an arc has a chord turned by half the angle run."""
    rows = []
    half = pieces.curvature * pieces.length / 2
    for share in _SHARES:
        turn = half * share  # from the start's tangent to the chord of this share of the arc
        run = pieces.length * share * np.sinc(turn / np.pi)
        cos, sin = np.cos(turn), np.sin(turn)
        t = pieces.tangent
        way = np.column_stack([t[:, 0] * cos - t[:, 1] * sin, t[:, 0] * sin + t[:, 1] * cos])
        rows.append(pieces.start + run[:, None] * way)
    return np.stack(rows, axis=1).reshape(-1, 2)


def _distances(points: Array, pieces: Pieces) -> Array:
    """Return (len(points), len(pieces)) distances [mm]."""
    n = len(pieces)
    every = pieces.take(np.tile(np.arange(n), len(points)))
    away, _ = distance.to_pieces(np.repeat(points, n, axis=0), every)
    return away.reshape(len(points), n)
