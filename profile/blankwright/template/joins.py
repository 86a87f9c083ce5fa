"""Joins between sheets: crosses that are laid on each other, a trim line on one sheet, a bar across."""

from __future__ import annotations

from blankwright.ink.bars import MAIN_MM
from blankwright.ink.marks import CUT, NARROW, Marks, Segment, Text
from blankwright.template.tiling import Tile

CROSS_MM = 5.0
"""Half a cross: long enough to be laid on another to a tenth."""
_END_MM = 2.5
_BAR_IN_MM = 4.5
_CROSS_LOW_MM, _CROSS_HIGH_MM = 16.0, 12.0
_WORDS_MM = 2.0


def draw_joins(drawn: Marks, around: Marks, tile: Tile) -> None:
    """Draw the joins of a tile.

    Args:
        drawn: Marks inside the tile's window; gets crosses, bars and trim lines.
        around: Marks of the page; gets the words.
        tile: The tile.
    """
    left, right = tile.joins_x_mm
    low, high = tile.joins_y_mm
    for at in (left, right):
        if at is not None:
            _upright_join(drawn, tile, at)
    for at in (low, high):
        if at is not None:
            _level_join(drawn, tile, at)
    _words(drawn, around, tile)


def _cross(marks: Marks, x: float, y: float) -> None:
    marks.add(
        Segment((x - CROSS_MM, y), (x + CROSS_MM, y), NARROW), Segment((x, y - CROSS_MM), (x, y + CROSS_MM), NARROW)
    )


def _upright_join(marks: Marks, tile: Tile, x: float) -> None:
    w = tile.window
    _cross(marks, x, w.y0 + _CROSS_LOW_MM)
    _cross(marks, x, w.y1 - _CROSS_HIGH_MM)
    bar = w.y0 + _BAR_IN_MM
    marks.add(Segment((x - MAIN_MM / 2, bar), (x + MAIN_MM / 2, bar), NARROW))
    for at in (x - MAIN_MM / 2, x + MAIN_MM / 2):
        marks.add(Segment((at, bar - _END_MM), (at, bar + _END_MM), NARROW))


def _level_join(marks: Marks, tile: Tile, y: float) -> None:
    w = tile.window
    _cross(marks, w.x0 + _CROSS_LOW_MM, y)
    _cross(marks, w.x1 - _CROSS_HIGH_MM, y)
    bar = w.x0 + _BAR_IN_MM
    marks.add(Segment((bar, y - MAIN_MM / 2), (bar, y + MAIN_MM / 2), NARROW))
    for at in (y - MAIN_MM / 2, y + MAIN_MM / 2):
        marks.add(Segment((bar - _END_MM, at), (bar + _END_MM, at), NARROW))


def _words(drawn: Marks, around: Marks, tile: Tile) -> None:
    """Draw the trim line and say what to do: on one sheet of each join only."""
    w = tile.window
    left, right = tile.joins_x_mm
    high = tile.joins_y_mm[1]
    if left is not None:
        drawn.add(Segment((left, w.y0), (left, w.y1), CUT))
        say = "cut the paper here; lay the crosses over those on the sheet to the left"
        around.add(Text(left + 8.0, w.y1 - 4.0, say, _WORDS_MM, "start"))
        around.add(Text(left + 8.0, w.y0 + _BAR_IN_MM + 1.0, "100 mm across the join", _WORDS_MM, "start"))
    if right is not None:
        # a sheet between two others has both sentences: one under the other, however narrow it is
        down = 4.0 if left is None else 4.0 + 1.8 * _WORDS_MM
        around.add(Text(right - 8.0, w.y1 - down, "the next sheet is laid over this edge", _WORDS_MM, "end"))
    if high is not None:
        drawn.add(Segment((w.x0, high), (w.x1, high), CUT))
        say = "cut the paper here; lay the crosses over those on the sheet above"
        around.add(Text(w.x0 + 24.0, high - 4.0, say, _WORDS_MM, "start"))
