"""The picture of a placing: the whole piece, what to keep clear of, the knife on it, and where it is scarce."""

from __future__ import annotations

import math
from textwrap import wrap

import numpy as np
import shapely

from blankwright.base.arrays import Place
from blankwright.base.said import bare, mm
from blankwright.geometry.chain import Chain
from blankwright.ink import lettering
from blankwright.ink.marks import (
    CENTRE,
    CUT,
    FINISHED,
    HATCH,
    HIDDEN,
    HOLE,
    NARROW,
    ClosedLine,
    Curve,
    Marks,
    Ring,
    Segment,
    Text,
)
from blankwright.ink.svg import marks_svg
from blankwright.stock.grain import lies_words
from blankwright.stock.grainmark import grain_mark
from blankwright.stock.ofmaterial import piece_is_of
from blankwright.stock.piece import Zone
from blankwright.stock.place import Placed
from blankwright.stock.report import anchors, keep_line, piece_words
from blankwright.stock.scarce import CUT_WORDS, also_scarce, side_by_side
from blankwright.stock.shown import shown

_LEAST_TEXT_MM = 2.5
_TEXT_SHARE = 1 / 150
_MOST_HATCHES = 60
_FINE_MM = 0.01
_WIDE = 110
"""Letters in a line below the piece."""


def placing_svg(placed: Placed) -> str:
    """Return the picture as SVG; one unit is one mm."""
    short = f"too thin by {placed.thin_mm:.2f} mm" if placed.thin_mm else f"{placed.short_mm:.2f} mm short"
    fits = "fits" if placed.fits else "no side of it may lie up" if placed.sideless else short
    name = placed.wanted.knife.design.name
    return marks_svg(
        placing_marks(placed),
        f"{name} on {placed.piece.name}",
        f"{name} on a piece of steel, {fits}; lengths in mm; one unit is one mm",
    )


def placing_marks(placed: Placed) -> Marks:
    """Return what the picture shows, in the coordinates of the piece."""
    piece, pose, knife = placed.piece, placed.pose, placed.wanted.knife
    height = max(_LEAST_TEXT_MM, max(piece.outline.size_mm) * _TEXT_SHARE)
    marks = Marks()
    marks.add(ClosedLine(piece.outline, FINISHED))
    for zone in piece.zones:
        _zone(marks, zone, piece.words_of(zone), height, piece.outline.bounds_mm[3])
    if placed.sideless:
        _words(marks, placed, height)
        return marks
    marks.add(ClosedLine(pose.outline(placed.wanted.cut), CUT), ClosedLine(pose.outline(knife.finished), NARROW))
    for hole in knife.holes:
        x, y = pose.points(np.array([[hole.hole.x_mm, hole.hole.y_mm]]))[0].tolist()
        marks.add(Ring(x, y, hole.hole.diameter_mm, HOLE))
    _sizes(marks, placed, height)
    _grain(marks, placed, height)
    _scarce(marks, placed, height)
    _words(marks, placed, height)
    return marks


def _zone(marks: Marks, zone: Zone, name: str, height: float, top_mm: float) -> None:
    """Draw a zone and, dashed around it, how far it is kept clear of; its name stands in it or beside it."""
    marks.add(ClosedLine(zone.outline, NARROW if zone.kind == "keep" else HIDDEN))
    x0, y0, x1, y1 = zone.outline.bounds_mm
    if zone.kind == "avoid":
        marks.add(*(Segment(a, b, HATCH) for a, b in _hatching(zone, 1.6 * height)))
    words = lettering.clean(name, 40)
    inside = lettering.width_mm(words, height) < x1 - x0 - 2 and zone.kind == "keep"
    y = (y0 + y1 - height) / 2 if inside else y1 + 0.6 * height
    if not inside and y + height > top_mm > y1 and y0 > 2.0 * height:  # its edge would cross the name
        y = y0 - 1.6 * height
    marks.add(Text((x0 + x1) / 2, y, words, height, "middle"))


def _hatching(zone: Zone, apart_mm: float) -> list[tuple[Place, Place]]:
    """Return slanting lines over a zone."""
    area = zone.outline.to_shapely(_FINE_MM)
    x0, y0, x1, y1 = area.bounds
    lines = []
    for x in np.arange(x0 - (y1 - y0) + apart_mm / 2, x1, max(apart_mm, (x1 - x0 + y1 - y0) / _MOST_HATCHES)):
        found = area.intersection(shapely.LineString([(x, y0), (x + y1 - y0, y1)]))
        ends = [list(g.coords) for g in getattr(found, "geoms", [found]) if g.geom_type == "LineString"]
        lines += [((a[0][0], a[0][1]), (a[-1][0], a[-1][1])) for a in ends if len(a) > 1]
    return lines


