"""The picture of a lifted outline over its source: what was found, where, and what it may be off.

SVG 1.1 (W3C). Scaled to a fixed width and said so: it is for seeing, not for measuring.
"""

from __future__ import annotations

import base64
import io
import textwrap
from collections.abc import Sequence
from typing import Any

import numpy as np

from blankwright.base.arrays import Array
from blankwright.base.frozen import dataclass
from blankwright.base.said import Line
from blankwright.base.units import show_mm
from blankwright.design.lifted import Lifted
from blankwright.geometry.outline import points_on
from blankwright.ink import lettering
from blankwright.lift.naming import Placing
from blankwright.lift.pictures import library
from blankwright.lift.seen import Backdrop, within_said

SHEET_MM, MARGIN_MM, HIGHEST_MM, TEXT_MM = 297.0, 12.0, 150.0, 2.6
LINE_MM = TEXT_MM * 1.7
COLOURS = {"edge": "#b3261e", "spine": "#1d4f91", "heel": "#7a3e9d", "tang": "#2e6b34", "butt": "#9a6700"}
"""Each region has its colour, and its name beside it: colour alone tells nobody."""
MOST_PX = 1_600
_AROUND = 0.06
_MOST_RINGS = 40
_GREY, _INK, _PAPER = "#8a8a8a", "#000000", "#ffffff"


@dataclass(frozen=True, eq=False)
class _Sheet:
    """Where the source falls on the sheet: source units to sheet mm."""

    low: Array
    high: Array
    scale: float
    left: float
    top: float
    down: bool

    def at(self, places: Array) -> Array:
        x = self.left + (places[:, 0] - self.low[0]) * self.scale
        y = places[:, 1] - self.low[1] if self.down else self.high[1] - places[:, 1]
        return np.column_stack([x, self.top + y * self.scale])


def overlay_svg(lifted: Lifted, placing: Placing, backdrop: Backdrop, notes: Sequence[Line]) -> str:
    """Return the picture as SVG text.

    Args:
        lifted: The outline.
        placing: How it was laid into the design's coordinates.
        backdrop: What it lies over.
        notes: What is to be known, written under it.
    """

    def source(places: Array) -> Array:
        return backdrop.to_source(placing.back(places))

    ring = source(lifted.outline.flattened(0.02))
    sheet = _sheet(ring, down=backdrop.pixels is not None)
    words = _words(lifted, notes)
    foot = sheet.top + (sheet.high[1] - sheet.low[1]) * sheet.scale + 6
    height = int(np.ceil(foot + (len(words) + 1) * LINE_MM + MARGIN_MM))
    import svgwrite  # noqa: PLC0415 - only who draws needs it

    page: Any = svgwrite.Drawing(
        size=(f"{SHEET_MM:g}mm", f"{height}mm"), viewBox=f"0 0 {SHEET_MM:g} {height}", debug=False, profile="full"
    )
    page.set_desc(title=_plain(f"{lifted.name}, lifted from {lifted.source}"))
    page.add(page.rect((0, 0), (SHEET_MM, height), fill=_PAPER))
    _write(page, page, MARGIN_MM, MARGIN_MM + TEXT_MM, f"{lifted.name}, lifted from {lifted.source}", 1.3, bold=True)
    if backdrop.pixels is not None:
        _picture(page, backdrop, sheet)
    _drawing(page, backdrop, sheet)
    _outline(page, lifted, source, sheet)
    _rings(page, backdrop, sheet)
    for k, line in enumerate(words):
        _write(page, page, MARGIN_MM, foot + (k + 1) * LINE_MM, line)
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{page.tostring()}\n'


def _sheet(ring: Array, *, down: bool) -> _Sheet:
    low, high = ring.min(axis=0), ring.max(axis=0)
    around = _AROUND * float((high - low).max())
    low, high = low - around, high + around
    room = SHEET_MM - 2 * MARGIN_MM
    wide, tall = np.maximum(high - low, 1e-6)
    scale = float(min(room / wide, HIGHEST_MM / tall))
    return _Sheet(low, high, scale, MARGIN_MM + (room - wide * scale) / 2, MARGIN_MM + 3 * LINE_MM, down)


def _plain(text: str) -> str:
    return "".join(c if c.isprintable() else "?" for c in text)


def _write(page: Any, group: Any, x: float, y: float, text: str, size: float = 1.0, *, bold: bool = False, colour: str = _INK, anchor: str = "start") -> None:  # fmt: skip # noqa: E501
    more = {"font_weight": "bold"} if bold else {}
    font = round(lettering.font_size_mm(TEXT_MM * size), 3)
    place = (round(x, 3), round(y, 3))
    style = {"font_size": font, "fill": colour, "text_anchor": anchor, "font_family": lettering.FONT_FAMILY}
    group.add(page.text(_plain(text), insert=place, **style, **more))


def _words(lifted: Lifted, notes: Sequence[Line]) -> list[str]:
    outline = lifted.outline
    wide, high = outline.size_mm
    out = [f"{show_mm(wide)} long, {show_mm(high)} high, {outline.area_mm2:.0f} mm²; {len(outline)} arcs and lines"]
    out.append(f"A place may be off by {within_said(lifted.within_mm).shown()}, all parts of the budget together:")
    for row in lifted.budget:
        out += textwrap.wrap(
            f"{show_mm(row.mm, digits=3)}  {row.what}. {row.lessen}".rstrip(), 150, initial_indent="  "
        )
    for note in notes:
        out += textwrap.wrap(note.text(), 150)
    return [*out, "For seeing, not for measuring: the picture is not at true size."]


