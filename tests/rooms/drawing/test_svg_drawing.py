"""The whole drawing: true size, everything on the sheet, nothing on anything else, the same bytes again."""

from __future__ import annotations

import dataclasses
import itertools
import math
import random
import re
import shutil
import struct
import subprocess
import sys

import pytest

from blankwright.base.errors import RequestError
from blankwright.drawing.svg import DimensionLine, HoleMark, drawing_svg, outline_svg
from blankwright.ink.marks import NARROW, Box, Segment
from rooms.drawing import svg_plates
from rooms.drawing.svg_reading import SVG, path_area, path_points, read
from rooms.every import cases


def crowded_plate():
    """The chef's knife with far more on it than anyone needs."""
    plate = svg_plates.chef_plate()
    xs = (-130, -100, -80, -45, -18, 0, 30, 60, 61.5, 120, 180, 210)
    more = [DimensionLine(f"from the heel {x}", (0, 0), (x, 20), "x", 1 + i % 3) for i, x in enumerate(xs) if x != 0]
    more += [DimensionLine(f"{b - a:g}", (a, 40), (b, 40), "x", -1) for a, b in itertools.pairwise(xs)]
    more += [
        DimensionLine(f"height at {x}", (x, 0), (x, 10 + x / 7), "y", 1 + i % 2) for i, x in enumerate((60, 120, 180))
    ]
    more += [
        DimensionLine("1.5", (210, 30.5), (210, 32), "y", 1),
        DimensionLine("butt 24", (-118, 20), (-118, 44), "y", -1),
    ]
    holes = [HoleMark(-110 + 16 * i, 33, 3 + i / 2, f"hole {i}, {3 + i / 2:g} mm") for i in range(6)]
    return dataclasses.replace(plate, holes=tuple(holes), measures=(*plate.measures, *more))


def random_plate(seed):
    """A paring knife with measures and holes wherever the dice put them."""
    rng = random.Random(seed)
    plate = svg_plates.paring_plate()

    def spot():
        return (rng.uniform(-105, 80), rng.uniform(0, 23))

    measures = tuple(
        DimensionLine("w" * rng.randint(1, 12), spot(), spot(), rng.choice("xxxyyr"), rng.choice((-3, -2, -1, 1, 2, 3)))
        for _ in range(rng.randint(0, 14))
    )
    holes = tuple(HoleMark(rng.uniform(-95, -20), 13, 4, f"pin {i}") for i in range(rng.randint(0, 4)))
    front = rng.choice((None, rng.uniform(-30, 0)))
    return dataclasses.replace(
        plate,
        measures=measures,
        holes=holes,
        front_x_mm=front,
        board_line=rng.random() < 0.5,
        cut=rng.choice((None, plate.cut)),
        lines=plate.lines * rng.randint(0, 4),
    )


PLATES = {
    "chef": svg_plates.chef_plate,
    "paring": svg_plates.paring_plate,
    "spreader": svg_plates.spreader_plate,
    "crowded": crowded_plate,
    **{f"random {seed}": (lambda seed=seed: random_plate(seed)) for seed in range(12)},
}


@pytest.fixture(params=PLATES, scope="module")
def plate(request):
    return PLATES[request.param]()


@pytest.fixture(scope="module")
def drawing(plate):
    return read(drawing_svg(plate))


def test_size_in_mm_equals_the_viewbox(drawing):
    root = drawing.root
    assert root.get("width") == f"{drawing.width:g}mm"
    assert root.get("height") == f"{drawing.height:g}mm"
    assert root.get("viewBox").startswith("0 0 ")
    assert drawing.width >= drawing.height  # landscape


def test_outlines_are_at_true_size(plate, drawing):
    assert abs(path_area(drawing.paths["finished-outline"][0])) == pytest.approx(plate.finished.area_mm2, abs=1e-4)
    points = path_points(drawing.paths["finished-outline"][0], 0.0005)
    size = [max(p[k] for p in points) - min(p[k] for p in points) for k in (0, 1)]
    assert size == pytest.approx(plate.finished.size_mm, abs=1e-3)
    if plate.cut is not None:
        assert abs(path_area(drawing.paths["cut-outline"][0])) == pytest.approx(plate.cut.area_mm2, abs=1e-4)


