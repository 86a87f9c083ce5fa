"""Every file for a service, of every family, read by two outside libraries and by our own reader: all see one part."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache, cached_property
from pathlib import Path
from typing import Any

import ezdxf
import numpy as np
import pyogrio
import pytest
import shapely
from ezdxf import path as ezpath
from shapely.geometry import Polygon

from blankwright.base.units import MM_PER_INCH
from blankwright.cutting.delivery import Delivery, deliver
from blankwright.design.request import read_design
from blankwright.desk.make import make
from blankwright.geometry.outline import Outline
from blankwright.inspection.entities import read_drawing
from blankwright.inspection.sizing import WantedSize
from blankwright.inspection.verdict import Wanted, judge
from blankwright.knife.knife import Knife
from blankwright.proof.reader import read_dxf
from blankwright.proof.styled import as_plain
from blankwright.shop.services import Service, service, service_from, service_names
from blankwright.shop.tables import process
from rooms.design.cases import SOME_KINDS
from rooms.every import every
from rooms.near import away
from rooms.often import repeated, share
from truth.services_by_hand import VARIANTS

pytestmark = repeated

SOURCE = (
    "DXF reference (R12, R2000, R2010: LINE, ARC, POLYLINE, LWPOLYLINE code 42, $ACADVER, $INSUNITS, $MEASUREMENT, "
    "$EXTMIN, layer table); ezdxf and GDAL's DXF driver (by pyogrio) as readers, GEOS (by shapely) for areas, "
    "polygonising and distances"
)
TOLERANCE_AREA = 1e-4
TOLERANCE_MM = 1e-6
REASON = (
    "Areas: GDAL's chords of 0.2 degrees lie within 0.004 mm of the flattest arcs, less than 1e-4 of a knife's area. "
    "Clearance is asked to 1e-6 mm, less what a polygon's chords cut off its arcs, which is put back."
)
CUBIC_MM = 2e-4
"""How far a cubic may leave the arc that ezdxf replaces by it when it measures extents."""
FLAT_MM = 0.0004
"""How far a chord may leave its arc in the polygons that distances are measured on."""
SAME_MM = 1e-4
"""Ends of single pieces that are this near are one."""

RELEASES = {"R12": "AC1009", "R2000": "AC1015", "R2010": "AC1024"}
CUTTABLE = {"LINE", "ARC", "LWPOLYLINE", "POLYLINE", "CIRCLE", "POINT"}
OTHERS = [
    (name, construction) for name, construction in SOME_KINDS if construction == "full" or name in ("chef", "spreader")
]
Case = tuple[str, str, str]
ALL: list[Case] = [(s, *kind) for s in service_names() for kind in SOME_KINDS] + [
    (v, *kind) for v in VARIANTS for kind in OTHERS
]
CASES = share(ALL, 18)
CONTOURS = [case for case in CASES if not case[0].startswith("own")]
PATHS = [case for case in CASES if case[0].startswith("own")]
"""Files of contours, and those of a cutter's path, whose cuts are open (played back in test_rs274_played_back.py)."""


def service_of(name: str) -> Service:
    return service(name) if name in service_names() else service_from(VARIANTS[name], f"{name}.toml")


