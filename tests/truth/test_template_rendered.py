"""The trace template as it comes out of a printer: every page drawn by outside readers at 600 dpi and measured.

All measuring is done on pixels, from line centre to line centre, as a maker would with a rule. What is known from
inside is only where to look: the pages' plans say where a scene lies on a page.
"""

import math
import shutil
import subprocess
from functools import cache

import numpy as np
import pypdfium2
import pytest

from blankwright.design.family import load_family
from blankwright.design.request import read_design
from blankwright.ink.papers import paper
from blankwright.knife.knife import finish
from blankwright.template.printers import Printer
from blankwright.template.scenes import Wishes, best_plan, scenes, template_pdf
from rooms.often import repeated, share

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
    return finish(read_design(family, changes))


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
    run = np.zeros(dark.shape[1], dtype=np.int32)
    most = run.copy()
    for row in np.ascontiguousarray(dark > 0.3):
        run += 1
        run *= row
        np.maximum(most, run, out=most)
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


@repeated
@pytest.mark.parametrize("name", share(PAPERS, 2))
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


def offsets(sheet, points, window):
    """Measure every 2 mm or less how far the ink of an outline is from where it should be.

    Returns:
        Places (n, 2) [mm], offsets along the normal (n,) [mm], NaN where another line is in the way, and a mask that
        tells which of all the places along the outline these are: those inside the window.
    """
    steps = np.roll(points, -1, axis=0) - points
    size = np.hypot(*steps.T)
    count = np.ceil(size / 2.0 - 1e-9).astype(int)  # turned by rounding, a step of 2 mm stays one
    which = np.repeat(np.arange(len(points)), count)
    share = (np.arange(len(which)) - np.repeat(np.cumsum(count) - count, count) + 0.5) / count[which]
    place = points[which] + share[:, None] * steps[which]
    normal = np.column_stack([steps[which, 1], -steps[which, 0]]) / size[which, None]
    inside = (place[:, 0] > window.x0 + 1) & (place[:, 0] < window.x1 - 1)
    inside &= (place[:, 1] > window.y0 + 1) & (place[:, 1] < window.y1 - 1)
    place, normal = place[inside], normal[inside]
    away = np.linspace(-0.6, 0.6, 61)
    profile = sheet.at(place[:, None, :] + away[None, :, None] * normal[:, None, :])
    return place, np.array([_nearest(row, away) for row in profile]), inside


def _nearest(profile, away):
    """Return the centre of the line nearest to the middle; NaN when it is no single line, 9 when there is none."""
    dark = profile > 0.3
    edges = np.flatnonzero(np.diff(np.concatenate([[0], dark.astype(int), [0]]))).reshape(-1, 2)
    if len(edges) == 0:
        return 9.0
    a, b = min(edges, key=lambda edge: abs(away[edge[0]] + away[edge[1] - 1]))
    if away[b - 1] - away[a] > LINE_MM + 0.12:
        return np.nan
    near = slice(max(0, a - 2), b + 2)  # the grey rim belongs to the line
    return float((profile[near] * away[near]).sum() / profile[near].sum())


def end_of_ink(sheet, point, direction):
    """Return how far the ink goes on beyond a point in a direction [mm]: half a line width if it ends there."""
    away = np.linspace(-0.2, 0.6, 81)
    dark = sheet.at(np.asarray(point) + away[:, None] * np.asarray(direction)) > 0.5
    assert dark[0] or dark[20], "no ink at the end of the outline"
    return float(away[np.flatnonzero(~dark & (away > 0))[0]])


def on_page(outline, tile):
    """Return places along an outline where they lie on the page: the same places on every page."""
    c, s = math.cos(math.radians(tile.angle_deg)), math.sin(math.radians(tile.angle_deg))
    return outline.flattened(0.005) @ np.array([[c, s], [-s, c]]) + (tile.dx_mm, tile.dy_mm)


