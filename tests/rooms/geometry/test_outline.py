"""The closed outline: lengths, tangents, bounds, reversing, sampling and refusals."""

from __future__ import annotations

import math

import numpy as np
import pytest

from blankwright.base.errors import GeometryError
from blankwright.geometry.outline import Outline, piece_bounds, points_on
from rooms.every import cases
from rooms.geometry.test_figures import box, chef, drawn, notched, slot, star

STARS = [outline for _, outline in drawn(star, 300, 12)]


@cases(
    ("vertices", "match"),
    [
        ([[0, 0, 0]], "at least two vertices"),
        ([[0, 0], [1, 1]], "at least two vertices"),
        ([[0, 0, 0], [1, math.nan, 0], [1, 1, 0]], "not finite"),
        ([[0, 0, 0], [1, 0, math.inf], [1, 1, 0]], "not finite"),
        ([[0, 0, 0], [1, 0, 0], [1, 0, 0]], r"no length at \(1.000, 0.000\)"),
    ],
)
def test_bad_vertices_are_refused(vertices, match):
    with pytest.raises(GeometryError, match=match):
        Outline(np.array(vertices, dtype=float))


def test_regions_must_match():
    with pytest.raises(GeometryError, match="one region for each piece"):
        Outline(slot().vertices, ("edge", "spine"))


def test_an_outline_cannot_be_changed_after():
    o = box(4, 3)
    with pytest.raises(ValueError, match="read-only"):
        o.vertices[0, 0] = 1.0


def test_lengths_tangents_and_curvatures_of_a_slot():
    o = slot(160, 20)
    assert o.lengths == pytest.approx([160, 20 * math.pi, 160, 20 * math.pi])
    assert o.curvatures == pytest.approx([0, 1 / 20, 0, 1 / 20])
    assert o.start_tangents == pytest.approx(np.array([[1, 0], [1, 0], [-1, 0], [-1, 0]]), abs=1e-12)
    assert o.corner_angles_deg == pytest.approx([0, 0, 0, 0], abs=1e-9)
    assert o.bounds_mm == pytest.approx((-100, -20, 100, 20))


def test_corner_angles_are_positive_outward():
    assert box(4, 3).corner_angles_deg == pytest.approx([90] * 4)
    assert notched(4, 10).corner_angles_deg.tolist() == pytest.approx([90, 90, 90, 90, -90, -90, 90, 90])


@cases("o", STARS)
def test_bounds_are_those_of_dense_samples(o):
    p, _ = o.sampled(0.01)
    x0, y0, x1, y1 = o.bounds_mm
    low, high = p.min(axis=0), p.max(axis=0)
    assert ((low - (x0, y0) >= -1e-9) & (low - (x0, y0) < 1e-4)).all()
    assert (((x1, y1) - high >= -1e-9) & ((x1, y1) - high < 1e-4)).all()


@cases("bulge", [-3.0, -1.0, 1.0, 3.0])
def test_bounds_of_great_arcs(bulge):
    a, b, g = np.array([[0.0, 0.0]]), np.array([[3.0, 1.0]]), np.array([bulge])
    low, high = piece_bounds(a, b, g)
    t = np.linspace(0, 1, 20001)
    p = points_on(np.repeat(a, len(t), 0), np.repeat(b, len(t), 0), np.repeat(g, len(t)), t)
    assert low[0] == pytest.approx(p.min(axis=0), abs=1e-6)
    assert high[0] == pytest.approx(p.max(axis=0), abs=1e-6)


@cases("o", STARS)
def test_the_turns_and_corners_add_up_to_one_round(o):
    turned = np.degrees(4 * np.arctan(o.bulges)).sum() + o.corner_angles_deg.sum()
    assert turned == pytest.approx(360)


