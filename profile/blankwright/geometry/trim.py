"""Trimming moved pieces: cut them where they cross, drop what is too near to the source, stitch the rest."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from blankwright.base.arrays import Array, following
from blankwright.base.errors import GeometryError
from blankwright.base.frozen import dataclass
from blankwright.geometry.distance import crossings, overlapping_boxes, points_to_pieces
from blankwright.geometry.outline import points_on
from blankwright.geometry.ramps import Lane

Index = NDArray[np.intp]

NEARER_MM = 2e-6
"""A slice counts as too near when its middle misses the distance by more; crossings are found to 1e-9 mm."""
RAMP_NEARER_MM = 0.004
"""The same on a ramp, where the biarcs follow the envelope to 0.001 mm and samples see it to 0.003 mm."""
STITCH_MM = 2e-5
"""Ends of slices this near belong together: crossings at a shallow angle are known no better."""
_SLIVER_MM = 1e-6
_LEFT_OVER_MM = 0.5
"""Slices that lead nowhere stay shorter than this (at tangent crossings 0.003 mm, at shallow crossings of
ramps 0.3 mm, over some 8,000 random outlines); a longer one means a lost loop."""


@dataclass(frozen=True)
class RawPieces:
    """Moved pieces before trimming; consecutive ones need not meet.

    Args:
        starts: (n, 2) [mm].
        ends: (n, 2) [mm].
        bulges: (n,) [unitless].
        source: (n,) number of the source piece each came from.
    """

    starts: Array
    ends: Array
    bulges: Array
    source: NDArray[np.intp]


def trimmed(raw: RawPieces, lane: Lane) -> list[RawPieces]:
    """Return the closed loops that are left of moved pieces.

    Args:
        raw: Moved pieces, with gaps where inner corners or collapsed pieces were.
        lane: The source and its distances.

    Raises:
        GeometryError: The remaining slices do not close.
    """
    starts, ends, bulges, source = _slices(raw)
    good = _far_enough(starts, ends, bulges, lane)
    good &= ~_doubled(starts, ends, bulges, good)
    starts, ends, bulges, source = starts[good], ends[good], bulges[good], source[good]
    return _loops(starts, ends, bulges, source)


def _slices(raw: RawPieces) -> tuple[Array, Array, Array, Index]:
    i, j = overlapping_boxes(raw.starts, raw.ends, raw.bulges)
    first, s, second, t = crossings(raw.starts, raw.ends, raw.bulges, i, j)
    n = len(raw.starts)
    piece = np.concatenate([first, second, np.arange(n), np.arange(n)])
    share = np.concatenate([s, t, np.zeros(n), np.ones(n)])
    order = np.lexsort((share, piece))
    piece, share = piece[order], share[order]
    same = (piece[1:] == piece[:-1]) & (share[1:] > share[:-1])
    p, a, b = piece[:-1][same], share[:-1][same], share[1:][same]
    starts = points_on(raw.starts[p], raw.ends[p], raw.bulges[p], a)
    ends = points_on(raw.starts[p], raw.ends[p], raw.bulges[p], b)
    long = np.hypot(*(ends - starts).T) > _SLIVER_MM
    bulges = np.tan(np.arctan(raw.bulges[p]) * (b - a))
    return starts[long], ends[long], bulges[long], raw.source[p[long]]


def _far_enough(starts: Array, ends: Array, bulges: Array, lane: Lane) -> NDArray[np.bool_]:
    """Return which slices keep their distance from every piece of the source, seen at three places."""
    good = np.ones(len(starts), dtype=bool)
    steady = ~lane.varying
    for share in (0.5, 0.25, 0.75):
        points = points_on(starts, ends, bulges, np.full(len(starts), share))
        far = points_to_pieces(points, lane.starts[steady], lane.ends[steady], lane.bulges[steady])
        good &= (far - np.abs(lane.near[steady, 0])).min(axis=1) >= -NEARER_MM
        if lane.varying.any():
            at, near = lane.samples()
            gap = np.hypot(points[:, None, 0] - at[:, 0], points[:, None, 1] - at[:, 1])
            good &= (gap - near).min(axis=1) >= -RAMP_NEARER_MM
    return good


def _doubled(starts: Array, ends: Array, bulges: Array, good: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Return which good slices are run back over by another: a passage two distances wide leaves no area."""
    at = good.nonzero()[0]
    s, e, b = starts[at], ends[at], bulges[at]
    back = (np.hypot(s[:, None, 0] - e[:, 0], s[:, None, 1] - e[:, 1]) < _SLIVER_MM) & (
        np.hypot(e[:, None, 0] - s[:, 0], e[:, None, 1] - s[:, 1]) < _SLIVER_MM
    )
    rise = np.abs(b[:, None] + b) * np.hypot(*(e - s).T)[:, None] / 2  # between the two arcs, at their middle
    out = np.zeros(len(starts), dtype=bool)
    out[at] = (back & (rise < _SLIVER_MM)).any(axis=1)
    return out


def _loops(starts: Array, ends: Array, bulges: Array, source: Index) -> list[RawPieces]:
    n = len(starts)
    if n == 0:
        return []
    gap = np.hypot(ends[:, None, 0] - starts[:, 0], ends[:, None, 1] - starts[:, 1])
    follows = gap <= STITCH_MM
    alive = np.ones(n, dtype=bool)
    while True:  # slices that lead nowhere are left-overs of tangent crossings
        ok = alive & (follows & alive[None, :]).any(axis=1) & (follows & alive[:, None]).any(axis=0)
        if (ok == alive).all():
            break
        alive = ok
    lost = np.where(alive, 0.0, np.hypot(*(ends - starts).T))
    if lost.max() > _LEFT_OVER_MM:
        x, y = starts[int(lost.argmax())]
        raise GeometryError(
            f"the parallel outline could not be stitched near ({x:.2f}, {y:.2f}): there the outline crosses "
            "itself, or is thinner than its distances differ"
        )
    loops = []
    free = alive.copy()
    for first in range(n):
        if not free[first]:
            continue
        chain = _walk(first, follows, free, starts, ends, bulges)
        if chain is None:
            continue
        free[chain] = False
        if len(chain) >= 2:
            loops.append(_closed(np.array(chain), starts, ends, bulges, source))
    if not loops and alive.any():
        raise GeometryError("the parallel outline could not be stitched")
    return loops


def _walk(
    first: int, follows: NDArray[np.bool_], free: NDArray[np.bool_], starts: Array, ends: Array, bulges: Array
) -> list[int] | None:
    """Follow slices from one until they return to it, keeping to the outermost turn at a fork."""
    chain, seen = [first], {first}
    while True:
        last = chain[-1]
        ahead = [int(k) for k in (follows[last] & free).nonzero()[0]]
        if first in ahead and (len(chain) > 1 or len(ahead) == 1):
            return chain
        ahead = [k for k in ahead if k not in seen]
        if not ahead:
            free[last] = False
            return None
        nearest = min(ahead, key=lambda k: float(np.hypot(*(starts[k] - ends[last]))))
        chain.append(nearest)
        seen.add(nearest)


def _closed(chain: Index, starts: Array, ends: Array, bulges: Array, source: Index) -> RawPieces:
    """Let every slice end exactly where the next begins, and pass over those shorter than STITCH_MM."""
    long = np.hypot(*(ends[chain] - starts[chain]).T) > STITCH_MM
    if long.sum() >= 2:
        chain = chain[long]
    s = starts[chain]
    return RawPieces(s, following(s), bulges[chain], source[chain])