def back(points, tile):
    """Return page places in the scene's own coordinates."""
    c, s = math.cos(math.radians(tile.angle_deg)), math.sin(math.radians(tile.angle_deg))
    moved = np.asarray(points) - (tile.dx_mm, tile.dy_mm)
    return moved @ np.array([[c, -s], [s, c]])


def blade_range(family):
    """Return the least and the greatest blade length that a family offers [mm]."""
    dimension = {d.key: d for d in load_family(family).dimensions}["blade.length"]
    return dimension.least_mm, dimension.greatest_mm


def measured_ends(sheet, outline, tile):
    """Return where the ink of butt and tip ends on this page, in the knife's own x [mm], as far as they are on it."""
    points = outline.flattened(0.002)
    turn = math.radians(tile.angle_deg)
    c, s = math.cos(turn), math.sin(turn)
    w = tile.window
    found = {}
    for name, k, sign in (("tip", points[:, 0].argmax(), 1), ("butt", points[:, 0].argmin(), -1)):
        x, y = points[k]
        at = (c * x - s * y + tile.dx_mm, s * x + c * y + tile.dy_mm)
        if w.x0 + 1 < at[0] < w.x1 - 1 and w.y0 + 1 < at[1] < w.y1 - 1:
            beyond = end_of_ink(sheet, at, (sign * c, sign * s)) - LINE_MM / 2
            found[name] = x + sign * beyond
    return found


ENDS = [(family, end) for family in FAMILIES for end in ("least", "greatest")]


@pytest.mark.parametrize(("family", "end"), ENDS)
def test_the_finished_outline_is_printed_at_its_size(book, family, end):
    knife = work(family, blade_range(family)[end == "greatest"])
    wanted = wish("A4")
    pdf = book(template_pdf(knife, wanted))
    pages = [(n, *row) for n, row in enumerate(laid(knife, wanted)) if row[0].name == "blade"]
    outline = knife.finished
    seen, clear, ends = [], [], {}
    for n, _, _, tile in pages:
        sheet = drawn(pdf[n])
        _, off, inside = offsets(sheet, on_page(outline, tile), tile.window)
        good = ~np.isnan(off)
        assert np.abs(off[good]).max() < TOLERANCE_MM
        clear.append(good)
        seen.append(inside)
        ends |= measured_ends(sheet, outline, tile)
    assert np.concatenate(clear).mean() > 0.75  # elsewhere another line crosses or runs along it
    assert np.any(seen, axis=0).all()  # no stretch of the outline is missing from the pages
    x0, _, x1, _ = outline.bounds_mm
    assert ends["tip"] - ends["butt"] == pytest.approx(x1 - x0, abs=TOLERANCE_MM)


# ---- sheets joined at their crosses ----


def crosses(sheet, tile):
    """Measure the crosses at the right and left join of a page: {join x: [(x, y), ...]} [mm], the lower one first."""
    found = {}
    for at in tile.joins_x_mm:
        if at is not None:
            found[at] = [_cross(sheet, at, tile.window.y0, 35), _cross(sheet, at, tile.window.y1 - 35, 35)]
    return found


def _cross(sheet, x, y0, height):
    """Find a cross by its level stroke, the only one that is 10 mm long and centred on the join."""
    dark, xs, ys = sheet.part(x - 4.8, y0, x + 4.8, y0 + height)
    rest = sheet.part(x - 6.5, y0, x + 6.5, y0 + height)[0]
    full = dark.mean(axis=1) > 0.95
    short = rest.mean(axis=1) < 0.85
    rows = np.flatnonzero(full & short)
    assert len(rows) > 0, "no cross"
    weight = dark.mean(axis=1)
    rim = slice(rows[0] - 2, rows[-1] + 3)
    y = float((weight[rim] * ys[rim]).sum() / weight[rim].sum())
    upright, xs, _ = sheet.part(x - 1.5, y - 4.5, x + 1.5, y - 1.0)
    profile = upright.mean(axis=0)
    return float((profile * xs).sum() / profile.sum()), y


