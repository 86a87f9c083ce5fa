"""Rounding a corner: closed forms for lines and arcs, what the round uses up, and radii that do not fit."""

from __future__ import annotations

import math

import numpy as np
import pytest

from blankwright.base.errors import GeometryError
from blankwright.geometry.fillet import round_corner
from blankwright.geometry.outline import Outline, circles
from rooms.every import cases
from rooms.geometry.test_figures import box, notched, slot


def the_round(outline, radius, sign=1.0):
    """Return centre, start and end of the one arc of a radius and turn."""
    hit = np.flatnonzero(np.abs(outline.curvatures * radius - sign) < 1e-9)
    assert len(hit) == 1
    i = hit[0]
    centre, _ = circles(outline.starts[i : i + 1], outline.ends[i : i + 1], outline.bulges[i : i + 1])
    return centre[0], outline.starts[i], outline.ends[i]


@cases("radius", [0.1, 3.0, 9.999])
@cases(("corner", "centre"), [(0, (1, 1)), (1, (-1, 1)), (2, (-1, -1)), (3, (1, -1))])
def test_a_right_angle(radius, corner, centre):
    o = box(40, 10)
    result = round_corner(o, corner, radius)
    at, start, end = the_round(result, radius)
    assert at == pytest.approx(o.starts[corner] + radius * np.array(centre), abs=1e-9)
    assert np.hypot(*(start - o.starts[corner])) == pytest.approx(radius)
    assert np.hypot(*(end - o.starts[corner])) == pytest.approx(radius)
    assert result.area_mm2 == pytest.approx(400 - (1 - math.pi / 4) * radius**2)
    assert result.perimeter_mm == pytest.approx(100 - (2 - math.pi / 2) * radius)


@cases("corner_deg", [20.0, 60.0, 90.0, 140.0, 179.0])
def test_any_angle_between_lines(corner_deg):
    # tangent length r / tan(w/2) with w the angle inside
    w, r, side = math.radians(corner_deg), 2.0, 60.0
    o = Outline(np.array([[0, 0, 0], [side, 0, 0], [side * math.cos(w), side * math.sin(w), 0]]))
    result = round_corner(o, 0, r)
    _, start, end = the_round(result, r)
    assert np.hypot(*start) == pytest.approx(r / math.tan(w / 2))
    assert np.hypot(*end) == pytest.approx(r / math.tan(w / 2))
    lost = r * r / math.tan(w / 2) - r * r * (math.pi - w) / 2
    assert o.area_mm2 - result.area_mm2 == pytest.approx(lost, abs=1e-9)


def test_an_inner_right_angle_is_filled():
    o = notched(20, 10)
    corner = int(np.flatnonzero(o.corner_angles_deg < 0)[0])
    result = round_corner(o, corner, 4.0)
    the_round(result, 4.0, -1.0)
    assert result.area_mm2 - o.area_mm2 == pytest.approx((1 - math.pi / 4) * 16)


@cases("radius", [0.5, 2.0, 4.0])
def test_between_a_line_and_an_arc(radius):
    # half a disc of radius R: a round of radius r in its corner touches the flat at x = sqrt((R - r)^2 - r^2)
    big = 12.0
    o = Outline(np.array([[-big, 0, 0], [big, 0, 1]]))
    result = round_corner(o, 1, radius)
    at, start, end = the_round(result, radius)
    x = math.sqrt((big - radius) ** 2 - radius**2)
    assert at == pytest.approx((x, radius))
    assert start == pytest.approx((x, 0), abs=1e-9)
    assert end == pytest.approx(at * big / (big - radius))
    assert np.abs(result.corner_angles_deg).max() == pytest.approx(90)  # only the other corner is left


def test_between_two_arcs():
    # a lens of two arcs of radius R: the round's centre lies at R - r from both centres
    r, half = 1.5, 0.8
    big = 20.0
    x, up = big * math.sin(half), big * math.cos(half)
    o = Outline(np.array([[-x, 0, math.tan(half / 2)], [x, 0, math.tan(half / 2)]]))
    result = round_corner(o, 1, r)
    at, _, _ = the_round(result, r)
    assert at == pytest.approx((math.sqrt((big - r) ** 2 - up**2), 0), abs=1e-9)


def test_short_pieces_beside_the_corner_are_used_up():
    # the corner's neighbours are 0.5 mm long; the round must reach past them
    o = Outline(
        np.array([[0, 0, 0], [39.5, 0, 0], [40, 0, 0], [40, 0.5, 0], [40, 10, 0], [0, 10, 0]], dtype=float),
        ("edge", "edge", "butt", "butt", "spine", "heel"),
    )
    result = round_corner(o, 2, 3.0)
    at, _, _ = the_round(result, 3.0)
    assert at == pytest.approx((37, 3))
    assert len(result) == 5
    assert result.area_mm2 == pytest.approx(400 - (1 - math.pi / 4) * 9)
    assert result.regions.count("spine") == 1


def test_every_joint_of_the_round_is_tangent():
    result = round_corner(round_corner(box(40, 10), 2, 4.0), 1, 3.0)
    sharp = np.abs(result.corner_angles_deg) > 1e-6
    assert result.corner_angles_deg[sharp] == pytest.approx([90] * sharp.sum())
    assert sharp.sum() in {2, 3}


@cases("radius", [10.5, 20.0, 1e4])
def test_a_radius_that_does_not_fit_names_the_place(radius):
    with pytest.raises(GeometryError, match=r"does not fit at the corner \(40.00, 10.00\)"):
        round_corner(box(40, 10), 2, radius)


def test_a_radius_that_just_fits():
    result = round_corner(box(40, 10), 2, 10.0)
    assert result.area_mm2 == pytest.approx(400 - (1 - math.pi / 4) * 100)


def test_a_smooth_joint_is_left_alone():
    o = slot()
    assert round_corner(o, 1, 5.0) is o
