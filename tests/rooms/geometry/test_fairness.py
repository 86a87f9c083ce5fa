"""Bumps, hollows, flats and tightest bends found on curves whose health is known beforehand."""

from __future__ import annotations

import math

import numpy as np
import pytest

from blankwright.geometry.fairness import fairness, fairness_of_arcs
from blankwright.geometry.outline import Outline
from blankwright.geometry.spline import Spline
from rooms.every import cases

SPANS, LONG_MM = 9, 120.0
COUNT = SPANS + 3


def heights(f) -> np.ndarray:  # type: ignore[no-untyped-def]
    """Return the heights of the control points of a cubic that follows f(x), exact where that is cubic."""
    t = np.linspace(0, SPANS, 200)
    columns = [Spline(np.column_stack([row, row]), 3).at(t)[:, 0] for row in np.eye(COUNT)]
    return np.linalg.lstsq(np.column_stack(columns), f(t * LONG_MM / SPANS), rcond=None)[0]


STATIONS = heights(lambda x: x)
PARABOLA = heights(lambda x: 30 * (x / LONG_MM) ** 2)


def curve(y: np.ndarray) -> Spline:
    """Return a cubic 120 mm long that runs evenly along x, with control points at the heights y."""
    return Spline(np.column_stack([STATIONS, y]), 3)


def whole(spline: Spline):  # type: ignore[no-untyped-def]
    return fairness(spline, 0.0, float(spline.spans))


def test_a_parabola_is_fair() -> None:
    health = whole(curve(PARABOLA))
    assert health.bumps_mm == ()
    assert health.hollows_mm == ()
    assert health.longest_flat_mm == 0.0
    assert health.least_radius_mm == pytest.approx(LONG_MM**2 / 60)  # 1 / y'' at the vertex


def test_an_edge_that_bends_ever_more_is_fair() -> None:
    health = whole(curve(heights(lambda x: 12 * (x / LONG_MM) ** 3)))
    assert health.bumps_mm == health.hollows_mm == ()


def test_a_flat_before_a_belly_is_measured_where_it_lies() -> None:
    y = heights(lambda x: 20 * np.maximum(0, x / LONG_MM - 3 / SPANS) ** 3)
    y[np.abs(y) < 1e-9] = 0.0
    health = whole(curve(y))
    assert health.bumps_mm == health.hollows_mm == ()
    assert health.flat_from_mm == pytest.approx((0.0, 0.0))
    assert health.longest_flat_mm == pytest.approx(LONG_MM * 3 / SPANS)


def test_a_straight_line_is_flat_from_end_to_end_and_has_no_bend() -> None:
    health = whole(curve(np.zeros(COUNT)))
    assert health.longest_flat_mm == pytest.approx(LONG_MM)
    assert health.least_radius_mm == math.inf
    assert health.bumps_mm == health.hollows_mm == ()


@cases("at", [4, 6, 7])
def test_a_point_pushed_out_of_a_fair_curve_is_a_bump_near_it(at: int) -> None:
    y = PARABOLA.copy()
    y[at] -= 0.35  # outward: the curve bends more here and less on both sides
    health = whole(curve(y))
    assert health.bumps_mm
    x = float(STATIONS[at])
    assert min(abs(b[0] - x) for b in health.bumps_mm) < 25


def test_a_point_pulled_in_makes_a_hollow() -> None:
    y = PARABOLA / 3
    y[6] += 1.5
    health = whole(curve(y))
    assert health.hollows_mm
    assert min(abs(h[0] - 65.0) for h in health.hollows_mm) < 25


def test_an_s_curve_changes_its_side_once() -> None:
    assert len(whole(curve(heights(lambda x: 20 * (2 * x / LONG_MM - 1) ** 3))).hollows_mm) == 1


def test_the_tightest_bend_of_a_near_circle_is_its_radius() -> None:
    a = np.linspace(0, math.pi / 2, 40)
    spline = Spline(np.column_stack([50 * np.sin(a), 50 - 50 * np.cos(a)]), 3)
    inner = fairness(spline, 4.0, float(spline.spans) - 4)
    assert inner.least_radius_mm == pytest.approx(50.0, rel=0.01)
    assert inner.bumps_mm == inner.hollows_mm == ()


def test_a_dip_too_small_to_feel_is_no_bump() -> None:
    y = PARABOLA.copy()
    y[6] -= 0.001
    assert whole(curve(y)).bumps_mm == ()


def test_only_the_asked_stretch_is_looked_at() -> None:
    y = PARABOLA.copy()
    y[10] -= 3.0
    spline = curve(y)
    assert fairness(spline, 0.0, 3.0).bumps_mm == ()
    assert fairness(spline, 0.0, 3.0).hollows_mm == ()
    assert whole(spline).bumps_mm or whole(spline).hollows_mm


def test_a_line_that_was_seen_is_told_by_chords_and_not_by_the_noise_of_its_arcs() -> None:
    """Short arcs with ends 0.05 mm off a circle of 400 mm, beside the same line drawn exactly."""
    rng = np.random.default_rng(7)
    angle = np.linspace(-0.25, 0.25, 60)
    exact = 400 * np.column_stack([np.sin(angle), 1 - np.cos(angle)])
    bulge = math.tan((angle[1] - angle[0]) / 4)
    for off_mm, within_mm, told in ((0.0, 0.001, 1e-6), (0.05, 0.2, 0.25)):
        ring = exact + off_mm * rng.uniform(-1, 1, exact.shape)
        bulges = np.full(len(ring), bulge) + (off_mm > 0) * rng.uniform(-0.01, 0.01, len(ring))
        top = [[0.0, 90.0, 0.0]]
        outline = Outline(np.concatenate([np.column_stack([ring, [*bulges[:-1], 0.0]]), top]))
        found = fairness_of_arcs(outline, np.arange(len(ring) - 1), within_mm)
        assert found.least_radius_mm == pytest.approx(400, rel=told)
