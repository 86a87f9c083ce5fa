"""Handles and hands."""

import itertools
import math

import pytest

from blankwright.base.errors import RequestError
from blankwright.knife.rules import GRIP_OVER_PALM_MM, PALM_MEN_MM, PALM_WOMEN_MM
from blankwright.shop.hand import (
    GRIP_OVER_BREADTH_MM,
    HandFit,
    finger_room_guess,
    handle_length,
    knuckles,
    own_hand,
    percentile_hand,
    percentile_mm,
    percentile_names,
)

MINE = {"breadth_mm": 84.0, "length_mm": 188.0, "finger_depth_mm": 19.0}


def test_the_bench_and_the_inspector_say_the_same():
    assert GRIP_OVER_BREADTH_MM == GRIP_OVER_PALM_MM
    assert percentile_hand("men 50").breadth_mm == PALM_MEN_MM
    assert percentile_hand("Women  50").breadth_mm == PALM_WOMEN_MM


@pytest.mark.parametrize("measure", ["breadth", "length", "palm", "circumference"])
def test_percentiles_rise_and_men_are_larger(measure):
    women, men = (
        [percentile_mm(n, measure) for n in percentile_names() if n.startswith(sex)] for sex in ("women", "men")
    )
    for row in (women, men):
        assert all(a < b for a, b in itertools.pairwise(row))
    assert all(w < m for w, m in zip(women, men, strict=True))


@pytest.mark.parametrize("name", ["men 51", "men", "children 50", "men 95 50"])
def test_a_hand_that_is_not_in_the_table_is_refused(name):
    with pytest.raises(RequestError, match="unknown hand"):
        percentile_hand(name)


def test_an_unknown_measure_is_refused():
    with pytest.raises(RequestError, match="unknown measure of a hand 'thumb'"):
        percentile_mm("men 50", "thumb")


def test_a_handle_against_a_palm():
    found = handle_length(percentile_hand("men 95"), 116)
    assert (found.good, found.spare_mm) == (True, 0)
    short = handle_length(percentile_hand("men 95"), 95)
    assert (short.good, short.spare_mm) == (False, -21)
    assert "21 mm short" in short.words
    assert "at least 100 mm" in short.words


def test_knuckles_need_a_finger_that_was_measured():
    found = knuckles(percentile_hand("women 50"), 24)
    assert found.good is None
    assert found.spare_mm is None
    assert "guess (common practice)" in found.words
    assert knuckles(own_hand(**MINE), 24).spare_mm == 2
    assert knuckles(own_hand(**MINE), 20).good is False
    assert (finger_room_guess().low, finger_room_guess().high) == (20, 25)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"breadth_mm": 3.3}, "hand breadth: must be 50 to 130"),
        ({"length_mm": math.nan}, "hand length: must be 120 to 260"),
        ({"finger_depth_mm": 1.0}, "finger depth: must be 8 to 40"),
    ],
)
def test_a_measure_no_hand_has_is_refused(change, words):
    with pytest.raises(RequestError, match=words):
        own_hand(**MINE | change)


def test_lengths_that_cannot_be_are_refused():
    with pytest.raises(RequestError, match="20 to 400 mm long"):
        handle_length(own_hand(**MINE), math.nan)
    with pytest.raises(RequestError, match="-100 to 200"):
        knuckles(own_hand(**MINE), 1000)


def test_a_fit_cannot_contradict_itself():
    for arguments in ((True, -1.0, "x"), (None, 1.0, "x"), (True, 1.0, "")):
        with pytest.raises(RequestError):
            HandFit(*arguments)
