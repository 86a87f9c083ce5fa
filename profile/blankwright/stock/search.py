"""Looking for the placing with the most room: everywhere roughly, then many at once nearer, then a few to the end."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import field

import numpy as np

from blankwright.base.arrays import Array
from blankwright.base.frozen import dataclass
from blankwright.geometry.pose import Pose
from blankwright.stock.bench import WEIGHT, Pull, Search

_MOST_ROWS = 120
"""So many distances at most are looked at in one step to the end; the scarcest half, and others evenly."""

SEED = 1
"""The same request gets the same placing."""


_FEW, _TO_THE_END = 6, 3
"""Steps after which the best placings are told from the others, and how many of them go on."""


_HOPELESS_MM = 3.0
"""A placing that lacks more than this after the steps together does not fit after those to the end: they gain what the
raster's cells and short steps leave, a millimetre at most."""


@dataclass(frozen=True)
class Effort:
    """How hard is looked.

    Args:
        turn_step_deg: Turns tried in the rough search are this far apart.
        places: Places tried for each turn.
        starts: Placings that are improved together.
        rounds: Steps of improving them.
        finals: Placings that are taken to the end.
    """

    turn_step_deg: float = 3.0
    places: int = 150
    starts: int = 240
    rounds: int = 120
    finals: int = 10


@dataclass(frozen=True)
class Allowed:
    """What a placing may be.

    Args:
        flips: Sides that may lie up: False as drawn, True turned over.
        turns_deg: Middle and half width of each allowed range of turns, by side; None for any turn.
    """

    flips: tuple[bool, ...] = (False, True)
    turns_deg: dict[bool, tuple[tuple[float, float], ...]] | None = field(default=None)

    def holds(self, turn_deg: Array, *, flipped: bool) -> Array:
        """Whether each turn is allowed on a side."""
        if self.turns_deg is None:
            return np.full(np.shape(turn_deg), True)
        ranges = self.turns_deg[flipped]
        apart = [np.abs((turn_deg - middle + 180.0) % 360.0 - 180.0) <= half + 1e-9 for middle, half in ranges]
        found: Array = np.any(apart, axis=0)
        return found


@dataclass(frozen=True)
class Found:
    """A placing and its slack [mm]; below nothing it does not fit."""

    pose: Pose
    slack_mm: float


def look(
    search: Search,
    allowed: Allowed,
    effort: Effort | None = None,
    first: Sequence[Pose] = (),
    *,
    only_fits: bool = False,
) -> list[Found]:
    """Return the best placings found, the best first.

    Args:
        search: Knife and piece.
        allowed: Sides and turns that may be.
        effort: How hard is looked.
        first: Placings to begin with beside those of the rough search.
        only_fits: Whether nothing need be found where all are far from fitting.
    """
    effort = effort or Effort()
    starts = _roughly(search, allowed, effort)
    starts = np.concatenate([starts, _as_rows(search, [p for p in first if p.flipped in allowed.flips])])
    better = _nearer(search, starts, allowed, effort.rounds)
    if only_fits and better[0, 4] < -_HOPELESS_MM * search.weight:
        return []
    chosen = _apart(search, better, effort.finals)
    chosen += [p for p in first if p.flipped in allowed.flips]
    found = [settled(search, pose, allowed, steps=_FEW) for pose in chosen]
    found.sort(key=lambda one: -one.slack_mm)
    ended = [settled(search, one.pose, allowed) for one in found[:_TO_THE_END]]
    return sorted(ended + found[_TO_THE_END:], key=lambda one: -one.slack_mm)