@pytest.mark.parametrize(("name", "blade_mm"), [("A4", None), ("Letter", 300), ("160x220mm", 300)])
def test_sheets_joined_at_their_crosses_are_one_knife(book, name, blade_mm):
    """Lay each sheet on the one before, cross on cross, as measured; then measure the whole knife across them."""
    knife, wanted = work("chef", blade_mm), wish(name)
    pdf = book(template_pdf(knife, wanted))
    pages = [(n, *row) for n, row in enumerate(laid(knife, wanted)) if row[0].name == "blade"]
    assert len(pages) > 1
    assert pages[0][2].rows == 1
    shift, before, ends, seen = np.zeros(2), None, {}, []
    for n, _, _, tile in pages:
        sheet = drawn(pdf[n])
        found = crosses(sheet, tile)
        left, right = tile.joins_x_mm
        if before is not None:
            here = np.array(found[left])
            # the two crosses are as far from each other on both sheets, so one move lays both
            assert np.abs((here[1] - here[0]) - (before[1] - before[0])).max() < TOLERANCE_MM
            shift = shift + (before - here).mean(axis=0)
        before = np.array(found[right]) if right is not None else None
        _, off, inside = offsets(sheet, on_page(knife.finished, tile), tile.window)
        assert np.abs(off[~np.isnan(off)]).max() < TOLERANCE_MM
        seen.append(inside)
        ends |= {k: v + tile.dx_mm + shift[0] for k, v in measured_ends(sheet, knife.finished, tile).items()}
        # where the sheet lies after joining is where the plan says, relative to the first
        first = pages[0][3]
        assert shift == pytest.approx((first.dx_mm - tile.dx_mm, first.dy_mm - tile.dy_mm), abs=TOLERANCE_MM)
    x0, _, x1, _ = knife.finished.bounds_mm
    assert ends["tip"] - ends["butt"] == pytest.approx(x1 - x0, abs=TOLERANCE_MM)
    assert np.any(seen, axis=0).all()  # no gap at a join


@pytest.mark.parametrize("name", ["A4", "Letter"])
def test_the_bar_across_a_join_is_100_mm_when_the_sheets_are_joined(book, name):
    knife, wanted = work("chef"), wish(name)
    pdf = book(template_pdf(knife, wanted))
    (a, _, _, first), (b, _, _, second) = [
        (n, *row) for n, row in enumerate(laid(knife, wanted)) if row[0].name == "blade"
    ]
    halves = []
    for n, tile, at, sign in ((a, first, first.joins_x_mm[1], -1), (b, second, second.joins_x_mm[0], 1)):
        sheet = drawn(pdf[n])
        centre = np.array(crosses(sheet, tile)[at])[:, 0].mean()
        dark, x, _ = sheet.part(*sorted_box(at + sign * 40, at + sign * 60, tile.window.y0 + 5.2, tile.window.y0 + 6.6))
        ticks = centres(dark.mean(axis=0), x)
        assert len(ticks) == 1
        halves.append(abs(ticks[0] - centre))
    assert sum(halves) == pytest.approx(100, abs=TOLERANCE_MM)


def sorted_box(x0, x1, y0, y1):
    return min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1)


# ---- a printer that is off ----

OFF = (1.012, 0.992)


