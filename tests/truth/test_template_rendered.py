"""The trace template as it comes out of a printer: every page drawn by outside readers at 600 dpi and measured.

All measuring is done on pixels, from line centre to line centre, as a maker would with a rule. What is known from
inside is only where to look: the pages' plans say where a scene lies on a page.
"""

import math
from functools import cache

import numpy as np
import pypdfium2
import pytest

from blankwright.design.family import load_family
from blankwright.design.request import read_design
from blankwright.shop.papers import paper
from blankwright.template import Wishes, best_plan, scenes, template_pdf
from blankwright.workpiece import prepare

SOURCE = (
    "PDFium (through pypdfium2) and, where installed, Poppler's pdftoppm: two PDF readers written outside this "
    "project. The length of a bar is the 100 mm and the ten-millimetre step of the SI; the inch is 25.4 mm exactly."
)
TOLERANCE_MM = 0.1
REASON = (
    "A maker's steel rule shows 0.1 mm at best. A pixel at 600 dpi is 0.042 mm and a line's centre is found to a "
    "third of that, so the drawing itself has to be better than 0.09 mm."
)
DPI = 600
MM_PER_PIXEL = 25.4 / DPI
LINE_MM = 0.25
"""Width of the lines measured (ISO 128 narrow)."""
PAPERS = ("A4", "A3", "Letter", "Legal", "Tabloid", "250x330mm")
FAMILIES = ("chef", "utility", "paring", "spreader")
TRUE = (1.0, 1.0)
MARGIN_MM = 6.0


@cache
def work(family, blade_mm=None):
    changes = {} if blade_mm is None else {"blade.length": f"{blade_mm:g}mm"}
    return prepare(read_design(family, changes))


def wish(name, *, more=False, stretch=TRUE):
    return Wishes(paper(name), MARGIN_MM, more, more, stretch)


def laid(knife, wanted):
    """Return (scene, plan, tile) of every page, in the order of the file."""
    shown = scenes(knife, both_faces=wanted.both_faces, dummy=wanted.dummy)
    plans = [(scene, best_plan(scene, wanted)) for scene in shown]
    return [(scene, plan, tile) for scene, plan in plans for tile in plan.tiles]


class Sheet:
    """A part of a rendered page: darkness 0..1, looked up in mm from the paper's lower left corner."""

    def __init__(self, grey, size_mm, pixels, start):
        # row 0 of the array is its lowest row of pixels
        self.grey, self.size_mm, self.start = grey, size_mm, start
        self.per_x, self.per_y = pixels[0] / size_mm[0], pixels[1] / size_mm[1]

    def at(self, points):
        """Return the darkness at (n, 2) points [mm], between pixel centres by straight interpolation."""
        x = np.asarray(points)[..., 0] * self.per_x - 0.5 - self.start[0]
        y = np.asarray(points)[..., 1] * self.per_y - 0.5 - self.start[1]
        i, j = np.floor(x).astype(int), np.floor(y).astype(int)
        u, v = x - i, y - j
        g = self.grey
        light = (g[j, i] * (1 - u) + g[j, i + 1] * u) * (1 - v) + (g[j + 1, i] * (1 - u) + g[j + 1, i + 1] * u) * v
        return 1 - light / 255

    def part(self, x0, y0, x1, y1):
        """Return darkness inside a box [mm], and the x and y of its pixels' centres [mm]."""
        a, b = (max(0, round(v * self.per_x) - self.start[0]) for v in (x0, x1))
        c, d = (max(0, round(v * self.per_y) - self.start[1]) for v in (y0, y1))
        dark = 1 - self.grey[c:d, a:b].astype(np.float32) / 255
        x = (np.arange(a, a + dark.shape[1]) + 0.5 + self.start[0]) / self.per_x
        y = (np.arange(c, c + dark.shape[0]) + 0.5 + self.start[1]) / self.per_y
        return dark, x, y


def drawn(page, strip_mm=None):
    """Render a page, or only its strip (left, bottom, right, top) [mm], with PDFium."""
    points = page.get_size()
    size = tuple(v * 25.4 / 72 for v in points)
    scale = DPI / 72
    pixels = tuple(math.ceil(v * scale) for v in points)
    x0, y0, x1, y1 = strip_mm or (0, 0, *size)
    crop = (x0 / 25.4 * 72, y0 / 25.4 * 72, max(0, size[0] - x1) / 25.4 * 72, max(0, size[1] - y1) / 25.4 * 72)
    image = page.render(scale=scale, grayscale=True, crop=crop)
    grey = image.to_numpy().reshape(image.height, image.width)[::-1]
    return Sheet(grey, size, pixels, tuple(math.ceil(v * scale) for v in crop[:2]))