@dataclass(frozen=True, eq=False)
class Sent:
    """A cutting file as the shop receives it, and what was meant."""

    shop: Service
    knife: Knife
    meant: Delivery
    dxf: Path
    note: str

    @property
    def mm(self) -> float:
        return 1.0 if self.shop.unit == "mm" else MM_PER_INCH

    @cached_property
    def doc(self):  # type: ignore[no-untyped-def]
        return ezdxf.readfile(self.dxf)

    @cached_property
    def seen_by_ezdxf(self) -> list[Polygon]:
        """Closed areas of the cut layer [mm], the largest first."""
        lines = [
            [(p.x, p.y) for p in ezpath.make_path(e).flattening(FLAT_MM / self.mm)]
            for e in self.doc.modelspace()
            if e.dxf.layer == self.shop.cut_layer and e.dxftype() not in ("CIRCLE", "POINT")
        ]
        return areas(lines, self.mm)

    @property
    def seen_by_gdal(self) -> tuple[list[Polygon], set[str]]:
        """The same by the other library, from lines and circles; and the layers that it found."""
        lines, layers = self.gdal_lines
        return areas(lines, self.mm), layers

    @property
    def gdal_length_mm(self) -> float:
        """Length of all lines on the cut layer by the other library [mm]."""
        return sum(shapely.LineString(line).length for line in self.gdal_lines[0]) * self.mm

    @cached_property
    def gdal_lines(self) -> tuple[list[np.ndarray], set[str]]:
        """Lines of the cut layer [file units], and all layers."""
        pyogrio.set_gdal_config_options({"OGR_ARC_STEPSIZE": 0.2})
        try:
            _, _, shapes, (layers,) = pyogrio.raw.read(self.dxf, columns=["Layer"], read_geometry=True)
        finally:
            pyogrio.set_gdal_config_options({"OGR_ARC_STEPSIZE": None})
        lines = []
        for shape, layer in zip(shapely.from_wkb(shapes), layers, strict=True):
            if layer == self.shop.cut_layer and shape.geom_type != "Point":
                lines.append(np.array((shape.exterior if shape.geom_type == "Polygon" else shape).coords)[:, :2])
        return lines, set(layers)

    @cached_property
    def seen_by_us(self):  # type: ignore[no-untyped-def]
        return as_plain(
            read_dxf(self.dxf),
            cut_layer=self.shop.cut_layer,
            mark_layer=self.shop.mark_layer,
            exploded=self.shop.contours == "exploded",
            path=self.shop.table is not None,
            unit_mm=self.mm,
        )


def areas(lines: list[Any], mm: float) -> list[Polygon]:
    """Return what lines enclose [mm], the largest first; every end must find its neighbour."""
    # 0.0025: coordinates stand on a grid of 1e-6 mm, so that none then lies half way between two steps
    net = [shapely.LineString(np.round(np.asarray(line) * mm / SAME_MM + 0.0025) * SAME_MM) for line in lines]
    polygons, cuts, dangles, invalid = shapely.polygonize_full(net)
    assert not len(cuts.geoms)
    assert not len(dangles.geoms)
    assert not len(invalid.geoms)
    return sorted(polygons.geoms, key=lambda p: -Polygon(p.exterior).area)


@pytest.fixture(scope="module")
def sent(tmp_path_factory: pytest.TempPathFactory) -> Callable[[Case], Sent]:
    """A knife made for a service, once for all tests of it."""

    @cache
    def one(case: Case) -> Sent:
        name, family, construction = case
        shop = service_of(name)
        changes: dict[str, object] = {"handle.construction": construction, "cutting.process": shop.process}
        if construction == "one-piece" and "wood" not in process(shop.process).materials:
            changes |= {"material.grade": "80CrV2", "material.thickness": "3 mm"}
        made = make(read_design(family, changes), tmp_path_factory.mktemp("sent"), (), True, None, shop)
        (dxf,), (note,) = made.folder.glob("*.dxf"), made.folder.glob("*_note.txt")
        return Sent(shop, made.knife, deliver(made.knife), dxf, note.read_text(encoding="utf-8"))

    return one


@every(CASES, "sent")
def test_ezdxf_finds_nothing_to_mend_and_nothing_that_no_cutter_knows(one: Sent) -> None:
    audit = one.doc.audit()
    assert audit.errors == []
    assert audit.fixes == []
    space = list(one.doc.modelspace())
    kinds = {e.dxftype() for e in space}
    assert kinds <= CUTTABLE
    joined = "POLYLINE" if one.shop.release == "R12" else "LWPOLYLINE"
    assert kinds & {"LINE", "ARC", "LWPOLYLINE", "POLYLINE"} <= (
        {"LINE", "ARC"} if one.shop.contours == "exploded" else {joined}
    )
    if one.shop.deviation_mm is not None:
        assert "ARC" not in kinds
        assert all(b == 0 for e in space if e.dxftype() == "LWPOLYLINE" for *_, b in e.get_points("xyb"))


@every(CASES, "sent")
def test_layers_are_those_of_the_service_and_each_is_in_the_table(one: Sent) -> None:
    space = list(one.doc.modelspace())
    on: dict[str, set[str]] = {}
    for e in space:
        on.setdefault(e.dxf.layer, set()).add(e.dxftype())
    assert set(on) <= {one.shop.cut_layer, one.shop.mark_layer}
    assert "POINT" not in on[one.shop.cut_layer]
    assert on.get(one.shop.mark_layer, {"POINT"}) == {"POINT"}
    declared = {layer.dxf.name for layer in one.doc.layers}
    assert set(on) <= declared
    assert declared <= set(on) | {"0", "Defpoints"}
    _, layers = one.gdal_lines
    assert layers == set(on)


