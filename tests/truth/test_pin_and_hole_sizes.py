"""Pin holes and cut holes against drill charts and what makers and cutting services print."""

import pytest

from blankwright.base.units import length_mm
from blankwright.shop.holes import decide, finished_hole_mm
from rooms.every import cases

SOURCE = (
    "Number and letter drill sizes (ANSI B94.11M series); makers' advice on glued and peened pins; "
    "cutting services' smallest holes."
)
TOLERANCE_MM = 0.02
REASON = "A drill's hole is no truer than 0.02 mm; makers' advice is a range, checked as a range."


@pytest.mark.parametrize(
    ("pin", "drill_in"),
    [("1/8 in", 0.1285), ("3/16 in", 0.1910)],  # numbers 30 and 11, sizes from memory
)
def test_a_glued_pin_takes_the_number_drill_that_makers_use(pin, drill_in):
    hole_mm, _ = finished_hole_mm(length_mm(pin), "glued")
    assert hole_mm == pytest.approx(drill_in * 25.4, abs=TOLERANCE_MM)


def test_a_glued_3_16_pin_hole_is_below_the_number_10_drill():
    # Number 10 is 0.1935 in (drill chart): the loosest drill that still leaves no visible ring.
    hole_mm, _ = finished_hole_mm(length_mm("3/16 in"), "glued")
    assert length_mm("3/16 in") < hole_mm < 0.1935 * 25.4


@cases("pin_mm", [2.0, 3.175, 5.0, 8.0])
def test_glued_clearance_is_within_what_makers_name(pin_mm):
    # Common practice: 0.05 to 0.18 mm on diameter.
    hole_mm, _ = finished_hole_mm(pin_mm, "glued")
    assert 0.05 <= hole_mm - pin_mm <= 0.18


@cases("pin_mm", [3.0, 4.7625, 6.0])
def test_a_peened_pins_tang_hole_is_a_quarter_to_a_half_larger(pin_mm):
    hole_mm, _ = finished_hole_mm(pin_mm, "peened")
    assert 1.25 <= hole_mm / pin_mm <= 1.5


def test_the_peening_example_is_within_a_drill_step():
    # A makers' thread: 3/16 in pin, 1/4 in hole. Ours is under it by less than 1/64 in.
    hole_mm, _ = finished_hole_mm(length_mm("3/16 in"), "peened")
    assert length_mm("15/64 in") < hole_mm < length_mm("1/4 in")


def test_plasma_never_cuts_a_pin_hole():
    # Cutting services: no hole below 1.5 times the thickness; makers: the rim is too hard for the drill.
    for diameter_mm in (3.2, 5.1, 8.1):
        assert decide("plasma-table", thickness_mm=3, diameter_mm=diameter_mm, purpose="pin").made_by == "drill"


def test_a_water_jet_makes_the_smallest_hole_a_service_prints():
    # 1.8 mm in 1.6 mm carbon sheet.
    assert decide("water-jet", thickness_mm=1.6, diameter_mm=1.8, purpose="lightening").made_by == "cut"
    assert decide("water-jet", thickness_mm=1.6, diameter_mm=1.7, purpose="lightening").made_by == "drill"


def test_a_plasma_hole_of_one_and_a_half_thicknesses_can_be_cut():
    assert decide("plasma-table", thickness_mm=4, diameter_mm=6.0, purpose="lanyard").made_by == "cut"
    assert decide("plasma-table", thickness_mm=4, diameter_mm=5.9, purpose="lanyard").made_by == "drill"


def test_a_pin_hole_is_cut_a_quarter_millimetre_under():
    # Cutting services: cut 0.25 mm (0.010 in) under, then ream.
    found = decide("water-jet", thickness_mm=3, diameter_mm=5.1, purpose="pin")
    assert found.made_by == "ream"
    assert 5.1 - found.cut_diameter_mm == pytest.approx(0.25, abs=1e-9)
