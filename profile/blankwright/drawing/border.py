"""What stands around the drawing: title and facts over it, test bar, legend and cautions under it."""

from __future__ import annotations

from blankwright.base.frozen import dataclass
from blankwright.drawing.partdrawing import PartDrawing
from blankwright.ink import lettering
from blankwright.ink.marks import (
    CENTRE,
    CUT,
    FINISHED,
    GUIDE,
    NARROW,
    OTHER,
    Box,
    LineType,
    Marks,
    Segment,
    Text,
)

MARGIN_MM = 12.0
"""White between the sheet's edge and whatever is nearest to it [mm]."""
BAR_MM = 100.0
"""Length of the test bar, outside of one end tick to outside of the other [mm]."""
LEAST_WIDTH_MM = 186.0
"""Least width between the margins [mm]: bar and legend side by side, and a sheet that lies in landscape."""

_HEAD_GAP_MM = 11.0
_FOOT_GAP_MM = 10.0
_COLUMN_GAP_MM = 14.0
_SAMPLE_MM = 20.0
_NOTE_STEP_MM = 5.0
_FACT_STEP_MM = 5.0
_MOST_FACTS = 24
_MOST_TITLE, _MOST_FACT, _MOST_CAUTIONS, _MOST_LEGEND = 160, 160, 900, 60
# Characters; whatever a maker means to say fits, and nobody can push the drawing off the sheet.
_LEAST_CAUTIONS_MM = 90.0
# A column of cautions narrower than this goes under the bar and the legend instead.


@dataclass(frozen=True)
class _Frame:
    """The band between the margins: its left and right x, and the y where the next thing begins [mm]."""

    x0: float
    x1: float
    y: float

    @property
    def width(self) -> float:
        return self.x1 - self.x0


def surround(marks: Marks, shown: PartDrawing) -> Box:
    """Add title, facts, bar, legend and cautions around the drawing and return the sheet.

    Args:
        marks: The drawing; gets the new marks.
        shown: Its words.

    Returns:
        The sheet's rectangle, margins included, at least as wide as it is high [mm].
    """
    drawing = marks.box
    width = max(LEAST_WIDTH_MM, drawing.x1 - drawing.x0)
    while True:
        middle = (drawing.x0 + drawing.x1) / 2
        around = Marks()
        x0, x1 = middle - width / 2, middle + width / 2
        top = _head(around, shown, _Frame(x0, x1, drawing.y1 + _HEAD_GAP_MM))
        low = _foot(around, shown, _Frame(x0, x1, drawing.y0 - _FOOT_GAP_MM))
        if width >= top - low:
            break
        width = top - low + 10.0
    marks.add(*around.segments, *around.texts)
    return Box(x0, low, x1, top).grown(MARGIN_MM)


def _head(marks: Marks, shown: PartDrawing, frame: _Frame) -> float:
    """Put title and facts over the drawing; return the y of their top."""
    facts = _facts(shown, frame.width)
    y = frame.y
    rows = max((len(column) for _, column in facts), default=0)
    for x, column in facts:
        for n, words in enumerate(column):
            at = y + (rows - 1 - n) * _FACT_STEP_MM
            marks.add(Text(frame.x0 + x, at, words, lettering.NOTE_MM, "start"))
    y += rows * _FACT_STEP_MM + (1.8 if rows else 0.0)
    title = lettering.clean(shown.title, _MOST_TITLE) or "untitled"
    # bold letters are wider by about an eighth
    for words in reversed(lettering.wrapped(title, lettering.TITLE_MM * 1.12, frame.width, 2)):
        marks.add(Text(frame.x0, y, words, lettering.TITLE_MM, "start", bold=True))
        y += 8.5
    return y - 8.5 + lettering.TITLE_MM


