"""A layout closed up: all blanks of a piece moved and turned together, a little at a time, so that they reach less far.

Each step is a linear program: as distances look from here, the moves that bring the furthest end back most while every
gap, rim and zone is kept. Steps are short, so that what curves away meanwhile is put right by the next one; what comes
out is proven like any other layout.
"""

from __future__ import annotations

import time
from collections.abc import Sequence

import numpy as np
import shapely

from blankwright.base.arrays import Array
from blankwright.base.frozen import dataclass
from blankwright.geometry.distance import Index
from blankwright.stock.blank import Job
from blankwright.stock.field import CHORD_MM, Line
from blankwright.stock.layout import Laid
from blankwright.stock.piece import Zone
from blankwright.stock.pose import Pose

SPARE_MM = 2 * CHORD_MM
"""So much more than is needed is kept: outlines are followed by chords."""

_LACK_MM = SPARE_MM / 4
"""A distance may lack so much of that: steps are straight, and what they go along is not."""

_STEPS, _FIRST_MM, _LAST_MM, _GAIN = 60, 3.0, 0.02, 2e-4
_SETTLED_MM: tuple[float, ...] = (0.1, 0.1, 0.1)
_BROKEN_OFF_MM: tuple[float, ...] = (0.5, 0.3, 0.1, 0.1)
"""The last moves are so long at most [mm]: after the shortest steps, and after long ones that time broke off."""

_ROWS = 10
"""So many distances of a pair are kept in mind in a step: the scarcest of each stretch."""

_PULL = 1e-3
"""How much the way of all blanks counts beside that of the furthest end."""


@dataclass(frozen=True)
class _Row:
    """A distance that is to be kept: slack + way_i . move_i - way_j . move_j >= 0."""

    i: int
    j: int
    slack: Array
    way_i: Array
    way_j: Array | None


def closed_up(job: Job, number: int, laid: Sequence[Laid], deadline: float) -> tuple[Laid, ...]:
    """Return a layout of one piece that reaches less far; as it was where nothing helps.

    Args:
        job: The job.
        number: Of the piece.
        laid: Its blanks; they may be a little too near to each other.
        deadline: When to stop [s of the steady clock].
    """
    if not laid:
        return ()
    bench = _Bench(job, number, laid)
    poses, trust = [one.pose for one in laid], _FIRST_MM
    kept, least, reach, settling = poses, np.inf, bench.reach(poses), _BROKEN_OFF_MM
    for _ in range(_STEPS):
        if trust < _LAST_MM:
            settling = _SETTLED_MM
            break
        if time.monotonic() > deadline:
            break
        held, moved = bench.step(poses, trust)
        if held and reach < least:
            kept, least = poses, reach
        if moved is None:
            trust /= 3
            continue
        poses, after = moved, bench.reach(moved)
        if after > reach - _GAIN * reach:
            trust /= 2
        reach = after
    for most_mm in settling:  # what the last moves left too near is put right
        _, settled = bench.step(poses, most_mm)
        poses = poses if settled is None else settled
    if bench.held(poses, bench.rows(poses, _LAST_MM)) and bench.reach(poses) < least:
        kept = poses
    return tuple(Laid(one.blank, pose.rounded()) for one, pose in zip(laid, kept, strict=True))


