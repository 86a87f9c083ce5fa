"""The parallel outline at one distance: refusals, what collapses, what is cut off, exact widths, tangency."""

from __future__ import annotations

import math

import numpy as np
import pytest

from blankwright.base.errors import GeometryError
from blankwright.geometry.distance import points_to_pieces
from blankwright.geometry.offset import parallel
from blankwright.geometry.outline import Outline
from rooms.every import cases
from rooms.geometry.test_figures import box, chef, closed_by_support, notched, pocketed, slot

DUMB_BELL = Outline(
    np.array([
        [0, -10, 0], [20, -10, 0], [20, -2, 0], [40, -2, 0], [40, -10, 0], [60, -10, 0], [60, 10, 0],
        [40, 10, 0], [40, 2, 0], [20, 2, 0], [20, 10, 0], [0, 10, 0],
    ], dtype=float)
)  # fmt: skip


def gaps(source, result, step=0.05):
    """Return how much further than 0 every sampled place of a result lies from the source."""
    points, _ = result.sampled(step)
    return points_to_pieces(points, source.starts, source.ends, source.bulges).min(axis=1)


def test_a_clockwise_outline_is_refused():
    with pytest.raises(GeometryError, match="counter-clockwise"):
        parallel(slot().reversed(), 1.0)


@pytest.mark.parametrize("d", [math.nan, math.inf])
def test_a_distance_must_be_a_number(d):
    with pytest.raises(GeometryError, match="finite"):
        parallel(slot(), d)


def test_distances_of_both_signs_are_refused():
    with pytest.raises(GeometryError, match="all be positive"):
        parallel(slot(), np.array([1.0, 1.0, -1.0, 1.0]))


def test_no_distance_is_the_same_outline():
    o = slot()
    assert parallel(o, 0.0).outline is o


def test_regions_and_error_come_along():
    o = Outline(box(40, 10).vertices, ("edge", "butt", "spine", "heel"), 0.004)
    result = parallel(o, 2.0).outline
    assert result.max_error_mm == 0.004
    assert set(result.regions) == {"edge", "butt", "spine", "heel"}
    low = [r for r, p in zip(result.regions, result.starts, strict=True) if p[1] < -1.9]
    assert "edge" in low


def test_a_convex_corner_gets_an_arc_about_it():
    result = parallel(box(40, 10), 2.0).outline
    assert len(result) == 8
    assert result.curvatures[result.bulges > 0] == pytest.approx([0.5] * 4)
    assert np.abs(result.corner_angles_deg).max() < 1e-9


def test_an_inner_radius_smaller_than_the_distance_collapses():
    o = notched(3.0, 10, -1.0)  # round bottom of radius 1.5
    result = parallel(o, 2.0)
    assert result.collapsed
    assert 4 in result.collapsed
    gone = 2 * math.sqrt(2.0**2 - 1.5**2)  # nothing of the notch but a dent between two corner arcs
    top = result.outline.bounds_mm[3]
    dent = gaps(o, result.outline)
    assert top == pytest.approx(22)
    assert dent == pytest.approx(np.full(len(dent), 2.0), abs=1e-6)
    lowest = min(p[1] for p in result.outline.starts if 25 < p[0] < 35)
    assert lowest == pytest.approx(20 + gone / 2, abs=1e-6)


def test_a_notch_narrower_than_twice_the_distance_is_reported():
    # its bottom and sides vanish; only the arcs about its upper corners are left, named after the
    # pieces before
    assert parallel(notched(1.0, 10), 2.0).collapsed == (3, 4)
    assert parallel(notched(6.0, 10), 2.0).collapsed == ()


@pytest.mark.parametrize("bulge", [0.0, -1.0])
def test_a_notch_exactly_twice_the_distance_wide_leaves_no_whisker(bulge):
    o = notched(4.0, 10, bulge)
    result = parallel(o, 2.0)
    assert not result.others
    wider = parallel(notched(3.999, 10, bulge), 2.0).outline
    assert result.outline.area_mm2 == pytest.approx(wider.area_mm2, abs=0.01)
    assert result.outline.perimeter_mm == pytest.approx(wider.perimeter_mm, abs=0.3)  # a whisker would add 20 mm


def test_a_neck_exactly_twice_the_distance_wide_comes_apart():
    result = parallel(DUMB_BELL, -2.0)
    assert len(result.others) == 1
    assert result.outline.area_mm2 == pytest.approx(result.others[0].area_mm2)


