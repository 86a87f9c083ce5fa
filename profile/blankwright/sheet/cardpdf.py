"""The bench card as one page, to be read at arm's length: outline with its sizes, sections, then stage by stage.

It draws what it is given and computes nothing about the knife. The same card gives the same bytes. Where a knife asks
for more than a page holds, lettering shrinks by half points down to LEAST_PT, then cautions go, the lightest first.
"""

from __future__ import annotations

import io
import re
from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import lru_cache
from typing import Any

import numpy as np
from reportlab.pdfbase.pdfmetrics import stringWidth

from blankwright.base.errors import RequestError
from blankwright.base.frozen import dataclass
from blankwright.ink import lettering
from blankwright.ink.marks import Marks
from blankwright.ink.papers import Paper
from blankwright.ink.pdf import POINTS_PER_MM as MM
from blankwright.ink.pdf import cleaned, describe, draw_marks, new_canvas, printable
from blankwright.sheet.brief import MOST, sentence
from blankwright.sheet.card import Card, CardStage, Grid, Told
from blankwright.sheet.picture import Slice

SIDE, TOP, FOOT = 12 * MM, 12 * MM, 11 * MM
BETWEEN = 8 * MM
LARGER = (1.25, 1.1, 1.0, 0.92)
"""By how much the part's picture is larger than the sheet's, lettering and lines with it."""
MOST_PT, LEAST_PT, STEP_PT = 13.0, 11.0, 0.5
"""The body's lettering, as large as fits [points]."""
SMALL_PT = 9.0
"""Heads of columns and the foot: nothing on the card is smaller [points]."""
_REGULAR, _BOLD, _SLANTED = "Helvetica", "Helvetica-Bold", "Helvetica-Oblique"
_HAIR, _RULE, _BAR = 0.4, 0.9, 1.4
_INDENT, _GAP, _LEAST_GAP = 6.4 * MM, 2.4 * MM, 1.1 * MM
_UNDER, _UNDER_RULE, _MOST_AIR = 2.4 * MM, 2.6 * MM, 2.6 * MM
_MOST_WORDS, _MOST_TITLE = 200, 3


def card_pdf(card: Card, part: Callable[[float], Marks], slices: Sequence[Slice], paper: Paper) -> bytes:
    """Return a bench card as PDF.

    Args:
        card: What stands on it.
        part: Gives the part with its sizes [mm on paper], by how much larger it is to be drawn.
        slices: The blade's sections.
        paper: What it is printed on.

    Raises:
        RequestError: It does not fit one page however small; no knife of ours does that.
    """
    size = (round(paper.width_mm * MM, 5), round(paper.height_mm * MM, 5))
    stream = io.BytesIO()
    canvas = new_canvas(stream, size)
    describe(canvas, f"{card.title}: bench card", f"design {card.code}")
    page = _Page(canvas, size)
    page.head(card)
    page.always = (
        _safe(f"Always: {sentence(card.always)[:1].lower()}{sentence(card.always)[1:]}") if card.always else ""
    )
    larger, laid = _fit(card, part, slices, page)
    page.picture(part(larger), larger)
    page.slices(slices)
    page.stages(laid)
    page.foot(card)
    canvas.showPage()
    canvas.save()
    return cleaned(stream)


def _fit(card: Card, part: Callable[[float], Marks], slices: Sequence[Slice], page: _Page) -> tuple[float, _Laid]:
    """Return how large the part is drawn and the stages laid out, both as large as one page holds."""
    wide = (page.right - page.left - BETWEEN) / 2
    steps = [MOST_PT - n * STEP_PT for n in range(int((MOST_PT - LEAST_PT) / STEP_PT) + 1)]
    ways = [(pt, MOST, _GAP) for pt in steps] + [(LEAST_PT, most, _LEAST_GAP) for most in range(MOST, 0, -1)]
    for pt, most, gap in (*ways, (10.0, 1, _LEAST_GAP), (SMALL_PT, 1, _LEAST_GAP)):
        laid = _laid(card.stages, pt, most, wide, gap)
        if pt > LEAST_PT and laid.cramped:
            continue
        for larger in LARGER:
            if laid.high <= page.room(part(larger), larger, slices):
                return larger, laid
    raise RequestError("the bench card of this design does not fit one page.")


@lru_cache(maxsize=1024)
def _safe(words: str) -> str:
    return printable(lettering.clean(words, _MOST_WORDS))


@lru_cache(maxsize=4096)
def _wide_at_1(words: str, font: str) -> float:
    found: float = stringWidth(words, font, 1)
    return found


def _wide(words: str, font: str, pt: float) -> float:
    """Return how wide words are at a size: a page is tried at many, and measures its words once."""
    return _wide_at_1(words, font) * pt


