"""Every cutting file, read by two outside libraries: one closed contour, its area, its clearance."""

from __future__ import annotations

import json
import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache, cached_property
from pathlib import Path
from typing import Any

import ezdxf
import numpy as np
import pyogrio
import pytest
import shapely
from ezdxf import path as ezpath
from shapely.geometry import LineString, Point, Polygon

from blankwright.design.family import load_family
from blankwright.design.request import read_design
from blankwright.desk.make import make
from blankwright.geometry.outline import Outline
from rooms.design.cases import SOME_KINDS
from rooms.every import every
from rooms.near import away
from rooms.often import repeated, share

pytestmark = repeated

SOURCE = (
    "DXF reference (R2000: LWPOLYLINE code 42, $INSUNITS, $MEASUREMENT); ezdxf and GDAL's DXF driver "
    "(pyogrio) as readers, GEOS (by shapely) for areas and distances"
)
TOLERANCE_AREA = 1e-4
TOLERANCE_MM = 1e-6
REASON = (
    "Areas: the polygons that the readers make of arcs lie within 0.001 mm of them, 1e-5 of a knife's area. "
    "Clearance is asked to 1e-6 mm, less what a polygon's chords cut off its arcs, which is put back."
)
CUBIC_MM = 2e-4
"""How far a cubic may leave the arc that ezdxf replaces by it when it measures extents."""
FLAT_MM = 0.0004
"""How far a chord may leave its arc in the polygons that distances are measured on."""

SIZES = ("least", "default", "greatest")
PROCESSES = ("water-jet", "plasma-table", "trace")
Case = tuple[str, str, str, str]
CASES: list[Case] = share([(n, c, size, process) for n, c in SOME_KINDS for size in SIZES for process in PROCESSES], 12)

WHOLE = share([case for case in CASES if case[3] == PROCESSES[0]], 2)

TOP_KEYS = {
    "format", "design", "dimensions_mm", "outlines", "holes", "allowance", "clearance", "mass_g", "centre_mm",
    "balance_mm", "checks", "files", "shop",
}  # fmt: skip
DIMENSIONS = {"blade_length", "heel_height", "tip_height", "overall_length", "handle_length"}
OUTLINE_KEYS = {"vertices", "area_mm2", "perimeter_mm", "max_error_mm"}
HOLE_KEYS = {"x_mm", "y_mm", "diameter_mm", "cut_diameter_mm", "purpose", "made_by"}
MASSES = {"cut_blank", "finished_blank", "ground_blade", "handle", "finished_knife"}
REGIONS = ("edge", "spine", "heel", "tang", "butt")


@dataclass(frozen=True, eq=False)
class Written:
    """A cutting file and its report, as anybody finds them on the disk."""

    dxf: Path
    report: dict[str, Any]

    @cached_property
    def doc(self):  # type: ignore[no-untyped-def]
        return ezdxf.readfile(self.dxf)

    @cached_property
    def contour(self):  # type: ignore[no-untyped-def]
        (line,) = self.doc.modelspace().query("LWPOLYLINE")
        return line

    @cached_property
    def finished(self) -> Outline:
        return Outline(np.array(self.report["outlines"]["finished"]["vertices"]))


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> Callable[[Case], Written]:
    """A knife made at one size by one process, once for all tests of it."""

    @cache
    def one(case: Case) -> Written:
        name, construction, size, process = case
        family = load_family(name)
        changes: dict[str, object] = {"handle.construction": construction, "cutting.process": process}
        if process == "plasma-table" and construction == "one-piece":
            changes["material.grade"] = "80CrV2"  # flame does not cut wood: the same outline in steel
            changes["material.thickness"] = "3 mm"
        if size != "default":
            for wanted in ("blade_length", "heel_height"):
                d = family.dimension(wanted, construction)
                changes[d.key] = f"{d.least_mm if size == 'least' else d.greatest_mm} mm"
        whole = case in WHOLE  # of the others the cutting file alone: the report is the same, on disk or not
        made = make(read_design(name, changes), tmp_path_factory.mktemp("readers"), only_cut=not whole)
        on_disk = made.folder / f"{name}.json"
        report = json.loads(on_disk.read_text(encoding="utf-8") if whole else json.dumps(made.report))
        return Written(made.folder / f"{name}_cut_mm.dxf", report)

    return one