@cases(("d", "parts"), [(-1.0, 1), (-1.999, 1), (-2.001, 2), (-3.0, 2), (-9.0, 2)])
def test_a_neck_that_is_too_narrow_comes_apart(d, parts):
    result = parallel(DUMB_BELL, d)
    loops = [result.outline, *result.others]
    assert len(loops) == parts
    assert all(loop.area_mm2 > 0 for loop in loops)
    for loop in loops:
        assert np.abs(gaps(DUMB_BELL, loop) + d).max() < 1e-6


@pytest.mark.parametrize("d", [1.0, 1.4])
def test_a_pocket_with_an_open_mouth_stays_part_of_the_outline(d):
    assert not parallel(pocketed(), d).others


@cases("d", [1.6, 2.0, 3.0, 5.0])
def test_a_pocket_with_a_closed_mouth_is_another_loop(d):
    result = parallel(pocketed(), d)
    assert len(result.others) == 1
    hole = result.others[0]
    assert hole.area_mm2 < 0  # it runs clockwise
    assert np.abs(gaps(pocketed(), hole) - d).max() < 1e-6
    if d > 3:  # far from the mouth's corners it is the smaller disc
        assert hole.area_mm2 == pytest.approx(-math.pi * (6 - d) ** 2, rel=0.02)


@pytest.mark.parametrize("d", [6.0, 7.0])
def test_a_pocket_is_used_up_at_its_own_radius(d):
    result = parallel(pocketed(), d)
    assert not result.others
    assert 3 in result.collapsed


@cases(
    ("outline", "d"),
    [(slot(), -20.0), (box(40, 10), -5.0), (box(10, 10), -5.0), (Outline([[-5, 0, 1], [5, 0, 1]]), -5.0)],
    ids=["slot", "box", "square", "circle"],
)
def test_nothing_is_left_at_exactly_half_the_width(outline, d):
    with pytest.raises(GeometryError, match="nothing is left"):
        parallel(outline, d)
    thin = parallel(outline, d * 0.9999).outline
    assert 0 < thin.area_mm2 < 1


@cases("d", [0.3, 1.0, 2.5, 6.0, 12.0, -0.3, -1.0, -4.0])
def test_the_chefs_blank_is_everywhere_at_its_distance(d):
    o = chef().smooth
    result = parallel(o, d)
    gap = gaps(o, result.outline, 0.1) - abs(d)
    assert gap.min() >= -1e-9
    assert gap.max() <= 1e-9
    sharp = np.abs(np.radians(result.outline.corner_angles_deg)) > 1e-6
    if 0 < d < -1 / o.curvatures.min():
        assert not sharp.any()  # outward every convex corner is rounded
    elif d > 0:
        assert sharp.sum() == 1  # the hollow before the heel closes to a corner
    else:
        assert sharp.sum() <= 3  # inward the corners stay corners


def test_an_outline_that_crosses_itself_is_not_cut_to_pieces_in_silence():
    # a figure of eight whose right half is larger, so that its signed area is positive
    eight = Outline(
        np.array([[0, 0, 0], [60, 30, 0], [60, -30, 0], [0, 5, 0], [-20, 10, 0], [-20, -5, 0]], dtype=float)
    )
    eight = eight if eight.area_mm2 > 0 else eight.reversed()
    with pytest.raises(GeometryError):
        parallel(eight, 3.0)


def test_smooth_outlines_stay_tangent():
    # where the fitted curve closes, its ends meet at some 1e-6 rad
    for seed in range(10):
        o, least = closed_by_support(np.random.default_rng(seed), 1e-3)
        for d in (0.5, 5.0, -0.5 * least):
            assert np.abs(np.radians(parallel(o, d).outline.corner_angles_deg)).max() < 1e-5, seed


@cases("bulge", [3e-9, 1e-8, 5e-7, 1e-5])
def test_an_almost_straight_arc_is_no_trouble(bulge):
    # radius 1e6 to 1e9 mm beside an arc of 10 mm: the crossing at the inner corner must keep its digits
    v = np.array([[0, 8, 0], [-16, 0, bulge], [0, -8, 0.5], [18, 0, 0]])
    straight = v.copy()
    straight[1, 2] = 0.0
    for d in (1.0, -1.0):
        result, plain = parallel(Outline(v), d).outline, parallel(Outline(straight), d).outline
        bow = bulge * 17.9**2 / 3  # area between chord and arc
        assert result.area_mm2 == pytest.approx(plain.area_mm2 + bow, abs=1e-5 + 0.2 * bow)
