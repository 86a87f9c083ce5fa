"""B-splines: evaluation against scipy's, derivatives, ends, straight spans, refusals."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.interpolate import BSpline

from blankwright.base.errors import GeometryError
from blankwright.geometry.spline import Spline, greville, span_matrices
from rooms.every import cases


def random_spline(degree, seed=5, count=9):
    rng = np.random.default_rng(seed)
    return Spline(np.column_stack([np.cumsum(rng.uniform(5, 20, count)), rng.uniform(-20, 20, count)]), degree)


def by_scipy(spline):
    inner = np.arange(spline.spans + 1, dtype=float)
    knots = np.concatenate([np.zeros(spline.degree), inner, np.full(spline.degree, inner[-1])])
    return BSpline(knots, spline.points, spline.degree)


@cases("degree", [2, 3, 4, 5])
@cases("order", [0, 1, 2, 3])
def test_points_and_derivatives_are_scipys(degree, order):
    s = random_spline(degree)
    t = np.linspace(0.001, s.spans - 0.001, 97)  # between knots, where no derivative jumps
    t = t[np.abs(t - np.rint(t)) > 1e-6]
    assert s.at(t, order) == pytest.approx(by_scipy(s)(t, nu=order), abs=1e-10)


@cases("degree", [2, 3, 4, 5])
def test_the_ends_are_clamped(degree):
    s = random_spline(degree)
    ends = np.array([0.0, float(s.spans)])
    assert s.at(ends) == pytest.approx(s.points[[0, -1]], abs=1e-12)
    first = s.points[1] - s.points[0]
    assert s.tangents(ends)[0] == pytest.approx(first / np.hypot(*first), abs=1e-12)


def test_rows_give_the_point():
    s = random_spline(4)
    for t in (0.0, 0.3, 2.0, 4.999, float(s.spans)):
        first, weights = s.row(t)
        assert weights.sum() == pytest.approx(1)
        assert weights @ s.points[first : first + 5] == pytest.approx(s.at(np.array([t]))[0], abs=1e-12)


def test_curvature_is_positive_to_the_left():
    # y = a x^2: curvature 2 a / (1 + 4 a^2 x^2)^1.5
    a, b = 0.05, 20.0
    s = Spline(np.array([[0, 0], [b / 2, 0], [b, a * b * b]]), 2)
    t = np.array([0.0, 0.25, 1.0])
    assert s.curvature(t) == pytest.approx(2 * a / (1 + (2 * a * b * t) ** 2) ** 1.5)
    back = Spline(s.points[::-1], 2)
    assert back.curvature(1 - t) == pytest.approx(-s.curvature(t))


def test_control_points_on_a_line_at_greville_places_give_equal_steps():
    degree, count = 3, 8
    s = Spline(np.column_stack([greville(degree, count), np.zeros(count)]), degree)
    t = np.linspace(0, s.spans, 33)
    assert s.at(t)[:, 0] == pytest.approx(t, abs=1e-12)
    assert s.straight_spans.all()


def test_only_straight_spans_are_straight():
    points = np.array([[0, 0], [1, 0], [2, 0], [3, 0], [4, 0], [5, 1e-3], [6, 3]], dtype=float)
    assert Spline(points, 3).straight_spans.tolist() == [True, True, False, False]


def test_too_few_points_are_refused():
    with pytest.raises(GeometryError, match="at least 4 points, got 3"):
        span_matrices(3, 3)
