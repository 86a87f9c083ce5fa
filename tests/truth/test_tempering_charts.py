"""Tempering charts of 1095, O1, A2 and W2, and the tempering parameter, against what sheets print."""

import pytest

from blankwright.shop.hardening import hardening
from blankwright.shop.tempering import hrc_after, same_effect_c, temper_for_hrc, tempering_parameter

SOURCE = (
    "1095: a maker's page that restates a steel maker's sheet. O1: a stockholder's sheet and a metalworkers' page. "
    "A2: a stockholder's sheet, hardened from 1775 F. W2: a handbook's chart, 1.00 % carbon. 52100: a materials "
    "society's journal. Tempering parameter: a plate maker's calculator, (T + 273)(20 + log t)/1000 with t in hours"
)
TOLERANCE_HRC = 1e-9
TOLERANCE_PARAMETER = 5e-5
TOLERANCE_C = 0.05
REASON = "Points are printed whole, so the table holds them exactly; the parameter is given to four decimals."


def c(fahrenheit: float) -> float:
    return (fahrenheit - 32) / 1.8


@pytest.mark.parametrize(
    ("steel", "fahrenheit", "low", "high"),
    [
        ("1095", 300, 65, 65),
        ("1095", 350, 63, 64),
        ("1095", 400, 62, 63),
        ("1095", 500, 59, 60),
        ("1095", 650, 53, 54),
        ("O1", 300, 63, 63),
        ("O1", 400, 62, 62),
        ("O1", 600, 57, 57),
        ("O1", 800, 50, 50),
        ("A2", 300, 62, 62),
        ("A2", 400, 61, 61),
        ("A2", 1000, 57, 57),
        ("A2", 1100, 51, 51),
        ("W2", 400, 62, 62),
        ("W2", 600, 55, 55),
    ],
)
def test_a_printed_point_is_in_the_table(steel, fahrenheit, low, high):

    table = hardening(steel).chosen_temper
    point = min(table.points, key=lambda p: abs(p.temper_c - c(fahrenheit)))
    assert point.temper_c == pytest.approx(c(fahrenheit), abs=1e-9)
    assert (point.hrc_low, point.hrc_high) == pytest.approx((low, high), abs=TOLERANCE_HRC)
    assert hrc_after(table, point.temper_c) == pytest.approx((low, high), abs=TOLERANCE_HRC)


def test_the_two_o1_charts_agree_within_one_hrc_of_the_band():
    ours, other = hardening("O1").temper[0], hardening("O1").temper[1]
    for point in ours.points:
        low, high = hrc_after(other, point.temper_c)
        assert low - 1 <= point.hrc <= high + 1


@pytest.mark.parametrize(("hrc", "fahrenheit"), [(62.5, 400), (61.5, 450), (59.5, 500)])
def test_1095_for_a_hardness_is_the_printed_temperature(hrc, fahrenheit):
    assert temper_for_hrc(hardening("1095"), hrc).temper_c == pytest.approx(c(fahrenheit), abs=1e-6)


def test_52100_keeps_58_hrc_below_the_journals_limit():
    assert temper_for_hrc(hardening("52100"), 58).temper_c <= 260


@pytest.mark.parametrize(
    ("steel", "low_f", "high_f"),
    [("1095", 1475, 1475), ("O1", 1450, 1500), ("A2", 1750, 1800), ("D2", 1850, 1875), ("440C", 1850, 1900)],
)
def test_the_hardening_range_is_the_printed_one(steel, low_f, high_f):
    band = hardening(steel).harden
    assert (band.low, band.high) == pytest.approx((c(low_f), c(high_f)), abs=2.5)  # sheets round to 5 °C


@pytest.mark.parametrize(
    ("temper_c", "hours", "printed"),
    [(200, 2, 9.6024), (200, 4, 9.7448), (220, 2, 10.0084), (230, 1, 10.060), (580, 2, 17.3168), (600, 1, 17.460)],
)
def test_the_parameter_is_the_printed_one(temper_c, hours, printed):
    assert tempering_parameter(temper_c, hours) == pytest.approx(printed, abs=TOLERANCE_PARAMETER)


@pytest.mark.parametrize(("hours", "printed_c"), [(1, 207.1), (4, 193.1), (6, 189.1)])
def test_a_cycle_of_the_same_effect(hours, printed_c):
    assert same_effect_c(200, 2, hours) == pytest.approx(printed_c, abs=TOLERANCE_C)
