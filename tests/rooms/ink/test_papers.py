"""Naming a sheet of paper, and the area two sheets share."""

import math

import pytest

from blankwright.base.errors import RequestError
from blankwright.base.fields import Fields
from blankwright.base.readrows import read_row
from blankwright.base.said import TABLED
from blankwright.ink.papers import Paper, common_area_mm, paper, papers
from rooms.every import cases


def test_the_table_holds_five_upright_sheets_with_sources():
    assert [p.name for p in papers()] == ["A4", "A3", "Letter", "Legal", "Tabloid"]
    for sheet in papers():
        assert sheet.width_mm < sheet.height_mm
        assert sheet.source
        assert sheet.status in TABLED


@cases("text", ["A4", "a4", " a4 ", "letter", "LETTER", "LeGaL", "tabloid", "A3"])
def test_a_name_in_any_case(text):
    assert paper(text).name.lower() == text.strip().lower()


@cases(
    ("text", "size"),
    [
        ("300x420mm", (300, 420)),
        ("420X300 mm", (420, 300)),
        ("300 mm x 420 mm", (300, 420)),
        ("300mm×420mm", (300, 420)),
        ("30cm x 420mm", (300, 420)),
        ("12x18in", (304.8, 457.2)),
        ("8 1/2 x 14 in", (215.9, 355.6)),
        ('12" x 18"', (304.8, 457.2)),
        ("12 x 18 inches", (304.8, 457.2)),
        ("1 ft x 1.5 ft", (304.8, 457.2)),
        ("60x2000mm", (60, 2000)),
        ("297,5 x 420,5 mm", (297.5, 420.5)),
    ],
)
def test_a_size_with_its_unit(text, size):
    found = paper(text)
    assert (found.width_mm, found.height_mm) == pytest.approx(size, abs=1e-9)
    assert found.status == "asked"


def test_a_size_gets_a_name_fit_for_a_file():
    assert paper("12 in x 18 in").name == "304.8x457.2mm"
    assert paper("300 x 420 mm").name == "300x420mm"


@cases("text", ["", "A5x", "paper", "x", "A4 x A3", "x300mm", "a" * 10_000, "9" * 10_000 + "x1mm", "../a4"])
def test_what_is_neither_a_name_nor_a_size(text):
    with pytest.raises(
        RequestError, match=r"--paper: unknown paper .*Allowed: A3, A4, Legal, Letter, Tabloid.*300x420mm"
    ):
        paper(text)


def test_a_near_name_is_suggested():
    with pytest.raises(RequestError, match="Did you mean 'Letter'"):
        paper("Leter")


@cases(
    ("text", "message"),
    [
        ("300x420", "has no unit"),
        ("300mm x 420", "has no unit"),
        ("300x420 furlong", "unknown unit 'furlong'"),
        ("300x4x2mm", "unknown unit 'x2mm'"),
        ("59.9x420mm", "width: 59.9 mm is out of range. Allowed: 60 to 2000 mm"),
        ("300x2000.1mm", "height: 2000.1 mm is out of range"),
        ("-300x420mm", "out of range"),
        ("0x0mm", "out of range"),
        ("1/0 x 300mm", "not a number"),
        ("1e300x300mm", "out of range"),
    ],
)
def test_a_size_that_cannot_be_is_refused_with_its_place(text, message):
    with pytest.raises(RequestError, match=message) as refused:
        paper(text, "job.toml [print] paper")
    assert str(refused.value).startswith("job.toml [print] paper: ")


@cases("value", [None, 4, 3.5, True, ["A4"], b"A4"])
def test_no_text_is_refused(value):
    with pytest.raises(RequestError, match="--paper: a paper is a name"):
        paper(value)


def test_no_paper_is_half_built():
    with pytest.raises(RequestError, match="name: expected a text"):
        Paper(" ", 210, 297, "s", "published")
    with pytest.raises(RequestError, match="unknown status 'rumour'"):
        Paper("A4", 210, 297, "s", "rumour")
    for value in (math.nan, math.inf, -210.0):
        with pytest.raises(RequestError, match="out of range"):
            Paper("A4", value, 297, "s", "published")


GOOD = {"width": "210 mm", "height": "297 mm", "source": "s", "status": "published"}


@cases(
    ("change", "message"),
    [
        ({"width": 210}, r"papers.toml \[A4\] width: expected a text"),
        ({"colour": "white"}, "unknown key 'colour'"),
        ({"width": "210"}, r"papers.toml \[A4\] width: '210' has no unit"),
        ({"status": "asked"}, "unknown status 'asked'"),
        ({"height": "3 m"}, r"papers.toml \[A4\] height: 3000 mm is out of range"),
    ],
)
def test_a_wrong_row_is_refused(change, message):
    assert read_row(Paper, Fields(GOOD, "x"), name="A4") == Paper("A4", 210, 297, "s", "published")
    with pytest.raises(RequestError, match=message):
        read_row(Paper, Fields(GOOD | change, "papers.toml [A4]"), name="A4")


def test_the_area_that_prints_on_a4_and_letter():
    assert common_area_mm(paper("A4"), paper("Letter"), 5) == pytest.approx((200, 269.4))
    assert common_area_mm(paper("Letter"), paper("A4"), 5) == pytest.approx((200, 269.4))


def test_the_same_paper_shares_all_but_the_margins():
    assert common_area_mm(paper("A3"), paper("A3"), 0) == (297, 420)
    assert common_area_mm(paper("A3"), paper("A3"), 10) == (277, 400)


def test_the_other_paper_is_turned_to_lie_like_the_first():
    wide = paper("297x210mm")
    assert common_area_mm(wide, paper("Letter"), 5) == pytest.approx((269.4, 200))
    assert common_area_mm(paper("Letter"), wide, 5) == pytest.approx((200, 269.4))
    assert common_area_mm(paper("200x200mm"), wide, 0) == (200, 200)


@cases("margin", [-1, 105, 200, math.nan, math.inf])
def test_a_margin_that_leaves_nothing_is_refused(margin):
    with pytest.raises(RequestError, match="less than 105 mm"):
        common_area_mm(paper("A4"), paper("A3"), margin)