def test_everything_is_inside_the_sheet(drawing):
    spots = [p for x1, y1, x2, y2 in drawing.lines for p in ((x1, y1), (x2, y2))]
    spots += [(x + s * r, y + s * r) for x, y, r in drawing.rings for s in (1, -1)]
    spots += [p for ds in drawing.paths.values() for d in ds for p in path_points(d)]
    spots += [p for _, b in drawing.text_boxes() for p in ((b.x0, b.y0), (b.x1, b.y1))]
    assert all(5 < x < drawing.width - 5 and 5 < y < drawing.height - 5 for x, y in spots)


def test_texts_touch_neither_each_other_nor_holes_nor_lines(drawing):
    boxes = drawing.text_boxes()
    for (one, a), (two, b) in itertools.combinations(boxes, 2):
        assert not a.meets(b), (one, two)
    for words, box in boxes:
        for x, y, r in drawing.rings:
            assert not box.meets(Box(x - r, y - r, x + r, y + r)), words
        for x1, y1, x2, y2 in drawing.lines:
            assert Segment((x1, y1), (x2, y2), NARROW).share_inside(box.grown(0.1)) is None, words


@pytest.mark.parametrize("name", ["chef", "paring", "spreader", "crowded"])
def test_texts_stay_off_the_part(name):
    drawing = read(drawing_svg(PLATES[name]()))
    outlines = [*drawing.paths["finished-outline"], *drawing.paths.get("cut-outline", [])]
    points = [p for d in outlines for p in path_points(d, 0.002)]
    for words, box in drawing.text_boxes():
        assert not any(box.x0 < x < box.x1 and box.y0 < y < box.y1 for x, y in points), words


def test_no_transform_no_px_no_colour(plate):
    svg = drawing_svg(plate)
    assert "transform" not in svg
    assert "px" not in svg.lower()
    assert set(re.findall(r"#[0-9a-fA-F]+", svg)) == {"#000000", "#ffffff"}
    assert "style=" not in svg and "<style" not in svg and "id=" not in svg
    assert "href" not in svg.split("xmlns:xlink", 1)[1].split(">", 1)[1]


def test_line_types_and_widths():
    """ISO 128: wide to narrow 2 : 1, dash 12, long dash 24, gap 3, dot 0.5 line widths (from memory)."""
    groups = {g.get("class"): g for g in read(drawing_svg(svg_plates.chef_plate())).root.iter(f"{SVG}g")}
    seen = {
        k: (
            float(g.get("stroke-width")),
            [float(v) / 0.25 for v in (g.get("stroke-dasharray") or "").split()],
        )
        for k, g in groups.items()
        if g.get("stroke-width")
    }
    assert seen == {
        "finished-outline": (0.5, []),
        "cut-outline": (0.25, [12, 3]),
        "hole": (0.25, []),
        "centre": (0.25, [24, 3, 0.5, 3]),
        "board-line": (0.25, [24, 3, 0.5, 3, 0.5, 3]),
        "narrow": (0.25, []),
    }


def test_the_bar_is_100_mm_from_outside_to_outside(drawing):
    words = next(t for t in drawing.texts if t.text == "check: 100 mm")
    x = float(words.get("x"))
    ticks = [line[0] for line in drawing.lines if line[0] == line[2] and abs(line[1] - line[3]) == pytest.approx(4.5)]
    ticks = [t for t in ticks if x - 1 < t < x + 101]
    assert len(ticks) == 2
    assert max(ticks) + 0.125 - (min(ticks) - 0.125) == pytest.approx(100.0, abs=1e-6)


def test_every_label_is_there(plate, drawing):
    words = [t.text for t in drawing.texts]
    for m in plate.measures:
        assert words.count(m.label) == sum(other.label == m.label for other in plate.measures)
    for hole in plate.holes:
        assert not hole.label or words.count(hole.label) == 1