@every(CASES, "sent")
def test_the_unit_is_in_header_name_and_note(one: Sent) -> None:
    unit, header = one.shop.unit, one.doc.header
    assert one.doc.dxfversion == RELEASES[one.shop.release]
    word = "millimetre" if unit == "mm" else "inch"
    assert re.search(rf"_{unit}\.dxf$", one.dxf.name)
    assert f"numbers are {word}{'s' if unit == 'mm' else 'es'}" in " ".join(one.note.split())
    if one.shop.release == "R12":
        assert f"One unit is one {word}." in " ".join(one.note.split())
    assert (header["$INSUNITS"], header["$MEASUREMENT"]) == ((4, 1) if unit == "mm" else (1, 0))


@every(CASES, "sent")
def test_the_extents_in_the_header_are_those_of_what_is_drawn(one: Sent) -> None:
    drawn = [e for e in one.doc.modelspace() if e.dxftype() != "POINT"]
    box = ezpath.bbox([ezpath.make_path(e) for e in drawn], fast=False)  # cubics stand in for arcs there
    close = pytest.approx
    assert tuple(one.doc.header["$EXTMIN"])[:2] == close((box.extmin.x, box.extmin.y), abs=CUBIC_MM + 2e-3 / one.mm)
    assert tuple(one.doc.header["$EXTMAX"])[:2] == close((box.extmax.x, box.extmax.y), abs=CUBIC_MM + 2e-3 / one.mm)


@every(CONTOURS, "sent")
def test_three_readers_see_one_closed_outer_contour_of_the_same_area(one: Sent) -> None:
    meant = one.meant.outline.area_mm2
    (by_ezdxf,) = one.seen_by_ezdxf
    by_gdal, *inner = one.seen_by_gdal[0]
    (by_us,) = [c for c in one.seen_by_us.contours if c.layer == "CUT"]
    assert by_us.closed
    ours = Outline(by_us.vertices * [one.mm, one.mm, 1]).area_mm2
    assert abs(ours) == pytest.approx(meant, rel=1e-9)
    assert by_ezdxf.area == pytest.approx(meant, rel=TOLERANCE_AREA)
    assert Polygon(by_gdal.exterior).area == pytest.approx(meant, rel=TOLERANCE_AREA)
    assert by_gdal.is_valid
    assert by_ezdxf.is_valid
    assert len(inner) == len(by_gdal.interiors) == sum(h[2] is not None for h in one.meant.drawn_holes)


@every(CONTOURS, "sent")
def test_holes_and_marks_are_the_same_for_all_and_where_they_were_asked(one: Sent) -> None:
    holes = sorted(h for h in one.meant.drawn_holes if h[2] is not None)
    marks = sorted(h[:2] for h in one.meant.drawn_holes if h[2] is None) if one.meant.style.marks else []
    space = one.doc.modelspace()
    circles = sorted((e.dxf.center.x, e.dxf.center.y, 2 * e.dxf.radius) for e in space.query("CIRCLE"))
    points = sorted(tuple(e.dxf.location)[:2] for e in space.query("POINT") if e.dxf.layer == one.shop.mark_layer)
    assert np.array(circles).reshape(-1, 3) * one.mm == pytest.approx(np.array(holes).reshape(-1, 3), abs=TOLERANCE_MM)
    assert np.array(points).reshape(-1, 2) * one.mm == pytest.approx(np.array(marks).reshape(-1, 2), abs=TOLERANCE_MM)
    ours = sorted((c.x, c.y, c.diameter) for c in one.seen_by_us.circles)
    assert np.array(ours).reshape(-1, 3) == pytest.approx(np.array(circles).reshape(-1, 3), abs=1e-9)
    rings = sorted((p.centroid.x, p.centroid.y, 2 * (p.area / np.pi) ** 0.5) for p in one.seen_by_gdal[0][1:])
    assert np.array(rings).reshape(-1, 3) == pytest.approx(np.array(holes).reshape(-1, 3), abs=2e-3)


