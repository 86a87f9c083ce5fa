"""The PDF measured as a print would be: rendered by an independent reader at 600 dpi, line centre to line centre.

0.03 mm is three quarters of a pixel: a line's centre of darkness is found to better than that, and a maker's
rule shows no less than 0.1 mm.
"""

import math

import numpy as np
import pypdfium2
import pytest

from blankwright.geometry.outline import Outline
from blankwright.ink.marks import CUT, FINISHED, NARROW, Arrow, Box, ClosedLine, Marks, Ring, Segment, Text
from blankwright.ink.pdf import Layer, Page, pdf_bytes
from rooms.every import cases

DPI = 600
TOLERANCE_MM = 0.03
SIZE = (150.0, 120.0)


class Print:
    """A rendered page: darkness 0..1, looked up in mm from the lower left corner."""

    def __init__(self, *layers, size=SIZE, stretch=(1.0, 1.0)):
        data = pdf_bytes([Page(*size, layers, "page")], title="t", subject="s", stretch=stretch)
        book = pypdfium2.PdfDocument(data)
        sheet = book[0]
        image = sheet.render(scale=DPI / 72, grayscale=True)
        self.dark = 1 - image.to_numpy().reshape(image.height, image.width)[::-1].astype(float) / 255
        sheet.close()
        book.close()
        self.per_x, self.per_y = image.width / size[0], image.height / size[1]

    def part(self, x0, y0, x1, y1):
        rows = slice(round(y0 * self.per_y), round(y1 * self.per_y))
        columns = slice(round(x0 * self.per_x), round(x1 * self.per_x))
        return self.dark[rows, columns], rows.start, columns.start

    def line_x(self, x0, y0, x1, y1):
        """Centre of darkness of an upright line inside a window [mm]."""
        dark, _, start = self.part(x0, y0, x1, y1)
        profile = dark.sum(axis=0)
        return (start + (profile * (np.arange(len(profile)) + 0.5)).sum() / profile.sum()) / self.per_x

    def line_y(self, x0, y0, x1, y1):
        """Centre of darkness of a level line inside a window [mm]."""
        dark, start, _ = self.part(x0, y0, x1, y1)
        profile = dark.sum(axis=1)
        return (start + (profile * (np.arange(len(profile)) + 0.5)).sum() / profile.sum()) / self.per_y

    def ink(self, x0, y0, x1, y1):
        """Black area inside a window [mm2]."""
        return self.part(x0, y0, x1, y1)[0].sum() / (self.per_x * self.per_y)


def layer(*items, clip=None):
    marks = Marks()
    marks.add(*items)
    return Layer(marks, clip)


def frame(x0, y0, x1, y1):
    corners = [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]
    return [Segment(a, b, NARROW) for a, b in zip(corners, corners[1:] + corners[:1], strict=True)]


STRETCHES = [(1.0, 1.0), (1.012, 0.992)]


@pytest.mark.parametrize("stretch", STRETCHES)
def test_a_100_mm_bar_is_100_mm_in_both_axes(stretch):
    found = Print(layer(*frame(25, 10, 125, 110)), stretch=stretch)
    sx, sy = stretch
    left, right = 75 - 50 * sx, 75 + 50 * sx
    low, high = 60 - 50 * sy, 60 + 50 * sy
    for x in (left, right):
        assert found.line_x(x - 1, 30, x + 1, 90) == pytest.approx(x, abs=TOLERANCE_MM)
    for y in (low, high):
        assert found.line_y(40, y - 1, 110, y + 1) == pytest.approx(y, abs=TOLERANCE_MM)


@cases("width_mm", [0.25, 0.5])
@cases("stretch", STRETCHES)
def test_a_line_is_as_wide_as_asked_even_when_stretched(width_mm, stretch):
    line = NARROW if width_mm == 0.25 else FINISHED
    found = Print(layer(Segment((75, 10), (75, 110), line)), stretch=stretch)
    assert found.ink(73, 40, 77, 80) / 40 == pytest.approx(width_mm, abs=TOLERANCE_MM)


@cases("stretch", STRETCHES)
@cases("diameter", [5.0, 60.0])
def test_a_circle_has_its_size_and_place(stretch, diameter):
    found = Print(layer(Ring(60, 50, diameter, NARROW)), stretch=stretch)
    sx, sy = stretch
    cx, cy, rx, ry = 75 - 15 * sx, 60 - 10 * sy, diameter / 2 * sx, diameter / 2 * sy
    # a thin window across each side; the curve's own rise inside it is below 0.005 mm
    half = 0.1 * math.sqrt(diameter / 5)
    for side in (-1, 1):
        x, y = cx + side * rx, cy + side * ry
        assert found.line_x(x - 0.6, cy - half, x + 0.6, cy + half) == pytest.approx(x, abs=TOLERANCE_MM)
        assert found.line_y(cx - half, y - 0.6, cx + half, y + 0.6) == pytest.approx(y, abs=TOLERANCE_MM)
    slant = math.sqrt(0.5)
    for a, b in ((slant, slant), (-slant, slant), (slant, -slant)):  # halfway, where a poor curve would bulge
        x, y = cx + a * rx, cy + b * ry
        assert found.ink(x - 0.1, y - 0.1, x + 0.1, y + 0.1) > 0.035  # 0.04 is a full window


