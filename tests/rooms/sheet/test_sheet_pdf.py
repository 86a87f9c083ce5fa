"""The build sheet as PDF: the same stages, footnotes under each, inside its margins, the same bytes twice."""

from __future__ import annotations

import io
import re

import pytest
from pypdf import PdfReader

from blankwright.base.said import NUMBER_WITH_UNIT
from blankwright.ink.marks import Text
from blankwright.sheet.lay import Block, Run, Sheets, under, width_mm, wrapped
from rooms.sheet.sheet_cases import CASES, files, sheet


def _bytes(name: str, paper: str = "A4") -> bytes:
    found = files(name, "mm", paper)["pdf"]
    assert isinstance(found, bytes)
    return found


def _text(data: bytes) -> list[str]:
    return [page.extract_text() for page in PdfReader(io.BytesIO(data)).pages]


@pytest.mark.parametrize("name", CASES)
def test_every_stage_stands_in_its_order(name: str) -> None:
    whole = re.sub(r"\s+", " ", " ".join(_text(_bytes(name))))
    at = -1
    for number, stage in enumerate(sheet(name).stages[1:], start=1):
        found = whole.find(f"{number} {stage.title}", at + 1)
        assert found > at, stage.title
        at = found
    assert whole.rstrip().endswith("they are right.")


def test_footnotes_stand_under_their_stage() -> None:
    whole = re.sub(r"\s+", " ", " ".join(_text(_bytes("chef"))))
    titles = [f"{n} {s.title}" for n, s in enumerate(sheet("chef").stages[1:], start=1)]
    for here, after, stage in zip(titles, [*titles[1:], "they are right."], sheet("chef").stages[1:], strict=True):
        part = whole[whole.index(here) : whole.index(after)]
        for n, standing in enumerate(stage.standings(), start=1):
            assert f"{n} {standing.status}: {standing.source.rstrip('.')}." in part.replace("\u00a0", " ")


@pytest.mark.parametrize(("paper", "size"), [("A4", (595.276, 841.89)), ("Letter", (612, 792))])
def test_pages_have_the_size_of_the_paper_and_a_running_head(paper: str, size: tuple[float, float]) -> None:
    reader = PdfReader(io.BytesIO(_bytes("chef", paper)))
    for n, page in enumerate(reader.pages, start=1):
        assert (float(page.mediabox.width), float(page.mediabox.height)) == pytest.approx(size, abs=0.01)
        assert f"page {n} of {len(reader.pages)}" in page.extract_text()
        assert sheet("chef").code in page.extract_text()


@pytest.mark.parametrize("name", ["chef", "hidden", "file", "spreader", "forged"])
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


def test_no_broken_sign() -> None:
    for name in CASES:
        for text in _text(_bytes(name)):
            assert "\ufffd" not in text
            assert not re.search(r"\w\?\w", text)


def test_the_same_bytes_twice() -> None:
    first = _bytes("chef")
    files.cache_clear()
    assert _bytes("chef") == first


def test_words_break_inside_their_width() -> None:
    block = wrapped([Run("a long sentence that must be broken " * 4), Run("12", raised=True)], 5.0, 40.0, 11.0, 5.0)
    texts = [m for m in block.marks if isinstance(m, Text)]
    assert len(texts) > 3
    assert block.height_mm == pytest.approx(5.0 * round(block.height_mm / 5.0))
    for text in texts[:-1]:
        assert text.x >= 5.0
        assert text.x + width_mm(text.words, 11.0) <= 45.0 + 1e-6
    one = wrapped([Run("x" * 200)], 0.0, 30.0, 11.0, 5.0)
    assert max(width_mm(m.words, 11.0) for m in one.marks if isinstance(m, Text)) <= 30.0 + 1e-6


def test_blocks_are_kept_together_and_rules_do_not_open_a_page() -> None:
    sheets = Sheets(100.0, 100.0, 10.0, 10.0, 10.0)
    text = Text(0.0, -5.0, "x", 2.0, "start")
    sheets.turn()
    sheets.keep([Block(50.0, [text])])
    sheets.keep([Block(3.0, [text], between=True), Block(20.0, [text]), Block(20.0, [text])])
    assert [len(p.texts) for p in sheets.pages] == [1, 2]
    assert under([Block(4.0, [text]), Block(5.0, [text])], 2.0).height_mm == 9.0


def test_numbers_with_units_are_known_to_the_pattern() -> None:
    for words in ("5 mm", "0.6 mm", "815 °C", "15°", "24 h", "5 min", "62 HRC", "125 µm", "15 mg/m³", "3 g", "2 %"):
        assert NUMBER_WITH_UNIT.search(words), words
    for words in ("29 CFR 1910.133", "P120", "80CrV2", "1095 carbon steel", "8 of 18"):
        assert not NUMBER_WITH_UNIT.search(words), words