def _roughly(search: Search, allowed: Allowed, effort: Effort) -> Array:
    """Return placings worth a closer look: rows of x, y of the middle, turn [radians], side, slack."""
    x0, y0, x1, y1 = search.plate.piece.outline.bounds_mm
    size, low = np.array([x1 - x0, y1 - y0]), np.array([x0, y0])
    turns = np.arange(0.0, 360.0, effort.turn_step_deg)
    found = []
    for flipped in allowed.flips:
        for turn in (
            turns[allowed.holds(turns, flipped=flipped)]
            if allowed.turns_deg is None
            else _turns(allowed, effort, flipped=flipped)
        ):
            box = _box(search, np.radians(turn), flipped=flipped)
            found.append((float(np.maximum(box[2:] - box[:2] - size, 0.0).max()), flipped, float(turn), box))
    least = min(short for short, *_ in found)
    rows = []
    worth = [row for row in found if row[0] <= least + 15.0]
    for _, flipped, turn, box in worth:
        room = np.maximum(size - (box[2:] - box[:2]), 0.0)
        rows.append(_best_places(search, np.radians(turn), low - box[:2], room, effort, flipped=flipped))
    every = np.concatenate(rows)
    return every[np.argsort(-every[:, 4])[: effort.starts]]


def _turns(allowed: Allowed, effort: Effort, *, flipped: bool) -> Array:
    ranges = (allowed.turns_deg or {})[flipped]
    steps = [np.linspace(m - h, m + h, int(np.ceil(2 * h / effort.turn_step_deg)) + 1) for m, h in ranges]
    return np.concatenate(steps)


def _box(search: Search, turn: float, *, flipped: bool) -> Array:
    """Return the box of the turned knife about its middle: least x and y, greatest x and y."""
    c, s, side = np.cos(turn), np.sin(turn), -1.0 if flipped else 1.0
    u, v = search.rough[:, 0] * side, search.rough[:, 1]
    x, y = c * u - s * v, s * u + c * v
    return np.array([x.min(), y.min(), x.max(), y.max()])


def _best_places(search: Search, turn: float, low: Array, room: Array, effort: Effort, *, flipped: bool) -> Array:
    """Return the best places of one turn, none beside another."""
    step = max(float(np.sqrt(max(room.prod(), 1.0) / effort.places)), float(room.max()) / effort.places, 0.5)
    count = np.maximum(np.ceil(room / step).astype(int), 1) + 1
    x, y = (low[a] + (np.linspace(0.0, room[a], count[a]) if room[a] > 0 else np.zeros(1)) for a in (0, 1))
    x, y = (grid.ravel() for grid in np.meshgrid(x, y, indexing="ij"))
    n = len(x)
    slack = search.roughly(x, y, np.full(n, turn), np.full(n, flipped))
    order, kept = np.argsort(-slack), list[int]()
    for k in order[:40].tolist():
        if all(np.hypot(x[k] - x[m], y[k] - y[m]) > 2.5 * step for m in kept):
            kept.append(k)
        if len(kept) == 4:
            break
    return np.column_stack([x[kept], y[kept], np.full(len(kept), turn), np.full(len(kept), flipped), slack[kept]])


