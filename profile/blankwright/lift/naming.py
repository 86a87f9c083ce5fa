"""Which end is the tip, which side the edge, where is the heel? The outline in the design's own coordinates, by rule.

Rules, common practice of how knives are made: the tip is the sharper end; the edge ends behind in a corner, the heel,
with a hollow behind it; the edge rests on the board. What a rule cannot decide is told, and the maker says it.
"""

from __future__ import annotations

from typing import Literal

import numpy as np

from blankwright.base.arrays import Array
from blankwright.base.frozen import dataclass
from blankwright.base.said import Line, said
from blankwright.design.lifted import BudgetRow
from blankwright.geometry.outline import Outline
from blankwright.lift.board import HEEL_DEG, HEEL_SHARE, board_of
from blankwright.lift.teeth import Bridged, bridged
from blankwright.lift.walk import Walk

End = Literal["left", "right"]
Side = Literal["down", "up"]

SHARP_DEG = 45.0
"""An end that turns by more at once has a corner."""
SHARPER_DEG = 20.0
"""By so much more than at the other end it must turn to be the tip for sure."""
HOLLOW_DEG = 15.0
"""By so much it turns the other way behind a heel."""
_CORNER_SHARE = 0.005
"""Window in which a corner turns, as a share of the length."""
_FIRST, _LAST = 0.12, 0.9
"""Between these shares of the length, from the tip, a heel is looked for."""
_BEHIND = 0.35
_ALONG_DEG = 12.0
_LEVEL_DEG = 12.0
_FLAT_AHEAD_DEG = 40.0
"""Ahead of the heel the edge runs along the board, within this."""


@dataclass(frozen=True, eq=False)
class Placing:
    """How a seen outline was laid into the design's coordinates.

    Args:
        matrix: (2, 2) turn, with a mirror where the other face was seen.
        shift: (2,) shift afterwards [mm].
        mirrored: Whether the other face was seen.
    """

    matrix: Array
    shift: Array
    mirrored: bool

    def of(self, points: Array) -> Array:
        """Return (m, 2) places in the design's coordinates [mm]."""
        placed: Array = points @ self.matrix.T + self.shift
        return placed

    def back(self, points: Array) -> Array:
        """Return (m, 2) places where they were seen [mm]."""
        seen: Array = (points - self.shift) @ self.matrix
        return seen


@dataclass(frozen=True, eq=False)
class Named:
    """An outline in the design's coordinates with its regions.

    Args:
        outline: Begins at the heel.
        placing: How it got there.
        doubts: What the rules could not decide.
        budget: What its place in these coordinates may be off.
    """

    outline: Outline
    placing: Placing
    doubts: tuple[Line, ...]
    budget: tuple[BudgetRow, ...] = ()


@dataclass(frozen=True)
class _Sight:
    """One way of taking an outline: tip ahead, edge down.

    Args:
        outline: The outline, lying so, with and without its scallops; the ways are along the one without.
        tip_mm: Way to the tip [mm].
        heel_mm: Way to the heel [mm], None where there is none.
    """

    outline: Bridged
    tip_mm: float
    heel_mm: float | None

    @property
    def walk(self) -> Walk:
        """The outline without its scallops."""
        return self.outline.plain

    @property
    def behind_mm(self) -> float:
        """How far the heel lies behind the tip [mm]."""
        if self.heel_mm is None:
            return np.inf
        return float(np.diff(self.walk.at(np.array([self.heel_mm, self.tip_mm]))[:, 0])[0])


def named(outline: Outline, tip: End | None = None, edge: Side | None = None) -> Named:
    """Lay an outline into the design's coordinates and name its regions.

    Args:
        outline: Counter-clockwise, as seen: x to the right, y up [mm].
        tip: Where the tip is seen, where that was said.
        edge: Where the edge is seen, where that was said.
    """
    angle = _long_axis_deg(outline)
    doubts: list[Line] = []
    choices = []
    for turned_round in (False, True):
        for mirrored in (False, True):
            turn = -angle + (180.0 if turned_round else 0.0)
            matrix = _turn(turn)
            lying = outline.placed(turn, 0.0, 0.0)
            if mirrored:
                matrix, lying = np.diag([1.0, -1.0]) @ matrix, lying.mirrored()
            ahead, down = matrix.T @ np.array([1.0, 0.0]), matrix.T @ np.array([0.0, -1.0])
            if tip is not None and (_seen(ahead) > 0) != (tip == "right"):
                continue
            if edge is not None and (down[1] < 0 if abs(down[1]) > 0.2 else down[0] > 0) != (edge == "down"):
                continue
            choices.append((_sight(lying), matrix, mirrored))
    sight, matrix, mirrored = _chosen(choices, doubts)
    return _laid(sight, matrix, mirrored, doubts)


