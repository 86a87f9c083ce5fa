"""How far each place of an outline is to be moved, with smooth ramps where the distance changes.

A lane is the source outline cut at the ends of the ramps, with the distance and its slope at both ends of every
piece. On a ramp the distance follows s^2 (3 - 2 s), which starts and ends level; the moved curve is the
envelope of circles of that radius, so that every place keeps its distance by definition.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from blankwright.base.arrays import Array, evenly, following, pairs, steps, within
from blankwright.base.frozen import dataclass
from blankwright.geometry.outline import Outline, points_on

RAMP_PER_MM = 12.0
"""Length of a ramp for each mm of difference: its steepest slope is then 1 in 8."""
LEAST_RAMP_MM = 3.0
STEEPEST = 0.4
"""A ramp squeezed steeper than this is dropped, and the smaller side takes the larger distance."""
LEAST_PIECE_MM = 0.3
"""Ramps begin, end and are cut no nearer than this to a joint: cutters stumble over tiny pieces."""
_PIECE_ERROR_MM = 0.001  # biarcs on a ramp miss the envelope by less, by the law of arcfit.py


Ramp = tuple[float, float, float, float]
"""Start and end along the outline [mm], and the distances there [mm]."""


@dataclass(frozen=True, eq=False)
class Lane:
    """Source pieces with the distance to move them.

    Args:
        starts: (n, 2) [mm].
        ends: (n, 2) [mm].
        bulges: (n,) [unitless].
        source: (n,) number of the outline's piece.
        near: (n, 2) distance at start and end [mm].
        slope: (n, 2) change of the distance along the outline at start and end [unitless].
        tangents: (n, 2, 2) unit tangent at start and end.
        side: 1 outward, -1 inward.
    """

    starts: Array
    ends: Array
    bulges: Array
    source: NDArray[np.intp]
    near: Array
    slope: Array
    tangents: Array
    side: float

    @property
    def varying(self) -> NDArray[np.bool_]:
        """(n,) whether the distance changes along the piece."""
        return np.asarray((self.near[:, 0] != self.near[:, 1]) | (self.slope != 0).any(axis=1))

    def moved_ends(self) -> tuple[Array, Array, Array, Array]:
        """Return moved starts and ends, and the unit tangents of the moved curve there."""
        out = []
        for end, points in ((0, self.starts), (1, self.ends)):
            t = self.tangents[:, end]
            right = pairs(t[:, 1], -t[:, 0])
            s = self.slope[:, end, None]
            c = np.sqrt(1 - s * s)
            out.append((points + self.near[:, end, None] * (c * right - s * t), c * t + s * right))
        return out[0][0], out[1][0], out[0][1], out[1][1]

    def moved_bulges(self) -> tuple[Array, NDArray[np.bool_]]:
        """Return the bulges of concentric arcs, and whether each piece survives the move."""
        turning = np.sign(self.bulges)
        chord = np.hypot(*(self.ends - self.starts).T)
        radius = chord * (1 + self.bulges**2) / (4 * np.maximum(np.abs(self.bulges), 1e-300))
        left = np.where(turning == 0, np.inf, radius + turning * self.near.max(axis=1))
        return self.bulges, left > 1e-7

    def samples(self) -> tuple[Array, Array]:
        """Return points on the varying pieces and the distance asked there, for the trim's own check."""
        v = self.varying.nonzero()[0]
        share = evenly(0, 1, 7)
        i, t = np.repeat(v, len(share)), np.tile(share, len(v))
        length = np.hypot(*(self.ends[i] - self.starts[i]).T)
        d0, d1 = self.near[i].T
        s0, s1 = self.slope[i].T * length
        # cubic Hermite of the distance between its ends: the ramp itself is a cubic
        h = (1 + 2 * t) * (1 - t) ** 2 * d0 + t * (1 - t) ** 2 * s0 + t * t * (3 - 2 * t) * d1 + t * t * (t - 1) * s1
        return points_on(self.starts[i], self.ends[i], self.bulges[i], t), h


def lanes(outline: Outline, distance: Array) -> Lane:
    """Cut an outline for moving it by (n,) distances [mm], with ramps where they change."""
    side = 1.0 if distance.max() > 0 else -1.0
    if distance.min() == distance.max():
        n = len(outline)
        tangents = np.stack([outline.start_tangents, outline.end_tangents], axis=1)
        near = np.repeat(distance[:, None], 2, axis=1)
        return Lane(outline.starts, outline.ends, outline.bulges, np.arange(n), near, np.zeros((n, 2)), tangents, side)
    runs = _runs(distance, outline.lengths)
    ramps = _ramps(runs, float(outline.perimeter_mm))
    if not ramps:  # too short for any: all is moved by the largest
        return lanes(outline, np.full(len(outline), runs[0][2]))
    return _cut(outline, runs, ramps, side)


def _runs(distance: Array, lengths: Array) -> list[tuple[float, float, float]]:
    """Return (start, end, distance) of the stretches of one distance along the outline; the last may wrap."""
    along = np.concatenate([[0.0], np.cumsum(lengths)])
    change = [i for i in range(len(distance)) if distance[i] != distance[i - 1]]
    total = along[-1]
    runs = []
    for a, b in zip(change, [*change[1:], change[0]], strict=True):
        end = along[b] if b > a else along[b] + total
        runs.append((float(along[a]), float(end), float(distance[a])))
    changed = True
    while changed and len(runs) > 1:
        runs, changed = _without_steep(runs)
    return runs