def _fitted(words: str, font: str, pt: float, wide: float) -> str:
    """Return words cut to a width, with an ellipsis for what is cut."""
    if _wide(words, font, pt) <= wide:
        return words
    while words and _wide(words + "…", font, pt) > wide:
        words = words[:-1].rstrip()
    return words + "…"


_IN_BRACKETS = re.compile(r"\([^()]*\)")
_KEPT = "\N{NO-BREAK SPACE}"


def _lines(words: str, font: str, pt: float, wide: float) -> list[str]:
    """Return words in lines of a width; what stands in brackets, as "(1600 to 1650 °F)", stays in one line."""
    lines: list[str] = []
    kept = _IN_BRACKETS.sub(lambda m: m[0].replace(" ", _KEPT) if _wide(m[0], font, pt) <= wide else m[0], words)
    for word in (part.replace(_KEPT, " ") for part in kept.split(" ") if part):
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and _wide(longer, font, pt) <= wide:
            lines[-1] = longer
        else:
            lines.append(_fitted(word, font, pt, wide))
    return lines


class _Page:
    """The page from the top down."""

    def __init__(self, canvas: Any, size: tuple[float, float]) -> None:
        self.canvas = canvas
        self.left, self.right = SIDE, size[0] - SIDE
        self.y, self.low = size[1] - TOP, FOOT + SMALL_PT + 2.8 * MM
        self.always = ""

    def say(self, x: float, y: float, words: str, font: str, pt: float, anchor: str = "start") -> None:
        """Write words."""
        self.canvas.setFont(font, pt)
        {"start": self.canvas.drawString, "end": self.canvas.drawRightString}[anchor](x, y, words)

    def rule(self, y: float, thick_pt: float) -> None:
        """Draw a level line."""
        self.canvas.setLineWidth(thick_pt)
        self.canvas.line(self.left, y, self.right, y)

    def head(self, card: Card) -> None:
        """Write name, what it is, and the design code."""
        code = f"{card.sizes}, design {card.code}"
        self.y -= 20 * 0.76
        room = self.right - self.left - _wide(code, _BOLD, 11) - 8 * MM
        self.say(self.left, self.y, _fitted(_safe(card.title), _BOLD, 20, room), _BOLD, 20)
        self.say(self.right, self.y, code, _BOLD, 11, "end")
        self.y -= 16
        words, room = _safe(card.subtitle), self.right - self.left
        pt = max(min(11.0, 11.0 * room / _wide(words, _REGULAR, 11)), SMALL_PT)
        self.say(self.left, self.y, _fitted(words, _REGULAR, pt, room), _REGULAR, pt)
        self.y -= 2.4 * MM
        self.rule(self.y, _RULE)
        self.y -= 2 * MM

    def room(self, part: Marks, larger: float, slices: Sequence[Slice]) -> float:
        """Return the height that part and sections leave for the stages."""
        box = part.box
        picture = (box.y1 - box.y0) * larger * MM + _UNDER
        return self.y - picture - _slices_high(slices) - _UNDER_RULE - self.low - self._always_high

    @property
    def _always_high(self) -> float:
        return LEAST_PT + 2.8 * MM if self.always else 0.0

    def picture(self, part: Marks, larger: float) -> None:
        """Draw the part with its sizes, in the middle."""
        box, k = part.box, larger
        wide, high = (box.x1 - box.x0) * k * MM, (box.y1 - box.y0) * k * MM
        self.canvas.saveState()
        self.canvas.translate((self.left + self.right - wide) / 2 - box.x0 * k * MM, self.y - high - box.y0 * k * MM)
        self.canvas.scale(k, k)
        draw_marks(self.canvas, part)
        self.canvas.restoreState()
        self.y -= high + _UNDER

    def slices(self, slices: Sequence[Slice]) -> None:
        """Draw the blade's sections lying side by side, each under its words."""
        if not slices:
            return
        column, deep = (self.right - self.left) / len(slices), _deep(slices)
        for n, one in enumerate(slices):
            x = self.left + n * column
            self.say(x, self.y - 11, _fitted(_safe(one.words), _REGULAR, 11, column - 3 * MM), _REGULAR, 11)
            self._slice(one, x, self.y - 11 - 2.2 * MM - deep / 2)
        self.y -= _slices_high(slices)

    def _slice(self, one: Slice, x: float, y: float) -> None:
        points = one.points_mm * MM
        points = points - (points[:, 0].min(), (points[:, 1].min() + points[:, 1].max()) / 2) + (x, y)
        path = self.canvas.beginPath()
        path.moveTo(*points[0])
        for point in points[1:]:
            path.lineTo(*point)
        path.close()
        self.canvas.setLineWidth(_RULE)
        self.canvas.setFillGray(0.82)
        self.canvas.drawPath(path, stroke=1, fill=1)
        self.canvas.setFillGray(0)

    def stages(self, laid: _Laid) -> None:
        """Write the stages in two columns."""
        self.rule(self.y, _RULE)
        if self.always:
            words = _fitted(self.always, _SLANTED, LEAST_PT, self.right - self.left)
            self.say(self.left, self.y - LEAST_PT - 1.0 * MM, words, _SLANTED, LEAST_PT)
            self.y -= self._always_high
            self.rule(self.y, _HAIR)
        self.y -= _UNDER_RULE
        wide, spare = (self.right - self.left - BETWEEN) / 2, self.y - self.low - laid.high
        for column, x in ((laid.left, self.left), (laid.right, self.left + wide + BETWEEN)):
            y, air = self.y, laid.gap + min(spare / max(len(column) - 1, 1), _MOST_AIR)
            for block in column:
                block.draw(self, x, y)
                y -= block.high + air

    def foot(self, card: Card) -> None:
        """Write the last words."""
        self.rule(FOOT + SMALL_PT + 0.6 * MM, _HAIR)
        self.say(self.left, FOOT - 0.4 * MM, _fitted(_safe(card.closing), _REGULAR, SMALL_PT, self.right - self.left),
                 _REGULAR, SMALL_PT)  # fmt: skip


