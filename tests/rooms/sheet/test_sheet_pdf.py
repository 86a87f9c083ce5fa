"""The build sheet as PDF: the same stages, footnotes under each, inside its margins, the same bytes twice."""

from __future__ import annotations

import io
import re
from functools import cache

import pytest
from pypdf import PdfReader
from reportlab.lib.styles import ParagraphStyle
from reportlab.platypus import Paragraph

from blankwright.base.said import COMPUTED, NUMBER_WITH_UNIT, Line
from blankwright.sheet.files import sheet_files, sheet_paper
from blankwright.sheet.model import Row, Sheet, Stage, Table
from blankwright.sheet.pdf import _parsed, sheet_pdf
from rooms.often import often, repeated, share
from rooms.sheet import sheet_cases
from rooms.sheet.sheet_cases import SOME, card, pdf, pictures, sheet, wished, work


def _bytes(name: str, paper: str = "A4") -> bytes:
    return pdf(name, "mm", paper)


def test_page_print_and_card_together_are_what_each_is_alone() -> None:
    made = sheet_files(work("chef"), wished())
    assert [*made.values()] == [sheet_cases.page("chef"), pdf("chef"), card("chef")]


@cache
def _text(data: bytes) -> list[str]:
    """Return the words of every page; read once for all tests of a sheet."""
    return [page.extract_text() for page in PdfReader(io.BytesIO(data)).pages]


def _pages(data: bytes) -> int:
    return len(PdfReader(io.BytesIO(data)).pages)


def _read(data: bytes) -> str:
    """Return all words without the running heads."""
    text = re.sub(r"Build sheet: .*\n?design .*page \d+ of \d+", " ", "\n".join(_text(data)))
    return re.sub(r"\s+", " ", text.replace("\u00a0", " "))


@pytest.mark.parametrize(
    "words",
    ["", "<b></b>", "<b></b> note", 'a <b>x</b>y <font size="9" color="#666666">[3]</font>', "x &amp; <b>y &lt; 2</b>",
     "1&nbsp; title", " lead", "trail ", "<b>a</b> (x) ", "two  blanks", "5 – 6 °C, Ø 3"],
)  # fmt: skip
def test_a_text_is_taken_apart_as_the_pdf_library_does_it(words: str) -> None:
    style = ParagraphStyle("body", fontName="Helvetica", fontSize=9.5)
    assert [vars(piece) for piece in _parsed(words, style)] == [vars(p) for p in Paragraph(words, style).frags]


@repeated
@pytest.mark.parametrize("name", SOME)
def test_every_stage_stands_in_its_order(name: str) -> None:
    whole = re.sub(r"\s+", " ", " ".join(_text(_bytes(name))))
    at = -1
    for number, stage in enumerate(sheet(name).stages[1:], start=1):
        found = whole.find(f"{number} {stage.title}", at + 1)
        assert found > at, stage.title
        at = found
    closing = whole.find("they are right.", at)  # a page of its own for it would be lost at the bench
    assert at < closing < whole.find("Where the figures come from", at)


def test_where_everything_comes_from_stands_at_the_end_and_nowhere_else() -> None:
    whole = _read(_bytes("chef"))
    before, _, end = whole.partition("Where the figures come from")
    for standing, n in sheet("chef").marks.items():
        assert f"[{n}] {standing.source.rstrip('.')}." in end
        assert f"[{n}]" in before
    for _, line in sheet("chef").weighed:
        assert line.text() in before[before.index("Where sources disagree") :]


def _sizes(name: str) -> list[tuple[str, float]]:
    found: list[tuple[str, float]] = []

    def visit(text: str, matrix: list[float], place: list[float], _: object, size: float) -> None:
        if text.strip():
            found.append((text.strip(), round(size * abs(place[3]) * abs(matrix[3]), 2)))

    for page in PdfReader(io.BytesIO(_bytes(name))).pages:
        page.extract_text(visitor_text=visit)
    return found


@repeated
def test_the_sheet_of_a_paring_knife_in_1095_is_short_and_none_is_long() -> None:
    """Six pages, seven for a forged chef's knife in 52100 alone, with nothing smaller than 9 points."""
    pages = {name: _pages(_bytes(name)) for name in {*SOME, "paring-1095", "forged"}}
    assert pages["paring-1095"] <= 6
    for name, paper in (("paring-1095", "Letter"), ("forged-paring", "A4"), ("forged-paring", "Letter")):
        assert _pages(_bytes(name, paper)) <= 6, (name, paper)
    for name in ("preheated", "torch"):
        assert _pages(_bytes(name)) <= 6, name
    assert pages.pop("forged") <= 7
    assert max(pages.values()) <= 6, pages
    assert min(size for _, size in _sizes("paring-1095") + _sizes("forged")) >= 9


