"""Two outside readers and writers against ours: files written by ezdxf, and files read by GDAL."""

from __future__ import annotations

import io
import math
from pathlib import Path

import ezdxf
import numpy as np
import pyogrio
import pytest

from blankwright.geometry.outline import Outline
from blankwright.proof.proof import prove
from blankwright.proof.reader import parse_dxf, read_dxf
from rooms.every import cases
from rooms.proof import plain_dxf as plain

SOURCE = "ezdxf (writer) and GDAL's DXF driver by pyogrio (reader): reference libraries for the open format"
TOLERANCE_MM = 1e-9
REASON = "both write and read 16 or 17 significant digits"


def written_by_ezdxf(release: str = "R2000") -> str:
    doc = ezdxf.new(release, units=4)
    doc.header["$MEASUREMENT"] = 1
    for layer in ("CUT", "DRILL", "NOTES"):
        doc.layers.add(layer)
    space = doc.modelspace()
    vertices = plain.cut_vertices()
    if release == "R12":
        space.add_polyline2d(vertices, format="xyb", close=True, dxfattribs={"layer": "CUT"})
    else:
        space.add_lwpolyline(vertices, format="xyb", close=True, dxfattribs={"layer": "CUT"})
    for hole in plain.HOLES:
        place = (hole.x_mm, hole.y_mm)
        diameter = plain.cut_mm(hole)
        if diameter is None:
            space.add_point(place, dxfattribs={"layer": "DRILL"})
        else:
            space.add_circle(place, diameter / 2, dxfattribs={"layer": "CUT"})
    space.add_text("blank 1", dxfattribs={"layer": "NOTES"})
    x0, y0, x1, y1 = Outline(vertices).bounds_mm
    space.reset_extents((x0, y0, 0), (x1, y1, 0))
    stream = io.StringIO()
    doc.write(stream)
    return stream.getvalue()


@cases("release", ["R12", "R2000", "R2004", "R2007", "R2010", "R2018"])
def test_files_of_ezdxf_are_read_and_proven(release: str) -> None:
    drawing = parse_dxf(written_by_ezdxf(release), "outside.dxf")
    assert drawing.release == {"R12": "AC1009", "R2000": "AC1015", "R2004": "AC1018", "R2007": "AC1021",
                               "R2010": "AC1024", "R2018": "AC1032"}[release]  # fmt: skip
    assert np.abs(drawing.contours[0].vertices - plain.cut_vertices()).max() < TOLERANCE_MM
    assert ("TEXT", "NOTES") in drawing.others
    proof = prove(drawing, plain.expected())
    assert proof.ok, [f for f in proof.findings if f.level == "error"]
    assert proof.unit == (None if release == "R12" else "mm")


def test_arcs_and_mirrored_entities_of_ezdxf() -> None:
    """ezdxf computes the world coordinates of a mirrored polyline and the bulge of an arc by itself."""
    doc = ezdxf.new("R2000")
    space = doc.modelspace()
    space.add_arc((3, 4), 2.5, 20, 250)
    mirror = space.add_lwpolyline([(1, 2, 0.3), (5, 2, -0.2), (4, 6, 0)], format="xyb", close=True)
    mirror.dxf.extrusion = (0, 0, -1)
    stream = io.StringIO()
    doc.write(stream)
    arc, ours = parse_dxf(stream.getvalue(), "x.dxf").contours
    start, end, bulge = ezdxf.math.arc_to_bulge((3, 4), math.radians(20), math.radians(250), 2.5)
    assert np.abs(arc.vertices - [[start.x, start.y, bulge], [end.x, end.y, 0]]).max() < TOLERANCE_MM
    world = [(v.x, v.y) for v in mirror.vertices_in_wcs()]
    assert np.abs(ours.vertices[:, :2] - world).max() < TOLERANCE_MM
    path = ezdxf.path.make_path(mirror)
    ring = Outline(ours.vertices)
    dense = np.array([(p.x, p.y) for p in path.flattening(1e-4)])
    area = float(np.sum(dense[:-1, 0] * dense[1:, 1] - dense[1:, 0] * dense[:-1, 1])) / 2
    assert ring.area_mm2 == pytest.approx(area, rel=1e-4)


def test_gdal_reads_the_same_contours_and_circles(tmp_path: Path) -> None:
    """GDAL turns arcs into chords of some degrees: its points lie on our arcs, its ends on our vertices."""
    path = tmp_path / "outside.dxf"
    path.write_text(plain.good())
    drawing = read_dxf(path)
    frame = pyogrio.raw.read(path, columns=["Layer"])
    layers = [str(v) for v in frame[3][0]]
    import shapely

    shapes = [shapely.from_wkb(v) for v in frame[2]]
    assert layers.count("CUT") == 3
    assert layers.count("DRILL") == 1
    rings = [np.array(s.exterior.coords if s.geom_type == "Polygon" else s.coords)[:, :2] for s in shapes[:3]]
    from blankwright.proof import distance

    (ours,) = drawing.contours
    assert distance.from_points(rings[0], ours.vertices).max() < 1e-6
    assert min(np.hypot(*(rings[0] - v[:2]).T).min() for v in ours.vertices) < 1e-6
    for ring, circle in zip(rings[1:], drawing.circles, strict=True):
        assert np.abs(np.hypot(*(ring - (circle.x, circle.y)).T) - circle.diameter / 2).max() < 1e-6
    assert (shapes[3].x, shapes[3].y) == (drawing.points[0].x, drawing.points[0].y)


def test_gdal_reads_what_ezdxf_wrote_as_we_do(tmp_path: Path) -> None:
    path = tmp_path / "outside.dxf"
    path.write_text(written_by_ezdxf())
    import shapely

    pyogrio.set_gdal_config_options({"OGR_ARC_STEPSIZE": "0.05"})  # degrees; the spine's radius is two metres
    try:
        bounds = np.array([shapely.from_wkb(v).bounds for v in pyogrio.raw.read(path)[2]])
    finally:
        pyogrio.set_gdal_config_options({"OGR_ARC_STEPSIZE": None})
    cut = read_dxf(path).contours[0].vertices
    box = Outline(cut).bounds_mm
    assert bounds[:, :2].min(axis=0) == pytest.approx(box[:2], abs=0.01)  # chords cut the round corners a little
    assert bounds[:, 2:].max(axis=0) == pytest.approx(box[2:], abs=0.01)
