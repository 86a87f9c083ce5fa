"""The holes of a blank that exists: measured and never asked for; the rod follows what goes through them."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from blankwright.base.errors import RequestError
from blankwright.design.request import read_design
from blankwright.knife.knife import Knife, finish
from rooms.blanks import blank_file, knife_of, row_of_holes

Blank = Callable[..., Knife]


@pytest.fixture
def blank(tmp_path: Path) -> Blank:
    """Finish a chef's blank with holes of these diameters."""
    made = knife_of("chef", {})

    def of(*diameters_mm: float, **changes: str) -> Knife:
        path = blank_file(tmp_path, made, row_of_holes(made, *diameters_mm))
        asked = {"material.thickness": "3 mm"} | {key.replace("__", "."): value for key, value in changes.items()}
        return finish(read_design(path, asked))

    return of


def purposes(knife: Knife) -> list[str]:
    return [made.hole.purpose for made in knife.holes]


def test_every_hole_of_the_blank_is_there_and_none_is_made(blank: Blank) -> None:
    knife = blank(5.1, 5.1, 5.1)
    assert {made.made.made_by for made in knife.holes} == {"there"}
    assert [made.hole.diameter_mm for made in knife.holes] == [5.1, 5.1, 5.1]
    assert purposes(knife) == ["pin"] * 3
    assert knife.design.pins is not None
    assert (knife.design.pins.count, knife.design.pins.diameter_mm) == (3, 5.0)


def test_the_rod_goes_through_the_narrowest_of_the_pins_holes(blank: Blank) -> None:
    """A scan tells 5.1 from 5.0 by a tenth: the narrowest hole decides."""
    knife = blank(5.1, 5.0, 5.1)
    assert knife.design.pins is not None
    assert knife.design.pins.diameter_mm == pytest.approx(3 / 16 * 25.4, abs=1e-4)
    assert knife.handle is not None
    assert {rod.diameter_mm for rod in knife.handle.rods} == {knife.design.pins.diameter_mm}


def test_a_wider_hole_near_the_butt_takes_a_cord_and_others_stay_open(blank: Blank) -> None:
    assert purposes(blank(5.1, 5.1, 7.0)) == ["pin", "pin", "lanyard"]
    assert purposes(blank(5.1, 9.0, 5.1)) == ["pin", "lightening", "pin"]
    assert purposes(blank(3.1, 5.1, 5.1)) == ["lightening", "pin", "pin"]
    assert purposes(blank()) == []
    assert purposes(blank(12.0)) == ["lightening"]


def test_the_maker_says_which_holes_take_pins(blank: Blank) -> None:
    free = blank(5.1, 5.1, 5.1)
    xs = [made.hole.x_mm for made in free.holes]
    assert purposes(blank(5.1, 5.1, 5.1, pins__positions=f"{xs[0]:.1f} mm, {xs[2]:.1f} mm")) == [
        "pin", "lightening", "pin",
    ]  # fmt: skip
    assert purposes(blank(5.1, 5.1, 5.1, pins__count="2")) == ["pin", "lightening", "pin"]
    assert purposes(blank(5.1, 5.1, 5.1, pins__count="0")) == ["lightening"] * 3
    assert purposes(blank(5.1, 5.1, 5.1, tang__lanyard_diameter="5 mm")) == ["pin", "pin", "lanyard"]


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"pins__diameter": "6 mm"}, r"a rod of 6.00 mm, glued, does not go through the blank's 5.10 mm hole.*5 mm"),
        ({"pins__positions": "-60 mm"}, r"the blank has no hole at x = -60 mm. In the handle there are: 5.10 mm at x"),
        ({"pins__count": "4"}, r"\[pins\] count: 4 pins, but 3 holes"),
        ({"tang__lanyard_diameter": "8 mm"}, r"no hole of 8.00 mm in the handle"),
        ({"tang__lightening_count": "2"}, r"lightening_count: the blank is as it is: its holes are measured"),
        ({"pins__spacing": "40 mm"}, r"\[pins\] spacing: the blank is as it is: its holes are measured"),
        ({"start__from": "bar"}, r"\[start\] from: 'bar' does not go with a blank that exists"),
    ],
)
def test_what_the_blank_does_not_have_is_refused_in_words(blank: Blank, changes: dict[str, str], said: str) -> None:
    with pytest.raises(RequestError, match=said):
        blank(5.1, 5.1, 5.1, **changes)


def test_a_hole_too_narrow_for_any_rod_is_told(blank: Blank) -> None:
    with pytest.raises(RequestError, match=r"no rod goes through a hole of 1\.50 mm"):
        blank(1.5, 1.5)


def test_scales_are_not_bored_through_holes_that_nobody_fitted_to_the_bit(blank: Blank) -> None:
    """A bit that cuts in a hardened hole breaks (common practice)."""
    assert not blank(5.1, 5.1).guided
    assert not knife_of("chef", {"start.from": "hardened-blank"}).guided
    assert knife_of("chef", {}).guided
