"""Outlines lifted from drawings that other libraries wrote: areas against GDAL and svgpathtools."""

from __future__ import annotations

import math

import numpy as np
import pytest

from blankwright.base.errors import RequestError
from blankwright.lift.run import lift, request
from rooms.design.cases import solved
from rooms.every import cases

SOURCE = "ezdxf writes DXF of five releases, svgwrite and plain text SVG; GDAL (pyogrio) and svgpathtools read them."
TOLERANCE = 1e-4
REASON = "Both follow arcs by chords of a twentieth of a degree; the bar of the work order."


def gdal_area(path):
    """Return the largest area that GDAL finds [square file units]."""
    import pyogrio
    import shapely

    _, _, shapes, _ = pyogrio.raw.read(path)
    rings = [shapely.from_wkb(one) for one in shapes]
    return max(shapely.Polygon(ring.coords).area for ring in rings if ring.geom_type == "LineString")


@pytest.fixture(autouse=True)
def _fine_arcs(monkeypatch):
    import pyogrio

    pyogrio.set_gdal_config_options({"OGR_ARC_STEPSIZE": "0.05"})


def rows_of(outline):
    return [(float(x), float(y), 0.0, 0.0, float(b)) for x, y, b in outline.vertices]


@cases("release", ["R12", "R2000", "R2004", "R2010", "R2018"])
@cases("unit", [4, 1])
def test_dxf_of_a_library(tmp_path, release, unit):
    import ezdxf

    truth = solved("utility", "full", "default").finished
    size = 25.4 if unit == 1 else 1.0
    doc = ezdxf.new(release)
    doc.units = unit
    space = doc.modelspace()
    rows = [(x / size, y / size, s, e, b) for x, y, s, e, b in rows_of(truth.placed(33, 7, 9))]
    if release == "R12":
        space.add_polyline2d([(x, y, b) for x, y, _, _, b in rows], format="xyb", close=True)
    else:
        space.add_lwpolyline(rows, close=True)
    place = truth.placed(33, 7, 9).centroid_mm
    space.add_circle((place[0] / size, place[1] / size), 2.5 / size)
    file = tmp_path / f"{release}.dxf"
    doc.saveas(file)
    done = lift(request(file))
    assert done.lifted.outline.area_mm2 == pytest.approx(gdal_area(file) * size**2, rel=TOLERANCE)
    assert done.lifted.outline.area_mm2 == pytest.approx(truth.area_mm2, rel=1e-6)
    assert done.lifted.outline.size_mm == pytest.approx(truth.size_mm, abs=0.01)
    assert done.lifted.holes[0].diameter_mm == pytest.approx(5.0, abs=1e-6)
    assert (done.lifted.holes[0].x_mm, done.lifted.holes[0].y_mm) == pytest.approx(truth.centroid_mm, abs=0.01)


def test_dxf_in_loose_pieces_with_a_spline(tmp_path):
    import ezdxf

    doc = ezdxf.new("R2010")
    doc.units = 4
    space = doc.modelspace()
    space.add_line((0, 0), (120, 0))
    space.add_arc((120, 15), 15, -90, 90)
    space.add_spline(fit_points=None).control_points = [(120, 30), (80, 38), (40, 30), (0, 34)]
    spline = space.query("SPLINE").first
    spline.dxf.degree = 3
    spline.knots = [0, 0, 0, 0, 1, 1, 1, 1]
    space.add_line((0, 34), (0, 0))
    file = tmp_path / "loose.dxf"
    doc.saveas(file)
    done = lift(request(file))
    t = np.linspace(0, 1, 20_001)
    x, y = (
        (1 - t) ** 3 * a + 3 * t * (1 - t) ** 2 * b + 3 * t * t * (1 - t) * c + t**3 * d
        for a, b, c, d in ((120, 80, 40, 0), (30, 38, 30, 34))
    )
    under = float(np.trapezoid(y[::-1], x[::-1]))
    assert done.lifted.outline.area_mm2 == pytest.approx(under + math.pi * 15**2 / 2, rel=TOLERANCE)
    assert any("splines" in row.what for row in done.lifted.budget)


@pytest.mark.parametrize("case", range(6))
def test_svg_paths_transforms_and_units(tmp_path, case):
    from svgpathtools import parse_path

    d = [
        "M10 10C60 0 150 8 200 20Q120 45 10 40Z", "M10 10h180a12 12 0 0 1 0 24h-180z", "M0 0L200 0 210 12 0 30Z",
        "m10 10c40-12 120 2 190 6s-20 30-190 22z", "M10 20A90 14 0 1 0 190 20A90 14 0 1 0 10 20Z",
        "M10 10H190V30Q100 44 10 30Z",
    ][case]  # fmt: skip
    scale = (1.0, 1.3, 0.8, 1.0, 1.0, 2.0)[case]
    file = tmp_path / "shape.svg"
    head = '<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="100mm" viewBox="0 0 300 100">'
    file.write_text(
        f'{head}<g transform="rotate(3) scale({scale})"><path d="{d}" fill="none" stroke="#000"/></g></svg>'
    )
    theirs = parse_path(d)
    points = np.array([theirs.point(t) for t in np.linspace(0, 1, 40_001)[:-1]])
    area = abs(float((points.real * np.roll(points.imag, -1) - np.roll(points.real, -1) * points.imag).sum())) / 2
    area = abs(theirs.area()) if case not in (1, 4) else area
    assert lift(request(file)).lifted.outline.area_mm2 == pytest.approx(area * scale**2, rel=TOLERANCE)


def test_a_drawing_without_a_closed_contour_says_what_is_open(tmp_path):
    import ezdxf

    doc = ezdxf.new("R2010")
    doc.units = 4
    doc.modelspace().add_lwpolyline([(0, 0), (50, 0), (50, 10)])
    doc.saveas(tmp_path / "open.dxf")
    with pytest.raises(RequestError, match="holds no closed contour"):
        lift(request(tmp_path / "open.dxf"))


def test_a_drawing_has_its_own_unit(tmp_path):
    (tmp_path / "a.svg").write_text('<svg xmlns="http://www.w3.org/2000/svg"/>')
    with pytest.raises(RequestError, match="--dpi and --measured-x, --measured-y are for pictures"):
        lift(request(tmp_path / "a.svg", dpi=300))
