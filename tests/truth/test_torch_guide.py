"""The guide of a hand torch against GEOS and Clipper2: the cut's parallel at half the kerf and the nozzle's radius."""

from __future__ import annotations

import math
from functools import cache

import pyclipr
import pytest
import shapely

from blankwright.design.request import read_design
from blankwright.drawing.content import part_drawing
from blankwright.drawing.svg import drawing_svg
from blankwright.knife.knife import Knife, finish
from blankwright.template.scenes import scenes
from rooms.every import cases

SOURCE = "GEOS (shapely) for distances and for a nozzle rolled along the guide; Clipper2 (pyclipr) for the area."
TOLERANCE = 2e-3
REASON = "Chords of 0.0004 mm stand for arcs on both sides, and a buffer's circles are 720 corners."
FLAT_MM = 0.0004
UNITS_PER_MM = 100_000

CASES = [
    ("chef", "full", "plasma-hand", {}, 1.25 + 8.0),
    ("chef", "hidden", "plasma-hand", {"cutting.nozzle_radius": "11 mm"}, 1.25 + 11.0),
    ("paring", "full", "plasma-hand", {"cutting.nozzle_radius": "4 mm"}, 1.25 + 4.0),
    ("utility", "full", "oxy-fuel", {}, 0.9 + 7.5),
    ("spreader", "hidden", "oxy-fuel", {"cutting.nozzle_radius": "0.25 in"}, 0.9 + 6.35),
]
NAMES = [f"{family}, {way}, {away:g} mm" for family, _, way, _, away in CASES]


@cache
def torched(number: int) -> tuple[Knife, float]:
    family, construction, way, more, away = CASES[number]
    changes = {"handle.construction": construction, "cutting.process": way, "material.thickness": "3 mm", **more}
    return finish(read_design(family, changes)), away


@cases("number", range(len(CASES)), ids=NAMES)
def test_it_lies_everywhere_as_far_outside_the_cut(number: int) -> None:
    knife, away = torched(number)
    assert knife.guide is not None
    cut = shapely.Polygon(knife.cut.flattened(FLAT_MM))
    points = shapely.points(knife.guide.outline.sampled(0.5)[0])
    assert not shapely.contains(cut, points).any()
    apart = shapely.distance(cut, points)
    assert apart.min() == pytest.approx(away, abs=TOLERANCE)
    assert apart.max() == pytest.approx(away, abs=TOLERANCE)
    offset = pyclipr.ClipperOffset()
    offset.scaleFactor = UNITS_PER_MM
    offset.arcTolerance = 20
    offset.addPath(knife.cut.flattened(FLAT_MM), pyclipr.JoinType.Round, pyclipr.EndType.Polygon)
    area = max(shapely.Polygon(path).area for path in offset.execute(away) if len(path) > 2)
    assert knife.guide.outline.area_mm2 == pytest.approx(area, abs=TOLERANCE * knife.guide.outline.perimeter_mm)


@cases("number", range(len(CASES)), ids=NAMES)
def test_a_nozzle_that_rolls_along_it_takes_nothing_of_the_part(number: int) -> None:
    """The nozzle's middle keeps its radius from the guide; the kerf about that way touches the cut and stays out."""
    knife, away = torched(number)
    guide, process = knife.guide, knife.process
    assert guide is not None
    assert process is not None
    kerf = process.kerf_mm.value
    cut = shapely.Polygon(knife.cut.flattened(FLAT_MM))
    inside = shapely.Polygon(guide.outline.flattened(0.002))
    middle = inside.buffer(-(away - kerf / 2), quad_segs=180)
    burnt = shapely.LineString(middle.exterior.coords).buffer(kerf / 2, quad_segs=180)
    assert burnt.intersection(cut).area < TOLERANCE * knife.cut.perimeter_mm
    assert burnt.distance(shapely.Point(cut.exterior.coords[0])) < 0.02, "the butt, which is round, is reached"
    left = middle.buffer(-kerf / 2).area - cut.area
    assert (left < 1.0) == guide.follows, f"{left:.2f} mm2 are left in the hollows"


def test_only_a_torch_in_the_hand_has_one_and_every_paper_of_it_shows_it() -> None:
    for way in ("saw", "trace", "plasma-table", "water-jet", "laser"):
        assert finish(read_design("chef", {"cutting.process": way})).guide is None
    bought = {"cutting.process": "plasma-hand", "start.from": "blank"}
    assert finish(read_design("chef", bought)).guide is None
    knife, away = torched(0)
    svg = drawing_svg(part_drawing(knife))
    assert f"Guide {away:.2f} mm outside the cut: half the kerf, 1.25 mm, and the nozzle" in svg
    assert "guide: the nozzle runs inside it" in svg
    blade = scenes(knife, both_faces=False, dummy=False)[0]
    (drawn,) = blade.drawn
    assert len(drawn.chain.vertices) in (len(knife.guide.outline), len(knife.guide.outline) + 1)
    words = " ".join(blade.facts)
    assert "take the paper off: it burns" in words
    assert "glue" not in words.lower()
    assert math.isclose(away, 9.25)


def test_the_sheets_picture_has_it_at_the_pictures_scale() -> None:
    from blankwright.sheet.picture import bench_drawing, scaled

    knife, away = torched(0)
    drawing = part_drawing(knife)
    small = scaled(drawing, 0.5)
    assert small.guide is not None
    assert small.cut is not None
    cut = shapely.Polygon(small.cut.flattened(FLAT_MM))
    assert shapely.distance(cut, shapely.points(small.guide.sampled(1.0)[0])).max() == pytest.approx(away / 2, abs=0.01)
    assert bench_drawing(drawing).guide is None