def _seen(ahead: Array) -> float:
    """Return above 0 for what is seen on the right; of an upright thing what is above."""
    return float(ahead[0] if abs(ahead[0]) > 0.2 else ahead[1])


def _turn(angle_deg: float) -> Array:
    c, s = np.cos(np.radians(angle_deg)), np.sin(np.radians(angle_deg))
    return np.array([[c, -s], [s, c]])


def _long_axis_deg(outline: Outline) -> float:
    """Return the direction across which the outline is narrowest [degrees]."""
    points = outline.flattened(0.002)
    best = 0.0
    for reach, steps in ((90.0, 181), (1.0, 41), (0.05, 41)):
        angles = best + np.linspace(-reach, reach, steps)
        across = np.stack([-np.sin(np.radians(angles)), np.cos(np.radians(angles))])
        best = float(angles[np.argmin(np.ptp(points @ across, axis=0))])
    return float((best + 90.0) % 180.0 - 90.0)


def _sight(lying: Outline) -> _Sight:
    """Look at an outline as if its tip were ahead and its edge down."""
    outline = bridged(lying)
    walk = outline.plain
    x = walk.points[:, 0]
    long = float(np.ptp(x))
    near = np.flatnonzero(x >= x.max() - 0.02 * long)
    turn = walk.turn_deg(walk.ways_mm[near], _CORNER_SHARE * long)
    foremost = float(walk.ways_mm[near[np.argmax(x[near])]])
    tip = foremost if turn.max() < SHARP_DEG else walk.vertex_near(float(walk.ways_mm[near[np.argmax(turn)]]), 1.0)
    return _Sight(outline, tip, _heel(walk, tip, long))


def _heel(walk: Walk, tip_mm: float, long: float) -> float | None:
    """Return the way to the first corner behind the tip, on the lower side, that has a hollow behind it [mm]."""
    step = walk.length_mm / 2_000
    ways = tip_mm - np.arange(0, walk.length_mm * 0.6, step)  # backward along the lower side
    points = walk.at(ways)
    back = points[0, 0] - points[:, 0]
    turn = walk.turn_deg(ways, HEEL_SHARE * long)
    rear = int(np.argmax(back))
    turned = walk.turned_deg(ways)
    for k in range(1, rear):
        if not _FIRST * long <= back[k] <= _LAST * long or turn[k] < HEEL_DEG:
            continue
        if turn[k] < turn[max(0, k - 20) : k + 21].max():
            continue
        behind = np.flatnonzero((np.arange(len(ways)) > k) & (back <= back[k] + _BEHIND * long))
        behind = behind[behind <= rear]
        after = int(HEEL_SHARE * long / 2 / step) + 1
        if abs((walk.heading_deg(float(ways[max(k - after, 0)])) + 180.0) % 360.0 - 180.0) > _FLAT_AHEAD_DEG:
            continue
        behind = behind[behind > k + after]
        if len(behind) > 0 and turned[behind].max() - turned[behind[0]] >= HOLLOW_DEG:
            return float(walk.vertex_near(float(ways[k]), HEEL_SHARE * long))
    return None


def _chosen(choices: list[tuple[_Sight, Array, bool]], doubts: list[Line]) -> tuple[_Sight, Array, bool]:
    """Return the way of taking the outline that the rules prefer."""
    long = float(np.ptp(choices[0][0].walk.points[:, 0]))

    def sharpness(choice: tuple[_Sight, Array, bool]) -> float:
        sight = choice[0]
        return float(sight.walk.turn_deg(np.array([sight.tip_mm]), _CORNER_SHARE * long)[0])

    ends = sorted({round(sharpness(c), 3) for c in choices}, reverse=True)
    sharp = [c for c in choices if sharpness(c) > ends[0] - SHARPER_DEG]
    if ends[0] < SHARP_DEG:
        sharp = choices
    heeled = [c for c in sharp if c[0].heel_mm is not None]
    if not heeled:  # the corners of a bare tang are sharper than a rounded tip; only the tip has a heel behind it
        heeled = [c for c in choices if c[0].heel_mm is not None]
    with_heel = sorted(heeled, key=lambda c: c[0].behind_mm)
    if with_heel:
        first = with_heel[0]
        rivals = [c for c in with_heel[1:] if c[0].behind_mm < first[0].behind_mm + 0.01 * long]
        if rivals:
            doubts.append(
                said("Both sides look alike at the heel: say which is the edge with --edge up or --edge down.")
            )
        # unmirrored first where both are as good
        return min([first, *rivals], key=lambda c: (c[2], c[0].behind_mm))
    doubts.append(
        said(
            "No heel is seen, a corner with a hollow behind it: regions and origin are guessed. "
            "Say --tip and --edge, and correct the regions in the file."
        )
    )
    return min(sharp, key=lambda c: (-round(sharpness(c), 1) if ends[0] >= SHARP_DEG else 0.0, c[2]))


