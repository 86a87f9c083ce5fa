"""Marks as SVG, at true size: one user unit is one mm, arcs stay arcs, the same marks give the same bytes.

SVG 1.1 (W3C): path commands 8.3, units 7.10; the viewBox rule is that of SVG 2, chapter Coordinate Systems.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np

from blankwright.base.arrays import Array
from blankwright.geometry.chain import Chain
from blankwright.geometry.outline import Outline, points_on
from blankwright.ink import lettering
from blankwright.ink.marks import LINE_TYPES, Box, LineType, Marks, Point, Segment

_INK = "#000000"

_PAPER = "#ffffff"

_MOST_SWEEP = 2 * math.pi / 3
# A longer arc is written in equal parts. The nearer an arc comes to a half circle, the more a rounded radius
# moves its middle: 1e-6 mm off in the radius is 3e-3 mm off in a half circle's height.

_FLAT_MM = 1e-7
# An arc that rises less than this over its chord is written as a line: a tenth of the last digit written.


def number(value_mm: float) -> str:
    """Write a coordinate with 6 decimals, trailing zeros and a negative zero trimmed.

    >>> number(12.500000), number(-0.0000001)
    ('12.5', '0')
    """
    text = f"{value_mm:.6f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def path_data(outline: Outline, origin_mm: tuple[float, float] = (0.0, 0.0)) -> str:
    """Return an outline as the 'd' of an SVG path: M, L, A and Z with absolute coordinates.

    Args:
        outline: The outline, y up [mm].
        origin_mm: Where the knife's origin falls on the sheet, x from its left and y from its top [mm].

    Returns:
        Path data, y down [mm]; arcs of at most 120 degrees, a point on the outline at every joint.
    """
    return _joined(outline.starts, outline.ends, outline.bulges, origin_mm) + "Z"


def line_data(chain: Chain) -> str:
    """Return an open chain as the 'd' of an SVG path; units and arcs as those of path_data, the origin at 0."""
    return _joined(chain.starts, chain.ends, chain.bulges, (0.0, 0.0))


def _joined(starts: Array, ends: Array, bulges: Array, origin_mm: tuple[float, float]) -> str:
    """Return pieces that follow on each other as an open path; arguments as for path_data."""
    ox, oy = origin_mm
    parts = [f"M{number(ox + float(starts[0, 0]))} {number(oy - float(starts[0, 1]))}"]
    for start, end, bulge in zip(starts.tolist(), ends.tolist(), bulges.tolist(), strict=True):
        chord = math.dist(start, end)
        if abs(bulge) * chord / 2 < _FLAT_MM:
            parts.append(f"L{number(ox + end[0])} {number(oy - end[1])}")
            continue
        radius = number(chord * (1 + bulge * bulge) / (4 * abs(bulge)))
        sweep = 0 if bulge > 0 else 1  # counter-clockwise with y up, and still so seen on the sheet
        count = max(1, math.ceil(4 * math.atan(abs(bulge)) / _MOST_SWEEP - 1e-9))
        for x, y in (*(_between(start, end, bulge, count) if count > 1 else ()), end):
            parts.append(f"A{radius} {radius} 0 0 {sweep} {number(ox + x)} {number(oy - y)}")
    return "".join(parts)


def _between(start: Sequence[float], end: Sequence[float], bulge: float, count: int) -> list[list[float]]:
    """Return the points that cut an arc in equal parts."""
    repeat = (count - 1, 1)
    share = np.arange(1, count) / count
    points: list[list[float]] = points_on(
        np.tile(start, repeat), np.tile(end, repeat), np.full(count - 1, bulge), share
    ).tolist()
    return points


def marks_svg(marks: Marks, title: str, desc: str) -> str:
    """Return marks as an SVG document with a narrow white margin.

    Args:
        marks: What to draw.
        title: Title of the document.
        desc: What it shows, in words.
    """
    return document_svg(marks, marks.box.grown(1.0), lettering.clean(title, 160), lettering.clean(desc, 400))


def document_svg(marks: Marks, sheet: Box, title: str, desc: str, *, ground: bool = True) -> str:
    """Write the marks on a sheet; its size is rounded up to whole mm, the rest shared by both sides."""
    width, height = math.ceil(sheet.x1 - sheet.x0), math.ceil(sheet.y1 - sheet.y0)
    origin = (
        round((width - sheet.x0 - sheet.x1) / 2, 3),
        round((height + sheet.y0 + sheet.y1) / 2, 3),
    )
    import svgwrite  # noqa: PLC0415 - only who draws needs it

    page: Any = svgwrite.Drawing(
        size=(f"{width}mm", f"{height}mm"), viewBox=f"0 0 {width} {height}", debug=False, profile="full"
    )
    page.set_desc(title=title, desc=desc)
    if ground:
        page.add(page.rect((0, 0), (width, height), fill=_PAPER))
    segments = marks.interrupted()
    for line in LINE_TYPES:
        group = _lines(page, marks, segments, line, origin)
        if group.elements:
            page.add(group)
    if marks.patches:
        page.add(_patches(page, marks, origin))
    page.add(_arrowheads(page, marks, origin))
    page.add(_words(page, marks, origin))
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{page.tostring()}\n'


def _lines(page: Any, marks: Marks, segments: list[Segment], line: LineType, origin: Point) -> Any:
    """Return the group of everything drawn in one line type."""
    style: dict[str, str] = {"fill": "none", "stroke": _INK, "stroke_width": number(line.width_mm)}
    if line.dashes_mm:
        style["stroke_dasharray"] = " ".join(number(d) for d in line.dashes_mm)
    group = page.g(class_=line.name, stroke_linejoin="round", **style)
    ox, oy = origin
    for shape in marks.shapes:
        if shape.line is line:
            group.add(page.path(d=path_data(shape.outline, origin)))
    for curve in marks.curves:
        if curve.line is line:
            chain = curve.chain
            group.add(page.path(d=_joined(chain.starts, chain.ends, chain.bulges, origin)))
    for ring in marks.rings:
        if ring.line is line:
            x, y, r = number(ox + ring.x), number(oy - ring.y), number(ring.diameter_mm / 2)
            group.add(page.circle((x, y), r))
    for s in segments:
        if s.line is line:
            a, b = (ox + s.a[0], oy - s.a[1]), (ox + s.b[0], oy - s.b[1])
            phase = _phase(line, math.dist(a, b))
            group.add(page.line(tuple(map(number, a)), tuple(map(number, b)), **phase))
    return group


def _phase(line: LineType, length_mm: float) -> dict[str, str]:
    """Centre a dashed line's first dash on its middle, so that crossing lines cross in a dash (ISO 128)."""
    if not line.dashes_mm:
        return {}
    return {"stroke_dashoffset": number((line.dashes_mm[0] / 2 - length_mm / 2) % sum(line.dashes_mm))}


