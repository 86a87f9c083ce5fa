"""A designer's other tools: arrays, polygons, numbers as settings, changes of a design, any executor, pictures."""

from __future__ import annotations

import math
import xml.etree.ElementTree as ElementTree
from collections.abc import Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from typing import Any

import numpy as np
import pytest
import shapely

import blankwright as bw
from blankwright.design.request import Design
from blankwright.desk import script
from blankwright.desk.script import CHUNK
from rooms.design.cases import FAMILIES, KINDS
from rooms.every import cases

KNIFE = bw.solve("chef")
MOST_LISTS = 64
"""As many lists of designs a sweep may read ahead of the row that is asked for: what waits stays small."""


def test_an_outline_is_an_array_of_its_vertices() -> None:
    outline = KNIFE.finished
    array = np.asarray(outline)
    assert array.shape == (len(outline), 3)
    assert array.dtype == np.float64
    assert (array == outline.vertices).all()
    assert np.asarray(outline, dtype=np.float32).dtype == np.float32
    copy = np.array(outline)
    copy[0, 0] = 9
    assert outline.vertices[0, 0] != 9


def test_an_outline_is_a_polygon_elsewhere() -> None:
    """GEOS measures the polygon: its area misses that of the arcs by at most the tolerance times the perimeter."""
    outline = KNIFE.finished
    for tolerance in (0.1, 0.001):
        polygon = outline.to_shapely(tolerance)
        assert isinstance(polygon, shapely.Polygon)
        assert polygon.is_valid
        assert abs(polygon.area - outline.area_mm2) <= tolerance * outline.perimeter_mm
    assert abs(shapely.geometry.shape(outline).area - outline.area_mm2) <= 0.001 * outline.perimeter_mm
    assert outline.__geo_interface__["type"] == "Polygon"


@cases("bad", [0, -1, math.nan, math.inf, -math.inf, 1e-16])
def test_a_tolerance_is_a_length(bad: float) -> None:
    """A tolerance of nothing asked for 41 GB."""
    for work in (KNIFE.finished.flattened, KNIFE.finished.to_shapely, KNIFE.finished.sampled):
        with pytest.raises(bw.RequestError, match="_mm: "):
            work(bad)


def test_reprs_fit_on_a_line() -> None:
    for one in (KNIFE, KNIFE.finished, KNIFE.design, bw.load_family("chef")):
        assert len(repr(one)) < 130, repr(one)
    assert repr(bw.request("chef", blade_length_mm=200)) == "<Design chef: chef, full; blade_length 200 mm>"


def test_families_have_names() -> None:
    assert bw.family_names() == sorted(FAMILIES)


@cases(
    "settings",
    [
        {"material.thickness": 2.5, "grind.edge_angle": 14, "pins.count": 3},
        {"material.thickness_mm": 2.5, "grind.edge_angle_deg": 14.0, "pins.count": 3},
        {"material.thickness": "2.5 mm", "grind.edge_angle": "14 deg", "pins.count": "3"},
    ],
)
def test_numbers_are_settings_in_the_unit_of_their_key(settings: dict[str, object]) -> None:
    for design in (bw.request("chef", settings=settings), bw.request("chef").replace(settings)):
        assert design.stock.thickness_mm == 2.5
        assert design.grind.edge_angle_deg == 14
        assert design.pins is not None
        assert design.pins.count == 3


@cases(
    ("settings", "said"),
    [
        ({"material.thickness_deg": 2.5}, "material.thickness is in mm"),
        ({"material.thickness": math.nan}, "thickness"),
        ({"material.thickness": True}, "thickness"),
        ({"material.thicknes": 2.5}, "Did you mean 'thickness'"),
        ({"pins.count": 2.5}, "whole number"),
    ],
)
def test_a_setting_that_cannot_be_is_refused(settings: dict[str, object], said: str) -> None:
    for make in (lambda: bw.request("chef", settings=settings), lambda: bw.request("chef").replace(settings)):
        with pytest.raises(bw.RequestError, match=said):
            make()


