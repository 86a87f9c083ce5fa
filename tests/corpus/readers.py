"""What other readers make of a drawing's closed contours: their areas, in the units of the file."""

from __future__ import annotations

import math
from pathlib import Path

import ezdxf
import numpy as np
import pyogrio
import shapely
from ezdxf import path as ezpath
from svgpathtools import Arc, Document
from svgpathtools.path import Line

STEP_DEG = 0.2


def by_ezdxf(path: Path) -> list[float]:
    """Return the areas of entities that are closed by themselves, in model space, blocks apart."""
    found = []
    for e in ezdxf.readfile(path).modelspace():
        kind = e.dxftype()
        if kind == "CIRCLE":
            found.append(math.pi * e.dxf.radius**2)
        elif kind == "ELLIPSE" and abs((e.dxf.end_param - e.dxf.start_param) % math.tau) < 1e-9:
            found.append(math.pi * e.dxf.major_axis.magnitude**2 * abs(e.dxf.ratio))
        elif (kind == "LWPOLYLINE" and e.closed) or (kind == "POLYLINE" and e.is_2d_polyline and e.is_closed):
            points = (
                list(e.get_points("xyb"))
                if kind == "LWPOLYLINE"
                else [(*v.dxf.location.vec2, v.dxf.bulge) for v in e.vertices]
            )
            found.append(abs(_with_bulges(np.array(points, dtype=float))))
        elif kind == "SPLINE" and e.closed:
            flat = np.array([(p.x, p.y) for p in ezpath.make_path(e).flattening(1e-5, segments=200)])
            found.append(abs(_shoelace(flat)))
    return found


def _with_bulges(rows: np.ndarray) -> float:
    """Return the signed area of a closed polyline: the polygon, and the segment of each arc."""
    ends = np.roll(rows[:, :2], -1, axis=0)
    chord = np.hypot(*(ends - rows[:, :2]).T)
    turn = 4 * np.arctan(rows[:, 2])
    with np.errstate(all="ignore"):
        radius = np.where(turn == 0, 0.0, chord / (2 * np.sin(np.where(turn == 0, 1.0, turn) / 2)))
    return _shoelace(rows[:, :2]) + float((radius**2 * (turn - np.sin(turn)) / 2).sum())


def _shoelace(p: np.ndarray) -> float:
    q = p - p.mean(axis=0)
    n = np.roll(q, -1, axis=0)
    return float((q[:, 0] * n[:, 1] - n[:, 0] * q[:, 1]).sum() / 2)


def by_gdal(path: Path) -> list[float]:
    """Return the areas of all rings: of closed lines, and of lines whose ends meet, blocks placed."""
    pyogrio.set_gdal_config_options({"OGR_ARC_STEPSIZE": STEP_DEG})
    try:
        shapes = shapely.from_wkb(pyogrio.raw.read(path)[2])
    finally:
        pyogrio.set_gdal_config_options({"OGR_ARC_STEPSIZE": None})
    lines = [shapely.force_2d(p) for g in shapes if g is not None for p in shapely.get_parts(g)]
    lines = [
        p.exterior if p.geom_type == "Polygon" else p for p in lines if "Point" not in p.geom_type and not p.is_empty
    ]
    rings = [p for p in lines if p.geom_type == "LinearRing" or (p.geom_type == "LineString" and p.is_ring)]
    rest = [p for p in lines if p.geom_type == "LineString" and not p.is_ring]
    if rest:
        tied = [shapely.LineString(np.round(shapely.get_coordinates(p), 6)) for p in rest]
        merged = shapely.line_merge(shapely.MultiLineString(tied))
        rings += [p for p in shapely.get_parts(merged) if p.is_ring]
    return [abs(_shoelace(shapely.get_coordinates(r)[:-1])) for r in rings]


def by_svgpathtools(path: Path) -> list[float]:
    """Return the areas of closed subpaths, transforms of groups done; views of the root are not."""
    subpaths = [sub for whole in Document(str(path)).paths() for sub in whole.continuous_subpaths() if len(sub)]
    closed = [sub for sub in subpaths if abs(sub.start - sub.end) <= 0.006]
    return [abs(sum(_under(seg) for seg in sub) + _under(Line(sub.end, sub.start))) for sub in closed]


def _under(segment: object) -> float:
    """Return the area between a segment and the origin: exact for lines and Beziers, fine chords for arcs."""
    if isinstance(segment, Arc):
        z = np.array([segment.point(t) for t in np.linspace(0, 1, 1501)])
        return float((z.real[:-1] * z.imag[1:] - z.real[1:] * z.imag[:-1]).sum() / 2)
    z = segment.poly()
    x, y = np.poly1d(np.real(z.coeffs)), np.poly1d(np.imag(z.coeffs))
    whole = (x * y.deriv() - y * x.deriv()).integ()
    return float(whole(1) - whole(0)) / 2
