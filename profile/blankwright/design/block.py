"""The plan of a handle block on a hidden tang: straight-sided, its middle line through the tang's."""

from __future__ import annotations

import numpy as np

from blankwright.base.errors import DesignError
from blankwright.design.shape import Shape
from blankwright.design.tang import chord_at
from blankwright.geometry.outline import Outline

REGION = "block"
_FROM_END_MM = 5.0
"""The tang's middle is read this far from its ends, clear of rounded corners."""
_STEP_MM = 0.5
_SHOULDER_MM = 2.5
"""The rounded corner at a shoulder is the shoulder's, not the tang's, this far behind the front."""


def block_outline(shape: Shape, front_height_mm: float, butt_height_mm: float) -> Outline:
    """Return the block seen from the side, from the handle's front to its butt.

    Args:
        shape: The solved knife, with a hidden tang.
        front_height_mm: Height of the block at its front [mm].
        butt_height_mm: Height at its butt [mm].

    Raises:
        DesignError: The tang is too short to say where its middle runs.
    """
    front, end, butt = shape.front_x_mm, shape.tang_end_x_mm, shape.butt_x_mm
    near, far = front - _FROM_END_MM, end + _FROM_END_MM
    first, last = chord_at(shape.finished, near), chord_at(shape.finished, far)
    if first is None or last is None or near - far < _FROM_END_MM:
        raise DesignError("The tang is too short for a handle block; make tang.length longer.")
    middle, rear = sum(first) / 2, sum(last) / 2
    slope = (middle - rear) / (near - far)
    at_front, at_butt = middle + slope * (front - near), middle + slope * (butt - near)
    corners = [
        (butt, at_butt - butt_height_mm / 2), (front, at_front - front_height_mm / 2),
        (front, at_front + front_height_mm / 2), (butt, at_butt + butt_height_mm / 2),
    ]  # fmt: skip
    return Outline(np.array([[x, y, 0.0] for x, y in corners]), (REGION,) * 4)


def wood_around_mm(shape: Shape, block: Outline) -> float:
    """Return the least height of block above or below the tang inside it [mm]; negative where the tang stands out."""
    x, y = shape.finished.sampled(_STEP_MM)[0].T
    inside = (x < shape.front_x_mm - _SHOULDER_MM) & (x > shape.butt_x_mm)
    x, y = x[inside], y[inside]
    # up to the front the tang goes on as it is behind its shoulders
    near = x > x.max() - _STEP_MM
    x, y = np.append(x, np.full(near.sum(), shape.front_x_mm)), np.append(y, y[near])
    ends = sorted(block.starts.tolist())  # the butt's two corners, then the front's; low before high
    (x0, low0), (_, high0), (x1, low1), (_, high1) = ends
    low, high = np.interp(x, (x0, x1), (low0, low1)), np.interp(x, (x0, x1), (high0, high1))
    return float(np.minimum(y - low, high - y).min())