@every(CONTOURS, "sent")
def test_the_finished_outline_is_inside_with_the_asked_allowance(one: Sent) -> None:
    """The polygon's chords cut off as much as FLAT_MM of an arc, where the contour is hollow they add as much."""
    (cut,) = one.seen_by_ezdxf
    finished = one.knife.finished
    points, piece = finished.sampled(0.3)
    asked = np.array([one.knife.oversize.regions_mm[r] for r in finished.regions])
    slack = FLAT_MM + SAME_MM + TOLERANCE_MM
    off = away(cut.exterior, points)
    assert shapely.contains_xy(cut, points).all()
    assert (off - asked[piece] + slack).min() >= 0
    at_vertex = away(cut.exterior, finished.starts)
    assert (at_vertex - np.minimum(asked, np.roll(asked, 1)) + slack).min() >= 0
    assert off.min() <= asked.min() + (one.shop.deviation_mm or 0) + 0.02, "nothing is given away either"


@every(PATHS, "sent")
def test_three_readers_see_the_cuts_of_a_path_in_their_order(one: Sent) -> None:
    """One open line for each cut, as long as meant; single pieces where the table wants those."""
    meant = [p.chain for p in one.meant.path.passes]
    lines = [e for e in one.doc.modelspace() if e.dxf.layer == one.shop.cut_layer]
    assert not any(getattr(e, "is_closed", False) for e in lines)
    wholes = [shapely.LineString([(p.x, p.y) for p in ezpath.make_path(e).flattening(FLAT_MM / one.mm)]) for e in lines]
    if one.shop.contours == "polyline":
        starts = [np.array(line.coords[0]) * one.mm for line in wholes]
        assert np.array(starts) == pytest.approx(np.array([m[0, :2] for m in meant]), abs=TOLERANCE_MM)
    ours = [c.vertices * [one.mm, one.mm, 1] for c in one.seen_by_us.contours if c.layer == "CUT"]
    assert [len(v) for v in ours] == [len(m) for m in meant]
    assert np.vstack(ours) == pytest.approx(np.vstack(meant), abs=TOLERANCE_MM)
    long = sum(p.length_mm for p in one.meant.path.passes)
    assert sum(line.length for line in wholes) * one.mm == pytest.approx(long, rel=TOLERANCE_AREA)
    assert one.gdal_length_mm == pytest.approx(long, rel=TOLERANCE_AREA)


@every(CASES, "sent")
def test_the_file_name_follows_its_rule_and_is_no_longer_than_the_shop_takes(one: Sent) -> None:
    thickness = f"{one.knife.stock_mm:g}".replace(".", "-")
    kind = "path" if one.shop.table else "cut"
    rest = f"_{thickness}mm_{kind}_{one.shop.unit}.dxf"
    whole = f"{one.knife.design.slug}{rest}"
    assert one.dxf.name == whole or (len(whole) > one.shop.longest_name and one.dxf.name.endswith(rest))
    assert len(one.dxf.name) <= one.shop.longest_name
    assert one.dxf.name in one.note


@every(CONTOURS, "sent")
def test_our_own_inspection_would_let_it_pass(one: Sent) -> None:
    size = one.knife.cut.size_mm
    wanted = Wanted(WantedSize(*size, 0.5), process(one.shop.process), one.knife.design.stock.thickness_mm)
    verdict = judge(read_drawing(one.dxf.read_bytes(), one.dxf.name), wanted)
    assert [f"{f.code}: {f.message}" for f in verdict.of("error")] == []


def test_a_contour_pulled_open_by_a_tenth_of_a_millimetre_is_seen_by_all(
    sent: Callable[[Case], Sent], tmp_path: Path
) -> None:
    """So that the agreement above is no accident."""
    one = sent(("plasma", "chef", "full"))
    text = one.dxf.read_text(encoding="ascii")
    line = re.search(r"\nAcDbLine\n|\nLINE\n", text)
    assert line is not None
    number = re.compile(r"\n 11\n(\S+)\n").search(text, line.end())
    assert number is not None
    broken = tmp_path / one.dxf.name
    broken.write_text(text[: number.start(1)] + repr(float(number[1]) + 0.1) + text[number.end(1) :], encoding="ascii")
    other = replace(one, dxf=broken)
    with pytest.raises(AssertionError):
        _ = other.seen_by_ezdxf
    with pytest.raises(AssertionError):
        _ = other.seen_by_gdal
    assert not [c for c in other.seen_by_us.contours if c.closed and c.layer == "CUT"]
