"""Pages of marks as a PDF at true size: 1 mm is 72 / 25.4 points, nothing is fitted to anything.

The marks are those of the drawing (shapes, rings, lines, arrowheads, texts), here in page coordinates: mm, x
from the left edge of the paper, y up from its bottom edge. Arcs become cubic Bezier curves, for a PDF knows no
arcs. Black on white, lines told apart by type and width (ISO 128). The same pages give the same bytes. It draws
what it is given and computes nothing about the knife.

PDF 1.6 (published as ISO 32000-1): default user space 8.3.2.3, path construction 8.5.2, viewer preferences 12.2.
"""

from __future__ import annotations

import io
import math
import os
import unicodedata
from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from blankwright.base.arrays import Array
from blankwright.base.errors import RequestError
from blankwright.base.frozen import dataclass
from blankwright.base.units import MM_PER_INCH
from blankwright.geometry.outline import Outline, points_on
from blankwright.ink import lettering
from blankwright.ink.marks import LINE_TYPES, Box, ClosedLine, Curve, LineType, Marks, Point, Ring, Segment, Text

POINTS_PER_MM = 72 / MM_PER_INCH
"""Points of the PDF's user space in one mm; exact by definition of both units."""
_MOST_PAGE_MM = 14400 / POINTS_PER_MM
# Readers need not show a page longer than 14400 points, 5080 mm (ISO 32000-1, annex C).
_ARC_MM = 0.0005
# A Bezier curve may leave its arc by this: half of what is promised, the rest is for rounding in the file.
_CHORD_MM = 0.01
# An open chain is drawn in chords that leave it by no more than this.
_MOST_ANGLE = math.radians(30)
_FLAT_MM = 1e-7
# An arc that rises less than this over its chord is drawn as a line: below the last digit written.
_MOST_STRETCH = 1.1
# A printer is a few per cent off at most; a factor beyond this is a mistake.
_MOST_WORDS = 400
_FONTS = {False: "Helvetica", True: "Helvetica-Bold"}
# Two of the 14 standard fonts, which every reader has (ISO 32000-1, 9.6.2.2): nothing is embedded.
_LIBRARY_REMARKS = (
    b"ReportLab Generated PDF document (opensource)",
    b"ReportLab generated PDF document -- digest (opensource)",
)
# Comments in which the library names itself; the file is the maker's.


@dataclass(frozen=True)
class Layer:
    """Marks that belong together.

    Args:
        marks: What to draw, in page coordinates [mm].
        clip: Window outside which nothing of it shows [mm], or None.

    Raises:
        RequestError: The window has no area.
    """

    marks: Marks
    clip: Box | None

    def __post_init__(self) -> None:
        if self.clip is not None and not (self.clip.x0 < self.clip.x1 and self.clip.y0 < self.clip.y1):
            raise RequestError(f"a layer's window has no area: {self.clip}.")


@dataclass(frozen=True)
class Page:
    """One sheet of paper.

    Args:
        width_mm: Width of the paper [mm].
        height_mm: Height of the paper [mm].
        layers: What is on it, the first at the bottom.
        name: Name in the reader's table of contents, such as "row 1, column 2".

    Raises:
        RequestError: A size is not between 0 and 5080 mm.
    """

    width_mm: float
    height_mm: float
    layers: tuple[Layer, ...]
    name: str

    def __post_init__(self) -> None:
        for value in (self.width_mm, self.height_mm):
            if not 0 < value <= _MOST_PAGE_MM:
                raise RequestError(f"a page of {self.width_mm:g} x {self.height_mm:g} mm cannot be written as a PDF.")


def pdf_bytes(pages: Sequence[Page], *, title: str, subject: str, stretch: tuple[float, float]) -> bytes:
    """Return pages as a PDF at true size.

    Args:
        pages: One or more pages, in order.
        title: Title in the document's properties.
        subject: Subject in the document's properties.
        stretch: Factors in x and y that correct a printer [unitless]. Everything is moved away from the page's
            centre by them; line widths, lettering and the page's own size stay. (1, 1) changes nothing.

    Returns:
        A complete PDF that asks the reader's program not to scale it (/PrintScaling /None).

    Raises:
        RequestError: No page, a factor outside 0.91 to 1.1, or a coordinate that is not finite.
    """
    if not pages:
        raise RequestError("a PDF needs at least one page.")
    if not all(1 / _MOST_STRETCH <= factor <= _MOST_STRETCH for factor in stretch):
        raise RequestError(f"a printer correction of {stretch[0]:g} in x and {stretch[1]:g} in y is beyond reason.")
    stream = io.BytesIO()
    canvas = new_canvas(stream, _box(pages[0])[2:])
    describe(canvas, title, subject)
    for number, page in enumerate(pages, start=1):
        _draw_page(canvas, page, number, stretch)
    canvas.save()
    return cleaned(stream)


