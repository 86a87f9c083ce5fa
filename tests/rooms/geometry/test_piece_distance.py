"""Distances from points to pieces, crossings and shares: small cases by hand, random ones by brute force."""

from __future__ import annotations

import math

import numpy as np
import pytest

from blankwright.geometry.distance import crossings, overlapping_boxes, points_to_pieces, shares
from blankwright.geometry.outline import points_on
from rooms.every import cases
from rooms.geometry.test_figures import drawn, star

ROOT = math.sqrt(0.5)
QUARTER = math.tan(math.pi / 8)


def far(point, a, b, bulge):
    return points_to_pieces(np.array([point]), np.array([a]), np.array([b]), np.array([bulge]))[0, 0]


@cases(
    ("point", "expected"),
    [((5, 3), 3), ((-3, 4), 5), ((13, -4), 5), ((0, 0), 0), ((10, 0), 0), ((4, 0), 0)],
)
def test_to_a_line(point, expected):
    assert far(np.array(point, dtype=float), (0.0, 0.0), (10.0, 0.0), 0.0) == pytest.approx(expected)


@cases(
    ("point", "expected"),
    [
        ((0, 0), 10),  # the centre
        ((20, 20), math.hypot(20, 20) - 10),
        ((3 * ROOT, 3 * ROOT), 7),
        ((10, -5), 5),  # beyond the start
        ((-3, 14), 5),  # beyond the end
        ((-10, -10), math.hypot(20, 10)),  # behind: to the nearer end
    ],
)
def test_to_a_quarter_circle(point, expected):
    p = np.array(point, dtype=float)
    assert far(p, (10.0, 0.0), (0.0, 10.0), QUARTER) == pytest.approx(expected)
    assert far(p, (0.0, 10.0), (10.0, 0.0), -QUARTER) == pytest.approx(expected)


@cases("bulge", [-4.0, -1.0, -0.999999, -0.2, 0.2, 0.999999, 1.0, 1.000001, 4.0])
def test_to_arcs_of_all_sizes_by_brute_force(bulge):
    rng = np.random.default_rng(11)
    a, b = np.array([[-3.0, 1.0]]), np.array([[5.0, 4.0]])
    t = np.linspace(0, 1, 20001)
    on = points_on(np.repeat(a, len(t), 0), np.repeat(b, len(t), 0), np.full(len(t), bulge), t)
    points = rng.uniform(-30, 30, (40, 2))
    found = points_to_pieces(points, a, b, np.array([bulge]))[:, 0]
    brute = np.hypot(points[:, None, 0] - on[:, 0], points[:, None, 1] - on[:, 1]).min(axis=1)
    assert found == pytest.approx(brute, abs=2e-3)
    assert (found <= brute + 1e-9).all()


def crossing_of(p, q):
    rows = np.array([p, q], dtype=float)
    i, j = np.array([0]), np.array([1])
    return rows, crossings(rows[:, :2], rows[:, 2:4], rows[:, 4], i, j)


@cases(
    ("p", "q", "places"),
    [
        ((0, 0, 10, 0, 0), (4, -5, 4, 5, 0), [(4, 0)]),
        ((0, 0, 10, 0, 0), (14, -5, 14, 5, 0), []),
        ((0, 0, 10, 0, 0), (0, 1, 10, 1, 0), []),
        ((-20, 6, 20, 6, 0), (10, 0, -10, 0, 1), [(-8, 6), (8, 6)]),
        ((-20, 10, 20, 10, 0), (10, 0, -10, 0, 1), [(0, 10)]),  # touches
        ((-20, 11, 20, 11, 0), (10, 0, -10, 0, 1), []),
        ((5, 0, -5, 0, 1), (11, 0, 1, 0, 1), [(3, 4)]),  # circles of radius 5 at 0 and 6
        ((5, 0, -5, 0, 1), (21, 0, 11, 0, 1), []),
    ],
)
def test_where_pieces_cross(p, q, places):
    rows, (first, s, second, t) = crossing_of(p, q)
    on_first = points_on(rows[first, :2], rows[first, 2:4], rows[first, 4], s)
    on_second = points_on(rows[second, :2], rows[second, 2:4], rows[second, 4], t)
    assert on_first == pytest.approx(on_second, abs=1e-6)
    found = {tuple(np.round(x, 6) + 0.0) for x in on_first}
    assert found == {tuple(map(float, place)) for place in places}


def test_crossings_of_random_outlines_are_on_both_pieces():
    rng = np.random.default_rng(4)
    for seed, o in drawn(star, 40, 10):
        other = star(seed + 1_000_000) or o
        shift = rng.uniform(-30, 30, 2)
        starts, ends = np.vstack([o.starts, other.starts + shift]), np.vstack([o.ends, other.ends + shift])
        bulges = np.concatenate([o.bulges, other.bulges])
        i, j = overlapping_boxes(starts, ends, bulges)
        apart = (i < len(o)) & (j >= len(o))
        first, s, second, t = crossings(starts, ends, bulges, i[apart], j[apart])
        on = points_on(starts[first], ends[first], bulges[first], s)
        to = points_on(starts[second], ends[second], bulges[second], t)
        assert on == pytest.approx(to, abs=1e-7), f"seed {seed}"
        # two closed curves cross an even number of times
        assert len(first) % 2 == 0, f"seed {seed}"


@cases("bulge", [-2.0, -1.0, -0.3, 0.0, 0.3, 1.0, 2.0])
def test_shares_undo_points_on(bulge):
    t = np.linspace(0, 1, 11)
    a, b = np.tile([1.0, 2.0], (11, 1)), np.tile([9.0, -3.0], (11, 1))
    g = np.full(11, bulge)
    assert shares(a, b, g, points_on(a, b, g, t)) == pytest.approx(t, abs=1e-12)


def test_shares_beyond_the_ends_lie_outside_nought_to_one():
    a, b, g = np.array([[10.0, 0.0]]), np.array([[0.0, 10.0]]), np.array([QUARTER])
    before, after = np.array([[10 * ROOT, -10 * ROOT]]), np.array([[-10 * ROOT, 10 * ROOT]])
    assert shares(a, b, g, before)[0] == pytest.approx(-0.5)
    assert shares(a, b, g, after)[0] == pytest.approx(1.5)
