"""Rounding a corner of a chain of arcs and lines by an arc of a given radius.

The centre of the round lies at the radius from both sides, so it is where the two sides, each moved inward
by the radius, cross. When the pieces next to the corner are too short for the round, they are used up
and the next ones are tried.
"""

from __future__ import annotations

import numpy as np

from blankwright.base.arrays import Array
from blankwright.base.errors import GeometryError
from blankwright.geometry.outline import Outline, circles, points_on

_ON_PIECE = 1e-9  # share of a piece by which a foot may miss its end; rounding only


def round_corner(outline: Outline, corner: int, radius_mm: float) -> Outline:
    """Return the outline with the corner at a vertex rounded.

    Args:
        outline: The chain.
        corner: Number of the vertex to round.
        radius_mm: Radius of the round [mm], above 0.

    Raises:
        GeometryError: The radius does not fit between the neighbouring corners.
    """
    n = len(outline)
    side = float(np.sign(outline.corner_angles_deg[corner]))
    if side == 0 or abs(outline.corner_angles_deg[corner]) < 1e-6:
        return outline
    reach = min(n - 1, 40)
    for used in range(reach):
        for back in range(used + 1):
            before, after = (corner - 1 - back) % n, (corner + used - back) % n
            if (after - before) % n == 0:
                continue
            found = _round_between(outline, before, after, side, radius_mm)
            if found is not None:
                return _spliced(outline, before, after, found, side)
    x, y = outline.starts[corner]
    raise GeometryError(f"a radius of {radius_mm:.2f} mm does not fit at the corner ({x:.2f}, {y:.2f})")


def _moved(outline: Outline, piece: int, distance: float) -> tuple[Array, Array, float] | None:
    """Return a piece moved to its left: (point, direction, 0) of a line or (centre, -, radius) of a circle."""
    a, b, g = outline.starts[piece], outline.ends[piece], outline.bulges[piece]
    if abs(g) < 1e-9:
        u = (b - a) / np.hypot(*(b - a))
        return a + distance * np.array([-u[1], u[0]]), u, 0.0
    centre, radius = circles(a[None], b[None], np.array([g]))
    moved = float(radius[0]) - distance * float(np.sign(g))
    return (centre[0], np.zeros(2), moved) if moved > 0 else None


def _crossings(p: tuple[Array, Array, float], q: tuple[Array, Array, float]) -> list[Array]:
    """Return the points where two lines or circles cross."""
    if p[2] == 0 and q[2] == 0:
        det = p[1][0] * q[1][1] - p[1][1] * q[1][0]
        if abs(det) < 1e-12:
            return []
        w = q[0] - p[0]
        return [p[0] + p[1] * (w[0] * q[1][1] - w[1] * q[1][0]) / det]
    if p[2] != 0 and q[2] == 0:
        p, q = q, p
    if p[2] == 0:
        w = q[0] - p[0]
        along = float(w @ p[1])
        foot = p[0] + along * p[1]
        rest = q[2] ** 2 - float((q[0] - foot) @ (q[0] - foot))
        if rest < 0:
            return []
        return [foot + s * np.sqrt(rest) * p[1] for s in (-1, 1)]
    d = q[0] - p[0]
    apart = float(np.hypot(*d))
    if apart < 1e-12:
        return []
    along = (apart**2 + p[2] ** 2 - q[2] ** 2) / (2 * apart)
    rest = p[2] ** 2 - along**2
    if rest < 0:
        return []
    u = d / apart
    return [p[0] + along * u + s * np.sqrt(rest) * np.array([-u[1], u[0]]) for s in (-1, 1)]


def _share(outline: Outline, piece: int, point: Array) -> float:
    """Return where along a piece the foot of a point lies (0 start, 1 end; outside when beyond)."""
    a, b, g = outline.starts[piece], outline.ends[piece], float(outline.bulges[piece])
    if abs(g) < 1e-9:
        d = b - a
        return float((point - a) @ d / (d @ d))
    centre, _ = circles(a[None], b[None], np.array([g]))
    first, w = a - centre[0], point - centre[0]
    turn = float(np.arctan2(first[0] * w[1] - first[1] * w[0], first @ w))
    return turn / (4 * float(np.arctan(g)))


def _round_between(
    outline: Outline, before: int, after: int, side: float, radius: float
) -> tuple[Array, Array, float, float] | None:
    """Return the feet on two pieces and their shares when a round fits between them."""
    p, q = _moved(outline, before, side * radius), _moved(outline, after, side * radius)
    if p is None or q is None:
        return None
    best = None
    for centre in _crossings(p, q):
        s, t = _share(outline, before, centre), _share(outline, after, centre)
        if not (-_ON_PIECE <= s < 1 and 0 < t <= 1 + _ON_PIECE):
            continue
        feet = [
            points_on(outline.starts[i : i + 1], outline.ends[i : i + 1], outline.bulges[i : i + 1], np.array([x]))[0]
            for i, x in ((before, s), (after, t))
        ]
        good = all(abs(np.hypot(*(foot - centre)) - radius) < 1e-6 for foot in feet)
        if good and (best is None or s > best[2]):
            best = (feet[0], feet[1], s, t)
    return best


def _spliced(
    outline: Outline, before: int, after: int, found: tuple[Array, Array, float, float], side: float
) -> Outline:
    """Return the outline with everything between two feet replaced by one arc."""
    foot_a, foot_b, s, t = found
    n = len(outline)
    keep = [(after + 1 + k) % n for k in range((before - after - 1) % n)]
    part = np.tan(np.arctan(outline.bulges[before]) * s)
    rest = np.tan(np.arctan(outline.bulges[after]) * (1 - t))
    tangent = outline.end_tangents[before] if s >= 1 else _tangent_at(outline, before, s)
    chord = foot_b - foot_a
    size = float(np.hypot(*chord))
    half = float(np.arctan2(tangent[0] * chord[1] - tangent[1] * chord[0], tangent @ chord))
    # start behind the round, so that the pieces keep their order
    rows = [tuple(row) for row in outline.vertices[np.array(keep, dtype=int)].tolist()]
    names = [outline.regions[i] for i in keep]
    if s > _ON_PIECE:
        rows.append((*outline.starts[before], part))
        names.append(outline.regions[before])
    if size > 0:
        rows.append((*foot_a, float(np.tan(half / 2))))
        names.append(outline.regions[before] if side > 0 else outline.regions[after])
    if t < 1 - _ON_PIECE:
        rows.append((*foot_b, rest))
        names.append(outline.regions[after])
    return Outline(np.array(rows), tuple(names), outline.max_error_mm)


def _tangent_at(outline: Outline, piece: int, share: float) -> Array:
    """Return the unit tangent at a share of the way along a piece."""
    turn = 4 * np.arctan(outline.bulges[piece]) * share
    u = outline.start_tangents[piece]
    return np.array([u[0] * np.cos(turn) - u[1] * np.sin(turn), u[0] * np.sin(turn) + u[1] * np.cos(turn)])
