"""The build sheet as a PDF: the same stages as the page, footnotes under each stage, black on white.

It draws what it is given and computes nothing about the knife. The same sheet gives the same bytes.
"""

from __future__ import annotations

import io
from collections.abc import Callable, Sequence
from functools import lru_cache, partial
from html import escape
from typing import Any

from reportlab.lib.colors import black
from reportlab.lib.enums import TA_RIGHT
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.pdfbase.pdfmetrics import stringWidth
from reportlab.platypus import (
    Flowable,
    HRFlowable,
    KeepTogether,
    Paragraph,
    SimpleDocTemplate,
    Spacer,
    TableStyle,
)
from reportlab.platypus import Table as Grid

from blankwright.base.said import Line, Standing, joined
from blankwright.ink import lettering
from blankwright.ink.papers import Paper
from blankwright.ink.pdf import cleaned, describe, draw_marks, new_canvas, printable
from blankwright.sheet.model import Row, Sheet, Stage, Table
from blankwright.sheet.picture import Picture

_SIDE, _TOP, _BOTTOM = 12 * mm, 18 * mm, 12 * mm
_LABEL, _LABEL_SHARE = 62 * mm, 0.44
# Labels are as wide as this, or take this share of a narrow column.
_BETWEEN, _GAP, _INDENT, _BOX, _AIR = 8 * mm, 3 * mm, 6.5 * mm, 2.9 * mm, 1.8 * mm
_MARGINS = dict.fromkeys(("leftMargin", "rightMargin"), _SIDE - 6)
# Six points less than is meant, here and at top and bottom: a frame has that padding of its own.
_FIRST, _LEAST, _COLUMN = 22 * mm, 11 * mm, 32 * mm
# Of a table: the least first column, the least and the greatest other column.
_MOST_WORDS = 4000

_BODY = ParagraphStyle("body", fontName="Helvetica", fontSize=11, leading=13.4)
_VALUE = ParagraphStyle("value", _BODY, fontName="Helvetica-Bold", alignment=TA_RIGHT)
_HEAD = ParagraphStyle("head", _BODY, fontSize=9, leading=11, alignment=TA_RIGHT)
_SMALL = ParagraphStyle("small", _BODY, fontSize=8.5, leading=10.2, spaceAfter=2 * _AIR)
_STAGE = ParagraphStyle("stage", _BODY, fontName="Helvetica-Bold", fontSize=14, leading=17, spaceBefore=2 * _AIR)
_TITLE = ParagraphStyle("title", _STAGE, fontSize=20, leading=25, spaceBefore=0)
_PLAIN = TableStyle([(f"{side}PADDING", (0, 0), (-1, -1), 0) for side in ("LEFT", "RIGHT", "TOP", "BOTTOM")])
_PLAIN.add("VALIGN", (0, 0), (-1, -1), "TOP")
_SPACED = TableStyle([("BOTTOMPADDING", (0, 0), (-1, -1), 1.4)], _PLAIN)
_LINED = TableStyle([("BOTTOMPADDING", (0, 0), (-1, -1), 2.4), ("LINEBELOW", (0, 0), (-1, -1), 0.35, black)], _PLAIN)
_FRAMED = TableStyle([("BOX", (0, 0), (-1, -1), 0.9, black)])

Notes = dict[Standing, int]


def sheet_pdf(sheet: Sheet, pictures: Sequence[Picture], *, units: str, paper: Paper) -> bytes:
    """Return a build sheet as PDF.

    Args:
        sheet: The sheet.
        pictures: Pictures of its head.
        units: "mm" or "in".
        paper: What it is printed on.
    """
    size = (round(paper.width_mm * mm, 5), round(paper.height_mm * mm, 5))
    stream = io.BytesIO()
    canvas = new_canvas(stream, size)
    _number_at_the_end(canvas, partial(_head, canvas, sheet, size))
    pages = SimpleDocTemplate(stream, pagesize=size, topMargin=_TOP - 6, bottomMargin=_BOTTOM - 6, **_MARGINS)
    pages.build(_story(sheet, pictures, units, size), canvasmaker=lambda *_, **__: canvas)
    return cleaned(stream)


def _number_at_the_end(canvas: Any, head: Callable[[int, int], None]) -> None:
    """Keep every page until all are laid out; then draw the heads, which say how many there are, and write them."""
    show, save, kept = canvas.showPage, canvas.save, []

    def keep() -> None:
        kept.append(dict(canvas.__dict__))
        canvas._startPage()

    def write() -> None:
        for number, page in enumerate(kept, start=1):
            canvas.__dict__.update(page)
            drawn = len(canvas._code)
            canvas.saveState()
            head(number, len(kept))
            canvas.restoreState()
            canvas._code[:] = canvas._code[drawn:] + canvas._code[:drawn]  # a reader comes to the head first
            show()
        save()

    canvas.showPage, canvas.save = keep, write


