"""The cutting file, read with ezdxf: its layers, entities, header and numbers, the same bytes each time."""

from __future__ import annotations

import io
from dataclasses import replace

import ezdxf
import numpy as np
import pytest

from blankwright.cutting.dxf import CutFile, CutHole, dxf_text
from blankwright.cutting.style import PLAIN
from blankwright.geometry.chain import Chain
from blankwright.geometry.outline import Outline
from rooms.design.cases import FAMILIES, solved
from rooms.every import cases

SLOT = Outline(np.array([[0.0, 0, 0], [50, 0, 1], [50, 20, 0], [0, 20, 1]]))
INNER = Outline(np.array([[0.0, 5, 0], [50, 5, 1], [50, 15, 0], [0, 15, 1]]))
HOLES = (CutHole(10.0, 10.0, 4.85), CutHole(40.0, 10.0, None))
MM_PER_INCH = 25.4


def read(text: str):  # type: ignore[no-untyped-def]
    doc = ezdxf.read(io.StringIO(text))
    audit = doc.audit()
    assert not audit.errors
    assert not audit.fixes
    return doc


def tags_of(text: str) -> list[tuple[int, str]]:
    """Return the file's tags as they stand; the library adds layers of its own while reading."""
    lines = text.split("\n")
    return [(int(code), value) for code, value in zip(lines[0:-1:2], lines[1::2], strict=True)]


def content(**changes: object) -> CutFile:
    parts: dict[str, object] = {
        "contours": (SLOT,),
        "holes": HOLES,
        "comment": "design TEST",
    }
    return CutFile(**{**parts, **changes})  # type: ignore[arg-type]


def test_the_contour_is_one_closed_polyline_with_the_very_same_numbers() -> None:
    doc = read(dxf_text(content()))
    (line,) = doc.modelspace().query("LWPOLYLINE")
    assert line.closed
    assert line.dxf.layer == "CUT"
    assert np.array_equal(np.array(line.get_points("xyb")), SLOT.vertices)


def test_holes_are_circles_and_spots_are_points() -> None:
    space = read(dxf_text(content())).modelspace()
    (circle,), (spot,) = space.query("CIRCLE"), space.query("POINT")
    assert (circle.dxf.layer, circle.dxf.radius) == ("CUT", 2.425)
    assert (spot.dxf.layer, tuple(spot.dxf.location)[:2]) == ("DRILL", (40.0, 10.0))
    assert len(space) == 3


def test_header_and_layers() -> None:
    doc = read(dxf_text(content()))
    assert doc.dxfversion == "AC1015"  # R2000
    assert (doc.header["$INSUNITS"], doc.header["$MEASUREMENT"]) == (4, 1)
    assert tuple(doc.header["$EXTMIN"])[:2] == pytest.approx(SLOT.bounds_mm[:2])
    assert tuple(doc.header["$EXTMAX"])[:2] == pytest.approx(SLOT.bounds_mm[2:])
    assert {layer.dxf.name for layer in doc.layers} <= {"0", "Defpoints", "CUT", "DRILL"}


def test_a_file_without_spots_has_no_layer_for_them() -> None:
    doc = read(dxf_text(content(holes=())))
    assert "DRILL" not in doc.layers
    assert len(doc.modelspace()) == 1


def test_further_layers_only_when_asked_for() -> None:
    doc = read(dxf_text(content(finished=(INNER,), notes=("first", "second"))))
    by_layer: dict[str, list[str]] = {}
    for entity in doc.modelspace():
        by_layer.setdefault(entity.dxf.layer, []).append(entity.dxftype())
    assert by_layer["FINISHED"] == ["LWPOLYLINE"]
    assert by_layer["NOTES"] == ["TEXT", "TEXT"]
    texts = list(doc.modelspace().query("TEXT"))
    assert [t.dxf.text for t in texts] == ["first", "second"]
    low = float(doc.header["$EXTMIN"][1])
    assert all(low <= t.dxf.insert[1] < SLOT.bounds_mm[1] for t in texts)


def test_an_inch_file_says_so_and_holds_inches() -> None:
    doc = read(dxf_text(content(style=replace(PLAIN, unit="in"))))
    assert (doc.header["$INSUNITS"], doc.header["$MEASUREMENT"]) == (1, 0)
    (line,) = doc.modelspace().query("LWPOLYLINE")
    points = np.array(line.get_points("xyb"))
    assert points[:, :2] * MM_PER_INCH == pytest.approx(SLOT.vertices[:, :2])
    assert np.array_equal(points[:, 2], SLOT.vertices[:, 2])  # a bulge has no unit
    (circle,) = doc.modelspace().query("CIRCLE")
    assert circle.dxf.radius * MM_PER_INCH == pytest.approx(2.425)


def test_nothing_but_lines_and_arcs() -> None:
    for name in FAMILIES:
        text = dxf_text(content(contours=(solved(name, "full", "default").finished,)))
        names = {entity.dxftype() for entity in read(text).modelspace()}
        assert names <= {"LWPOLYLINE", "CIRCLE", "POINT"}


def test_the_same_content_gives_the_same_text_and_the_library_keeps_its_options() -> None:
    before = ezdxf.options.write_fixed_meta_data_for_testing
    one, two = dxf_text(content()), dxf_text(content())
    assert one == two
    assert dxf_text(content(holes=())) != one
    assert ezdxf.options.write_fixed_meta_data_for_testing == before


