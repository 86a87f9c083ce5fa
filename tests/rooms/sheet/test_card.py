"""The bench card: one page that says what the sheet says, large enough for arm's length, and nothing outside it."""

from __future__ import annotations

import io
import itertools
import re
from functools import cache

import pytest
from pypdf import PdfReader

from blankwright.base.said import Line, joined
from blankwright.sheet.brief import BRIEF, MOST, briefs, sentence
from blankwright.sheet.card import card_of
from blankwright.sheet.cardpdf import _lines, _wide
from blankwright.sheet.model import Stage
from blankwright.shop.stagecautions import cutting_cautions, stages
from blankwright.shop.tables import processes
from rooms.commands.test_inches import left_in_mm
from rooms.every import cases
from rooms.often import repeated, share
from rooms.sheet.sheet_cases import CASES, sheet
from rooms.sheet.sheet_cases import card as drawn

PAPERS = {"A4": (595.276, 841.89), "Letter": (612.0, 792.0)}
LEAST_PT, BODY_PT = 9.0, 11.0
"""Nothing on the card is smaller, and what is read at arm's length no smaller than this [points]."""
DANGEROUS = {"cut", "drill", "grind", "harden", "temper", "thin", "handle", "forge", "coupon", "normalise", "cold"}


@cache
def read(name: str, units: str = "mm", paper: str = "A4") -> tuple[PdfReader, list[tuple[str, float]]]:
    """Return the card and its words with their size [points]."""
    reader, found = PdfReader(io.BytesIO(drawn(name, units, paper))), []

    def visit(text: str, matrix: list[float], place: list[float], _: object, size: float) -> None:
        if text.strip():
            found.append((text.strip(), round(size * abs(place[3]) * abs(matrix[3]), 2)))

    reader.pages[0].extract_text(visitor_text=visit)
    return reader, found


def words(name: str, units: str = "mm", paper: str = "A4") -> str:
    return " ".join(text for text, _ in read(name, units, paper)[1])


@repeated
@cases(("name", "paper"), share(itertools.product(CASES, PAPERS), 13))
def test_one_page_of_the_paper_that_can_be_read(name: str, paper: str) -> None:
    reader, said = read(name, "mm", paper)
    assert len(reader.pages) == 1
    page = reader.pages[0].mediabox
    assert (float(page.width), float(page.height)) == pytest.approx(PAPERS[paper], abs=0.01)
    assert min(size for _, size in said) >= LEAST_PT
    titles = [stage.title for stage in sheet(name).stages[1:]]
    sizes = [size for text, size in said if any(title.startswith(text) for title in titles)]
    assert len(sizes) >= len(titles)
    assert min(sizes) > BODY_PT


@repeated
@cases(("name", "units"), share(itertools.product(CASES, ("mm", "in")), 13))
def test_it_says_what_the_sheet_says(name: str, units: str) -> None:
    text, at = re.sub(r"\s+", " ", words(name, units)), -1
    for number, stage in enumerate(sheet(name).stages[1:], start=1):
        found = text.find(f"{stage.title.split()[0]}", at + 1)
        assert found > at, f"{number} {stage.title}"
        at = found
        for row in stage.rows:
            figure = joined(row.values, units, row.sign)
            assert not row.card or all(word in text for word in figure.split()), f"{stage.code} {row.label}: {figure}"
    assert sheet(name).code in text


@cases("name", CASES)
def test_at_most_three_cautions_stand_at_a_stage_and_each_is_the_sheets(name: str) -> None:
    card = card_of(sheet(name))
    for told, stage in zip(card.stages, sheet(name).stages[1:], strict=True):
        assert len(told.cautions) <= MOST
        full = " ".join(line.text() for line in stage.cautions)
        for short in told.cautions:
            assert any(said == short and keys in full for keys, said in BRIEF)
        if stage.code in DANGEROUS:
            assert told.cautions or set(briefs(stage.cautions)) & set(card.always), stage.code


def test_no_brief_caution_stands_for_nothing() -> None:
    """A caution that is worded anew must not fall off the card without a word."""
    full = " ".join(line.text() for name in CASES for stage in sheet(name).stages for line in stage.cautions)
    full += " ".join(rule.text for process in processes() for rule in cutting_cautions(process))
    full += " ".join(rule.text for advice in stages().values() for rule in advice.rules)  # those of no case here
    assert [keys for keys, _ in BRIEF if keys not in full] == []
    assert len({keys for keys, _ in BRIEF}) == len(BRIEF)


def test_the_weightiest_come_first() -> None:
    stage = Stage("x", "x", cautions=(Line("Edges come sharp: gloves."), Line("The jet injects through skin.")))
    assert briefs(stage.cautions) == ("never reach into the tank", "edges are sharp: gloves and a file")
    assert sentence(briefs(stage.cautions)).startswith("Never reach into the tank; edges")


@cases("name", ["chef", "spreader", "utility", "hidden"])
def test_an_inch_card_has_no_length_in_mm(name: str) -> None:
    text = "\n".join(line for line, _ in read(name, "in", "Letter")[1] if " mm (" not in line)
    assert left_in_mm(text) == []
    assert "sizes in inches" in text
    assert not re.search(r"\b(8|80|210|102|104|120)\.0\b", text), "a size of the picture is left in mm"


@cases(("name", "paper"), [("chef", "Letter"), ("forged", "A4"), ("spreader", "A4")])
def test_nothing_stands_outside_the_margins(name: str, paper: str) -> None:
    import numpy as np
    import pypdfium2

    document = pypdfium2.PdfDocument(drawn(name, "mm", paper))
    grey = np.asarray(document[0].render(scale=2).to_pil().convert("L"))
    document.close()
    edge = int(9.5 / 25.4 * 72 * 2)  # 9.5 mm; the margin is 12, the foot's 10
    for side in (grey[:, :edge], grey[:, -edge:], grey[:edge], grey[-edge:]):
        assert side.min() > 200


def test_the_same_bytes_twice() -> None:
    first = drawn("chef")
    drawn.cache_clear()
    assert drawn("chef") == first


def test_a_figure_in_brackets_is_not_broken_over_lines() -> None:
    pt = 11.0
    wide = _wide("871 to 899 °C (1600 to 1650", "Helvetica-Bold", pt)
    assert _lines("871 to 899 °C (1600 to 1650 °F)", "Helvetica-Bold", pt, wide) == [
        "871 to 899 °C",
        "(1600 to 1650 °F)",
    ]
    narrow = _wide("(1600 to 165", "Helvetica-Bold", pt)
    assert _lines("(1600 to 1650 °F)", "Helvetica-Bold", pt, narrow) == ["(1600 to", "1650 °F)"], "nothing is cut off"