def _head(canvas: Any, sheet: Sheet, size: tuple[float, float], number: int, count: int) -> None:
    """Draw a page's running head: name, design code, page."""
    describe(canvas, f"{sheet.title}: build sheet", f"design {sheet.code}")
    canvas.bookmarkPage(f"page-{number}")
    canvas.addOutlineEntry(f"page {number}", f"page-{number}")
    canvas.setFont("Helvetica", 9)
    y, right = size[1] - 11 * mm, size[0] - _SIDE
    code = f"design {sheet.code}, page {number} of {count}"
    name = printable(lettering.clean(f"Build sheet: {sheet.title}", _MOST_WORDS))
    while stringWidth(name, "Helvetica", 9) > right - _SIDE - stringWidth(code, "Helvetica", 9) - 6 * mm:
        name = name[:-2].rstrip() + "…"
    canvas.drawString(_SIDE, y, name)
    canvas.drawRightString(right, y, code)
    canvas.setLineWidth(1)
    canvas.line(_SIDE, y - 2 * mm, right, y - 2 * mm)


def _story(sheet: Sheet, pictures: Sequence[Picture], units: str, size: tuple[float, float]) -> list[Any]:
    wide, high = size[0] - 2 * _SIDE, size[1] - _TOP - _BOTTOM
    story = [_said(_safe(sheet.title), _TITLE), _said(_safe(sheet.subtitle)), Spacer(0, _AIR)]
    for picture in pictures:
        story += [KeepTogether([_Drawn(picture, wide), _said(_safe(picture.caption), _SMALL)])]
    story += [KeepTogether(_stage(stage, number, units, wide, high)) for number, stage in enumerate(sheet.stages)]
    return [*story, KeepTogether([_rule(), _said(f"<b>{_safe(sheet.closing)}</b>")])]


class _Drawn(Flowable):  # type: ignore[misc]
    """A picture between paragraphs; one that is wider than the page's text is centred on it."""

    def __init__(self, picture: Picture, wide: float) -> None:
        super().__init__()
        self.marks, box = picture.marks, picture.marks.box
        self.width, self.height = wide, (box.y1 - box.y0) * mm + _AIR
        self.corner = (min(0.0, wide - (box.x1 - box.x0) * mm) / 2 - box.x0 * mm, -box.y0 * mm)

    def draw(self) -> None:
        self.canv.translate(*self.corner)
        draw_marks(self.canv, self.marks)


def _safe(words: str) -> str:
    """Return words as a paragraph takes them."""
    return escape(printable(lettering.clean(words, _MOST_WORDS)), quote=False)


class _Words(Paragraph):  # type: ignore[misc]
    """A paragraph that keeps its lines: a table asks for them again and again at the same width."""

    _wrapped: tuple[float, tuple[float, float]] = (0.0, (0.0, 0.0))

    def wrap(self, wide: float, high: float) -> tuple[float, float]:
        if self._wrapped[0] != wide:
            self._wrapped = (wide, super().wrap(wide, high))
        return self._wrapped[1]


@lru_cache(maxsize=4096)
def _parsed(words: str, style: ParagraphStyle) -> list[Any]:
    """Return the pieces of a text with their letterings; many words stand on every sheet."""
    frags: list[Any] = Paragraph(words, style).frags
    return frags


def _said(words: str, style: ParagraphStyle = _BODY) -> Any:
    return _Words("", style, frags=_parsed(words, style))


def _raised(notes: Notes, standing: Standing | None) -> str:
    return "" if standing is None else f'<super rise="4.2" size="7.2">{notes[standing]}</super>'


def _rule() -> Any:
    return HRFlowable("100%", 1, color=black, spaceBefore=1, spaceAfter=3)


def _grid(cells: Sequence[Sequence[Any]], widths: Sequence[float], style: TableStyle = _PLAIN) -> Any:
    return Grid(cells, colWidths=widths, style=style)


def _stage(stage: Stage, number: int, units: str, wide: float, high: float) -> list[Any]:
    """Return a stage: figures and words side by side where both fit a half, else one under the other."""
    notes = {standing: n for n, standing in enumerate(stage.standings(), start=1)}
    title = f"{number}&nbsp; {_safe(stage.title)}" if number else _safe(stage.title)
    below = [f"<b>{n}&nbsp;{s.status}:</b> {_safe(s.source.rstrip('.'))}." for s, n in notes.items()]
    ends = [[_said(title, _STAGE), _rule()], [Spacer(0, 2), _said(" ".join(below), _SMALL)]]
    ways = [[*ends[0], *way, *ends[1]] for way in _ways(stage, notes, units, wide)]
    heights = [_grid([[way]], [wide]).wrap(wide, high)[1] for way in ways]
    best = min(heights)
    return ways[heights.index(best) if best <= high else 0]  # only the first can go on over a page's end


