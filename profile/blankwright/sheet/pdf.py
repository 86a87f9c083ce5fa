"""The build sheet as a PDF in two columns: the stages in the order of the work, where everything comes from at the end.

It draws what it is given and computes nothing about the knife. The same sheet gives the same bytes.
"""

from __future__ import annotations

import io
import re
from collections.abc import Callable, Iterable, Sequence
from functools import lru_cache, partial
from html import escape
from typing import Any

from reportlab.lib.colors import Color, black
from reportlab.lib.enums import TA_RIGHT
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.pdfbase.pdfmetrics import stringWidth
from reportlab.platypus import (
    BaseDocTemplate,
    CondPageBreak,
    Flowable,
    Frame,
    FrameBreak,
    HRFlowable,
    KeepTogether,
    NextPageTemplate,
    PageBreak,
    PageTemplate,
    Paragraph,
    Spacer,
    TableStyle,
)
from reportlab.platypus import Table as Grid

from blankwright.base.said import STATUSES, Line, Standing, joined
from blankwright.ink import lettering
from blankwright.ink.papers import Paper
from blankwright.ink.pdf import cleaned, describe, draw_marks, new_canvas, printable
from blankwright.sheet.model import OWN_WORDS, Row, Sheet, Stage, Table
from blankwright.sheet.picture import Picture

_SIDE, _TOP, _BOTTOM, _BETWEEN = 12 * mm, 19 * mm, 10 * mm, 9 * mm
_LABEL, _GAP, _INDENT, _BOX, _AIR = 0.46, 2.5 * mm, 5.5 * mm, 2.7 * mm, 1.6 * mm
# Labels take that share of a column.
_FIRST, _LEAST = 20 * mm, 9 * mm
# Of a table: the least first column and the least other one.
_LEFT_BELOW, _TABLE_BELOW, _MOST_SPARE = 25 * mm, 36 * mm, 9 * mm
_LEAST_LAST = 30 * mm
# Less than that on the last page looks like a mistake.
_MOST_WORDS = 4000
_SMALL_PT = 9
"""Nothing on the sheet is smaller [points]."""

_BODY = ParagraphStyle("body", fontName="Helvetica", fontSize=9.5, leading=11)
_FIGURE = ParagraphStyle("figure", _BODY, fontName="Helvetica-Bold")
_VALUE = ParagraphStyle("value", _FIGURE, alignment=TA_RIGHT)
_HEAD = ParagraphStyle("head", _BODY, fontSize=_SMALL_PT, leading=10.6, alignment=TA_RIGHT)
_SMALL = ParagraphStyle("small", _BODY, fontSize=_SMALL_PT, leading=10.4)
_LIST = ParagraphStyle("list", _FIGURE, spaceBefore=_AIR)
_STAGE = ParagraphStyle("stage", _BODY, fontName="Helvetica-Bold", fontSize=12.5, leading=14)
_TITLE = ParagraphStyle("title", _STAGE, fontSize=20, leading=25)
_HAIRLINE = Color(0.72, 0.72, 0.72)
_PLAIN = TableStyle([(f"{side}PADDING", (0, 0), (-1, -1), 0) for side in ("LEFT", "RIGHT", "TOP", "BOTTOM")])
_PLAIN.add("VALIGN", (0, 0), (-1, -1), "TOP")
_ITEMS = TableStyle([("BOTTOMPADDING", (0, 0), (-1, -1), 1.2), ("NOSPLIT", (0, 0), (-1, 1))], _PLAIN)
_LINED = TableStyle(
    [("BOTTOMPADDING", (0, 0), (-1, -1), 2.2), ("TOPPADDING", (0, 0), (-1, -1), 0.6),
     ("RIGHTPADDING", (0, 0), (0, -1), _GAP),
     ("LINEBELOW", (0, 0), (-1, -1), 0.4, _HAIRLINE), ("NOSPLIT", (0, 0), (-1, 1))],
    _PLAIN,
)  # fmt: skip
_FRAMED = TableStyle([("BOX", (0, 0), (-1, -1), 0.8, black)])

Notes = dict[Standing, int]


def sheet_pdf(sheet: Sheet, pictures: Sequence[Picture], *, units: str, paper: Paper) -> bytes:
    """Return a build sheet as PDF.

    Args:
        sheet: The sheet.
        pictures: Pictures of its head.
        units: "mm" or "in".
        paper: What it is printed on.
    """
    printed, few = _printed(sheet, pictures, units, paper, apart=False)
    return _printed(sheet, pictures, units, paper, apart=True)[0] if few else printed


