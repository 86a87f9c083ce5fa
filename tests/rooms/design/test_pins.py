"""Where the holes go, and that they fit; distances measured again with GEOS."""

from __future__ import annotations

from itertools import pairwise, product

import pytest
from shapely.geometry import LineString, Point, Polygon

from blankwright.base.errors import DesignError
from blankwright.design.family import load_family
from blankwright.design.solve import SolvedShape
from blankwright.design.tang import Hole, edge_distance_mm, place_holes
from rooms.design.cases import FAMILIES, solved
from rooms.every import cases, every

EDGE_FACTOR, PITCH_FACTOR = 1.5, 2.5
FRONT_MM, LEAST_WALL_MM = 8.0, 2.0
"""Common practice of the trade, written down here once more."""

FLAT_MM = 0.001
every_family = every(FAMILIES)


def placed(shape: SolvedShape, **wishes: object) -> tuple[Hole, ...]:
    """Place holes with nothing asked but the wishes."""
    asked: dict[str, object] = {
        "pin_count": 0, "pin_hole_mm": 3.1, "pin_positions_mm": (), "pin_spacing_mm": None,
        "lightening_count": 0, "lightening_mm": None, "lanyard_mm": None, "thickness_mm": 2.0,
    }  # fmt: skip
    asked["pin_count"] = len(wishes.get("pin_positions_mm", ()))  # type: ignore[arg-type]
    return place_holes(shape, **{**asked, **wishes})  # type: ignore[arg-type]


def rechecked(shape: SolvedShape, holes: tuple[Hole, ...], thickness_mm: float = 2.0) -> None:
    """Measure every rule on polygons (common practice: 1.5 d to the edge, 2.5 d apart, 8 mm behind)."""
    polygon = Polygon(shape.finished.flattened(FLAT_MM))
    for hole in holes:
        centre = Point(hole.x_mm, hole.y_mm)
        edge = polygon.exterior.distance(centre)
        assert polygon.contains(centre)
        assert edge == pytest.approx(edge_distance_mm(shape.finished, hole), abs=2 * FLAT_MM)
        assert edge - hole.diameter_mm / 2 >= max(LEAST_WALL_MM, thickness_mm) - 2 * FLAT_MM
        if hole.purpose != "lightening":
            assert edge >= EDGE_FACTOR * hole.diameter_mm - 2 * FLAT_MM
        if hole.purpose == "pin":
            assert shape.front_x_mm - hole.x_mm >= FRONT_MM - 1e-9
        column = polygon.intersection(LineString([(hole.x_mm, -200), (hole.x_mm, 300)]))
        assert hole.y_mm == pytest.approx((column.bounds[1] + column.bounds[3]) / 2, abs=2 * FLAT_MM)
    for a, b in pairwise(holes):
        apart = Point(a.x_mm, a.y_mm).distance(Point(b.x_mm, b.y_mm))
        if (a.purpose, b.purpose) == ("pin", "pin"):
            assert apart >= PITCH_FACTOR * max(a.diameter_mm, b.diameter_mm) - 1e-9
        else:
            assert apart - (a.diameter_mm + b.diameter_mm) / 2 >= LEAST_WALL_MM - 1e-9


@every(product(FAMILIES, [0, 1, 2, 3, 4], ["default", "all least", "all greatest"]))
def test_pins_are_spread_along_the_middle_of_the_tang(name: str, count: int, label: str) -> None:
    shape = (
        solved(name, "full", label)
        if label in ("default", "all least")
        else solved(name, "full", "handle_length greatest")
    )
    holes = placed(shape, pin_count=count)
    assert [h.purpose for h in holes] == ["pin"] * count
    assert [h.x_mm for h in holes] == sorted((h.x_mm for h in holes), reverse=True)
    rechecked(shape, holes)


@every_family
def test_pins_by_hand_stand_where_they_are_put(name: str) -> None:
    shape = solved(name, "full", "default")
    places = (shape.front_x_mm - 25.0, shape.front_x_mm - 60.0)
    holes = placed(shape, pin_positions_mm=places, pin_count=2)
    assert [h.x_mm for h in holes] == list(places)
    rechecked(shape, holes)
    for count in (0, 1, 3):
        with pytest.raises(DesignError, match=r"pins\.count=2"):
            placed(shape, pin_positions_mm=places, pin_count=count)
    for x in (shape.front_x_mm + 3, shape.tang_end_x_mm - 3):
        with pytest.raises(DesignError, match="not in the tang"):
            placed(shape, pin_positions_mm=(x,))


