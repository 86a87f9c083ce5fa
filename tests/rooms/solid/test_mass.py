"""Weights of flat plates against hand-made sums and another library's polygons."""

from __future__ import annotations

import math

import numpy as np
import pytest
from shapely.geometry import Point, Polygon

from blankwright.geometry.outline import Outline
from blankwright.solid.mass import flat_blank
from rooms.design.cases import KINDS, solved
from rooms.every import cases

RECTANGLE = Outline(np.array([[0.0, 0, 0], [100, 0, 0], [100, 20, 0], [0, 20, 0]]))


def test_a_plate_of_steel_weighs_length_times_width_times_thickness_times_density() -> None:
    whole = flat_blank(RECTANGLE, [], thickness_mm=3.0, density_kg_m3=7850.0)
    assert whole.area_mm2 == pytest.approx(2000.0)
    assert whole.mass_g == pytest.approx(47.1)  # 2 cm2 x 0.3 cm x 7.85 g/cm3 x 10
    assert whole.centre_mm == pytest.approx((50.0, 10.0))


def test_the_handbook_sheet_of_one_square_metre_and_one_millimetre_weighs_7_85_kg() -> None:
    # common practice: steel sheet is reckoned at 7.85 kg for each square metre and millimetre
    square = Outline(np.array([[0.0, 0, 0], [1000, 0, 0], [1000, 1000, 0], [0, 1000, 0]]))
    assert flat_blank(square, [], thickness_mm=1.0, density_kg_m3=7850.0).mass_g == pytest.approx(7850.0)


def test_a_hole_takes_its_disc_away_and_moves_the_centre() -> None:
    bored = flat_blank(RECTANGLE, [(80.0, 10.0, 10.0)], thickness_mm=3.0, density_kg_m3=7850.0)
    disc = math.pi * 25
    assert bored.area_mm2 == pytest.approx(2000 - disc)
    assert bored.centre_mm[0] == pytest.approx((2000 * 50 - disc * 80) / (2000 - disc))
    assert bored.centre_mm[1] == pytest.approx(10.0)


def test_two_equal_holes_about_the_middle_leave_the_centre() -> None:
    bored = flat_blank(RECTANGLE, [(20.0, 10.0, 8.0), (80.0, 10.0, 8.0)], thickness_mm=1.0, density_kg_m3=1000.0)
    assert bored.centre_mm == pytest.approx((50.0, 10.0))


@cases(("name", "construction"), KINDS)
def test_a_knife_weighs_what_its_polygon_weighs(name: str, construction: str) -> None:
    outline = solved(name, construction, "default").finished
    x, y = -20.0, float(np.mean(outline.bounds_mm[1::2]))
    polygon = Polygon(outline.flattened(0.0005)).difference(Point(x, y).buffer(2.5, quad_segs=400))
    disc_outside = math.pi * 2.5**2 - (Polygon(outline.flattened(0.0005)).area - polygon.area)
    one = flat_blank(outline, [(x, y, 5.0)], thickness_mm=2.0, density_kg_m3=700.0)
    assert one.area_mm2 + disc_outside == pytest.approx(polygon.area, rel=1e-4)
    if disc_outside < 0.1:
        assert one.centre_mm == pytest.approx((polygon.centroid.x, polygon.centroid.y), abs=0.01)
