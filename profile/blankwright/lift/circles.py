"""Is a border a round hole? The circle through its places, by least squares.

The algebraic fit (Kåsa) starts, Gauss-Newton on the distances ends: it is not drawn inward by noise.
"""

from __future__ import annotations

import numpy as np

from blankwright.base.arrays import Array
from blankwright.lift.seen import Hole

ROUND_SHARE, ROUND_MM = 0.02, 0.03
"""A hole is round when its places lie so near to a circle: a share of its radius, or a length where that is more."""
_TURNS = 12


def circle_of(points: Array, weights: Array | None = None) -> tuple[Hole, float]:
    """Return the circle through places, and how far they lie from it, root of the mean square.

    Args:
        points: (n, 2) places [mm].
        weights: (n,) how much each counts.
    """
    w = np.ones(len(points)) if weights is None else weights
    middle = np.average(points, axis=0, weights=w)
    p = points - middle
    a = np.column_stack([2 * p, np.ones(len(p))]) * w[:, None]
    (x, y, c), *_ = np.linalg.lstsq(a, (p**2).sum(axis=1) * w, rcond=None)
    radius = float(np.sqrt(max(c + x * x + y * y, 1e-12)))
    for _ in range(_TURNS):
        d = p - (x, y)
        far = np.maximum(np.hypot(d[:, 0], d[:, 1]), 1e-9)
        j = np.column_stack([d / far[:, None], np.ones(len(p))])
        move, *_ = np.linalg.lstsq(j * w[:, None], (far - radius) * w, rcond=None)
        x, y, radius = x + move[0], y + move[1], radius + float(move[2])
        if np.abs(move).max() < 1e-10:
            break
    far = np.hypot(*(p - (x, y)).T)
    rest = float(np.sqrt(np.average((far - radius) ** 2, weights=w)))
    return (float(middle[0] + x), float(middle[1] + y), 2 * abs(radius)), rest


def is_round(hole: Hole, rest_mm: float) -> bool:
    """Say whether places that lie so far from a circle make a round hole."""
    return rest_mm <= max(ROUND_SHARE * hole[2] / 2, ROUND_MM)
