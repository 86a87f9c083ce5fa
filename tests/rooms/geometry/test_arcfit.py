"""Biarcs and chains: joints, breaks, splitting, merging and refusals (accuracy is judged in tests/truth)."""

from __future__ import annotations

import math

import numpy as np
import pytest

import blankwright.geometry.arcfit as arcfit
from blankwright.base.errors import ToleranceNotMetError
from blankwright.geometry.arcfit import ArcChain, biarcs, fit_arcs, split_at
from blankwright.geometry.distance import points_to_pieces
from blankwright.geometry.outline import points_on
from blankwright.geometry.spline import Spline
from rooms.every import cases

S_BEND = Spline(np.array([[0, 0], [20, 0], [40, 15], [60, -25], [90, 5], [120, 5.0]]), 3)


def one(a, ta, b, tb):
    return biarcs(*(np.array([p], dtype=float) for p in (a, ta, b, tb)))


def direction(deg):
    return (math.cos(math.radians(deg)), math.sin(math.radians(deg)))


def test_a_half_circle_is_one_circle_twice():
    joint, first, second = one((-10, 0), (0, -1), (10, 0), (0, 1))
    assert joint[0] == pytest.approx((0, -10), abs=1e-12)
    assert (first[0], second[0]) == pytest.approx((math.tan(math.pi / 8),) * 2)


def test_a_straight_line_is_straight():
    joint, first, second = one((0, 0), (1, 0), (10, 0), (1, 0))
    assert joint[0] == pytest.approx((5, 0))
    assert (first[0], second[0]) == pytest.approx((0, 0), abs=1e-15)


@cases(("start", "end"), [(20, -10), (0, 35), (-40, -40), (30, 80), (1e-5, -2e-5)])
def test_a_biarc_has_its_end_tangents_and_a_tangent_joint(start, end):
    joint, first, second = one((0, 0), direction(start), (10, 2), direction(end))
    c1, c2 = joint[0], np.array([10, 2]) - joint[0]
    h1, h2 = math.atan2(c1[1], c1[0]), math.atan2(c2[1], c2[0])
    t1, t2 = 2 * math.atan(first[0]), 2 * math.atan(second[0])
    assert math.degrees(h1 - t1) == pytest.approx(start, abs=1e-9)
    assert math.degrees(h2 + t2) == pytest.approx(end, abs=1e-9)
    assert h1 + t1 == pytest.approx(h2 - t2, abs=1e-12)


def test_breaks_become_joints():
    chain = fit_arcs(S_BEND, (0.0, 0.4, 1.7, 3.0), 1e-3)
    for t in (0.0, 0.4, 1.7, 3.0):
        gap = np.hypot(*(chain.points - S_BEND.at(np.array([t]))[0]).T).min()
        assert gap < 1e-12
    assert chain.params[0] == 0
    assert chain.params[-1] == 3
    assert (np.diff(chain.params) > 0).all()


def test_a_part_of_a_spline():
    chain = fit_arcs(S_BEND, (0.5, 1.5), 1e-3)
    assert chain.points[[0, -1]] == pytest.approx(S_BEND.at(np.array([0.5, 1.5])), abs=1e-12)


def test_an_unreachable_tolerance_is_refused():
    with pytest.raises(ToleranceNotMetError, match="was not reached") as caught:
        fit_arcs(S_BEND, (0.0, 3.0), 1e-17)
    assert caught.value.achieved_mm > 0


def test_splitting_moves_nothing():
    chain = fit_arcs(S_BEND, (0.0, 3.0), 0.05)
    middle = float(chain.params[2] * 0.6 + chain.params[3] * 0.4)
    split = split_at(chain, [middle])
    assert len(split.bulges) == len(chain.bulges) + 1
    assert 4 * np.arctan(split.bulges).sum() == pytest.approx(4 * np.arctan(chain.bulges).sum())
    on = points_on(split.points[:-1], split.points[1:], split.bulges, np.full(len(split.bulges), 0.37))
    off = points_to_pieces(on, chain.points[:-1], chain.points[1:], chain.bulges).min(axis=1)
    assert off.max() < 1e-11
    assert middle in split.params