@pytest.mark.parametrize("stretch", STRETCHES)
def test_an_outline_has_its_size(stretch):
    # a slot of 100 x 24 mm: two lines and two half circles
    slot = Outline(np.array([(37.0, 48.0, 0), (113.0, 48.0, 1.0), (113.0, 72.0, 0), (37.0, 72.0, 1.0)]))
    assert slot.size_mm == pytest.approx((100, 24))
    found = Print(layer(ClosedLine(slot, FINISHED)), stretch=stretch)
    sx, sy = stretch
    ends = [found.line_x(75 + e * sx - 1, 59.9, 75 + e * sx + 1, 60.1) for e in (-50, 50)]
    sides = [found.line_y(50, 60 + e * sy - 1, 100, 60 + e * sy + 1) for e in (-12, 12)]
    assert ends[1] - ends[0] == pytest.approx(100 * sx, abs=TOLERANCE_MM)
    assert sides[1] - sides[0] == pytest.approx(24 * sy, abs=TOLERANCE_MM)


def test_a_clockwise_outline_is_drawn_the_same():
    slot = Outline(np.array([(37.0, 48.0, 0), (113.0, 48.0, 1.0), (113.0, 72.0, 0), (37.0, 72.0, 1.0)]))
    one, other = Print(layer(ClosedLine(slot, FINISHED))), Print(layer(ClosedLine(slot.reversed(), FINISHED)))
    assert np.abs(one.dark - other.dark).max() < 0.1


@pytest.mark.parametrize("stretch", STRETCHES)
def test_nothing_shows_outside_the_window_and_everything_inside(stretch):
    window = Box(40, 30, 90, 80)
    items = [Segment((20, 50), (130, 50), FINISHED), Text(88, 60, "LONG WORDS", 5, "start"), Arrow((95, 70), (1, 0))]
    found = Print(layer(*items, Ring(65, 40, 50, FINISHED), clip=window), stretch=stretch)
    sx, sy = stretch
    x0, x1 = 75 + (window.x0 - 75) * sx, 75 + (window.x1 - 75) * sx
    y0, y1 = 60 + (window.y0 - 60) * sy, 60 + (window.y1 - 60) * sy
    pixel = 25.4 / DPI
    for outside in (
        (0, 0, x0 - pixel, 120),
        (x1 + pixel, 0, 150, 120),
        (0, 0, 150, y0 - pixel),
        (0, y1 + pixel, 150, 120),
    ):
        assert found.ink(*outside) == 0
    y = 60 - 10 * sy
    inside = (x0 + 4, x1 - 4)  # clear of the ring
    assert found.ink(inside[0], y - 1, inside[1], y + 1) == pytest.approx((inside[1] - inside[0]) * 0.5, rel=0.02)
    assert found.ink(x0, y - 1, x0 + 1, y + 1) == pytest.approx(0.5, rel=0.05)  # up to the window's edge


def test_a_layers_window_ends_with_the_layer():
    line = Segment((20, 50), (130, 50), FINISHED)
    below = Segment((20, 20), (130, 20), FINISHED)
    found = Print(layer(line, clip=Box(40, 30, 90, 80)), layer(below))
    assert found.ink(100, 48, 125, 52) == 0
    assert found.ink(100, 18, 125, 22) == pytest.approx(12.5, rel=0.02)


@cases("height", [2.5, 5.0])
@cases("bold", [False, True])
def test_capitals_are_as_high_as_asked(height, bold):
    found = Print(layer(Text(20, 60, "HEIT", height, "start", bold)), stretch=(1.012, 0.992))
    dark = found.part(0, 50, 150, 80)[0]
    rows = np.flatnonzero(dark.max(axis=1) > 0.5)
    assert (rows[-1] - rows[0] + 1) / found.per_y == pytest.approx(height, abs=0.06)  # half a pixel at each end
    assert 50 + rows[0] / found.per_y == pytest.approx(60, abs=0.06)


def test_words_stand_where_their_anchor_says_and_in_their_estimated_box():
    for anchor in ("start", "middle", "end"):
        text = Text(75, 60, "Heel height 48 mm", 2.5, anchor)
        found = Print(layer(text))
        columns = np.flatnonzero(found.dark.max(axis=0) > 0.3) / found.per_x
        left, right = columns[0], columns[-1]
        middle = {"start": left, "middle": (left + right) / 2, "end": right}[anchor]
        assert middle == pytest.approx(75, abs=0.35)  # the side bearing of an H or an m
        assert text.box.x0 <= left
        assert right <= text.box.x1


def test_a_line_is_interrupted_by_a_text_and_dashes_keep_their_gaps():
    text = Text(75, 59, "210 mm", 2.5, "middle")
    found = Print(layer(Segment((20, 60), (130, 60), NARROW), text))
    assert found.ink(text.box.x0 - 0.2, 59.8, text.box.x0, 60.2) < 0.02
    assert found.ink(30, 59, 50, 61) == pytest.approx(20 * 0.25, rel=0.05)
    dashed = Print(layer(Segment((20, 60), (130, 60), CUT)))
    assert dashed.ink(75 - 37.5, 59, 75 + 37.5, 61) == pytest.approx(75 * 0.25 * 3 / 3.75, rel=0.03)
    assert dashed.ink(74, 59, 76, 61) == pytest.approx(2 * 0.25, rel=0.05)  # the middle is in a dash


def test_an_arrowhead_is_filled_and_ends_at_its_tip():
    found = Print(layer(Arrow((100, 60), (1.0, 0.0))))
    assert found.ink(90, 50, 110, 70) == pytest.approx(3 * 1 / 2, rel=0.03)
    columns = np.flatnonzero(found.dark.max(axis=0) > 0.02) / found.per_x
    assert columns[0] == pytest.approx(97, abs=0.1)
    assert 99.7 < columns[-1] <= 100.05