def _without_steep(runs: list[tuple[float, float, float]]) -> tuple[list[tuple[float, float, float]], bool]:
    """Raise the first stretch that is too short for its ramps to the smaller of its neighbours' distances."""
    n = len(runs)
    for k, (a, b, d) in enumerate(runs):
        rises = [r for r in (runs[k - 1][2] - d, runs[(k + 1) % n][2] - d) if r > 0]
        if not rises:
            continue
        room = (b - a) / len(rises)
        if 1.5 * max(rises) / room > STEEPEST:
            raised = [*runs]
            raised[k] = (a, b, d + min(rises))
            return _merged(raised), True
    return runs, False


def _merged(runs: list[tuple[float, float, float]]) -> list[tuple[float, float, float]]:
    out: list[tuple[float, float, float]] = []
    for run in runs:
        if out and out[-1][2] == run[2]:
            out[-1] = (out[-1][0], run[1], run[2])
        else:
            out.append(run)
    if len(out) > 1 and out[0][2] == out[-1][2]:
        length = out[0][1] - out[0][0]
        out[-1] = (out[-1][0], out[-1][1] + length, out[-1][2])
        out = out[1:]
    return out


def _ramps(runs: list[tuple[float, float, float]], total: float) -> list[Ramp]:
    """Return (start, end, distance there, distance here) of every ramp, laid into the smaller side."""
    ramps = []
    n = len(runs)
    for k, (a, b, d) in enumerate(runs):
        before, after = runs[k - 1][2], runs[(k + 1) % n][2]
        room = (b - a) / (int(before > d) + int(after > d) or 1)
        if before > d:
            ramps.append((a, a + min(room, max(LEAST_RAMP_MM, RAMP_PER_MM * (before - d))), before, d))
        if after > d:
            ramps.append((b - min(room, max(LEAST_RAMP_MM, RAMP_PER_MM * (after - d))), b, d, after))
    return [(a % total, a % total + (b - a), x, y) for a, b, x, y in ramps]


def _cut(outline: Outline, runs: list[tuple[float, float, float]], ramps: list[Ramp], side: float) -> Lane:
    total = float(outline.perimeter_mm)
    along = np.concatenate([[0.0], np.cumsum(outline.lengths)])
    ramps = _snapped(ramps, along, total)
    cut = []
    for a, b, x, y in ramps:
        parts = int(np.ceil(np.cbrt(12 * abs(y - x) / (324 * _PIECE_ERROR_MM))))
        cut.append(evenly(a, b, parts + 1))
    inner = np.concatenate([stops[1:-1] for stops in cut]) % total
    clear = np.abs(inner[:, None] - along).min(axis=1) > LEAST_PIECE_MM
    bounds = np.array([(a, b) for a, b, _, _ in ramps]).ravel() % total
    at = np.sort(np.concatenate([along[:-1], bounds, inner[clear]]))
    at = at[np.concatenate([[True], steps(at) > 1e-6])]
    ends = np.concatenate([at[1:], [total]])
    keep = ends - at > 1e-6
    at, ends = at[keep], ends[keep]
    piece = np.minimum(np.maximum(along.searchsorted((at + ends) / 2) - 1, 0), len(outline) - 1)
    s0 = within((at - along[piece]) / outline.lengths[piece], 0, 1)
    s1 = within((ends - along[piece]) / outline.lengths[piece], 0, 1)
    a, b, g = outline.starts[piece], outline.ends[piece], outline.bulges[piece]
    near, slope = _distance_at(at, ends, runs, ramps, total)
    turn = 4 * np.arctan(g)
    tangents = np.stack([_turned(outline.start_tangents[piece], turn * s) for s in (s0, s1)], axis=1)
    starts = points_on(a, b, g, s0)
    return Lane(
        starts,
        following(starts),
        np.tan(np.arctan(g) * (s1 - s0)),
        piece,
        near,
        slope,
        tangents,
        side,
    )


def _snapped(ramps: list[Ramp], along: Array, total: float) -> list[Ramp]:
    """Return ramps of which an end is moved to a joint of the outline where one is nearer than LEAST_PIECE_MM."""
    at = np.array([ramp[:2] for ramp in ramps]) % total
    joint = along[np.abs(along - at[..., None]).argmin(axis=-1)]
    ends = np.where(np.abs(joint - at) < LEAST_PIECE_MM, joint, at).tolist()
    return [(a, b if b > a else b + total, x, y) for (a, b), (_, _, x, y) in zip(ends, ramps, strict=True)]


def _turned(u: Array, angle: Array) -> Array:
    c, s = np.cos(angle), np.sin(angle)
    return pairs(u[:, 0] * c - u[:, 1] * s, u[:, 0] * s + u[:, 1] * c)


def _distance_at(
    at: Array, ends: Array, runs: list[tuple[float, float, float]], ramps: list[Ramp], total: float
) -> tuple[Array, Array]:
    """Return distance and slope at both ends of every cut piece, (n, 2) each."""
    middle = ((at + ends) / 2)[:, None]
    first, end, level = np.array(runs).T
    # stretches follow each other all around; of one that rounding leaves out it is the last
    of_run = len(runs) - 1 - (((middle - first) % total) < (end - first))[:, ::-1].argmax(axis=1)
    near = np.repeat(level[of_run][:, None], 2, axis=1)
    slope = np.zeros(near.shape)
    a, b, _, _ = np.array(ramps).T
    inside = ((middle - a) % total) < (b - a)
    on, ramp = inside.nonzero()
    a, b, x, y = np.array(ramps)[ramp].T[:, :, None]
    places = pairs(at[on], ends[on])
    ahead = (places - a + total / 2) % total - total / 2  # a ramp is far shorter than half the outline
    v = within(ahead / (b - a), 0, 1)
    near[on] = x + (y - x) * v * v * (3 - 2 * v)
    slope[on] = (y - x) * 6 * v * (1 - v) / (b - a)
    slope[np.abs(slope) < 1e-12] = 0
    return near, slope
