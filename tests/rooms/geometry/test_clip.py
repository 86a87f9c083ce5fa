"""The part of an outline behind an upright line, judged by shapely."""

import numpy as np
import pytest
import shapely

from blankwright.base.errors import GeometryError
from blankwright.design.request import read_design
from blankwright.geometry.clip import behind
from blankwright.geometry.outline import Outline
from blankwright.knife.knife import finish
from rooms.every import cases

FLAT_MM = 1e-4  # the polygons given to shapely leave their arcs by this


def slot():
    """Return a slot of 100 x 24 mm about the origin: two lines, two half circles."""
    rows = [(-38.0, -12.0, 0), (38.0, -12.0, 1.0), (38.0, 12.0, 0), (-38.0, 12.0, 1.0)]
    return Outline(np.array(rows), ("low", "front", "high", "butt"))


def by_shapely(outline, x):
    polygon = shapely.Polygon(outline.flattened(FLAT_MM))
    x0, y0, _, y1 = polygon.bounds
    return polygon.intersection(shapely.box(x0 - 1, y0 - 1, x, y1 + 1))


ONE_ARC = [-49.9, -45.0]  # one arc crosses the line twice


@cases("x", [*ONE_ARC, -37.9, -10.0, 0.0, 37.9, 45.0, 49.9])
def test_area_and_bounds_are_those_of_a_cut_polygon(x):
    part, judge = behind(slot(), x, "cut"), by_shapely(slot(), x)
    assert part.area_mm2 == pytest.approx(judge.area, rel=1e-4, abs=0.02)
    assert part.bounds_mm == pytest.approx(judge.bounds, abs=2e-3)
    assert shapely.Polygon(part.flattened(FLAT_MM)).symmetric_difference(judge).area < 0.05


def test_the_area_of_a_slot_cut_in_its_straight_part_is_exact():
    # a half disc of 12 mm radius and a rectangle of 58 x 24 mm
    assert behind(slot(), 20.0, "cut").area_mm2 == pytest.approx(np.pi * 72 + 58 * 24, abs=1e-9)


def test_the_new_side_is_straight_upright_and_named_and_the_others_keep_their_names():
    part = behind(slot(), 20.0, "front face")
    k = part.regions.index("front face")
    assert part.regions.count("front face") == 1
    assert part.bulges[k] == 0
    assert part.starts[k][0] == part.ends[k][0] == pytest.approx(20.0, abs=1e-12)
    assert {"low", "high", "butt"} <= set(part.regions)
    assert "front" not in part.regions
    assert part.area_mm2 > 0  # still counter-clockwise


@cases("family", ["chef", "utility", "paring", "spreader"])
def test_the_handle_of_every_family(family):
    work = finish(read_design(family, {}))
    front = work.shape.front_x_mm
    part, judge = behind(work.finished, front, "front"), by_shapely(work.finished, front)
    assert shapely.Polygon(part.flattened(FLAT_MM)).symmetric_difference(judge).area < 0.1
    assert part.bounds_mm[2] <= front + 1e-9


@pytest.mark.parametrize("x", [-60.0, 60.0])
def test_a_line_that_does_not_cross_is_refused(x):
    with pytest.raises(GeometryError, match="does not cross"):
        behind(slot(), x, "cut")


def test_an_outline_that_comes_back_over_the_line_is_refused():
    # an E open to the left would be cut in pieces; a C open to the right has its back behind the line
    rows = [(0, 0), (30, 0), (30, 10), (10, 10), (10, 20), (30, 20), (30, 30), (0, 30)]
    letter = Outline(np.array([(x, y, 0.0) for x, y in rows]))
    with pytest.raises(GeometryError, match="comes back over"):
        behind(letter.placed(180.0, 0.0, 0.0), -20.0, "cut")