def _facts(shown: PartDrawing, width: float) -> list[tuple[float, list[str]]]:
    """Return the facts in one column, or in two when there are more than three and they fit."""
    h = lettering.NOTE_MM
    lines = [words for line in shown.lines[:_MOST_FACTS] if (words := lettering.clean(line, _MOST_FACT))]
    if len(lines) > 3:
        half = (len(lines) + 1) // 2
        first, second = (max(lettering.width_mm(w, h) for w in part) for part in (lines[:half], lines[half:]))
        # in line with the legend when it can be, else close behind the first column
        for x in (max(first, BAR_MM) + _COLUMN_GAP_MM, first + _COLUMN_GAP_MM):
            if x + second <= width:
                return [(0.0, lines[:half]), (x, lines[half:])]
    column = [row for words in lines for row in lettering.wrapped(words, h, width, 2)]
    return [(0.0, column)] if column else []


def _foot(marks: Marks, shown: PartDrawing, frame: _Frame) -> float:
    """Put a rule, the bar, the legend and the cautions under the drawing; return the y of their low end."""
    h = lettering.NOTE_MM
    marks.add(Segment((frame.x0, frame.y), (frame.x1, frame.y), NARROW))
    top = frame.y - 5.5 - h
    low = _bar(marks, frame.x0, top)
    legend_x = frame.x0 + BAR_MM + _COLUMN_GAP_MM
    entries = _legend(shown)
    for n, (line, words) in enumerate(entries):
        y = top - n * _NOTE_STEP_MM
        marks.add(Segment((legend_x, y + h / 2), (legend_x + _SAMPLE_MM, y + h / 2), line))
        marks.add(Text(legend_x + _SAMPLE_MM + 3.0, y, words, h, "start"))
        low = min(low, y)
    used = max(lettering.width_mm(words, h) for _, words in entries)
    x = legend_x + _SAMPLE_MM + 3.0 + used + _COLUMN_GAP_MM
    y = top
    if frame.x1 - x < _LEAST_CAUTIONS_MM:
        x, y = frame.x0, low - _NOTE_STEP_MM - 2.5
    cautions = lettering.clean(shown.cautions, _MOST_CAUTIONS)
    for words in lettering.wrapped(cautions, h, frame.x1 - x, 9):
        marks.add(Text(x, y, words, h, "start"))
        low = min(low, y)
        y -= _NOTE_STEP_MM * 0.9
    return low - lettering.FALL * h


def _bar(marks: Marks, x: float, y: float) -> float:
    """Draw the test bar with a tick every 10 mm; return the y of its lowest text.

    The end ticks lie inside the length, so that it is true from outside to outside.
    """
    h, half = lettering.NOTE_MM, NARROW.width_mm / 2
    base = y - 2.0
    marks.add(Segment((x, base), (x + BAR_MM, base), NARROW))
    for n in range(11):
        at = x + n * 10.0 + (half if n == 0 else -half if n == 10 else 0.0)
        marks.add(Segment((at, base), (at, base + (4.5 if n in (0, 10) else 3.2 if n == 5 else 2.0)), NARROW))
    marks.add(Text(x, base - 2.0 - h, f"check: {BAR_MM:.0f} mm", h, "start"))
    marks.add(Text(x + BAR_MM, base - 2.0 - h, "true size, 1:1", h, "end"))
    return base - 2.0 - h


def _legend(shown: PartDrawing) -> list[tuple[LineType, str]]:
    entries = [(FINISHED, "finished outline")]
    if shown.cut is not None:
        entries.append((CUT, "cut outline"))
    if shown.guide is not None:
        entries.append((GUIDE, "guide: the nozzle runs inside it"))
    if shown.holes or shown.front_x_mm is not None:
        entries.append((CENTRE, "centre" if shown.front_x_mm is None else "centre, handle front"))
    if shown.board_line:
        entries.append((OTHER, "board line"))
    if shown.thin:
        entries.append((NARROW, lettering.clean(shown.thin_words, _MOST_LEGEND)))
    return entries
