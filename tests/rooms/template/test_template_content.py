"""What a template holds: scales as a mirrored pair, both faces, dummy, the board SVG, and one code on everything."""

import json
import math
from functools import cache

import numpy as np
import pypdfium2
import pytest
import shapely

from blankwright.design.request import read_design
from blankwright.desk.make import make
from blankwright.knife.code import design_code
from blankwright.knife.knife import finish
from blankwright.template.scenes import scenes, template_pdf, template_svg, wishes
from rooms.drawing.svg_reading import SVG, path_area, path_points, read
from rooms.every import cases

FAMILIES = ("chef", "utility", "paring", "spreader")
LIGHT = {"tang.lightening_count": "2", "tang.lightening_diameter": "7 mm"}


@cache
def knife(family, *changes):
    return finish(read_design(family, dict(changes)))


def shown(work, **more):
    return {s.name: s for s in scenes(work, **{"both_faces": True, "dummy": True, **more})}


def polygon(outline):
    return shapely.Polygon(outline.flattened(1e-3))


def full(family):
    return knife(family, ("handle.construction", "full"))


@cases("family", FAMILIES)
def test_the_scales_are_a_mirrored_pair(family):
    """Turned over about an upright line, and moved straight down, one is the other, to 1e-9 mm."""
    scene = shown(full(family))["scales"]
    for right, left in (scene.solid, scene.dashed):
        x0, y0, x1, _ = right.bounds_mm
        axis = (x0 + x1 + left.bounds_mm[0] + left.bounds_mm[2]) / 4
        flipped = right.flattened(1e-3) * (-1, 1) + (2 * axis, left.bounds_mm[1] - y0)
        assert left.area_mm2 == pytest.approx(right.area_mm2, abs=1e-9)
        assert left.perimeter_mm == pytest.approx(right.perimeter_mm, abs=1e-9)
        assert polygon(left).symmetric_difference(shapely.Polygon(flipped)).area < 0.5
        for p in flipped:
            assert np.hypot(*(left.flattened(1e-3) - p).T).min() < 0.5
    count = len(scene.holes) // 2
    axis = (scene.solid[0].bounds_mm[2] + scene.solid[1].bounds_mm[0]) / 2
    drop = scene.solid[0].bounds_mm[1] - scene.solid[1].bounds_mm[1]
    for a, b in zip(scene.holes[:count], scene.holes[count:], strict=True):
        assert (b.x_mm, b.y_mm) == pytest.approx((2 * axis - a.x_mm, a.y_mm - drop), abs=1e-9)
        assert (a.diameter_mm, a.kind) == (b.diameter_mm, b.kind)


@cases("family", FAMILIES)
def test_a_scale_is_the_handle_and_oversize_everywhere_at_the_front_too(family):
    work = full(family)
    finished, rough = work.handle.outline, work.handle.rough
    front = work.shape.front_x_mm
    assert finished.bounds_mm[2] == pytest.approx(front, abs=1e-9)
    assert rough.bounds_mm[2] == pytest.approx(front + 3, abs=1e-9)
    for outline in (finished,):  # one straight upright line closes the front
        k = outline.regions.index("front")
        assert outline.regions.count("front") == 1
        assert outline.bulges[k] == 0
        assert outline.starts[k][0] == pytest.approx(outline.ends[k][0], abs=1e-9)
    x0, y0, _, y1 = finished.bounds_mm
    judge = polygon(work.finished).intersection(shapely.box(x0 - 1, y0 - 50, front, y1 + 50))
    assert polygon(finished).symmetric_difference(judge).area < 0.5
    points, _ = rough.sampled(0.5)
    edge = shapely.LineString([*finished.flattened(1e-3), finished.flattened(1e-3)[0]])
    distances = [edge.distance(shapely.Point(p)) for p in points]
    assert min(distances) >= 2.99
    assert max(distances) < 3.01


@cases("family", FAMILIES)
def test_pin_holes_are_ringed_and_lightening_holes_crossed_out(family):
    work = full(family)
    assert {h.kind for h in shown(work)["scales"].holes} == {"pin"}
    assert len(shown(work)["scales"].holes) == 2 * len(work.holes) > 0


