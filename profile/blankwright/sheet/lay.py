"""How the build sheet is laid on pages: blocks of marks with their heights, kept together where they fit."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache

import numpy as np

from blankwright.geometry.chain import Chain
from blankwright.geometry.outline import Outline
from blankwright.ink import lettering
from blankwright.ink.marks import ClosedLine, Curve, Mark, Marks, Ring, Segment, Text
from blankwright.ink.pdf import printable

MM_PER_POINT = 25.4 / 72
_RISE = 0.38
# A footnote's number stands this share of the font size above the line.
_SMALL = 0.66


def height_mm(points: float) -> float:
    """Return the height of a capital for a font size in points [mm]."""
    return points * MM_PER_POINT * lettering.CAPITAL_PER_EM


@lru_cache(maxsize=8192)
def width_mm(words: str, points: float, *, bold: bool = False) -> float:
    """Return how wide words are in the sheet's font [mm]."""
    from reportlab.pdfbase.pdfmetrics import stringWidth  # noqa: PLC0415 - only a PDF needs it

    wide: float = stringWidth(printable(words), "Helvetica-Bold" if bold else "Helvetica", points)
    return wide * MM_PER_POINT


@dataclass(frozen=True)
class Run:
    """Words in one weight; a raised run is a footnote's number."""

    words: str
    bold: bool = False
    raised: bool = False


@dataclass
class Block:
    """Marks that hang together, y counted downward from the block's top as a negative number [mm].

    Args:
        height_mm: Its height [mm].
        marks: What is in it.
        between: Whether it only stands between others, not at the top of a page.
    """

    height_mm: float = 0.0
    marks: list[Mark] = field(default_factory=list)
    between: bool = False


def wrapped(runs: Sequence[Run], x: float, wide_mm: float, points: float, lead: float) -> Block:
    """Return runs of words broken into lines.

    Args:
        runs: The words.
        x: Left edge [mm].
        wide_mm: Greatest width [mm].
        points: Font size [points].
        lead: From one line to the next [mm].
    """
    block = Block()
    at, line = x, 0
    space = width_mm(" ", points)
    for run in runs:
        size = points * _SMALL if run.raised else points
        up = _RISE * points * MM_PER_POINT if run.raised else 0.0
        begun, said = at, ""
        for word in [run.words] if run.raised else [w for w in run.words.split(" ") if w]:
            for piece in _pieces(word, wide_mm, size, bold=run.bold):
                wide = width_mm(piece, size, bold=run.bold)
                gap = 0.0 if at == x or run.raised else space
                if gap and at + gap + wide > x + wide_mm:
                    block.marks += _said(said, begun, line, up, size, lead, bold=run.bold)
                    at, line, gap, said = x, line + 1, 0.0, ""
                begun = at + gap if not said else begun
                said = f"{said} {piece}" if said else piece
                at += gap + wide
        block.marks += _said(said, begun, line, up, size, lead, bold=run.bold)
    block.height_mm = (line + 1) * lead
    return block


def _said(words: str, x: float, line: int, up: float, points: float, lead: float, *, bold: bool) -> list[Text]:
    """Return words on a line of a block as a text; none for no words."""
    y = -(line + 1) * lead + 0.25 * lead + up
    return [Text(x, y, words, height_mm(points), "start", bold=bold)] if words else []


def _pieces(word: str, width: float, points: float, *, bold: bool) -> list[str]:
    """Return a word in as many pieces as it takes to fit."""
    pieces = []
    while len(word) > 1 and width_mm(word, points, bold=bold) > width:
        kept = len(word)
        while kept > 1 and width_mm(word[:kept], points, bold=bold) > width:
            kept -= 1
        pieces.append(word[:kept])
        word = word[kept:]
    return [*pieces, word]


def beside(*blocks: Block) -> Block:
    """Return blocks side by side."""
    return Block(max(b.height_mm for b in blocks), [m for b in blocks for m in b.marks])


def under(blocks: Sequence[Block], x: float = 0.0) -> Block:
    """Return blocks one under the other as one block, moved to the right by x [mm]."""
    whole = Block()
    for block in blocks:
        whole.marks += [moved(m, x, -whole.height_mm) for m in block.marks]
        whole.height_mm += block.height_mm
    return whole


def moved(mark: Mark, dx: float, dy: float) -> Mark:
    """Return a mark in another place."""
    if isinstance(mark, Text):
        return replace(mark, x=mark.x + dx, y=mark.y + dy)
    if isinstance(mark, Segment):
        return replace(mark, a=(mark.a[0] + dx, mark.a[1] + dy), b=(mark.b[0] + dx, mark.b[1] + dy))
    if isinstance(mark, Ring):
        return replace(mark, x=mark.x + dx, y=mark.y + dy)
    if isinstance(mark, ClosedLine):
        return replace(mark, outline=Outline(mark.outline.vertices + np.array([dx, dy, 0.0]), mark.outline.regions))
    if isinstance(mark, Curve):
        return replace(mark, chain=Chain(mark.chain.vertices + np.array([dx, dy, 0.0])))
    return replace(mark, tip=(mark.tip[0] + dx, mark.tip[1] + dy))


@dataclass
class Sheets:
    """Pages being filled from the top.

    Args:
        width_mm: Width of the paper [mm].
        height_mm: Height of the paper [mm].
        left_mm: Left margin [mm].
        top_mm: Top margin [mm].
        bottom_mm: Bottom margin [mm].
    """

    width_mm: float
    height_mm: float
    left_mm: float
    top_mm: float
    bottom_mm: float
    pages: list[Marks] = field(default_factory=list)
    _y: float = 0.0

    @property
    def full_mm(self) -> float:
        """Height of an empty page [mm]."""
        return self.height_mm - self.top_mm - self.bottom_mm

    @property
    def room_mm(self) -> float:
        """Height left on the page [mm]."""
        return self._y - self.bottom_mm if self.pages else 0.0

    def turn(self) -> None:
        """Begin a new page."""
        self.pages.append(Marks())
        self._y = self.height_mm - self.top_mm

    def keep(self, blocks: Sequence[Block]) -> None:
        """Lay blocks one under the other, all on one page when they fit on one."""
        whole = sum(b.height_mm for b in blocks)
        if whole > self.room_mm and whole <= self.full_mm:
            self.turn()
        for block in blocks:
            if block.height_mm > self.room_mm:
                self.turn()
            if block.between and not self.pages[-1].texts:
                continue
            self.pages[-1].add(*(moved(m, self.left_mm, self._y) for m in block.marks))
            self._y -= block.height_mm
