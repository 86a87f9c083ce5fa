"""A layout drawn: each piece with its blanks numbered in the order of cutting, offcuts, and the map beneath."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely

from blankwright.base.arrays import Place
from blankwright.base.said import bare
from blankwright.geometry.outline import Outline
from blankwright.ink import lettering
from blankwright.ink.marks import (
    CENTRE,
    CUT,
    FINISHED,
    HIDDEN,
    HOLE,
    NARROW,
    ClosedLine,
    Marks,
    Ring,
    Segment,
    Text,
)
from blankwright.ink.papers import Paper
from blankwright.ink.pdf import Layer, Page, pdf_bytes
from blankwright.ink.svg import marks_svg
from blankwright.stock.blank import Blank
from blankwright.stock.figures import hole_diameters
from blankwright.stock.grain import across
from blankwright.stock.grainmark import grain_mark
from blankwright.stock.layout import Layout, Sheet
from blankwright.stock.nestmap import Row, chalk_map
from blankwright.stock.offcuts import offcuts, whole_size_mm
from blankwright.stock.ofmaterial import named
from blankwright.stock.piece import Piece, Zone
from blankwright.stock.underneath import thick_in

_LEAST_TEXT_MM, _TEXT_SHARE = 2.5, 1 / 170
_PAGE_TEXT_MM, _TITLE_MM, _ROW_MM, _EDGE_MM = 2.2, 3.6, 4.4, 12.0
_COLUMNS = ((0.0, "no."), (10.0, "blank"), (70.0, "side"), (95.0, "turn"))
_PLACES_MM, _PLACE_WIDE_MM = 116.0, 40.0
_MOST_PICTURE = 0.62
_WHICH = "tip and butt of the cut line, heel of the finished knife"


def sheet_name(layout: Layout, sheet: Sheet) -> str:
    """Return what a piece is called: its name, and which copy."""
    piece = layout.job.pieces[sheet.piece]
    return f"{piece.name}, {sheet.copy} of {piece.quantity}" if piece.quantity > 1 else piece.name


def material_words(layout: Layout, sheet: Sheet) -> str:
    """Return what a piece is of and whether the stock file says so, in words; empty where nobody says."""
    piece = layout.job.pieces[sheet.piece]
    steel = layout.job.material_of(piece)
    if steel is None:
        return ""
    if piece.material is None:
        return f"{layout.job.stock} does not say its material; taken as {named(steel)}"
    return f"{steel.title}, as {layout.job.stock} says"


def sheet_svg(layout: Layout, sheet: Sheet) -> str:
    """Return the picture of a piece as SVG; one unit is one mm."""
    piece = layout.job.pieces[sheet.piece]
    height_mm = max(_LEAST_TEXT_MM, max(piece.outline.size_mm) * _TEXT_SHARE)
    marks = piece_marks(layout, sheet, 1.0, height_mm)
    x0, y0, _, y1 = piece.outline.bounds_mm
    marks.add(Text(x0, y1 + 2.2 * height_mm, _title(layout, sheet), 1.3 * height_mm, "start", bold=True))
    if piece.grain_deg is not None:
        rise, at_x = abs(math.sin(math.radians(piece.grain_deg))), piece.outline.bounds_mm[2] - 9.0 * height_mm
        beside = marks.texts[-1].box.x1 < at_x - 5.0 * height_mm  # the title
        at = (at_x, y1 + ((2.8 if beside else 5.5) + 4.0 * rise) * height_mm)
        grain_mark(marks, piece.grain_deg, at, 8.0 * height_mm, height_mm)
    y = y0 - 3.2 * height_mm
    marks.add(Text(x0, y, _how_to_read(), height_mm, "start"))
    for words in _steel_words(layout, sheet):
        y -= 1.9 * height_mm
        marks.add(Text(x0, y, lettering.clean(words, 140), height_mm, "start"))
    for row in chalk_map(layout, sheet):
        y -= 1.9 * height_mm
        places = "; ".join(f"{m.name} {bare(m.from_left_mm, 1)} / {bare(m.from_below_mm, 1)}" for m in row.marks)
        words = f"{row.number}  {row.name}, {row.side}, turned {row.turn_deg:.2f}°:  {places}"
        marks.add(Text(x0, y, lettering.clean(words, 140), height_mm, "start"))
    words = f"{len(sheet.laid)} blanks on {sheet_name(layout, sheet)}; lengths in mm; one unit is one mm"
    return marks_svg(marks, f"{layout.job.name}: {sheet_name(layout, sheet)}", words)


def _steel_words(layout: Layout, sheet: Sheet) -> list[str]:
    """Return what a piece is of, and how far a blade lies across its grain, as far as either is known."""
    most, grain_deg = across(layout, sheet), layout.job.pieces[sheet.piece].grain_deg
    out = [material_words(layout, sheet)]
    if most is not None and grain_deg is not None:
        way = {0.0: "along the piece", 90.0: "across the piece"}.get(
            grain_deg % 180.0, f"{grain_deg:g}° from its length"
        )
        out.append(f"grain {way}; {most.short().text()}")
    return [words for words in out if words]


def _how_to_read() -> str:
    return f"numbers: order of cutting; places from the left edge / from the lower edge, mm; {_WHICH}"


def _title(layout: Layout, sheet: Sheet) -> str:
    piece = layout.job.pieces[sheet.piece]
    wide, high = piece.outline.size_mm
    size = f"{round(wide, 1):g} x {round(high, 1):g} x {thick_in(piece, piece.outline).shown()}"
    return lettering.clean(f"{layout.job.name}: {sheet_name(layout, sheet)}, {size}", 120)


def piece_marks(layout: Layout, sheet: Sheet, scale: float, height_mm: float) -> Marks:
    """Return a piece and its blanks, in the coordinates of the piece times a scale.

    Args:
        layout: The layout.
        sheet: The piece.
        scale: Millimetres on paper for one of steel.
        height_mm: Of the lettering [mm].
    """
    job, piece, marks = layout.job, layout.job.pieces[sheet.piece], Marks()
    marks.add(ClosedLine(scaled(piece.outline, scale), FINISHED))
    taken = [scaled(layout.outline(one), scale).to_shapely(0.05) for one in sheet.laid]
    laid = shapely.union_all([*taken, scaled(piece.outline, scale).to_shapely(0.05).exterior])
    for zone in piece.avoided:
        _zone(marks, zone, scale, height_mm, laid)
    for number, one in enumerate(sheet.laid, start=1):
        blank = job.blanks[one.blank]
        marks.add(ClosedLine(scaled(layout.outline(one), scale), CUT))
        x, y = (v * scale for v in one.pose.points(np.array([_middle(blank)]))[0].tolist())
        marks.add(Text(x, y - height_mm * 0.6, str(number), 1.2 * height_mm, "middle", bold=True))
        if blank.knife is None:
            continue
        for hole, mm in zip(_cut_holes(blank.knife.holes), hole_diameters(blank), strict=True):
            hx, hy = one.pose.points(np.array([hole]))[0].tolist()
            marks.add(Ring(hx * scale, hy * scale, mm * scale, HOLE))
    _offcut_lines(marks, layout, sheet, scale, height_mm)
    _held(marks, layout, piece, scale, height_mm)
    return marks


def _middle(blank: Blank) -> Place:
    """Return where a blank's number stands: in the blade ahead of the heel, where no hole is."""
    if blank.knife is None:
        return blank.outline.centroid_mm
    return 0.2 * blank.outline.bounds_mm[2], blank.knife.shape.values_mm["heel_height"] / 2


