"""Sections on the drawing, read back from the SVG: shapes, places, words; and the block and grind lines on the part."""

from __future__ import annotations

import itertools
import json
from functools import cache

import numpy as np
import pytest

from blankwright.commands import cli
from blankwright.design.request import read_design
from blankwright.design.tang import chord_at
from blankwright.desk.make import make
from blankwright.drawing.content import part_drawing
from blankwright.drawing.sections import SCALE, blade_places, handle_place_mm
from blankwright.drawing.svg import drawing_svg
from blankwright.ink.marks import NARROW, Box, Segment
from blankwright.knife.knife import finish
from blankwright.solid.handlebodies import SECTIONS
from blankwright.solid.section import thickness
from rooms.drawing.svg_reading import SVG, path_area, path_points, read
from rooms.every import cases
from rooms.written import in_folder

RICASSO = {"grind.ricasso": "3 mm", "grind.plunge_radius": "5 mm"}
HOLLOW = {"grind.kind": "hollow", "grind.wheel": "400 mm", "grind.height": "8 mm"}
KNIVES = {
    "chef": ("chef", {}),
    "chef, ricasso": ("chef", {**RICASSO, "grind.height": "25 mm"}),
    "chef, full and ricasso": ("chef", RICASSO),
    "chef, convex, uneven": ("chef", {"grind.kind": "convex", "grind.bevel": "uneven", "grind.right_share": "70 %"}),
    "chef, block": ("chef", {"handle.construction": "hidden"}),
    "chef, pinned block": ("chef", {"handle.construction": "hidden", "pins.count": "1"}),
    "chef, many holes": ("chef", {"pins.count": "3", "tang.lanyard_diameter": "6 mm"}),
    "utility": ("utility", {"scales.section": "oval"}),
    "paring, single hollow": ("paring", {"grind.bevel": "single", **HOLLOW}),
    "paring, left": ("paring", {"grind.bevel": "single", "grind.right_share": "0 %", **HOLLOW, **RICASSO}),
    "paring, slab": ("paring", {"scales.section": "slab"}),
    "spreader": ("spreader", {"handle.construction": "one-piece"}),
    "spreader, block": ("spreader", {"handle.construction": "hidden", "block.section": "slab"}),
}


@cache
def work_of(name):
    family, changes = KNIVES[name]
    return finish(read_design(family, changes))


@cache
def drawing_of(name):
    return read(drawing_svg(part_drawing(work_of(name), sections=True)))


@pytest.fixture(params=KNIVES, scope="module")
def name(request):
    return request.param


def groups(drawing):
    return {g.get("class"): g for g in drawing.root.iter(f"{SVG}g")}


def closed(drawing):
    """The closed section outlines, in the order they stand: A, B, C, then the handle's."""
    return [d for d in drawing.paths["section-outline"] if d.endswith("Z")]


def width_at(points, y):
    """Least and greatest x of a polygon at a height."""
    found = []
    for (x0, y0), (x1, y1) in zip(points, points[1:] + points[:1], strict=True):
        if (y0 > y) != (y1 > y):
            found.append(x0 + (x1 - x0) * (y - y0) / (y1 - y0))
    return min(found), max(found)


def test_the_blade_sections_are_those_of_the_solid(name):
    """Scale undone, the drawn thickness is section.thickness within 0.01 mm, from edge to spine."""
    work, outlines = work_of(name), closed(drawing_of(name))
    ground = work.ground
    marks = blade_places(work, ground)
    for (_, x), d in zip(marks, outlines, strict=False):
        points = path_points(d)
        top, low = min(y for _, y in points), max(y for _, y in points)  # y runs down on the sheet
        chord = chord_at(work.finished, max(x, 0.01))
        height = chord[1] - (chord[0] if x > 0 else min(chord[0], 0.0))  # at the heel: of the corner, if rounded
        assert (low - top) / SCALE == pytest.approx(height, abs=0.01)
        spine = float(ground.taper.at(np.array([x]))[0])
        for u in np.linspace(0.02, height - 0.02, 60):
            a, b = width_at(points, low - u * SCALE)
            want = thickness(np.array([u]), np.array([height]), np.array([spine]), ground.bevels)[0]
            assert (b - a) / SCALE == pytest.approx(want, abs=0.01)