_BUILD_DATE = "SOURCE_DATE_EPOCH"
"""A variable of the environment that the library would write into a file as its date, even one that is no number."""


def new_canvas(stream: io.BytesIO, size: tuple[float, float]) -> Any:
    """Return an empty PDF with pages of a size [points], which is written to a stream."""
    from reportlab.pdfgen.canvas import Canvas  # noqa: PLC0415 - only a PDF needs it

    dated = os.environ.pop(_BUILD_DATE, None)
    try:
        return Canvas(
            stream,
            pagesize=size,
            pageCompression=0,  # plain text inside: the bytes do not depend on the version of a compressor
            invariant=1,
            pdfVersion=(1, 6),  # the first with PrintScaling
            initialFontName=_FONTS[False],
        )
    finally:
        if dated is not None:
            os.environ[_BUILD_DATE] = dated


def describe(canvas: Any, title: str, subject: str) -> None:
    """Say in a PDF's properties what it is and who made it, and ask the reader's program not to scale it."""
    canvas.setTitle(lettering.clean(title, _MOST_WORDS))
    canvas.setSubject(lettering.clean(subject, _MOST_WORDS))
    canvas.setAuthor("")
    canvas.setCreator("Blankwright")
    canvas.setProducer("Blankwright")
    canvas.setViewerPreference("PrintScaling", "None")


def cleaned(stream: io.BytesIO) -> bytes:
    """Return a saved PDF without the remarks in which the library names itself."""
    data = stream.getvalue()
    for remark in _LIBRARY_REMARKS:  # blanks of the same length: the file's table counts bytes
        data = data.replace(remark, b" " * len(remark))
    return data


def draw_marks(canvas: Any, marks: Marks) -> None:
    """Draw marks [mm] at the place where a canvas has its origin."""
    _draw_layer(_Paper(canvas, (0.0, 0.0), (1.0, 1.0)), Layer(marks, None))


def bezier_pieces(outline: Outline) -> tuple[Array, NDArray[np.bool_]]:
    """Return an outline as cubic Bezier curves, each within 0.0005 mm of its arc.

    Args:
        outline: The outline [mm].

    Returns:
        (m, 4, 2) start, two control points and end of each curve [mm], and (m,) whether it is a straight line.
    """
    bulge = np.abs(outline.bulges)
    straight = bulge * outline.chord_lengths / 2 < _FLAT_MM
    radius = np.where(straight, 1.0, outline.chord_lengths * (1 + bulge**2) / (4 * np.where(straight, 1.0, bulge)))
    # The usual curve leaves its arc by 2/27 r sin^6(angle / 4) / cos^2(angle / 4) (Goldapp, Computer Aided Geometric
    # Design 8, 1991; from memory), here for a small angle, where sine and cosine are their first terms within 1e-4.
    widest = np.minimum(_MOST_ANGLE, 4 * (13.5 * _ARC_MM / radius) ** (1 / 6))
    count = np.where(straight, 1, np.maximum(1, np.ceil(4 * np.arctan(bulge) / widest - 1e-9))).astype(int)
    piece = np.repeat(np.arange(len(outline)), count)
    step = np.arange(len(piece)) - np.repeat(np.cumsum(count) - count, count)
    a, b, g = outline.starts[piece], outline.ends[piece], outline.bulges[piece]
    first = points_on(a, b, g, step / count[piece])
    last = points_on(a, b, g, (step + 1) / count[piece])
    angle = 4 * np.arctan(g) / count[piece]
    # 4/3 tan(angle / 4) radii, written in chords so that a nearly flat arc is no special case
    reach = (1 / (3 * np.cos(angle / 4) ** 2))[:, None] * (last - first)
    curves = np.stack([first, first + _turned(reach, -angle / 2), last - _turned(reach, angle / 2), last], axis=1)
    return curves, straight[piece]


def _turned(vectors: Array, angle: Array) -> Array:
    c, s = np.cos(angle), np.sin(angle)
    x, y = vectors[:, 0], vectors[:, 1]
    return np.stack([x * c - y * s, x * s + y * c], axis=1)


