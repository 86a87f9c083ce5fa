"""How a scene is laid on pages: fewest sheets, joins where they do no harm, no gap, everything in the frame."""

import itertools
import math

import numpy as np
import pytest
import shapely

from blankwright.base.errors import RequestError
from blankwright.design.family import load_family
from blankwright.design.request import read_design
from blankwright.ink.papers import paper
from blankwright.knife.knife import finish
from blankwright.template.scene import Scene, Stroke
from blankwright.template.scenes import Wishes, best_plan, scenes
from blankwright.template.tiling import BOTTOM_STRIP_MM, LEFT_STRIP_MM, OVERLAP_MM, TOP_STRIP_MM, plan
from rooms.every import cases, every

MARGIN_MM = 6.0
PAPERS = ("A4", "A3", "Letter", "Legal", "Tabloid", "250x330mm", "160x220mm")
FAMILIES = ("chef", "utility", "paring", "spreader")
EPS_MM = 1e-6  # rounding of sums in the plan
BAR_MM = 100.0


def wish(name, margin=MARGIN_MM, stretch=(1.0, 1.0), more=True):
    return Wishes(paper(name), margin, more, more, stretch)


def knife(family, **changes):
    return finish(read_design(family, {k.replace("__", "."): v for k, v in changes.items()}))


def box_scene(width, height):
    """A scene that is a rectangle with diagonals."""
    lines = (Stroke((0, 0), (width, height), "cut"), Stroke((0, height), (width, 0), "cut"))
    return Scene("box", "box", (), (), lines, (), (), (), (), ())


def seen(tile):
    """Return the window of a tile in the scene's coordinates."""
    w, a = tile.window, math.radians(-tile.angle_deg)
    corners = [(w.x0, w.y0), (w.x1, w.y0), (w.x1, w.y1), (w.x0, w.y1)]
    moved = [(x - tile.dx_mm, y - tile.dy_mm) for x, y in corners]
    c, s = math.cos(a), math.sin(a)
    return shapely.Polygon([(c * x - s * y, s * x + c * y) for x, y in moved])


def joins(scene, laid):
    """Return every join in the scene's x [mm]."""
    return sorted({round(t.joins_x_mm[1] - t.dx_mm, 6) for t in laid.tiles if t.joins_x_mm[1] is not None})


def check_plan(scene, laid):
    """What every plan keeps, whatever was laid."""
    f = laid.frame
    assert 0 <= f.x0 < f.x1 <= laid.width_mm
    assert 0 <= f.y0 < f.y1 <= laid.height_mm
    assert len(laid.tiles) == laid.rows * laid.columns
    places = [(t.row, t.column) for t in laid.tiles]
    assert places == list(itertools.product(range(1, laid.rows + 1), range(1, laid.columns + 1)))
    for tile in laid.tiles:
        w = tile.window
        assert f.x0 - EPS_MM <= w.x0 < w.x1 <= f.x1 + EPS_MM
        assert f.y0 + BOTTOM_STRIP_MM - EPS_MM <= w.y0 < w.y1 <= f.y1 - TOP_STRIP_MM + EPS_MM
        if len(laid.tiles) > 1:
            assert w.x0 >= f.x0 + LEFT_STRIP_MM - EPS_MM
    whole = shapely.unary_union([seen(t) for t in laid.tiles])
    assert whole.buffer(EPS_MM).covers(shapely.MultiPoint(scene.points()))
    assert whole.geom_type == "Polygon"  # no gap between the sheets
    for a, b in itertools.combinations(laid.tiles, 2):
        shared = seen(a).intersection(seen(b))
        if abs(a.row - b.row) + abs(a.column - b.column) == 1:
            x0, y0, x1, y1 = shared.bounds
            overlap = (x1 - x0) if a.row == b.row else (y1 - y0)
            assert 10 - EPS_MM <= overlap <= 15 + EPS_MM
            assert overlap == pytest.approx(OVERLAP_MM, abs=EPS_MM)


def check_joins_meet(laid):
    """A join is the same line of the scene on both sheets, to 0.01 mm, and in the middle of what they share."""
    by_place = {(t.row, t.column): t for t in laid.tiles}
    for tile in laid.tiles:
        right, below = by_place.get((tile.row, tile.column + 1)), by_place.get((tile.row + 1, tile.column))
        assert (right is None) == (tile.joins_x_mm[1] is None)
        assert (below is None) == (tile.joins_y_mm[0] is None)
        if right is not None:
            assert tile.joins_x_mm[1] - tile.dx_mm == pytest.approx(right.joins_x_mm[0] - right.dx_mm, abs=0.01)
            assert tile.window.x1 - tile.joins_x_mm[1] == pytest.approx(OVERLAP_MM / 2, abs=EPS_MM)
        if below is not None:
            assert tile.joins_y_mm[0] - tile.dy_mm == pytest.approx(below.joins_y_mm[1] - below.dy_mm, abs=0.01)
            assert tile.joins_y_mm[0] - tile.window.y0 == pytest.approx(OVERLAP_MM / 2, abs=EPS_MM)


CASES = [(family, end) for family in FAMILIES for end in (0, 1)]


