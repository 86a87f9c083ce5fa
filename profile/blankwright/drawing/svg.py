"""The workshop drawing as SVG, at true size.

One user unit is one mm: width and height in mm, the viewBox in the same numbers, no transform; y is turned
in the coordinates. Arcs stay arcs. Black on white; lines are told apart by type and width (ISO 128), not by
colour. The same plate gives the same bytes. It draws what it is given and computes nothing about the knife.

SVG 1.1 (W3C): path commands 8.3, units 7.10; the viewBox rule is that of SVG 2, chapter Coordinate Systems.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from blankwright.drawing.border import surround
from blankwright.drawing.callouts import (
    draw_board_line,
    draw_front,
    draw_hole,
    draw_hole_labels,
    draw_radius,
    ground_of,
)
from blankwright.drawing.plate import HoleMark, Measure, Plate
from blankwright.drawing.rows import draw_columns, draw_rows
from blankwright.drawing.sectioned import draw_places, draw_sections
from blankwright.geometry.outline import Outline
from blankwright.ink import lettering
from blankwright.ink.marks import (
    CUT,
    FINISHED,
    HOLE,
    NARROW,
    Curve,
    Marks,
    Ring,
    Shape,
)
from blankwright.ink.svg import document_svg

__all__ = ["HoleMark", "Measure", "Plate", "drawing_svg", "outline_svg"]

Array = NDArray[np.float64]

_PICTURE_MARGIN_MM = 4.0


def drawing_svg(plate: Plate) -> str:
    """Return the whole workshop drawing of a plate as an SVG document.

    Args:
        plate: What to show.

    Returns:
        A complete, self-contained SVG document; its size follows from what stands on it.
    """
    marks = part_marks(plate)
    draw_sections(marks, plate.sections)
    sheet = surround(marks, plate)
    title = lettering.clean(plate.title, 160) or "untitled"
    words = [lettering.clean(line, 160).rstrip(".") for line in plate.lines[:24]]
    desc = ". ".join(["Workshop drawing at true size, one unit is one mm", *words])
    return document_svg(marks, sheet, title, desc)


def part_marks(plate: Plate) -> Marks:
    """Return a plate's part with its holes, lines and dimensions: no sections, no border, no words around it."""
    marks = Marks()
    if plate.cut is not None:
        marks.add(Shape(plate.cut, CUT))
    marks.add(Shape(plate.finished, FINISHED))
    marks.add(*(Curve(chain, NARROW) for chain in plate.thin))
    part = marks.box
    for hole in plate.holes:
        draw_hole(marks, hole, Ring(hole.x_mm, hole.y_mm, hole.diameter_mm, HOLE))
    ground = ground_of(plate)
    if plate.front_x_mm is not None:
        draw_front(marks, ground, plate.front_x_mm)
    if plate.board_line:
        draw_board_line(marks, ground, part)
    draw_hole_labels(marks, ground, plate.holes)
    for measure in plate.measures:
        if measure.axis == "r":
            draw_radius(marks, ground, measure)
    draw_places(marks, ground, plate.sections)
    draw_rows(marks, plate.measures)
    draw_columns(marks, plate.measures, part)
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
        marks.add(Shape(cut, CUT))
    marks.add(Shape(finished, FINISHED))
    for hole in holes:
        draw_hole(marks, hole, Ring(hole.x_mm, hole.y_mm, hole.diameter_mm, HOLE))
    return document_svg(
        marks, marks.box.grown(_PICTURE_MARGIN_MM), "Outline", "Outline at true size, one unit is one mm"
    )
