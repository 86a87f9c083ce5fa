"""How far apart are two chains of lines and arcs? In closed form.

One formula serves lines and arcs. A piece is given by its start a, unit tangent t there, left normal u
and signed curvature k (0 for a line). With d = p - a the point p lies on the piece's circle or line when

    q(p) = k |d|^2 - 2 d.u = 0,   and its signed distance, positive to the right, is q / (1 + sqrt(1 + k q)).

Nothing is subtracted from a large radius, so an arc that is nearly a line keeps all its digits. A point
of the piece is x(m) = 2 m (t + k m u) / (1 + k^2 m^2) with m = tan(angle / 2) / k, half the length for a
line. Put into another piece's q this gives a quadratic in m for the points where they meet, and its
derivative another one for the points where they are nearest or farthest (the points on the line of
centres, or the foot of a centre on a line). With the end points these are all places where the least
distance of two pieces can be. Derived for this module from plane geometry; it shares no code with the
offset or the outline it judges.
"""

from __future__ import annotations

from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from blankwright.base.arrays import Array
from blankwright.base.frozen import dataclass
from blankwright.geometry.outline import Outline

Mask = NDArray[np.bool_]
Index = NDArray[np.intp]

TIE_MM = 1e-6
"""Distances this alike are one: the grid that outlines are rounded to."""

_TIE_DIGITS = 6

ZERO_MM = 1e-9
"""Distances below this are reported as zero: a crossing comes out at about 1e-13 by rounding."""

STRAIGHT_BULGE = 1e-15
"""A smaller bulge leaves its chord by less than rounding: a line. Its radius would overflow."""

CHUNK = 50_000
"""Pairs of pieces worked on at once; keeps the memory below about 100 MB."""


@dataclass(frozen=True)
class Pieces:
    """Lines and arcs, row by row.

    Args:
        start: (n, 2) [mm].
        end: (n, 2) [mm].
        tangent: (n, 2) unit tangent at the start.
        leaving: (n, 2) unit tangent at the end.
        curvature: (n,) signed, positive turning left [1/mm].
        wide: (n,) whether the piece turns by more than half a circle.
        length: (n,) along the piece [mm].
    """

    start: Array
    end: Array
    tangent: Array
    leaving: Array
    curvature: Array
    wide: Mask
    length: Array

    def __len__(self) -> int:
        return len(self.start)

    @cached_property
    def normal(self) -> Array:
        """(n, 2) unit normal at the start, to the left of the tangent."""
        return np.stack([-self.tangent[:, 1], self.tangent[:, 0]], axis=1)

    def take(self, rows: Index) -> Pieces:
        """Return the named rows, repeated as often as named."""
        return Pieces(
            self.start[rows], self.end[rows], self.tangent[rows], self.leaving[rows],
            self.curvature[rows], self.wide[rows], self.length[rows],
        )  # fmt: skip


def pieces_of(vertices: Array, closed: bool) -> Pieces:
    """Return the pieces of a chain of vertices.

    Args:
        vertices: (n, 3) x [mm], y [mm] and bulge to the next vertex.
        closed: Whether a last piece runs back to the first vertex.
    """
    v = vertices if closed else vertices[:-1]
    start = v[:, :2]
    end = np.roll(vertices[:, :2], -1, axis=0)[: len(v)]
    d = end - start
    chord = np.hypot(d[:, 0], d[:, 1])
    point = chord == 0
    safe = np.where(point, 1.0, chord)
    along = np.where(point[:, None], np.array([1.0, 0.0]), d / safe[:, None])
    g = np.where(point | (np.abs(v[:, 2]) < STRAIGHT_BULGE), 0.0, v[:, 2])
    # the tangent leaves the chord by half the turn, 2 atan(bulge), right at the start, left at the end
    cos, sin = (1 - g * g) / (1 + g * g), 2 * g / (1 + g * g)
    across = np.stack([-along[:, 1], along[:, 0]], axis=1)
    tangent = along * cos[:, None] - across * sin[:, None]
    leaving = along * cos[:, None] + across * sin[:, None]
    length = chord / np.sinc(2 * np.arctan(g) / np.pi)
    return Pieces(start, end, tangent, leaving, 4 * g / ((1 + g * g) * safe), np.abs(g) > 1, length)


def _dot(a: Array, b: Array) -> Array:
    return a[..., 0] * b[..., 0] + a[..., 1] * b[..., 1]