def ends(family):
    d = {d.key: d for d in load_family(family).dimensions}["blade.length"]
    return f"{d.least_mm:g}mm", f"{d.greatest_mm:g}mm"


@every([(*case, name) for case in CASES for name in PAPERS])
def test_every_scene_of_every_family_is_covered_without_gap(family, end, name):
    work = knife(family, blade__length=ends(family)[end])
    for scene in scenes(work, both_faces=True, dummy=True):
        laid = best_plan(scene, wish(name))
        check_plan(scene, laid)
        check_joins_meet(laid)


@every([(*case, name) for case in CASES for name in ("A4", "Letter", "160x220mm", "200x200mm")])
def test_a_join_keeps_clear_of_holes_and_the_tip(family, end, name):
    work = knife(family, blade__length=ends(family)[end])
    blade = scenes(work, both_faces=False, dummy=False)[0]
    for at in joins(blade, best_plan(blade, wish(name))):
        for h in work.holes:
            assert abs(at - h.hole.x_mm) >= h.hole.diameter_mm / 2 + 3
        # the tip zone: the last tenth of the blade
        length = work.shape.values_mm["blade_length"]
        assert at < 0.9 * length
        assert min(abs(at), abs(at - work.finished.bounds_mm[0])) > 1  # nor at the heel's corner or the butt


@cases("count", [2, 3, 4])
@cases("blade", ["180mm", "210mm", "240mm", "300mm"])
def test_a_join_keeps_clear_of_any_number_of_pins(blade, count):
    work = knife("chef", blade__length=blade, pins__count=str(count))
    blade_scene = scenes(work, both_faces=True, dummy=False)
    for scene, sign in zip(blade_scene[:2], (1, -1), strict=True):
        for at in joins(scene, best_plan(scene, wish("A4"))):
            for h in work.holes:
                assert abs(at - sign * h.hole.x_mm) >= h.hole.diameter_mm / 2 + 3


@cases("blade", ["150mm", "180mm", "210mm", "240mm", "300mm"])
def test_a_join_is_in_the_belly_only_when_no_other_place_will_do(blade):
    work = knife("chef", blade__length=blade)
    scene = scenes(work, both_faces=False, dummy=False)[0]
    flat = work.shape.values_mm["flat_length"]
    for name in ("A4", "Letter"):
        laid = best_plan(scene, wish(name))
        if laid.columns != 2:
            continue
        at = joins(scene, laid)[0]
        if at <= flat:
            continue
        # every place outside the belly would leave more on one sheet than it holds
        low, high = scene.points()[:, 0].min(), scene.points()[:, 0].max()
        room = laid.frame.width - LEFT_STRIP_MM
        free = [
            x
            for x in np.arange(low, flat, 0.5)
            if x - low + OVERLAP_MM / 2 <= room - 5 and high - x + OVERLAP_MM / 2 <= room - 5
        ]
        clear = [x for x in free if all(abs(x - h.hole.x_mm) > h.hole.diameter_mm / 2 + 12 for h in work.holes)]
        assert not clear


def pages_of_blade(work, name, **more):
    scene = scenes(work, both_faces=False, dummy=False)[0]
    return len(best_plan(scene, wish(name, **more)).tiles)


def test_a_chefs_knife_of_210_mm_takes_two_a4_or_one_a3():
    work = knife("chef", blade__length="210mm", blade__heel_height="48mm")
    assert pages_of_blade(work, "A4") == 2
    assert pages_of_blade(work, "Letter") == 2
    assert pages_of_blade(work, "A3") == 1
    assert pages_of_blade(work, "Tabloid") == 1


def test_a_utility_knife_of_150_mm_fits_one_a4_at_an_angle():
    work = knife("utility", blade__length="150mm")
    assert pages_of_blade(work, "A4") == 1


@cases("family", ["paring", "spreader"])
@cases("end", [0, 1])
def test_a_short_knife_fits_one_page(family, end):
    work = knife(family, blade__length=ends(family)[end])
    assert pages_of_blade(work, "A4") == pages_of_blade(work, "Letter") == 1


@every([(*case, name) for case in CASES for name in ("A4", "Letter")])
def test_what_fits_the_area_common_to_a4_and_letter_is_printed_inside_it(family, end, name):
    """ISO 216 and ANSI size A: 210 x 279.4 mm of both, less the margin on every side."""
    work = knife(family, blade__length=ends(family)[end])
    for scene in scenes(work, both_faces=True, dummy=True):
        laid = best_plan(scene, wish(name))
        common = sorted((210 - 2 * MARGIN_MM, 279.4 - 2 * MARGIN_MM))
        try:
            small = min(
                len(plan(scene.points(), scene.avoid, tuple(page), tuple(used)).tiles)
                for page, used in (
                    ((279.4, 215.9), common[::-1]),
                    ((215.9, 279.4), common),
                )
            )
        except RequestError:
            continue
        if small == len(laid.tiles):
            assert sorted((laid.frame.width, laid.frame.height)) == pytest.approx(common)
            assert laid.frame.x0 == pytest.approx(laid.width_mm - laid.frame.x1)