def test_lightening_holes_are_crossed_out_on_the_scales_and_nowhere_else():
    work = knife("chef", *LIGHT.items())
    purposes = [h.hole.purpose for h in work.holes]
    assert purposes.count("lightening") == 2
    scene = shown(work)["scales"]
    assert sum(h.kind == "crossed" for h in scene.holes) == 4
    assert sum(h.kind == "pin" for h in scene.holes) == 2 * purposes.count("pin")
    assert {h.kind for h in shown(work)["blade"].holes} == {"pin"}


def test_the_scales_say_left_and_right_grain_and_the_face_to_finish_first():
    scene = shown(full("chef"))["scales"]
    words = " | ".join([*(t for t, _ in scene.texts), *(label.text for label in scene.labels)])
    for must in ("left", "right", "grain", "finish this face before glue-up"):
        assert must in words
    assert sum(line.kind == "arrow" for line in scene.lines) == 2
    assert sum("finish this face" in label.text for label in scene.labels) == 2


@cases("family", FAMILIES)
@cases("construction", ["hidden", "one-piece"])
def test_no_scales_for_a_hidden_tang_or_one_board(family, construction):
    assert "scales" not in shown(knife(family, ("handle.construction", construction)))


@cases("family", FAMILIES)
def test_the_other_face_is_the_exact_mirror_image(family):
    work = full(family)
    scene = shown(work)["other-face"]
    for mine, theirs in ((scene.solid[0], work.finished), (scene.dashed[0], work.cut)):
        flipped = theirs.flattened(1e-4) * (-1, 1)
        assert mine.area_mm2 == pytest.approx(theirs.area_mm2, abs=1e-9)
        assert mine.area_mm2 > 0
        assert polygon(mine).symmetric_difference(shapely.Polygon(flipped)).area < 0.5
        x0, y0, x1, y1 = theirs.bounds_mm
        assert mine.bounds_mm == pytest.approx((-x1, y0, -x0, y1), abs=1e-9)
    for a, b in zip(scene.holes, work.holes, strict=True):
        assert (a.x_mm, a.y_mm) == pytest.approx((-b.hole.x_mm, b.hole.y_mm), abs=1e-9)


def test_what_was_not_asked_for_is_not_there():
    work = full("chef")
    assert list(shown(work, both_faces=False, dummy=False)) == ["blade", "scales"]
    assert "other-face" in shown(work, dummy=False)
    assert "dummy" in shown(work, both_faces=False)


@cases("family", FAMILIES)
def test_the_dummy_is_the_finished_knife_and_pieces_for_its_handle(family):
    work = full(family)
    scenes_of = shown(work)
    assert scenes_of["dummy"].solid[0].vertices.tolist() == work.finished.vertices.tolist()
    pieces = scenes_of["dummy-handle"].solid
    handle = work.handle.outline
    assert len(pieces) >= 2
    for piece in pieces:
        assert piece.area_mm2 == pytest.approx(handle.area_mm2, abs=1e-6)
    whole = shapely.unary_union([polygon(p) for p in pieces])
    assert whole.area == pytest.approx(sum(polygon(p).area for p in pieces), abs=1e-6)  # none on another


def test_the_dummy_of_a_hidden_tang_is_the_knife_alone():
    names = list(shown(knife("chef", ("handle.construction", "hidden"))))
    assert [n for n in names if n.startswith("dummy")] == ["dummy"]


# ---- the board ----


@cases("family", FAMILIES)
def test_the_svg_is_the_finished_outline_at_true_size(family):
    work = knife(family)
    drawing = read(template_svg(work))
    (path,) = drawing.root.iter(f"{SVG}path")
    assert abs(path_area(path.get("d"))) == pytest.approx(work.finished.area_mm2, rel=1e-4)
    points = np.array(path_points(path.get("d")))
    size = points.max(axis=0) - points.min(axis=0)
    assert size == pytest.approx(work.finished.size_mm, abs=0.01)
    root = drawing.root
    box = [float(v) for v in root.get("viewBox").split()]
    assert root.get("width") == f"{box[2]:g}mm"  # one unit is one mm
    assert root.get("height") == f"{box[3]:g}mm"
    circles = list(root.iter(f"{SVG}circle"))
    assert sorted(float(c.get("r")) * 2 for c in circles) == pytest.approx(
        sorted(h.hole.diameter_mm for h in work.holes), abs=0.001
    )
    for c, h in zip(sorted(circles, key=lambda c: float(c.get("cx"))), sorted(work.holes, key=lambda h: h.hole.x_mm),
                    strict=True):  # fmt: skip
        assert float(c.get("cx")) - points[:, 0].min() == pytest.approx(
            h.hole.x_mm - work.finished.bounds_mm[0], abs=0.01
        )
        assert points[:, 1].max() - float(c.get("cy")) == pytest.approx(
            h.hole.y_mm - work.finished.bounds_mm[1], abs=0.01
        )


