"""The part of an outline behind an upright line."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from blankwright.base.arrays import Array, following
from blankwright.base.errors import GeometryError
from blankwright.geometry.distance import crossings
from blankwright.geometry.outline import Outline, points_on

Index = NDArray[np.intp]

_NEAR_MM = 1e-6  # a piece that ends this near the line may still be said to touch it


def upright_crossings(outline: Outline, x_mm: float) -> tuple[Index, Array, Array]:
    """Return where an upright line crosses an outline.

    Args:
        outline: The outline.
        x_mm: Place of the line [mm].

    Returns:
        For every crossing: the piece, the share of its length, and y [mm].
    """
    low, high = outline.piece_boxes
    reached = ((low[:, 0] <= x_mm + _NEAR_MM) & (x_mm - _NEAR_MM <= high[:, 0])).nonzero()[0]
    y0, y1 = outline.bounds_mm[1] - 1, outline.bounds_mm[3] + 1
    starts = np.vstack([outline.starts[reached], [x_mm, y0]])
    ends = np.vstack([outline.ends[reached], [x_mm, y1]])
    n = len(reached)
    first, s, second, t = crossings(starts, ends, np.append(outline.bulges[reached], 0.0), np.arange(n), np.full(n, n))
    piece, share, along = np.where(first == n, second, first), np.where(first == n, t, s), np.where(first == n, s, t)
    return reached[piece], share, y0 + (y1 - y0) * along


@lru_cache(maxsize=64)
def behind(outline: Outline, x_mm: float, region: str) -> Outline:
    """Return what lies behind (at smaller x than) an upright line, closed by that line; kept, to be weighed again.

    Args:
        outline: Counter-clockwise outline that crosses the line; between its highest and its lowest crossing it must
            stay behind the line.
        x_mm: Place of the line [mm].
        region: Region of the new straight piece.

    Raises:
        GeometryError: The outline does not cross the line, or comes back over it.
    """
    n = len(outline)
    piece, share, _ = upright_crossings(outline, x_mm)
    if len(piece) < 2:
        raise GeometryError(f"the outline does not cross x = {x_mm:.2f} mm")
    points = points_on(outline.starts[piece], outline.ends[piece], outline.bulges[piece], share)
    top, bottom = int(points[:, 1].argmax()), int(points[:, 1].argmin())
    i, j = int(piece[top]), int(piece[bottom])
    if i == j and share[top] < share[bottom]:  # a round end: one arc crosses the line twice
        bulge = float(np.tan(np.arctan(outline.bulges[i]) * (share[bottom] - share[top])))
        ends = np.array([[*points[top], bulge], [*points[bottom], 0.0]])
        return Outline(ends, (outline.regions[i], region), outline.max_error_mm)
    between = [(i + 1 + k) % n for k in range((j - i - 1) % n)]
    quarter = np.arctan(outline.bulges)
    rows = [(*points[top], float(np.tan(quarter[i] * (1 - share[top]))))]
    rows += [tuple(outline.vertices[k]) for k in between]
    rows += [(*outline.starts[j], float(np.tan(quarter[j] * share[bottom]))), (*points[bottom], 0.0)]
    names = [outline.regions[i], *(outline.regions[k] for k in between), outline.regions[j], region]
    vertices = np.array(rows)
    long = np.hypot(*(following(vertices[:, :2]) - vertices[:, :2]).T) > 1e-9
    part = Outline(
        vertices[long], tuple(name for name, keep in zip(names, long, strict=True) if keep), outline.max_error_mm
    )
    if part.bounds_mm[2] > x_mm + 1e-6:
        raise GeometryError(f"the outline comes back over x = {x_mm:.2f} mm")
    return part
