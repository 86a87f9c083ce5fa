"""Whether places lie inside an outline, exact in lines and arcs."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from blankwright.base.arrays import Array
from blankwright.geometry.distance import LINE_BULGE
from blankwright.geometry.outline import Outline, circles


def inside(outline: Outline, points: Array) -> NDArray[np.bool_]:
    """Return for (n, 2) places whether each lies inside an outline; places on the line itself may be told either way.

    Counts turns: of the chords as seen from the place, and one more where it lies between an arc and its chord.
    """
    a = outline.starts[None] - points[:, None]
    b = outline.ends[None] - points[:, None]
    cross, turned = a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0], a[..., 0] * b[..., 0] + a[..., 1] * b[..., 1]
    turns = np.arctan2(cross, turned).sum(axis=1) / (2 * np.pi)
    arcs = (np.abs(outline.bulges) > LINE_BULGE).nonzero()[0]
    if len(arcs):
        bulges = outline.bulges[arcs]
        centre, radius = circles(outline.starts[arcs], outline.ends[arcs], bulges)
        within = np.hypot(*(points[:, None] - centre[None]).transpose(2, 0, 1)) < radius
        beyond = np.sign(bulges) * cross[:, arcs] < 0  # right of the chord of an arc that turns left
        turns = turns + np.where(within & beyond, np.sign(bulges), 0.0).sum(axis=1)
    result: NDArray[np.bool_] = np.abs(turns) > 0.5
    return result
