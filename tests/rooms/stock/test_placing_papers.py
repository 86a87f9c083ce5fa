"""The sheet to lay on a piece and the picture: at true size, with the distances that a rule finds on the steel."""

from __future__ import annotations

import io
import math
import re
from functools import cache

import numpy as np
import pypdf
import pytest
import shapely

from blankwright.base.library import templates_dir
from blankwright.design.request import read_design
from blankwright.geometry.pose import Pose
from blankwright.knife.knife import finish
from blankwright.stock.laid import Laid
from blankwright.stock.paper import AROUND_MM, placing_pdf, placing_scene
from blankwright.stock.picture import placing_svg
from blankwright.stock.piece import Piece, Zone, box, round_zone
from blankwright.stock.place import Placed, Wish, place_on
from blankwright.stock.report import Told
from blankwright.stock.stockfile import read_stock
from blankwright.stock.wanted import Wanted
from blankwright.template.pages import Head, template_pages
from blankwright.template.scenes import best_plan, wishes
from rooms.stock.test_placing import QUICK
from rooms.template.test_template_marks import check_leaders

SPRING = ("leaf_spring_chef", "leaf_spring")
FILE = ("mill_file_paring", "mill_file")


@cache
def placed(design: str, stock: str) -> Placed:
    knife = Wanted(finish(read_design(str(templates_dir() / "designs" / f"{design}.toml"))))
    return place_on(knife, read_stock(stock)[0], Wish(), QUICK)


@pytest.mark.parametrize("example", [SPRING, FILE])
def test_the_distances_are_those_to_the_real_edges(example: tuple[str, str]) -> None:
    laid = Laid(placed(*example), 45.0)
    part, edge = (shapely.Polygon(o.flattened(0.002)) for o in (laid.cut, laid.edge))
    assert part.distance(edge.exterior) == pytest.approx(
        next(limit.least_mm for limit in placed(*example).verdict.limits if limit.kind == "edge"), abs=0.005
    )
    found = laid.distances()
    assert len(found) == 6
    for one in found:
        assert part.exterior.distance(shapely.Point(one.at)) < 0.02, one.name
        assert edge.exterior.distance(shapely.Point(one.to)) < 0.02, one.name
        level = abs(one.at[1] - one.to[1]) < 1e-6
        assert level or abs(one.at[0] - one.to[0]) < 1e-6
        assert one.mm == pytest.approx(np.hypot(one.at[0] - one.to[0], one.at[1] - one.to[1]))


@pytest.mark.parametrize("paper", ["A4", "A3"])
def test_the_sheet_says_how_it_is_laid(paper: str) -> None:
    one = placed(*SPRING)
    pages = [page.extract_text() for page in pypdf.PdfReader(io.BytesIO(placing_pdf(one, wishes(paper)))).pages]
    assert len(pages) == {"A4": 2, "A3": 1}[paper]
    words = " ".join(pages)
    assert "turned over: its left face lies up" in words
    assert "stamped mark: keep clear" in words
    assert one.wanted.knife.code in words
    told = {float(v) for v in re.findall(r"([\d.]+) mm to the edge", words)}
    assert {round(d.mm, 1) for d in Laid(one, 45.0).distances()} <= told
    assert placing_pdf(one, wishes(paper)) == placing_pdf(one, wishes(paper)), "the same bytes"


def test_no_leader_crosses_a_pin_hole() -> None:
    """The narrow file has its distances all around the handle: one was led through a hole."""
    scene = placing_scene(placed(*FILE), AROUND_MM[-1])
    page = template_pages([(scene, best_plan(scene, wishes("A4")))], Head("file", "ABCD-EFGH", ("",), ""))[0]
    assert page.layers[1].marks.segments
    check_leaders(page)


def test_the_whole_piece_is_on_the_sheet_where_it_has_room() -> None:
    """The far end of the file was cut off, and an arrow that said 48.8 mm ended before it."""
    scene = placing_scene(placed(*FILE), AROUND_MM[0])
    assert len(best_plan(scene, wishes("A4")).tiles) == 1
    long = max(math.dist(line.a, line.b) for line in scene.lines if line.kind == "arrow")
    assert f"cut line {long:.1f} mm to the edge" in {label.text for label in scene.labels}
    assert all(line.kind == "narrow" for line in placing_scene(placed(*FILE), 20.0).lines), "no head in the open"


def test_half_a_turn_has_one_sign() -> None:
    assert {Pose(0, 0, turn, False).rounded().turn_deg for turn in (180.0, -180.0, -180 + 1e-9, 540.0)} == {180.0}


def test_steel_that_is_far_too_thick_is_told() -> None:
    thin, thick = (Piece("p", "bar", box(420, 64), ((0.0, t),)) for t in (3.2, 6.0))
    chef = Wanted(finish(read_design("chef")))
    words = [Told(place_on(chef, one, Wish(), QUICK), (), Wish()).lines() for one in (thin, thick)]
    found = [next(line.text() for line in lines if line.text().startswith("thickness")) for lines in words]
    assert found == [
        "thickness: 3.20 mm there, 3.00 mm needed, 0.20 mm over.",
        "thickness: 6.00 mm there, 3.00 mm needed, 3.00 mm over, to be ground off the faces.",
    ]


def test_the_picture_is_as_large_as_the_piece() -> None:
    one = placed(*FILE)
    drawn = placing_svg(one)
    wide = float(re.search(r'width="(\d+)mm"', drawn)[1])
    assert 250 <= wide <= 300
    for words in (
        "Mill file paring",
        "as drawn",
        "tip of the cut line ",
        "heel of the finished knife ",
        "butt of the cut line ",
        "grain",
        " needed",
    ):
        assert words in drawn


def test_a_refused_placing_shows_where_it_is_short() -> None:
    knife = placed(*FILE).wanted
    zone = Zone("avoid", round_zone(100, 14, 6), 1.0, "{odd} <name>")
    short = place_on(knife, Piece("a {b}", "found", box(200, 26), ((0.0, 5.0),), (zone,)), Wish())
    assert not short.fits
    drawn = placing_svg(short)
    assert "does not fit" in drawn
    assert "short here" in drawn
    assert "{odd} &lt;name&gt;" in drawn