@cases(("name", "construction"), KINDS)
def test_a_design_keeps_what_was_asked(name: str, construction: str) -> None:
    first = bw.request(
        name, construction=construction, blade_length_mm=_length(name), settings={"grind.kind": "convex"}
    )
    second = first.replace({"material.thickness": 2.2})
    assert second.dimensions_mm == first.dimensions_mm
    assert second.asked("grind.kind")
    assert second.settings == {**first.settings, "material.thickness": 2.2}
    assert {k for k in second.sources if second.asked(k)} == {"grind.kind", "material.thickness"}
    third = second.replace(blade_length_mm=_length(name) + 1, name="Mine")
    assert (third.name, third.dimensions_mm["blade_length"]) == ("Mine", _length(name) + 1)
    assert bw.solve(first).finished.vertices.tolist() == bw.solve(first.replace()).finished.vertices.tolist()
    again = bw.solve(first, settings={"material.thickness": 2.2})
    assert again.design.settings == second.settings


def _length(name: str) -> float:
    d = bw.load_family(name).dimension("blade_length", KINDS[0][1])
    return round((d.least_mm + d.greatest_mm) / 2)


def test_another_construction_keeps_the_dimensions_it_has() -> None:
    one = bw.request("chef", blade_length_mm=200).replace({"handle.construction": "hidden"})
    assert one.construction == "hidden"
    assert one.dimensions_mm == {"blade_length": 200.0}


def test_an_unknown_dimension_of_a_design_is_told() -> None:
    with pytest.raises(bw.RequestError, match="Did you mean 'blade_length_mm'"):
        bw.request("chef").replace(blade_lenght_mm=200)


def test_the_curvature_of_an_edge_is_that_of_its_points() -> None:
    """Three neighbouring places give a circle (Menger curvature, from memory); its bend is the one that is told."""
    rows = KNIFE.curvature("edge", 400)
    along, places, bend = rows[:, 0], rows[:, 1:3], rows[:, 3]
    a, b, c = places[:-2], places[1:-1], places[2:]
    cross = (b - a)[:, 0] * (c - b)[:, 1] - (b - a)[:, 1] * (c - b)[:, 0]
    sides = np.hypot(*(b - a).T) * np.hypot(*(c - b).T) * np.hypot(*(c - a).T)
    assert bend[1:-1] == pytest.approx(2 * cross / sides, abs=2e-5)
    assert np.diff(along) == pytest.approx(np.hypot(*np.diff(places, axis=0).T), rel=1e-4)
    assert along[0] == 0
    with pytest.raises(bw.RequestError, match="Did you mean 'edge'"):
        KNIFE.curvature("edgs")


class Later:
    """An executor of the plainest kind: `submit` alone, as clusters have it."""

    def __init__(self) -> None:
        self.asked = 0

    def submit(self, work: Any, *args: Any) -> Future[Any]:
        self.asked += 1
        done: Future[Any] = Future()
        done.set_result(work(*args))
        return done


def endless(read: list[int]) -> Iterator[Design]:
    base = bw.request("paring")
    while True:
        read.append(1)
        yield base


def test_a_sweep_is_lazy_over_an_endless_generator(monkeypatch: pytest.MonkeyPatch) -> None:
    """As many lists are read ahead as the window holds, wide or narrow; a narrow one solves fewer of them here."""
    assert script.WINDOW <= MOST_LISTS
    for window in (1, 5):
        monkeypatch.setattr(script, "WINDOW", window)
        read: list[int] = []
        rows = bw.sweep(endless(read), Later())
        assert next(rows)["error"] is None
        assert CHUNK * window <= len(read) <= CHUNK * (window + 1)
    read.clear()
    next(bw.sweep(endless(read)))
    assert len(read) == 1


def test_a_sweep_keeps_its_order_with_any_executor() -> None:
    designs = [bw.request("paring", blade_length_mm=70 + i / 10) for i in range(40)]
    here = list(bw.sweep(designs))
    assert list(bw.sweep(iter(designs), Later())) == here
    with ThreadPoolExecutor(2) as pool:
        assert list(bw.sweep(designs, pool, weights=False)) == here


@cases("one", [KNIFE, KNIFE.finished, bw.load_family("chef")], ids=["knife", "outline", "family"])
def test_a_notebook_gets_a_picture(one: Any) -> None:
    root = ElementTree.fromstring(one._repr_svg_())
    assert root.tag.endswith("svg")
    assert len(list(root.iter())) > 2
    assert "nan" not in one._repr_svg_()