@pytest.mark.parametrize(("paper", "size"), [("A4", (595.276, 841.89)), ("Letter", (612, 792))])
def test_pages_have_the_size_of_the_paper_and_a_running_head(paper: str, size: tuple[float, float]) -> None:
    reader = PdfReader(io.BytesIO(_bytes("chef", paper)))
    for n, page in enumerate(reader.pages, start=1):
        assert (float(page.mediabox.width), float(page.mediabox.height)) == pytest.approx(size, abs=0.01)
        assert f"page {n} of {len(reader.pages)}" in page.extract_text()
        assert sheet("chef").code in page.extract_text()


@repeated
@pytest.mark.parametrize("name", share(["chef", "hidden", "file", "spreader", "forged"], 2))
def test_nothing_stands_outside_the_margins(name: str) -> None:
    import numpy as np
    import pypdfium2

    document = pypdfium2.PdfDocument(_bytes(name))
    for page in document:
        grey = np.asarray(page.render(scale=2).to_pil().convert("L"))
        edge = int(9 / 25.4 * 72 * 2)  # 9 mm; the margin is 12
        assert grey[:, :edge].min() > 200
        assert grey[:, -edge:].min() > 200
        assert grey[-edge:, :].min() > 200
    document.close()


@repeated
def test_no_broken_sign() -> None:
    for name in SOME:
        for text in _text(_bytes(name)):
            assert "\ufffd" not in text
            assert not re.search(r"\w\?\w", text)


def test_the_same_bytes_twice() -> None:
    first = _bytes("chef")
    for one in (pdf, pictures, sheet):
        one.cache_clear()
    assert _bytes("chef") == first


def _made(*stages: Stage, title: str = "Bread knife") -> list[str]:
    made = Sheet(title, "for a ferry's galley", "ABCD-EFGH", (Stage("head", "This knife"), *stages), "Measure first.")
    return _text(sheet_pdf(made, (), units="mm", paper=sheet_paper("A4")))


def _stage(code: str, lines: int) -> Stage:
    return Stage(code, f"Stage {code}", steps=tuple(Line(f"{code} step {n} of {lines}.") for n in range(1, lines + 1)))


@repeated
def test_a_title_never_stands_alone_at_the_foot_of_a_page() -> None:
    for lines in range(86, 130, often(3, 5)):
        (page,) = (page for page in _made(_stage("saw", lines), _stage("file", 8)) if "Stage file" in page)
        assert "file step 1 of" in page, lines


@repeated
def test_a_title_never_stands_without_the_first_row_of_its_table() -> None:
    name = "stock: a steel with a name so long that its row is four lines high on the sheet"
    bought = Stage("list", "Stage list", tables=(Table("To buy", ("pieces",), (Row(name, ("1",), COMPUTED),)),))
    for lines in range(86, 130, often(3, 5)):
        (page,) = (page for page in _made(_stage("saw", lines), bought) if "Stage list" in page)
        assert "stock:" in page, lines


def test_a_stage_longer_than_a_page_goes_on_and_loses_nothing() -> None:
    pages = _made(_stage("saw", 330))
    assert len(pages) >= 3
    said = re.sub(r"\s+", " ", " ".join(pages))
    for n in range(1, 331):
        assert f"saw step {n} of 330." in said


def test_words_break_inside_their_width() -> None:
    long = Stage("saw", "x" * 90, (Row("y" * 90, ("z" * 90,), COMPUTED),), steps=(Line("w" * 300),))
    pages = _made(long, title="v" * 150)
    for letter, count in (("x", 90), ("y", 90), ("z", 90), ("w", 300)):
        found = re.findall(f"{letter}{letter}+", " ".join(pages))
        assert sum(map(len, found)) == count
        assert len(found) > 1
    assert re.search("v…", pages[0])  # the running head leaves room for the code


def test_the_file_names_its_maker_and_asks_not_to_be_scaled() -> None:
    data = _bytes("chef")
    reader = PdfReader(io.BytesIO(data))
    assert reader.metadata is not None
    assert (reader.metadata.producer, reader.metadata.creator) == ("Blankwright", "Blankwright")
    assert reader.metadata.title == "Chef's knife: build sheet"
    assert b"reportlab" not in data.lower()
    assert reader.trailer["/Root"]["/ViewerPreferences"]["/PrintScaling"] == "/None"


def test_numbers_with_units_are_known_to_the_pattern() -> None:
    for words in ("5 mm", "0.6 mm", "815 °C", "15°", "24 h", "5 min", "62 HRC", "125 µm", "15 mg/m³", "3 g", "2 %"):
        assert NUMBER_WITH_UNIT.search(words), words
    for words in ("29 CFR 1910.133", "P120", "80CrV2", "1095 carbon steel", "8 of 18"):
        assert not NUMBER_WITH_UNIT.search(words), words
