"""What stands on the pages of a template: inside the margins, nothing over another, crosses that meet."""

import math
from functools import cache

import numpy as np
import pytest

from blankwright.design.request import read_design
from blankwright.ink.marks import Box
from blankwright.ink.papers import paper
from blankwright.knife.knife import finish
from blankwright.template.pages import Head, template_pages
from blankwright.template.scenes import Wishes, best_plan, scenes
from rooms.every import cases, every

MARGIN_MM = 6.0
HALF_LINE_MM = 0.13
"""A line may stand on the margin's edge: printers are not that exact, and it shows all the same."""
PAPERS = ("A4", "A3", "Letter", "Legal", "160x220mm")
DESIGNS = (
    ("chef", ()),
    ("chef", (("blade.length", "300mm"),)),
    ("chef", (("handle.construction", "hidden"),)),
    ("utility", ()),
    ("paring", (("blade.length", "60mm"),)),
    ("spreader", ()),
)
HEAD = Head("Chef's knife", "ABCD-EFGH", ("One fact about its size.",), "Take care.")
CASES = [(design, name) for design in DESIGNS for name in PAPERS]


@cache
def laid(design, name, head=HEAD):
    """Return (scene, plan, tile, page) of every page."""
    work = finish(read_design(design[0], dict(design[1])))
    wanted = Wishes(paper(name), MARGIN_MM, True, True, (1.0, 1.0))
    parts = [(scene, best_plan(scene, wanted)) for scene in scenes(work, both_faces=True, dummy=True)]
    places = [(scene, plan, tile) for scene, plan in parts for tile in plan.tiles]
    return [(*place, page) for place, page in zip(places, template_pages(parts, head), strict=True)]


def boxes(layer):
    """Return the box of every mark of a layer as far as its window shows it."""
    m = layer.marks
    for mark in (*m.shapes, *m.rings, *m.segments, *m.arrows, *m.texts):
        b, c = mark.box, layer.clip
        if c is None:
            yield mark, b
        elif b.meets(c):
            yield mark, Box(max(b.x0, c.x0), max(b.y0, c.y0), min(b.x1, c.x1), min(b.y1, c.y1))


def texts(page):
    return [text for layer in page.layers for text in layer.marks.texts if layer.clip is None or shows(layer, text)]


def shows(layer, text):
    return text.box.meets(layer.clip)


@every(CASES)
def test_nothing_is_drawn_into_the_printers_margin(design, name):
    for _, plan, _, page in laid(design, name):
        assert (page.width_mm, page.height_mm) == (plan.width_mm, plan.height_mm)
        for layer in page.layers:
            for mark, b in boxes(layer):
                assert b.x0 >= MARGIN_MM - HALF_LINE_MM, mark
                assert b.y0 >= MARGIN_MM - HALF_LINE_MM, mark
                assert b.x1 <= page.width_mm - MARGIN_MM + HALF_LINE_MM, mark
                assert b.y1 <= page.height_mm - MARGIN_MM + HALF_LINE_MM, mark


@every(CASES)
def test_no_two_texts_overlap(design, name):
    check_texts(laid(design, name))


@cases("name", PAPERS)
def test_a_long_name_runs_into_nothing(name):
    head = Head("A knife with a name of some length, chef's knife", HEAD.code, HEAD.facts, HEAD.caution)
    check_texts(laid(DESIGNS[0], name, head))


def check_texts(pages):
    for _, _, _, page in pages:
        words = texts(page)
        for i, a in enumerate(words):
            for b in words[i + 1 :]:
                assert not a.box.meets(b.box), (page.name, a.words, b.words)


@every(CASES)
def test_no_text_stands_on_an_outline_a_hole_or_an_arrow(design, name):
    for _, _, _, page in laid(design, name):
        drawn = page.layers[0]
        ink = np.concatenate([shape.outline.sampled(0.3)[0] for shape in drawn.marks.shapes])
        c = drawn.clip
        x, y = ink[:, 0], ink[:, 1]
        ink = ink[(x > c.x0) & (x < c.x1) & (y > c.y0) & (y < c.y1)]
        solid = [m.box for m in (*drawn.marks.rings, *drawn.marks.arrows) if m.box.meets(c)]
        for text in texts(page):
            b = text.box
            on = (ink[:, 0] > b.x0) & (ink[:, 0] < b.x1) & (ink[:, 1] > b.y0) & (ink[:, 1] < b.y1)
            assert not on.any(), (page.name, text.words)
            assert not any(b.meets(other) for other in solid), (page.name, text.words)


