"""A placing worked out again without the product's own distances: GEOS and Clipper polygons, plain trigonometry."""

from __future__ import annotations

from math import cos, radians, sin

import numpy as np
import pyclipr
import shapely
from numpy.typing import NDArray

Points = NDArray[np.float64]
_SCALE = 10_000.0


def mapped(points: Points, x_mm: float, y_mm: float, turn_deg: float, *, flipped: bool) -> Points:
    """Return a design's points on the piece, as the contract says: mirror in x when flipped, turn, shift."""
    c, s = cos(radians(turn_deg)), sin(radians(turn_deg))
    x, y = (-points[:, 0] if flipped else points[:, 0]), points[:, 1]
    return np.column_stack([c * x - s * y + x_mm, s * x + c * y + y_mm])


def room_by_geos(laid: Points, edge: Points, zones: list[Points]) -> float:
    """Return the least distance to edge and zones [mm]; -1 where it is not inside, or on a zone."""
    part, steel = shapely.Polygon(laid), shapely.Polygon(edge)
    holes = [shapely.Polygon(zone) for zone in zones]
    if not steel.contains(part) or any(part.intersects(hole) for hole in holes):
        return -1.0
    return min([part.distance(steel.exterior), *(part.distance(hole) for hole in holes)])


def clear_by_clipper(laid: Points, edge: Points, need_mm: float) -> bool:
    """Whether an outline that is grown by a room lies inside a piece, told by Clipper to 0.01 mm."""
    grown = pyclipr.ClipperOffset()
    grown.scaleFactor = _SCALE
    grown.arcTolerance = 0.0005 * _SCALE
    grown.addPath(laid, pyclipr.JoinType.Round, pyclipr.EndType.Polygon)
    outline = grown.execute(need_mm - 0.01)
    cut = pyclipr.Clipper()
    cut.scaleFactor = _SCALE
    cut.addPaths(outline, pyclipr.Subject, False)
    cut.addPath(edge, pyclipr.Clip, False)
    beyond = cut.execute(pyclipr.Difference, pyclipr.FillRule.NonZero)
    return sum(abs(shapely.Polygon(p).area) for p in beyond if len(p) > 2) < 1e-3
