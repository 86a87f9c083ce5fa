"""Distances from points to arcs and lines, and where pieces cross."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from blankwright.base.arrays import Array, dot, pairs, within
from blankwright.geometry.outline import Outline, circles, piece_bounds, piece_tangents

Index = NDArray[np.intp]

LINE_BULGE = 1e-9
"""A bulge below this is a line: over a 300 mm chord the arc would rise 3e-7 mm."""


_FLAT_BULGE = 1e-5
"""An arc below this has its centre 25,000 chords away and more."""
_ACROSS = 1e-3
"""Pieces that cross at a smaller angle [rad] have no one place that is nearer."""


def points_to_pieces(points: Array, starts: Array, ends: Array, bulges: Array) -> Array:
    """Return the exact distance of every point from every piece.

    Args:
        points: (m, 2) [mm].
        starts: (n, 2) start of each piece [mm].
        ends: (n, 2) end of each piece [mm].
        bulges: (n,) [unitless].

    Returns:
        (m, n) distances [mm].
    """
    out = np.empty((len(points), len(starts)))
    arc = np.abs(bulges) > LINE_BULGE
    if (~arc).any():
        out[:, ~arc] = _to_lines(points[:, None], starts[~arc], ends[~arc])
    if arc.any():
        out[:, arc] = _to_arcs(points[:, None], starts[arc], ends[arc], bulges[arc])
    return out


def ways_to_pieces(ways: Array, starts: Array, ends: Array, bulges: Array) -> Array:
    """Return the exact distance of the points of every way from that way's own piece.

    Args:
        ways: (n, m, 2) [mm].
        starts: (n, 2) start of each piece [mm].
        ends: (n, 2) end of each piece [mm].
        bulges: (n,) [unitless].

    Returns:
        (n, m) distances [mm].
    """
    out = np.empty(ways.shape[:2])
    arc, points = np.abs(bulges) > LINE_BULGE, ways.transpose(1, 0, 2)
    if (~arc).any():
        out[~arc] = _to_lines(points[:, ~arc], starts[~arc], ends[~arc]).T
    if arc.any():
        out[arc] = _to_arcs(points[:, arc], starts[arc], ends[arc], bulges[arc]).T
    return out


def _to_lines(points: Array, starts: Array, ends: Array) -> Array:
    """Measure points, (m, 1, 2) from every line or (m, n, 2) each from its own."""
    d = ends - starts
    wx = points[:, :, 0] - starts[:, 0]
    wy = points[:, :, 1] - starts[:, 1]
    t = within((wx * d[:, 0] + wy * d[:, 1]) / dot(d, d), 0, 1)
    result: Array = np.hypot(wx - t * d[:, 0], wy - t * d[:, 1])
    return result


def _to_arcs(points: Array, starts: Array, ends: Array, bulges: Array) -> Array:
    """Measure from ends and tangents: an arc of 1e9 mm radius keeps its digits, its centre would not.

    Points are (m, 1, 2), from every arc, or (m, n, 2), each from its own.
    """
    first = piece_tangents(starts, ends, bulges, -1.0)
    last = piece_tangents(starts, ends, bulges, 1.0)
    wx, wy = points[:, :, 0] - starts[:, 0], points[:, :, 1] - starts[:, 1]
    vx, vy = points[:, :, 0] - ends[:, 0], points[:, :, 1] - ends[:, 1]
    # a point faces the arc between the two radii; beyond half a circle it is enough to be past one of them
    ahead = wx * first[:, 0] + wy * first[:, 1] >= 0
    behind = vx * last[:, 0] + vy * last[:, 1] <= 0
    faces = np.where(np.abs(bulges) <= 1, ahead & behind, ahead | behind)
    curvature = 4 * bulges / ((1 + bulges**2) * np.hypot(*(ends - starts).T))
    w = curvature * (wx * wx + wy * wy) - 2 * (first[:, 0] * wy - first[:, 1] * wx)
    to_circle = np.abs(w) / (1 + np.sqrt(np.maximum(1 + curvature * w, 0)))
    result: Array = np.where(faces, to_circle, np.minimum(np.hypot(wx, wy), np.hypot(vx, vy)))
    return result


def overlapping_boxes(starts: Array, ends: Array, bulges: Array) -> tuple[Index, Index]:
    """Return the pairs i < j of pieces whose boxes touch."""
    low, high = piece_bounds(starts, ends, bulges)
    high = high + 1e-9
    near_x = low[:, None, 0] <= high[None, :, 0]
    near_y = low[:, None, 1] <= high[None, :, 1]
    near = near_x & near_x.T & near_y & near_y.T
    i, j = np.nonzero(near)
    later = i < j
    return i[later], j[later]


def crossings(starts: Array, ends: Array, bulges: Array, i: Index, j: Index) -> tuple[Index, Array, Index, Array]:
    """Return where pairs of pieces cross or touch.

    Args:
        starts: (n, 2) start of each piece [mm].
        ends: (n, 2) end of each piece [mm].
        bulges: (n,) [unitless].
        i: (k,) first piece of each pair.
        j: (k,) second piece of each pair.

    Returns:
        For every crossing: the first piece and the share of its length, the second piece and its share.
    """
    arc = np.abs(bulges) > LINE_BULGE
    flat = arc & (np.abs(bulges) < _FLAT_BULGE)
    kinds = ((~arc[i] & ~arc[j]), (arc[i] != arc[j]), (arc[i] & arc[j]))
    found = []
    for kind, solve in zip(kinds, (_line_line, _line_circle, _circle_circle), strict=True):
        p, q = i[kind], j[kind]
        if not len(p):
            continue
        if solve is _line_circle:
            swap = arc[p]
            p, q = np.where(swap, q, p), np.where(swap, p, q)
        points, good = solve(starts, ends, bulges, p, q)
        far = (flat[p] | flat[q]).nonzero()[0]
        for side in range(points.shape[1]):
            if len(far):
                points[far, side] = _brought_on(points[far, side], starts, ends, bulges, p[far], q[far])
            s = shares(starts[p], ends[p], bulges[p], points[:, side])
            t = shares(starts[q], ends[q], bulges[q], points[:, side])
            on = good[:, side] & (s >= -1e-9) & (s <= 1 + 1e-9) & (t >= -1e-9) & (t <= 1 + 1e-9)
            found.append((p[on], within(s[on], 0, 1), q[on], within(t[on], 0, 1)))
    if not found:
        empty, none = np.zeros(0, dtype=np.intp), np.zeros(0)
        return empty, none, empty, none
    first, s, second, t = (np.concatenate(part) for part in zip(*found, strict=True))
    return first, s, second, t


def shares(starts: Array, ends: Array, bulges: Array, points: Array) -> Array:
    """Return where along its piece each point lies: 0 start, 1 end, outside 0..1 when beyond; elementwise."""
    d, w = ends - starts, points - starts
    out: Array = dot(w, d) / dot(d, d)
    arc = np.abs(bulges) > LINE_BULGE
    if arc.any():
        u = piece_tangents(starts[arc], ends[arc], bulges[arc], -1.0)
        w, b = w[arc], bulges[arc]
        sweep, sign = 4 * np.arctan(np.abs(b)), np.sign(b)
        radius = np.hypot(d[arc, 0], d[arc, 1]) * (1 + b * b) / (4 * np.abs(b))
        # seen from the centre, yet without it: along the tangent, and outward beside the radius
        turn = np.arctan2(dot(w, u), radius - sign * (u[:, 0] * w[:, 1] - u[:, 1] * w[:, 0]))
        # turns a little before the start stay negative, everything else counts forward
        over = (2 * np.pi - sweep) / 2
        turn = np.where(turn < -over, turn + 2 * np.pi, turn)
        out[arc] = turn / sweep
    return out


def _line_line(starts: Array, ends: Array, _bulges: Array, p: Index, q: Index) -> tuple[Array, NDArray[np.bool_]]:
    u, v, w = ends[p] - starts[p], ends[q] - starts[q], starts[q] - starts[p]
    det = u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]
    good = np.abs(det) > 1e-12 * np.hypot(*u.T) * np.hypot(*v.T)
    s = (w[:, 0] * v[:, 1] - w[:, 1] * v[:, 0]) / np.where(good, det, 1)
    return (starts[p] + u * s[:, None])[:, None], good[:, None]


def _line_circle(starts: Array, ends: Array, bulges: Array, p: Index, q: Index) -> tuple[Array, NDArray[np.bool_]]:
    centre, radius = circles(starts[q], ends[q], bulges[q])
    u = ends[p] - starts[p]
    u = u / np.hypot(u[:, 0], u[:, 1])[:, None]
    w = centre - starts[p]
    foot = starts[p] + u * dot(w, u)[:, None]
    off = np.hypot(*(centre - foot).T)
    return _chord_points(foot, u, radius, off)


def _circle_circle(starts: Array, ends: Array, bulges: Array, p: Index, q: Index) -> tuple[Array, NDArray[np.bool_]]:
    c1, r1 = circles(starts[p], ends[p], bulges[p])
    c2, r2 = circles(starts[q], ends[q], bulges[q])
    # reckon from the smaller circle: half a chord found in one of 1e8 mm radius would lose half its digits
    swap = (r1 > r2)[:, None]
    c1, c2 = np.where(swap, c2, c1), np.where(swap, c1, c2)
    r1, r2 = np.minimum(r1, r2), np.maximum(r1, r2)
    d = c2 - c1
    apart = np.hypot(d[:, 0], d[:, 1])
    same = apart < 1e-12
    u = d / np.where(same, 1, apart)[:, None]
    # (apart^2 + r1^2 - r2^2) / 2 apart without squaring two large radii against each other
    along = apart / 2 + (r1 - r2) * (r1 + r2) / (2 * np.where(same, 1, apart))
    points, good = _chord_points(c1 + u * along[:, None], pairs(-u[:, 1], u[:, 0]), r1, np.abs(along))
    return points, good & ~same[:, None]


def _brought_on(points: Array, starts: Array, ends: Array, bulges: Array, p: Index, q: Index) -> Array:
    """Return points where pieces cross, one step of Newton's nearer to both.

    The centre of a nearly straight arc is so far away that a place reckoned from there is off by its last digit.
    """
    f, (fx, fy) = _beside(points, starts[p], ends[p], bulges[p])
    g, (gx, gy) = _beside(points, starts[q], ends[q], bulges[q])
    det = fx * gy - fy * gx
    across = np.abs(det) > _ACROSS
    step = pairs(f * gy - g * fy, g * fx - f * gx) / np.where(across, det, np.inf)[:, None]
    moved: Array = points - step
    return moved


def _beside(points: Array, starts: Array, ends: Array, bulges: Array) -> tuple[Array, Array]:
    """Return how far points lie inside the bend of pieces, near them, and the slopes of that: no centre is needed."""
    chord, along, w = ends - starts, piece_tangents(starts, ends, bulges, -1.0), points - starts
    bend = 4 * bulges / (np.hypot(chord[:, 0], chord[:, 1]) * (1 + bulges * bulges))
    n = pairs(-along[:, 1], along[:, 0])
    return dot(w, n) - bend * dot(w, w) / 2, (n - bend[:, None] * w).T


def _chord_points(foot: Array, u: Array, radius: Array, off: Array) -> tuple[Array, NDArray[np.bool_]]:
    """Return the two ends of the chord at a distance from the centre; touching counts as one point twice."""
    rest = (radius - off) * (radius + off)
    touch = np.abs(radius - off) <= 1e-9
    good = (rest >= 0) | touch
    half = np.sqrt(np.maximum(rest, 0))
    points = np.stack([foot - u * half[:, None], foot + u * half[:, None]], axis=1)
    return points, np.stack([good, good], axis=1)


def crossing_place(outline: Outline) -> tuple[float, float] | None:
    """Return a place where an outline crosses itself, or None."""
    i, j = overlapping_boxes(outline.starts, outline.ends, outline.bulges)
    n = len(outline)
    apart = (j - i > 1) & (j - i < n - 1)
    first, _, _, _ = crossings(outline.starts, outline.ends, outline.bulges, i[apart], j[apart])
    if not len(first):
        return None
    x, y = outline.starts[first[0]]
    return float(x), float(y)
