"""How near two outlines come to each other, exact in lines and arcs.

The least distance of two pieces is at an end of one of them, or where both are square to the line between: on an arc
that is the line through its centre. Every place tried lies on one piece and is measured exactly to the other.
"""

from __future__ import annotations

import numpy as np

from blankwright.base.arrays import Array, Place, dot
from blankwright.base.frozen import dataclass
from blankwright.geometry.distance import LINE_BULGE, Index, crossings, points_to_pieces, shares, ways_to_pieces
from blankwright.geometry.outline import Outline, circles, points_on

_BLOCK = 200_000
"""So many pairs of pieces are measured at a time."""


@dataclass(frozen=True)
class Nearness:
    """How near two outlines come.

    Args:
        mm: Least distance [mm]; 0 where they cross or touch.
        at_mm: The place on the first one [mm].
        piece: The piece of the first one that it lies on.
        crosses: Whether they cross or touch.
    """

    mm: float
    at_mm: Place
    piece: int
    crosses: bool


def nearness(one: Outline, other: Outline) -> Nearness:
    """Return the least distance of two outlines [mm] and where it is.

    Args:
        one: The first outline, closed.
        other: The second; both may run either way.
    """
    i, j = _near_pairs(one, other)
    starts, ends = np.vstack([one.starts, other.starts]), np.vstack([one.ends, other.ends])
    bulges, n = np.concatenate([one.bulges, other.bulges]), len(one)
    touching = _boxes_apart(one, other, i, j) <= 1e-9
    first, s, second, t = crossings(starts, ends, bulges, i[touching], j[touching] + n)
    if len(first):
        swap = bool(first[0] >= n)
        piece, share = (second[:1], t[:1]) if swap else (first[:1], s[:1])
        x, y = points_on(starts[piece], ends[piece], bulges[piece], share)[0].tolist()
        return Nearness(0.0, (x, y), int(piece[0]), True)
    best = _ends_apart(one, other)
    for points, pair in (_square_places(one, other, i, j), _square_places(other, one, j, i, back=True)):
        if len(points):
            mm, at, on = _least(points, pair, one, other)
            best = min(best, Nearness(mm, at, on, False), key=lambda found: found.mm)
    return best


def _boxes_apart(one: Outline, other: Outline, i: Index, j: Index) -> Array:
    """Return how far the boxes of pairs of pieces are apart [mm]."""
    (low, high), (low2, high2) = one.piece_boxes, other.piece_boxes
    gap = np.maximum(np.maximum(low[i] - high2[j], low2[j] - high[i]), 0.0)
    result: Array = np.hypot(gap[:, 0], gap[:, 1])
    return result


