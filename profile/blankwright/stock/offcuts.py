"""What is left of the stock: straight offcuts and pieces not used, as a stock file for the next job."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely
from shapely.affinity import translate

from blankwright.geometry.outline import Outline
from blankwright.stock.layout import Layout, Sheet
from blankwright.stock.piece import Piece, Zone, box

LEAST_LONG_MM, LEAST_WIDE_MM = 60.0, 20.0
"""What is smaller goes into the scrap."""

_FLAT_MM = 0.01
_NAME = 100


def leftover(layout: Layout) -> list[Piece]:
    """Return the offcuts of the pieces that are used, and the pieces that are not."""
    out = [offcut for sheet in layout.sheets for offcut in offcuts(layout, sheet)]
    for number, piece in enumerate(layout.job.pieces):
        used = len([sheet for sheet in layout.sheets if sheet.piece == number])
        if used < piece.quantity:
            out.append(replace(piece, quantity=piece.quantity - used))
    return _told_apart(out)


def offcuts(layout: Layout, sheet: Sheet) -> list[Piece]:
    """Return what two straight saw cuts save of a piece: beside the blanks to the right, and above them.

    The cuts stay as far away from the blanks as the gap; the one with the larger offcut goes through.
    """
    job, piece = layout.job, layout.job.pieces[sheet.piece]
    boxes = np.array([layout.outline(one).bounds_mm for one in sheet.laid])
    x0, y0, x1, y1 = piece.outline.bounds_mm
    right, above = float(boxes[:, 2].max()) + job.gap_mm, float(boxes[:, 3].max()) + job.gap_mm
    first = [(right, y0, x1, y1), (x0, above, min(right, x1), y1)]
    second = [(x0, above, x1, y1), (right, y0, x1, min(above, y1))]
    ways = [[one for one in (_offcut(piece, box_) for box_ in boxes_) if one is not None] for boxes_ in (first, second)]
    best = max(ways, key=lambda way: max((one.outline.area_mm2 for one in way), default=0.0))
    copy = f" {sheet.copy}" if piece.quantity > 1 else ""
    return [replace(one, name=f"offcut of {piece.name}{copy}"[:_NAME]) for one in best]


def whole_size_mm(offcut: Piece) -> tuple[float, float]:
    """Return length and width of an offcut in whole millimetres that it has: what is told is there [mm]."""
    long, wide = (float(np.floor(mm + 1e-6)) for mm in offcut.outline.size_mm)
    return long, wide


def _offcut(piece: Piece, window: tuple[float, float, float, float]) -> Piece | None:
    """Return a piece within a window, moved to the origin; None where too little of it is left."""
    x0, y0, x1, y1 = window
    if x1 - x0 < LEAST_WIDE_MM or y1 - y0 < LEAST_WIDE_MM:
        return None
    if piece.kind != "found":
        outline = box(round(x1 - x0, 3), round(y1 - y0, 3))
    else:
        area = piece.outline.to_shapely(_FLAT_MM).intersection(shapely.box(*window))
        parts = [g for g in getattr(area, "geoms", [area]) if g.geom_type == "Polygon" and g.area > 1]
        if not parts:
            return None
        largest = max(parts, key=lambda g: g.area)
        x0, y0 = largest.bounds[:2]
        outline = _outline(translate(largest, -x0, -y0))
    if max(outline.size_mm) < LEAST_LONG_MM or min(outline.size_mm) < LEAST_WIDE_MM:
        return None
    zones = tuple(zone for zone in (_moved(zone, x0, y0, outline) for zone in piece.zones) if zone is not None)
    thickness = _thickness(piece, x0, x0 + outline.size_mm[0])
    return replace(piece, outline=outline, thickness=thickness, zones=zones, quantity=1)


def _moved(zone: Zone, x0: float, y0: float, outline: Outline) -> Zone | None:
    moved = zone.outline.moved(-x0, -y0)
    area = moved.to_shapely(_FLAT_MM)
    if not area.buffer(zone.margin_mm).intersects(outline.to_shapely(_FLAT_MM)):
        return None
    if not shapely.box(*area.bounds).intersects(shapely.box(*outline.bounds_mm)):
        return None
    return replace(zone, outline=moved)


def _thickness(piece: Piece, x0: float, x1: float) -> tuple[tuple[float, float], ...]:
    if len(piece.thickness) == 1:
        return ((0.0, piece.thickness[0][1]),)
    at = np.unique([x0, *[x for x, _ in piece.thickness if x0 < x < x1], x1])
    mm = piece.thickness_at(at)
    return tuple((round(float(x - x0), 6), float(t)) for x, t in zip(at, mm, strict=True))


def _outline(area: shapely.Polygon) -> Outline:
    points = np.array(shapely.normalize(area).simplify(_FLAT_MM / 2).exterior.coords)[:-1]
    outline = Outline(np.column_stack([points, np.zeros(len(points))]))
    return outline if outline.area_mm2 > 0 else outline.reversed()


def _told_apart(pieces: Sequence[Piece]) -> list[Piece]:
    """Return pieces with names of their own."""
    out: list[Piece] = []
    names: set[str] = set()
    for piece in pieces:
        name, k = piece.name, 2
        while name in names:
            name, k = f"{piece.name[: _NAME - 6]} ({k})", k + 1
        names.add(name)
        out.append(replace(piece, name=name))
    return out
