"""Rounding a corner of a chain of arcs and lines by an arc of a given radius.

The centre of the round lies at the radius from both sides, so it is where the two sides, each moved inward
by the radius, cross. When the pieces next to the corner are too short for the round, they are used up
and the next ones are tried.

Two or three pieces are looked at, one by one: places and directions are complex numbers x + iy, of which the product
of one's conjugate with another holds what points along (real) and what points across, to the left (imaginary).
"""

from __future__ import annotations

import cmath
import math

import numpy as np

from blankwright.base.errors import GeometryError
from blankwright.geometry.outline import Outline

_ON_PIECE = 1e-9  # share of a piece by which a foot may miss its end; rounding only
_LINE_BULGE = 1e-9  # a bulge below this is a line

Piece = tuple[complex, complex, float]
"""Start and end [mm], and bulge."""

Track = tuple[complex, complex, float]
"""A line: a place, its direction, 0. A circle: its centre, 0, its radius [mm]."""


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
    bend = math.degrees(_turn(_tangent(_piece(outline, (corner - 1) % n), 1.0), _tangent(_piece(outline, corner), 0.0)))
    if abs(bend) < 1e-6:
        return outline
    side = math.copysign(1.0, bend)
    reach = min(n - 1, 40)
    for used in range(reach):
        for back in range(used + 1):
            before, after = (corner - 1 - back) % n, (corner + used - back) % n
            if (after - before) % n == 0:
                continue
            shares = _round_between(_piece(outline, before), _piece(outline, after), side * radius_mm)
            if shares is not None:
                return _spliced(outline, before, after, shares, side)
    x, y = outline.starts[corner]
    raise GeometryError(f"a radius of {radius_mm:.2f} mm does not fit at the corner ({x:.2f}, {y:.2f})")


def _piece(outline: Outline, number: int) -> Piece:
    (x0, y0, bulge), (x1, y1, _) = (outline.vertices[i].tolist() for i in (number, (number + 1) % len(outline)))
    return complex(x0, y0), complex(x1, y1), bulge


def _turn(before: complex, after: complex) -> float:
    """Return the angle from one direction to another, positive to the left [rad]."""
    return cmath.phase(before.conjugate() * after)


def _tangent(piece: Piece, share: float) -> complex:
    """Return the unit tangent at a share of the way along a piece: it leaves the chord by half the arc's angle."""
    start, end, bulge = piece
    return (end - start) / abs(end - start) * cmath.rect(1.0, 2 * math.atan(bulge) * (2 * share - 1))


def _place(piece: Piece, share: float) -> complex:
    """Return the place at a share of the way along a piece [mm]."""
    start, end, bulge = piece
    half = 2 * math.atan(bulge)  # half the arc's angle
    if abs(half) < 1e-8:
        return start + (end - start) * share
    # chord from the start to the place: length ratio sin(share half)/sin(half), turned by (share - 1) half
    return start + (end - start) * cmath.rect(math.sin(share * half) / math.sin(half), (share - 1) * half)


def _centre(piece: Piece) -> complex:
    """Return the centre of an arc [mm]."""
    start, end, bulge = piece
    return (start + end) / 2 + 1j * (end - start) * (1 - bulge * bulge) / (4 * bulge)


def _moved(piece: Piece, distance: float) -> Track | None:
    """Return the line or circle of a piece moved to its left; None of a circle that is smaller than that."""
    start, end, bulge = piece
    along = end - start
    if abs(bulge) < _LINE_BULGE:
        unit = along / abs(along)
        return start + 1j * distance * unit, unit, 0.0
    radius = abs(along) * (1 + bulge * bulge) / (4 * abs(bulge)) - math.copysign(1.0, bulge) * distance
    return (_centre(piece), 0j, radius) if radius > 0 else None


def _crossings(p: Track, q: Track) -> list[complex]:
    """Return the places where two lines or circles cross."""
    if p[2] == 0 and q[2] == 0:
        across = (p[1].conjugate() * q[1]).imag
        if abs(across) < 1e-12:
            return []
        return [p[0] + p[1] * ((q[0] - p[0]).conjugate() * q[1]).imag / across]
    if p[2] != 0 and q[2] == 0:
        p, q = q, p
    apart = q[0] - p[0]
    if p[2] == 0:
        middle, unit = p[0] + (p[1].conjugate() * apart).real * p[1], p[1]
        rest = q[2] ** 2 - abs(q[0] - middle) ** 2
    else:
        if abs(apart) < 1e-12:
            return []
        along = (abs(apart) ** 2 + p[2] ** 2 - q[2] ** 2) / (2 * abs(apart))
        middle, unit = p[0] + along * apart / abs(apart), 1j * apart / abs(apart)
        rest = p[2] ** 2 - along**2
    return [] if rest < 0 else [middle + sign * math.sqrt(rest) * unit for sign in (-1, 1)]


def _share(piece: Piece, place: complex) -> float:
    """Return where along a piece the foot of a place lies (0 start, 1 end; outside when beyond)."""
    start, end, bulge = piece
    if abs(bulge) < _LINE_BULGE:
        return ((end - start).conjugate() * (place - start)).real / abs(end - start) ** 2
    centre = _centre(piece)
    return _turn(start - centre, place - centre) / (4 * math.atan(bulge))


def _round_between(before: Piece, after: Piece, radius: float) -> tuple[float, float] | None:
    """Return how far along two pieces the round's ends lie when one of that radius, to the left, fits between them."""
    p, q = _moved(before, radius), _moved(after, radius)
    if p is None or q is None:
        return None
    best = None
    for centre in _crossings(p, q):
        s, t = _share(before, centre), _share(after, centre)
        if not (-_ON_PIECE <= s < 1 and 0 < t <= 1 + _ON_PIECE):
            continue
        feet = _place(before, s), _place(after, t)
        good = all(abs(abs(foot - centre) - abs(radius)) < 1e-6 for foot in feet)
        if good and (best is None or s > best[0]):
            best = (s, t)
    return best


def _spliced(outline: Outline, before: int, after: int, shares: tuple[float, float], side: float) -> Outline:
    """Return the outline with everything between two feet replaced by one arc."""
    n = len(outline)
    first, last = _piece(outline, before), _piece(outline, after)
    (s, t), (foot_a, foot_b) = shares, (_place(first, shares[0]), _place(last, shares[1]))
    # start behind the round, so that the pieces keep their order
    keep = [(after + 1 + k) % n for k in range((before - after - 1) % n)]
    rows: list[tuple[float, float, float]] = []
    names = [outline.regions[i] for i in keep]
    if s > _ON_PIECE:
        rows.append((first[0].real, first[0].imag, math.tan(math.atan(first[2]) * s)))
        names.append(outline.regions[before])
    if foot_b != foot_a:
        half = _turn(_tangent(first, s), foot_b - foot_a)
        rows.append((foot_a.real, foot_a.imag, math.tan(half / 2)))
        names.append(outline.regions[before] if side > 0 else outline.regions[after])
    if t < 1 - _ON_PIECE:
        rows.append((foot_b.real, foot_b.imag, math.tan(math.atan(last[2]) * (1 - t))))
        names.append(outline.regions[after])
    vertices = np.concatenate([outline.vertices[keep], np.array(rows).reshape(-1, 3)])
    return Outline(vertices, tuple(names), outline.max_error_mm)
