"""Drills: the series as shipped; the bolted fit."""

import itertools

import pytest

from blankwright.base.errors import RequestError
from blankwright.desk.script import solve
from blankwright.shop import tables
from blankwright.shop.drills import SERIES, Drill, drills
from blankwright.shop.holes import finished_hole_mm, scale_hole_mm
from rooms.every import cases

COUNTS = {"metric": 91 + 6, "fractional": 32, "number": 80, "letter": 26}


@cases("series", SERIES)
def test_a_series_is_whole_and_rises(series):
    found = drills(series)
    assert len(found) == COUNTS[series]
    assert all(a.diameter_mm < b.diameter_mm for a, b in itertools.pairwise(found))
    assert len({d.name for d in found}) == len(found)


def test_numbers_and_letters_run_the_ways_they_should():
    assert [d.name for d in drills("number")] == [f"#{n}" for n in range(80, 0, -1)]
    assert [d.name for d in drills("letter")] == [chr(c) for c in range(ord("A"), ord("Z") + 1)]
    assert drills("number")[-1].diameter_mm < drills("letter")[0].diameter_mm


def test_no_step_of_the_lists_is_out_of_line():
    # From memory most of them: a slip of a digit would show as a step far from its neighbours.
    for series in ("number", "letter"):
        sizes = [d.diameter_mm for d in drills(series)]
        assert all(1.0 < b / a < 1.13 for a, b in itertools.pairwise(sizes))


def named(name):
    return next(d for series in SERIES for d in drills(series) if d.name == name)


def test_a_size_that_was_not_checked_says_so():
    assert named("#30").status == "not checked against a source"
    assert named("#21").status == "published"
    assert named("F").status == "not checked against a source"


def test_unknown_names_are_refused():
    with pytest.raises(RequestError, match="unknown series 'inch'"):
        drills("inch")


def test_a_drill_cannot_be_half_built():
    for arguments in (
        ("", "metric", 5, "s", "published"),
        ("x", "inch", 5, "s", "published"),
        ("x", "metric", 50, "s", "published"),
    ):
        with pytest.raises(RequestError):
            Drill(*arguments)


def test_a_bolt_has_clearance_and_a_counterbore():
    assert finished_hole_mm(5.0, "bolted")[0] == 5.2
    assert scale_hole_mm(5.0, "bolted")[0] == 5.2
    assert "counterbore" in tables.fit("bolted").note
    assert tables.fit("glued").note == ""


def test_a_design_can_ask_for_bolts():
    knife = solve("chef", settings={"pins.fit": "bolted"})
    assert knife.design.pins.fit == "bolted"
