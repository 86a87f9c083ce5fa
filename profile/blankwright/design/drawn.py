"""Whether a family's drawn points measure the defaults that the family states: its promise, and the solver's footing.

The solver places points by their distance from the defaults. Where a drawing measures something else, every size comes
out bent: a flat stated 20 mm too long squeezes the rest of the edge into a hook at the tip, and nothing in the result
says so.
"""

from __future__ import annotations

import math
from functools import lru_cache
from pathlib import Path

from blankwright.base.errors import DesignError, FamilyError, GeometryError, ToleranceNotMetError
from blankwright.base.units import show_mm
from blankwright.design.assembled import Arcs
from blankwright.design.check import Measured, measured
from blankwright.design.layout import spline_of
from blankwright.design.parts import Dimension, Family
from blankwright.design.shape import Shape, Solved
from blankwright.design.solve import FINISHED_TOLERANCE_MM, SolvedShape, fair_plan

DRAWN_MM = 0.5
"""So far a drawing may be from its defaults: the fine solve is for the last tenths, such as a point moved by hand."""

_POINTS_MM = 0.01
"""The two named points are typed, not drawn: they hold to the decimals that are written."""


FURTHEST = {"ahead": 1, "foremost": 1, "behind": -1, "rearmost": -1}
"""Measures of how far the outline reaches, and which way along x."""

_PLACE_MM = 0.2
"""Steps in which the place that reaches furthest is looked for, to name it."""


def drawn_shape(family: Family, construction: str) -> SolvedShape:
    """Return the shape of the points as they are drawn, before any solving, with the defaults as what is stated."""
    plans = fair_plan(family, construction)
    splines = tuple(spline_of(p.points.copy(), family) for p in plans)
    stated = tuple(Solved(d, d.default_mm, None) for d in family.offered(construction))
    arcs = Arcs(splines, plans, FINISHED_TOLERANCE_MM)
    return SolvedShape(family, construction, stated, None, FINISHED_TOLERANCE_MM, arcs)


@lru_cache(maxsize=64)
def drawing_faults(family: Family, construction: str) -> tuple[str, ...]:
    """Return what the drawn points contradict, each with its place in the file and both figures; empty when all holds.

    Args:
        family: The family.
        construction: full, hidden or one-piece.
    """
    file = Path(family.path).name
    try:
        shape = drawn_shape(family, construction)
        found = measured(shape)
    except (DesignError, GeometryError, ToleranceNotMetError) as error:
        return (f"{file} [construction.{construction}]: the drawn points make no outline: {error}.",)
    faults = _points(family, construction, file)
    by_key = {d.key: d for d in family.offered(construction)}
    for one in found:
        if one.key not in by_key or abs(one.found_mm - one.stated_mm) <= DRAWN_MM + one.within_mm:
            continue  # the overall length is a sum of others; a size of the part is stated nowhere
        d = by_key[one.key]
        faults.append(_fault(one, f"{file} [[dimension]] {d.name}", shape, d))
    return tuple(faults)


def check_drawing(family: Family, construction: str) -> None:
    """Refuse a family whose drawn points do not measure its own defaults.

    Raises:
        FamilyError: They do not; the message names file, dimension, both figures and the curve.
    """
    faults = drawing_faults(family, construction)
    if faults:
        raise FamilyError(
            f"Family {family.name} does not draw what it says. {' '.join(faults)} "
            f"Judge it with: blankwright families {family.path_or_name}"
        )


def _fault(one: Measured, place: str, shape: Shape, d: Dimension) -> str:
    stated, drawn, construction = show_mm(one.stated_mm), show_mm(one.found_mm), shape.construction
    curve = next(c for c in shape.family.curves[construction] if c.name == d.measure.curve)
    start = f"{place} ({one.key}): default is {stated}"
    if math.isnan(one.found_mm):  # nothing stands at that station
        return f"{start}, but curve '{curve.name}' of {construction} does not reach there."
    region = _furthest(shape, FURTHEST[d.measure.kind]) if d.measure.kind in FURTHEST else curve.region
    if region != curve.region:  # another curve stands out further: its points are the ones to move
        measured_by = f"the points of the {region} ({construction}) reach further than curve '{curve.name}', to {drawn}"
    else:
        measured_by = f"the points of curve '{curve.name}' ({construction}) measure {drawn}"
    return f'{start}, {measured_by}: move them, or write default = "{one.found_mm:.2f} mm".'


def _furthest(shape: Shape, way: int) -> str:
    """Return the region that reaches furthest along x, ahead or behind."""
    points, piece = shape.finished.sampled(_PLACE_MM)
    return shape.finished.regions[int(piece[(way * points[:, 0]).argmax()])]


def _points(family: Family, construction: str, file: str) -> list[str]:
    """Compare the two named points with the defaults of gap and handle length."""
    default = {d.name: d.default_mm for d in family.offered(construction)}
    front = -default["handle_gap"]
    out = []
    for key, x_mm, stated, by in (
        ("front", family.front_mm[0], front, "handle_gap"),
        ("butt", family.butt_mm[0], front - default["handle_length"], "handle_gap and handle_length"),
    ):
        if abs(x_mm - stated) > _POINTS_MM:
            out.append(
                f"{file} [points] {key}: its x is {show_mm(x_mm)}, the default of {by} puts it at {show_mm(stated)}."
            )
    return out