def _cut_holes(holes: Sequence[object]) -> list[Place]:
    return [(h.hole.x_mm, h.hole.y_mm) for h in holes if h.made.cut_diameter_mm is not None]  # type: ignore[attr-defined]


def scaled(outline: Outline, scale: float) -> Outline:
    """Return an outline times a scale."""
    return outline if scale == 1.0 else Outline(outline.vertices * np.array([scale, scale, 1.0]))


def _zone(marks: Marks, zone: Zone, scale: float, height_mm: float, laid: shapely.Geometry) -> None:
    """Draw a zone crossed out; its name stands beside it where neither a blank nor an edge lies, or is left out."""
    marks.add(ClosedLine(scaled(zone.outline, scale), HIDDEN))
    x0, y0, x1, y1 = (v * scale for v in zone.outline.bounds_mm)
    marks.add(Segment((x0, y0), (x1, y1), NARROW), Segment((x0, y1), (x1, y0), NARROW))
    words, high, x = lettering.clean(zone.words, 30), 0.8 * height_mm, (x0 + x1) / 2
    places = [(x, y1 + 0.5 * height_mm, "middle"), (x, y0 - 1.4 * height_mm, "middle")]
    places += [
        (x1 + 0.5 * height_mm, (y0 + y1 - high) / 2, "start"),
        (x0 - 0.5 * height_mm, (y0 + y1 - high) / 2, "end"),
    ]
    for at in places:
        text = Text(at[0], at[1], words, high, at[2])
        if not _box(text).intersects(laid):
            marks.add(text)
            return


def _box(text: Text) -> shapely.Polygon:
    return shapely.box(text.box.x0, text.box.y0, text.box.x1, text.box.y1)


