"""Hands, and what a hand wants of a handle."""

import itertools

import pytest

from blankwright.base.errors import RequestError
from blankwright.desk.script import solve
from blankwright.sheet.handfit import hand_rows
from blankwright.shop.hand import Hand, finger_room, grip_over_breadth, hands, percentile_hand
from rooms.every import cases

MEASURES = ("breadth_mm", "length_mm", "palm_mm", "circumference_mm")


def test_rule_and_sheet_say_the_same_of_a_handle():
    work = solve("chef").core
    palm = work.shape.values_mm["handle_length"] - grip_over_breadth().low
    grip = next(f.line.text() for f in work.figures if f.code == "GRIP")
    assert f"a hand up to {palm:.0f} mm broad" in grip
    assert f"half of men have {percentile_hand('men 50').breadth_mm:g} mm" in grip
    assert f"half of women {percentile_hand('Women  50').breadth_mm:g} mm" in grip
    assert hand_rows(work, None)[0].values[0].value == pytest.approx(palm)


@cases("measure", MEASURES)
def test_percentiles_rise_and_men_are_larger(measure):
    women, men = ([getattr(h, measure) for n, h in hands().items() if n.startswith(s)] for s in ("women", "men"))
    for row in (women, men):
        assert all(a < b for a, b in itertools.pairwise(row))
    assert all(w < m for w, m in zip(women, men, strict=True))


@cases("name", ["men 51", "men", "children 50", "men 95 50"])
def test_a_hand_that_is_not_in_the_table_is_refused(name):
    with pytest.raises(RequestError, match="unknown hand"):
        percentile_hand(name)


def test_the_rules_of_thumb():
    assert (finger_room().low, finger_room().high) == (20, 25)
    # common practice: a chef's handle of 115 to 130 mm suits large men, 96 mm broad (95 in 100 of the survey)
    assert 115 <= percentile_hand("men 95").breadth_mm + grip_over_breadth().low <= 130


def test_a_hand_cannot_be_half_built():
    with pytest.raises(RequestError, match="source: expected a text"):
        Hand("x", 80.0, 180.0, 105.0, 190.0, "", "computed")
