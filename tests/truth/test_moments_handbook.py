"""Area, centroid and second moments against handbooks, and bulges against the format's reference."""

from __future__ import annotations

import math

import numpy as np
import pytest

from blankwright.geometry.moments import area_of_chain, of_chain
from blankwright.geometry.outline import Outline, circles, points_on
from rooms.every import cases
from rooms.geometry.test_figures import box

SOURCE = (
    "List of centroids and list of second moments of area (standard mathematics); worked circular "
    "segments of two "
    "calculators (r 10, h 4; s 21, h 6); Machinery's Handbook, 31st edition, page 79 (chord of r "
    "60, h 8; radius of "
    "chord 16, h 6; ring of 12 and 8); DXF reference, LWPOLYLINE group code 42, with the values of "
    "an open DXF "
    "library's own tests (chord 10: r 5 and 6.25; unit chord with bulge 1)."
)
TOLERANCE = 1e-12
TOLERANCE_PRINTED = 1e-6
REASON = "Formulas are exact, so only rounding is allowed (relative); worked values are printed to six decimals."


def sector(r, half):
    """Return a sector with its point at the origin, symmetric about x."""
    c, s = r * math.cos(half), r * math.sin(half)
    return Outline(np.array([[0, 0, 0], [c, -s, math.tan(half / 2)], [c, s, 0]]))


def segment(chord, height):
    return Outline(np.array([[-chord / 2, 0, 0], [chord / 2, 0, 2 * height / chord]]))


@cases("r", [0.5, 10.0, 1e4])
def test_semicircle(r):
    m = Outline(np.array([[-r, 0, 0], [r, 0, 1]])).moments
    assert m.area_mm2 == pytest.approx(math.pi * r * r / 2, rel=TOLERANCE)
    assert m.centroid_mm == pytest.approx((0, 4 * r / (3 * math.pi)), rel=TOLERANCE, abs=1e-12 * r)
    assert m.iyy_mm4 == pytest.approx(math.pi * r**4 / 8, rel=TOLERANCE)
    assert m.ixx_mm4 == pytest.approx((math.pi / 8 - 8 / (9 * math.pi)) * r**4, rel=1e-11)
    assert m.ixy_mm4 == pytest.approx(0, abs=1e-12 * r**4)


def test_quarter_circle():
    r = 7.0
    m = Outline(np.array([[0, 0, 0], [r, 0, math.tan(math.pi / 8)], [0, r, 0]])).moments
    assert m.area_mm2 == pytest.approx(math.pi * r * r / 4, rel=TOLERANCE)
    assert m.centroid_mm == pytest.approx((4 * r / (3 * math.pi),) * 2, rel=TOLERANCE)
    own = (math.pi / 16 - 4 / (9 * math.pi)) * r**4
    assert (m.ixx_mm4, m.iyy_mm4) == pytest.approx((own, own), rel=1e-11)
    assert m.ixy_mm4 == pytest.approx((1 / 8 - 4 / (9 * math.pi)) * r**4, rel=1e-11)


@cases("half", [1e-4, 0.1, 0.24, 0.26, 1.0, 1.5])
def test_sector(half):
    r = 12.0
    m = sector(r, half).moments
    assert m.area_mm2 == pytest.approx(half * r * r, rel=1e-11)
    assert m.centroid_mm == pytest.approx((2 * r * math.sin(half) / (3 * half), 0), rel=1e-11, abs=1e-12)


@cases("half", [0.2, 0.49, 0.51, 1.2, 2.0, 3.0])
def test_segment_by_half_angle(half):
    r = 9.0
    m = segment(2 * r * math.sin(half), r * (1 - math.cos(half))).moments
    flat = 2 * half - math.sin(2 * half)
    assert m.area_mm2 == pytest.approx(r * r / 2 * flat, rel=1e-10)
    assert abs(m.centroid_mm[1]) == pytest.approx(
        abs(4 * r * math.sin(half) ** 3 / (3 * flat) - r * math.cos(half)), rel=1e-10
    )


def test_worked_segment_radius_10_height_4():
    o = segment(16.0, 4.0)
    assert 1 / abs(o.curvatures[1]) == pytest.approx(10, rel=TOLERANCE)
    assert o.area_mm2 == pytest.approx(44.729522, abs=TOLERANCE_PRINTED)
    assert o.lengths[1] == pytest.approx(18.545904, abs=TOLERANCE_PRINTED)
    assert math.degrees(4 * math.atan(o.bulges[1])) == pytest.approx(106.260205, abs=TOLERANCE_PRINTED)


