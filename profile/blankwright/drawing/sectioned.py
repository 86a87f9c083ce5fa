"""How sections stand on a drawing: marks where they are taken, and the sections themselves in rows below the part.

Cutting planes are marked at both ends by a short wide line, an arrow in the direction of view and a letter, sections
are hatched, neighbours in different directions (ISO 128, from memory of the standard).
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np

from blankwright.base.arrays import Array
from blankwright.drawing.border import LEAST_WIDTH_MM
from blankwright.drawing.callouts import Obstacles, note
from blankwright.drawing.sectionmarks import Area, Section, Width
from blankwright.geometry.chain import Chain
from blankwright.geometry.outline import Outline
from blankwright.ink import lettering
from blankwright.ink.marks import (
    ARROW_MM,
    HATCH,
    HIDDEN,
    NARROW,
    SECTION,
    TEXT_GAP_MM,
    Arrow,
    Box,
    ClosedLine,
    Curve,
    Mark,
    Marks,
    Segment,
    Text,
)

_MARK_OFF_MM, _MARK_MM, _ARROW_LINE_MM = 2.5, 5.0, 6.0
# A cutting plane's mark: how far off the part, how long, and how long its arrow is.
_TRIES = 40
_ABOVE_MM, _ROW_GAP_MM, _TITLE_MM, _FACT_MM = 13.0, 11.0, 6.0, 4.4
_BESIDE_MM, _LEAST_GAP_MM, _MOST_GAP_MM = 4.0, 10.0, 34.0
_DIMENSION_MM, _WIDTH_ROW_MM, _FIGURES_APART_MM = 8.0, 7.5, 0.5
_HATCHES = {"steel": (45.0, 2.0), "wood": (-45.0, 3.4)}
# Angle [degrees] and distance of the lines [mm].


def draw_places(marks: Marks, obstacles: Obstacles, sections: Sequence[Section]) -> None:
    """Mark on the part where the sections are taken, above and below it."""
    for section in sections:
        span = obstacles.span_at(section.at_mm) if section.at_mm is not None else None
        if section.at_mm is None or span is None:
            continue
        for side, edge in ((1.0, span[1]), (-1.0, span[0])):
            for n in range(_TRIES):
                found = _place_mark(section.letter, section.at_mm, edge + side * (_MARK_OFF_MM + n), side)
                if _free(found, marks, obstacles) or n == _TRIES - 1:
                    marks.add(*found)
                    break


def _place_mark(letter: str, x: float, y: float, side: float) -> tuple[Mark, ...]:
    """One end of a cutting plane: from y outward a wide line, at its outer end an arrow toward the tip."""
    out = y + side * _MARK_MM
    level = out - side * SECTION.width_mm / 2
    text = Text(x - 1.4, out - (lettering.NOTE_MM if side > 0 else 0.0), letter, lettering.NOTE_MM, "end", bold=True)
    line = Segment((x, level), (x + _ARROW_LINE_MM, level), NARROW)
    return Segment((x, y), (x, out), SECTION), line, Arrow((x + _ARROW_LINE_MM, level), (1.0, 0.0)), text


def _free(found: tuple[Mark, ...], marks: Marks, obstacles: Obstacles) -> bool:
    boxes = [mark.box.grown(0.6) for mark in found]
    solid = marks.solid
    if any(box.meets(other) for box in boxes for other in solid) or any(obstacles.holds_part(box) for box in boxes):
        return False
    others = [s for s in marks.segments if s.line is not SECTION]
    return all(s.share_inside(box) is None for s in others for box in boxes)


def draw_sections(marks: Marks, sections: Sequence[Section]) -> None:
    """Draw the sections below everything that is there, in rows as wide as the drawing."""
    if not sections:
        return
    whole = marks.box
    width = max(LEAST_WIDTH_MM, whole.x1 - whole.x0)
    _draw_rows(marks, sections, (whole.x0 + whole.x1 - width) / 2, whole.y0 - _ABOVE_MM, width)


def section_marks(sections: Sequence[Section], width_mm: float) -> Marks:
    """Return sections alone, in rows of a width [mm]; there must be one."""
    marks = Marks()
    _draw_rows(marks, sections, 0.0, 0.0, width_mm)
    return marks


def _draw_rows(marks: Marks, sections: Sequence[Section], left: float, top: float, width: float) -> None:
    for row in _rows(sections, width):
        sizes = [_size_of(column) for column in row]
        spare = width - sum(wide for wide, _ in sizes)
        gap = min(max(spare / max(len(row) - 1, 1), _LEAST_GAP_MM), _MOST_GAP_MM)
        x = left
        for column, (wide, _) in zip(row, sizes, strict=True):
            y = top
            for section in column:
                laid = _laid(section, x, y)
                marks.add(*laid.shapes, *laid.curves, *laid.segments, *laid.arrows, *laid.texts)
                y = laid.box.y0 - _ROW_GAP_MM
            x += wide + gap
        top -= max(high for _, high in sizes) + _ROW_GAP_MM


Column = tuple[Section, ...]


def _size_of(column: Column) -> tuple[float, float]:
    """Return width and height of sections one under the other."""
    boxes = [_room_of(section) for section in column]
    return max(box.x1 for box in boxes), -sum(box.y0 for box in boxes) + _ROW_GAP_MM * (len(boxes) - 1)


@lru_cache(maxsize=64)
def _room_of(section: Section) -> Box:
    """Return the box of a section with its words, laid at the origin."""
    return _laid(section, 0.0, 0.0).box


def _rows(sections: Sequence[Section], width: float) -> list[list[Column]]:
    """Put all in one row, the last two one under the other, when they fit; else fill rows one after the other."""
    columns: list[Column] = [(section,) for section in sections]
    stacked = [*columns[:-2], tuple(sections[-2:])]
    if len(sections) > 2 and sum(_size_of(c)[0] for c in stacked) + _LEAST_GAP_MM * (len(stacked) - 1) <= width:
        return [stacked]
    rows: list[list[Column]] = [[]]
    used = 0.0
    for column in columns:
        wide, _ = _size_of(column)
        if rows[-1] and used + _LEAST_GAP_MM + wide > width:
            rows.append([])
            used = 0.0
        used += wide + (_LEAST_GAP_MM if rows[-1] else 0.0)
        rows[-1].append(column)
    return rows


def _laid(section: Section, x: float, top: float) -> Marks:
    """Return a section with its words, its left end at x and its upper end at top."""
    marks = Marks()
    h = lettering.NOTE_MM
    marks.add(Text(x, top - lettering.RISE * h, note(section.title), h, "start", bold=True))
    box = _extent(section)
    dx, dy = x - box.x0 * section.scale, top - _TITLE_MM - box.y1 * section.scale
    for area in section.areas:
        outline = _placed(area.outline, section.scale, dx, dy)
        hole = _placed(area.hole, section.scale, dx, dy) if area.hole is not None else None
        if area.bordered:
            marks.add(ClosedLine(outline, SECTION))
        marks.add(*_hatching(outline, hole, area))
    for chains, line in ((section.wide, SECTION), (section.left_on, HIDDEN), (section.thin, NARROW)):
        marks.add(*(Curve(Chain(c.vertices * _size(section.scale) + (dx, dy, 0.0)), line) for c in chains))
    low = dy + box.y0 * section.scale
    marks.add(*_widths(section, dx, low))
    right = x + (box.x1 - box.x0) * section.scale + _BESIDE_MM
    for n, fact in enumerate(section.facts):
        marks.add(Text(right, top - _TITLE_MM - lettering.RISE * h - n * _FACT_MM, note(fact), h, "start"))
    return marks


def _size(scale: float) -> Array:
    return np.array([scale, scale, 1.0])


def _extent(section: Section) -> Box:
    """Return the box around a section, at true size and without its words."""
    boxes = [Box(*area.outline.bounds_mm) for area in section.areas]
    for chain in (*section.wide, *section.left_on, *section.thin):
        x, y = chain.flattened(0.001).T
        boxes.append(Box(float(x.min()), float(y.min()), float(x.max()), float(y.max())))
    whole = boxes[0]
    for box in boxes[1:]:
        whole = whole.joined(box)
    return whole


def _placed(outline: Outline, scale: float, dx: float, dy: float) -> Outline:
    return Outline(outline.vertices * _size(scale) + np.array([dx, dy, 0.0]), outline.regions)


def _hatching(outline: Outline, hole: Outline | None, area: Area) -> list[Segment]:
    """Return the lines that fill an outline but for its hole: every line from one crossing to the next."""
    angle, apart = _HATCHES[area.hatch]
    c, s = np.cos(np.radians(angle)), np.sin(np.radians(angle))
    rings = [ring.flattened(0.01) @ np.array([[c, -s], [s, c]]) for ring in (outline, hole) if ring is not None]
    a = np.concatenate(rings)
    b = np.concatenate([np.roll(ring, -1, axis=0) for ring in rings])
    lines = np.arange(float(a[:, 1].min()) + apart / 2, float(a[:, 1].max()), apart)
    line, i = ((a[:, 1] > lines[:, None]) != (b[:, 1] > lines[:, None])).nonzero()
    v = lines[line]
    u = a[i, 0] + (b[i, 0] - a[i, 0]) * (v - a[i, 1]) / (b[i, 1] - a[i, 1])
    row = np.lexsort((u, line))
    ends = list(zip((c * u - s * v)[row].tolist(), (s * u + c * v)[row].tolist(), strict=True))
    return [Segment(one, two, HATCH) for one, two in zip(ends[::2], ends[1::2], strict=True)]


def _widths(section: Section, dx: float, low: float) -> list[Mark]:
    """Return the dimensions under a section, each in the first row where its figure meets no other's."""
    found: list[Mark] = []
    taken: list[Box] = []
    reach: dict[float, float] = {}
    middle = sum(width.a_mm + width.b_mm for width in section.widths) / 2 / max(len(section.widths), 1)
    for width in section.widths:
        side = float(np.sign(round((width.a_mm + width.b_mm) / 2 - middle, 6)))
        for row in range(len(section.widths)):
            y = low - _DIMENSION_MM - row * _WIDTH_ROW_MM
            laid = _width(width, section.scale, dx, y, side)
            box = laid[-1].box.grown(_FIGURES_APART_MM)
            if not any(box.meets(other) for other in taken):
                break
        taken.append(box)
        found += laid
        for place in (width.a_mm, width.b_mm):
            reach[place] = min(y, reach.get(place, y))
    lines = [(dx + place * section.scale, y) for place, y in sorted(reach.items())]
    return [*(Segment((at, low - 1.0), (at, y - 1.5), NARROW) for at, y in lines), *found]


