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
from blankwright.geometry.pose import Pose
from blankwright.stock.blank import Job
from blankwright.stock.field import CHORD_MM, Line
from blankwright.stock.layout import Laid
from blankwright.stock.piece import Zone

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
class _Rows:
    """Distances that are to be kept: slack + way_i . move_i + way_j . move_j >= 0.

    Args:
        i: (n,) blank that moves.
        j: (n,) blank that it is kept from; the same where it is kept from the piece.
        slack: (n,) what is over [mm].
        way_i: (n, 3) how it grows with the first one's shift and turn.
        way_j: (n, 3) the same of the second.
    """

    i: Index
    j: Index
    slack: Array
    way_i: Array
    way_j: Array


@dataclass(frozen=True)
class _Lain:
    """All blanks where they lie.

    Args:
        matrix: (count, 2, 2) of each placing.
        shift: (count, 2) of each placing [mm].
        centres: (count, 2) their middles [mm].
        points: (n, 2) the corners of one after the other [mm].
    """

    matrix: Array
    shift: Array
    centres: Array
    points: Array


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
        self.kinds = np.array([one.blank for one in laid])
        self.own = {k: Line(job.blanks[k].outline, 1.0) for k in dict.fromkeys(one.blank for one in laid)}
        corners = [self.own[one.blank].corners for one in laid]
        self.corners, self.counts = np.concatenate(corners), np.array([len(points) for points in corners])
        self.starts = np.cumsum(self.counts) - self.counts
        self.owner = np.repeat(np.arange(len(laid)), self.counts)
        self.middles = np.array([(points.min(axis=0) + points.max(axis=0)) / 2 for points in corners])
        self.arms = [float(np.hypot(*np.ptp(points, axis=0))) / 2 for points in corners]
        self.edges_mm = np.array([job.edge_mm(blank, self.piece) for blank in self.blanks])
        rectangle = self.piece.kind != "found"
        self.box = self.piece.outline.bounds_mm if rectangle else None
        self.zones: list[Zone | None] = [*([] if rectangle else [None]), *self.piece.avoided]
        self.fixed = [Line(self.piece.outline, 1.0) if z is None else Line(z.outline, -1.0) for z in self.zones]

    def reach(self, poses: Sequence[Pose]) -> float:
        """Return how far along the piece the blanks reach [mm]."""
        return float(self._lain(poses).points[:, 0].max())

    def rows(self, poses: Sequence[Pose], trust_mm: float) -> _Rows:
        """Return the distances that a step may use up."""
        lain = self._lain(poses)
        found = [self._between(lain, trust_mm), *self._to_piece(lain, poses, trust_mm)]
        return _Rows(*(np.concatenate([getattr(one, name) for one in found]) for name in _Rows.__match_args__))

    def held(self, poses: Sequence[Pose], rows: _Rows) -> bool:
        """Whether none of the distances is too short; edges that cross between their corners are seen by GEOS alone."""
        if float(rows.slack.min(initial=0.0)) < -_LACK_MM:
            return False
        areas = shapely.polygons(shapely.linearrings(self._lain(poses).points, indices=self.owner))
        tree = shapely.STRtree(areas)
        pairs = tree.query(areas, predicate="dwithin", distance=self.job.gap_mm + SPARE_MM - _LACK_MM)
        return bool((pairs[0] == pairs[1]).all())

    def _lain(self, poses: Sequence[Pose]) -> _Lain:
        matrix, shift = np.array([p.matrix for p in poses]), np.array([[p.x_mm, p.y_mm] for p in poses])
        centres = _turned(matrix, self.middles) + shift
        return _Lain(matrix, shift, centres, _turned(matrix[self.owner], self.corners) + shift[self.owner])

    def step(self, poses: Sequence[Pose], trust_mm: float) -> tuple[bool, list[Pose] | None]:
        """Return whether the blanks keep their distances, and the blanks moved by the best small moves.

        They are None where the program has no answer.
        """
        from scipy.optimize import linprog  # noqa: PLC0415 - heavy, needed only here
        from scipy.sparse import csr_matrix  # noqa: PLC0415 - heavy, needed only here

        count, lain, rows = len(poses), self._lain(poses), self.rows(poses, trust_mm)
        held = self.held(poses, rows)
        x = lain.points[:, 0]
        near = _scarce(np.maximum.reduceat(x, self.starts)[self.owner] - x, 2 * trust_mm + 0.5, self.owner)
        k, arm = self.owner[near], lain.points[near] - lain.centres[self.owner[near]]
        ends = np.column_stack([np.ones(len(k)), -arm[:, 1], -np.ones(len(k))])  # all lie before the furthest end
        at, last = np.arange(len(rows.slack)), np.arange(len(k)) + len(rows.slack)
        row = np.concatenate([np.repeat(at, 3), np.repeat(at, 3), np.repeat(last, 3)])
        column = np.concatenate(
            [
                _columns(rows.i),
                _columns(rows.j),
                np.column_stack([3 * k, 3 * k + 2, np.full(len(k), 3 * count)]).ravel(),
            ]
        )
        data = np.concatenate([-rows.way_i.ravel(), -rows.way_j.ravel(), ends.ravel()])
        a = csr_matrix((data, (row, column)), (len(at) + len(last), 3 * count + 1))
        cost = np.zeros(3 * count + 1)
        cost[0 : 3 * count : 3], cost[-1] = _PULL / count, 1.0
        bounds = [b for k, pose in enumerate(poses) for b in self._bounds(k, pose, trust_mm)]
        most = np.concatenate([rows.slack, -x[near]])
        found = linprog(cost, a, most, bounds=[*bounds, (None, None)], method="highs")
        if found.x is None:
            return held, None
        moves = found.x[:-1].reshape(count, 3)
        return held, [self._moved(k, pose, lain.centres[k], moves[k]) for k, pose in enumerate(poses)]

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

    def _between(self, lain: _Lain, trust_mm: float) -> _Rows:
        """Return the distances between blanks that a step may use up; what is near one kind is asked for together."""
        need, far = self.job.gap_mm + SPARE_MM, self.job.gap_mm + SPARE_MM + 4 * trust_mm
        low, high = (np.array(f.reduceat(lain.points, self.starts, axis=0)) for f in (np.minimum, np.maximum))
        apart = (low[:, None] > high[None] + far).any(axis=2)
        one, other = np.nonzero(~(apart | apart.T | np.eye(len(low), dtype=bool)))
        count = self.counts[one]
        pair = np.repeat(np.arange(len(one)), count)
        point = np.arange(len(pair)) + np.repeat(self.starts[one] - (np.cumsum(count) - count), count)
        places, j = lain.points[point], other[pair]
        near = np.nonzero(((places > low[j] - far) & (places < high[j] + far)).all(axis=1))[0]
        back = _turned(lain.matrix[j[near]].transpose(0, 2, 1), places[near] - lain.shift[j[near]])
        mm, way = np.full(len(pair), np.inf), np.zeros((len(pair), 2))
        for kind, line in self.own.items():
            its = np.nonzero(self.kinds[j[near]] == kind)[0]
            its = its[line.near(back[its], far)] if len(its) else its
            if len(its):
                mm[near[its]], way[near[its]] = line.signed(back[its])
                mm[near[its]] *= -1
        pick = _scarce(mm, far, pair)
        i, j, places = one[pair[pick]], j[pick], places[pick]
        out = -_turned(lain.matrix[j], way[pick])
        away = _moving(out, places - lain.centres[j])
        return _Rows(i, j, mm[pick] - need, _moving(out, places - lain.centres[i]), -away)

    def _to_piece(self, lain: _Lain, poses: Sequence[Pose], trust_mm: float) -> list[_Rows]:
        """Return the distances to edge and zones that a step may use up."""
        found = [] if self.box is None else self._to_box(lain, self.box, 3 * trust_mm)
        for line, zone in zip(self.fixed, self.zones, strict=True):
            need = self.edges_mm
            if zone is not None:
                need = np.array([self.job.zone_mm(blank, self.piece, zone) for blank in self.blanks])
            found.append(self._to_line(lain, line, need + SPARE_MM, 3 * trust_mm))
            found += [
                one
                for k, pose in enumerate(poses)
                if (one := self._from_line(k, line, pose, lain, float(need[k]) + SPARE_MM, 3 * trust_mm)) is not None
            ]
        return found

    def _to_box(self, lain: _Lain, box_mm: tuple[float, float, float, float], far: float) -> list[_Rows]:
        """Return the distances to the four sides of a rectangle."""
        need, found = (self.edges_mm + CHORD_MM)[self.owner], []
        for side, at in enumerate(box_mm):
            axis, sign = side % 2, 1.0 if side < 2 else -1.0
            mm = sign * (lain.points[:, axis] - at) - need
            pick = _scarce(mm, far, self.owner)
            way = np.zeros((len(pick), 2))
            way[:, axis] = sign
            found.append(_alone(self.owner[pick], mm[pick], way, lain.points[pick], lain.centres))
        return found

    def _to_line(self, lain: _Lain, line: Line, need: Array, far: float) -> _Rows:
        """Return the distances of the blanks' corners to a zone or to the edge of a found piece."""
        near = line.near(lain.points, float(need.max()) + far)
        own, owner = lain.points[near], self.owner[near]
        mm, way = line.signed(own) if len(own) else (np.zeros(0), np.zeros((0, 2)))
        slack = line.good * mm - need[owner]
        pick = _scarce(slack, far, owner)
        return _alone(owner[pick], slack[pick], line.good * way[pick], own[pick], lain.centres)

    def _from_line(self, k: int, line: Line, pose: Pose, lain: _Lain, need: float, far: float) -> _Rows | None:
        """Return the distances of the corners of a zone or of the edge of a found piece to a blank."""
        theirs = line.corners[np.hypot(*(line.corners - lain.centres[k]).T) < self.arms[k] + need + far]
        if not len(theirs):
            return None
        mm, way = self.own[int(self.kinds[k])].signed(pose.back(theirs))
        pick = _scarce(-mm - need, far, np.zeros(len(mm), dtype=np.intp))
        return _alone(np.full(len(pick), k), -mm[pick] - need, way[pick] @ pose.matrix.T, theirs[pick], lain.centres)


