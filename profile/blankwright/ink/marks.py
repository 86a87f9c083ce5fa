"""The marks that a drawing is made of, and which of them are in each other's way.

All in the knife's own coordinates, mm, y up. The marks are collected first and written later: only then is
the size of the sheet known, and where a line has to be interrupted for a text.

Line types and widths follow ISO 128 (wide to narrow 2 : 1; dash 12, long dash 24, gap 3 and dot 0.5 line
widths) and arrowheads ISO 129; both from memory of the standards.
"""

from __future__ import annotations

import math
from dataclasses import field
from functools import cached_property

from blankwright.base.frozen import dataclass
from blankwright.geometry.chain import Chain
from blankwright.geometry.outline import Outline
from blankwright.ink import lettering

Point = tuple[float, float]


@dataclass(frozen=True)
class LineType:
    """A line of ISO 128: its name here, its width [mm] and its dashes and gaps [mm]."""

    name: str
    width_mm: float
    dashes_mm: tuple[float, ...]


FINISHED = LineType("finished-outline", 0.5, ())  # 01.2 continuous wide
CUT = LineType("cut-outline", 0.25, (3.0, 0.75))  # 02.1 dashed narrow
CENTRE = LineType("centre", 0.25, (6.0, 0.75, 0.125, 0.75))  # 04.1 long-dashed dotted narrow
OTHER = LineType("board-line", 0.25, (6.0, 0.75, 0.125, 0.75, 0.125, 0.75))  # 05.1 long-dashed double-dotted
NARROW = LineType("narrow", 0.25, ())  # 01.1 continuous narrow
HOLE = LineType("hole", 0.25, ())  # a hole edge: narrow, for the middle of the line is what is measured
SECTION = LineType("section-outline", 0.5, ())  # 01.2 continuous wide: what a section cuts, and where it is taken
HIDDEN = LineType("left-on", 0.25, (3.0, 0.75))  # 02.1 dashed narrow: steel that is left on until after hardening
HATCH = LineType("hatch", 0.25, ())  # 01.1 continuous narrow
GUIDE = LineType("torch-guide", 0.25, (3.0, 4.5))  # 03.1 dashed spaced narrow: what a torch runs along
LINE_TYPES = (CUT, GUIDE, FINISHED, HOLE, CENTRE, OTHER, NARROW, SECTION, HIDDEN, HATCH)

ARROW_MM = 3.0
"""Length of an arrowhead [mm]; it is a third as wide."""
TEXT_GAP_MM = 1.25
"""Baseline of a text above the line it stands on [mm]; leaves 0.45 mm below the descenders."""
_BREAK_MM = 0.35
# A line stops this far from the box of a text: less than the air between a text and its own line.
_LEAST_STUB_MM = 1.0
# What is left of an interrupted line is drawn only when longer than this: shorter looks like dirt.


@dataclass(frozen=True)
class Box:
    """An upright rectangle [mm]."""

    x0: float
    y0: float
    x1: float
    y1: float

    def grown(self, by_mm: float) -> Box:
        """Return the box with a margin all round [mm]."""
        return Box(self.x0 - by_mm, self.y0 - by_mm, self.x1 + by_mm, self.y1 + by_mm)

    def meets(self, other: Box) -> bool:
        """Whether two boxes share any area."""
        return self.x0 < other.x1 and other.x0 < self.x1 and self.y0 < other.y1 and other.y0 < self.y1

    def joined(self, other: Box) -> Box:
        """Return the least box around both."""
        return Box(min(self.x0, other.x0), min(self.y0, other.y0), max(self.x1, other.x1), max(self.y1, other.y1))


@dataclass(frozen=True)
class Segment:
    """A straight line from a to b in a line type; text may interrupt it."""

    a: Point
    b: Point
    line: LineType

    @property
    def box(self) -> Box:
        """The box around the line, half its width included."""
        return Box(*self.ends).grown(self.line.width_mm / 2)

    @property
    def ends(self) -> tuple[float, float, float, float]:
        """Least x, least y, greatest x and greatest y of both ends: told apart from a box before anything is shared."""
        (ax, ay), (bx, by) = self.a, self.b
        return min(ax, bx), min(ay, by), max(ax, bx), max(ay, by)

    def share_inside(self, box: Box) -> tuple[float, float] | None:
        """Return the part of the line inside a box as two shares of its length, or None."""
        (ax, ay), (bx, by) = self.a, self.b
        x0, y0, x1, y1 = box.x0, box.y0, box.x1, box.y1
        if (ax <= x0 and bx <= x0) or (ax >= x1 and bx >= x1) or (ay <= y0 and by <= y0) or (ay >= y1 and by >= y1):
            return None
        low, high = 0.0, 1.0
        for a, b, least, most in ((ax, bx, x0, x1), (ay, by, y0, y1)):
            if a == b:
                if not least < a < most:
                    return None
                continue
            near, far = sorted(((least - a) / (b - a), (most - a) / (b - a)))
            low, high = max(low, near), min(high, far)
        return (low, high) if low < high else None


@dataclass(frozen=True)
class Ring:
    """A circle."""

    x: float
    y: float
    diameter_mm: float
    line: LineType

    @property
    def box(self) -> Box:
        """The box around the circle, half the line width included."""
        r = (self.diameter_mm + self.line.width_mm) / 2
        return Box(self.x - r, self.y - r, self.x + r, self.y + r)


