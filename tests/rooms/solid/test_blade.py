"""Ground blades: tapers, strips along odd outlines, and how the result follows its inputs."""

from __future__ import annotations

import math

import numpy as np
import pytest

from blankwright.base.errors import GeometryError
from blankwright.geometry.outline import Outline
from blankwright.solid import blade
from blankwright.solid.blade import Taper, ground_blade, strips
from blankwright.solid.section import Bevels
from rooms.design.cases import KINDS, solved
from rooms.every import cases

FLAT = Bevels("flat", None, 0.25, 15.0, None)
PLATE = Bevels("flat", 1e-9, 0.0, 15.0, None)


def moved(outline: Outline, dx: float, dy: float) -> Outline:
    return Outline(outline.vertices + np.array([dx, dy, 0.0]))


@cases(("x", "t"), [
    ((0.0,), (2.0,)), ((0.0, 10.0), (2.0,)), ((10.0, 0.0), (2.0, 1.0)), ((0.0, 0.0), (2.0, 1.0)),
    ((0.0, 10.0), (2.0, 0.0)), ((0.0, 10.0), (-1.0, 2.0)),
])  # fmt: skip
def test_a_taper_that_cannot_be(x: tuple[float, ...], t: tuple[float, ...]) -> None:
    with pytest.raises(GeometryError, match="taper"):
        Taper(x, t)


@cases(("name", "construction"), KINDS)
def test_strips_add_up_to_the_outline_ahead_of_the_heel(name: str, construction: str) -> None:
    """Against the area of the outline's own polygon, cut at the heel by another library."""
    import shapely

    outline = solved(name, construction, "default").finished
    laid = strips(outline, (13.0, 37.0))
    x, weight, low, high = laid.x, laid.weight, laid.low, laid.high
    low_x, low_y, high_x, high_y = outline.bounds_mm
    ahead = shapely.Polygon(outline.flattened(2e-6)).intersection(shapely.box(0, low_y - 1, high_x + 1, high_y + 1))
    assert float((weight * (high - low)).sum()) == pytest.approx(ahead.area, rel=1e-6)
    assert float((weight * (high - low) * x).sum()) / ahead.area == pytest.approx(ahead.centroid.x, rel=1e-6)
    assert float(weight.sum()) == pytest.approx(high_x, rel=1e-9)
    assert low_x < 0


@pytest.mark.parametrize("bevels", [
    FLAT, Bevels("flat", 20.0, 0.25, 15.0, None), Bevels("convex", 30.0, 0.25, 15.0, None),
    Bevels("hollow", 12.0, 0.3, 15.0, 400.0),
])  # fmt: skip
def test_more_nodes_change_nothing(bevels: Bevels, monkeypatch: pytest.MonkeyPatch) -> None:
    """The places where grind line or edge bevel run out are ends of strips: between them all is smooth."""
    outline = solved("chef", "full", "default").finished
    taper = Taper((0.0, 160.0, 210.0), (3.0, 2.0, 1.0))
    some = ground_blade(outline, taper, bevels)
    monkeypatch.setattr(blade, "_NODES", 60)
    many = ground_blade(outline, taper, bevels)
    assert some.volume_mm3 == pytest.approx(many.volume_mm3, rel=1e-10)
    assert some.centre_mm == pytest.approx(many.centre_mm, rel=1e-9, abs=1e-9)


def test_moving_the_outline_up_moves_the_centre_only() -> None:
    outline = solved("chef", "full", "default").finished
    taper = Taper((0.0, 210.0), (3.0, 1.0))
    here, there = ground_blade(outline, taper, FLAT), ground_blade(moved(outline, 0.0, 100.0), taper, FLAT)
    assert there.volume_mm3 == pytest.approx(here.volume_mm3, rel=1e-10)
    assert there.centre_mm == pytest.approx((here.centre_mm[0], here.centre_mm[1] + 100.0, 0.0), rel=1e-9)


def test_a_plate_reaches_over_the_heel_by_what_it_is_moved() -> None:
    box = Outline(np.array([[-20.0, 0, 0], [100.0, 0, 0], [100.0, 30.0, 0], [-20.0, 30.0, 0]]))
    flat = Taper((0.0, 200.0), (2.0, 2.0))
    assert ground_blade(box, flat, PLATE).volume_mm3 == pytest.approx(100 * 30 * 2, rel=1e-8)
    assert ground_blade(moved(box, 7.0, 0.0), flat, PLATE).volume_mm3 == pytest.approx(107 * 30 * 2, rel=1e-8)
    ahead = ground_blade(moved(box, 50.0, 0.0), flat, PLATE)
    assert ahead.volume_mm3 == pytest.approx(120 * 30 * 2, rel=1e-8)
    assert ahead.centre_mm == pytest.approx((90.0, 15.0, 0.0), rel=1e-8)


def test_a_whole_disc_ahead_of_the_heel() -> None:
    """Two half circles that turn back along x: pi r^2 t."""
    disc = Outline(np.array([[10.0, 20.0, 1.0], [50.0, 20.0, 1.0]]))
    one = ground_blade(disc, Taper((0.0, 60.0), (2.0, 2.0)), PLATE)
    assert one.volume_mm3 == pytest.approx(math.pi * 400 * 2, rel=1e-8)
    assert one.centre_mm == pytest.approx((30.0, 20.0, 0.0), rel=1e-8)
    upright = Outline(np.array([[30.0, 0.0, 1.0], [30.0, 40.0, 1.0]]))
    assert ground_blade(upright, Taper((0.0, 60.0), (2.0, 2.0)), PLATE).volume_mm3 == pytest.approx(
        math.pi * 400 * 2, rel=1e-8
    )


def test_thicker_behind_the_edge_is_heavier() -> None:
    outline = solved("chef", "full", "default").finished
    taper = Taper((0.0, 210.0), (3.0, 1.0))
    volumes = [ground_blade(outline, taper, Bevels("flat", None, e, 15.0, None)).volume_mm3 for e in (0.1, 0.2, 0.4)]
    assert volumes == sorted(volumes)


def test_a_notched_blade_is_refused() -> None:
    notched = Outline(np.array([[-20.0, 0, 0], [100, 0, 0], [100, 30, 0], [60, 30, 0], [80, 15, 0], [-20, 15, 0]]))
    with pytest.raises(GeometryError, match="more than twice"):
        ground_blade(notched, Taper((0.0, 100.0), (2.0, 2.0)), PLATE)


def test_nothing_ahead_of_the_heel_is_refused() -> None:
    behind = Outline(np.array([[-50.0, 0, 0], [-10, 0, 0], [-10, 20, 0], [-50, 20, 0]]))
    with pytest.raises(GeometryError, match="ahead of the heel"):
        ground_blade(behind, Taper((0.0, 100.0), (2.0, 2.0)), PLATE)


def test_a_hollow_that_leaves_no_steel_is_refused() -> None:
    outline = solved("chef", "full", "default").finished
    with pytest.raises(GeometryError, match="larger wheel"):
        ground_blade(outline, Taper((0.0, 210.0), (3.0, 1.0)), Bevels("hollow", None, 0.3, 15.0, 100.0))