def _norm(a: Array) -> Array:
    return np.hypot(a[..., 0], a[..., 1])


def in_span(p: Array, on: Pieces) -> Mask:
    """Say whether the foot of each point on the piece's whole circle or line falls on the piece."""
    after_start = _dot(on.tangent, p - on.start) >= 0
    before_end = _dot(on.leaving, p - on.end) <= 0
    return np.where(on.wide, after_start | before_end, after_start & before_end)


def to_pieces(p: Array, on: Pieces) -> tuple[Array, Array]:
    """Return the distance of each point to the piece in its row, and the nearest point on it."""
    d = p - on.start
    slope = on.curvature[:, None] * d - on.normal
    q = on.curvature * _dot(d, d) - 2 * _dot(d, on.normal)
    root = np.sqrt(np.maximum(0.0, 1 + on.curvature * q))
    offset = q / (1 + root)
    steep = _norm(slope)
    centre = steep < 1e-100  # of an arc, where every point of it is as near
    foot = p - (offset / np.where(centre, 1.0, steep))[:, None] * slope
    to_start, to_end = _norm(d), _norm(p - on.end)
    use_foot = in_span(p, on) & (np.abs(offset) <= np.minimum(to_start, to_end)) & (root > 0)
    end_distance = np.minimum(to_start, to_end)
    nearest_end = np.where((to_start <= to_end)[:, None], on.start, on.end)
    on_foot = use_foot & ~centre
    return np.where(use_foot, np.abs(offset), end_distance), np.where(on_foot[:, None], foot, nearest_end)


def _roots(a2: Array, a1: Array, a0: Array) -> tuple[tuple[Array, Array], tuple[Array, Array], Mask]:
    """Solve a2 m^2 + a1 m + a0 = 0 without cancellation; each root as numerator and denominator.

    A root at infinity (denominator 0) is the far point of an arc's circle, so fractions are kept.
    """
    disc = a1 * a1 - 4 * a2 * a0
    half = -(a1 + np.copysign(np.sqrt(np.maximum(disc, 0.0)), a1)) / 2
    return (half, a2), (a0, half), disc >= 0


def _at(num: Array, den: Array, on: Pieces) -> Array:
    """Return the point x(num / den) of each piece; not finite where there is none."""
    scale = np.maximum(np.maximum(np.abs(num * on.curvature), np.abs(den)), 1e-300)
    n, d = num / scale, den / scale
    k = on.curvature
    with np.errstate(all="ignore"):
        x = (2 * n / (d * d + k * k * n * n))[:, None] * (d[:, None] * on.tangent + (k * n)[:, None] * on.normal)
    return on.start + x


def _meeting_quadratic(first: Pieces, second: Pieces) -> tuple[Array, Array, Array]:
    """Return A, B, C with A m^2 + B m + C = 0 where the first piece meets the second one's circle."""
    w = second.start - first.start
    v = -(second.curvature[:, None] * w + second.normal)
    c = second.curvature * _dot(w, w) + 2 * _dot(w, second.normal)
    a = 4 * second.curvature + 4 * first.curvature * _dot(first.normal, v) + first.curvature**2 * c
    return a, 4 * _dot(first.tangent, v), c


def meetings(first: Pieces, second: Pieces) -> list[Array]:
    """Return two (n, 2) sets of points of the first piece on the second one's circle; nan where none."""
    one, two, real = _roots(*_meeting_quadratic(first, second))
    return [np.where(real[:, None], _at(n, d, first), np.nan) for n, d in (one, two)]


def _extremes(first: Pieces, second: Pieces) -> list[Array]:
    """Return two (n, 2) sets of points of the first piece nearest and farthest from the second's circle."""
    a, b, c = _meeting_quadratic(first, second)
    kk = first.curvature**2
    one, two, _ = _roots(-kk * b, 2 * (a - kk * c), b)
    return [_at(n, d, first) for n, d in (one, two)]


def pair_distances(first: Pieces, second: Pieces) -> tuple[Array, Array]:
    """Return the least distance of the two pieces in each row, and where on the first it is."""
    least, place = to_pieces(first.start, second)[0], first.start.copy()

    def better(distance: Array, where: Array) -> None:
        nonlocal least, place
        # the place moves for more than last digits only: along parallel pieces both ends are as near
        place = np.where((distance < least - ZERO_MM)[:, None], where, place)
        least = np.minimum(distance, least)

    better(to_pieces(first.end, second)[0], first.end)
    better(*to_pieces(second.start, first))
    better(*to_pieces(second.end, first))
    for p in (*meetings(first, second), *_extremes(first, second)):
        usable = np.isfinite(p).all(axis=1)
        p = np.where(usable[:, None], p, first.start)  # noqa: PLW2901
        better(np.where(usable & in_span(p, first), to_pieces(p, second)[0], np.inf), p)
    return np.where(least < ZERO_MM, 0.0, least), place