def _deep(slices: Sequence[Slice]) -> float:
    return max(float(np.ptp(s.points_mm[:, 1])) for s in slices) * MM


def _slices_high(slices: Sequence[Slice]) -> float:
    return 11 + 2.2 * MM + _deep(slices) + 2.6 * MM if slices else 0.0


@dataclass(frozen=True)
class _Laid:
    """Stages laid out in two columns."""

    left: list[_Block]
    right: list[_Block]
    gap: float

    @property
    def cramped(self) -> bool:
        """Whether words are cut, a figure breaks or a title takes more than three lines: the lettering is too large."""
        return any(block.cramped for block in (*self.left, *self.right))

    @property
    def high(self) -> float:
        """Height of the taller column."""
        return max(_tall(self.left, self.gap), _tall(self.right, self.gap))


def _laid(stages: Sequence[CardStage], pt: float, most: int, wide: float, gap: float) -> _Laid:
    """Lay stages out so that the taller column is as low as can be."""
    blocks = [_Block(replace(s, cautions=s.cautions[:most]), pt, wide) for s in stages]
    ways = [_Laid(blocks[:n], blocks[n:], gap) for n in range(1, len(blocks) + 1)]
    return min(ways, key=lambda laid: laid.high)


def _tall(blocks: Sequence[_Block], gap: float) -> float:
    return sum(block.high for block in blocks) + gap * max(len(blocks) - 1, 0)