@pytest.fixture
def book():
    """Open PDFs and close them after the test."""
    opened = []

    def open_it(data):
        opened.append(pypdfium2.PdfDocument(data))
        return opened[-1]

    yield open_it
    for one in opened:
        one.close()


def centres(profile, at):
    """Return the centres of the dark stretches of a profile (darkness per step) at places [mm]."""
    dark = profile > 0.3
    edges = np.flatnonzero(np.diff(np.concatenate([[0], dark.astype(int), [0]])))
    found = []
    for a, b in edges.reshape(-1, 2):
        near = slice(max(0, a - 2), b + 2)  # the grey rim belongs to the line
        found.append(float((profile[near] * at[near]).sum() / profile[near].sum()))
    return found


def longest(dark):
    """Return the index of the column with the longest unbroken run of darkness, and that run in pixels."""
    run = np.zeros(dark.shape[1], dtype=int)
    most = run.copy()
    for row in dark > 0.3:
        run = np.where(row, run + 1, 0)
        most = np.maximum(most, run)
    return int(most.argmax()), int(most.max())


def level_ticks(sheet):
    """Find the longest level line near the lower edge and return where its longest ticks stand [mm]."""
    dark, x, y = sheet.part(0, 0, sheet.size_mm[0], 45)
    row, run = longest(dark.T)
    assert run / sheet.per_x > 100, "no level bar of 100 mm"
    bar = y[row]
    above = (y > bar + 2.6) & (y < bar + 3.6)  # higher than the ticks of an inch
    return centres(dark[above].mean(axis=0), x)


def upright_ticks(sheet):
    dark, x, y = sheet.part(0, 0, 32, sheet.size_mm[1])
    column, run = longest(dark)
    assert run / sheet.per_y > 100, "no upright bar of 100 mm"
    bar = x[column]
    beside = (x > bar + 2.6) & (x < bar + 3.6)
    return centres(dark[:, beside].mean(axis=1), y)


def check_bar(ticks, room_mm, words):
    """The zero, 100 mm, and the end where the page allows; the length is written on the page."""
    assert 2 <= len(ticks) <= 3
    assert ticks[1] - ticks[0] == pytest.approx(100, abs=TOLERANCE_MM)
    length = round((ticks[-1] - ticks[0]) / 10) * 10
    assert ticks[-1] - ticks[0] == pytest.approx(length, abs=TOLERANCE_MM)
    assert f"{length}" in words
    if len(ticks) == 2:
        assert room_mm < 120, "the bar is not as long as the page allows"
    return length


@pytest.mark.parametrize("name", PAPERS)
def test_both_bars_are_true_on_every_page_of_every_paper(book, name):
    wanted = wish(name, more=True)
    pdf = book(template_pdf(work("chef"), wanted))
    pages = laid(work("chef"), wanted)
    assert len(pdf) == len(pages)
    for page, (_, plan, _) in zip(pdf, pages, strict=True):
        words = page.get_textpage().get_text_bounded()
        lengths = []
        strips = ((0, 0, plan.width_mm, 50), (0, 0, 40, plan.height_mm))
        for strip, ticks, room in zip(
            strips, (level_ticks, upright_ticks), (plan.frame.width - 16, plan.upright_mm[2]), strict=True
        ):
            lengths.append(check_bar(ticks(drawn(page, strip)), room, words))
        assert lengths[0] > plan.frame.width - 16 - 10  # as long as the page allows
        assert lengths[1] > plan.upright_mm[2] - 10


# ---- the outline ----


def offsets(sheet, outline, window, step_mm=2.0):
    """Measure how far the ink of an outline is from where it should be.

    Returns:
        Places (n, 2) [mm], offsets along the outward normal (n,) [mm], NaN where another line is in the way, and
        how many places lie inside the window.
    """
    points = outline.flattened(0.005)
    after = np.roll(points, -1, axis=0) - points
    size = np.hypot(*after.T)
    places, normals = [], []
    for point, step, length in zip(points, after, size, strict=True):
        if length < 1e-6:
            continue
        count = max(1, int(length / step_mm))
        share = (np.arange(count) + 0.5) / count
        places.append(point + share[:, None] * step)
        normals.append(np.tile([step[1], -step[0]] / length, (count, 1)))
    place, normal = np.concatenate(places), np.concatenate(normals)
    inside = (place[:, 0] > window.x0 + 1) & (place[:, 0] < window.x1 - 1)
    inside &= (place[:, 1] > window.y0 + 1) & (place[:, 1] < window.y1 - 1)
    place, normal = place[inside], normal[inside]
    away = np.linspace(-0.6, 0.6, 61)
    profile = sheet.at(place[:, None, :] + away[None, :, None] * normal[:, None, :])
    return place, np.array([_nearest(row, away) for row in profile])