def _near_pairs(one: Outline, other: Outline) -> tuple[Index, Index]:
    """Return the pairs of pieces of which one may hold the least distance."""
    most = _ends_apart(one, other).mm + 1e-6
    (low, high), (low2, high2) = one.piece_boxes, other.piece_boxes
    rows, found = max(1, _BLOCK // len(other)), []
    for k in range(0, len(one), rows):
        gap = np.maximum(np.maximum(low[k : k + rows, None] - high2[None], low2[None] - high[k : k + rows, None]), 0.0)
        i, j = np.nonzero(np.hypot(gap[..., 0], gap[..., 1]) <= most)
        found.append((i + k, j))
    return np.concatenate([i for i, _ in found]), np.concatenate([j for _, j in found])


def _ends_apart(one: Outline, other: Outline) -> Nearness:
    """Return the least distance at the ends of pieces."""
    best = None
    for a, b, swapped in ((one, other, False), (other, one, True)):
        rows = max(1, _BLOCK // len(b))
        for k in range(0, len(a), rows):
            apart = points_to_pieces(a.starts[k : k + rows], b.starts, b.ends, b.bulges)
            row, column = divmod(int(apart.argmin()), len(b))
            if best is None or apart[row, column] < best[0]:
                best = (float(apart[row, column]), row + k, column, swapped)
    assert best is not None
    mm, end, piece, swapped = best
    if not swapped:
        return Nearness(mm, _place(one.starts[end]), end, crosses=False)
    return Nearness(mm, _foot(other.starts[end], one, piece), piece, crosses=False)


def _square_places(
    one: Outline, other: Outline, i: Index, j: Index, *, back: bool = False
) -> tuple[Array, tuple[Index, Index]]:
    """Return places on the first outline's pieces that may be square to the second's, and the pairs they belong to.

    Args:
        one: The outline on whose pieces places are looked for.
        other: The one they are to be near.
        i: (k,) piece of the first in each pair.
        j: (k,) piece of the second.
        back: Whether the pairs are to be told as (j, i).
    """
    bent, bent2 = np.abs(one.bulges) > LINE_BULGE, np.abs(other.bulges) > LINE_BULGE
    found: list[tuple[Array, Index]] = []
    places = np.arange(len(i))
    for kind in ("line-arc", "arc-line", "arc-arc"):
        own, its = kind.split("-")
        k = places[(bent[i] == (own == "arc")) & (bent2[j] == (its == "arc"))]
        if not len(k):
            continue
        p, q = i[k], j[k]
        if kind == "line-arc":
            centre, _ = circles(other.starts[q], other.ends[q], other.bulges[q])
            d = one.ends[p] - one.starts[p]
            found.append((one.starts[p] + d * (dot(centre - one.starts[p], d) / dot(d, d))[:, None], k))
            continue
        centre, radius = circles(one.starts[p], one.ends[p], one.bulges[p])
        if kind == "arc-line":
            d = other.ends[q] - other.starts[q]
            u = np.column_stack([-d[:, 1], d[:, 0]])
        else:
            u = circles(other.starts[q], other.ends[q], other.bulges[q])[0] - centre
        size = np.hypot(u[:, 0], u[:, 1])
        u = u / np.where(size > 1e-12, size, 1.0)[:, None]
        found += [(centre + u * (side * radius)[:, None], k) for side in (1.0, -1.0)]
    if not found:
        return np.zeros((0, 2)), (np.zeros(0, dtype=np.intp), np.zeros(0, dtype=np.intp))
    points, k = np.concatenate([p for p, _ in found]), np.concatenate([k for _, k in found])
    p = i[k]
    share = shares(one.starts[p], one.ends[p], one.bulges[p], points)
    on = (share >= 0) & (share <= 1)
    points, k = points[on], k[on]
    return points, ((j[k], i[k]) if back else (i[k], j[k]))


def _least(points: Array, pair: tuple[Index, Index], one: Outline, other: Outline) -> tuple[float, Place, int]:
    """Measure places exactly; each lies on one of its pair and is measured to the other."""
    p, q = pair
    to_one = ways_to_pieces(points[:, None], one.starts[p], one.ends[p], one.bulges[p])[:, 0]
    to_other = ways_to_pieces(points[:, None], other.starts[q], other.ends[q], other.bulges[q])[:, 0]
    apart = np.maximum(to_one, to_other)  # on one of them it lies, but for rounding
    k = int(apart.argmin())
    return float(apart[k]), _foot(points[k], one, int(p[k])), int(p[k])


def _foot(point: Array, outline: Outline, piece: int) -> Place:
    """Return the place of a piece that is nearest to a point."""
    a, b, bulge = outline.starts[piece], outline.ends[piece], outline.bulges[piece]
    if abs(bulge) <= LINE_BULGE:
        d = b - a
        t = min(max(float(dot(point - a, d) / dot(d, d)), 0.0), 1.0)
        return _place(a + d * t)
    centre, radius = circles(a[None], b[None], np.array([bulge]))
    away = point - centre[0]
    on = centre[0] + away * (radius[0] / max(float(np.hypot(*away)), 1e-12))
    share = float(shares(a[None], b[None], np.array([bulge]), on[None])[0])
    ends = (a, b)
    return _place(on if 0 <= share <= 1 else min(ends, key=lambda end: float(np.hypot(*(end - point)))))


def _place(point: Array) -> Place:
    return float(point[0]), float(point[1])