@every(CASES, "written")
def test_ezdxf_finds_nothing_to_mend_and_only_what_belongs_there(one: Written) -> None:
    audit = one.doc.audit()
    assert audit.errors == []
    assert audit.fixes == []
    space = one.doc.modelspace()
    assert {e.dxftype() for e in space} <= {"LWPOLYLINE", "CIRCLE", "POINT"}
    assert {e.dxf.layer for e in space} <= {"CUT", "DRILL"}
    assert {layer.dxf.name for layer in one.doc.layers} <= {"0", "Defpoints", "CUT", "DRILL"}
    assert {e.dxf.layer for e in space if e.dxftype() == "POINT"} <= {"DRILL"}
    assert one.contour.closed
    assert one.contour.dxf.layer == "CUT"


@every(CASES, "written")
def test_the_header_says_millimetres_and_the_true_extents(one: Written) -> None:
    header = one.doc.header
    assert (one.doc.dxfversion, header["$INSUNITS"], header["$MEASUREMENT"]) == ("AC1015", 4, 1)
    box = ezpath.bbox([ezpath.make_path(one.contour)], fast=False)  # cubics stand in for arcs there
    assert tuple(header["$EXTMIN"])[:2] == pytest.approx((box.extmin.x, box.extmin.y), abs=CUBIC_MM)
    assert tuple(header["$EXTMAX"])[:2] == pytest.approx((box.extmax.x, box.extmax.y), abs=CUBIC_MM)
    assert one.report["part_size_mm"]["cut"] == pytest.approx([box.size.x, box.size.y], abs=CUBIC_MM)


@every(CASES, "written")
def test_ezdxf_measures_the_area_of_the_report(one: Written) -> None:
    ring = [(p.x, p.y) for p in ezpath.make_path(one.contour).flattening(FLAT_MM)]
    assert Polygon(ring).area == pytest.approx(one.report["outlines"]["cut"]["area_mm2"], rel=TOLERANCE_AREA)


@pytest.fixture
def fine_arcs() -> Any:
    pyogrio.set_gdal_config_options({"OGR_ARC_STEPSIZE": 0.2})
    yield
    pyogrio.set_gdal_config_options({"OGR_ARC_STEPSIZE": None})


@pytest.mark.usefixtures("fine_arcs")
@every(CASES, "written")
def test_gdal_reads_one_closed_outer_contour_of_the_same_area(one: Written) -> None:
    _, _, shapes, fields = pyogrio.raw.read(one.dxf, columns=["Layer", "SubClasses"], read_geometry=True)
    layers, kinds = fields
    geometries = shapely.from_wkb(shapes)
    polygons = []
    for geometry, layer, kind in zip(geometries, layers, kinds, strict=True):
        if "Point" in kind:
            assert layer == "DRILL"
            continue
        assert layer == "CUT"
        ring = geometry if isinstance(geometry, LineString) else geometry.exterior
        assert ring.is_ring
        polygons.append(Polygon(shapely.force_2d(ring)))
    polygons.sort(key=lambda p: p.area)
    outer = polygons[-1]
    assert outer.is_valid
    assert all(outer.contains(p) for p in polygons[:-1])
    assert len(polygons) - 1 == sum(h["cut_diameter_mm"] is not None for h in one.report["holes"])
    assert outer.area == pytest.approx(one.report["outlines"]["cut"]["area_mm2"], rel=TOLERANCE_AREA)


@every(CASES, "written")
def test_the_clearance_measured_by_geos_is_the_allowance_or_more(one: Written) -> None:
    vertices = np.array(one.contour.get_points("xyb"))
    cut = Polygon(Outline(vertices).flattened(FLAT_MM))  # chords inside the arcs: errs to the unsafe side where convex
    points, piece = one.finished.sampled(0.2)
    regions = np.array(one.report["outlines"]["finished"]["regions"])
    asked = np.array([one.report["allowance"]["regions_mm"][r] for r in regions])
    off = away(cut.exterior, points)
    assert shapely.contains_xy(cut, points).all()
    assert (off - asked[piece] + FLAT_MM).min() >= -TOLERANCE_MM
    # at a vertex both neighbours count, the larger one first
    larger = np.maximum(asked, np.roll(asked, 1))
    at_vertex = away(cut.exterior, one.finished.starts)
    assert (at_vertex - np.minimum(asked, np.roll(asked, 1)) + FLAT_MM).min() >= -TOLERANCE_MM
    assert (at_vertex <= larger.max() * 1.5 + 0.1).all()
    assert one.report["clearance"]["least_mm"] == pytest.approx(float(off.min()), abs=0.01)