def _offcut_lines(marks: Marks, layout: Layout, sheet: Sheet, scale: float, height_mm: float) -> None:
    """Draw where a saw parts the offcuts off, and say how large they are."""
    job, piece = layout.job, layout.job.pieces[sheet.piece]
    boxes = np.array([layout.outline(one).bounds_mm for one in sheet.laid])
    x0, y0, x1, y1 = piece.outline.bounds_mm
    right, above = float(boxes[:, 2].max()) + job.gap_mm, float(boxes[:, 3].max()) + job.gap_mm
    steel = piece.outline.to_shapely(0.05)
    zones = shapely.union_all([zone.outline.to_shapely(0.05) for zone in piece.avoided])
    for one in offcuts(layout, sheet):
        wide, high = one.outline.size_mm
        beside = wide <= x1 - right + 0.01
        through = high >= min(y1 - y0, steel.bounds[3]) * 0.5 if beside else wide >= x1 - x0 - 0.01
        if beside:
            a, b = (right, y0), (right, y1 if through else above)
            middle = ((right + x1) / 2, (y0 + b[1]) / 2)
        else:
            a, b = (x0, above), (x1 if through else right, above)
            middle = ((x0 + b[0]) / 2, (above + y1) / 2)
        for line in _lines(shapely.LineString([a, b]).intersection(steel)):
            marks.add(Segment(_times(line[0], scale), _times(line[-1], scale), CENTRE))
        words = "offcut {:.0f} x {:.0f}".format(*whole_size_mm(one))
        for shift in (0.0, 0.3, -0.3, 0.4, -0.4):
            y = (middle[1] + shift * (high if beside else 0.0)) * scale - height_mm / 2
            text = Text(middle[0] * scale, y, words, height_mm, "middle")
            inside = shapely.box(text.box.x0 / scale, text.box.y0 / scale, text.box.x1 / scale, text.box.y1 / scale)
            if steel.covers(inside) and not zones.intersects(inside):
                marks.add(text)
                break


def _lines(found: shapely.Geometry) -> list[list[tuple[float, ...]]]:
    return [list(g.coords) for g in getattr(found, "geoms", [found]) if g.geom_type == "LineString" and not g.is_empty]


def _times(place: Sequence[float], scale: float) -> Place:
    return place[0] * scale, place[1] * scale


def _held(marks: Marks, layout: Layout, piece: Piece, scale: float, height_mm: float) -> None:
    """Say where the stock is held, and from which corner is measured."""
    x0, y0, x1, y1 = (v * scale for v in piece.outline.bounds_mm)
    marks.add(Text(x0, y0 - 1.6 * height_mm, "measure from here", 0.8 * height_mm, "start"))
    held = layout.job.held
    at = {"left": (x0 - height_mm, (y0 + y1) / 2, "end"), "right": (x1 + height_mm, (y0 + y1) / 2, "start")}
    at |= {"below": ((x0 + x1) / 2, y0 - 1.6 * height_mm, "middle")}
    at |= {"above": ((x0 + x1) / 2, y1 + 0.6 * height_mm, "middle")}
    marks.add(Text(at[held][0], at[held][1], "held", 0.8 * height_mm, at[held][2]))
    marks.add(
        Segment((x0 - height_mm, y0), (x0 + height_mm, y0), NARROW),
        Segment((x0, y0 - height_mm), (x0, y0 + height_mm), NARROW),
    )


# On paper ---------------------------------------------------------------------------------------------------


def layout_pdf(layout: Layout, paper: Paper) -> bytes:
    """Return the layout as a PDF: for each piece a picture to fit the paper, and the map to chalk it on by.

    Args:
        layout: The layout.
        paper: The paper; it is laid across.

    Raises:
        RequestError: The paper is too large for a page.
    """
    wide, high = max(paper.width_mm, paper.height_mm), min(paper.width_mm, paper.height_mm)
    pages = [page for sheet in layout.sheets for page in _pages(layout, sheet, wide, high)]
    count = len(layout.sheets)
    return pdf_bytes(
        pages,
        title=lettering.clean(f"{layout.job.name}, layout", 160),
        subject=f"{count} piece{'s' if count != 1 else ''} of steel with their blanks",
        stretch=(1.0, 1.0),
    )