def test_reversing_twice_changes_nothing():
    o = Outline(STARS[0].vertices, tuple(f"r{i}" for i in range(len(STARS[0]))), 0.01)
    back = o.reversed()
    assert back.area_mm2 == pytest.approx(-o.area_mm2)
    assert back.perimeter_mm == pytest.approx(o.perimeter_mm)
    again = back.reversed()
    assert again.vertices == pytest.approx(o.vertices)
    assert again.regions == o.regions
    # every piece keeps its name: the same ends, swapped
    for i, name in enumerate(back.regions):
        j = o.regions.index(name)
        assert back.starts[i] == pytest.approx(o.ends[j])
        assert back.ends[i] == pytest.approx(o.starts[j])
        assert back.bulges[i] == -o.bulges[j]


def test_samples_are_even_and_hold_every_vertex():
    o = chef().smooth
    p, piece = o.sampled(0.5)
    steps = np.hypot(*(np.roll(p, -1, axis=0) - p).T)
    assert steps.max() <= 0.5 + 1e-12
    for i, v in enumerate(o.starts):
        assert (p[piece == i][0] == v).all()


def test_points_on_a_nearly_straight_arc():
    a, b = np.array([[0.0, 0.0]]), np.array([[100.0, 0.0]])
    for bulge in (0.0, 1e-12, 1e-9, 1e-7, 1e-4):
        p = points_on(a, b, np.array([bulge]), np.array([0.5]))[0]
        assert p == pytest.approx((50, -50 * bulge), abs=1e-12)


def test_the_grid_takes_what_differs_in_the_last_digits():
    o = box(40, 30).placed(11.0, 0.123456789, -5.0)
    o = Outline(o.vertices + np.array([0, 0, 0.0123456789]), ("edge", "a", "b", "c"), 0.004)
    gridded = o.on_grid()
    for noise in (1e-11, -1e-11):
        near = Outline(o.vertices + noise, o.regions, 0.004).on_grid()
        assert near.vertices.tolist() == gridded.vertices.tolist()
    assert all(v == float(f"{v:.6f}") for v in gridded.vertices[:, :2].ravel())
    assert all(v == float(f"{v:.8f}") for v in gridded.bulges)
    assert gridded.regions == o.regions


def test_the_grid_says_how_far_it_moved():
    rng = np.random.default_rng(3)
    for _ in range(50):
        o = box(200, 30).placed(float(rng.uniform(0, 360)), 0.0, 0.0)
        o = Outline(o.vertices + np.array([0, 0, float(rng.uniform(-0.3, 0.3))]), (), 0.004)
        g = o.on_grid()
        t = np.full(len(o), 0.5)
        middles = [points_on(x.starts, x.ends, x.bulges, t) for x in (o, g)]
        moved = max(np.hypot(*(g.starts - o.starts).T).max(), np.hypot(*(middles[1] - middles[0]).T).max())
        assert 0 < moved <= g.max_error_mm - o.max_error_mm < 2e-6


def test_pieces_below_the_grid_are_left_out():
    o = Outline(np.array([[0, 0, 0], [10, 0, 0], [10, 2e-7, 0], [0, 5, 0]]), ("a", "b", "c", "d"))
    assert o.on_grid().regions == ("a", "c", "d")
    assert not (o.on_grid().vertices[:, 0] < 0).any()


@cases("end", [(0.0, 14.0), (9.0, 0.0), (-3.0, 5.0)])
def test_the_box_of_a_piece_is_as_large_as_the_piece_however_flat_it_is(end: tuple[float, float]) -> None:
    for bulge in (s * 10.0**-k for s in (1, -1) for k in range(12)):
        piece = np.array([[-4.0, 7.0]]), np.array([[-4.0, 7.0]]) + end, np.array([bulge])
        low, high = piece_bounds(*piece)
        on = points_on(*(np.repeat(x, 4001, axis=0) for x in piece), np.linspace(0, 1, 4001))
        assert (on >= low - 1e-12).all()
        assert (on <= high + 1e-12).all()
        assert low[0] == pytest.approx(on.min(axis=0), abs=1e-5 * abs(bulge) + 1e-13)
        assert high[0] == pytest.approx(on.max(axis=0), abs=1e-5 * abs(bulge) + 1e-13)