def _arrowheads(page: Any, marks: Marks, origin: Point) -> Any:
    group = page.g(class_="arrowheads", fill=_INK)
    ox, oy = origin
    for arrow in marks.arrows:
        corners = [f"{number(ox + x)} {number(oy - y)}" for x, y in arrow.corners]
        group.add(page.path(d=f"M{corners[0]}L{corners[1]}L{corners[2]}Z"))
    return group


def _patches(page: Any, marks: Marks, origin: Point) -> Any:
    group = page.g(class_="patches", fill=_INK, fill_rule="evenodd")
    ox, oy = origin
    for patch in marks.patches:
        rings = ["L".join(f"{number(ox + x)} {number(oy - y)}" for x, y in ring) for ring in patch.rings]
        group.add(page.path(d="".join(f"M{ring}Z" for ring in rings)))
    return group


def _words(page: Any, marks: Marks, origin: Point) -> Any:
    group = page.g(class_="words", font_family=lettering.FONT_FAMILY, fill=_INK)
    ox, oy = origin
    for text in marks.texts:
        weight = {"font_weight": "bold"} if text.bold else {}
        at = (number(ox + text.x), number(oy - text.y))
        size = number(lettering.font_size_mm(text.height_mm))
        group.add(page.text(text.words, insert=at, font_size=size, text_anchor=text.anchor, **weight))
    return group