def kinds_of(work):
    return {e.tag.removeprefix(SVG) for e in read(template_svg(work)).root.iter()} - {
        "svg",
        "g",
        "title",
        "desc",
        "defs",
    }


def test_the_svg_holds_no_more_than_outline_holes_and_name():
    root = read(template_svg(full("chef"))).root
    assert kinds_of(full("chef")) <= {"path", "circle", "text", "rect"}
    assert len(list(root.iter(f"{SVG}path"))) == 1
    (text,) = root.iter(f"{SVG}text")
    assert design_code(full("chef").design) in "".join(text.itertext())


def test_the_svg_holds_no_background():
    assert "rect" not in kinds_of(full("chef"))


@cases("family", FAMILIES)
def test_the_name_stands_inside_the_board(family):
    drawing = read(template_svg(knife(family)))
    (path,) = drawing.root.iter(f"{SVG}path")
    board = shapely.Polygon(path_points(path.get("d")))
    (text,) = drawing.root.iter(f"{SVG}text")
    assert board.contains(shapely.Point(float(text.get("x")), float(text.get("y"))))


# ---- one code on everything ----


def pdf_words(data):
    book = pypdfium2.PdfDocument(data)
    try:
        return [page.get_textpage().get_text_bounded() for page in book]
    finally:
        book.close()


def test_print_cutting_file_and_report_carry_the_same_code(tmp_path):
    made = make(read_design("chef", {}), tmp_path)
    code = made.knife.code
    for words in pdf_words((made.folder / "chef_template_a4.pdf").read_bytes()):
        assert code in words
    dxf = (made.folder / "chef_cut_mm.dxf").read_text(encoding="utf-8").splitlines()
    notes = [dxf[i + 1] for i, line in enumerate(dxf) if line.strip() == "999"]
    assert any(code in note for note in notes)
    assert json.loads((made.folder / "chef.json").read_text(encoding="utf-8"))["design_code"] == code


CHANGES = {
    "blade.length": "211 mm", "blade.heel_height": "48.1 mm", "handle.length": "121 mm", "pins.count": "3",
    "material.thickness": "2.9 mm", "grind.height": "20 mm", "scales.thickness": "8.5 mm", "cutting.process": "laser",
    "allowance.edge": "1.1 mm", "handle.construction": "hidden", "name": "other",
}  # fmt: skip


@cases("key", CHANGES)
def test_any_other_input_gives_another_code(key):
    assert design_code(read_design("chef", {key: CHANGES[key]})) != design_code(read_design("chef", {}))


def test_the_same_inputs_give_the_same_code():
    assert design_code(read_design("chef", {"blade.length": "210 mm"})) == design_code(
        read_design("chef", {"blade.length": "21 cm"})
    )
    assert len({design_code(read_design(f, {})) for f in FAMILIES}) == len(FAMILIES)


def test_the_same_design_gives_the_same_pages():
    work = full("chef")
    assert template_pdf(work, wishes("A4")) == template_pdf(work, wishes("A4"))
    assert template_pdf(work, wishes("A4")) != template_pdf(work, wishes("A3"))


def test_an_angle_of_a_page_is_a_turn_and_no_stretch():
    """A page's turn keeps lengths: the outline's perimeter and area on a slanted page are those of the knife."""
    work = knife("utility")
    turned = work.finished.placed(25.0, 30.0, 40.0)
    assert turned.perimeter_mm == pytest.approx(work.finished.perimeter_mm, abs=1e-9)
    assert turned.area_mm2 == pytest.approx(work.finished.area_mm2, abs=1e-9)
    assert math.isfinite(turned.area_mm2)
