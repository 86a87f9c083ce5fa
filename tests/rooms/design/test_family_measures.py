"""Every dimension, measured again on the finished arcs by GEOS, knowing nothing of the solver's curves.

The product measures on the arcs too (`design/check.py`); both must find the same, and what the solver says.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from shapely.geometry import LineString, Polygon

from blankwright.design.check import Measured
from blankwright.design.check import measured as by_the_product
from blankwright.design.parts import Dimension, Station
from blankwright.design.solve import SolvedShape
from rooms.design.cases import BY_DIMENSION, solved
from rooms.every import every
from rooms.often import LONG, repeated, seldom, share

AGREE_MM = 0.006
"""The arcs' tolerance of 0.005 mm and a little for the polygons that GEOS measures."""
BOTH_MM = 0.011
"""The same where two places are measured against each other."""
FLAT_MM = 0.0002
LEAN_MM = 0.006
"""A family draws an angle; what it is over 10 mm is stated to two decimals."""
TWO_WAYS_MM = 0.001
"""Two ways of measuring the same arcs agree closer than either agrees with the solver's curves."""


def station_mm(station: Station, shape: SolvedShape) -> float:
    v = shape.values_mm
    front = -v["handle_gap"]
    places = {
        "heel": 0.0, "tip": v["blade_length"], "front": front,
        "butt": front - v.get("tang_length", v["handle_length"]),
    }  # fmt: skip
    a, b = places[station.start], places[station.toward]
    return a + math.copysign(station.mm, b - a) if station.mm is not None else a + (b - a) * (station.share or 0.0)


def chord(polygon: Polygon, x_mm: float) -> tuple[float, float]:
    """Return the lowest and highest y at a station, by GEOS [mm]."""
    low, high = polygon.bounds[1] - 1, polygon.bounds[3] + 1
    _, y0, _, y1 = polygon.intersection(LineString([(x_mm, low), (x_mm, high)])).bounds
    return y0, y1


def tip_radius_mm(polygon: Polygon) -> float:
    """Return the radius of the circle through the foremost vertex and its neighbours, 0 where these make a corner."""
    points = np.array(polygon.exterior.coords)[:-1]
    at = int(points[:, 0].argmax())
    a, b, c = (points[(at + k) % len(points)] for k in (-1, 0, 1))
    u, v = b - a, c - b
    turn = math.atan2(u[0] * v[1] - u[1] * v[0], u @ v)
    return 0.0 if abs(turn) > 0.2 else math.dist(a, c) / (2 * math.sin(abs(turn)))


def measured(shape: SolvedShape, d: Dimension) -> tuple[float, float] | None:
    """Return a dimension's value [mm] and how closely arcs tell it [mm]; None when no curve draws it."""
    m = d.measure
    outline = shape.edge_line if m.kind == "flat" else shape.finished  # of scallops the line of their points
    polygon = Polygon(outline.flattened(FLAT_MM))
    edge = np.flatnonzero(np.array(outline.regions) == "edge")
    x0, _, x1, _ = outline.bounds_mm
    if m.kind in ("ahead", "above"):
        return float(outline.ends[edge[-1]][0 if m.kind == "ahead" else 1]), AGREE_MM
    if m.kind == "flat":
        first = int(np.argmax(np.abs(outline.bulges[edge]) < 1e-12))  # a rounded heel corner comes before the flat
        bent = np.append(np.abs(outline.bulges[edge[first:]]) > 1e-12, True)
        return float(outline.starts[(edge[first] + int(np.argmax(bent))) % len(outline), 0]), AGREE_MM
    if m.kind == "foremost":
        return x1, AGREE_MM
    if m.kind == "foremost-height":
        at = int(np.argmax(polygon.exterior.coords.xy[0]))
        nose_mm = 1 / np.abs(outline.curvatures[np.argmax(outline.starts[:, 0])])
        return float(polygon.exterior.coords.xy[1][at]), float(np.sqrt(2 * nose_mm * AGREE_MM))
    if m.curve is None or all(c.name != m.curve for c in shape.family.curves[shape.construction]):
        return None  # the handle around a hidden tang is no part of the steel
    if m.kind == "lean":  # where two level lines cross the heel
        low, high = (polygon.exterior.intersection(LineString([(-4, y), (2, y)])).x for y in (0.3, 0.6))
        return (low - high) / 0.3 * 10, LEAN_MM
    if m.kind == "corner":
        return tip_radius_mm(polygon), AGREE_MM
    if m.kind in ("rearmost", "behind"):
        return shape.front_x_mm - x0, AGREE_MM
    if m.kind == "apart":  # between two straight sides, read inside the stick and drawn on to the shoulders
        reach = shape.front_x_mm - shape.tang_end_x_mm
        near, far = (high - low for low, high in (chord(polygon, shape.front_x_mm - s * reach) for s in (0.2, 0.6)))
        return near + (near - far) / 2, AGREE_MM
    assert m.station is not None
    y0, y1 = chord(polygon, station_mm(m.station, shape))
    if m.kind == "height":
        return y1, AGREE_MM
    if m.kind == "thickness":
        return y1 - y0, BOTH_MM
    assert m.kind == "drop"
    assert m.second is not None
    return y1 - chord(polygon, station_mm(m.second, shape))[1], BOTH_MM