@every(CASES)
def test_no_text_stands_on_a_straight_line(design, name):
    """Lines of a text's own layer are interrupted for it; those of the others must not run through it."""
    for _, _, _, page in laid(design, name):
        lines = [(layer.clip, s) for layer in page.layers for s in layer.marks.interrupted()]
        for text in texts(page):
            core = text.box.grown(-0.2)  # the boxes are estimates on the safe side
            for c, s in lines:
                share = s.share_inside(core)
                if share is None:
                    continue
                at = s.a[0] + sum(share) / 2 * (s.b[0] - s.a[0]), s.a[1] + sum(share) / 2 * (s.b[1] - s.a[1])
                shown = c is None or (c.x0 < at[0] < c.x1 and c.y0 < at[1] < c.y1)
                assert not shown, (page.name, text.words, s.line.name, s.a, s.b)


@every(CASES)
def test_no_leader_crosses_a_hole(design, name):
    for _, _, _, page in laid(design, name):
        check_leaders(page)


def check_leaders(page):
    drawn, beside, _ = page.layers
    for leader in beside.marks.segments:
        for ring in drawn.marks.rings:
            assert leader.share_inside(ring.box) is None, (page.name, leader)


def to_scene(tile, x, y):
    a = math.radians(-tile.angle_deg)
    x, y = x - tile.dx_mm, y - tile.dy_mm
    return math.cos(a) * x - math.sin(a) * y, math.sin(a) * x + math.cos(a) * y


def crosses(page, tile):
    """Find where a level and an upright line of 10 mm halve each other, in the scene's coordinates."""
    layer = page.layers[0]
    by_middle = {}
    for s in layer.marks.segments:
        if math.dist(s.a, s.b) == pytest.approx(10):
            middle = (round((s.a[0] + s.b[0]) / 2, 6), round((s.a[1] + s.b[1]) / 2, 6))
            by_middle.setdefault(middle, set()).add("level" if s.a[1] == s.b[1] else "upright")
            c = layer.clip
            inside = c.x0 <= min(s.a[0], s.b[0]) and max(s.a[0], s.b[0]) <= c.x1
            assert inside, "a cross is cut off"
            assert c.y0 <= min(s.a[1], s.b[1])
            assert max(s.a[1], s.b[1]) <= c.y1
    return {m: to_scene(tile, *m) for m, kinds in by_middle.items() if len(kinds) == 2}


@every(CASES)
def test_both_copies_of_every_cross_are_one_place_of_the_scene(design, name):
    found = {}
    for scene, _, tile, page in laid(design, name):
        for place in crosses(page, tile).values():
            found.setdefault(scene.name, []).append(place)
    tiled = {scene.name for scene, plan, _, _ in laid(design, name) if len(plan.tiles) > 1}
    assert set(found) == tiled
    for places in found.values():
        left = list(places)
        while left:
            one = left.pop()
            near = [p for p in left if math.dist(p, one) < 0.01]
            assert len(near) == 1, "a cross without its like on the neighbour"
            left.remove(near[0])


@every(CASES)
def test_each_join_has_two_crosses_and_one_sheet_to_trim(design, name):
    for scene, plan, _, _ in laid(design, name):
        pages = [(t, p) for s, _, t, p in laid(design, name) if s is scene]
        inner = plan.rows * (plan.columns - 1) + plan.columns * (plan.rows - 1)
        assert sum(len(crosses(page, tile)) for tile, page in pages) == 2 * 2 * inner
        trims = sum("cut the paper here" in text.words for _, page in pages for text in texts(page))
        assert trims == inner


@every(CASES)
def test_every_page_says_how_to_print_it_and_which_it_is(design, name):
    pages = laid(design, name)
    for number, (_, plan, tile, page) in enumerate(pages, start=1):
        words = " | ".join(t.words for t in texts(page))
        assert "actual size" in words
        assert HEAD.code in words
        assert HEAD.caution in words
        assert f"{number} of {len(pages)}" in words
        if len(plan.tiles) > 1:
            assert f"row {tile.row}, column {tile.column}" in words


@every(CASES)
def test_the_small_map_is_on_the_first_page_of_tiles_only(design, name):
    for _, plan, tile, page in laid(design, name):
        cells = {t.words for t in texts(page)} & {f"{t.row}.{t.column}" for t in plan.tiles}
        expected = len(plan.tiles) if len(plan.tiles) > 1 and (tile.row, tile.column) == (1, 1) else 0
        assert len(cells) == expected


@every(CASES)
def test_the_labels_of_the_scene_are_all_set_somewhere(design, name):
    for scene in {id(s): s for s, *_ in laid(design, name)}.values():
        words = [t.words for s, _, _, page in laid(design, name) if s is scene for t in texts(page)]
        for label in scene.labels:
            assert label.text in words
