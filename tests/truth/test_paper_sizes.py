"""Paper sizes against the rule of ISO 216 and the inch sizes of ANSI/ASME Y14.1."""

import math

import pytest

from blankwright.ink.papers import paper, papers
from rooms.every import cases

SOURCE = (
    "ISO 216: A0 has an area of 1 m2 and sides as 1 to the square root of 2; each next size is halved across, rounded "
    "down to the mm. ANSI/ASME Y14.1: size A is 8.5 x 11 in, size B 11 x 17 in. Legal, 8.5 x 14 in: common practice."
)
TOLERANCE_MM = 1e-9
REASON = "Both standards give exact sizes; an inch is 25.4 mm exactly, so only the last digits of a float may differ."

ANSI_IN = {"Letter": (8.5, 11.0), "Tabloid": (11.0, 17.0), "Legal": (8.5, 14.0)}
PRINTED_MM = {"A3": (297, 420), "A4": (210, 297)}  # the standard's own table


def iso_216_a(number):
    """Return a size of the A series by the standard's rule [mm]."""
    height = round(1000 * 2**0.25)  # A0: 1189 x 841
    width = round(1000 / 2**0.25)
    for _ in range(number):
        width, height = height // 2, width
    return width, height


def test_the_rule_gives_the_table_of_the_standard():
    assert iso_216_a(0) == (841, 1189)
    assert {name: iso_216_a(int(name[1])) for name in PRINTED_MM} == PRINTED_MM


@pytest.mark.parametrize("name", sorted(PRINTED_MM))
def test_iso_sizes(name):
    found = paper(name)
    assert (found.width_mm, found.height_mm) == pytest.approx(iso_216_a(int(name[1])), abs=TOLERANCE_MM)
    # within the rounding to whole mm the sides are as 1 to the square root of 2
    assert found.height_mm / found.width_mm == pytest.approx(math.sqrt(2), abs=1 / found.width_mm)


@cases("name", sorted(ANSI_IN))
def test_inch_sizes(name):
    found = paper(name)
    asked = tuple(25.4 * side for side in ANSI_IN[name])
    assert (found.width_mm, found.height_mm) == pytest.approx(asked, abs=TOLERANCE_MM)


def test_every_paper_of_the_table_is_checked_here():
    assert {p.name for p in papers()} == {*PRINTED_MM, *ANSI_IN}