@pytest.mark.parametrize("name", ["A4", "A3", "Letter"])
def test_a_printer_that_is_off_prints_true_once_it_was_measured(book, name):
    """The printer enlarges x by 1.2 % and shrinks y by 0.8 %: its 100 mm bars measure 101.2 and 99.2 mm."""
    stretch = Printer("workshop", 100 * OFF[0], 100 * OFF[1]).stretch
    knife, wanted = work("chef"), wish(name, stretch=stretch)
    pdf = book(template_pdf(knife, wanted))
    for page, (scene, plan, tile) in zip(pdf, laid(knife, wanted), strict=True):
        sheet = as_printed(drawn(page), OFF)
        room = plan.frame.width - 16, plan.upright_mm[2]
        words = page.get_textpage().get_text_bounded()
        check_bar(level_ticks(sheet), room[0], words)
        check_bar(upright_ticks(sheet), room[1], words)
        if scene.name == "blade":
            off = offsets(sheet, on_page(knife.finished, tile), tile.window)[1]
            assert np.abs(off[~np.isnan(off)]).max() < TOLERANCE_MM
            assert (~np.isnan(off)).mean() > 0.75


def test_without_the_correction_the_same_printer_is_seen_to_be_off(book):
    pdf = book(template_pdf(work("paring"), wish("A4")))
    sheet = as_printed(drawn(pdf[0]), OFF)
    level, upright = level_ticks(sheet), upright_ticks(sheet)
    assert level[1] - level[0] == pytest.approx(101.2, abs=TOLERANCE_MM)
    assert upright[1] - upright[0] == pytest.approx(99.2, abs=TOLERANCE_MM)


class Printed(Sheet):
    """A sheet as a printer with errors about the page's middle brings it to paper; places are those on paper [mm]."""

    def __init__(self, sheet, errors):
        super().__init__(sheet.grey, sheet.size_mm, (1, 1), sheet.start)
        self.sheet, self.errors = sheet, np.array(errors)
        self.middle = np.array(sheet.size_mm) / 2

    def _in_file(self, points):
        return (np.asarray(points) - self.middle) / self.errors + self.middle

    def at(self, points):
        return self.sheet.at(self._in_file(points))

    def part(self, x0, y0, x1, y1):
        low, high = self._in_file((x0, y0)), self._in_file((x1, y1))
        dark, x, y = self.sheet.part(*low, *high)
        x = (x - self.middle[0]) * self.errors[0] + self.middle[0]
        y = (y - self.middle[1]) * self.errors[1] + self.middle[1]
        return dark, x, y


def as_printed(sheet, errors):
    printed = Printed(sheet, errors)
    printed.per_x, printed.per_y = sheet.per_x / errors[0], sheet.per_y / errors[1]
    return printed


# ---- a second reader ----


@pytest.mark.skipif(shutil.which("pdftoppm") is None, reason="poppler's pdftoppm is not installed")
def test_a_second_reader_measures_the_same(tmp_path):
    knife, wanted = work("chef"), wish("A4")
    (tmp_path / "t.pdf").write_bytes(template_pdf(knife, wanted))
    first = laid(knife, wanted)[0]
    run = [shutil.which("pdftoppm"), "-r", str(DPI), "-gray", "-f", "1", "-l", "1", "-singlefile", "t.pdf", "page"]
    subprocess.run(run, cwd=tmp_path, check=True, capture_output=True)
    sheet = greymap((tmp_path / "page.pgm").read_bytes(), (first[1].width_mm, first[1].height_mm))
    for ticks in (level_ticks(sheet), upright_ticks(sheet)):
        assert ticks[1] - ticks[0] == pytest.approx(100, abs=TOLERANCE_MM)
    off = offsets(sheet, on_page(knife.finished, first[2]), first[2].window)[1]
    assert np.abs(off[~np.isnan(off)]).max() < TOLERANCE_MM


def greymap(data, size_mm):
    """Read a binary greymap (P5)."""
    kind, width, height, most = data[:100].split(maxsplit=4)[:4]
    assert kind == b"P5"
    assert most == b"255"
    grey = np.frombuffer(data[-int(width) * int(height) :], dtype=np.uint8).reshape(int(height), int(width))[::-1]
    # the reader draws every pixel at exactly its resolution, the last one may reach over the edge
    return Sheet(grey, size_mm, (size_mm[0] / MM_PER_PIXEL, size_mm[1] / MM_PER_PIXEL), (0, 0))
