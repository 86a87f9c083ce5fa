"""Number, letter, fractional and metric drills against printed charts."""

import pytest

from blankwright.shop.drills import SERIES, drills
from rooms.every import cases

SOURCE = (
    "ANSI B94.11M series as printed in two public drill charts; BS 328 for the metric steps; the inch by definition; "
    "sizes marked below come from memory"
)
TOLERANCE_MM = 5e-5
REASON = "Charts print inches to four places; converted millimetres are compared to four."

READ_MM = {
    "#1": 5.7912,
    "#2": 5.6134,
    "#3": 5.4102,
    "#4": 5.3086,
    "#7": 5.1054,
    "#10": 4.9149,
    "#21": 4.0386,
    "#25": 3.7973,
}
FINE_MM = {"#54": 1.397, "#55": 1.321, "#60": 1.016, "#80": 0.343, "A": 5.944, "Z": 10.490}
FROM_MEMORY_MM = {"F": 6.528, "#30": 3.264, "#20": 4.089, "#40": 2.489, "#11": 4.851}
FRACTIONS_MM = {
    "1/16": 1.5875,
    "3/32": 2.38125,
    "1/8": 3.175,
    "5/32": 3.96875,
    "3/16": 4.7625,
    "1/4": 6.35,
    "5/16": 7.9375,
}


def drill(name):
    return next(d for series in SERIES for d in drills(series) if d.name == name)


@cases(("name", "mm"), READ_MM.items())
def test_a_size_read_in_the_chart(name, mm):
    assert drill(name).diameter_mm == pytest.approx(mm, abs=TOLERANCE_MM)
    assert drill(name).status == "published"


@cases(("name", "mm"), {**FINE_MM, **FROM_MEMORY_MM}.items())
def test_a_size_printed_to_a_micrometre(name, mm):
    assert drill(name).diameter_mm == pytest.approx(mm, abs=10 * TOLERANCE_MM + 5e-5)


@cases(("name", "mm"), FRACTIONS_MM.items())
def test_a_fraction_is_exact(name, mm):
    assert drill(f"{name} in").diameter_mm == pytest.approx(mm, abs=1e-9)


def test_letter_e_is_a_quarter_inch():
    assert drill("E").diameter_mm == pytest.approx(drill("1/4 in").diameter_mm, abs=1e-9)


def test_every_tenth_from_one_to_ten_is_there():
    assert [d.diameter_mm for d in drills("metric")][:91] == pytest.approx([1 + i / 10 for i in range(91)], abs=1e-9)
