"""Where an outline reaches furthest ahead: its tip, a corner or a place on a round."""

from __future__ import annotations

import numpy as np

from blankwright.geometry.outline import Outline, circles

_AT_END_MM = 1e-8


def foremost(outline: Outline) -> tuple[float, float]:
    """Return the foremost place of an outline, x and y [mm]."""
    _, high = outline.piece_boxes
    at = int(high[:, 0].argmax())
    ends = np.array([outline.starts[at], outline.ends[at]])
    if high[at, 0] <= ends[:, 0].max() + _AT_END_MM:
        x, y = ends[int(ends[:, 0].argmax())].tolist()
        return x, y
    centre, radius = circles(outline.starts[at : at + 1], outline.ends[at : at + 1], outline.bulges[at : at + 1])
    return float(centre[0, 0] + radius[0]), float(centre[0, 1])