@dataclass(frozen=True)
class _Paper:
    """A page being drawn: where a place on it [mm] is in the PDF [points]."""

    canvas: Any
    centre_mm: Point
    stretch: tuple[float, float]

    def points(self, places_mm: Any) -> Array:
        """Return (..., 2) places on the page in points, corrected for the printer."""
        centre = np.array(self.centre_mm)
        placed: Array = (centre + (np.asarray(places_mm, dtype=np.float64) - centre) * self.stretch) * POINTS_PER_MM
        if not np.isfinite(placed).all():
            raise RequestError("a mark on the page has a coordinate that is not finite.")
        return placed


def _box(page: Page) -> tuple[float, float, float, float]:
    """Return the page's box in points, to a hundred-thousandth of a point."""
    return (0, 0, round(page.width_mm * POINTS_PER_MM, 5), round(page.height_mm * POINTS_PER_MM, 5))


def _draw_page(canvas: Any, page: Page, number: int, stretch: tuple[float, float]) -> None:
    box = _box(page)
    canvas.setPageSize(box[2:])
    canvas.setCropBox(box)
    name = lettering.clean(page.name, _MOST_WORDS)
    if name:
        key = f"page-{number}"
        canvas.bookmarkPage(key)
        canvas.addOutlineEntry(name, key)
    paper = _Paper(canvas, (page.width_mm / 2, page.height_mm / 2), stretch)
    for layer in page.layers:
        _draw_layer(paper, layer)
    canvas.showPage()


def _draw_layer(paper: _Paper, layer: Layer) -> None:
    canvas = paper.canvas
    canvas.saveState()
    canvas.setLineJoin(1)
    if layer.clip is not None:
        (x0, y0), (x1, y1) = paper.points([(layer.clip.x0, layer.clip.y0), (layer.clip.x1, layer.clip.y1)])
        window = canvas.beginPath()
        window.rect(x0, y0, x1 - x0, y1 - y0)
        canvas.clipPath(window, stroke=0, fill=0)
    segments = layer.marks.interrupted()
    for line in _line_types(layer.marks):
        _draw_lines(paper, layer.marks, segments, line)
    for patch in layer.marks.patches:
        rings = [f"{_lines(paper.points(ring)).removeprefix('n ')} h" for ring in patch.rings]
        canvas.drawPath(_Way(f"n {' '.join(rings)}"), stroke=0, fill=1, fillMode=0)  # by the even-odd rule
    for arrow in layer.marks.arrows:
        canvas.drawPath(_Way(f"{_lines(paper.points(arrow.corners))} h"), stroke=0, fill=1)
    for text in layer.marks.texts:
        _draw_text(paper, text)
    canvas.restoreState()


def _line_types(marks: Marks) -> list[LineType]:
    """Return the line types in use: those of the drawing in its order, then others as they come."""
    drawn: tuple[ClosedLine | Ring | Segment | Curve, ...] = (
        *marks.shapes,
        *marks.rings,
        *marks.segments,
        *marks.curves,
    )
    used = dict.fromkeys(mark.line for mark in drawn)
    return [line for line in LINE_TYPES if line in used] + [line for line in used if line not in LINE_TYPES]


def _draw_lines(paper: _Paper, marks: Marks, segments: list[Segment], line: LineType) -> None:
    """Draw everything of one line type. Only unbroken lines have round ends: dashes and gaps keep their length."""
    canvas = paper.canvas
    canvas.setLineWidth(line.width_mm * POINTS_PER_MM)
    canvas.setLineCap(0 if line.dashes_mm else 1)
    _set_dashes(canvas, line, 0.0)
    for shape in marks.shapes:
        if shape.line == line:
            _draw_outline(paper, shape.outline)
    for ring in marks.rings:
        if ring.line == line:
            r = ring.diameter_mm / 2
            _draw_outline(paper, Outline(np.array([(ring.x - r, ring.y, 1.0), (ring.x + r, ring.y, 1.0)])))
    for curve in marks.curves:
        if curve.line == line:
            _draw_points(paper, curve.chain.flattened(_CHORD_MM))
    ends = [(segment.a, segment.b) for segment in segments if segment.line == line]
    placed: list[list[list[float]]] = paper.points(ends).tolist() if ends else []
    for (ax, ay), (bx, by) in placed:
        if line.dashes_mm:
            length_mm = math.dist((ax, ay), (bx, by)) / POINTS_PER_MM
            # the first dash is centred on the line, so that crossing lines cross in a dash (ISO 128)
            _set_dashes(canvas, line, (line.dashes_mm[0] / 2 - length_mm / 2) % sum(line.dashes_mm))
        canvas.line(ax, ay, bx, by)