def checked_by_key(shape: SolvedShape) -> dict[str, Measured]:
    return {one.key: one for one in by_the_product(shape)}


ENDS = [(*one, end) for one in BY_DIMENSION for end in ("default", "least", "greatest")]


@repeated
@every(share(ENDS, seldom(len(ENDS), 525, 150), whole=LONG))
def test_a_dimension_measured_on_the_arcs_is_the_one_reached(
    name: str, construction: str, dimension: str, end: str
) -> None:
    shape = solved(name, construction, "default" if end == "default" else f"{dimension} {end}")
    d = shape.family.dimension(dimension, construction)
    found = measured(shape, d)
    checked = checked_by_key(shape).get(d.key)
    assert (checked is None) == (found is None)
    if found is None or checked is None:
        assert shape.front_x_mm == -shape.values_mm["handle_gap"]  # where the handle begins is drawn by no curve
        return
    value_mm, within_mm = found
    if d.measure.kind != "foremost-height":  # where a nose is foremost is flat: a chord's end is not an arc's
        assert checked.found_mm == pytest.approx(value_mm, abs=TWO_WAYS_MM)
        assert checked.within_mm <= within_mm + 2 * TWO_WAYS_MM or d.measure.kind == "apart"
    assert checked.holds
    assert checked.stated_mm == shape.values_mm[dimension]
    assert value_mm == pytest.approx(shape.values_mm[dimension], abs=within_mm)
    assert value_mm == pytest.approx({"least": d.least_mm, "greatest": d.greatest_mm}.get(end, value_mm), abs=within_mm)


@every(sorted({(n, c) for n, c, _ in BY_DIMENSION}))
def test_the_overall_length_runs_from_butt_to_tip(name: str, construction: str) -> None:
    shape = solved(name, construction, "default")
    x0, _, x1, _ = shape.finished.bounds_mm
    if construction == "hidden":  # the handle reaches further back than the steel
        assert shape.overall_length_mm > x1 - x0
        x0 = shape.butt_x_mm
    assert shape.overall_length_mm == pytest.approx(x1 - x0, abs=2 * AGREE_MM)
    checked = checked_by_key(shape)
    assert checked["overall"].found_mm == pytest.approx(x1 - x0, abs=1e-9)
    polygon = Polygon(shape.finished.flattened(FLAT_MM))
    low_x, low_y, high_x, high_y = polygon.bounds
    assert checked["part length"].stated_mm == pytest.approx(high_x - low_x, abs=2 * FLAT_MM)
    assert checked["part height"].stated_mm == pytest.approx(high_y - low_y, abs=2 * FLAT_MM)
    assert all(one.holds for one in checked.values())
