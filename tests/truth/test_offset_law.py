"""Steiner's formulas on many smooth outlines: area A + P d + pi d^2, length P + 2 pi d."""

from __future__ import annotations

import math

import numpy as np
import pytest

from blankwright.geometry.offset import parallel
from blankwright.geometry.outline import Outline
from rooms.every import cases
from rooms.geometry.test_figures import box, chef, closed_by_support, slot

SOURCE = (
    "Steiner's formulas for parallel curves (do Carmo, Differential Geometry of Curves and Surfaces, "
    "section 1-7, exercise 6; the number of the exercise is from memory)."
)
TOLERANCE = 1e-11
REASON = "Relative. Both sides are exact in arcs, so only rounding is allowed; the law holds for arcs too."

SEEDS = range(40)


@cases("seed", SEEDS)
def test_smooth_convex_outlines_keep_the_law(seed):
    rng = np.random.default_rng(seed)
    outline, _ = closed_by_support(rng, 1e-2)
    least = 1 / outline.curvatures.max()
    for d in (*rng.uniform(0.1, 20, 3), -0.3 * least, -0.95 * least):
        result = parallel(outline, float(d))
        area = outline.area_mm2 + outline.perimeter_mm * d + math.pi * d * d
        length = outline.perimeter_mm + 2 * math.pi * d
        # the ends of a fitted curve meet at an angle of 1e-6 rad; that corner is rounded outward, cut inward
        loose = 1e-6 * abs(d) * (abs(d) + 1)
        assert result.outline.area_mm2 == pytest.approx(area, rel=TOLERANCE, abs=loose), f"seed {seed}, d {d}"
        assert result.outline.perimeter_mm == pytest.approx(length, rel=TOLERANCE, abs=loose), f"seed {seed}, d {d}"
        assert not result.others


@cases("seed", SEEDS)
def test_out_and_back_again_is_where_it_began(seed):
    rng = np.random.default_rng(seed)
    outline, _ = closed_by_support(rng, 1e-2)
    d = float(rng.uniform(0.1, 15))
    back = parallel(parallel(outline, d).outline, -d).outline
    assert back.area_mm2 == pytest.approx(outline.area_mm2, rel=1e-8), f"seed {seed}, d {d}"
    assert back.centroid_mm == pytest.approx(outline.centroid_mm, abs=1e-6), f"seed {seed}, d {d}"


@cases("radius", [0.5, 3.0, 40.0])
def test_slots_keep_the_law(radius):
    outline = slot(70.0, radius)
    for d in (0.05, 1.0, 25.0, -0.4 * radius, -0.999 * radius):
        result = parallel(outline, d).outline
        area = outline.area_mm2 + outline.perimeter_mm * d + math.pi * d * d
        assert result.area_mm2 == pytest.approx(area, rel=1e-9, abs=1e-9)


def test_convex_corners_round_outward_by_the_same_law():
    for d in (0.2, 1.5, 30.0):
        result = parallel(box(40, 10), d)
        assert result.outline.area_mm2 == pytest.approx(400 + 100 * d + math.pi * d * d, rel=TOLERANCE)
        assert result.outline.perimeter_mm == pytest.approx(100 + 2 * math.pi * d, rel=TOLERANCE)


def test_the_chefs_outline_keeps_the_law_below_its_least_hollow_radius():
    outline = chef().smooth  # before it is put on the grid of 1e-6 mm, which turns joints by 1e-5 degrees
    assert (outline.corner_angles_deg > -1e-6).all()  # no inner corner, so the law holds
    hollow = -1 / outline.curvatures.min()
    for d in (0.2, 1.0, 0.9 * hollow):
        area = outline.area_mm2 + outline.perimeter_mm * d + math.pi * d * d
        assert parallel(outline, d).outline.area_mm2 == pytest.approx(area, rel=TOLERANCE)


@cases("d", [0.3, 1.0, 2.5])
def test_an_inner_right_angle_loses_its_square(d):
    # an L of six sides, five right angles out and one in: the strips beside the inner corner share
    # a square d x d,
    # where the law, with a turn of -90 degrees, has already taken pi d^2 / 4 away
    ell = Outline(np.array([[0, 0, 0], [50, 0, 0], [50, 10, 0], [10, 10, 0], [10, 30, 0], [0, 30, 0]], dtype=float))
    expected = 700 + 160 * d + 5 * math.pi * d * d / 4 - d * d
    # where trimming cuts at a tangent joint, the joint is known to 1e-8 mm only
    assert parallel(ell, d).outline.area_mm2 == pytest.approx(expected, abs=1e-6)
