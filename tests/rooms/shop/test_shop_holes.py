"""Hole sizes and who makes each hole."""

import math

import pytest

from blankwright.base.errors import RequestError
from blankwright.base.said import said
from blankwright.shop.holes import HoleCut, decide, finished_hole_mm, scale_hole_mm
from blankwright.shop.tables import processes
from rooms.every import cases


def test_glued_adds_a_tenth():
    hole_mm, figure = finished_hole_mm(5.0, "glued")
    assert hole_mm == 5.1
    assert (figure.value, figure.unit, figure.status) == (0.1, "mm", "common practice")


def test_peened_widens_the_tang_but_not_the_scale():
    assert finished_hole_mm(5.0, "Peened")[0] == 6.5
    assert scale_hole_mm(5.0, "peened")[0] == 5.1
    assert scale_hole_mm(5.0, "glued")[0] == finished_hole_mm(5.0, "glued")[0]


@cases("bad", [0, -1, math.nan, math.inf, 20.1])
def test_a_pin_that_cannot_be_is_refused(bad):
    for function in (finished_hole_mm, scale_hole_mm):
        with pytest.raises(RequestError, match=r"\[pins\] diameter"):
            function(bad, "glued")


def test_an_unknown_fit_is_refused():
    with pytest.raises(RequestError, match=r"\[pins\] fit: unknown fit 'glue'.*'glued'"):
        finished_hole_mm(5.0, "glue")


@cases(
    ("name", "made_by", "cut_mm"),
    [
        ("water-jet", "ream", 4.85),
        ("laser", "ream", 4.85),
        ("plasma-table", "drill", None),
        ("plasma-hand", "drill", None),
        ("oxy-fuel", "drill", None),
        ("saw", "drill", None),
        ("trace", "drill", None),
    ],
)
def test_pin_holes_in_3_mm_stock(name, made_by, cut_mm):
    found = decide(name, thickness_mm=3, diameter_mm=5.1, purpose="pin")
    assert (found.made_by, found.cut_diameter_mm) == (made_by, cut_mm)


def test_a_pin_hole_is_drilled_when_the_undersize_hole_is_too_small_to_cut():
    # Laser: smallest hole is the thickness; 3.2 - 0.25 is below 3.
    assert decide("laser", thickness_mm=3, diameter_mm=3.25, purpose="pin").made_by == "ream"
    found = decide("laser", thickness_mm=3, diameter_mm=3.2, purpose="pin")
    assert found.made_by == "drill"
    assert "the smallest hole laser makes in 3 mm stock is 3 mm" in found.reason


@pytest.mark.parametrize("purpose", ["lanyard", "lightening"])
def test_other_holes_are_cut_to_size_where_the_process_can(purpose):
    found = decide("plasma-table", thickness_mm=3, diameter_mm=6, purpose=purpose)
    assert (found.made_by, found.cut_diameter_mm) == ("cut", 6.0)
    assert purpose in found.reason
    small = decide("plasma-table", thickness_mm=3, diameter_mm=4.4, purpose=purpose)
    assert (small.made_by, small.cut_diameter_mm) == ("drill", None)
    assert "4.5 mm" in small.reason
    assert decide("trace", thickness_mm=3, diameter_mm=8, purpose=purpose).made_by == "drill"


def test_every_reason_is_one_sentence():
    for entry in processes():
        for purpose in ("pin", "lanyard", "lightening"):
            for diameter_mm in (1.0, 5.0, 15.0):
                reason = decide(entry.name, thickness_mm=3, diameter_mm=diameter_mm, purpose=purpose).reason
                assert reason[0].isupper()
                assert reason.endswith(".")
                assert ". " not in reason


@cases("bad", [0, -1, math.nan, math.inf])
def test_lengths_that_cannot_be_are_refused(bad):
    with pytest.raises(RequestError, match="a hole must be above 0"):
        decide("laser", thickness_mm=3, diameter_mm=bad, purpose="pin")
    with pytest.raises(RequestError, match="thickness of the stock"):
        decide("laser", thickness_mm=bad, diameter_mm=5, purpose="pin")


def test_an_unknown_purpose_or_process_is_refused():
    with pytest.raises(RequestError, match=r"unknown purpose of a hole 'lanyrd'.*'lanyard'"):
        decide("laser", thickness_mm=3, diameter_mm=5, purpose="lanyrd")
    with pytest.raises(RequestError, match=r"unknown process 'lazer'.*'laser'"):
        decide("lazer", thickness_mm=3, diameter_mm=5, purpose="pin")


def test_a_hole_cannot_be_half_decided():
    for arguments in (
        ("drill", 5.0, said("why")),
        ("cut", None, said("why")),
        ("punch", None, said("why")),
        ("drill", None, said("")),
    ):
        with pytest.raises(RequestError):
            HoleCut(*arguments)
