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