def test_leaders_end_on_the_hole():
    plate = svg_plates.chef_plate()
    drawing = read(drawing_svg(plate))
    tips = [path_points(d)[0] for d in drawing.paths["arrowheads"]]
    x, y, r = drawing.rings[0]
    assert any(math.hypot(tx - x, ty - y) == pytest.approx(r, abs=1e-5) for tx, ty in tips)


def test_rows_stand_7_mm_apart_and_dimension_lines_have_the_measured_length():
    drawing = read(drawing_svg(svg_plates.chef_plate()))
    flat = [line for line in drawing.lines if line[1] == line[3]]
    blade = [line for line in flat if abs(line[2] - line[0]) == pytest.approx(210, abs=1e-5)]
    overall = [line for line in flat if abs(line[2] - line[0]) == pytest.approx(340, abs=1e-5)]
    assert len(blade) == len(overall) == 1
    assert overall[0][1] - blade[0][1] == pytest.approx(7.0, abs=1e-5)


def test_a_chain_of_dimensions_shares_a_row():
    drawing = read(drawing_svg(svg_plates.chef_plate()))
    at = {t.text: float(t.get("y")) for t in drawing.texts}
    assert at["55"] == at["27"]


def test_same_bytes_again_and_in_another_process():
    code = (
        "import sys; from rooms.drawing import svg_plates; from blankwright.drawing.svg import drawing_svg; "
        "sys.stdout.buffer.write(drawing_svg(svg_plates.chef_plate()).encode())"
    )
    env = {"PYTHONPATH": ":".join(p for p in sys.path if p), "PYTHONHASHSEED": "7"}
    other = subprocess.run([sys.executable, "-c", code], capture_output=True, check=True, env=env).stdout
    first = drawing_svg(svg_plates.chef_plate())
    assert first == drawing_svg(svg_plates.chef_plate())
    assert first.encode() == other


def test_title_and_description_come_first():
    root = read(drawing_svg(svg_plates.chef_plate())).root
    assert [child.tag for child in root][:2] == [f"{SVG}title", f"{SVG}desc"]
    assert root[0].text == "Galley chef's knife 210"


@pytest.mark.skipif(shutil.which("rsvg-convert") is None, reason="rsvg-convert is not installed")
def test_a_renderer_agrees_on_the_size(tmp_path):
    """Judge: librsvg. At 254 dpi one mm is ten dots."""
    svg = drawing_svg(svg_plates.paring_plate())
    drawing = read(svg)
    source, picture = tmp_path / "d.svg", tmp_path / "d.png"
    source.write_text(svg, encoding="utf-8")
    subprocess.run(["rsvg-convert", "-d", "254", "-p", "254", str(source), "-o", str(picture)], check=True)
    width, height = struct.unpack(">II", picture.read_bytes()[16:24])
    assert (width, height) == pytest.approx((drawing.width * 10, drawing.height * 10), abs=1)


def test_small_picture_has_outlines_holes_and_no_words():
    plate = svg_plates.paring_plate()
    drawing = read(outline_svg(plate.finished, plate.cut, plate.holes))
    assert not drawing.texts
    assert len(drawing.rings) == 2
    assert abs(path_area(drawing.paths["finished-outline"][0])) == pytest.approx(plate.finished.area_mm2, abs=1e-4)
    assert drawing.width < plate.cut.size_mm[0] + 12
    assert drawing.root.get("width") == f"{drawing.width:g}mm"


@cases(
    ("build", "says"),
    [
        (lambda: DimensionLine("a", (0, 0), (1, 0), "z", 1), "unknown axis 'z'"),
        (lambda: DimensionLine("a", (0, 0), (1, 0), "x", 0), "row 0"),
        (lambda: DimensionLine("a", (0, 0), (0, 5), "x", 1), "nothing to measure"),
        (lambda: DimensionLine("a", (0, 0), (math.nan, 5), "x", 1), "finite"),
        (lambda: HoleMark(0, 0, 0, "pin"), "more than 0 mm"),
        (lambda: HoleMark(math.inf, 0, 1, "pin"), "finite"),
        (lambda: dataclasses.replace(svg_plates.chef_plate(), front_x_mm=math.nan), "finite"),
    ],
)
def test_half_built_things_are_refused(build, says):
    with pytest.raises(RequestError, match=re.escape(says)):
        build()
