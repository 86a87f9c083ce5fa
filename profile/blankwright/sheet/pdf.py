"""The build sheet as a PDF: the same stages as the page, footnotes under each stage, black on white.

It draws what it is given and computes nothing about the knife. The same sheet gives the same bytes.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from blankwright.base.said import Line, Standing, joined
from blankwright.ink.marks import Box, LineType, Mark, Marks, Ring, Segment, Text
from blankwright.ink.papers import Paper
from blankwright.ink.pdf import Layer, Page, pdf_bytes
from blankwright.sheet.lay import Block, Run, Sheets, beside, height_mm, moved, under, width_mm, wrapped
from blankwright.sheet.model import Row, Sheet, Stage, Table
from blankwright.sheet.picture import Picture

_SIDE_MM, _TOP_MM, _BOTTOM_MM = 12.0, 20.0, 12.0
_BODY, _LEAD, _HEADS = 11.0, 4.75, 9.0
_TITLE, _HEAD, _SMALL, _SMALL_LEAD = 20.0, 14.0, 8.5, 3.6
_LABEL_MM, _GAP_MM, _INDENT_MM = 62.0, 3.0, 6.5
_LABEL_SHARE, _BETWEEN_MM, _FIRST_MM, _COLUMN_MM = 0.44, 8.0, 22.0, 32.0
# Labels take this share of a narrow column; between two columns; least first, greatest other column of a table.
_RULE = LineType("rule", 0.35, ())
_HAIR = LineType("hair", 0.12, ())
_BOX_MM = 2.9

Notes = dict[Standing, int]
Listed = tuple[str, tuple[Line, ...], str]


def sheet_pdf(sheet: Sheet, pictures: Sequence[Picture], *, units: str, paper: Paper) -> bytes:
    """Return a build sheet as PDF.

    Args:
        sheet: The sheet.
        pictures: Pictures of its head.
        units: "mm" or "in".
        paper: What it is printed on.
    """
    sheets = Sheets(paper.width_mm, paper.height_mm, _SIDE_MM, _TOP_MM, _BOTTOM_MM)
    wide = paper.width_mm - 2 * _SIDE_MM
    sheets.turn()
    sheets.keep(
        [wrapped([Run(sheet.title, bold=True)], 0.0, wide, _TITLE, 9.0), _plain(sheet.subtitle, wide), _space(3.0)]
    )
    for picture in pictures:
        sheets.keep([_picture(picture, wide), _plain(picture.caption, wide, _SMALL, _SMALL_LEAD), _space(4.0)])
    for number, stage in enumerate(sheet.stages):
        sheets.keep(_stage(stage, number, units, wide, sheets.full_mm))
    last = wrapped([Run(sheet.closing, bold=True)], 0.0, wide, _BODY, _LEAD)
    sheets.keep([_rule(wide), last])
    pages = [_page(sheet, paper, marks, n, len(sheets.pages)) for n, marks in enumerate(sheets.pages, start=1)]
    return pdf_bytes(pages, title=f"{sheet.title}: build sheet", subject=f"design {sheet.code}", stretch=(1.0, 1.0))


def _page(sheet: Sheet, paper: Paper, marks: Marks, number: int, count: int) -> Page:
    """Return a page with its running head: name, design code, page."""
    y, right = paper.height_mm - 11.0, paper.width_mm - _SIDE_MM
    small = height_mm(9.0)
    code = f"design {sheet.code}, page {number} of {count}"
    room = right - _SIDE_MM - width_mm(code, 9.0) - 6.0
    name = f"Build sheet: {sheet.title}"
    while width_mm(name, 9.0) > room:
        name = name[:-2].rstrip() + "…"
    head = Marks()
    head.add(
        Text(_SIDE_MM, y, name, small, "start"),
        Text(right, y, code, small, "end"),
    )
    marks.add(Segment((_SIDE_MM, y - 2.0), (right, y - 2.0), _RULE))
    head.add(*marks.texts)
    lines = replace(marks, texts=[])  # apart, so that no line is broken for a text and none is looked for
    return Page(paper.width_mm, paper.height_mm, (Layer(lines, None), Layer(head, None)), f"page {number}")


def _space(height: float) -> Block:
    return Block(height)


def _rule(wide: float) -> Block:
    return Block(3.5, [Segment((0.0, -1.0), (wide, -1.0), _RULE)], between=True)


def _plain(words: str, wide: float, points: float = _BODY, lead: float = _LEAD) -> Block:
    return wrapped([Run(words)], 0.0, wide, points, lead)


def _picture(picture: Picture, wide: float) -> Block:
    box: Box = picture.marks.box
    marks = picture.marks
    dx = max(0.0, (wide - (box.x1 - box.x0)) / 2) - box.x0 if box.x1 - box.x0 > wide else -box.x0
    every: tuple[Mark, ...] = (
        *marks.shapes,
        *marks.rings,
        *marks.curves,
        *marks.interrupted(),
        *marks.arrows,
        *marks.texts,
    )
    return Block(box.y1 - box.y0 + 2.0, [moved(m, dx, -box.y1 - 1.0) for m in every])


def _stage(stage: Stage, number: int, units: str, wide: float, full: float) -> list[Block]:
    """Return a stage: figures and words side by side where both fit a half, else one under the other."""
    notes: Notes = {s: n for n, s in enumerate(stage.standings(), start=1)}
    title = f"{number}  {stage.title}" if number else stage.title
    head = [_rule(wide), wrapped([Run(title, bold=True)], 0.0, wide, _HEAD, 6.2), _space(1.0)]
    ways = [_one_column(stage, notes, units, wide), *_two_columns(stage, notes, units, wide)]
    best = min(ways, key=lambda blocks: sum(b.height_mm for b in blocks))
    if sum(b.height_mm for b in best) > full:
        best = ways[0]  # the only one that can go on over a page's end
    return [*head, *best, *_below(notes, wide)]


def _one_column(stage: Stage, notes: Notes, units: str, wide: float) -> list[Block]:
    figures, words = _figures(stage, notes, units, wide), _lists(_all_lists(stage), notes, units, wide)
    return [*figures, *([_space(1.8)] if figures and words else []), *words]


def _two_columns(stage: Stage, notes: Notes, units: str, wide: float) -> list[list[Block]]:
    """Return the ways to fill two columns: figures beside words, or figures over steps beside checks and cautions."""
    half = (wide - _BETWEEN_MM) / 2
    right = half + _BETWEEN_MM
    listed, found = _all_lists(stage), []
    figured = bool(stage.rows or stage.tables)
    if listed and figured and all(_needs_mm(table, units) <= half for table in stage.tables):
        figures = under(_figures(stage, notes, units, half))
        found.append([beside(figures, under(_lists(listed, notes, units, half), right))])
    if len(listed) > 1:
        top = _figures(stage, notes, units, wide)
        first, rest = (_lists(part, notes, units, half) for part in (listed[:1], listed[1:]))
        found.append([*top, *([_space(1.8)] if top else []), beside(under(first), under(rest, right))])
    return found


def _below(notes: Notes, wide: float) -> list[Block]:
    return [*([_space(1.4), _footnotes(notes, wide)] if notes else []), _space(3.0)]


def _figures(stage: Stage, notes: Notes, units: str, wide: float) -> list[Block]:
    blocks = [_row(row, notes, units, wide) for row in stage.rows]
    for table in stage.tables:
        blocks += [*([_space(1.6)] if blocks else []), *_table(table, notes, units, wide)]
    return blocks


def _all_lists(stage: Stage) -> list[Listed]:
    every = [
        ("Do", stage.steps, "number"),
        ("Check before going on", stage.checks, "box"),
        ("Mind", stage.cautions, "dash"),
    ]
    return [each for each in every if each[1]]


def _lists(listed: Sequence[Listed], notes: Notes, units: str, wide: float) -> list[Block]:
    blocks: list[Block] = []
    for title, lines, kind in listed:
        heading = wrapped([Run(title, bold=True)], 0.0, wide, _BODY, _LEAD)
        blocks += [*([_space(1.8)] if blocks else []), heading]
        blocks += [_line(line, n, kind, notes, units, wide) for n, line in enumerate(lines, start=1)]
    return blocks


def _row(row: Row, notes: Notes, units: str, wide: float) -> Block:
    at = min(_LABEL_MM, _LABEL_SHARE * wide)
    label = wrapped([Run(row.label)], 0.0, at - _GAP_MM, _BODY, _LEAD)
    runs = [Run(joined(row.values, units, row.sign), bold=True), Run(f" {notes[row.standing]}", raised=True)]
    if row.note:
        runs.append(Run(row.note))
    value = wrapped(runs, at, wide - at, _BODY, _LEAD)
    return _lined(beside(label, value), wide)


def _lined(block: Block, wide: float) -> Block:
    block.height_mm += 0.9
    y = -block.height_mm + 0.35
    block.marks.append(Segment((0.0, y), (wide, y), _HAIR))
    return block


def _columns(table: Table, units: str) -> list[float]:
    """Return the width that each column of values needs [mm]."""
    widths = []
    for i, head in enumerate(table.head_words(units)):
        cells = [width_mm(joined((row.values[i],), units, ""), _BODY, bold=True) for row in table.rows]
        widths.append(max([*cells, *(width_mm(word, _HEADS) for word in head.split()), 11.0]) + _GAP_MM)
    return widths


def _needs_mm(table: Table, units: str) -> float:
    longest = max((width_mm(word, _BODY) for row in table.rows for word in row.label.split()), default=0.0)
    return sum(_columns(table, units)) + max(_FIRST_MM, longest + _GAP_MM)


def _table(table: Table, notes: Notes, units: str, wide: float) -> list[Block]:
    columns = _columns(table, units)
    most = max(columns)
    room = wide * (1 - _LABEL_SHARE) / len(columns)
    if most <= room:
        columns = [max(most, min(room, _COLUMN_MM))] * len(columns)
    first = wide - sum(columns)
    rights = [first + sum(columns[: i + 1]) for i in range(len(columns))]
    title = [Run(table.title, bold=True)]
    if table.standing is not None:
        title.append(Run(f" {notes[table.standing]}", raised=True))
    heads = [wrapped(title, 0.0, first - _GAP_MM, _BODY, _LEAD)]
    words = zip(table.head_words(units), rights, columns, strict=True)
    heads += [_right(h, r, c - _GAP_MM, _HEADS) for h, r, c in words]
    found = [_lined(beside(*heads), wide)]
    for row in table.rows:
        runs = [Run(row.label), Run(f" {notes[row.standing]}", raised=True)]
        cells = [wrapped(runs, 0.0, first - _GAP_MM, _BODY, _LEAD)]
        for value, right, column in zip(row.values, rights, columns, strict=True):
            cells.append(_right(joined((value,), units, ""), right, column - _GAP_MM + 0.1, _BODY, bold=True))
        found.append(_lined(beside(*cells), wide))
    return found


def _right(words: str, right: float, width: float, points: float, *, bold: bool = False) -> Block:
    """Return words that end at a right edge, broken into lines."""
    lines: list[str] = []
    for word in words.split():
        if lines and width_mm(f"{lines[-1]} {word}", points, bold=bold) <= width:
            lines[-1] += f" {word}"
        else:
            lines.append(word)
    marks = [
        Text(right, -(n + 1) * _LEAD + 0.25 * _LEAD, line, height_mm(points), "end", bold=bold)
        for n, line in enumerate(lines)
    ]
    return Block(len(lines) * _LEAD, list(marks))


def _line(line: Line, number: int, kind: str, notes: Notes, units: str, wide: float) -> Block:
    runs = [Run(line.text(units))]
    if line.standing is not None:
        runs.append(Run(f" {notes[line.standing]}", raised=True))
    block = wrapped(runs, _INDENT_MM, wide - _INDENT_MM, _BODY, _LEAD)
    y = -0.75 * _LEAD
    if kind == "number":
        block.marks.append(Text(_INDENT_MM - 2.0, y, f"{number}.", height_mm(_BODY), "end"))
    elif kind == "box":
        block.marks += _box(1.0, y - 0.3)
    else:
        block.marks.append(Ring(2.4, y + height_mm(_BODY) / 2, 1.2, _RULE))
    block.height_mm += 0.5
    return block


def _box(x: float, y: float) -> list[Segment]:
    corners = [(x, y), (x + _BOX_MM, y), (x + _BOX_MM, y + _BOX_MM), (x, y + _BOX_MM)]
    return [Segment(a, b, _RULE) for a, b in zip(corners, [*corners[1:], corners[0]], strict=True)]


def _footnotes(notes: Notes, wide: float) -> Block:
    runs: list[Run] = []
    for standing, n in notes.items():
        runs += [Run(f"{n}\u00a0{standing.status}:", bold=True), Run(f"{standing.source.rstrip('.')}.")]
    return wrapped(runs, 0.0, wide, _SMALL, _SMALL_LEAD)
