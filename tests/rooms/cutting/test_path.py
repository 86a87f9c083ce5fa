"""Stretches of an outline and the cutter's path, on shapes that can be done by hand."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from blankwright.base.errors import DesignError
from blankwright.cutting.path import cutter_path
from blankwright.cutting.stretch import lengths_mm, place, stretch, turned_round
from blankwright.geometry.outline import Outline
from blankwright.shop.services import Table, service
from rooms.every import cases

CIRCLE = Outline(np.array([[10.0, 0, 1], [-10, 0, 1]]), ("spine", "butt"))
RECTANGLE = Outline(np.array([[0.0, 0, 0], [200, 0, 0], [200, 40, 0], [0, 40, 0]]), ("edge", "spine", "tang", "butt"))


def table(**changes: object) -> Table:
    own = service("own-table").table
    assert own is not None
    return replace(own, **changes)  # type: ignore[arg-type]


def test_lengths_of_a_circle_and_a_rectangle() -> None:
    assert lengths_mm(CIRCLE) == pytest.approx([0, 10 * math.pi, 20 * math.pi], abs=1e-12)
    assert lengths_mm(RECTANGLE) == pytest.approx([0, 200, 240, 440, 480], abs=1e-12)


@cases("turns", [-1, 0, 2])
def test_a_place_on_a_circle(turns: int) -> None:
    at = 10 * math.radians(60) + turns * 20 * math.pi
    point, ahead, region = place(CIRCLE, at)
    assert point == pytest.approx([5, 10 * math.sin(math.radians(60))], abs=1e-9)
    assert ahead == pytest.approx([-math.sin(math.radians(60)), 0.5], abs=1e-9)
    assert region == "spine"


def test_turned_round_is_the_same_outline_the_other_way() -> None:
    other = turned_round(CIRCLE)
    assert other.area_mm2 == pytest.approx(-100 * math.pi)
    assert turned_round(other).vertices == pytest.approx(CIRCLE.vertices)
    assert turned_round(other).regions == CIRCLE.regions
    assert place(turned_round(RECTANGLE), 20.0)[2] == "butt"


@cases(("begin", "end"), [(3.0, 50.0), (55.0, 70.0), (0.0, 20 * math.pi), (60.0, 60 + 20 * math.pi)])
def test_a_stretch_of_a_circle_keeps_its_radius_and_length(begin: float, end: float) -> None:
    rows = stretch(CIRCLE, begin, end)
    assert np.hypot(*rows[:, :2].T) == pytest.approx([10.0] * len(rows))
    assert sum(40 * math.atan(b) for b in rows[:-1, 2]) == pytest.approx(end - begin, abs=1e-6)
    assert rows[0, :2] == pytest.approx([10 * math.cos(begin / 10), 10 * math.sin(begin / 10)], abs=1e-6)
    assert rows[-1, :2] == pytest.approx([10 * math.cos(end / 10), 10 * math.sin(end / 10)], abs=1e-6)


def test_a_stretch_of_a_rectangle_begins_and_ends_inside_its_sides() -> None:
    rows = stretch(RECTANGLE, 190.0, 250.0)
    assert rows == pytest.approx(np.array([[190, 0, 0], [200, 0, 0], [200, 40, 0], [190, 40, 0]]), abs=1e-9)


@cases("outside", ["clockwise", "counter-clockwise"])
@cases("enter", ["butt", "spine"])
def test_the_path_round_a_circle_is_a_circle_with_two_quarter_arcs(outside: str, enter: str) -> None:
    path = cutter_path(CIRCLE, [], table(kerf_mm=1.0, lead_mm=4.0, enter=enter, outside=outside))
    (one,) = path.passes
    assert one.length_mm == pytest.approx(2 * math.pi * 10.5 + 4 * math.pi, abs=1e-3)
    assert np.hypot(*one.chain[1:-1, :2].T) == pytest.approx([10.5] * (len(one.chain) - 2), abs=1e-3)
    assert np.hypot(*one.chain[[0, -1], :2].T) == pytest.approx([math.hypot(14.5, 4)] * 2, abs=1e-2)
    assert path.outline.area_mm2 == pytest.approx(math.pi * 10.5**2, rel=1e-4)


def test_the_path_round_a_rectangle_is_longer_by_a_round_corner_at_each() -> None:
    path = cutter_path(RECTANGLE, [], table(kerf_mm=2.0, lead_mm=3.0))
    assert path.outline.perimeter_mm == pytest.approx(480 + 2 * math.pi, abs=1e-3)
    assert path.outline.size_mm == pytest.approx((202, 42), abs=1e-3)
    assert path.run.cut_mm == pytest.approx(480 + 2 * math.pi + 3 * math.pi, abs=1e-3)


def test_a_hole_is_cut_from_its_middle_first_and_the_other_way_round() -> None:
    path = cutter_path(RECTANGLE, [(100.0, 20.0, 8.0)], table(kerf_mm=1.0))
    assert [p.kind for p in path.passes] == ["hole", "outline"]
    hole = path.passes[0]
    assert path.holes == ((100.0, 20.0, 7.0),)
    # half a circle of 1.75 mm, once round 3.5 mm, a quarter of 1.75 mm to come back
    assert hole.length_mm == pytest.approx(math.pi * 1.75 + 2 * math.pi * 3.5 + path_back(hole.chain), abs=1e-9)
    assert tuple(hole.chain[0, :2]) == (100.0, 20.0)
    assert (hole.chain[1, 2] > 0) == (table().outside == "clockwise")


def path_back(chain: np.ndarray) -> float:
    a, b = chain[-2], chain[-1]
    half = 2 * math.atan(abs(a[2]))
    return math.dist(a[:2], b[:2]) / math.sin(half) * half


def test_a_hole_without_room_for_slot_and_lead_is_refused() -> None:
    least = table(kerf_mm=1.5).smallest_hole_mm
    assert least == pytest.approx(4.7)
    assert cutter_path(RECTANGLE, [(100.0, 20.0, least)], table()).holes
    with pytest.raises(DesignError, match=r"The hole of 4\.6 mm at x = 100\.0 mm has no room for a kerf of 1\.5 mm"):
        cutter_path(RECTANGLE, [(100.0, 20.0, 4.6)], table())


@pytest.mark.parametrize(("wide", "refused"), [(3.0, True), (5.0, False)])
def test_a_notch_narrower_than_the_kerf_is_refused(wide: float, refused: bool) -> None:
    """A round pocket of 10 mm behind a neck: a slot of 4 mm goes through a neck of 5 mm, not through one of 3 mm."""
    bulge = math.tan((2 * math.pi - 2 * math.asin(wide / 10)) / 4)
    rows = [
        [0.0, 0, 0], [100 - wide / 2, 0, 0], [100 - wide / 2, 8, -bulge], [100 + wide / 2, 8, 0],
        [100 + wide / 2, 0, 0], [200, 0, 0], [200, 40, 0], [0, 40, 0],
    ]  # fmt: skip
    outline = Outline(np.array(rows), ("edge",) * 6 + ("spine", "butt"))
    if refused:
        with pytest.raises(DesignError, match=r"A kerf of 4 mm does not go into the notch near \(100, "):
            cutter_path(outline, [], table(kerf_mm=4.0))
    else:
        assert cutter_path(outline, [], table(kerf_mm=4.0)).passes


def test_no_place_to_enter_and_no_room_for_tabs_are_said() -> None:
    nowhere = Outline(RECTANGLE.vertices, ("edge",) * 4)
    with pytest.raises(DesignError, match="no butt to enter at"):
        cutter_path(nowhere, [], table())
    with pytest.raises(DesignError, match="no room for a tab"):
        cutter_path(Outline(RECTANGLE.vertices, ("edge", "edge", "edge", "butt")), [], table(tabs=1))
    with pytest.raises(DesignError, match=r"Only \d tabs have room"):
        cutter_path(RECTANGLE, [], table(tabs=8, tab_width_mm=20.0, lead_mm=10.0))


def test_bridges_on_a_straight_side_are_as_wide_as_asked() -> None:
    path = cutter_path(RECTANGLE, [], table(kerf_mm=2.0, lead_mm=5.0, tabs=3, tab_width_mm=4.0))
    assert len(path.passes) == 4
    for a, b in zip(path.passes, path.passes[1:], strict=False):
        assert math.dist(a.chain[-2, :2], b.chain[1, :2]) == pytest.approx(4.0 + 2.0, abs=1e-3)
        assert math.dist(a.chain[-1, :2], b.chain[0, :2]) == pytest.approx(4.0 + 2.0, abs=1e-3), "straight out"


def test_time_is_cut_travel_and_waits() -> None:
    path = cutter_path(RECTANGLE, [], table(feed_mm_min=600.0, travel_mm_min=6000.0, pierce_s=2.0))
    assert path.run.time_s(table(feed_mm_min=600.0, travel_mm_min=6000.0, pierce_s=2.0)) == pytest.approx(
        path.run.cut_mm / 10 + path.run.travel_mm / 100 + 2
    )