def test_the_single_bevel_is_ground_on_the_right_and_flat_on_the_left():
    for name, flat in (("paring, single hollow", min), ("paring, left", max)):
        points = path_points(closed(drawing_of(name))[0])
        edge = max(points, key=lambda p: p[1])
        assert edge[0] == pytest.approx(flat(x for x, _ in points), abs=1e-6)


def test_the_handle_sections_have_the_area_of_their_superellipse():
    """Area of a superellipse: Gamma(1 + 1/n)^2 / Gamma(1 + 2/n) of its box (any table of plane curves)."""
    from math import gamma, isinf

    for name in ("chef", "utility", "paring, slab", "chef, block", "spreader, block"):
        work = work_of(name)
        x = handle_place_mm(work)
        table = "scales" if work.design.construction == "full" else "block"
        n = SECTIONS[work.handle.section]
        share = 1.0 if isinf(n) else gamma(1 + 1 / n) ** 2 / gamma(1 + 2 / n)
        wood = closed(drawing_of(name))[-1 if table == "scales" else -2]
        points = path_points(wood)
        high = max(y for _, y in points) - min(y for _, y in points)
        across = max(x for x, _ in points) - min(x for x, _ in points)
        assert across / SCALE == pytest.approx(work.handle.swell.at(x), abs=1e-4)
        assert abs(path_area(wood)) == pytest.approx(share * high * across, rel=0.002)


def test_the_marks_stand_where_the_sections_are_taken(name):
    work, drawing = work_of(name), drawing_of(name)
    origin = min(x for x, _ in path_points(drawing.paths["finished-outline"][0], 0.001)) - work.finished.bounds_mm[0]
    lines = [
        tuple(float(e.get(k)) for k in ("x1", "y1", "x2", "y2"))
        for e in groups(drawing)["section-outline"].iter(f"{SVG}line")
    ]
    places = [x for _, x in blade_places(work, work.ground)] + [handle_place_mm(work)]
    assert len(lines) == 2 * len(places)
    for place in places:
        ends = [line for line in lines if line[0] == line[2] == pytest.approx(origin + place, abs=1e-3)]
        assert len(ends) == 2, place  # one above the part, one below
    for letter in "ABCD"[: len(places)]:
        assert [t.text for t in drawing.texts].count(letter) == 2


def test_with_a_ricasso_the_first_section_lies_ahead_of_the_plunge():
    work = work_of("chef, ricasso")
    title, x = blade_places(work, work.ground)[0]
    assert "plunge" in title.text()
    assert x > 3.0


def test_texts_touch_neither_each_other_nor_lines_nor_the_part(name):
    drawing = drawing_of(name)
    boxes = drawing.text_boxes()
    for (one, a), (two, b) in itertools.combinations(boxes, 2):
        assert not a.meets(b), (one, two)
    shapes = ("finished-outline", "cut-outline", "section-outline", "left-on")
    points = [p for key in shapes for d in drawing.paths.get(key, []) for p in path_points(d, 0.002)]
    for words, box in boxes:
        for x, y, r in drawing.rings:
            assert not box.meets(Box(x - r, y - r, x + r, y + r)), words
        for x1, y1, x2, y2 in drawing.lines:
            assert Segment((x1, y1), (x2, y2), NARROW).share_inside(box.grown(0.1)) is None, words
        assert not any(box.x0 < x < box.x1 and box.y0 < y < box.y1 for x, y in points), words


