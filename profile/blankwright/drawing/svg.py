"""The workshop drawing as SVG, at true size.

One user unit is one mm: width and height in mm, the viewBox in the same numbers, no transform; y is turned
in the coordinates. Arcs stay arcs. Black on white; lines are told apart by type and width (ISO 128), not by
colour. The same plate gives the same bytes. It draws what it is given and computes nothing about the knife.

SVG 1.1 (W3C): path commands 8.3, units 7.10; the viewBox rule is that of SVG 2, chapter Coordinate Systems.
"""

from __future__ import annotations

from collections.abc import Sequence

from blankwright.drawing.border import surround
from blankwright.drawing.callouts import (
    draw_board_line,
    draw_front,
    draw_hole,
    draw_hole_labels,
    draw_radius,
    obstacles_of,
)
from blankwright.drawing.partdrawing import DimensionLine, HoleMark, PartDrawing
from blankwright.drawing.rows import draw_columns, draw_rows
from blankwright.drawing.sectioned import draw_places, draw_sections
from blankwright.geometry.outline import Outline
from blankwright.ink import lettering
from blankwright.ink.marks import (
    CUT,
    FINISHED,
    GUIDE,
    HOLE,
    NARROW,
    ClosedLine,
    Curve,
    Marks,
    Ring,
)
from blankwright.ink.svg import document_svg

__all__ = ["DimensionLine", "HoleMark", "PartDrawing", "drawing_svg", "outline_svg"]


_PICTURE_MARGIN_MM = 4.0


def drawing_svg(shown: PartDrawing) -> str:
    """Return the whole workshop drawing of a plate as an SVG document.

    Args:
        shown: What to show.

    Returns:
        A complete, self-contained SVG document; its size follows from what stands on it.
    """
    marks = part_marks(shown)
    draw_sections(marks, shown.sections)
    sheet = surround(marks, shown)
    title = lettering.clean(shown.title, 160) or "untitled"
    words = [lettering.clean(line, 160).rstrip(".") for line in shown.lines[:24]]
    desc = ". ".join(["Workshop drawing at true size, one unit is one mm", *words])
    return document_svg(marks, sheet, title, desc)


def part_marks(shown: PartDrawing) -> Marks:
    """Return a plate's part with its holes, lines and dimensions: no sections, no border, no words around it."""
    marks = Marks()
    if shown.guide is not None:
        marks.add(ClosedLine(shown.guide, GUIDE))
    if shown.cut is not None:
        marks.add(ClosedLine(shown.cut, CUT))
    marks.add(ClosedLine(shown.finished, FINISHED))
    marks.add(*(Curve(chain, NARROW) for chain in shown.thin))
    part = marks.box
    for hole in shown.holes:
        draw_hole(marks, hole, Ring(hole.x_mm, hole.y_mm, hole.diameter_mm, HOLE))
    obstacles = obstacles_of(shown)
    if shown.front_x_mm is not None:
        draw_front(marks, obstacles, shown.front_x_mm)
    if shown.board_line:
        draw_board_line(marks, obstacles, part)
    draw_hole_labels(marks, obstacles, shown.holes)
    for measure in shown.measures:
        if measure.axis == "r":
            draw_radius(marks, obstacles, measure)
    draw_places(marks, obstacles, shown.sections)
    draw_rows(marks, shown.measures)
    draw_columns(marks, shown.measures, part)
    return marks


def outline_svg(finished: Outline, cut: Outline | None = None, holes: Sequence[HoleMark] = ()) -> str:
    """Return a small picture of an outline at true size, without dimensions or words.

    Args:
        finished: The finished outline [mm].
        cut: The cut outline, or None.
        holes: Holes to show with their centre crosses; labels are left out.

    Returns:
        A complete SVG document, 1 unit = 1 mm.
    """
    marks = Marks()
    if cut is not None:
        marks.add(ClosedLine(cut, CUT))
    marks.add(ClosedLine(finished, FINISHED))
    for hole in holes:
        draw_hole(marks, hole, Ring(hole.x_mm, hole.y_mm, hole.diameter_mm, HOLE))
    return document_svg(
        marks, marks.box.grown(_PICTURE_MARGIN_MM), "Outline", "Outline at true size, one unit is one mm"
    )
