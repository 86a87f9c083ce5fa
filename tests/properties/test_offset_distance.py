"""Whatever the outline: moved outward and inward it keeps its distance, its order and its digits."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import HealthCheck, assume, example, given, settings
from hypothesis import strategies as st

from blankwright.base.errors import GeometryError
from blankwright.geometry.distance import points_to_pieces
from blankwright.geometry.offset import parallel
from blankwright.geometry.outline import Outline
from rooms.geometry.test_figures import _sound
from rooms.often import repeated, seldom

pytestmark = repeated

KEEP_MM = 1e-6
"""Trimmed corners are found to 1e-9 mm, at shallow angles to less; far below any tool."""

RUN = settings(
    max_examples=seldom(120, 50, 50),
    derandomize=True,
    deadline=None,
    suppress_health_check=[HealthCheck.filter_too_much],
)
spokes = st.lists(
    st.tuples(st.floats(8, 60), st.floats(0.3, 1.0), st.one_of(st.just(0.0), st.floats(-0.5, 0.9))),
    min_size=3,
    max_size=12,
)


def drawn(rows):
    """Return an outline about the origin from (radius, share of turn, bulge) rows, or pass it over."""
    import shapely

    radius, share, bulge = np.array(rows).T
    angle = 2 * np.pi * np.cumsum(share) / share.sum()
    assume(np.diff(np.append(angle, angle[0] + 2 * np.pi)).max() < 2.8)
    outline = Outline(np.column_stack([2 * radius * np.cos(angle), radius * np.sin(angle), bulge]))
    assume(_sound(outline, shapely))
    return outline


@RUN
@example(
    [*[(8.0, 1.0, 0.0)] * 3, (40.0, 1.0, 1.4251342942874336e-09), (8.0, 0.5, 0.0)], 1.0
)  # cut by a bend of 1e10 mm
@given(spokes, st.floats(0.05, 15))
def test_outward_every_place_is_at_its_distance(rows, d):
    o = drawn(rows)
    result = parallel(o, d)
    for loop in (result.outline, *result.others):
        points, _ = loop.sampled(0.5)
        gap = points_to_pieces(points, o.starts, o.ends, o.bulges).min(axis=1) - d
        assert np.abs(gap).max() < KEEP_MM


@RUN
@given(spokes, st.floats(0.05, 15))
def test_outward_gains_no_more_than_steiners_formula(rows, d):
    o = drawn(rows)
    result = parallel(o, d)
    area = result.outline.area_mm2 + sum(loop.area_mm2 for loop in result.others)
    assert area > o.area_mm2
    # Steiner's formula is the most that any outline can gain
    assert area <= o.area_mm2 + o.perimeter_mm * d + math.pi * d * d + KEEP_MM * o.perimeter_mm
    x0, y0, x1, y1 = o.bounds_mm
    assert result.outline.bounds_mm == pytest.approx((x0 - d, y0 - d, x1 + d, y1 + d), abs=KEEP_MM)


@RUN
@given(spokes, st.floats(0.05, 6), st.floats(0.05, 6))
def test_two_steps_outward_are_one(rows, first, second):
    o = drawn(rows)
    whole = parallel(o, first + second)
    once = parallel(o, first)
    assume(not once.others and not whole.others)  # a hole must be moved inward by itself
    twice = parallel(once.outline, second)
    assert not twice.others
    assert twice.outline.area_mm2 == pytest.approx(whole.outline.area_mm2, abs=KEEP_MM * whole.outline.perimeter_mm)


@RUN
@given(spokes, st.floats(0.05, 15))
def test_inward_every_place_is_at_its_distance_and_the_parts_fit_inside(rows, d):
    o = drawn(rows)
    try:
        result = parallel(o, -d)
    except GeometryError as error:
        assert "nothing is left" in str(error)
        # then no place inside is that deep
        x, y = np.meshgrid(*(np.linspace(a, b, 60) for a, b in zip(o.bounds_mm[:2], o.bounds_mm[2:], strict=True)))
        import shapely

        polygon = shapely.Polygon(o.flattened(1e-3))
        points = np.column_stack([x.ravel(), y.ravel()])
        points = points[shapely.contains_xy(polygon, points)]
        deep = points_to_pieces(points, o.starts, o.ends, o.bulges).min(axis=1).max(initial=0)
        assert deep <= d + KEEP_MM
        return
    area = 0.0
    for loop in (result.outline, *result.others):
        area += loop.area_mm2
        points, _ = loop.sampled(0.5)
        gap = points_to_pieces(points, o.starts, o.ends, o.bulges).min(axis=1) - d
        assert np.abs(gap).max() < KEEP_MM
    assert 0 < area < o.area_mm2


@RUN
@given(spokes, st.floats(0.05, 10), st.floats(0, 2 * math.pi), st.floats(-1e4, 1e4))
def test_turning_and_moving_the_outline_turns_and_moves_the_result(rows, d, turn, shift):
    o = drawn(rows)
    c, s = math.cos(turn), math.sin(turn)
    v = o.vertices.copy()
    v[:, :2] = v[:, :2] @ np.array([[c, s], [-s, c]]) + shift
    here, there = parallel(o, d), parallel(Outline(v), d)
    # the vertices are rounded to 1e-12 mm, which moves the centre of an arc of 1e8 mm radius by much more
    assert there.outline.area_mm2 == pytest.approx(here.outline.area_mm2, abs=1e-4)
    assert len(there.others) == len(here.others)