def test_everything_is_inside_a_sheet_in_landscape(name):
    drawing = drawing_of(name)
    assert drawing.width >= drawing.height
    spots = [p for x1, y1, x2, y2 in drawing.lines for p in ((x1, y1), (x2, y2))]
    spots += [p for ds in drawing.paths.values() for d in ds for p in path_points(d)]
    spots += [p for _, b in drawing.text_boxes() for p in ((b.x0, b.y0), (b.x1, b.y1))]
    assert all(5 < x < drawing.width - 5 and 5 < y < drawing.height - 5 for x, y in spots)


def test_the_hatching_stays_inside_what_is_cut(name):
    """Every hatch line ends on an outline; its middle lies inside one."""
    drawing = drawing_of(name)
    boxes = [path_points(d) for d in closed(drawing)]
    hatch = [
        tuple(float(e.get(k)) for k in ("x1", "y1", "x2", "y2")) for e in groups(drawing)["hatch"].iter(f"{SVG}line")
    ]
    assert len(hatch) > 20
    left = min(x for points in boxes for x, _ in points)
    assert all(min(x1, x2) > left - 1e-3 for x1, _, x2, _ in hatch)


def test_the_edge_detail_shows_scribe_distances_and_the_edge_left_on():
    drawing = drawing_of("chef")
    words = [t.text for t in drawing.texts]
    assert words.count("1.20") == 2  # (3 - 0.6) / 2 from each face
    assert "0.60" in words
    assert "edge 15° each side" in words
    dashed = [p for d in drawing.paths["left-on"] for p in path_points(d)]
    low = max(y for _, y in dashed)
    foot = [x for x, y in dashed if y > low - 1e-3]
    assert (max(foot) - min(foot)) / 20 == pytest.approx(0.6, abs=1e-3)
    assert "left-on" not in drawing_of("spreader").paths or not drawing_of("spreader").paths["left-on"]


@cases("family", ["chef", "utility", "paring", "spreader"])
def test_without_the_word_no_section_is_drawn(family):
    work = finish(read_design(family))
    plain = drawing_svg(part_drawing(work))
    assert "section-outline" not in plain
    assert "hatch" not in plain


def test_the_block_and_the_grind_line_are_on_the_part():
    plain = read(drawing_svg(part_drawing(work_of("chef, block"))))
    assert any("handle block" in t.text for t in plain.texts)
    work = work_of("chef, ricasso")
    drawing = read(drawing_svg(part_drawing(work)))
    assert any(t.text == "grind line, plunge line" for t in drawing.texts)
    origin = min(x for x, _ in path_points(drawing.paths["finished-outline"][0], 0.001)) - work.finished.bounds_mm[0]
    starts = [path_points(d)[0][0] - origin for d in drawing.paths["narrow"]]
    assert min(starts) == pytest.approx(3.0, abs=1e-3)


def test_make_and_weigh_write_the_sections(tmp_path, monkeypatch, capsys):
    made = make(read_design("chef"), tmp_path / "a", ("sections",))
    svg = (made.folder / "chef_drawing_mm.svg").read_bytes()
    assert b"section-outline" in svg
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("sys.argv", ["blankwright", "weigh", "chef", "--with", "sections", "--out", "b", "--json"])
    with pytest.raises(SystemExit) as done:
        cli.main()
    assert done.value.code == 0
    assert json.loads(capsys.readouterr().out)["files"] == ["chef_drawing_mm.svg"]
    assert [p.name for p in in_folder(tmp_path / "b" / "chef")] == ["chef_drawing_mm.svg"]
    assert (tmp_path / "b" / "chef" / "chef_drawing_mm.svg").read_bytes() == svg


@pytest.mark.parametrize("line", [["weigh", "chef", "--with", "notes"], ["cut", "chef", "--with", "sections"]])
def test_a_word_that_does_not_fit_is_refused(line, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("sys.argv", ["blankwright", *line])
    with pytest.raises(SystemExit) as done:
        cli.main()
    assert done.value.code == 2
    assert "sections" in capsys.readouterr().err
    assert not list(tmp_path.iterdir())
