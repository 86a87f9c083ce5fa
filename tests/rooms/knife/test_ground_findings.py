"""Findings on grind and block: GRIND and BLOCK-WALL, and KNUCKLES with a block."""

from __future__ import annotations

import pytest

from blankwright.base.errors import RequestError
from blankwright.design.block import block_outline, wood_around_mm
from blankwright.design.request import read_design
from blankwright.design.tang import chord_at
from blankwright.knife.knife import finish
from blankwright.knife.rules import DESIGN_CODES, FIGURE_CODES
from rooms.design.cases import family_table, write_family
from rooms.every import cases

HIDDEN = {"handle.construction": "hidden"}


def found(family, code, **changes):
    work = finish(read_design(family, {k.replace("__", "."): v for k, v in changes.items()}))
    return [f for f in work.findings if f.code == code]


def figure(work, code):
    (one,) = [f for f in work.figures if f.code == code]
    return one.line.text()


def hidden(code, **changes):
    return found("chef", code, handle__construction="hidden", **changes)


def test_the_codes_stand_in_the_table():
    assert {"GRIND", "BLOCK-WALL"} <= set(DESIGN_CODES)


def test_a_plain_grind_is_sound():
    assert [f.level for f in found("chef", "GRIND")] == ["ok"]
    assert [f.level for f in found("spreader", "GRIND", handle__construction="one-piece")] == ["ok"]


def test_a_hollow_that_cuts_through_is_found_with_its_place():
    (one,) = found("chef", "GRIND", grind__kind="hollow", grind__wheel="100 mm")
    assert one.level == "warning"
    assert "larger wheel" in one.message
    assert one.at_mm is not None
    assert one.at_mm[0] == pytest.approx(0, abs=1)
    large = found("chef", "GRIND", grind__kind="hollow", grind__wheel="400 mm", grind__height="10 mm")
    assert [f.level for f in large] == ["ok"]


@cases(("left", "says"), [("0.39 mm", "thin"), ("0.4 mm", ""), ("0.8 mm", ""), ("1.2 mm", ""), ("1.21 mm", "thick")])
def test_the_edge_left_before_hardening(left, says):
    """Common practice: 0.5 to 0.8 mm; below 0.4 and above 1.2 mm is worth a look."""
    out = found("chef", "GRIND", grind__edge_before_hardening=left, grind__tip_thickness="1.5 mm")
    assert [f.level for f in out] == (["warning"] if says else ["ok"])
    assert says in out[0].message


def test_a_spine_thinner_than_the_edge_left():
    (one,) = found("chef", "GRIND", grind__edge_before_hardening="0.8 mm", grind__tip_thickness="0.6 mm")
    assert one.level == "warning"
    assert "210 mm" in one.message
    assert "0.60 mm" in one.message


def test_the_block_s_walls():
    (one,) = hidden("BLOCK-WALL")
    assert one.level == "ok"
    (narrow,) = hidden("BLOCK-WALL", block__width="8 mm")  # (8 - 3) / 2 = 2.5
    assert narrow.level == "warning"
    assert "2.50 mm of wood beside" in narrow.message
    (low,) = hidden("BLOCK-WALL", block__front_height="17 mm", block__butt_height="17 mm")
    assert low.level == "warning"
    assert "above or below" in low.message
    with pytest.raises(RequestError, match=r"the tang stands .* out of the block"):
        hidden("BLOCK-WALL", block__front_height="10 mm", block__butt_height="10 mm")
    assert not found("chef", "BLOCK-WALL")


def test_the_wall_is_the_least_between_tang_and_block():
    """Judge: upright sections of tang and block, 400 of them; at the front the tang as it is behind its shoulders."""
    work = finish(read_design("chef", HIDDEN))
    block = block_outline(work.shape, 25.0, 29.0)
    start, end = work.shape.front_x_mm - 2.5, work.shape.tang_end_x_mm
    tang, wood = chord_at(work.finished, start - 0.01), chord_at(block, start + 2.49)
    at_front = min(tang[0] - wood[0], wood[1] - tang[1])
    least = min(
        min(tang[0] - wood[0], wood[1] - tang[1])
        for k in range(1, 400)
        for x in [start + (end - start) * k / 400]
        for tang, wood in [(chord_at(work.finished, x), chord_at(block, x))]
    )
    assert wood_around_mm(work.shape, block) == pytest.approx(min(least, at_front), abs=0.05)


def test_the_knuckles_are_under_the_block():
    work = finish(read_design("chef", HIDDEN))
    one = figure(work, "KNUCKLES")
    block = block_outline(work.shape, 25.0, 29.0)
    low = chord_at(block, (work.shape.front_x_mm + work.shape.butt_x_mm) / 2)[0]
    assert f"{low:.0f} mm above the board" in one


def test_a_family_without_a_block_says_what_it_does_not_know(tmp_path):
    table = family_table("chef")
    del table["construction"]["hidden"]["defaults"]["block"]
    file = write_family(tmp_path, table, "mine.toml")
    work = finish(read_design(str(file), HIDDEN))
    assert not [f for f in work.findings if f.code == "BLOCK-WALL"]
    assert "not drawn" in figure(work, "KNUCKLES")


@cases(("family", "hand"), [("chef", False), ("paring", True), ("spreader", True)])
def test_less_room_than_knuckles_need_is_a_knife_for_the_hand(family, hand):
    """Knuckles need 20 to 25 mm above the board (rule of thumb of the trade, no source)."""
    text = figure(finish(read_design(family, {})), "KNUCKLES")
    assert ("a knife for the hand" in text) == hand, text


def test_what_cannot_be_wrong_is_a_figure_and_not_counted_as_a_check():
    work = finish(read_design("chef", {}))
    assert [f.code for f in work.figures] == list(FIGURE_CODES)
    assert not {f.code for f in work.findings} & set(FIGURE_CODES)
    assert {f.code for f in work.findings} <= set(DESIGN_CODES)


BREAD_LEAST = {"blade.heel_height": "26 mm", "blade.tip_height": "1.5 mm", "handle.gap": "10 mm"}


def test_a_handle_that_hangs_below_the_board_is_told_with_how_far():
    """Judge: the lowest point of the outline behind the handle's front, as a polygon."""
    asked = {**BREAD_LEAST, "tang.middle": "26 mm", "tang.butt": "30 mm"}
    work = finish(read_design("bread", asked))
    x, y = work.finished.flattened(0.001).T
    low = float(y[x < work.shape.front_x_mm].min())
    assert low < -1
    (one,) = [f for f in work.findings if f.code == "HANDLE-BOARD"]
    assert one.level == "warning"
    assert f"hangs {-low:.1f} mm below the board line" in one.message
    (fine,) = found("bread", "HANDLE-BOARD")
    assert fine.level == "ok"
    (block,) = hidden("HANDLE-BOARD", blade__heel_height="38 mm", block__butt_height="60 mm")
    assert block.level == "warning"


@pytest.mark.parametrize("family", ["paring", "spreader"])
def test_a_knife_for_the_hand_may_hang_below_the_board(family):
    assert not found(family, "HANDLE-BOARD")
