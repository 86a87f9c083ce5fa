"""How tight is the tightest inside corner of an outline: what decides whether a cutter gets into it."""

from __future__ import annotations

import numpy as np

from blankwright.base.arrays import Place
from blankwright.base.frozen import dataclass
from blankwright.geometry.outline import Outline

_SHARP_DEG = 5.0
"""Pieces that meet at less are a smooth bend with rounding."""

_STRAIGHT = 1e-9


@dataclass(frozen=True)
class Inside:
    """The tightest inside corner.

    Args:
        radius_mm: Its radius [mm]; 0 for a sharp corner.
        at_mm: Where it is.
    """

    radius_mm: float
    at_mm: Place


def tightest_inside(outline: Outline) -> Inside | None:
    """Return the tightest inside corner of a counter-clockwise outline, None where it is nowhere hollow."""
    sharp = np.flatnonzero(outline.corner_angles_deg < -_SHARP_DEG)
    if len(sharp):
        return Inside(0.0, _place(outline, int(sharp[0])))
    bends = outline.curvatures
    at = int(np.argmin(bends))
    return Inside(-1 / float(bends[at]), _place(outline, at)) if bends[at] < -_STRAIGHT else None


def _place(outline: Outline, index: int) -> Place:
    x, y = outline.starts[index]
    return float(x), float(y)
