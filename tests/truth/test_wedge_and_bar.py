"""Sections and solids of a ground blade against handbook forms."""

from __future__ import annotations

import math

import numpy as np
import pytest

from blankwright.geometry.outline import Outline
from blankwright.solid.blade import Taper, ground_blade
from blankwright.solid.handlebodies import section_share
from blankwright.solid.section import Bevels, integrals, thickness
from rooms.every import cases

SOURCE = (
    "Trapezoid and wedge (any handbook of mechanics: area h (t + e) / 2, centroid h (2 t + e) / 3 (t + e) from the "
    "thin side); circular segment, chord 16 and height 4 of radius 10, area 44.729522 (Machinery's Handbook method); "
    "parabolic spandrel b h / 3; prismoid of a bar tapering in thickness"
)
TOLERANCE = 1e-9
REASON = "closed forms against closed forms: only rounding stands between them"


def one(height: float, spine: float, bevels: Bevels) -> tuple[float, float]:
    area, moment, _ = integrals(np.array([height]), np.array([spine]), bevels)
    return float(area[0]), float(moment[0] / area[0])


def test_a_wedge() -> None:
    area, centroid = one(45.0, 2.5, Bevels("flat", None, 0.0, 15.0, None))
    assert area == pytest.approx(56.25, rel=TOLERANCE)
    assert centroid == pytest.approx(30.0, rel=TOLERANCE)


def test_an_edge_bevel_under_a_trapezoid() -> None:
    e, t, h, angle = 0.3, 2.5, 44.0, 15.0
    b = e / 2 / math.tan(math.radians(angle))
    area, centroid = one(h, t, Bevels("flat", None, e, angle, None))
    run = h - b
    parts = [(b * e / 2, 2 * b / 3), (run * (t + e) / 2, b + run * (2 * t + e) / (3 * (t + e)))]
    assert area == pytest.approx(sum(a for a, _ in parts), rel=TOLERANCE)
    assert centroid == pytest.approx(sum(a * c for a, c in parts) / area, rel=TOLERANCE)


def test_ground_to_a_line() -> None:
    area, _ = one(40.0, 2.0, Bevels("flat", 10.0, 0.0, 15.0, None))
    assert area == pytest.approx(10.0 * 2.0 / 2 + 30.0 * 2.0, rel=TOLERANCE)


def test_a_hollow_takes_a_circular_segment_off_each_side() -> None:
    # the bevel's chord is 16 long: run^2 + rise^2 = 256, with a wheel of radius 10 the segment is 4 deep
    rise = 1.0
    run = math.sqrt(256.0 - rise**2)
    flat, _ = one(run, 2 * rise, Bevels("flat", None, 0.0, 15.0, None))
    hollow, _ = one(run, 2 * rise, Bevels("hollow", None, 0.0, 15.0, 20.0))
    assert flat - hollow == pytest.approx(2 * 44.72952180, rel=1e-8)


def test_a_convex_bevel_is_a_box_less_parabolic_spandrels() -> None:
    area, _ = one(30.0, 3.0, Bevels("convex", None, 0.0, 15.0, None))
    assert area == pytest.approx(30.0 * 3.0 - 2 * 30.0 * 1.5 / 3, rel=TOLERANCE)


@cases("bevels", [
    Bevels("flat", None, 0.25, 15.0, None), Bevels("flat", 18.0, 0.25, 15.0, None),
    Bevels("convex", None, 0.4, 20.0, None), Bevels("hollow", 25.0, 0.3, 17.0, 200.0),
])  # fmt: skip
@cases(("height", "spine"), [(45.0, 2.5), (12.0, 1.5), (0.3, 1.0)])
def test_integrals_are_those_of_the_thickness(bevels: Bevels, height: float, spine: float) -> None:
    u = (np.arange(200_000) + 0.5) / 200_000 * height
    t = thickness(u, np.full_like(u, height), np.full_like(u, spine), bevels)
    area, moment, _ = integrals(np.array([height]), np.array([spine]), bevels)
    assert float(area[0]) == pytest.approx(float(t.mean()) * height, rel=1e-7)
    assert float(moment[0]) == pytest.approx(float((t * u).mean()) * height, rel=1e-7)


BOX = Outline(np.array([[-20.0, 0, 0], [100.0, 0, 0], [100.0, 30.0, 0], [-20.0, 30.0, 0]]))


def test_a_bar_that_tapers_in_thickness() -> None:
    """No bevel to speak of: a prismoid 100 x 30, from 3 to 1 mm thick."""
    solid = ground_blade(BOX, Taper((0.0, 100.0), (3.0, 1.0)), Bevels("flat", 1e-9, 0.0, 15.0, None))
    assert solid.volume_mm3 == pytest.approx(100 * 30 * 2.0, rel=1e-8)
    # centroid of a trapezoid 3 and 1 wide over 100: 100 (3 + 2) / 3 (3 + 1)
    assert solid.centre_mm == pytest.approx((100 * 5 / 12, 15.0, 0.0), rel=1e-7)


def test_a_half_disc_with_a_round_tip() -> None:
    """Radius 20 on a straight heel line, a plate 2 mm thick: area pi r^2 / 2, centroid 4 r / 3 pi."""
    disc = Outline(np.array([[-5.0, -20.0, 0], [0.0, -20.0, 1.0], [0.0, 20.0, 0], [-5.0, 20.0, 0]]))
    solid = ground_blade(disc, Taper((0.0, 20.0), (2.0, 2.0)), Bevels("flat", 1e-9, 0.0, 15.0, None))
    assert solid.volume_mm3 == pytest.approx(math.pi * 400 / 2 * 2, rel=1e-8)
    assert solid.centre_mm[0] == pytest.approx(4 * 20 / (3 * math.pi), rel=1e-8)


def test_sections_of_scales() -> None:
    y = (np.arange(400_000) + 0.5) / 400_000
    assert section_share("slab") == 1.0
    assert section_share("oval") == pytest.approx(math.pi / 4, rel=TOLERANCE)
    assert section_share("rounded") == pytest.approx(float(((1 - y**4) ** 0.25).mean()), rel=1e-6)
