"""The sheet and the card of a scalloped edge: round tools by size, one face, no stone."""

from __future__ import annotations

import pytest

from blankwright.base.said import joined
from blankwright.sheet.card import card_of
from blankwright.sheet.model import Row, Stage
from rooms.sheet.sheet_cases import sheet, stage, words, work


def row(found: Stage, start: str) -> Row:
    return next(r for r in found.rows if r.label.startswith(start))


def shown(found: Stage, start: str) -> str:
    (value,) = row(found, start).values
    return f"{value.value:.1f}"  # type: ignore[union-attr]


def test_the_tool_held_square_is_as_round_as_the_scallop() -> None:
    """Pitch 8 and depth 1.2 mm: 8 * 8 / (4 * 1.2) + 1.2 = 14.53 (circular segment, any handbook of mechanics)."""
    found = stage("bread", "profile")
    assert joined(row(found, "Scallops").values, "mm", row(found, "Scallops").sign) == "8.0 mm and 1.2 mm"
    assert shown(found, "Round tool held square") == "14.5"
    assert "Shape the scallops with a round file, a drum or a belt" in words(found)


def test_a_scalloped_edge_is_not_laid_on_a_stone() -> None:
    """Makers' common practice: serrations are sharpened from one face with a round tool, hollow by hollow."""
    found = stage("bread", "edge")
    assert found.title == "Edge: scallops"
    assert not found.tables  # no spine is raised above a stone
    assert row(found, "Edge angle").label == "Edge angle, one face only"
    text = words(found)
    for piece in ("from one face only", "A flat stone cannot do it", "Do not chase it with a stone", "diamond file",
                  "leather", "short plain ends"):  # fmt: skip
        assert piece in text, piece
    assert all(s.raise_mm == (None, None) for s in work("bread").stations)
    assert "round rod" in words(stage("bread", "thin"))
    assert "stone" not in words(stage("bread", "thin"))
    assert "Spine above the stone" in [t.title for t in stage("chef", "edge").tables]


def test_the_side_and_the_tool_follow_the_knife() -> None:
    assert row(stage("bread-single", "edge"), "Edge angle").label == "Edge angle, left face only"
    # 64 / (4 * 1.2 * sin 20) + 1.2 * sin 20
    assert shown(stage("bread-single", "edge"), "Round tool at that angle") == "39.4"
    assert "Begin with a round file or" in words(stage("bread-soft", "edge"))
    wooden = words(sheet("bread-wooden"))
    assert "round rasp or paper on a dowel" in wooden
    assert "paper round a dowel, both sides alike" in wooden


def test_the_card_says_the_same_in_few_words() -> None:
    told = {one.title: one for one in card_of(sheet("bread")).stages}
    assert told["Edge: scallops"].beside == "16.0°"
    assert [(t.label, t.figure) for t in told["Edge: scallops"].told] == [("round tool up to", "48.7 mm")]
    assert told["Edge: scallops"].cautions == ("clamp it; strokes run off the edge",)
    assert ("tool up to", "14.5 mm") in [(t.label, t.figure) for t in told["Profile to the line"].told]


def test_heights_are_those_of_the_line_of_the_points() -> None:
    """At the middle of the shipped bread knife a scallop is under the rule: its edge is higher than its points."""
    knife = work("bread")
    middle = knife.stations[1]
    assert middle.low_mm == pytest.approx(0.0, abs=1e-6)
    assert knife.edge_line is not knife.finished
    assert work("chef").edge_line is work("chef").finished
