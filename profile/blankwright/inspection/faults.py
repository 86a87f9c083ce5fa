"""A picture of a cutting file with a numbered mark at every fault, and the list that goes with the numbers.

SVG 1.1 (W3C). The drawing is scaled to a fixed width and says so: it is for finding places, not for measuring.
"""

from __future__ import annotations

import math
import textwrap
from collections.abc import Sequence
from typing import Any

import numpy as np

from blankwright.base.arrays import Array
from blankwright.base.frozen import dataclass
from blankwright.base.units import show_mm
from blankwright.geometry.outline import points_on
from blankwright.ink import lettering

Point = tuple[float, float]

SHEET_MM = 297.0
MARGIN_MM = 14.0
HIGHEST_MM = 150.0
TEXT_MM = 2.8
"""Height of the capitals in the list."""
BADGE_MM = 3.2
"""Half width of the ring around a number."""
LINE_MM = TEXT_MM * 1.7
MOST_POINTS = 60_000
_INK, _PAPER, _GREY = "#000000", "#ffffff", "#8a8a8a"
_COLOURS = {"error": "#b3261e", "warning": "#9a6700"}
LINES: dict[str, dict[str, Any]] = {
    "cut": {"stroke": _INK, "stroke_width": 0.35},
    "mark": {"stroke": "#1d4f91", "stroke_width": 0.35, "stroke_dasharray": "4 1 0.6 1"},
    "aside": {"stroke": _GREY, "stroke_width": 0.3, "stroke_dasharray": "1.6 1"},
    "hidden": {"stroke": _GREY, "stroke_width": 0.3, "stroke_dasharray": "0.3 1.2"},
}
"""How a line is drawn that is cut, marked, left or switched off: told apart by its dashes, not by colour alone."""
_SHAPES = {"error": "x", "warning": "!"}


@dataclass(frozen=True, eq=False)
class Drawn:
    """A contour of the picture.

    Args:
        vertices: (n, 3) x [mm], y [mm] and bulge.
        closed: Whether a last piece runs back to the first vertex.
        role: What it is for, a key of LINES.
    """

    vertices: Array
    closed: bool
    role: str = "cut"


@dataclass(frozen=True)
class Words:
    """Words that stand in the middle of a part [mm]."""

    text: str
    at_mm: Point


@dataclass(frozen=True)
class Fault:
    """A fault of the list.

    Args:
        number: Its number in list and picture.
        code: Its code.
        level: "warning" or "error".
        message: Its sentence.
        at_mm: Where it is [mm], or None when it concerns the whole.
    """

    number: int
    code: str
    level: str
    message: str
    at_mm: Point | None


