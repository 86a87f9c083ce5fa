"""Where an outline reaches furthest ahead: its tip, a corner or a place on a round."""

from __future__ import annotations

import numpy as np

from blankwright.base.arrays import Array
from blankwright.design.assembled import Arcs
from blankwright.geometry.outline import Outline, circles
from blankwright.geometry.steady import product

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


def round_tip(arcs: Arcs, radius_mm: float) -> tuple[float, float]:
    """Return the foremost place of an outline whose tip is rounded, x and y [mm].

    Only the two stretches that meet there are followed by arcs; of the others their ends are enough.

    Args:
        arcs: Its stretches.
        radius_mm: Of the round [mm].

    Raises:
        GeometryError: The round does not fit.
        ToleranceNotMetError: The tolerance could not be reached.
    """
    tip = next(i for i, p in enumerate(arcs.plans) if p.joint == "tip_radius")
    joints = [radius_mm if i == tip else "sharp" for i in range(len(arcs.plans))]
    return foremost(arcs.outline(joints, only=(tip, tip + 1)))


def learned(answer: Array, step: Array, done: Array) -> Array:
    """Return how a corner is moved for what its round misses, after a step of it (Broyden's update, any handbook).

    Args:
        answer: (2, 2) how it was moved so far [unitless].
        step: (2, 1) the last step [mm].
        done: (2, 1) by how much less the round misses after it [mm].
    """
    told = product(answer, done)
    scale = float(product(step.T, told)[0, 0])
    return answer if scale == 0 else answer + product(step - told, product(step.T, answer)) / scale