def _apart(pose: Pose, ranges: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """Return how far a turn is from the middle of each range, and its half width [degrees]."""
    return [((pose.turn_deg - middle + 180.0) % 360.0 - 180.0, half) for middle, half in ranges]


def _scarce(mm: Array, far_mm: float, group: Index) -> Index:
    """Return the numbers of the least distances below some way: of each stretch of each group the scarcest.

    Args:
        mm: (n,) distances, one group after the other [mm].
        far_mm: The way [mm].
        group: (n,) group of each.
    """
    near = np.nonzero(mm < far_mm)[0]
    if not len(near):
        return near
    own = group[near]
    first = np.nonzero(np.diff(own, prepend=own[0] - 1))[0]
    count = np.diff(first, append=len(own))
    place = np.arange(len(own)) - np.repeat(first, count)
    stretch = np.repeat(first, count) + place * np.minimum(_ROWS, np.repeat(count, count)) // np.repeat(count, count)
    order = np.lexsort((mm[near], stretch))
    found: Index = near[order[np.nonzero(np.diff(stretch[order], prepend=-1))[0]]]
    return found


def _columns(blank: Index) -> Index:
    """Return the numbers of shift along, shift across and turn of each of some blanks among all unknowns."""
    found: Index = (3 * blank[:, None] + np.arange(3)).ravel()
    return found


def _turned(matrix: Array, points: Array) -> Array:
    """Return (n, 2) places, each turned by its own of (n, 2, 2) matrices."""
    found: Array = np.einsum("nij,nj->ni", matrix, points)
    return found


def _alone(blank: Index, slack: Array, way: Array, places: Array, centres: Array) -> _Rows:
    """Return distances to the piece, which does not move."""
    moving = _moving(way, places - centres[blank])
    return _Rows(blank, blank, slack, moving, np.zeros_like(moving))


def _moving(way: Array, arm: Array) -> Array:
    """Return how a distance grows with a shift and a turn, from its direction and where it applies."""
    return np.column_stack([way, arm[:, 0] * way[:, 1] - arm[:, 1] * way[:, 0]])