def _nearer(search: Search, rows: Array, allowed: Allowed, rounds: int) -> Array:
    """Improve placings together: each tries steps in all directions, shorter when none helps."""
    rng = np.random.default_rng(SEED)
    rows = rows.copy()
    n, reach = len(rows), search.reach
    flipped = rows[:, 3] > 0.5
    rows[:, 4] = search.roughly(rows[:, 0], rows[:, 1], rows[:, 2], flipped)
    span = np.full(n, 6.0)
    for k in range(rounds):
        if k in (rounds // 4, rounds // 2):  # those far behind are left
            keep = np.sort(np.argsort(-rows[:, 4])[: max(n * 2 // 5, 20)])
            rows, span, flipped = rows[keep], span[keep], flipped[keep]
            n = len(rows)
        way = rng.normal(size=(n, 3)) * span[:, None]
        x, y, turn = rows[:, 0] + way[:, 0], rows[:, 1] + way[:, 1], rows[:, 2] + way[:, 2] / reach
        slack = search.roughly(x, y, turn, flipped)
        good = slack > rows[:, 4]
        if allowed.turns_deg is not None:
            for side in allowed.flips:
                on = flipped == side
                good[on] &= allowed.holds(np.degrees(turn[on]), flipped=side)
        rows[good, 0], rows[good, 1], rows[good, 2], rows[good, 4] = x[good], y[good], turn[good], slack[good]
        span = np.clip(np.where(good, span * 1.5, span * 0.87), 0.15, 12.0)
    return rows[np.argsort(-rows[:, 4])]


def _apart(search: Search, rows: Array, most: int) -> list[Pose]:
    """Return the best placings that are not nearly the same."""
    kept: list[Array] = []
    for row in rows:
        for other in kept:
            turn = abs((row[2] - other[2] + np.pi) % (2 * np.pi) - np.pi) * search.reach
            if row[3] == other[3] and np.hypot(row[0] - other[0], row[1] - other[1]) + turn < 6.0:
                break
        else:
            kept.append(row)
        if len(kept) == most:
            break
    return [_pose(search, row) for row in kept]


def _pose(search: Search, row: Array) -> Pose:
    """Return a row as a placing: the heel's place from the middle's."""
    turned = Pose(0.0, 0.0, float(np.degrees(row[2])), bool(row[3] > 0.5))
    x, y = row[:2] - turned.points(search.middle[None])[0]
    return Pose(float(x), float(y), turned.turn_deg, turned.flipped)


def _as_rows(search: Search, poses: Sequence[Pose]) -> Array:
    rows = [[*p.points(search.middle[None])[0], np.radians(p.turn_deg), float(p.flipped), 0.0] for p in poses]
    return np.array(rows, dtype=np.float64).reshape(-1, 5)


def settled(search: Search, pose: Pose, allowed: Allowed, *, steps: int = 40) -> Found:
    """Move a placing to where it has the most room near by.

    Each step is the best small move as the distances look from here, a linear program; one that does not help is
    tried again shorter.
    """
    slack, reach_mm = search.slack(pose), 4.0
    for _ in range(steps):
        move = _best_move(search, pose, reach_mm)
        if move is None:
            break
        tried = _moved(search, pose, move)
        now = search.slack(tried)
        if now > slack and bool(allowed.holds(np.array([tried.turn_deg]), flipped=pose.flipped)[0]):
            gained, pose, slack = now - slack, tried, now
            if gained < 2e-5:
                break
        else:
            reach_mm /= 4
            if reach_mm < 2e-4:
                break
    return Found(pose, slack)


def _best_move(search: Search, pose: Pose, reach_mm: float) -> Array | None:
    from scipy.optimize import linprog  # noqa: PLC0415 - heavy, needed only here

    distances, must = search.pulls(pose)
    scale = np.array([1.0, 1.0, 1.0 / search.reach])
    rows, ends = _near(distances, reach_mm, scale)
    a = np.column_stack([-rows, np.ones(len(rows)), np.zeros(len(rows))])
    if must is not None:
        more, mine = _near(must, reach_mm, scale)
        a = np.concatenate([a, np.column_stack([-more, np.zeros(len(more)), np.ones(len(more))])])
        ends = np.concatenate([ends, mine])
    bounds = [(-reach_mm, reach_mm)] * 3 + [(None, None), (None, 0.0)]
    found = linprog([0.0, 0.0, 0.0, -1.0, -WEIGHT if must is not None else 0.0], a, ends, bounds=bounds, method="highs")
    return None if found.x is None else np.asarray(found.x[:3]) * scale


def _near(pull: Pull, reach_mm: float, scale: Array) -> tuple[Array, Array]:
    """Return the rows and ends of those that may matter within a step, thinned where many say nearly the same."""
    slack, way = pull.slack_mm, pull.way
    near = slack <= slack.min() + 4.0 * reach_mm + 0.05
    rows, ends = way[near] * scale, slack[near]
    if len(ends) > _MOST_ROWS:
        order = np.argsort(ends)
        keep = np.unique(np.concatenate([order[:: len(ends) // (_MOST_ROWS // 2)], order[: _MOST_ROWS // 2]]))
        rows, ends = rows[keep], ends[keep]
    return rows, ends


def _moved(search: Search, pose: Pose, move: Array) -> Pose:
    """Return a placing shifted and turned about the knife's middle."""
    centre = pose.points(search.middle[None])[0]
    turned = Pose(0.0, 0.0, pose.turn_deg + float(np.degrees(move[2])), pose.flipped)
    x, y = centre + move[:2] - turned.points(search.middle[None])[0]
    return Pose(float(x), float(y), turned.turn_deg, pose.flipped)
