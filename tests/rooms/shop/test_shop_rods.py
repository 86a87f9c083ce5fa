"""Rods for pins: which are sold, and which goes through a hole that is there."""

from __future__ import annotations

import pytest

from blankwright.base.errors import RequestError
from blankwright.shop.rods import goes_through, largest_rod, rods
from rooms.every import cases

PARALLEL_PINS_MM = (2, 2.5, 3, 4, 5, 6, 8, 10)
"""Nominal diameters of parallel pins from 2 to 10 mm (ISO 2338; the values are from memory)."""
INCH_MM = 25.4
"""The inch, by the agreement of 1 July 1959."""


def test_the_rods_are_the_usual_sizes() -> None:
    found = {rod.name: rod.diameter_mm for rod in rods()}
    assert [mm for name, mm in found.items() if name.endswith("mm")] == list(PARALLEL_PINS_MM)
    assert found["3/16 in"] == pytest.approx(3 / 16 * INCH_MM)
    assert found["1/8 in"] == pytest.approx(INCH_MM / 8)
    assert list(found.values()) == sorted(found.values())


@cases(
    ("hole_mm", "fit", "name"),
    [
        (5.1, "glued", "5 mm"), (5.02, "glued", "5 mm"), (5.01, "glued", "3/16 in"), (6.5, "glued", "1/4 in"),
        (5.1, "peened", "4 mm"), (6.5, "peened", "5 mm"), (5.2, "bolted", "5 mm"), (3.2, "glued", "1/8 in"),
    ],
)  # fmt: skip
def test_the_largest_rod_that_goes_through(hole_mm: float, fit: str, name: str) -> None:
    """A 3/16 in pin that is headed takes a hole of 1/4 in (common practice): 25 to 50 % more."""
    found = largest_rod(hole_mm, fit)
    assert found is not None
    assert found.name == name
    assert goes_through(found.diameter_mm, hole_mm, fit)
    assert found.diameter_mm < hole_mm
    wider = [rod for rod in rods() if rod.diameter_mm > found.diameter_mm]
    assert not any(goes_through(rod.diameter_mm, hole_mm, fit) for rod in wider)


def test_no_rod_goes_through_a_hole_for_a_needle() -> None:
    assert largest_rod(1.2, "glued") is None
    with pytest.raises(RequestError, match="fit"):
        largest_rod(5.0, "nailed")