@every(CASES, "written")
def test_holes_are_where_the_report_says(one: Written) -> None:
    space = one.doc.modelspace()
    found = sorted((c.dxf.center.x, c.dxf.center.y, 2 * c.dxf.radius) for c in space.query("CIRCLE"))
    found_spots = sorted((p.dxf.location.x, p.dxf.location.y) for p in space.query("POINT"))
    holes = one.report["holes"]
    assert np.allclose(
        np.array(found).reshape(-1, 3),
        np.array(sorted((h["x_mm"], h["y_mm"], h["cut_diameter_mm"]) for h in holes if h["cut_diameter_mm"])).reshape(
            -1, 3
        ),
        atol=TOLERANCE_MM,
    )
    assert np.allclose(
        np.array(found_spots).reshape(-1, 2),
        np.array(sorted((h["x_mm"], h["y_mm"]) for h in holes if h["cut_diameter_mm"] is None)).reshape(-1, 2),
        atol=TOLERANCE_MM,
    )
    whole = Polygon(one.finished.flattened(FLAT_MM))
    assert all(whole.contains(Point(h["x_mm"], h["y_mm"]).buffer(h["diameter_mm"] / 2)) for h in holes)


@every(CASES, "written")
def test_the_report_has_the_keys_of_the_contract_and_no_number_that_is_none(one: Written) -> None:
    r = one.report
    assert set(r) >= TOP_KEYS
    assert r["format"] == 1
    assert set(r["dimensions_mm"]) >= DIMENSIONS
    assert set(r["outlines"]) == {"finished", "cut", "path"}
    for name in ("finished", "cut"):
        assert set(r["outlines"][name]) >= OUTLINE_KEYS
    assert all(set(h) >= HOLE_KEYS for h in r["holes"])
    assert all(h["made_by"] in ("cut", "ream", "drill") for h in r["holes"])
    assert list(r["allowance"]["regions_mm"]) == list(REGIONS)
    assert all(set(p) >= {"for", "mm", "source", "status"} for p in r["allowance"]["parts"])
    assert set(r["clearance"]) >= {"least_mm", "at_mm", "worst_case_part_mm"}
    assert set(r["mass_g"]) == MASSES
    assert set(r["centre_mm"]) == {"finished_blank", "finished_knife"}
    assert all(set(c) == {"code", "level", "message", "at_mm"} for c in r["checks"])
    assert all(c["level"] in ("ok", "warning") for c in r["checks"])
    for value in leaves(r):
        assert not isinstance(value, float) or math.isfinite(value)


def leaves(value: object) -> list[object]:
    if isinstance(value, dict):
        return [leaf for v in value.values() for leaf in leaves(v)]
    if isinstance(value, list):
        return [leaf for v in value for leaf in leaves(v)]
    return [value]


@every(CASES, "written")
def test_the_vertices_of_the_report_reproduce_its_area_and_its_file(one: Written) -> None:
    for name in ("finished", "cut"):
        part = one.report["outlines"][name]
        x, y, bulge = np.array(part["vertices"]).T
        # shoelace, and for each arc the circular segment r^2 (a - sin a) / 2 with a = 4 atan(bulge)
        area = (x * np.roll(y, -1) - np.roll(x, -1) * y).sum() / 2
        chord = np.hypot(np.roll(x, -1) - x, np.roll(y, -1) - y)
        curved = np.abs(bulge) > 1e-4
        angle = 4 * np.arctan(bulge[curved])
        radius = chord[curved] / (2 * np.sin(np.abs(angle) / 2))
        area += (radius**2 * (angle - np.sin(angle)) / 2).sum()
        area += (2 / 3 * bulge[~curved] * chord[~curved] ** 2 / 2).sum()  # two thirds of chord times rise, when flat
        assert area == pytest.approx(part["area_mm2"], rel=1e-7)
    in_file = np.array(one.contour.get_points("xyb"))
    assert np.abs(in_file - np.array(one.report["outlines"]["cut"]["vertices"])).max() < TOLERANCE_MM


@every(CASES, "written")
def test_the_centre_of_the_blank_is_the_polygons(one: Written) -> None:
    solid = Polygon(one.finished.flattened(FLAT_MM))
    for h in one.report["holes"]:
        solid = solid.difference(Point(h["x_mm"], h["y_mm"]).buffer(h["diameter_mm"] / 2, quad_segs=200))
    assert one.report["centre_mm"]["finished_blank"] == pytest.approx([solid.centroid.x, solid.centroid.y], abs=0.01)
    thickness = float(one.report["design"]["material"]["thickness"].split()[0])
    density = one.report["material"]["density_kg_m3"]["value"]
    assert one.report["mass_g"]["finished_blank"] == pytest.approx(
        solid.area * thickness * density * 1e-6, rel=TOLERANCE_AREA
    )
