"""Bars that tell whether a page was printed true: level and upright on every page, and one across each join.

A bar is measured from line centre to line centre. Ticks stand every 10 mm on one side and every inch on the other;
the ticks of 0 and 100 mm are the longest.
"""

from __future__ import annotations

import math

from blankwright.base.units import MM_PER_INCH
from blankwright.ink.marks import NARROW, Marks, Segment, Text

MAIN_MM = 100.0
"""Length of the bar that is measured: short enough for every sheet, and a wrong per cent is a whole millimetre."""
_END_MM, _TEN_MM, _INCH_MM = 4.0, 2.2, 2.2
_WORDS_MM = 2.0


def level_bar(marks: Marks, x_mm: float, y_mm: float, room_mm: float, words: str) -> None:
    """Draw a level bar from x to the right, as long as the room allows, with its words under it.

    Args:
        marks: The page's marks.
        x_mm: Place of its zero [mm].
        y_mm: Height of the bar [mm].
        room_mm: Room to the right [mm], at least MAIN_MM.
        words: What to do with it.
    """
    length = math.floor(room_mm / 10) * 10.0
    marks.add(Segment((x_mm, y_mm), (x_mm + length, y_mm), NARROW))
    for at, up, down in _ticks(length):
        marks.add(Segment((x_mm + at, y_mm - down), (x_mm + at, y_mm + up), NARROW))
    for at in _numbered(length):
        anchor = "end" if at == length else "start"
        shift = -0.8 if at == length else 0.8
        marks.add(Text(x_mm + at + shift, y_mm - _END_MM - 0.2, f"{at:.0f} mm", _WORDS_MM, anchor))
    marks.add(Text(x_mm + 14.0, y_mm - _END_MM - 0.2, words, _WORDS_MM, "start"))


def upright_bar(marks: Marks, x_mm: float, y_mm: float, room_mm: float) -> None:
    """Draw an upright bar from y upward, as long as the room allows.

    Args:
        marks: The page's marks.
        x_mm: Place of the bar [mm].
        y_mm: Height of its zero [mm].
        room_mm: Room above [mm], at least MAIN_MM.
    """
    length = math.floor(room_mm / 10) * 10.0
    marks.add(Segment((x_mm, y_mm), (x_mm, y_mm + length), NARROW))
    for at, right, left in _ticks(length):
        marks.add(Segment((x_mm - left, y_mm + at), (x_mm + right, y_mm + at), NARROW))
    for at in _numbered(length):
        low = y_mm + at - (2.8 if at == length else -0.8)
        marks.add(Text(x_mm - _TEN_MM - 0.6, low, f"{at:.0f}", _WORDS_MM, "end"))


def _ticks(length: float) -> list[tuple[float, float, float]]:
    """Return (place, reach on the inch side, reach on the mm side) of every tick [mm]."""
    ticks = [(10.0 * i, 0.0, _TEN_MM) for i in range(int(length / 10) + 1)]
    ticks += [(MM_PER_INCH * i, _INCH_MM, 0.0) for i in range(int(length / MM_PER_INCH) + 1)]
    ticks += [(at, _END_MM, _END_MM) for at in (0.0, MAIN_MM, *([length] if length >= MAIN_MM + 20 else []))]
    return ticks


def _numbered(length: float) -> list[float]:
    """Return the places that carry a number: the zero, the main length, and the end when it is clear of it."""
    return [0.0, MAIN_MM] + ([length] if length >= MAIN_MM + 40 else [])