def _ways(stage: Stage, notes: Notes, units: str, wide: float) -> list[list[Any]]:
    """Return the ways to lay a stage out, the plainest first.

    All under each other; figures beside words; figures over steps beside checks and cautions.
    """
    half = (wide - _BETWEEN) / 2
    whole, narrow = _figures(stage, notes, units, wide), _figures(stage, notes, units, half)
    lists, slim = _lists(stage, notes, units, wide), _lists(stage, notes, units, half)
    ways = [[*whole, *(flow for each in lists for flow in each)]]
    columns = (half + _BETWEEN, half)
    if lists and whole and all(_needs(table, units) <= half for table in stage.tables):
        ways.append([_grid([[narrow, [flow for each in slim for flow in each]]], columns)])
    if len(lists) > 1:
        ways.append([*whole, _grid([[slim[0], [flow for each in slim[1:] for flow in each]]], columns)])
    return ways


def _figures(stage: Stage, notes: Notes, units: str, wide: float) -> list[Any]:
    label = min(_LABEL, _LABEL_SHARE * wide)
    rows = [[_said(_safe(row.label)), "", _value(row, notes, units)] for row in stage.rows]
    grids = [_grid(rows, (label - _GAP, _GAP, wide - label), _LINED)] if rows else []
    grids += [_table(table, notes, units, wide) for table in stage.tables]
    return [part for grid in grids for part in (grid, Spacer(0, _AIR))]


def _value(row: Row, notes: Notes, units: str) -> Any:
    note = f" {_safe(row.note)}" if row.note else ""
    return _said(f"<b>{_safe(joined(row.values, units, row.sign))}</b>{_raised(notes, row.standing)}{note}")


def _columns(table: Table, units: str) -> list[float]:
    """Return the width that each column of values needs [points]."""
    widths = []
    for i, head in enumerate(table.head_words(units)):
        cells = [stringWidth(_shown(row, i, units), _VALUE.fontName, _VALUE.fontSize) for row in table.rows]
        words = [stringWidth(word, _HEAD.fontName, _HEAD.fontSize) for word in printable(head).split()]
        widths.append(max([*cells, *words, _LEAST]) + _GAP)
    return widths


def _shown(row: Row, column: int, units: str) -> str:
    return printable(joined((row.values[column],), units, ""))


def _needs(table: Table, units: str) -> float:
    """Return the width that a table needs at least [points]."""
    words = [word for row in table.rows for word in printable(row.label).split()]
    longest: float = max((stringWidth(word, _BODY.fontName, _BODY.fontSize) for word in words), default=0.0)
    return sum(_columns(table, units), max(_FIRST, longest + _GAP))


def _table(table: Table, notes: Notes, units: str, wide: float) -> Any:
    columns = _columns(table, units)
    most, room = max(columns), wide * (1 - _LABEL_SHARE) / len(columns)
    if most <= room:
        columns = [max(most, min(room, _COLUMN))] * len(columns)
    title = f"<b>{_safe(table.title)}</b>{_raised(notes, table.standing)}"
    cells = [[_said(title), *(_said(_safe(head), _HEAD) for head in table.head_words(units))]]
    for row in table.rows:
        values = [_said(escape(_shown(row, i, units), quote=False), _VALUE) for i in range(len(columns))]
        cells.append([_said(_safe(row.label) + _raised(notes, row.standing)), *values])
    return _grid(cells, (wide - sum(columns), *columns), _LINED)


def _lists(stage: Stage, notes: Notes, units: str, wide: float) -> list[list[Any]]:
    """Return what to do, to check and to mind, each with its heading; what is empty is left out."""
    box = [Spacer(0, 2), Grid([[""]], _BOX, _BOX, _FRAMED, hAlign="LEFT")]
    numbers = [f"{n}." for n in range(1, len(stage.steps) + 1)]
    lists: list[tuple[str, tuple[Line, ...], list[Any]]] = [
        ("Do", stage.steps, numbers),
        ("Check before going on", stage.checks, [box] * len(stage.checks)),
        ("Mind", stage.cautions, ["•"] * len(stage.cautions)),
    ]
    found = []
    for title, lines, signs in lists:
        words = [_said(_safe(x.text(units)) + _raised(notes, x.standing)) for x in lines]
        rows = [[_said(s) if isinstance(s, str) else s, w] for s, w in zip(signs, words, strict=True)]
        if rows:
            found.append([_said(f"<b>{title}</b>"), _grid(rows, (_INDENT, wide - _INDENT), _SPACED), Spacer(0, _AIR)])
    return found
