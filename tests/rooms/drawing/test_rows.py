"""Dimension lines in rows: ends may touch in a chain, everything else keeps white around it."""

import pytest

from blankwright.drawing.rows import _line
from blankwright.ink.marks import Arrow, Box, Text

ARROWS = (Arrow((0.0, 0.0), (-1.0, 0.0)), Arrow((40.0, 0.0), (1.0, 0.0)))
AIR_MM = 1.5  # the white that a dimension line keeps, as a figure, so that moving it is seen
NEAR_MM = 0.01


def test_the_ends_of_a_level_line_touch_the_next_but_keep_white_over_and_under():
    text = Text(20.0, 30.0, "40", 2.5, "middle")  # far off: the line alone is looked at
    taken = _line((0.0, 0.0), (40.0, 0.0), text, ARROWS).box
    assert (taken.x0, taken.x1) == (0.0, 40.0)
    assert taken.y0 == pytest.approx(-AIR_MM)
    under = _line((0.0, 0.0), (40.0, 0.0), Text(20.0, -30.0, "40", 2.5, "middle"), ARROWS).box
    assert under.y1 == pytest.approx(AIR_MM)
    for box, sign in ((taken, -1), (under, 1)):
        outer = sign * (AIR_MM + NEAR_MM)
        inner = sign * (AIR_MM - NEAR_MM)
        assert not box.meets(Box(10, min(outer, 9 * sign), 12, max(outer, 9 * sign)))
        assert box.meets(Box(10, min(inner, 9 * sign), 12, max(inner, 9 * sign)))


def test_an_upright_line_keeps_white_at_its_ends_too():
    text = Text(0.0, 20.0, "40", 2.5, "middle")
    box = _line((0.0, 0.0), (0.0, 40.0), text, ARROWS).box
    assert (box.y0, box.y1) == pytest.approx((-AIR_MM, 40.0 + AIR_MM))
    assert box.x0 <= -AIR_MM + 1e-9
    assert box.x1 >= AIR_MM - 1e-9


def test_the_figure_keeps_half_of_it_all_round():
    text = Text(20.0, 30.0, "40", 2.5, "middle")
    taken = _line((0.0, 0.0), (40.0, 0.0), text, ARROWS).box
    assert taken.y1 == pytest.approx(text.box.y1 + AIR_MM / 2)