def _printed(sheet: Sheet, pictures: Sequence[Picture], units: str, paper: Paper, *, apart: bool) -> tuple[bytes, bool]:
    """Return a build sheet as PDF, and whether its last page holds hardly a sentence.

    Args:
        sheet: The sheet.
        pictures: Pictures of its head.
        units: "mm" or "in".
        paper: What it is printed on.
        apart: Whether the sources begin on a page of their own, so that the last page holds all of them.
    """
    size = (round(paper.width_mm * mm, 5), round(paper.height_mm * mm, 5))
    stream = io.BytesIO()
    canvas = new_canvas(stream, size)
    _number_at_the_end(canvas, partial(_head, canvas, sheet, size))
    wide, high = size[0] - 2 * _SIDE, size[1] - _TOP - _BOTTOM
    column = (wide - _BETWEEN) / 2
    top = _opening(sheet, pictures, wide)
    deep = sum(part.wrap(wide, high)[1] + part.getSpaceAfter() for part in top) + 1
    whole = deep > high - _LEFT_BELOW  # the pictures have the page, or pages, for themselves
    deep = high if whole else deep
    over = _frame(_SIDE, size[1] - _TOP - deep, wide, deep)
    pages = BaseDocTemplate(stream, pagesize=size)
    pages.addPageTemplates([
        PageTemplate("first", [over, *([] if whole else _columns(column, high - deep))]),
        PageTemplate("later", _columns(column, high)),
    ])  # fmt: skip
    after = [NextPageTemplate("later"), PageBreak() if whole else FrameBreak()]
    pages.build([*top, *after, *_story(sheet, units, column, apart=apart)], canvasmaker=lambda *_, **__: canvas)
    last = pages.frame
    few = last is pages.pageTemplate.frames[0] and last._y2 - last._y < _LEAST_LAST  # in its first column
    return cleaned(stream), few and pages.page > 1


def _frame(x: float, y: float, wide: float, high: float) -> Any:
    return Frame(x, y, wide, high, leftPadding=0, rightPadding=0, topPadding=0, bottomPadding=0)


def _columns(wide: float, high: float) -> list[Any]:
    return [_frame(x, _BOTTOM, wide, high) for x in (_SIDE, _SIDE + wide + _BETWEEN)]


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
    canvas.setFont("Helvetica", _SMALL_PT)
    y, right = size[1] - 12 * mm, size[0] - _SIDE
    code = f"design {sheet.code}, page {number} of {count}"
    name = printable(lettering.clean(f"Build sheet: {sheet.title}", _MOST_WORDS))
    while stringWidth(name, "Helvetica", _SMALL_PT) > right - _SIDE - stringWidth(code, "Helvetica", 9) - 6 * mm:
        name = name[:-2].rstrip() + "…"
    canvas.drawString(_SIDE, y, name)
    canvas.drawRightString(right, y, code)
    canvas.setLineWidth(0.9)
    canvas.line(_SIDE, y - 2 * mm, right, y - 2 * mm)


def _opening(sheet: Sheet, pictures: Sequence[Picture], wide: float) -> list[Any]:
    """Return name and pictures, which stand over both columns."""
    found = [_said(_safe(sheet.title), _TITLE), _said(_safe(sheet.subtitle)), Spacer(0, _AIR)]
    for picture in pictures:
        found += [_Drawn(picture, wide), _said(_safe(picture.caption), _SMALL), Spacer(0, 2 * _AIR)]
    return found


def _story(sheet: Sheet, units: str, wide: float, *, apart: bool) -> list[Any]:
    notes = sheet.marks
    found = [part for n, stage in enumerate(sheet.stages) for part in _stage(stage, n, notes, units, wide)]
    closing = KeepTogether([_rule(), _said(f"<b>{_safe(sheet.closing)}</b>")])
    return [*found, closing, *([PageBreak()] if apart else []), *_end(sheet, notes, units, wide)]


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


_PIECE = re.compile(r"(?:<((\w+)[^>]*)>)?([^<]*)(?:</\w+>)?")
"""A piece of a text, in a tag of its own or in none: no tag of ours stands in another."""


