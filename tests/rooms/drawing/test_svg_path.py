"""Path data: the same area and bounds as the outline, arcs kept, read by the formulas of SVG 1.1 F.6.5."""

from __future__ import annotations

import math

import numpy as np
import pytest

from blankwright.geometry.outline import Outline
from blankwright.ink.svg import number, path_data
from rooms.drawing import svg_plates
from rooms.drawing.svg_reading import path_area, path_points, pieces
from rooms.every import cases

TOLERANCE = 1e-4  # mm and mm^2; the last digit written is 1e-6 mm, and a 340 mm outline is 800 mm round

HALF = math.tan(math.pi / 4)
SHAPES = {
    "chef": svg_plates.chef(),
    "chef blank": svg_plates.chef(1.5),
    "paring": svg_plates.paring(),
    "circle of two halves": Outline(np.array([[-7.0, 0, HALF], [7.0, 0, HALF]])),
    "three quarters of a circle": Outline(np.array([[5.0, 0, math.tan(1.5 * math.pi / 4)], [0, -5.0, 0.0]])),
    "nearly half circles": Outline(np.array([[-9.123457, 0, 0.99999], [9.1, 0.3, 1.00001]])),
    "clockwise": svg_plates.chef().reversed(),
}


@cases("name", SHAPES)
def test_area_and_bounds_are_those_of_the_outline(name):
    outline = SHAPES[name]
    d = path_data(outline, (200.0, 100.0))
    assert path_area(d) == pytest.approx(-outline.area_mm2, abs=TOLERANCE)  # y down turns the sense
    points = np.array(path_points(d, 0.0005))
    x0, y0, x1, y1 = outline.bounds_mm
    low, high = points.min(axis=0), points.max(axis=0)
    assert [*low, *high] == pytest.approx([200 + x0, 100 - y1, 200 + x1, 100 - y0], abs=TOLERANCE)


def test_arcs_stay_arcs_and_lines_stay_lines():
    outline = svg_plates.chef()
    kinds = [piece[0] for piece in pieces(path_data(outline))]
    assert kinds.count("L") == int((outline.bulges == 0).sum())
    assert kinds.count("A") == int((outline.bulges != 0).sum())


def test_no_arc_is_longer_than_a_third_of_a_turn():
    d = path_data(SHAPES["three quarters of a circle"])
    assert [p[4] for p in pieces(d) if p[0] == "A"] == [0, 0, 0]


def test_a_circle_has_the_area_of_a_circle():
    """Area pi r^2: elementary geometry."""
    assert abs(path_area(path_data(SHAPES["circle of two halves"]))) == pytest.approx(math.pi * 49, abs=TOLERANCE)


def test_numbers_are_short():
    assert [number(v) for v in (1.0, -0.0, 0.1234567, -2.5, 1e-9, 100.0)] == [
        "1",
        "0",
        "0.123457",
        "-2.5",
        "0",
        "100",
    ]