def faults_svg(
    title: str, lines: Sequence[str], drawn: Sequence[Drawn], faults: Sequence[Fault],
    roles: Sequence[tuple[str, str]] = (), parts: Sequence[Words] = (),
) -> str:  # fmt: skip
    """Return the picture as SVG text.

    Args:
        title: The verdict.
        lines: Facts under it, one line each.
        drawn: All contours.
        faults: All faults, in the order of their numbers.
        roles: Role and what has it, for the legend of lines.
        parts: Names of parts.
    """
    low, high = _bounds(drawn, faults)
    room = SHEET_MM - 2 * MARGIN_MM
    scale = min(room / max(high[0] - low[0], 1e-6), HIGHEST_MM / max(high[1] - low[1], 1e-6))
    top = MARGIN_MM + (len(lines) + 2) * LINE_MM + 2 * BADGE_MM + 4
    foot = top + (high[1] - low[1]) * scale + 4 * BADGE_MM + 6
    legend = [row for fault in faults for row in _rows(fault)]
    below = foot + len(roles) * LINE_MM
    height = math.ceil(below + (len(legend) + 1) * LINE_MM + MARGIN_MM)
    import svgwrite  # noqa: PLC0415 - only who draws needs it

    page: Any = svgwrite.Drawing(
        size=(f"{SHEET_MM:g}mm", f"{height}mm"), viewBox=f"0 0 {SHEET_MM:g} {height}", debug=False, profile="full"
    )
    page.set_desc(title=_plain(title))
    page.add(page.rect((0, 0), (SHEET_MM, height), fill=_PAPER))
    left = MARGIN_MM + (room - (high[0] - low[0]) * scale) / 2

    def at(p: Array) -> Array:
        return np.stack([left + (p[..., 0] - low[0]) * scale, top + (high[1] - p[..., 1]) * scale], axis=-1)

    words = page.g(font_family=lettering.FONT_FAMILY, fill=_INK)
    _write(page, words, MARGIN_MM, MARGIN_MM + TEXT_MM, title, 1.35, bold=True)
    for k, line in enumerate(lines):
        _write(page, words, MARGIN_MM, MARGIN_MM + TEXT_MM + (k + 1.4) * LINE_MM, line)
    page.add(_contours(page, drawn, at, scale))
    for each in parts:
        x, y = (float(v) for v in at(np.array(each.at_mm)))
        _write(page, words, x, y, each.text, 0.9, anchor="middle", colour=_GREY)
    for k, (role, text) in enumerate(roles):
        y = round(foot + (k + 1) * LINE_MM - TEXT_MM / 2, 3)
        page.add(page.line((MARGIN_MM, y), (MARGIN_MM + 16, y), class_="sample", **LINES[role]))
        _write(page, words, MARGIN_MM + 19, y + TEXT_MM / 2, text)
    page.add(_marks(page, faults, at))
    for k, (number, level, text) in enumerate(legend):
        y = below + (k + 1.4) * LINE_MM
        if number:
            _write(page, words, MARGIN_MM + 6, y, number, bold=True, anchor="end", colour=_COLOURS[level])
        _write(page, words, MARGIN_MM + 9, y, text)
    page.add(words)
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{page.tostring()}\n'


def _plain(text: str) -> str:
    """Return a text without what XML forbids."""
    return "".join(c if c.isprintable() else "?" for c in text)


def _write(
    page: Any, group: Any, x: float, y: float, text: str, size: float = 1.0, *, bold: bool = False,
    anchor: str = "start", colour: str = _INK,
) -> None:  # fmt: skip
    weight = {"font_weight": "bold"} if bold else {}
    font = round(lettering.font_size_mm(TEXT_MM * size), 3)
    place = (round(x, 3), round(y, 3))
    group.add(page.text(_plain(text), insert=place, font_size=font, text_anchor=anchor, fill=colour, **weight))


def _rows(fault: Fault) -> list[tuple[str, str, str]]:
    """Return the lines of a fault in the list: number, level and text."""
    place = "" if fault.at_mm is not None else " (whole file)"
    text = textwrap.wrap(f"{_SHAPES[fault.level]} {fault.code}: {fault.message}{place}", 128)
    return [(str(fault.number) if k == 0 else "", fault.level, row) for k, row in enumerate(text)]


def _bounds(drawn: Sequence[Drawn], faults: Sequence[Fault]) -> tuple[Array, Array]:
    points = [_flat(d) for d in drawn] + [np.array([f.at_mm]) for f in faults if f.at_mm is not None]
    if not points:
        return np.zeros(2), np.ones(2)
    p = np.concatenate(points)
    return p.min(axis=0), p.max(axis=0)


def _flat(d: Drawn) -> Array:
    """Return points along a contour, close enough for the eye."""
    v = np.vstack([d.vertices, d.vertices[:1]]) if d.closed else d.vertices
    turn = 4 * np.arctan(np.abs(v[:-1, 2]))
    count = np.maximum(1, np.ceil(turn / 0.008)).astype(int)
    if count.sum() > MOST_POINTS:
        count = np.ones_like(count)
    piece = np.repeat(np.arange(len(v) - 1), count)
    first = np.repeat(np.cumsum(count) - count, count)
    share = (np.arange(len(piece)) - first) / count[piece]
    points = points_on(v[:-1, :2][piece], v[1:, :2][piece], v[:-1, 2][piece], share)
    return np.vstack([points, v[-1:, :2]])