class _Bench:
    """The blanks and the piece as lines to be asked for distances: of two polygons the nearest place is a corner."""

    def __init__(self, job: Job, number: int, laid: Sequence[Laid]) -> None:
        self.job, self.piece = job, job.pieces[number]
        self.blanks = [job.blanks[one.blank] for one in laid]
        own = {one.blank: Line(job.blanks[one.blank].outline, 1.0) for one in laid}
        self.lines = [own[one.blank] for one in laid]
        self.middles = [(line.corners.min(axis=0) + line.corners.max(axis=0)) / 2 for line in self.lines]
        self.arms = [float(np.hypot(*np.ptp(line.corners, axis=0))) / 2 for line in self.lines]
        rectangle = self.piece.kind != "found"
        self.box = self.piece.outline.bounds_mm if rectangle else None
        self.zones: list[Zone | None] = [*([] if rectangle else [None]), *self.piece.avoided]
        self.fixed = [Line(self.piece.outline, 1.0) if z is None else Line(z.outline, -1.0) for z in self.zones]

    def reach(self, poses: Sequence[Pose]) -> float:
        """Return how far along the piece the blanks reach [mm]."""
        return max(float(p.points(line.corners)[:, 0].max()) for p, line in zip(poses, self.lines, strict=True))

    def rows(self, poses: Sequence[Pose], trust_mm: float) -> list[_Row]:
        """Return the distances that a step may use up."""
        points, centres = self._lain(poses)
        return self._between(poses, points, centres, trust_mm) + self._to_piece(poses, points, centres, trust_mm)

    def held(self, poses: Sequence[Pose], rows: Sequence[_Row]) -> bool:
        """Whether none of the distances is too short; edges that cross between their corners are seen by GEOS alone."""
        if any(float(row.slack.min(initial=0.0)) < -_LACK_MM for row in rows):
            return False
        areas = [shapely.Polygon(points) for points in self._lain(poses)[0]]
        tree = shapely.STRtree(areas)
        pairs = tree.query(areas, predicate="dwithin", distance=self.job.gap_mm + SPARE_MM - _LACK_MM)
        return bool((pairs[0] == pairs[1]).all())

    def _lain(self, poses: Sequence[Pose]) -> tuple[list[Array], list[Array]]:
        """Return corners and middle of each blank where it lies."""
        points = [pose.points(line.corners) for pose, line in zip(poses, self.lines, strict=True)]
        return points, [pose.points(m[None])[0] for pose, m in zip(poses, self.middles, strict=True)]

    def step(self, poses: Sequence[Pose], trust_mm: float) -> tuple[bool, list[Pose] | None]:
        """Return whether the blanks keep their distances, and the blanks moved by the best small moves.

        They are None where the program has no answer.
        """
        from scipy.optimize import linprog  # noqa: PLC0415 - heavy, needed only here
        from scipy.sparse import csr_matrix  # noqa: PLC0415 - heavy, needed only here

        count = len(poses)
        points, centres = self._lain(poses)
        rows = self.rows(poses, trust_mm)
        held = self.held(poses, rows)
        data, row, column, ends, at = [], [], [], [], 0
        for one in rows:
            n = len(one.slack)
            lines = np.arange(at, at + n)
            for k, way in ((one.i, one.way_i), (one.j, None if one.way_j is None else -one.way_j)):
                if way is not None:
                    row.append(np.repeat(lines, 3))
                    column.append(np.tile(np.arange(3 * k, 3 * k + 3), n))
                    data.append(-way.ravel())
            ends.append(one.slack)
            at += n
        for k in range(count):  # every blank ends before the furthest end
            near = points[k][points[k][:, 0] > points[k][:, 0].max() - 2 * trust_mm - 0.5]
            near = near[:: max(1, len(near) // _ROWS)]
            near = np.concatenate([near, points[k][[int(points[k][:, 0].argmax())]]])
            n, arm = len(near), near - centres[k]
            row.append(np.repeat(np.arange(at, at + n), 3))
            column.append(np.tile([3 * k, 3 * k + 2, 3 * count], n))
            data.append(np.column_stack([np.ones(n), -arm[:, 1], -np.ones(n)]).ravel())
            ends.append(-near[:, 0])
            at += n
        a = csr_matrix((np.concatenate(data), (np.concatenate(row), np.concatenate(column))), (at, 3 * count + 1))
        cost = np.zeros(3 * count + 1)
        cost[0 : 3 * count : 3], cost[-1] = _PULL / count, 1.0
        bounds = [b for k in range(count) for b in self._bounds(k, poses[k], trust_mm)]
        found = linprog(cost, a, np.concatenate(ends), bounds=[*bounds, (None, None)], method="highs")
        if found.x is None:
            return held, None
        moves = found.x[:-1].reshape(count, 3)
        return held, [self._moved(k, poses[k], centres[k], moves[k]) for k in range(count)]

    def _bounds(self, k: int, pose: Pose, trust_mm: float) -> list[tuple[float, float]]:
        turn = trust_mm / self.arms[k]
        low, high = -turn, turn
        ranges = self.blanks[k].turns_deg(self.piece)
        if ranges is not None:
            away, half = min(((abs(d), d, h) for d, h in _apart(pose, ranges)), key=lambda one: one[0])[1:]
            low, high = max(low, np.radians(-half - away)), min(high, np.radians(half - away))
            low, high = (low, high) if low <= high else (0.0, 0.0)
        return [(-trust_mm, trust_mm), (-trust_mm, trust_mm), (float(low), float(high))]

    def _moved(self, k: int, pose: Pose, centre: Array, move: Array) -> Pose:
        turned = Pose(0.0, 0.0, pose.turn_deg + float(np.degrees(move[2])), pose.flipped)
        x, y = centre + move[:2] - turned.points(self.middles[k][None])[0]
        return Pose(float(x), float(y), turned.turn_deg, pose.flipped)

    def _between(self, poses: Sequence[Pose], points: list[Array], centres: list[Array], trust_mm: float) -> list[_Row]:
        """Return the distances between blanks that a step may use up."""
        need, far = self.job.gap_mm + SPARE_MM, self.job.gap_mm + SPARE_MM + 4 * trust_mm
        boxes = np.array([[*p.min(axis=0), *p.max(axis=0)] for p in points])
        rows = []
        for i in range(len(poses)):
            for j in range(len(poses)):
                if i == j or (boxes[i, :2] > boxes[j, 2:] + far).any() or (boxes[j, :2] > boxes[i, 2:] + far).any():
                    continue
                inside = ((points[i] > boxes[j, :2] - far) & (points[i] < boxes[j, 2:] + far)).all(axis=1)
                own = points[i][inside]
                own = own[self.lines[j].near(poses[j].back(own), far)] if len(own) else own
                if not len(own):
                    continue
                mm, way = self.lines[j].signed(poses[j].back(own))
                pick = _scarce(-mm, far)
                if not len(pick):
                    continue
                out = -way[pick] @ poses[j].matrix.T
                rows.append(
                    _Row(
                        i,
                        j,
                        -mm[pick] - need,
                        _moving(out, own[pick] - centres[i]),
                        _moving(out, own[pick] - centres[j]),
                    )
                )
        return rows

    def _to_piece(
        self, poses: Sequence[Pose], points: list[Array], centres: list[Array], trust_mm: float
    ) -> list[_Row]:
        """Return the distances to edge and zones that a step may use up."""
        rows = []
        for k, blank in enumerate(self.blanks):
            need = self.job.edge_mm(blank, self.piece)
            if self.box is not None:
                rows += self._to_box(k, points[k], centres[k], need + CHORD_MM, 3 * trust_mm)
            for line, zone in zip(self.fixed, self.zones, strict=True):
                if zone is not None:
                    need = self.job.zone_mm(blank, self.piece, zone)
                rows += self._to_line(k, line, poses[k], points[k], centres[k], need + SPARE_MM, 3 * trust_mm)
        return rows

    def _to_box(self, k: int, points: Array, centre: Array, need: float, far: float) -> list[_Row]:
        """Return the distances to the four sides of a rectangle."""
        assert self.box is not None
        x0, y0, x1, y1 = self.box
        rows = []
        for axis, sign, at in ((0, 1.0, x0), (1, 1.0, y0), (0, -1.0, x1), (1, -1.0, y1)):
            mm = sign * (points[:, axis] - at)
            pick = _scarce(mm, need + far)
            if len(pick):
                way = np.zeros((len(pick), 2))
                way[:, axis] = sign
                rows.append(_Row(k, k, mm[pick] - need, _moving(way, points[pick] - centre), None))
        return rows

    def _to_line(
        self, k: int, line: Line, pose: Pose, points: Array, centre: Array, need: float, far: float
    ) -> list[_Row]:
        """Return the distances to a zone or to the edge of a found piece, from both sides."""
        rows = []
        own = points[line.near(points, need + far)]
        if len(own):
            mm, way = line.signed(own)
            pick = _scarce(line.good * mm, need + far)
            slack = line.good * mm[pick] - need
            rows.append(_Row(k, k, slack, _moving(line.good * way[pick], own[pick] - centre), None))
        theirs = line.corners[np.hypot(*(line.corners - centre).T) < self.arms[k] + need + far]
        if len(theirs):
            mm, way = self.lines[k].signed(pose.back(theirs))
            pick = _scarce(-mm, need + far)
            out = way[pick] @ pose.matrix.T
            rows.append(_Row(k, k, -mm[pick] - need, _moving(out, theirs[pick] - centre), None))
        return rows


def _apart(pose: Pose, ranges: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """Return how far a turn is from the middle of each range, and its half width [degrees]."""
    return [((pose.turn_deg - middle + 180.0) % 360.0 - 180.0, half) for middle, half in ranges]


def _scarce(mm: Array, far_mm: float) -> Index:
    """Return the numbers of the least distances below some way: of each stretch of the outline the scarcest."""
    near = np.nonzero(mm < far_mm)[0]
    if len(near) <= _ROWS:
        return near
    stretches = np.array_split(near, _ROWS)
    found: Index = np.unique(np.array([part[mm[part].argmin()] for part in stretches], dtype=np.intp))
    return found


def _moving(way: Array, arm: Array) -> Array:
    """Return how a distance grows with a shift and a turn, from its direction and where it applies."""
    return np.column_stack([way, arm[:, 0] * way[:, 1] - arm[:, 1] * way[:, 0]])