@lru_cache(maxsize=64)
def _lettering(tag: str, name: str, style: ParagraphStyle) -> Any:
    """Return what the library makes of a piece in a tag; all pieces in that tag differ by their words alone."""
    return Paragraph(f"<{tag}>x</{name}>" if tag else "x", style).frags[0]


@lru_cache(maxsize=4096)
def _parsed(words: str, style: ParagraphStyle) -> list[Any]:
    """Return the pieces of a text with their letterings; many words stand on every sheet."""
    if "&" in words or "  " in words:  # a sign that is written by its name, or blanks to be joined: few have one
        frags: list[Any] = Paragraph(words, style).frags
        return frags
    pieces = _PIECE.findall(words.strip(" "))
    return [_lettering(tag, name, style).clone(text=text) for tag, name, text in pieces if text]


class _Text(Paragraph):  # type: ignore[misc]
    """A paragraph that is broken into lines once for a width: a table asks for it to measure and again to draw."""

    _size: tuple[float, float] = (0.0, 0.0)

    def wrap(self, wide: float, high: float) -> tuple[float, float]:
        if self._size[0] != wide or not hasattr(self, "blPara"):  # its lines, which a split may take away
            self._size = super().wrap(wide, high)
        return self._size


def _said(words: str, style: ParagraphStyle = _BODY) -> Any:
    return _Text("", style, frags=_parsed(words, style))


def _mark(notes: Notes, standing: Standing | None, above: Standing | None = None) -> str:
    """Return the mark of a standing: none where the head has it, or where the figure is the design's own."""
    if standing is None or standing == above or standing not in notes:
        return ""
    return f' <font size="{_SMALL_PT}" color="#666666">[{notes[standing]}]</font>'


def _rule(width: float = 0.9) -> Any:
    return HRFlowable("100%", width, color=black, spaceBefore=2.0 * _AIR, spaceAfter=2.5)


def _grid(cells: Sequence[Sequence[Any]], widths: Sequence[float], style: TableStyle, heads: int = 0) -> Any:
    """Return a table with air above, which a column that begins with it leaves out; its heads go over with its rows."""
    return Grid(cells, colWidths=widths, style=style, spaceBefore=_AIR, repeatRows=heads)


def _stage(stage: Stage, number: int, notes: Notes, units: str, wide: float) -> list[Any]:
    """Return a stage: figures, what to know, to have ready, to do, to check and to mind, one under the other."""
    title = f"{number}&nbsp; {_safe(stage.title)}" if number else _safe(stage.title)
    parts = [*_figures(stage, notes, units, wide), *_lists(stage, notes, units, wide)]
    below = _TABLE_BELOW if stage.tables and not stage.rows else _LEFT_BELOW
    return [*_opened(title, wide, below), *parts]


def _opened(title: str, wide: float, below: float = _LEFT_BELOW) -> list[Any]:
    """Return a heading under its rule; it goes to the next column where little would stand below it.

    A table's head and first row hold together: a stage that begins with one asks for more.
    """
    heading = _said(title, _STAGE)
    more = heading.wrap(wide, below)[1] - _STAGE.leading  # of a long title, which takes a second line
    return [CondPageBreak(below + more), _rule(), heading]


def _figures(stage: Stage, notes: Notes, units: str, wide: float) -> list[Any]:
    label = _LABEL * wide
    rows = [[_said(_safe(row.label) + _mark(notes, row.standing)), _value(row, units)] for row in stage.rows]
    grids = [_grid(rows, (label, wide - label), _LINED)] if rows else []
    return grids + [_table(table, notes, units, wide) for table in stage.tables]


def _value(row: Row, units: str) -> Any:
    note = f" {_safe(row.note)}" if row.note else ""
    return _said(f"<b>{_safe(joined(row.values, units, row.sign))}</b>{note}")


def _columns_of(table: Table, units: str, wide: float) -> tuple[list[float], ParagraphStyle]:
    """Return the widths of the columns of values [points], and how their figures are written."""
    words = [[stringWidth(word, _HEAD.fontName, _SMALL_PT) for word in printable(head).split()]
             for head in table.head_words(units)]  # fmt: skip
    for style in (_VALUE, _TIGHT):
        cells = [[stringWidth(_shown(row, i, units), style.fontName, style.fontSize) for row in table.rows]
                 for i in range(len(table.heads))]  # fmt: skip
        widths = [max([*c, *w, _LEAST - _GAP]) + _GAP for c, w in zip(cells, words, strict=True)]
        if sum(widths) + _FIRST <= wide:
            break
    return widths, style