def clearance(finished: Outline, cut_vertices: Array, cut: Mask | None = None) -> tuple[Array, Array]:
    """Measure the least distance from each piece of the finished outline to a closed cut contour.

    Args:
        finished: The finished outline of m pieces.
        cut_vertices: (n, 3) x [mm], y [mm] and bulge of a closed contour.
        cut: (n,) which of its pieces are cut; None for all.

    Returns:
        (m,) least distance [mm], zero where they cross or touch, not signed; and (m, 2) the place on the
        finished piece [mm].
    """
    ours = pieces_of(finished.vertices, closed=True)
    around = pieces_of(np.asarray(cut_vertices, dtype=np.float64), closed=True)
    return least_between(ours, around if cut is None else around.take(np.flatnonzero(cut)))


def between_chains(vertices: Array, others: Array, *, closed: bool) -> tuple[Array, Array]:
    """Measure the least distance from each piece of a chain to an open one.

    Args:
        vertices: (m, 3) x [mm], y [mm] and bulge.
        others: (n, 3) likewise, open.
        closed: Whether the first is a closed contour.

    Returns:
        (m,) or, for an open first chain, (m - 1,) least distance [mm]; and the places on the first chain [mm].
    """
    return least_between(pieces_of(vertices, closed), pieces_of(others, closed=False))


def between_pieces(vertices: Array, others: Array) -> tuple[Array, Array]:
    """Measure the least distance from each piece of one closed contour to another closed contour.

    Args:
        vertices: (m, 3) x [mm], y [mm] and bulge.
        others: (n, 3) likewise.

    Returns:
        (m,) least distance [mm] and (m, 2) the place on the first contour [mm].
    """
    return least_between(pieces_of(vertices, closed=True), pieces_of(others, closed=True))