def _contours(page: Any, drawn: Sequence[Drawn], at: Any, scale: float) -> Any:
    group = page.g(fill="none", stroke=_INK, stroke_width=0.35, stroke_linejoin="round", class_="contours")
    for d in drawn:
        points = at(_flat(d))
        path = "M" + "L".join(f"{x:.3f} {y:.3f}" for x, y in points) + ("Z" if d.closed else "")
        open_cut = d.role == "cut" and not d.closed
        style = LINES[d.role] | ({"stroke": _COLOURS["error"]} if open_cut else {})
        group.add(page.path(d=path, **style))
    _bar(page, group, drawn, at, scale)
    return group


def _bar(page: Any, group: Any, drawn: Sequence[Drawn], at: Any, scale: float) -> None:
    """Draw a bar of a round length under the contours."""
    long = next(v for v in (500, 200, 100, 50, 20, 10, 5, 2, 1, 0.5, 0.1, 0.01, 0) if v * scale < SHEET_MM / 2.5)
    if long * scale < 3:
        return
    y = float(at(np.array([0.0, _lowest(drawn)]))[1]) + 2 * BADGE_MM + 5
    x0, x1 = round(MARGIN_MM, 3), round(MARGIN_MM + long * scale, 3)
    ticks = "".join(f"M{x} {y - 1:.3f}V{y + 1:.3f}" for x in (x0, x1))
    group.add(page.path(d=f"{ticks}M{x0} {y:.3f}H{x1}", stroke=_GREY))
    style = {"fill": _GREY, "stroke": "none", "font_family": lettering.FONT_FAMILY}
    size = round(lettering.font_size_mm(TEXT_MM * 0.9), 3)
    group.add(page.text(show_mm(long, digits=0), insert=(x1 + 2, round(y + TEXT_MM / 2, 3)), font_size=size, **style))


def _lowest(drawn: Sequence[Drawn]) -> float:
    return min((float(_flat(d)[:, 1].min()) for d in drawn), default=0.0)


def _marks(page: Any, faults: Sequence[Fault], at: Any) -> Any:
    """Ring each place, and set its number beside it where no other number stands."""
    group = page.g(class_="marks", font_family=lettering.FONT_FAMILY)
    rings = [tuple(map(float, at(np.array(f.at_mm)))) for f in faults if f.at_mm is not None]
    taken: list[Point] = [(x, y) for x, y in rings]
    size = round(lettering.font_size_mm(TEXT_MM * 0.9), 3)
    for fault in faults:
        if fault.at_mm is None:
            continue
        x, y = (float(v) for v in at(np.array(fault.at_mm)))
        u, v = _free(x, y, taken)
        taken.append((u, v))
        colour = _COLOURS[fault.level]
        away = math.hypot(u - x, v - y)
        a, b = ((u - x) / away, (v - y) / away)
        group.add(page.circle((round(x, 3), round(y, 3)), 1.2, fill="none", stroke=colour, stroke_width=0.35))
        start = (round(x + 1.2 * a, 3), round(y + 1.2 * b, 3))
        end = (round(u - BADGE_MM * a, 3), round(v - BADGE_MM * b, 3))
        group.add(page.line(start, end, stroke=colour, stroke_width=0.25))
        dashes = {} if fault.level == "error" else {"stroke_dasharray": "1.2 0.6"}
        group.add(
            page.circle((round(u, 3), round(v, 3)), BADGE_MM, fill=_PAPER, stroke=colour, stroke_width=0.4, **dashes)
        )
        group.add(
            page.text(
                str(fault.number),
                insert=(round(u, 3), round(v + TEXT_MM * 0.45, 3)),
                font_size=size,
                text_anchor="middle",
                fill=colour,
                font_weight="bold",
            )
        )
    return group


def _free(x: float, y: float, taken: Sequence[Point]) -> Point:
    """Return a place for a number near (x, y), clear of the others and inside of the sheet."""
    best, most = (x + 8.0, y - 8.0), -1.0
    for reach in (9.0, 14.0, 20.0, 27.0):
        for k in range(12):
            angle = math.radians(-50 + 30 * k)
            u, v = x + reach * math.cos(angle), y + reach * math.sin(angle)
            if not BADGE_MM < u < SHEET_MM - BADGE_MM:
                continue
            room = min((math.dist((u, v), p) for p in taken if p != (x, y)), default=math.inf)
            if room > 2.2 * BADGE_MM:
                return u, v
            if room > most:
                best, most = (u, v), room
    return best