@every_family
def test_a_spacing_is_kept_and_one_too_wide_names_the_widest(name: str) -> None:
    shape = solved(name, "full", "default")
    holes = placed(shape, pin_count=3, pin_spacing_mm=20.0)
    assert [a.x_mm - b.x_mm for a, b in pairwise(holes)] == pytest.approx([20.0, 20.0])
    with pytest.raises(DesignError) as caught:
        placed(shape, pin_count=3, pin_spacing_mm=140.0)
    widest = float(str(caught.value).split("at most ")[1].split(" mm")[0])
    placed_at = placed(shape, pin_count=3, pin_spacing_mm=widest - 0.01, pin_hole_mm=1.0, thickness_mm=1.0)
    assert len(placed_at) == 3


@every_family
def test_a_pin_too_large_names_the_largest_that_fits(name: str) -> None:
    shape = solved(name, "full", "default")
    with pytest.raises(DesignError) as caught:
        placed(shape, pin_count=1, pin_hole_mm=40.0)
    largest = float(str(caught.value).split("At most ")[1].split(" mm")[0])
    rechecked(shape, placed(shape, pin_count=1, pin_hole_mm=largest - 0.01))
    with pytest.raises(DesignError, match="wall"):
        placed(shape, pin_count=1, pin_hole_mm=largest + 0.02)


@every_family
def test_a_pin_too_near_the_front_is_refused(name: str) -> None:
    shape = solved(name, "full", "default")
    front = shape.front_x_mm
    with pytest.raises(DesignError, match="handle front"):
        placed(shape, pin_positions_mm=(front - FRONT_MM + 0.01,), pin_hole_mm=1.0)
    assert len(placed(shape, pin_positions_mm=(front - FRONT_MM - 0.01,), pin_hole_mm=1.0)) == 1


@every_family
def test_pins_too_close_to_each_other_are_refused(name: str) -> None:
    shape = solved(name, "full", "default")
    x = shape.front_x_mm - 40.0
    with pytest.raises(DesignError, match="apart"):
        placed(shape, pin_positions_mm=(x, x - PITCH_FACTOR * 3.1 + 0.05))
    assert placed(shape, pin_positions_mm=(x, x - PITCH_FACTOR * 3.1 - 0.05))


@every(product(FAMILIES, [1, 2, 3, 4, 5, 6]))
def test_lightening_holes_and_a_lanyard_hole_find_room_between_the_pins(name: str, count: int) -> None:
    shape = solved(name, "full", "default")
    holes = placed(shape, pin_count=2, lightening_count=count, lightening_mm=3.0, lanyard_mm=3.0)
    assert sorted(h.purpose for h in holes) == sorted(["pin"] * 2 + ["lightening"] * count + ["lanyard"])
    rechecked(shape, holes)
    lanyard = next(h for h in holes if h.purpose == "lanyard")
    assert lanyard.x_mm == min(h.x_mm for h in holes)


def test_lightening_holes_need_a_diameter() -> None:
    with pytest.raises(DesignError, match="lightening_diameter"):
        placed(solved(FAMILIES[0], "full", "default"), lightening_count=2)


@cases("name", [name for name in FAMILIES if "one-piece" in load_family(name).curves])
def test_a_one_piece_knife_has_no_pins(name: str) -> None:
    shape = solved(name, "one-piece", "default")
    assert placed(shape) == ()
    for wish in ({"pin_count": 1}, {"pin_positions_mm": (-40.0,)}):
        with pytest.raises(DesignError, match="one-piece"):
            placed(shape, **wish)


@every(product(FAMILIES, [1.0, 1.9, 2.1, 3.0]))
def test_the_wall_is_the_larger_of_two_mm_and_the_stock(name: str, thickness_mm: float) -> None:
    """At its limit from both sides; a lightening hole is held by nothing but its wall, and stays where it is."""
    shape = solved(name, "full", "default")
    (small,) = placed(shape, lightening_count=1, lightening_mm=1.0, thickness_mm=1.0)
    polygon = Polygon(shape.finished.flattened(FLAT_MM))
    room = polygon.exterior.distance(Point(small.x_mm, small.y_mm))
    wall = max(LEAST_WALL_MM, thickness_mm)
    fits = 2 * (room - wall)
    (hole,) = placed(shape, lightening_count=1, lightening_mm=fits - 0.01, thickness_mm=thickness_mm)
    assert hole.diameter_mm == fits - 0.01
    with pytest.raises(DesignError, match=f"a wall of {wall:.2f} mm"):
        placed(shape, lightening_count=1, lightening_mm=fits + 0.01, thickness_mm=thickness_mm)