def test_worked_segment_chord_21_height_6():
    o = segment(21.0, 6.0)
    assert 1 / abs(o.curvatures[1]) == pytest.approx(12.1875, rel=TOLERANCE)
    assert o.area_mm2 == pytest.approx(89.254148, abs=TOLERANCE_PRINTED)
    assert o.lengths[1] == pytest.approx(25.308373, abs=TOLERANCE_PRINTED)
    assert math.degrees(4 * math.atan(o.bulges[1])) == pytest.approx(118.97953, abs=5e-6)


def test_handbook_chord_and_radius():
    chord = 2 * math.sqrt(60**2 - 52**2)
    o = segment(chord, 8.0)
    assert 1 / abs(o.curvatures[1]) == pytest.approx(60, rel=TOLERANCE)
    assert chord == pytest.approx(59.86, abs=0.01)  # the handbook cuts 59.8665 short
    assert 1 / abs(segment(16, 6).curvatures[1]) == pytest.approx(8 + 1 / 3, rel=TOLERANCE)


def test_handbook_ring():
    outer = Outline(np.array([[-6, 0, 1], [6, 0, 1]], dtype=float))
    inner = Outline(np.array([[-4, 0, 1], [4, 0, 1]], dtype=float)).reversed()
    assert outer.area_mm2 + inner.area_mm2 == pytest.approx(62.83, abs=0.005)


def test_rectangle_about_its_own_axes():
    m = box(40, 10).moments
    assert (m.ixx_mm4, m.iyy_mm4) == pytest.approx((40 * 10**3 / 12, 10 * 40**3 / 12), rel=TOLERANCE)


def test_triangle_about_its_own_axes():
    m = Outline(np.array([[0, 0, 0], [12, 0, 0], [0, 9, 0]], dtype=float)).moments
    assert m.centroid_mm == pytest.approx((4, 3), rel=TOLERANCE)
    assert (m.ixx_mm4, m.iyy_mm4) == pytest.approx((12 * 9**3 / 36, 9 * 12**3 / 36), rel=TOLERANCE)
    assert m.ixy_mm4 == pytest.approx(-(12**2) * 9**2 / 72, rel=TOLERANCE)


def test_bulges_of_the_formats_reference():
    half, three = segment(10, 5.0), segment(10, 2.5)
    assert (half.bulges[1], three.bulges[1]) == pytest.approx((1.0, 0.5))
    assert 1 / abs(three.curvatures[1]) == pytest.approx(6.25, rel=TOLERANCE)
    centre, radius = circles(np.array([[0.0, 0]]), np.array([[1.0, 0]]), np.array([1.0]))
    assert (*centre[0], radius[0]) == pytest.approx((0.5, 0, 0.5), abs=TOLERANCE)
    assert math.tan(math.radians(22.5)) == pytest.approx(0.41421356, abs=5e-9)  # 90 degrees


@cases("bulge", [-2.0, -1.0, -0.41, 0.3, 0.99, 1.0, 5.0])
def test_radius_height_and_area_of_a_bulge(bulge):
    a, b, g = np.array([[1.0, 2.0]]), np.array([[4.0, 6.0]]), np.array([bulge])
    chord = 5.0
    centre, radius = circles(a, b, g)
    assert radius[0] == pytest.approx(chord * (1 + bulge**2) / (4 * abs(bulge)), rel=TOLERANCE)
    assert np.hypot(*(a - centre)[0]) == pytest.approx(radius[0], rel=TOLERANCE)
    middle = points_on(a, b, g, np.array([0.5]))[0]
    rise = (middle - (a + b)[0] / 2) @ np.array([4.0, -3.0]) / 5  # to the right of the chord
    assert rise == pytest.approx(bulge * chord / 2, rel=TOLERANCE)  # a counter-clockwise arc bows to the right
    angle = 4 * math.atan(bulge)
    m = of_chain(np.vstack([a, b]), np.vstack([b, a]), np.array([bulge, 0.0]))
    assert m.area_mm2 == pytest.approx(radius[0] ** 2 / 2 * (angle - math.sin(angle)), rel=1e-11)
    assert area_of_chain(np.vstack([a, b]), np.vstack([b, a]), np.array([bulge, 0.0])) == m.area_mm2


@pytest.mark.filterwarnings("error")
@pytest.mark.parametrize("bulge", [0.0, 1.0])
def test_a_piece_far_shorter_than_its_distance_from_the_middle_changes_nothing(bulge):
    side = 6.0
    corners = np.array([[0, 0], [1e-20, 0], [side, 0], [side, side], [0, side]])
    m = of_chain(corners, np.roll(corners, -1, axis=0), np.array([bulge, 0, 0, 0, 0]))
    assert m.area_mm2 == pytest.approx(side**2, rel=TOLERANCE)
    assert m.ixx_mm4 == pytest.approx(side**4 / 12, rel=TOLERANCE)