def test_a_split_beside_a_joint_leaves_no_sliver():
    chain = fit_arcs(S_BEND, (0.0, 3.0), 0.05)
    beside = float(chain.params[2] * 0.99 + chain.params[3] * 0.01)
    assert len(split_at(chain, [beside]).bulges) == len(chain.bulges)


def test_a_circle_is_merged():
    # an exact quarter circle is no B-spline; an arc seen through merging must still end where it did
    from blankwright.geometry.arcfit import _merge_alike

    b = math.tan(math.pi / 16)
    points = np.array([[10, 0], [10 * math.cos(math.pi / 4), 10 * math.sin(math.pi / 4)], [0, 10]])
    merged = _merge_alike(ArcChain(points, np.array([b, b]), np.array([0.0, 0.5, 1.0]), 0.0))
    assert merged.bulges == pytest.approx([math.tan(math.pi / 8)])
    assert merged.points == pytest.approx(points[[0, 2]])


def test_no_arc_bends_against_a_curve_that_bends_one_way() -> None:
    """Behind a straight a curvature that grows faster than its square lets a biarc begin to the other side."""
    x = np.array([0.0, 20, 40, 60, 80, 100, 120, 140])
    spline = Spline(np.column_stack([x, [0.0, 0, 0, 0, 0.02, 0.4, 3, 12]]), 3)
    for tol_mm in (0.05, 0.02, 0.005, 0.001):
        chain = fit_arcs(spline, (0.0, float(spline.spans)), tol_mm)
        assert chain.max_error_mm <= tol_mm
        assert chain.bulges.min() >= 0, tol_mm


def test_an_arc_may_turn_back_where_the_curve_does() -> None:
    spline = Spline(np.array([[0.0, 0], [20, 6], [40, -6], [60, 6], [80, -6], [100, 0]]), 3)
    chain = fit_arcs(spline, (0.0, float(spline.spans)), 0.005)
    assert chain.max_error_mm <= 0.005
    turns = int((np.diff(np.sign(chain.bulges)) != 0).sum())
    assert turns == int((np.diff(np.sign(spline.curvature(np.linspace(0, spline.spans, 999)))) != 0).sum())


def test_a_curve_like_another_is_followed_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """The same bend a twentieth larger and turned: its first spread holds, with no more arcs than by itself."""
    tol_mm, whole = 0.001, (0.0, float(S_BEND.spans))
    first = fit_arcs(S_BEND, whole, tol_mm)
    c, s = 1.05 * math.cos(0.3), 1.05 * math.sin(0.3)
    larger = Spline(S_BEND.points @ np.array([[c, s], [-s, c]]), 3)
    rounds, measured = [], arcfit._biarc_errors
    monkeypatch.setattr(arcfit, "_biarc_errors", lambda *args: rounds.append(1) or measured(*args))
    alone = fit_arcs(larger, whole, tol_mm)
    before = len(rounds)
    alike = fit_arcs(larger, whole, tol_mm, first)
    assert (len(rounds) - before, before > 2) == (1, True)
    assert len(alike.bulges) <= len(alone.bulges) + 2, "a biarc"
    t = np.linspace(*whole, 2001)
    off = points_to_pieces(larger.at(t), alike.points[:-1], alike.points[1:], alike.bulges).min(axis=1)
    assert off.max() <= alike.max_error_mm <= tol_mm


def test_a_chain_with_other_breaks_is_no_guide() -> None:
    guide = fit_arcs(S_BEND, (0.0, 1.5), 1e-3)
    alone, guided = fit_arcs(S_BEND, (0.5, 3.0), 1e-3), fit_arcs(S_BEND, (0.5, 3.0), 1e-3, guide)
    assert np.array_equal(alone.points, guided.points)
