"""Where do lines and arcs lie on each other, and where do they cross? For all pieces of a drawing at once.

Pairs that can meet are found by sweeping along one axis over their boxes, so that a drawing of n pieces takes
about n log n steps; a tangle that would take longer is refused.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from blankwright.base.arrays import Array
from blankwright.base.errors import GeometryError
from blankwright.base.frozen import dataclass
from blankwright.proof.distance import Pieces, boxes, in_span, meetings, to_pieces

Index = NDArray[np.intp]
Mask = NDArray[np.bool_]

TOUCH_MM = 0.001
"""An end nearer to another piece than this touches it."""
ALONG_MM = 0.01
"""Two pieces this near along their course are cut twice: a tenth of the finest cutting tolerance in the trade."""
LEAST_ALONG_MM = 0.2
"""Shorter than this, two pieces that meet at a sharp tip lie within ALONG_MM of each other as well."""
EXACT_MM, LEAST_EXACT_MM = 1e-4, 0.02
"""Pieces that lie on each other to rounding are told by less."""
LENS_MM = 0.002
"""Neighbours whose rounded ends cut off a lens thinner than this do not count as crossing."""
LOOP_MM = 0.02
"""A crossing that cuts off less of the contour than this is rounding at a joint."""

MAX_STEPS = 30_000_000
MAX_PAIRS = 250_000
_CHUNK = 2_000_000
_BLOCK = 100_000


@dataclass(frozen=True, eq=False)
class Overlap:
    """Two pieces that run along each other.

    Args:
        first: Row of the first piece.
        second: Row of the second piece, above the first.
        first_whole: Whether all of the first lies on the second.
        second_whole: Whether all of the second lies on the first.
        ends: (2, 2) the stretch that they share [mm].
    """

    first: int
    second: int
    first_whole: bool
    second_whole: bool
    ends: Array


def near_pairs(pieces: Pieces, margin_mm: float, most: int = MAX_PAIRS) -> tuple[Index, Index]:
    """Return the rows i < j of pieces whose boxes come within a margin.

    Args:
        pieces: All pieces.
        margin_mm: How near counts [mm].
        most: How many pairs are too many.

    Raises:
        GeometryError: There are too many: a tangle.
    """
    low, high = boxes(pieces)
    low, high = low - margin_mm / 2, high + margin_mm / 2
    n = len(pieces)
    best: tuple[float, int, Index, Array] | None = None
    for axis in (0, 1):
        order = np.argsort(low[:, axis], kind="stable")
        ends = np.searchsorted(low[order, axis], high[order, axis], side="right")
        counts = ends - np.arange(n) - 1
        if best is None or counts.sum() < best[0]:
            best = (float(counts.sum()), axis, order, counts)
    if best is None or best[0] > MAX_STEPS:
        raise GeometryError("so many lines lie over each other that the drawing was not measured")
    _, axis, order, counts = best
    other = 1 - axis
    before = np.concatenate([[0], np.cumsum(counts)])
    found: list[tuple[Index, Index]] = []
    total, row = 0, 0
    while row < n:
        stop = max(row + 1, int(np.searchsorted(before, before[row] + _CHUNK, side="right")) - 1)
        rows = np.repeat(np.arange(row, stop), counts[row:stop].astype(np.intp))
        inside = np.arange(len(rows)) - np.repeat(before[row:stop] - before[row], counts[row:stop].astype(np.intp))
        i, j = order[rows], order[rows + 1 + inside.astype(np.intp)]
        meet = (low[i, other] <= high[j, other]) & (low[j, other] <= high[i, other])
        i, j = i[meet], j[meet]
        total += len(i)
        if total > min(most, MAX_PAIRS):
            raise GeometryError("so many lines lie over each other that the drawing was not measured")
        found.append((np.minimum(i, j), np.maximum(i, j)))
        row = stop
    if not found:
        return np.zeros(0, dtype=np.intp), np.zeros(0, dtype=np.intp)
    return np.concatenate([f[0] for f in found]), np.concatenate([f[1] for f in found])


def overlaps(pieces: Pieces, i: Index, j: Index) -> list[Overlap]:
    """Return the pairs of pieces that run along each other.

    Args:
        pieces: All pieces, none turning by more than half a circle.
        i: Rows of the first ones.
        j: Rows of the second ones.
    """
    out: list[Overlap] = []
    for low in range(0, len(i), _BLOCK):
        out += _overlaps(pieces, i[low : low + _BLOCK], j[low : low + _BLOCK])
    return out


def _overlaps(pieces: Pieces, i: Index, j: Index) -> list[Overlap]:
    a, b = pieces.take(i), pieces.take(j)
    places = np.stack([a.start, a.end, b.start, b.end])
    off = np.stack([to_pieces(p, on)[0] for p, on in zip(places, (b, b, a, a), strict=True)])
    hit = off <= ALONG_MM
    some = np.flatnonzero(hit.sum(axis=0) >= 2)
    if not len(some):
        return []
    a, b, places, off, hit = a.take(some), b.take(some), places[:, some], off[:, some], hit[:, some]
    longest, ends = np.zeros(len(some)), np.zeros((2, len(some), 2))
    exact = np.zeros(len(some), dtype=bool)
    for p in range(4):
        for q in range(p + 1, 4):
            apart = np.where(hit[p] & hit[q], np.hypot(*(places[p] - places[q]).T), 0.0)
            better = apart > longest
            longest = np.where(better, apart, longest)
            exact = np.where(better, np.maximum(off[p], off[q]) <= EXACT_MM, exact)
            ends = np.where(better[:, None], np.stack([places[p], places[q]]), ends)
    middle = to_pieces(ends.mean(axis=0), a)[1]
    along = to_pieces(middle, b)[0] <= np.where(exact, EXACT_MM * 10, ALONG_MM)
    long_enough = longest >= np.where(exact, LEAST_EXACT_MM, LEAST_ALONG_MM)
    out = []
    for row in np.flatnonzero(along & long_enough):
        first_whole, second_whole = bool(hit[0, row] & hit[1, row]), bool(hit[2, row] & hit[3, row])
        out.append(Overlap(int(i[some[row]]), int(j[some[row]]), first_whole, second_whole, ends[:, row]))
    return out


@dataclass(frozen=True, eq=False)
class Chain:
    """To which contour each piece belongs, for telling neighbours from strangers.

    Args:
        owner: (n,) contour of each piece.
        number: (n,) which piece of its contour it is.
        count: (n,) how many pieces that contour has.
        closed: (n,) whether that contour is closed.
        from_start: (n,) length of the contour up to each piece [mm].
        whole: (n,) length of the contour [mm].
    """

    owner: Index
    number: Index
    count: Index
    closed: Mask
    from_start: Array
    whole: Array


@dataclass(frozen=True)
class Crossing:
    """A place where two pieces meet and must not.

    Args:
        first: Contour of the first piece.
        second: Contour of the second piece.
        at_mm: Where [mm].
        end: Whether an end of one lies there; otherwise both run through.
    """

    first: int
    second: int
    at_mm: tuple[float, float]
    end: bool


def crossings(pieces: Pieces, chain: Chain, i: Index, j: Index, most: int) -> list[Crossing]:
    """Return the places where pieces meet away from their own joints, at most so many.

    Args:
        pieces: All pieces.
        chain: To which contours they belong.
        i: Rows of the first ones; pairs that run along each other are left out by the caller.
        j: Rows of the second ones.
        most: After how many to stop.
    """
    out: list[Crossing] = []
    for low in range(0, len(i), _BLOCK):
        out += _crossings(pieces, chain, i[low : low + _BLOCK], j[low : low + _BLOCK], most - len(out))
        if len(out) >= most:
            break
    return out


def _crossings(pieces: Pieces, chain: Chain, i: Index, j: Index, most: int) -> list[Crossing]:
    a, b = pieces.take(i), pieces.take(j)
    tests: list[tuple[Array, NDArray[Any], bool]] = []
    for met in meetings(a, b):
        usable = np.asarray(np.isfinite(met).all(axis=1))
        p = np.where(usable[:, None], met, 0.0)
        hit = usable & in_span(p, a) & in_span(p, b)
        tests.append((p, hit & (to_pieces(p, b)[0] <= TOUCH_MM), False))
    tests += [
        (p, to_pieces(p, on)[0] <= TOUCH_MM, True) for p, on in ((a.start, b), (a.end, b), (b.start, a), (b.end, a))
    ]
    out: list[Crossing] = []
    seen: set[tuple[int, int, int, int]] = set()
    for p, hit, end in reversed(tests):  # ends first: a crossing beside an end is that end
        rows = np.flatnonzero(hit)
        rows = rows[~_own_joint(a.take(rows), b.take(rows), chain, i[rows], j[rows], p[rows])]
        for row in rows:
            x, y = float(p[row, 0]), float(p[row, 1])
            first, second = sorted((int(chain.owner[i[row]]), int(chain.owner[j[row]])))
            key = (first, second, round(x * 50), round(y * 50))
            near = {(first, second, key[2] + dx, key[3] + dy) for dx in (-1, 0, 1) for dy in (-1, 0, 1)}
            if not near & seen:
                seen.add(key)
                out.append(Crossing(first, second, (x, y), end))
                if len(out) >= most:
                    return out
    return out


def _own_joint(a: Pieces, b: Pieces, chain: Chain, i: Index, j: Index, p: Array) -> NDArray[Any]:
    """Say which meetings are the joint that two neighbours have, or rounding beside it."""
    same = chain.owner[i] == chain.owner[j]
    between = np.abs((chain.from_start[j] + _way(b, p)) - (chain.from_start[i] + _way(a, p)))
    between = np.where(chain.closed[i], np.minimum(between, chain.whole[i] - between), between)
    apart = np.abs(chain.number[j] - chain.number[i])
    neighbours = same & ((apart == 1) | (chain.closed[i] & (apart == chain.count[i] - 1)))
    lens = np.abs(a.curvature - b.curvature) * (between / 2) ** 2 / 8
    beside = neighbours & (lens <= LENS_MM) & (a.curvature != b.curvature)
    return np.asarray((same & (between <= LOOP_MM)) | beside, dtype=bool)


def _way(on: Pieces, p: Array) -> Array:
    """Return how far along a piece a point on it lies, measured from the nearer end [mm]."""
    k = np.abs(on.curvature)

    def arc(chord: Array) -> Array:
        turn = 2 * np.arcsin(np.minimum(1.0, k * chord / 2))
        return np.where(k > 0, turn / np.where(k > 0, k, 1.0), chord)

    from_start, from_end = np.hypot(*(p - on.start).T), np.hypot(*(p - on.end).T)
    return np.where(from_start <= from_end, arc(from_start), on.length - arc(from_end))