def _laid(sight: _Sight, matrix: Array, mirrored: bool, doubts: list[Line]) -> Named:
    walk = sight.walk
    board = board_of(walk, sight.tip_mm, sight.heel_mm)
    straight = _turn(-board.lean_deg)
    placing = Placing(straight @ matrix, -straight @ board.origin, mirrored)
    rows, regions = _with_regions(sight.outline, sight.tip_mm, board.heel_mm, board.lean_deg)
    laid = np.column_stack([rows[:, :2] @ straight.T - straight @ board.origin, rows[:, 2]])
    outline = Outline(laid, tuple(regions), walk.outline.max_error_mm)
    return Named(outline, placing, tuple(doubts), board.rows(outline.starts))


def _with_regions(outline: Bridged, tip_mm: float, heel_mm: float, lean: float) -> tuple[Array, list[str]]:
    """Return the rows of the outline from the heel on, with a vertex where each region begins, and the regions."""
    walk = outline.plain
    whole = walk.length_mm
    edge = float(np.mod(tip_mm - heel_mm, whole))
    ways = np.linspace(edge, whole, 2_400)
    points = walk.at(heel_mm + ways)
    long = float(np.ptp(walk.points[:, 0]))
    heading = (
        np.array([walk.heading_deg(heel_mm)]) + walk.turned_deg(heel_mm + ways) - walk.turned_deg(np.array([heel_mm]))
    )
    heading = heading - 360.0 * np.round((heading[-1] - lean - 300.0) / 360.0)
    off = heading - lean  # 0 along the edge, 180 along the spine, 360 along the handle's lower side
    x = points[:, 0]
    rear = int(np.argmin(x))
    front = _notch_end(x, off, rear, long)
    top = x[-1] - (x[-1] - x[front]) / 2
    spine_end = int(np.argmax((x <= top) | (np.arange(len(x)) >= rear)))
    zone = x < x.min() + 0.15 * long
    first = _butt_end(off, zone, rear, -1)
    last = _butt_end(off, zone, rear, 1)
    end = len(ways) - 1
    first, last = min(max(first, spine_end + 1), end), min(last, front - 1, end)
    cuts = [0.0, edge, ways[spine_end], ways[first], ways[last], ways[front]]
    names = ["edge", "spine", "tang", "butt", "tang", "heel"]
    keep = [k for k in range(6) if k < 2 or cuts[k] > cuts[k - 1] + 0.05]
    rows, at = outline.whole.split([outline.on_whole(float(heel_mm + cuts[k])) for k in keep])
    n = len(rows)
    begins = {(row - at[0]) % n: names[k] for row, k in zip(at, keep, strict=True)}
    regions, now = [], "edge"
    for k in range(n):
        now = begins.get(k, now)
        regions.append(now)
    return np.roll(rows, -at[0], axis=0), regions


def _butt_end(off: Array, zone: Array, rear: int, way: int) -> int:
    """Return how far from the rearmost place the outline runs across."""
    k = rear
    while 0 < k + way < len(off) and zone[k + way] and abs(off[k + way] - 270.0) < 90.0 - _ALONG_DEG * 2:
        k += way
    return k


def _notch_end(x: Array, off: Array, rear: int, long: float) -> int:
    """Return where, going back from the heel, the hollow behind it has ended and the handle's lower side begins."""
    last = len(x) - 1
    near = np.flatnonzero(x[last] - x[rear:] < HEEL_SHARE * long) + rear
    down = int(near[np.argmin(off[near])])  # where it comes down to the heel most steeply
    back = np.arange(down, rear, -1)
    back = back[x[last] - x[back] < _BEHIND * long]
    level = off[back] >= off[back].max(initial=-np.inf) - _LEVEL_DEG if len(back) else np.zeros(0, dtype=bool)
    end = int(back[int(np.argmax(level))]) if level.any() else last - 1
    return min(max(end, rear + 2), last - 1)