def test_a_larger_margin_and_a_correction_make_the_frame_smaller():
    scene = box_scene(100, 80)
    for margin in (0.0, 6.0, 15.0):
        laid = best_plan(scene, wish("A3", margin=margin))
        f = laid.frame
        assert (f.x0, f.y0) == pytest.approx((margin, margin))
        assert (laid.width_mm - f.x1, laid.height_mm - f.y1) == pytest.approx((margin, margin))
    for stretch in ((1.02, 0.99), (0.98, 1.01), (0.98, 0.99)):
        laid = best_plan(scene, wish("A3", stretch=stretch))
        middle = np.array([laid.width_mm, laid.height_mm]) / 2
        for corner in ((laid.frame.x0, laid.frame.y0), (laid.frame.x1, laid.frame.y1)):
            x, y = middle + (np.array(corner) - middle) * stretch
            assert MARGIN_MM - EPS_MM <= x <= laid.width_mm - MARGIN_MM + EPS_MM
            assert MARGIN_MM - EPS_MM <= y <= laid.height_mm - MARGIN_MM + EPS_MM


@cases("name", ["60x60mm", "100x140mm", "120x120mm", "60x2000mm"])
def test_a_paper_without_room_for_the_bars_is_refused(name):
    with pytest.raises(RequestError, match="too small"):
        best_plan(box_scene(50, 20), wish(name))


@cases(("size", "name"), [((356, 297), "A4"), ((208, 174), "160x220mm"), ((340, 260), "200x200mm")])
def test_a_huge_scene_is_laid_in_rows_and_columns(size, name):
    scene = box_scene(*size)
    laid = best_plan(scene, wish(name))
    assert laid.rows > 1
    assert laid.columns > 1
    check_plan(scene, laid)
    check_joins_meet(laid)


def test_more_than_eight_sheets_are_refused_with_the_way_out():
    with pytest.raises(RequestError, match="larger --paper"):
        best_plan(box_scene(900, 900), wish("A4"))


SIZES = list(itertools.product((60, 190, 282, 380, 500), (10, 120, 200, 300)))


@cases("name", ["A4", "A3", "Letter", "Tabloid", "200x200mm", "160x220mm"])
def test_the_fewest_pages_by_counting(name):
    """Sheets needed in each direction: the first and last show one overlap's half less, those between a whole one."""
    sheet = paper(name)
    for size in SIZES:
        try:
            laid = best_plan(box_scene(*size), wish(name))
        except RequestError:
            continue
        counts = []
        for w, h in ((sheet.width_mm, sheet.height_mm), (sheet.height_mm, sheet.width_mm)):
            room = (w - 2 * MARGIN_MM - LEFT_STRIP_MM, h - 2 * MARGIN_MM - BOTTOM_STRIP_MM - TOP_STRIP_MM)
            counts.append(math.prod(sheets_in_row(s + 5.0, r) for s, r in zip(size, room, strict=True)))
        assert len(laid.tiles) <= min(counts)


def sheets_in_row(length, room):
    return 1 if length <= room else math.ceil((length - OVERLAP_MM) / (room - OVERLAP_MM) - 1e-9)


NARROW_PAPERS = ["150x400mm", "300x150mm", "140x300mm"]


@cases("name", [*PAPERS, *NARROW_PAPERS])
def test_there_is_room_for_an_upright_bar_of_100_mm_or_the_paper_is_refused(name):
    try:
        laid = best_plan(box_scene(150, 40), wish(name))
    except RequestError:
        return
    assert laid.upright_mm[2] >= BAR_MM
    assert laid.upright_mm[1] + laid.upright_mm[2] <= laid.frame.y1 + EPS_MM


@every([(*case, name) for case in CASES for name in ("A4", "Letter", "Legal", "160x220mm", "200x200mm")])
def test_every_sheet_of_a_knife_holds_its_half_of_the_bar_across_the_join(family, end, name):
    work = knife(family, blade__length=ends(family)[end])
    for scene in scenes(work, both_faces=True, dummy=True):
        check_join_bars(best_plan(scene, wish(name)))


def test_every_sheet_of_a_large_scene_holds_its_half_of_the_bar_and_both_crosses():
    for size in SIZES:
        for name in ("A4", "Legal"):
            try:
                laid = best_plan(box_scene(*size), wish(name))
            except RequestError:
                continue
            check_join_bars(laid)


def check_join_bars(laid):
    for t in laid.tiles:
        if any(j is not None for j in t.joins_x_mm):
            assert t.window.width >= BAR_MM / 2 + OVERLAP_MM / 2
            assert t.window.height >= 28 + 5  # two crosses of 10 mm, 16 mm from below and 12 mm from above
        if any(j is not None for j in t.joins_y_mm):
            assert t.window.height >= BAR_MM / 2 + OVERLAP_MM / 2
            assert t.window.width >= 28 + 5


def test_a_scene_too_tall_across_is_laid_upright_when_that_needs_few_sheets():
    """Six sheets one over the other, each 160 mm wide and 220 mm high; laid the other way they would be nine."""
    laid = best_plan(box_scene(97, 748), wish("160x220mm"))
    assert len(laid.tiles) <= 8
