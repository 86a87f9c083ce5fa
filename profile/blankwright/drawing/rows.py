"""Where the linear dimensions of a drawing stand: rows under and over the part, columns beside it.

The dimension line, its arrowheads and its figure follow the usual practice of ISO 129: the figure over the
line, upright text everywhere, so that on a vertical line it stands in a gap of the line; arrowheads and
figure outside when the span is too short for them.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from blankwright.base.frozen import dataclass
from blankwright.drawing.callouts import along, note
from blankwright.drawing.partdrawing import DimensionLine
from blankwright.ink import lettering
from blankwright.ink.marks import (
    ARROW_MM,
    NARROW,
    TEXT_GAP_MM,
    Arrow,
    Box,
    Mark,
    Marks,
    Point,
    Segment,
    Text,
)

ROW_MM = 7.0
"""From one row to the next [mm]."""
FIRST_ROW_MM = 10.0
"""From the part, or what stands beside it, to the first row [mm]."""
_START_MM = 1.0
# An extension line starts this far from the point it belongs to.
_PAST_MM = 1.5
# An extension line runs this far past its dimension line; more would reach for the figure of the next row.
_TAIL_MM = 6.0
# Length of the dimension line outside the span when the arrowheads point inward from outside.
_AIR_MM = 1.5
# Least white between a figure and the next thing.
_NEAR_MM = 6.0
# A line this near beside a dimension on the part is in the way of its figure.
_NO_ROOM = 60
# Rows tried before the last is taken as it is; far more than a drawing has.


@dataclass(frozen=True)
class _Line:
    """One dimension line laid out: what to draw, and the box of line, arrows and figure."""

    marks: tuple[Mark, ...]
    box: Box


def draw_rows(marks: Marks, measures: tuple[DimensionLine, ...]) -> None:
    """Draw the dimensions along x, first those nearest to the part."""
    for sign in (1, -1):
        side = [m for m in measures if m.axis == "x" and m.row * sign > 0]
        side.sort(key=lambda m: (abs(m.row), abs(m.end[0] - m.start[0]), m.start, m.label))
        edge = marks.box.y0 if sign > 0 else marks.box.y1
        taken: list[Box] = []
        least = {row: n for n, row in enumerate(sorted({abs(m.row) for m in side}))}
        for i, m in enumerate(side):
            later = [x for other in side[i:] for x in (other.start[0], other.end[0])]
            for n in range(least[abs(m.row)], least[abs(m.row)] + _NO_ROOM):
                y = edge - sign * (FIRST_ROW_MM - (0 if sign > 0 else 3.0) + n * ROW_MM)
                line = next((w for w in _row_lines(m, y, later) if not _meets_any(w.box, taken)), None)
                if line is not None:
                    taken.append(line.box)
                    marks.add(*line.marks, *_extensions(marks, m, y, -sign))
                    break


def _row_lines(m: DimensionLine, y: float, later: list[float]) -> Iterator[_Line]:
    """The ways a dimension may stand on a row, the best first."""
    x0, x1 = sorted((m.start[0], m.end[0]))
    words, h = note(m.label), lettering.NOTE_MM
    width, span = lettering.width_mm(words, h), x1 - x0
    inside = span >= 2 * ARROW_MM + 2
    arrows = _arrows((x0, y), (x1, y), inside=inside)
    tail = 0.0 if inside else _TAIL_MM
    if width + (2 * ARROW_MM + 2 if inside else _AIR_MM) <= span:
        slack = (span - width) / 2 - (ARROW_MM + 1 if inside else 0.0)
        shifts = [k * 2.0 * s for k in range(int(slack / 2) + 1) for s in (1, -1)]
        centre = min(shifts, key=lambda d: (_crossings((x0 + x1) / 2 + d, width, later), abs(d)))
        text = Text((x0 + x1) / 2 + centre, y + TEXT_GAP_MM, words, h, "middle")
        yield _line((x0 - tail, y), (x1 + tail, y), text, arrows)
        return
    lead = max(tail, _PAST_MM) + 1.0
    for side, x in ((1, x1 + lead), (-1, x0 - lead)):
        text = Text(x, y + TEXT_GAP_MM, words, h, "start" if side > 0 else "end")
        a = min(x0 - tail, text.box.x0) if side < 0 else x0 - tail
        b = max(x1 + tail, text.box.x1) if side > 0 else x1 + tail
        yield _line((a, y), (b, y), text, arrows)


def _crossings(x: float, width: float, later: list[float]) -> int:
    return sum(abs(other - x) < width / 2 + _AIR_MM for other in later)


def draw_columns(marks: Marks, measures: tuple[DimensionLine, ...], part: Box) -> None:
    """Draw the dimensions along y: those on the part where they are, then outward from the nearest."""
    for m in measures:
        if m.axis == "y" and m.row == 0:
            near = [along(curve.chain, 1.0) for curve in marks.curves]
            near += [shape.outline.sampled(1.0)[0] for shape in marks.shapes]  # the notch runs up beside it
            levels = [y for points in near for y in points[np.abs(points[:, 0] - m.start[0]) < _NEAR_MM, 1].tolist()]
            marks.add(*_column_line(m, m.start[0], levels, on_part=True).marks)
    for sign in (1, -1):
        side = [m for m in measures if m.axis == "y" and m.row * sign > 0]
        side.sort(key=lambda m: (abs(m.row), abs(m.end[1] - m.start[1]), m.start, m.label))
        edge = part.x1 if sign > 0 else part.x0
        taken = marks.solid
        taken += [s.box for s in marks.segments if s.line is NARROW]
        least_out = FIRST_ROW_MM
        row = 0
        for i, m in enumerate(side):
            later = [y for other in side[i:] for y in (other.start[1], other.end[1])]
            out = least_out = least_out + (ROW_MM if row not in (0, m.row) else 0.0)
            row = m.row
            line = _column_line(m, edge + sign * out, later)
            while _meets_any(line.box, taken) and out < least_out + _NO_ROOM * ROW_MM:
                out += ROW_MM / 2
                line = _column_line(m, edge + sign * out, later)
            least_out = max(least_out, out)
            taken.append(line.box)
            marks.add(*line.marks, *_extensions(marks, m, edge + sign * out, sign))


def _column_line(m: DimensionLine, x: float, later: list[float], *, on_part: bool = False) -> _Line:
    """A vertical dimension line with its figure in the gap; when short, over its upper end, or on a part beside it."""
    y0, y1 = sorted((m.start[1], m.end[1]))
    words, h = note(m.label), lettering.NOTE_MM
    inside = y1 - y0 >= 2 * ARROW_MM + 2
    arrows = _arrows((x, y0), (x, y1), inside=inside)
    tail = 0.0 if inside else _TAIL_MM
    slack = (y1 - y0 - h - 2) / 2 - (ARROW_MM + 1)
    if slack >= 0:
        shifts = [k * 1.0 * s for k in range(int(slack) + 1) for s in (1, -1)]
        shift = min(shifts, key=lambda d: (_crossings((y0 + y1) / 2 + d, h + 1, later), abs(d)))
        text = Text(x, (y0 + y1) / 2 + shift - h / 2, words, h, "middle")
    elif on_part and y1 - y0 >= h + 2 * _PAST_MM:  # over its end stands the name of the handle's front
        text = Text(x + _AIR_MM, (y0 + y1 - h) / 2, words, h, "start")
    else:
        text = Text(x, y1 + max(tail, _PAST_MM) + 1.0, words, h, "middle")
    return _line((x, y0 - tail), (x, y1 + tail), text, arrows)


def _line(a: Point, b: Point, text: Text, arrows: tuple[Arrow, Arrow]) -> _Line:
    """Gather a dimension line; its ends may touch the next in a chain, its figure keeps white all round."""
    line = Segment(a, b, NARROW)
    width = Box(min(a[0], b[0]), min(a[1], b[1]), max(a[0], b[0]), max(a[1], b[1]))
    thick = Box(width.x0, a[1] - _AIR_MM, width.x1, a[1] + _AIR_MM) if a[1] == b[1] else width.grown(_AIR_MM)
    return _Line((line, *arrows, text), thick.joined(text.box.grown(_AIR_MM / 2)))


def _arrows(a: Point, b: Point, *, inside: bool) -> tuple[Arrow, Arrow]:
    """The two arrowheads of a dimension line from a to b, a being left of or under b."""
    along = (1.0, 0.0) if b[0] > a[0] else (0.0, 1.0)
    back = (-along[0], -along[1])
    return (Arrow(a, back), Arrow(b, along)) if inside else (Arrow(a, along), Arrow(b, back))


def _extensions(marks: Marks, m: DimensionLine, level_mm: float, sign: int) -> list[Segment]:
    """The two extension lines of a dimension, left out where a line runs already.

    That is a centre line, the board line or the extension line of an earlier dimension: drawn twice it would
    look wider than it is.
    """
    along, across = (1, 0) if m.axis == "x" else (0, 1)
    lines: list[Segment] = []
    for point in (m.start, m.end):
        here = point[across]
        covered = sorted(
            tuple(sorted((s.a[along] * sign, s.b[along] * sign)))
            for s in (*marks.segments, *lines)
            if abs(s.a[across] - here) < 0.01 and abs(s.b[across] - here) < 0.01
        )
        at, end = point[along] * sign + _START_MM, level_mm * sign + _PAST_MM
        for low, high in [*covered, (end, end)]:
            if min(low, end) > at:
                a, b = at * sign, min(low, end) * sign
                lines.append(
                    Segment((here, a), (here, b), NARROW) if m.axis == "x" else Segment((a, here), (b, here), NARROW)
                )
            at = max(at, high)
    return lines


def _meets_any(box: Box, others: list[Box]) -> bool:
    return any(box.meets(other) for other in others)