@dataclass(frozen=True)
class Arrow:
    """A filled arrowhead that ends at a point and points along a unit direction."""

    tip: Point
    along: Point

    @property
    def corners(self) -> tuple[Point, Point, Point]:
        """The three corners of the arrowhead."""
        (x, y), (u, v) = self.tip, self.along
        bx, by, half = x - ARROW_MM * u, y - ARROW_MM * v, ARROW_MM / 6
        return (self.tip, (bx - half * v, by + half * u), (bx + half * v, by - half * u))

    @property
    def box(self) -> Box:
        """The box around the arrowhead."""
        xs, ys = zip(*self.corners, strict=True)
        return Box(min(xs), min(ys), max(xs), max(ys))


@dataclass(frozen=True)
class Text:
    """One line of text on its baseline."""

    x: float
    y: float
    words: str
    height_mm: float
    anchor: str  # "start", "middle" or "end"
    bold: bool = False

    @cached_property
    def box(self) -> Box:
        """The box that the text is estimated to fill."""
        width = lettering.width_mm(self.words, self.height_mm) * (1.12 if self.bold else 1.0)
        left = self.x - width * {"start": 0.0, "middle": 0.5, "end": 1.0}[self.anchor]
        return Box(
            left,
            self.y - lettering.FALL * self.height_mm,
            left + width,
            self.y + lettering.RISE * self.height_mm,
        )


@dataclass(frozen=True)
class ClosedLine:
    """A closed outline in a line type."""

    outline: Outline
    line: LineType

    @property
    def box(self) -> Box:
        """The box around the outline, half the line width included."""
        return Box(*self.outline.bounds_mm).grown(self.line.width_mm / 2)


@dataclass(frozen=True)
class Curve:
    """An open chain in a line type."""

    chain: Chain
    line: LineType

    @cached_property
    def box(self) -> Box:
        """The box around the chain, half the line width included."""
        x, y = self.chain.flattened(0.01).T
        return Box(float(x.min()), float(y.min()), float(x.max()), float(y.max())).grown(self.line.width_mm / 2)


@dataclass(frozen=True)
class Patch:
    """A filled area: closed rings of straight lines; what two of them enclose together is left free."""

    rings: tuple[tuple[Point, ...], ...]

    @cached_property
    def box(self) -> Box:
        """The box around all rings."""
        xs, ys = zip(*(corner for ring in self.rings for corner in ring), strict=True)
        return Box(min(xs), min(ys), max(xs), max(ys))


Mark = Segment | Ring | Arrow | Text | ClosedLine | Curve | Patch


@dataclass
class Marks:
    """The marks of one drawing, in the order they were put there."""

    shapes: list[ClosedLine] = field(default_factory=list)
    rings: list[Ring] = field(default_factory=list)
    segments: list[Segment] = field(default_factory=list)
    arrows: list[Arrow] = field(default_factory=list)
    texts: list[Text] = field(default_factory=list)
    curves: list[Curve] = field(default_factory=list)
    patches: list[Patch] = field(default_factory=list)

    def add(self, *marks: Mark) -> None:
        """Put marks on the drawing; a text without words is left out."""
        for mark in marks:
            if isinstance(mark, ClosedLine):
                self.shapes.append(mark)
            elif isinstance(mark, Ring):
                self.rings.append(mark)
            elif isinstance(mark, Segment):
                self.segments.append(mark)
            elif isinstance(mark, Curve):
                self.curves.append(mark)
            elif isinstance(mark, Arrow):
                self.arrows.append(mark)
            elif isinstance(mark, Patch):
                self.patches.append(mark)
            elif mark.words:
                self.texts.append(mark)

    @property
    def box(self) -> Box:
        """The least box around all marks."""
        marks: list[Mark] = [*self.shapes, *self.rings, *self.curves, *self.arrows, *self.texts, *self.patches]
        ends = [(box.x0, box.y0, box.x1, box.y1) for box in (mark.box for mark in marks)]
        for segment in self.segments:  # most marks are segments: no box is made for each
            (x0, y0, x1, y1), half = segment.ends, segment.line.width_mm / 2
            ends.append((x0 - half, y0 - half, x1 + half, y1 + half))
        left, low, right, high = zip(*ends, strict=True)
        return Box(min(left), min(low), max(right), max(high))

    @property
    def solid(self) -> list[Box]:
        """Boxes that no text may touch: the texts, the arrowheads, the holes and the filled areas."""
        marks: list[Mark] = [*self.texts, *self.arrows, *self.rings, *self.patches]
        return [mark.box for mark in marks]

    def interrupted(self) -> list[Segment]:
        """Return the straight lines with gaps where texts stand."""
        gaps = [text.box.grown(_BREAK_MM) for text in self.texts]
        return [piece for segment in self.segments for piece in _pieces(segment, gaps)]


def _pieces(segment: Segment, gaps: list[Box]) -> list[Segment]:
    x0, y0, x1, y1 = segment.ends
    near = [gap for gap in gaps if gap.x0 < x1 and x0 < gap.x1 and gap.y0 < y1 and y0 < gap.y1]
    cuts = [share for gap in near if (share := segment.share_inside(gap)) is not None]
    if not cuts:
        return [segment]
    length = math.dist(segment.a, segment.b)
    pieces, at = [], 0.0
    for low, high in [*sorted(cuts), (1.0, 1.0)]:
        if (low - at) * length > _LEAST_STUB_MM:
            pieces.append(Segment(between(segment.a, segment.b, at), between(segment.a, segment.b, low), segment.line))
        at = max(at, high)
    return pieces


def between(a: Point, b: Point, t: float) -> Point:
    """Return the point a share t of the way from a to b."""
    return (a[0] + (b[0] - a[0]) * t, a[1] + (b[1] - a[1]) * t)