def _set_dashes(canvas: Any, line: LineType, phase_mm: float) -> None:
    # four decimals: more, and a phase near zero would be written with an exponent, which a PDF may not hold
    canvas.setDash([d * POINTS_PER_MM for d in line.dashes_mm], round(phase_mm * POINTS_PER_MM, 4))


@dataclass(frozen=True)
class _Way:
    """A path as a canvas takes one: moves, lines and curves in the PDF's own words."""

    words: str

    def getCode(self) -> str:  # noqa: N802 - the canvas asks by this name
        """Return the words."""
        return self.words


def numbers(values: Array) -> list[str]:
    """Return numbers as the PDF library writes them, six decimals or seven digits, all at once in half its time."""
    size = np.abs(values)
    formats = [_FORMATS[kind] for kind in np.searchsorted(_TENS, size, side="right").tolist()]
    written = " ".join(formats) % tuple(np.where(size <= _NOUGHT, 0.0, values).tolist())
    return [w.rstrip("0").rstrip(".") or "0" for w in f" {written}".replace(" 0.", " .").split()]


_TENS = np.array([1e1, 1e2, 1e3, 1e4, 1e5, 1e6])
_FORMATS = ("%.6f", "%.5f", "%.4f", "%.3f", "%.2f", "%.1f", "%.0f.")
_NOUGHT = 1e-7
"""The library's own figures; a whole number gets a point, which is taken away with the noughts behind it."""


def _draw_outline(paper: _Paper, outline: Outline) -> None:
    curves, straight = bezier_pieces(outline)
    placed = paper.points(curves)
    words, on = ["n", *numbers(placed[0, 0]), "m"], numbers(placed[:, 1:].ravel())
    for i, line in enumerate(straight.tolist()):
        words += [*on[6 * i + 4 : 6 * i + 6], "l"] if line else [*on[6 * i : 6 * i + 6], "c"]
    paper.canvas.drawPath(_Way(" ".join([*words, "h"])), stroke=1, fill=0)


def _draw_points(paper: _Paper, places_mm: Array) -> None:
    paper.canvas.drawPath(_Way(_lines(paper.points(places_mm))), stroke=1, fill=0)


def _lines(places: Array) -> str:
    """Return the words of straight lines from place to place [points]."""
    on = iter(numbers(places.ravel()))
    first, *others = [f"{x} {y}" for x, y in zip(on, on, strict=True)]
    return " ".join([f"n {first} m", *(f"{place} l" for place in others)])


def _draw_text(paper: _Paper, text: Text) -> None:
    canvas = paper.canvas
    x, y = paper.points((text.x, text.y)).tolist()
    canvas.setFont(_FONTS[text.bold], lettering.font_size_mm(text.height_mm) * POINTS_PER_MM)
    draw = {"start": canvas.drawString, "middle": canvas.drawCentredString, "end": canvas.drawRightString}
    draw[text.anchor](x, y, printable(lettering.clean(text.words, _MOST_WORDS)))


_NEAR = {
    "′": "'", "″": '"', "‴": "'''", "−": "-", "‐": "-", "‑": "-", "‒": "-", "―": "-", "≤": "<=", "≥": ">=",
    "≠": "<>", "≈": "~", "→": "->", "←": "<-", "⌀": "Ø", "∅": "Ø", "Ω": "ohm", "Δ": "delta", "∆": "delta",
    "ł": "l", "Ł": "L", "đ": "d", "Đ": "D", "ħ": "h", "Ħ": "H", "ı": "i", "ŋ": "n", "ŧ": "t", "Ŧ": "T",
    "μ": "µ", "∙": "·", "⋅": "·", "✓": "ok",
}  # fmt: skip
# Characters that a workshop's text may hold, the standard fonts do not, and no decomposition leads to.


def printable(words: str) -> str:
    """Return a text in the characters of the standard fonts (WinAnsi); others become a near one or "?".

    >>> printable("Łódź 3″ ≥ 木")
    'Lódz 3" >= ?'
    """
    if words.isascii():
        return words
    joined = unicodedata.normalize("NFC", words)
    return joined if _in_font(joined) else "".join(_printable(char) for char in joined)


def _printable(char: str) -> str:
    plain = "".join(c for c in unicodedata.normalize("NFKD", char) if not unicodedata.combining(c))
    for near in (char, _NEAR.get(char, ""), plain):
        if near and _in_font(near):
            return near
    return "?"


def _in_font(text: str) -> bool:
    try:
        text.encode("cp1252")
    except UnicodeEncodeError:
        return False
    return True
