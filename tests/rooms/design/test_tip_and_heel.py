"""A rounded tip and a leaning heel line: what is asked is what the finished outline measures."""

from __future__ import annotations

import math

import numpy as np
import pytest
from shapely.geometry import LineString, Polygon

import blankwright as bw
from blankwright.base.errors import DesignError, RequestError
from blankwright.design import solve as solving
from blankwright.design.check import measured, wrong
from blankwright.design.family import family_from_table, load_family
from blankwright.design.solve import solve_shape
from blankwright.design.tip import foremost
from blankwright.drawing.content import part_drawing
from blankwright.geometry.outline import Outline
from rooms.design.cases import blade_table
from rooms.every import cases, every

TIPS = [
    (n, share) for n in ("chef", "paring", "petty", "santoku", "slicer", "boning", "utility") for share in (0.3, 1.0)
]


def circle_at_tip(outline: Outline) -> tuple[float, float, float]:
    """Return centre and radius of a circle through three places of the outline about its foremost one."""
    points = np.array(Polygon(outline.flattened(1e-6)).exterior.coords)[:-1]
    at = int(points[:, 0].argmax())
    (ax, ay), (bx, by), (cx, cy) = (points[(at + k) % len(points)] for k in (-2, 0, 2))
    d = 2 * (ax * (by - cy) + bx * (cy - ay) + cx * (ay - by))
    a, b, c = ax * ax + ay * ay, bx * bx + by * by, cx * cx + cy * cy
    x = (a * (by - cy) + b * (cy - ay) + c * (ay - by)) / d
    y = (a * (cx - bx) + b * (ax - cx) + c * (bx - ax)) / d
    return x, y, math.hypot(ax - x, ay - y)


@every(TIPS)
def test_a_rounded_tip_keeps_length_and_height(name: str, share: float) -> None:
    family = load_family(name)
    d = family.dimension("tip_radius", "full")
    radius, length = share * d.greatest_mm, family.dimension("blade_length", "full").default_mm + 3
    shape = solve_shape(family, "full", {"tip_radius": radius, "blade_length": length})
    x, y, found = circle_at_tip(shape.finished)
    assert found == pytest.approx(radius, abs=2e-3)
    assert x + found == pytest.approx(length, abs=1e-4)
    assert y == pytest.approx(shape.values_mm["tip_height"], abs=2e-3)
    assert foremost(shape.smooth) == pytest.approx((length, shape.values_mm["tip_height"]), abs=1e-6)
    assert not wrong(shape)
    one = next(m for m in measured(shape) if m.key == "blade.tip_radius")
    assert one.found_mm == pytest.approx(radius, abs=1e-3)
    corners = np.abs(shape.smooth.corner_angles_deg)[shape.smooth.starts[:, 0] > length / 2]
    assert corners.max() < 1e-3, "tangent to edge and spine"


def test_a_solve_begun_nearby_ends_where_any_does_and_sooner(monkeypatch: pytest.MonkeyPatch) -> None:
    family, asked = load_family("paring"), {"tip_radius": 1.5, "blade_length": 78.0, "heel_height": 22.0}
    here, steps, read = solve_shape(family, "full", asked), [], solving._readings
    monkeypatch.setattr(solving, "_readings", lambda *args, **kw: steps.append(1) or read(*args, **kw))
    for name, value in (("blade_length", 78.25), ("heel_height", 22.25), ("tip_height", 5.2)):
        shapes, taken = [], []
        for near in (None, here.found):
            steps.clear()
            shapes.append(solve_shape(family, "full", asked | {name: value}, near=near))
            taken.append(len(steps))
        first, second = ([s.points for s in shape.splines] for shape in shapes)
        for a, b in zip(first, second, strict=True):
            assert a == pytest.approx(b, abs=3e-8), name
        assert foremost(shapes[1].smooth) == pytest.approx(foremost(shapes[0].smooth), abs=3e-8), name

        assert taken[1] < taken[0] <= 18, (name, taken)  # as counted; each of some five places of the corner is a solve
        assert taken[1] <= 16, (name, taken)


def test_a_sharp_tip_is_what_is_drawn() -> None:
    family = load_family("chef")
    plain = solve_shape(family, "full", {}).finished.vertices
    assert (plain == solve_shape(family, "full", {"tip_radius": 0.0}).finished.vertices).all()


@cases(("name", "lean_mm"), [("chef", 0.4), ("chef", 2.2), ("petty", 3.0), ("nakiri", 1.5)])
def test_the_line_of_the_heel_leans_as_asked(name: str, lean_mm: float) -> None:
    for construction in ("full", "hidden"):
        shape = solve_shape(load_family(name), construction, {"heel_lean": lean_mm})
        ring = Polygon(shape.finished.flattened(1e-5)).exterior
        first, second = (ring.intersection(LineString([(-4, y), (2, y)])).x for y in (1.0, 2.0))
        assert (first - second) * 10 == pytest.approx(lean_mm, abs=1e-3)
        one = next(m for m in measured(shape) if m.key == "blade.heel_lean")
        assert one.found_mm == pytest.approx(lean_mm, abs=1e-3)
        assert not wrong(shape)


def test_a_heel_that_leans_into_the_handle_is_refused_with_what_works() -> None:
    asked = {"blade_length": 200.0, "heel_height": 62.0, "heel_lean": 2.4, "handle_gap": 10.0}
    with pytest.raises(DesignError, match=r"blade\.heel_lean .* instead of 2\.40 mm") as caught:
        solve_shape(load_family("chef"), "full", asked)
    works = float(str(caught.value).split("blade.heel_lean ")[2].split(" mm")[0])
    assert not wrong(solve_shape(load_family("chef"), "full", asked | {"heel_lean": works}))


def test_drawing_and_report_say_both() -> None:
    knife = bw.solve("chef", tip_radius_mm=2.0, heel_lean_mm=1.8)
    shown = part_drawing(knife.core)
    assert "R2.0" in [m.label for m in shown.measures]
    assert any("leans back 1.8" in line for line in shown.lines)
    assert not any("leans back" in line for line in part_drawing(bw.solve("chef").core).lines)
    keys = {row["key"]: row for row in knife.report()["dimensions"]}
    assert keys["blade.tip_radius"]["value_mm"] == 2.0
    assert keys["blade.heel_lean"]["value_mm"] == pytest.approx(1.8)


def test_a_blade_with_a_nose_has_no_tip_to_round() -> None:
    table = blade_table("nakiri")
    table["blade"]["tip_radius"] = {"default": "0 mm", "least": "0 mm", "greatest": "2 mm", "source": "a test"}
    with pytest.raises(RequestError, match=r"\[blade\] tip_radius: a blade with a nose is round there"):
        family_from_table(table, "mine.toml")
