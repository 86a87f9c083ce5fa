"""How near two shapes lie to each other, found by a tree instead of by every pair of their points."""

from __future__ import annotations

import numpy as np
import shapely


def within(one: shapely.Geometry, other: shapely.Geometry, reach: float) -> bool:
    """Return whether GEOS's Hausdorff distance of two lines is at most a reach: from each corner to the other line."""
    shapely.prepare([one, other])
    return all(
        bool(shapely.dwithin(b, shapely.points(shapely.get_coordinates(a)), reach).all())
        for a, b in ((one, other), (other, one))
    )


def clear_of(shape: shapely.Geometry, points: np.ndarray, apart: float) -> bool:
    """Return whether no point is nearer to a shape than asked."""
    shapely.prepare(shape)
    return not shapely.dwithin(shape, shapely.points(points), np.nextafter(apart, 0)).any()


def away(line: shapely.LineString | shapely.LinearRing, points: np.ndarray) -> np.ndarray:
    """Return how far each point is from a line, as GEOS measures it to the nearest of its chords."""
    corners = shapely.get_coordinates(line)
    chords = shapely.STRtree(shapely.linestrings(np.stack([corners[:-1], corners[1:]], axis=1)))
    return np.asarray(chords.query_nearest(shapely.points(points), all_matches=False, return_distance=True)[1])


def apart(one: shapely.Polygon, other: shapely.Polygon) -> float:
    """Return how far two polygons that do not meet lie apart: the least is at a corner of one of them."""
    rims = one.exterior, other.exterior
    return float(min(away(a, shapely.get_coordinates(b)).min() for a, b in (rims, rims[::-1])))