def test_plain_ascii_so_that_every_reader_opens_it() -> None:
    assert dxf_text(content()).isascii()


EXPLODED = replace(PLAIN, exploded=True)


def test_single_pieces_are_lines_and_arcs_end_to_end_in_their_order() -> None:
    """Half circles bulge 1: centre at the middle of the chord, from start to end counter-clockwise."""
    doc = read(dxf_text(content(style=EXPLODED)))
    pieces = [e for e in doc.modelspace() if e.dxf.layer == "CUT" and e.dxftype() != "CIRCLE"]
    assert [e.dxftype() for e in pieces] == ["LINE", "ARC", "LINE", "ARC"]
    first, half = pieces[0], pieces[1]
    assert (tuple(first.dxf.start)[:2], tuple(first.dxf.end)[:2]) == ((0, 0), (50, 0))
    assert (tuple(half.dxf.center)[:2], half.dxf.radius) == ((50, 10), 10)
    assert (half.dxf.start_angle % 360, half.dxf.end_angle % 360) == pytest.approx((270, 90))


def test_a_hollow_arc_runs_counter_clockwise_too_when_it_stands_alone() -> None:
    hollow = Outline(np.array([[0.0, 0, 0], [50, 0, 0], [50, 20, -0.5], [0, 20, 0]]))
    (arc,) = read(dxf_text(content(contours=(hollow,), style=EXPLODED))).modelspace().query("ARC")
    assert (arc.start_point.x, arc.start_point.y) == pytest.approx((0, 20))
    assert (arc.end_point.x, arc.end_point.y) == pytest.approx((50, 20))


@cases(("release", "version"), [("R12", "AC1009"), ("R2000", "AC1015"), ("R2010", "AC1024")])
def test_releases_and_what_a_contour_is_in_each(release: str, version: str) -> None:
    doc = read(dxf_text(content(style=replace(PLAIN, release=release))))
    assert doc.dxfversion == version
    (line,) = doc.modelspace().query("POLYLINE" if release == "R12" else "LWPOLYLINE")
    assert line.is_closed if release == "R12" else line.closed
    if release == "R12":
        silent = dxf_text(content(style=replace(PLAIN, release=release, unit_in_header=False)))
        assert "$INSUNITS" not in silent


def test_layers_by_other_names_and_no_marks() -> None:
    style = replace(PLAIN, cut_layer="0", mark_layer="CENTRES")
    doc = read(dxf_text(content(style=style)))
    assert {(e.dxftype(), e.dxf.layer) for e in doc.modelspace()} == {
        ("LWPOLYLINE", "0"), ("CIRCLE", "0"), ("POINT", "CENTRES"),
    }  # fmt: skip
    doc = read(dxf_text(content(style=replace(style, marks=False))))
    assert not doc.modelspace().query("POINT")
    assert "CENTRES" not in doc.layers


def test_a_path_is_open_cuts_in_their_order_and_counts_in_the_extents() -> None:
    cuts = (Chain(np.array([[-20.0, 0, 0.5], [0, -5, 0], [9, -5, 0]])), Chain(np.array([[0.0, 40, 0], [30, 60, 0]])))
    doc = read(dxf_text(content(contours=(), strokes=cuts)))
    found = doc.modelspace().query("LWPOLYLINE")
    assert [line.closed for line in found] == [False, False]
    assert {line.dxf.layer for line in found} == {"CUT"}
    assert [line.get_points("xyb") for line in found] == [[tuple(row) for row in c.vertices] for c in cuts]
    low = cuts[0].flattened(0.001)
    assert tuple(doc.header["$EXTMIN"])[:2] == pytest.approx(low.min(axis=0), abs=1e-6)
    assert tuple(doc.header["$EXTMAX"])[:2] == pytest.approx((30, 60), abs=1e-6)


def test_further_parts_stand_beside_and_count_in_the_extents() -> None:
    doc = read(dxf_text(content(contours=(SLOT, SLOT.moved(0.0, -60.0)))))
    assert len(doc.modelspace().query('LWPOLYLINE[layer=="CUT"]')) == 2
    assert doc.header["$EXTMIN"][1] == pytest.approx(-60, abs=1e-6)


@cases("release", ["R12", "R2000", "R2010"])
def test_no_program_is_named_in_the_file(release: str) -> None:
    text = dxf_text(content(style=replace(PLAIN, release=release), finished=(INNER,), notes=("a", "b")))
    for name in ("EZDXF", "LASTSAVEDBY", "DEFPOINTS"):
        assert name not in text.upper(), name
    read(text)
    tags = tags_of(text)
    layers = [next(value for code, value in tags[i:] if code == 2) for i, tag in enumerate(tags) if tag == (0, "LAYER")]
    assert sorted(layers) == ["0", "CUT", "DRILL", "FINISHED", "NOTES"]


@cases("release", ["R12", "R2000", "R2010"])
def test_the_table_of_applications_counts_what_it_holds(release: str) -> None:
    tags = tags_of(dxf_text(content(style=replace(PLAIN, release=release))))
    first = tags.index((2, "APPID"))
    last = tags.index((0, "ENDTAB"), first)
    count = next(int(value) for code, value in tags[first:last] if code == 70)
    assert tags[first:last].count((0, "APPID")) == count >= 1