def _picture(page: Any, backdrop: Backdrop, sheet: _Sheet) -> None:
    """Show the part of the picture around the thing, made small."""
    pixels = backdrop.pixels
    if pixels is None:
        return
    low = np.maximum(np.floor(sheet.low), 0).astype(int)
    high = np.minimum(np.ceil(sheet.high).astype(int), (pixels.shape[1], pixels.shape[0]))
    if (high - low < 2).any():
        return
    part = np.ascontiguousarray(pixels[low[1] : high[1], low[0] : high[0]])
    image = library("PIL.Image", "drawing over a picture").fromarray(part)
    share = min(1.0, MOST_PX / max(image.size))
    image = image.resize((max(1, round(image.width * share)), max(1, round(image.height * share))), 4)  # 4: box filter
    held = io.BytesIO()
    image.save(held, "JPEG", quality=80)
    place, far = sheet.at(np.stack([low, high]).astype(np.float64))
    size = far - place
    data = "data:image/jpeg;base64," + base64.b64encode(held.getvalue()).decode("ascii")
    held_image = page.image(data, insert=_xy(place), size=_xy(size), preserveAspectRatio="none")
    page.add(held_image)


def _xy(place: Array) -> tuple[float, float]:
    return round(float(place[0]), 3), round(float(place[1]), 3)


def _drawing(page: Any, backdrop: Backdrop, sheet: _Sheet) -> None:
    group = page.g(fill="none", stroke=_GREY, stroke_width=0.5, class_="source")
    for rows in backdrop.lines:
        points = sheet.at(_flat(rows))
        group.add(page.path(d=_path(points)))
    page.add(group)


def _flat(rows: Array) -> Array:
    """Return points along rows of x, y and bulge, close enough for the eye."""
    if len(rows) < 2:
        return rows[:, :2]
    turn = 4 * np.arctan(np.abs(rows[:-1, 2]))
    count = np.maximum(1, np.ceil(turn / 0.05)).astype(int)
    piece = np.repeat(np.arange(len(rows) - 1), count)
    first = np.repeat(np.cumsum(count) - count, count)
    share = (np.arange(len(piece)) - first) / count[piece]
    points = points_on(rows[:-1, :2][piece], rows[1:, :2][piece], rows[:-1, 2][piece], share)
    return np.vstack([points, rows[-1:, :2]])


def _path(points: Array) -> str:
    return "M" + "L".join(f"{x:.3f} {y:.3f}" for x, y in points)


def _outline(page: Any, lifted: Lifted, source: Any, sheet: _Sheet) -> None:
    outline = lifted.outline
    group = page.g(fill="none", stroke_width=0.3, stroke_linejoin="round", class_="outline")
    n, runs = len(outline), _runs(outline.regions)
    words = page.g(class_="words")
    for first, count in runs:
        index = [(first + k) % n for k in range(count)]
        rows = np.vstack([outline.vertices[index], [*outline.ends[index[-1]], 0.0]])
        points = sheet.at(source(_flat(rows)))
        region = outline.regions[first]
        group.add(page.path(d=_path(points), stroke=COLOURS[region]))
        _name(page, words, points, region, sheet.at(source(np.array([outline.centroid_mm])))[0])
    for hole in lifted.holes:
        a = np.linspace(0, 2 * np.pi, 73)
        circle = np.column_stack(
            [hole.x_mm + hole.diameter_mm / 2 * np.cos(a), hole.y_mm + hole.diameter_mm / 2 * np.sin(a)]
        )
        group.add(page.path(d=_path(sheet.at(source(circle))), stroke=COLOURS["edge"]))
    page.add(group)
    heel = sheet.at(source(np.zeros((1, 2))))[0]
    cross = "".join(
        f"M{heel[0] - u:.3f} {heel[1] - v:.3f}L{heel[0] + u:.3f} {heel[1] + v:.3f}" for u, v in ((3, 0), (0, 3))
    )
    page.add(page.path(d=cross, stroke=_INK, stroke_width=0.2, fill="none"))
    page.add(words)


def _runs(regions: Sequence[str]) -> list[tuple[int, int]]:
    """Return first piece and number of pieces of each run of one region, round the end."""
    n = len(regions)
    starts = [k for k in range(n) if regions[k] != regions[k - 1]] or [0]
    return [(a, (starts[(i + 1) % len(starts)] - a) % n or n) for i, a in enumerate(starts)]


def _name(page: Any, words: Any, points: Array, region: str, middle: Array) -> None:
    """Write a region's name beside the middle of its run, on the side away from the thing."""
    at = points[len(points) // 2]
    away = at - middle
    away = away / max(float(np.hypot(*away)), 1e-6)
    x, y = at + 4.0 * np.array([away[0], np.sign(away[1]) or 1.0])
    anchor = "end" if away[0] < -0.7 else "start" if away[0] > 0.7 else "middle"
    _write(page, words, x, y + TEXT_MM / 2, region, 0.9, colour=COLOURS[region], anchor=anchor)


def _rings(page: Any, backdrop: Backdrop, sheet: _Sheet) -> None:
    """Ring places that could hardly be seen, one ring for each stretch of them."""
    if backdrop.weak is None or not len(backdrop.weak):
        return
    group = page.g(fill="none", stroke="#9a6700", stroke_width=0.4, stroke_dasharray="1.2 0.6", class_="weak")
    points = sheet.at(backdrop.to_source(backdrop.weak))
    left = points
    for _ in range(_MOST_RINGS):
        if not len(left):
            break
        near = np.hypot(*(left - left[0]).T) < 5.0
        group.add(page.circle(_xy(left[near].mean(axis=0)), 3.0))
        left = left[~near]
    page.add(group)
