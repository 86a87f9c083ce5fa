"""The parallel outline: every point at a given distance outside (or inside) another outline, in exact arcs.

Steps: move every piece along its normal (a concentric arc), join convex corners by arcs about the corner, and
where pieces cross (inner corners, notches narrower than the distance) cut them at the crossings, drop what lies
too near to the source and stitch the rest. The distance may differ from piece to piece; it then changes along
smooth ramps laid into the side with the smaller distance, so that it is nowhere less than asked.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from blankwright.base.arrays import Array, dot, following
from blankwright.base.errors import GeometryError
from blankwright.base.frozen import dataclass
from blankwright.geometry.distance import crossings, overlapping_boxes
from blankwright.geometry.outline import Outline
from blankwright.geometry.ramps import Lane, lanes
from blankwright.geometry.trim import RawPieces, trimmed

_SAME_PLACE_MM = 1e-7  # two ends this near are one joint; a gap at a corner of 1e-7 rad on 1 m radius


@dataclass(frozen=True)
class Parallel:
    """A parallel outline and what happened on the way.

    Args:
        outline: The loop that encloses the others (the largest one when moved inward).
        others: Further loops: pockets closed off by the distance, or parts that came apart when moved inward.
        collapsed: Numbers of source pieces of which nothing is left (inner radii smaller than the distance).
    """

    outline: Outline
    others: tuple[Outline, ...]
    collapsed: tuple[int, ...]


def parallel(outline: Outline, distance_mm: float | Array) -> Parallel:
    """Return the parallel outline outside a counter-clockwise outline (inside for negative distances).

    Args:
        outline: The source, counter-clockwise, not crossing itself.
        distance_mm: One distance for all, or (n,) one for each piece [mm]. Different distances must all be
            positive; the smaller side then rises to the larger one along a ramp.

    Raises:
        GeometryError: The outline runs clockwise, the distances do not fit, or nothing is left.
    """
    if outline.area_mm2 <= 0:
        raise GeometryError("the outline must run counter-clockwise")
    distance = np.broadcast_to(np.asarray(distance_mm, dtype=np.float64), (len(outline),))
    if not np.isfinite(distance).all():
        raise GeometryError("a distance is not a finite number")
    if (distance == 0).all():
        return Parallel(outline, (), ())
    if distance.min() != distance.max() and distance.min() <= 0:
        raise GeometryError("distances that differ must all be positive")
    lane = lanes(outline, distance)
    raw, collapsed = _moved(lane)
    if not collapsed and _connected(raw) and not _crosses_itself(raw):
        return Parallel(_as_outline(raw, outline), (), ())
    parts = trimmed(raw, lane)
    loops = [_as_outline(part, outline) for part in parts]
    if not loops:
        raise GeometryError("nothing is left of the outline at this distance")
    loops.sort(key=lambda loop: -abs(loop.area_mm2))
    if loops[0].area_mm2 <= 0:
        raise GeometryError("the parallel outline could not be traced")
    kept = {int(i) for part in parts for i in part.source}
    gone = tuple(i for i in range(len(outline)) if i in collapsed or i not in kept)
    return Parallel(loops[0], tuple(loops[1:]), gone)


def _moved(lane: Lane) -> tuple[RawPieces, set[int]]:
    """Move every piece of a lane along its normals and add the arcs about convex corners."""
    q0, q1, t0, t1 = lane.moved_ends()
    bulges, alive = lane.moved_bulges()
    collapsed = set(lane.source[~alive].tolist())
    starts, ends, source = q0, q1, lane.source
    varying = lane.varying & alive
    if varying.any():
        starts, ends, bulges, source, alive, order = _with_biarcs(q0, q1, t0, t1, bulges, source, alive, varying)
    else:
        order = np.arange(len(q0), dtype=np.float64)
    joins = _corner_arcs(lane, q0, q1, t0, t1)
    starts = np.concatenate([starts[alive], joins[0]])
    ends = np.concatenate([ends[alive], joins[1]])
    bulges = np.concatenate([bulges[alive], joins[2]])
    source = np.concatenate([source[alive], joins[3]])
    row = np.argsort(np.concatenate([order[alive], joins[4]]), kind="stable")
    long = np.hypot(*(ends - starts).T)[row] > _SAME_PLACE_MM
    row = row[long]
    return RawPieces(starts[row], ends[row], bulges[row], source[row]), collapsed


def _with_biarcs(
    q0: Array, q1: Array, t0: Array, t1: Array, bulges: Array, source: NDArray[np.intp], alive: NDArray[np.bool_],
    varying: NDArray[np.bool_],
) -> tuple[Array, Array, Array, NDArray[np.intp], NDArray[np.bool_], Array]:  # fmt: skip
    """Replace the pieces on a ramp by biarcs with the ramp's own ends and tangents."""
    from blankwright.geometry.arcfit import biarcs  # noqa: PLC0415 - only ramps need it

    v = varying.nonzero()[0]
    joint, b1, b2 = biarcs(q0[v], t0[v], q1[v], t1[v])
    keep = (~varying).nonzero()[0]
    starts = np.concatenate([q0[keep], q0[v], joint])
    ends = np.concatenate([q1[keep], joint, q1[v]])
    both = np.concatenate([bulges[keep], b1, b2])
    order = np.concatenate([keep.astype(float), v + 0.0, v + 0.4])
    return (
        starts, ends, both, np.concatenate([source[keep], source[v], source[v]]),
        np.concatenate([alive[keep], alive[v], alive[v]]), order,
    )  # fmt: skip


def _corner_arcs(
    lane: Lane, q0: Array, q1: Array, t0: Array, t1: Array
) -> tuple[Array, Array, Array, NDArray[np.intp], Array]:
    """Return the arcs about corners that open on the side moved to, with their place in the order."""
    after_q, after_t = following(q0), following(t0)
    turn = np.arctan2(t1[:, 0] * after_t[:, 1] - t1[:, 1] * after_t[:, 0], dot(t1, after_t))
    apart = np.hypot(*(after_q - q1).T)
    opens = (apart > _SAME_PLACE_MM) & (np.sign(turn) == lane.side)
    i = opens.nonzero()[0]
    bulges: Array = np.tan(turn[i] / 4)
    order: Array = np.asarray(i + 0.7, dtype=np.float64)
    return q1[i], after_q[i], bulges, lane.source[i], order


def _connected(raw: RawPieces) -> bool:
    gap = np.hypot(*(following(raw.starts) - raw.ends).T)
    return bool((gap <= 2 * _SAME_PLACE_MM).all())


def _crosses_itself(raw: RawPieces) -> bool:
    """Return whether pieces that are not neighbours meet."""
    i, j = overlapping_boxes(raw.starts, raw.ends, raw.bulges)
    n = len(raw.starts)
    apart = (j - i > 1) & (j - i < n - 1)
    first, *_ = crossings(raw.starts, raw.ends, raw.bulges, i[apart], j[apart])
    return len(first) > 0


def _as_outline(raw: RawPieces, source: Outline) -> Outline:
    vertices = np.concatenate([raw.starts, raw.bulges[:, None]], axis=1)
    regions = [source.regions[i] for i in raw.source.tolist()]
    return Outline(vertices, tuple(regions), source.max_error_mm)
