"""Whether a solved shape is a knife: it does not cross itself, stays above the board, and its edge is whole."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from blankwright.base.arrays import evenly
from blankwright.base.errors import DesignError, GeometryError, ToleranceNotMetError
from blankwright.design.parts import Family
from blankwright.design.solve import SolvedShape, solve_shape
from blankwright.geometry.distance import crossing_place

HOOK_MM = 0.1
"""The notch may reach this far ahead of the heel corner: nobody sees it, and a wheel still grinds the corner."""
BELOW_BOARD_MM = 0.01
"""The edge may dip this far below the board line: twice the tolerance of its arcs."""


def check_sound(shape: SolvedShape) -> None:
    """Refuse a shape that is no knife.

    Raises:
        DesignError: The outline crosses itself, dips below the board line or has a hollow edge that the family's
            own drawing does not have.
    """
    try:
        outline = shape.finished
    except (GeometryError, ToleranceNotMetError) as error:
        raise DesignError(f"These dimensions do not make an outline: {error}.") from None
    place = crossing_place(outline)
    if place is not None or outline.area_mm2 <= 0:
        x, y = place or (0.0, 0.0)
        raise DesignError(
            f"These dimensions do not go together: the outline crosses itself near ({x:.1f}, {y:.1f}) mm."
        )
    low = outline.vertices[np.array([r == "edge" for r in outline.regions]), 1].min()
    if low < -BELOW_BOARD_MM:
        raise DesignError(f"These dimensions do not go together: the edge dips {-low:.2f} mm below the board line.")
    hook = ahead_of_heel_mm(shape)
    if hook > HOOK_MM:
        raise DesignError(
            f"These dimensions do not go together: the notch would reach {hook:.2f} mm ahead of the heel, "
            "under the edge."
        )
    hollows = shape.edge_health.hollows_mm
    if len(hollows) > _drawn_hollows(shape.family, shape.construction):
        x, y = hollows[-1]
        raise DesignError(
            f"These dimensions do not go together: the edge would turn hollow at {x:.1f} mm from the heel."
        )


def ahead_of_heel_mm(shape: SolvedShape) -> float:
    """Return how far the notch between heel and handle reaches ahead of the heel corner [mm]; 0 when it does not."""
    reach = 0.0
    for curve in shape.family.curves[shape.construction]:
        if curve.region == "heel":
            spline, t0, t1 = shape.stretch_of(curve.name)
            if len(spline.points) == 2:
                reach = max(reach, *spline.points[:, 0].tolist())
                continue
            reach = max(reach, float(spline.at(evenly(t0, t1, 40))[:, 0].max()))
    return reach


@lru_cache(maxsize=64)
def _drawn_hollows(family: Family, construction: str) -> int:
    try:
        return len(solve_shape(family, construction, {}).edge_health.hollows_mm)
    except DesignError:
        return 0