_TIGHT = ParagraphStyle("tight", _VALUE, fontSize=_SMALL_PT)


def _shown(row: Row, column: int, units: str) -> str:
    return printable(joined((row.values[column],), units, ""))


def _parted(label: str, wide: float) -> str:
    """Return a label whose words go over at their hyphens where they are wider than a column."""
    fits = [stringWidth(printable(word), _BODY.fontName, _BODY.fontSize) <= wide for word in label.split(" ")]
    return " ".join(w if fit else w.replace("-", "- ") for w, fit in zip(label.split(" "), fits, strict=True))


def _table(table: Table, notes: Notes, units: str, wide: float) -> Any:
    widths, style = _columns_of(table, units, wide)
    labels = [stringWidth(printable(row.label), _BODY.fontName, _BODY.fontSize) for row in table.rows]
    wanted = min(max(labels) + 8 * _GAP / 2, _LABEL * wide)
    first = max(min(wide - sum(widths), wanted), _FIRST)
    spare = min((wide - first - sum(widths)) / len(widths), _MOST_SPARE)  # below nought: a table that asks for too much
    first = wide - sum(widths) - spare * len(widths)
    title = f"<b>{_safe(table.title)}</b>{_mark(notes, table.standing)}"
    cells = [[_said(title), *(_said(_safe(head), _HEAD) for head in table.head_words(units))]]
    for row in table.rows:
        values = [_said(escape(_shown(row, i, units), quote=False), style) for i in range(len(widths))]
        label = _parted(row.label, first)
        cells.append([_said(_safe(label) + _mark(notes, row.standing, table.standing)), *values])
    return _grid(cells, (first, *(w + spare for w in widths)), _LINED, heads=1)


def _lists(stage: Stage, notes: Notes, units: str, wide: float) -> list[Any]:
    """Return the sentences of a stage, each kind under its heading; what is empty is left out."""
    numbers = [f"{n}." for n in range(1, len(stage.steps) + 1)]
    lists: list[tuple[str, tuple[Line, ...], list[str]]] = [
        ("Know", stage.facts, ["–"] * len(stage.facts)),
        ("Have ready", stage.ready, [""] * len(stage.ready)),
        ("Do", stage.steps, numbers),
        ("Check before going on", stage.checks, [""] * len(stage.checks)),
        ("Mind", stage.cautions, ["!"] * len(stage.cautions)),
    ]
    return [_items(title, lines, signs, notes, units, wide) for title, lines, signs in lists if lines]


def _items(
    title: str, lines: Sequence[Line], signs: Sequence[str], notes: Notes, units: str, wide: float
) -> Any:  # fmt: skip
    box = [Spacer(0, 2.2), Grid([[""]], _BOX, _BOX, _FRAMED, hAlign="LEFT")]
    rows: list[list[Any]] = [[_said(_safe(title), _LIST), ""]]
    for line, sign in zip(lines, signs, strict=True):
        bold = f"<b>{sign}</b>" if sign == "!" else sign
        words = _said(_safe(line.text(units)) + _mark(notes, line.standing))
        rows.append([_said(bold) if sign else box, words])
    style = TableStyle([("SPAN", (0, 0), (-1, 0))], _ITEMS)
    return _grid(rows, (_INDENT, wide - _INDENT), style)


def _end(sheet: Sheet, notes: Notes, units: str, wide: float) -> Iterable[Any]:
    """Return where sources disagree, and where every marked figure comes from."""
    if sheet.weighed:
        yield from _opened("Where sources disagree", wide)
        for title, line in sheet.weighed:
            words = f"<b>{_safe(title)}:</b> {_safe(line.text(units))}{_mark(notes, line.standing)}"
            yield from (_said(words, _SMALL), Spacer(0, 2))
    yield from _opened("Where the figures come from", wide)
    yield from (_said(_safe(OWN_WORDS), _SMALL), Spacer(0, _AIR))
    for status in STATUSES:
        alike = [f"<b>[{n}]</b> {_safe(s.source.rstrip('.'))}." for s, n in notes.items() if s.status == status]
        if alike:
            yield _said(f"<b>{status[0].upper()}{status[1:]}:</b> {' '.join(alike)}", _SMALL)
            yield Spacer(0, _AIR)
