"""Where the steps of a solve begin: as the changes of its dimensions lead away from the drawing, to first order.

The end does not depend on it; it is a step nearer. What a dimension does is found once, beside the family's drawing.
"""

from __future__ import annotations

from collections.abc import Mapping, Set
from functools import lru_cache

import numpy as np

from blankwright.base.arrays import Array
from blankwright.base.errors import DesignError, GeometryError
from blankwright.design.correction import corrected
from blankwright.design.layout import Frame, SplinePlan, spline_of
from blankwright.design.measure import Reader, Reading, driven
from blankwright.design.parts import Family

_STEP = 0.01
"""Share of a dimension by which it is changed to see what that does; what it does beyond first order is not asked."""

Plans = tuple[SplinePlan, ...]


def led(
    family: Family, construction: str, plans: Plans, free: Set[str], values: Mapping[str, float], placed: list[Array]
) -> list[Array]:
    """Return placed control points moved by what the changed dimensions need to first order [mm].

    Args:
        family: The family.
        construction: full, hidden or one-piece.
        plans: The stretches; their points hold every dimension's default.
        free: Names of dimensions that are only measured.
        values: Every dimension [mm].
        placed: Control points of each stretch as their frames place them [mm].
    """
    points, measured = placed, frozenset(free)
    for d in family.offered(construction):
        change = values[d.name] - d.default_mm
        if change and d.default_mm:
            away = _away(family, construction, plans, measured, d.name)
            points = [p + change * a for p, a in zip(points, away, strict=True)]
    return points


@lru_cache(maxsize=1024)
def _away(family: Family, construction: str, plans: Plans, free: frozenset[str], name: str) -> list[Array]:
    """Return how far points leave where they are placed for each mm that a dimension is larger than drawn."""
    drawn = {d.name: d.default_mm for d in family.offered(construction)}
    change = _STEP * drawn[name]
    points = [p.points for p in plans]
    try:
        readings, here = _at_drawing(family, construction, plans, free)
        _, there = _read(family, construction, plans, free, drawn | {name: drawn[name] + change})
        image = corrected(points, points, plans, readings, (there - here) / change, {})
    except (DesignError, GeometryError):  # nothing is known of it: the steps begin where the points are placed
        return [np.zeros(p.shape) for p in points]
    return [a - b for a, b in zip(image, points, strict=True)]


@lru_cache(maxsize=64)
def _at_drawing(family: Family, construction: str, plans: Plans, free: frozenset[str]) -> tuple[list[Reading], Array]:
    """Return what _read does at the defaults."""
    return _read(family, construction, plans, free, {d.name: d.default_mm for d in family.offered(construction)})


def _read(
    family: Family, construction: str, plans: Plans, free: frozenset[str], values: dict[str, float]
) -> tuple[list[Reading], Array]:
    """Return the readings of placed points, with what pulls on them, and what they lack [mm]."""
    sought = driven(family.offered(construction), free)
    frame = Frame(family, construction, values)
    reader = Reader(plans, frame.places_mm)
    placed = [frame.place(p.points, p.frames, p.notch_weights) for p in plans]
    reader.look_at([spline_of(p, family) for p in placed])
    readings = [reader.read(d, values[d.name]) for d in sought]
    return readings, np.array([values[d.name] - r.value_mm for d, r in zip(sought, readings, strict=True)])