def _pages(layout: Layout, sheet: Sheet, wide: float, high: float) -> list[Page]:
    piece = layout.job.pieces[sheet.piece]
    size = piece.outline.size_mm
    room = (wide - 2 * _EDGE_MM - 4, (high - 2 * _EDGE_MM - 19) * _MOST_PICTURE)
    scale = min(room[0] / size[0], room[1] / size[1], 1.0)
    drawn = piece_marks(layout, sheet, scale, _PAGE_TEXT_MM)
    x0, _, _, y1 = (v * scale for v in piece.outline.bounds_mm)
    top = high - _EDGE_MM - 15
    moved = _moved(drawn, _EDGE_MM - x0 + 2, top - y1)
    name, rows = sheet_name(layout, sheet), chalk_map(layout, sheet)
    page, y = Marks(), moved.box.y0 - 7.0
    _head(page, layout, sheet, high, scale)
    if piece.grain_deg is not None:
        at = (wide - _EDGE_MM - 9.0 * _PAGE_TEXT_MM, high - _EDGE_MM - 6.0)
        grain_mark(page, piece.grain_deg, at, 5.0 * _PAGE_TEXT_MM, _PAGE_TEXT_MM)
    out, layers = list[Page](), [Layer(moved, None)]
    while True:
        count = max(int((y - _EDGE_MM - 6) / _ROW_MM) - 1, 0)
        _table(page, rows[:count], y, wide)
        rows = rows[count:]
        out.append(Page(wide, high, (*layers, Layer(page, None)), lettering.clean(f"{name} {len(out) + 1}", 80)))
        if not rows:
            return out
        page, layers, y = Marks(), [], high - _EDGE_MM - 14
        _head(page, layout, sheet, high, None)


def _head(page: Marks, layout: Layout, sheet: Sheet, high: float, scale: float | None) -> None:
    page.add(Text(_EDGE_MM, high - _EDGE_MM - 3, _title(layout, sheet), _TITLE_MM, "start", bold=True))
    drawn = (
        "the map, continued"
        if scale is None
        else ("true size" if scale == 1.0 else f"drawn 1 : {1 / scale:.2f}, not to cut from")
    )
    words = f"{drawn}; gap {layout.job.gap_mm:g} mm; numbers are the order of cutting, held {layout.job.held}"
    page.add(Text(_EDGE_MM, high - _EDGE_MM - 8.5, words, _PAGE_TEXT_MM, "start"))
    steel = lettering.clean("; ".join(_steel_words(layout, sheet)), 170)
    page.add(Text(_EDGE_MM, high - _EDGE_MM - 12, steel, _PAGE_TEXT_MM, "start"))


def _table(page: Marks, rows: Sequence[Row], y: float, wide: float) -> None:
    """Write the map: a row for each blank, its places from the left and from the lower edge."""
    names = [mark.name for mark in rows[0].marks] if rows else []
    for x, words in _COLUMNS:
        page.add(Text(_EDGE_MM + x, y, words, _PAGE_TEXT_MM, "start", bold=True))
    for k, name in enumerate(names):
        x = _EDGE_MM + _PLACES_MM + k * _PLACE_WIDE_MM
        page.add(Text(x, y, f"{name}: left / below", _PAGE_TEXT_MM, "start", bold=True))
    page.add(Segment((_EDGE_MM, y - 1.4), (wide - _EDGE_MM, y - 1.4), NARROW))
    for row in rows:
        y -= _ROW_MM
        cells = (
            str(row.number),
            lettering.shortened(row.name, _PAGE_TEXT_MM, 56.0),
            row.side,
            f"{row.turn_deg:.2f}°",
        )
        for (x, _), words in zip(_COLUMNS, cells, strict=True):
            page.add(Text(_EDGE_MM + x, y, words, _PAGE_TEXT_MM, "start"))
        for k, mark in enumerate(row.marks):
            x = _EDGE_MM + _PLACES_MM + k * _PLACE_WIDE_MM
            words = f"{bare(mark.from_left_mm, 1)} / {bare(mark.from_below_mm, 1)}"
            page.add(Text(x, y, words, _PAGE_TEXT_MM, "start"))
    page.add(
        Text(
            _EDGE_MM,
            _EDGE_MM,
            f"lengths in mm, from the left and from the lower edge of the steel; {_WHICH}",
            _PAGE_TEXT_MM,
            "start",
        )
    )


def _moved(marks: Marks, dx: float, dy: float) -> Marks:
    out = Marks()
    for shape in marks.shapes:
        out.add(ClosedLine(shape.outline.moved(dx, dy), shape.line))
    for ring in marks.rings:
        out.add(Ring(ring.x + dx, ring.y + dy, ring.diameter_mm, ring.line))
    for s in marks.segments:
        out.add(Segment((s.a[0] + dx, s.a[1] + dy), (s.b[0] + dx, s.b[1] + dy), s.line))
    for text in marks.texts:
        out.add(Text(text.x + dx, text.y + dy, text.words, text.height_mm, text.anchor, text.bold))
    return out