def _width(width: Width, scale: float, dx: float, y: float, side: float) -> list[Mark]:
    """Return a dimension under a section, its figure under the line, and outward, when it is wider than the span."""
    a, b = dx + width.a_mm * scale, dx + width.b_mm * scale
    inside = b - a >= 2 * ARROW_MM + 2
    tail = 0.0 if inside else ARROW_MM + 1.5
    arrows = (-1.0, 1.0) if inside else (1.0, -1.0)
    words = note(width.label)
    fits = lettering.width_mm(words, lettering.NOTE_MM) + 1.5 < b - a
    down = -TEXT_GAP_MM - lettering.NOTE_MM * 1.6
    text = Text((a + b) / 2, y + (TEXT_GAP_MM if fits else down), words, lettering.NOTE_MM, "middle")
    if not fits and side:  # clear of the inner extension line, which runs on to the next row
        at, anchor = (a + _FIGURES_APART_MM, "start") if side > 0 else (b - _FIGURES_APART_MM, "end")
        text = Text(at, text.y, words, lettering.NOTE_MM, anchor)
    return [Segment((a - tail, y), (b + tail, y), NARROW), Arrow((a, y), (arrows[0], 0.0)),
            Arrow((b, y), (arrows[1], 0.0)), text]  # fmt: skip