def least_between(ours: Pieces, cut: Pieces) -> tuple[Array, Array]:
    """Measure the least distance from each of some pieces to any of others: (m,) [mm], and (m, 2) the places [mm]."""
    m, n = len(ours), len(cut)
    least, place = np.full(m, np.inf), np.zeros((m, 2))
    own, others = _rough_boxes(ours), _rough_boxes(cut)
    rows = max(1, CHUNK // n)
    for low in range(0, m, rows):
        block = np.arange(low, min(m, low + rows))
        i, j = _near(ours.start[block], (own[0][block], own[1][block]), cut.start, others)
        table, found = np.full((len(block), n), np.inf), np.zeros((len(block), n, 2))
        table[i, j], found[i, j] = pair_distances(ours.take(block[i]), cut.take(j))
        best = first_of_least(table, found)
        least[block] = table.min(axis=1)
        place[block] = found[np.arange(len(block)), best]
    return least, place


def first_of_least(least: Array, places: Array) -> Index:
    """Return where in each row the least value is; of those alike within TIE_MM the one furthest left, then lowest.

    Parallel outlines keep one distance along whole pieces, so the last digits alone would choose, and those differ
    from processor to processor.

    Args:
        least: (..., n) distances [mm].
        places: (..., n, 2) where each was found [mm].
    """
    alike = ~(least > least.min(axis=-1, keepdims=True) + TIE_MM)
    for axis in (0, 1):
        value = np.where(alike, np.round(places[..., axis], _TIE_DIGITS), np.inf)
        alike = alike & (value == value.min(axis=-1, keepdims=True))
    first: Index = alike.argmax(axis=-1)
    return first


def from_points(points: Array, vertices: Array) -> Array:
    """Measure the least distance of (m, 2) points [mm] to a closed contour of (n, 3) vertices: (m,) [mm]."""
    chain = pieces_of(vertices, closed=True)
    around = _rough_boxes(chain)
    m, n = len(points), len(chain)
    least = np.full(m, np.inf)
    rows = max(1, CHUNK // n)
    for low in range(0, m, rows):
        block = np.arange(low, min(m, low + rows))
        i, j = _near(points[block], (points[block], points[block]), chain.start, around)
        table = np.full((len(block), n), np.inf)
        table[i, j] = to_pieces(points[block[i]], chain.take(j))[0]
        least[block] = table.min(axis=1)
    return least


def _rough_boxes(pieces: Pieces) -> tuple[Array, Array]:
    """Return boxes that hold the pieces, if a little larger: no point of an arc is farther off than its length has."""
    chord = _norm(pieces.end - pieces.start)
    aside = (np.sqrt(np.maximum(pieces.length**2 - chord**2, 0.0)) / 2)[:, None]
    return np.minimum(pieces.start, pieces.end) - aside, np.maximum(pieces.start, pieces.end) + aside


def _near(points: Array, own: tuple[Array, Array], starts: Array, others: tuple[Array, Array]) -> tuple[Index, Index]:
    """Return the pairs among which the least distance of every row is, with all that tie with it.

    What lies in a box is no nearer than the box, and no row's least distance is above that from its point to a start.

    Args:
        points: (m, 2) a point of each row [mm].
        own: (m, 2) low and high corners of a box that holds each row [mm].
        starts: (n, 2) a point of each of the others [mm].
        others: (n, 2) low and high corners of their boxes [mm].
    """
    reach = np.hypot(points[:, None, 0] - starts[:, 0], points[:, None, 1] - starts[:, 1]).min(axis=1) + 10 * TIE_MM
    gap = np.maximum(np.maximum(own[0][:, None] - others[1], others[0] - own[1][:, None]), 0.0)
    i, j = np.nonzero(~(np.hypot(gap[..., 0], gap[..., 1]) > reach[:, None]))
    return i, j


def boxes(pieces: Pieces) -> tuple[Array, Array]:
    """Return the exact boxes of pieces: (n, 2) low and (n, 2) high corners [mm]."""
    low = np.minimum(pieces.start, pieces.end)
    high = np.maximum(pieces.start, pieces.end)
    k = pieces.curvature
    for axis in (0, 1):  # x(m) runs level where t + 2 k m u - k^2 m^2 t = 0 in that coordinate
        t, u = pieces.tangent[:, axis], pieces.normal[:, axis]
        one, two, _ = _roots(-k * k * t, 2 * k * u, t)
        for num, den in (one, two):
            p = _at(num, den, pieces)
            usable = np.isfinite(p).all(axis=1) & (k != 0)
            p = np.where(usable[:, None], p, pieces.start)
            reach = np.where(usable & in_span(p, pieces), p[:, axis], pieces.start[:, axis])
            low[:, axis] = np.minimum(low[:, axis], reach)
            high[:, axis] = np.maximum(high[:, axis], reach)
    return low, high


def along_pieces(pieces: Pieces, share: Array) -> Array:
    """Return the point at a share (0 to 1) of the length of each piece."""
    half = pieces.curvature * pieces.length * share / 2
    reach = share * pieces.length * np.sinc(half / np.pi)
    turn = np.cos(half)[:, None] * pieces.tangent + np.sin(half)[:, None] * pieces.normal
    return pieces.start + reach[:, None] * turn


def flatten(vertices: Array, tol_mm: float, step_mm: float, most: int) -> tuple[Array, Index]:
    """Return points on a closed contour, every vertex among them.

    Args:
        vertices: (n, 3) x [mm], y [mm] and bulge.
        tol_mm: Largest distance between an arc and the chord of two points [mm].
        step_mm: Largest distance along the contour between two points [mm].
        most: Number of points above which nothing is computed.

    Returns:
        (m, 2) points [mm] and (m,) the piece each begins or lies on; no points when there would be too many.
    """
    pieces = pieces_of(vertices, closed=True)
    k = np.abs(pieces.curvature)
    turn = 4 * np.arcsin(np.sqrt(np.minimum(1.0, tol_mm * k / 2)))  # of an arc whose sagitta is the tolerance
    by_arc = k * pieces.length / np.maximum(turn, 1e-9)
    needed = np.maximum(1, np.ceil(np.maximum(by_arc, pieces.length / step_mm) - 1e-9))
    if not needed.sum() <= most:
        return np.zeros((0, 2)), np.zeros(0, dtype=np.intp)
    count = needed.astype(np.intp)
    piece = np.repeat(np.arange(len(pieces)), count)
    first = np.repeat(np.cumsum(count) - count, count)
    return along_pieces(pieces.take(piece), (np.arange(len(piece)) - first) / count[piece]), piece
