"""Shapes that are no knives are refused: crossings, an edge below the board, hollows, corners without room."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from shapely.geometry import LinearRing

from blankwright.base.errors import BlankwrightError, DesignError
from blankwright.design.family import family_from_table, load_family
from blankwright.design.solve import solve_shape
from blankwright.design.sound import check_sound
from blankwright.geometry.distance import crossing_place
from blankwright.geometry.outline import Outline
from rooms.design.cases import KINDS, curve, family_table, solved
from rooms.every import cases


def drawn(spoil: Any) -> DesignError:
    """Draw the chef's knife with something moved and return why it is no knife."""
    table = family_table("chef")
    spoil(table)
    with pytest.raises(DesignError) as caught:
        check_sound(solve_shape(family_from_table(table, "drawn.toml"), "full", {}))
    return caught.value


@cases(("name", "construction"), KINDS)
def test_the_shipped_drawings_are_sound(name: str, construction: str) -> None:
    check_sound(solve_shape(load_family(name), construction, {}))
    assert solved(name, construction, "default").edge_health.hollows_mm == ()


def test_an_edge_that_dips_below_the_board_is_refused_with_the_depth() -> None:
    def dip(table: dict[str, Any]) -> None:
        points = curve(table, "edge")["points"]
        points[6][1] = -6.0
        points[7][1] = -4.0

    assert "below the board line" in str(drawn(dip))


def test_a_hair_below_the_board_is_within_the_arcs() -> None:
    shape = solve_shape(load_family("chef"), "full", {})
    edge = np.array(shape.finished.regions) == "edge"
    points, piece = shape.finished.sampled(0.05)
    assert points[edge[piece], 1].min() >= -0.01


def test_an_outline_that_crosses_itself_is_refused_with_the_place() -> None:
    def cross(table: dict[str, Any]) -> None:
        curve(table, "heel")["points"][-1] = [60.0, 90.0]  # the notch runs out through the spine

    text = str(drawn(cross))
    assert "crosses itself near (" in text


def test_crossings_are_found_where_a_polygon_library_finds_them() -> None:
    rng = np.random.default_rng(7)
    seen = {True: 0, False: 0}
    for _ in range(300):
        angle = np.sort(rng.uniform(0, 2 * np.pi, 8))
        radius = rng.uniform(5, 20, 8)
        points = np.column_stack([radius * np.cos(angle), radius * np.sin(angle)])
        if rng.uniform() < 0.5:
            points[[2, 5]] = points[[5, 2]]
        outline = Outline(np.column_stack([points, np.zeros(8)]))
        simple = LinearRing(points).is_simple
        assert (crossing_place(outline) is None) == simple
        seen[simple] += 1
    assert min(seen.values()) > 50


@cases("radius", ["9 mm", "20 mm", "60 mm", "100 mm"])
def test_a_corner_without_room_for_its_radius_is_refused(radius: str) -> None:
    table = family_table("chef")
    for one in table["construction"]["hidden"]["curve"]:
        if one["name"] == "stick end":
            one["joint"] = radius
    with pytest.raises(BlankwrightError, match="radius"):
        check_sound(solve_shape(family_from_table(table, "drawn.toml"), "hidden", {}))


@cases(("dip_mm", "sound"), [(0.0099, True), (0.0101, False), (0.1, False)])
def test_an_edge_may_dip_below_the_board_by_twice_what_its_arcs_may_err(dip_mm: float, sound: bool) -> None:
    """0.01 mm, from both sides; the arcs are within 0.005 mm."""
    shape = solve_shape(load_family("chef"), "full", {})
    edge = np.flatnonzero(np.array(shape.finished.regions) == "edge")
    vertices = shape.finished.vertices.copy()
    vertices[edge[1], 1] = -dip_mm
    shape.__dict__["finished"] = Outline(vertices, shape.finished.regions)  # what the solver would have to come to
    if sound:
        check_sound(shape)
        return
    with pytest.raises(DesignError, match="below the board line"):
        check_sound(shape)