def _sizes(marks: Marks, placed: Placed, height: float) -> None:
    """Say from the lower left corner where tip, butt and heel lie."""
    piece = placed.piece
    x0, y0, _, y1 = piece.outline.bounds_mm
    y = y0 - 5.0 * height
    for name, (x, at), _ in sorted(anchors(placed), key=lambda one: one[1][0]):
        if name == "spine over the heel":
            continue
        marks.add(Segment((x, at), (x, y + 1.3 * height), NARROW))
        marks.add(Text(x, y, f"{CUT_WORDS[name]} {bare(x, 1)} / {bare(at, 1)}", height, "middle"))
        y -= 1.8 * height
    words = f"{piece_words(piece).text()}; {piece_is_of(placed.wanted.knife, piece)}"
    marks.add(Text(x0, y1 + 4.2 * height, lettering.clean(words, 120), height, "start"))
    marks.add(Text(x0, y - 0.4 * height, "places from the lower left corner: along / across, mm", height, "start"))
    lost = [keep_line(placed, limit) for limit in placed.verdict.lacking if limit.kind == "keep"]
    told = [kept.line() for kept in shown(placed)] if placed.fits else lost
    for number, words in enumerate([row for line in told for row in wrap(line.text(), _WIDE)], start=1):
        marks.add(Text(x0, y - (0.4 + 1.8 * number) * height, words, height, "start"))


def _grain(marks: Marks, placed: Placed, height: float) -> None:
    grain = placed.piece.grain_deg
    if grain is None:
        return
    _, _, x1, y1 = placed.piece.outline.bounds_mm
    up = 4.5 + 6.0 * abs(math.sin(math.radians(grain)))  # its lower end stays clear of what is written at the piece
    grain_mark(marks, grain, (x1 - 14.0 * height, y1 + up * height), 12.0 * height, height)


def _scarce(marks: Marks, placed: Placed, height: float) -> None:
    """Ring the place where it is scarcest, and say by how much."""
    shown = placed.verdict.lacking if placed.thin_mm else placed.verdict.distances
    limit = min(shown, key=lambda one: one.spare)
    x, y = limit.at_mm
    marks.add(Ring(x, y, 3.0 * height, CENTRE))
    for other in also_scarce(placed, limit):
        marks.add(Ring(*other.at_mm, 3.0 * height, CENTRE))
    _, y0, _, y1 = placed.piece.outline.bounds_mm
    above = y > (y0 + y1) / 2
    beyond = y1 + 1.6 * height if above else y0 - 1.4 * height
    near = y + (4.0 if above else -4.0) * height
    end = (x + 3.0 * height, beyond if abs(beyond - y) < 8.0 * height else near)
    way = (end[0] - x, end[1] - y)
    size = math.hypot(*way)
    start = (x + way[0] / size * 1.5 * height, y + way[1] / size * 1.5 * height)
    told = side_by_side(limit.least_mm, limit.need).text()
    if not limit.holds:
        off = mm(-limit.spare).shown()
        told = f"too thin by {off} here" if limit.kind == "thickness" else f"{off} short here"
    marks.add(Curve(Chain(np.array([[*start, 0.0], [*end, 0.0]])), NARROW))
    marks.add(Text(end[0] + 0.5 * height, end[1] - height / 2, told, height, "start"))


def _words(marks: Marks, placed: Placed, height: float) -> None:
    x0, _, _, y1 = placed.piece.outline.bounds_mm
    pose = placed.pose
    side = "turned over" if pose.flipped else "as drawn"
    fits = "" if placed.fits else ", does not fit"
    turned = f", turned {pose.turn_deg:.2f}°" if round(pose.turn_deg, 2) else ""
    lies = lies_words(placed) if placed.fits else None
    grain = "" if lies is None else f"; {lies.text()}"
    how = "does not fit, no side of it may lie up" if placed.sideless else f"{side}{turned}{fits}{grain}"
    words = f"{placed.wanted.knife.design.title}: {how}"
    marks.add(Text(x0, y1 + 6.2 * height, lettering.clean(words, 120), 1.2 * height, "start", bold=True))
