"""How far blades lie across the grain of their sheet: on the screen, on the papers, in the data."""

from __future__ import annotations

import io
import math

import pypdf
import pytest

from blankwright.design.request import read_design
from blankwright.geometry.pose import Pose
from blankwright.ink.marks import Marks
from blankwright.ink.papers import paper
from blankwright.knife.knife import finish
from blankwright.stock.blank import Blank, Job
from blankwright.stock.grain import across
from blankwright.stock.grainmark import grain_mark
from blankwright.stock.jobfile import read_job
from blankwright.stock.layout import Laid, Layout, Sheet
from blankwright.stock.nest import Nested
from blankwright.stock.nestpicture import layout_pdf, sheet_svg
from blankwright.stock.nestreport import Report
from blankwright.stock.paper import placing_pdf
from blankwright.stock.picture import placing_svg
from blankwright.stock.piece import Piece, box
from blankwright.stock.place import Wish
from blankwright.stock.report import Told
from blankwright.stock.run import placed_on
from blankwright.template.scenes import wishes


def laid(grain_deg: float | None, *turns: tuple[float, bool]) -> Layout:
    knife = finish(read_design("paring"))
    blanks = tuple(Blank(f"paring {k}", knife.cut, 1, 2.0, 1.0, knife=knife) for k, _ in enumerate(turns, start=1))
    piece = Piece("sheet", "sheet", box(900.0, 400.0), ((0.0, 3.0),), grain_deg=grain_deg)
    poses = [Pose(200.0 + 200.0 * k, 200.0, turn, flipped) for k, (turn, flipped) in enumerate(turns)]
    sheet = Sheet(0, 1, tuple(Laid(k, pose) for k, pose in enumerate(poses)))
    return Layout(Job("t", (piece,), blanks, 4.0), (sheet,))


def told(layout: Layout) -> Report:
    return Report(Nested(layout, 0.0, stopped=False, library=False, tried=1))


@pytest.mark.parametrize(
    ("grain", "turns", "deg"),
    [
        (0.0, ((0.0, False), (183.0, True), (-5.0, False)), 5.0),
        (0.0, ((170.0, False), (90.0, True)), 90.0),
        (30.0, ((35.0, False), (-150.0, True)), 5.0),
        (-80.0, ((10.0, False),), 90.0),
    ],
)
def test_the_blade_furthest_across_is_found(grain: float, turns: tuple[tuple[float, bool], ...], deg: float) -> None:
    """By the angle of two lines: turned half round, or over, a blade lies along as before."""
    layout = laid(grain, *turns)
    most = across(layout, layout.sheets[0])
    assert most is not None
    assert most.deg == pytest.approx(deg)


def test_a_blade_across_the_grain_is_something_to_look_at() -> None:
    layout = laid(0.0, (4.0, False), (17.2, True))
    report = told(layout)
    (number,) = [k for k, one in enumerate(report.layout.sheets[0].laid, start=1) if one.blank == 1]
    lines = " ".join(line.text() for line in report.lines())
    assert f"to look at: number {number}, paring 2, lies 17.2° across the grain: rolling draws" in lines
    grain = report.data["sheets"][0]["grain"]
    assert grain == {"across_deg": 17.2, "design": "paring 2", "number": number, "look": True}
    assert f"grain along the piece; number {number} lies 17.2° across the grain" in sheet_svg(
        report.layout, report.layout.sheets[0]
    )


def test_a_grain_that_nobody_knows_is_not_spoken_of() -> None:
    report = told(laid(None, (17.0, False)))
    assert report.data["sheets"][0]["grain"] is None
    assert not any("grain" in line.text() for line in report.lines())
    near = told(laid(0.0, (10.0, False)))
    assert "  blades lie within 10.0° of the grain." in [line.text() for line in near.lines()]


def test_the_shipped_job_lays_its_blades_along_the_sheet() -> None:
    job = read_job("galley_set")
    assert all(blank.turns_deg(job.pieces[0]) == ((0.0, 5.0), (180.0, 5.0)) for blank in job.blanks)


@pytest.mark.parametrize("grain", [0.0, 30.0, 90.0, -20.0])
def test_the_layout_shows_the_grain_as_an_arrow(grain: float) -> None:
    """Its two heads point along the grain, away from each other, and it stands on the picture and on the page."""
    marks = Marks()
    grain_mark(marks, grain, (100.0, 50.0), 20.0, 2.5)
    (line,) = marks.segments
    assert math.degrees(math.atan2(line.b[1] - line.a[1], line.b[0] - line.a[0])) == pytest.approx(grain)
    assert sorted(one.tip for one in marks.arrows) == sorted([line.a, line.b])
    for one in marks.arrows:
        away = (one.tip[0] - 100.0, one.tip[1] - 50.0)
        assert away == pytest.approx((10.0 * one.along[0], 10.0 * one.along[1]))
    layout = laid(grain, (grain, False))
    picture = sheet_svg(layout, layout.sheets[0])
    assert picture.count(">grain<") == 1
    assert ">grain<" not in sheet_svg(laid(None, (0.0, False)), layout.sheets[0])
    page = pypdf.PdfReader(io.BytesIO(layout_pdf(layout, paper("A4")))).pages[0].extract_text()
    assert "\ngrain\n" in f"\n{page}\n"


@pytest.mark.parametrize("grain", [90.0, 0.0, None])
def test_a_placing_says_how_the_blade_lies_to_the_grain(grain: float | None) -> None:
    """On a strip hardly wider than the blank the blade lies along it, whichever way that is rolled."""
    knife = finish(read_design("paring"))
    strip = Piece("strip", "bar", box(230.0, 30.0), ((0.0, 3.0),), grain_deg=grain)
    told = placed_on(knife, [strip], Wish())
    assert isinstance(told, Told)
    assert told.fits
    lines = [line.text() for line in told.lines()]
    drawn, page = placing_svg(told.placed), placing_pdf(told.placed, wishes("A4"))
    printed = " ".join(one.extract_text() for one in pypdf.PdfReader(io.BytesIO(page)).pages)
    told_of = [line for line in lines if "grain" in line]
    if grain is None:
        assert told_of == []
        assert "the grain" not in drawn + printed
        return
    slant = abs(math.degrees(math.asin(math.sin(math.radians(told.placed.pose.turn_deg)))))
    assert 0.05 < slant < 5.0
    assert told.data["across_grain_deg"] == pytest.approx(abs(grain - slant), abs=1e-3)
    words = f"the blade lies {90 - slant:.1f}° across the grain" if grain else f"lies within {slant:.1f}° of the grain"
    (line,) = told_of
    assert words in line
    assert ("to look at: " in line and "--grain 5deg keeps it along." in line) == (grain == 90.0)
    assert words in drawn
    assert words in printed