class _Block:
    """One stage laid out in a column's width."""

    def __init__(self, stage: CardStage, pt: float, wide: float) -> None:
        self.stage, self.pt, self.wide = stage, pt, wide
        self.row = pt * 1.22
        self.high = 0.0
        self.cramped = False
        self._page: _Page | None = None
        self._x = self._top = 0.0
        self._lay()

    def draw(self, page: _Page, x: float, top: float) -> None:
        """Draw the stage with its upper left corner at a place."""
        self._page, self._x, self._top, self.high = page, x, top, 0.0
        self._lay()

    def _lay(self) -> None:
        stage, title = self.stage, self.pt + 0.5
        number, beside = str(stage.number), _safe(stage.beside)
        inset = _INDENT + _wide("00 ", _BOLD, title)
        room = self.wide - inset - (_wide(beside, _BOLD, title) + 3 * MM if beside else 0.0)
        self._box(title)
        name = _lines(_safe(stage.title), _BOLD, title, room)
        self.cramped = len(name) > _MOST_TITLE
        for n, line in enumerate(name):
            self._down(title if n == 0 else title * 1.2)
            self._say(inset, line, _BOLD, title)
            if n == 0:
                self._say(_INDENT, number, _BOLD, title)
                self._say(self.wide, beside, _BOLD, title, "end")
        self._down(title * 0.22)
        told = list(stage.told)
        while told:
            pair = told[:2] if len(told) > 1 and self._pairs(told[0], told[1]) else told[:1]
            self._row(pair)
            del told[: len(pair)]
        for grid in stage.grids:
            self._grid(grid)
        self._cautions()

    def _pairs(self, one: Told, two: Told) -> bool:
        """Whether two figures with their labels stand side by side in halves of the column."""
        half = (self.wide - _INDENT) / 2 - 5 * MM
        labels = [_wide(_safe(t.label), _REGULAR, self.pt) for t in (one, two)]
        figures = [_wide(_safe(t.figure), _BOLD, self.pt + 0.5) for t in (one, two)]
        return all(label + figure <= half for label, figure in zip(labels, figures, strict=True))

    def _row(self, pair: Sequence[Told]) -> None:
        if len(pair) == 1:
            self._told(pair[0])
            return
        half = (self.wide - _INDENT) / 2
        self._down(self.row)
        for n, one in enumerate(pair):
            left = _INDENT + n * (half + 3 * MM)
            self._say(left, _safe(one.label), _REGULAR, self.pt)
            self._say(left + half - 3 * MM, _safe(one.figure), _BOLD, self.pt + 0.5, "end")

    def _told(self, one: Told) -> None:
        figure, label = _safe(one.figure), _safe(one.label)
        room = self.wide - _INDENT - _wide(label, _REGULAR, self.pt) - 3 * MM
        lines = _lines(figure, _BOLD, self.pt + 0.5, room)
        self.cramped = self.cramped or len(lines) > 1
        for n, line in enumerate(lines):
            self._down(self.row)
            if n == 0:
                self._say(_INDENT, label, _REGULAR, self.pt)
            self._say(self.wide, line, _BOLD, self.pt + 0.5, "end")

    def _grid(self, grid: Grid) -> None:
        many = len(grid.rows[0][1])
        if not grid.heads:
            self._run(*grid.rows[0])
            return
        room = self.wide - _INDENT
        heads = max(_wide(_safe(head), _REGULAR, SMALL_PT) for head in grid.heads)
        needed = max(_wide(_safe(v), _BOLD, self.pt + 0.5) for _, values in grid.rows for v in values)
        least = max(heads, needed) + 1.6 * MM
        label = min(
            max(_wide(_safe(name), _REGULAR, self.pt) for name, _ in grid.rows), max(room - many * least, 0.3 * room)
        )
        column = (room - label) / many
        names = [_safe(name) for name, _ in grid.rows]
        cut = any(_fitted(name, _REGULAR, self.pt, label) != name for name in names)
        self.cramped = self.cramped or cut or column < least
        size = (self.pt + 0.5) * min(1.0, column / (needed + 1.2 * MM))
        self._down(SMALL_PT * 1.25)
        for n, head in enumerate(grid.heads):
            self._say(self.wide - (many - 1 - n) * column, _safe(head), _REGULAR, SMALL_PT, "end")
        for name, values in grid.rows:
            self._down(self.row)
            self._say(_INDENT, _fitted(_safe(name), _REGULAR, self.pt, label), _REGULAR, self.pt)
            for n, value in enumerate(values):
                self._say(self.wide - (many - 1 - n) * column, _safe(value), _BOLD, max(size, SMALL_PT), "end")

    def _run(self, label: str, values: Sequence[str]) -> None:
        """Write a label and figures one beside the other, as far apart as fits."""
        size = self.pt + 0.5
        room = self.wide - _INDENT - _wide(_safe(label), _REGULAR, self.pt) - 3 * MM
        wides = [_wide(_safe(v), _BOLD, size) for v in values]
        least = 1.6 * MM * (len(values) - 1)
        size *= min(1.0, (room - least) / sum(wides))
        self.cramped = self.cramped or size < LEAST_PT
        wides = [_wide(_safe(v), _BOLD, size) for v in values]
        apart = min((room - sum(wides)) / max(len(values) - 1, 1), 6 * MM)
        self._down(self.row)
        self._say(_INDENT, _safe(label), _REGULAR, self.pt)
        right = self.wide
        for value, wide in zip(reversed(values), reversed(wides), strict=True):
            self._say(right, _safe(value), _BOLD, size, "end")
            right -= wide + apart

    def _cautions(self) -> None:
        if not self.stage.cautions:
            return
        pt = max(self.pt - 0.5, min(self.pt, LEAST_PT))
        lines = _lines(_safe(sentence(self.stage.cautions)), _SLANTED, pt, self.wide - _INDENT - 2.6 * MM)
        self._down(pt * 0.22)
        top = self.high
        for line in lines:
            self._down(pt * 1.2)
            self._say(_INDENT + 2.6 * MM, line, _SLANTED, pt)
        self._down(pt * 0.14)
        if self._page is not None:
            canvas = self._page.canvas
            canvas.setLineWidth(_BAR)
            canvas.line(self._x + _INDENT + 0.4 * MM, self._top - top - pt * 0.2, self._x + _INDENT + 0.4 * MM,
                        self._top - self.high)  # fmt: skip

    def _box(self, title: float) -> None:
        if self._page is not None:
            side = title * 0.95
            self._page.canvas.setLineWidth(_RULE)
            self._page.canvas.rect(self._x + _RULE / 2, self._top - title * 1.12, side, side)

    def _down(self, by: float) -> None:
        self.high += by

    def _say(self, x: float, words: str, font: str, pt: float, anchor: str = "start") -> None:
        if self._page is not None:
            self._page.say(self._x + x, self._top - self.high, words, font, pt, anchor)