def _nearest(profile, away):
    """Return the centre of the line nearest to the middle; NaN when it is no single line, 9 when there is none."""
    dark = profile > 0.35
    edges = np.flatnonzero(np.diff(np.concatenate([[0], dark.astype(int), [0]]))).reshape(-1, 2)
    if len(edges) == 0:
        return 9.0
    middles = [(away[a] + away[b - 1]) / 2 for a, b in edges]
    k = int(np.argmin(np.abs(middles)))
    a, b = edges[k]
    if away[b - 1] - away[a] > LINE_MM + 0.12:
        return np.nan
    return middles[k]


def end_of_ink(sheet, point, direction):
    """Return how far the ink goes on beyond a point in a direction [mm]: half a line width if it ends there."""
    away = np.linspace(-0.2, 0.6, 81)
    dark = sheet.at(np.asarray(point) + away[:, None] * np.asarray(direction)) > 0.5
    assert dark[0] or dark[20], "no ink at the end of the outline"
    return float(away[np.flatnonzero(~dark & (away > 0))[0]])


def on_page(outline, tile):
    return outline.placed(tile.angle_deg, tile.dx_mm, tile.dy_mm)


def back(points, tile):
    """Return page places in the scene's own coordinates."""
    c, s = math.cos(math.radians(tile.angle_deg)), math.sin(math.radians(tile.angle_deg))
    moved = np.asarray(points) - (tile.dx_mm, tile.dy_mm)
    return moved @ np.array([[c, -s], [s, c]])


def lengths_of_family(family):
    low, high = load_family(family).dimensions["blade.length"].range_mm
    return low, high


ENDS = [(family, end) for family in FAMILIES for end in ("least", "greatest")]


@pytest.mark.parametrize(("family", "end"), ENDS)
def test_the_finished_outline_is_printed_at_its_size(book, family, end):
    knife = work(family, blade_range(family)[end == "greatest"])
    wanted = wish("A4")
    pdf = book(template_pdf(knife, wanted))
    pages = [(n, *row) for n, row in enumerate(laid(knife, wanted)) if row[0].name == "blade"]
    outline = knife.finished
    seen, total, clear = [], 0, 0
    ends = {}
    for n, _, _, tile in pages:
        sheet = drawn(pdf[n])
        place, off = offsets(sheet, on_page(outline, tile), tile.window)
        good = ~np.isnan(off)
        assert np.abs(off[good]).max() < TOLERANCE_MM
        total, clear = total + len(off), clear + int(good.sum())
        seen.append(back(place, tile))
        ends |= measured_ends(sheet, outline, tile)
    assert clear > 0.75 * total  # elsewhere another line crosses or runs along it
    # no stretch of the outline is missing from the pages
    assert len(np.unique(np.round(np.concatenate(seen), 3), axis=0)) >= outline.perimeter_mm / 4
    x0, _, x1, _ = outline.bounds_mm
    assert ends["tip"] - ends["butt"] == pytest.approx(x1 - x0, abs=TOLERANCE_MM)


def blade_range(family):
    """Return the least and the greatest blade length that a family offers [mm]."""
    dimension = {d.key: d for d in load_family(family).dimensions}["blade.length"]
    return dimension.low_mm, dimension.high_mm


def measured_ends(sheet, outline, tile):
    """Return where the ink of butt and tip ends on this page, in the knife's own x [mm], as far as they are on it."""
    points = outline.flattened(0.002)
    turn = math.radians(tile.angle_deg)
    found = {}
    for name, k, sign in (("tip", points[:, 0].argmax(), 1), ("butt", points[:, 0].argmin(), -1)):
        c, s = math.cos(turn), math.sin(turn)
        x, y = points[k]
        at = (c * x - s * y + tile.dx_mm, s * x + c * y + tile.dy_mm)
        w = tile.window
        if w.x0 + 1 < at[0] < w.x1 - 1 and w.y0 + 1 < at[1] < w.y1 - 1:
            beyond = end_of_ink(sheet, at, (sign * c, sign * s)) - LINE_MM / 2
            found[name] = x + sign * beyond
    return found
