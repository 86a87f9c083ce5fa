"""Where the handle of a blank begins: at the shoulders of a hidden tang, or behind the hollow at the heel."""

from __future__ import annotations

import math

import numpy as np

from blankwright.base.units import length_mm
from blankwright.design.blade import conventions
from blankwright.design.lifted import Lifted
from blankwright.design.tang import FRONT_MM
from blankwright.geometry.outline import Outline

_SHOULDER_MM = 1.2
"""A top line that falls by more at once, behind the heel, is a shoulder, and what is behind it a hidden tang."""
_STEEP = 0.8
"""Sine of the slope from which on a piece of a shoulder stands upright."""
_BEFORE_BUTT_MM = 25.0
"""A fall nearer to the rear end is the butt's own corner."""
_AFTER_MM = 10.0
"""So far behind its shoulders a block may begin; so far ahead of the handle's lower side scales may."""
_AHEAD_MM = 5.0
"""A shoulder lies no further ahead of the heel."""
_LEVEL_DEG = 12.0
"""The hollow at the heel has ended where its line runs along the board within this."""
_ROUNDING = 1e-6
LEAST_HANDLE_MM = 30.0
"""A tang that reaches less far behind the handle's front is none."""


def front_of(lifted: Lifted, construction: str) -> tuple[float, str, float, float]:
    """Return how far behind the heel the handle begins, why, and the least and greatest that may be asked [mm]."""
    outline = lifted.outline
    shoulder = shoulder_mm(outline)
    if construction == "hidden" and shoulder is not None:
        at = math.ceil(-10 * shoulder - _ROUNDING) / 10
        return at, "found: the shoulders of the tang", at, at + _AFTER_MM
    hollow = max(-_notch_end_mm(outline), 0.0)
    usual = length_mm(conventions()["gap"]["default"], "gap")
    behind = [-h.x_mm for h in lifted.holes if h.x_mm < -hollow]
    holes = min(behind) - FRONT_MM if behind else math.inf
    long = -outline.bounds_mm[0]
    most = max(min(holes, long - LEAST_HANDLE_MM), 0.0)
    found = round(min(max(usual, hollow), most), 1)
    why = "found: behind the hollow at the heel and ahead of the first hole; move it to suit"
    return found, why, 0.0, max(most, found)


def _notch_end_mm(outline: Outline) -> float:
    """Return where, behind the hollow at the heel, the handle's lower side begins [mm]; the heel where nothing says."""
    heel = [k for k, region in enumerate(outline.regions) if region == "heel"]
    if not heel:
        return 0.0
    level = math.cos(math.radians(_LEVEL_DEG))
    ways = outline.start_tangents[heel, 0]  # x of the unit tangent: 1 along the board, toward the heel
    level_ones = np.flatnonzero(ways > level)
    first = heel[int(level_ones[-1])] if len(level_ones) else heel[0]
    return min(float(outline.starts[first, 0]), 0.0)


def shoulder_mm(outline: Outline) -> float | None:
    """Return where the top line falls to a hidden tang [mm]; None where it runs on into the handle."""
    n, tip, rear = len(outline), int(outline.starts[:, 0].argmax()), int(outline.starts[:, 0].argmin())
    top = np.mod(tip + np.arange(np.mod(rear - tip, n)), n)  # counter-clockwise from the tip back to the rear end
    fall = outline.starts[top, 1] - outline.ends[top, 1]
    x = outline.starts[top, 0]
    inside = (x < _AHEAD_MM) & (x > outline.bounds_mm[0] + _BEFORE_BUTT_MM)
    steep = np.flatnonzero((fall > _STEEP * outline.chord_lengths[top]) & inside)
    for run in np.split(steep, np.flatnonzero(np.diff(steep) > 1) + 1):
        if len(run) and float(fall[run].sum()) > _SHOULDER_MM:
            return float(x[run].max())
    return None
