"""Borders of whole pixels as even rows of places, with the directions out of them."""

from __future__ import annotations

import numpy as np

from blankwright.base.arrays import Array

_SMOOTH = 2.0
"""Pixels over which the staircase of a border is smoothed."""


def spaced(points: Array) -> Array:
    """Return a border of whole pixels as places a pixel apart, its staircase smoothed."""
    smooth = _smoothed(points, _SMOOTH)
    step = np.hypot(*np.diff(smooth, axis=0, append=smooth[:1]).T)
    way = np.concatenate([[0.0], np.cumsum(step)])
    count = max(8, int(way[-1]))
    closed = np.vstack([smooth, smooth[:1]])
    s = np.linspace(0, way[-1], count, endpoint=False)
    return np.column_stack([np.interp(s, way, closed[:, 0]), np.interp(s, way, closed[:, 1])])


def _smoothed(points: Array, sigma: float) -> Array:
    """Return closed places, each the mean of its neighbours by a bell of some places."""
    reach = min(int(4 * sigma) + 1, max(1, len(points) // 3))
    k = np.arange(-reach, reach + 1)
    bell = np.exp(-0.5 * (k / sigma) ** 2)
    bell /= bell.sum()
    wrapped = np.vstack([points[-reach:], points, points[:reach]])
    return np.column_stack([np.convolve(wrapped[:, a], bell, mode="valid") for a in (0, 1)])


def normals(points: Array) -> Array:
    """Return unit normals that point away from the thing: to the right of the way that the border runs, seen y down."""
    smooth = _smoothed(points, _SMOOTH)
    along = np.roll(smooth, -1, axis=0) - np.roll(smooth, 1, axis=0)
    along /= np.maximum(np.hypot(along[:, 0], along[:, 1]), 1e-9)[:, None]
    return np.column_stack([along[:, 1], -along[:, 0]])
