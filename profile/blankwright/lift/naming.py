"""Which end is the tip, which side the edge, where is the heel? The outline in the design's own coordinates, by rule.

Rules, common practice of how knives are made: the tip is the sharper end; the edge ends behind in a corner, the heel,
with a hollow behind it; the edge rests on the board. What a rule cannot decide is told, and the maker says it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from blankwright.base.arrays import Array
from blankwright.base.said import Line, said
from blankwright.geometry.outline import Outline
from blankwright.lift.walk import Walk

End = Literal["left", "right"]
Side = Literal["down", "up"]

SHARP_DEG = 45.0
"""An end that turns by more at once has a corner."""
SHARPER_DEG = 20.0
"""By so much more than at the other end it must turn to be the tip for sure."""
HEEL_DEG = 25.0
"""The outline turns by more at a heel."""
HOLLOW_DEG = 15.0
"""By so much it turns the other way behind a heel."""
_CORNER_SHARE, _HEEL_SHARE = 0.005, 0.025
"""Windows in which a corner, or a rounded heel, turns, as shares of the length."""
_FIRST, _LAST = 0.12, 0.9
"""Between these shares of the length, from the tip, a heel is looked for."""
_BEHIND = 0.35
_FLAT_MM = 8.0
"""A straight piece at least this long at the heel lies on the board."""
_SLACK_MM = 6.0
"""It may begin so far ahead of the heel, where a corner was continued a little off its line."""
_FLAT_WITHIN_MM, _FLAT_NOISE_MM, _TIP_WITHIN_MM = 0.03, 0.02, 0.3
"""A flat keeps to a line within the first, and its line is known to the second at its ends; it is taken where the tip
goes up or down by less than the third for it."""
_ALONG_DEG = 12.0
_LEVEL_DEG = 12.0
_SCALLOPS, _SCALLOP_SHARE = 4, 0.015
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
    """

    outline: Outline
    placing: Placing
    doubts: tuple[Line, ...]


@dataclass(frozen=True)
class _Sight:
    """One way of taking an outline: tip ahead, edge down.

    Args:
        walk: The outline, lying so.
        tip_mm: Way to the tip [mm].
        heel_mm: Way to the heel [mm], None where there is none.
    """

    walk: Walk
    tip_mm: float
    heel_mm: float | None

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
    walk = Walk(lying)
    x = walk.points[:, 0]
    long = float(np.ptp(x))
    near = np.flatnonzero(x >= x.max() - 0.02 * long)
    turn = walk.turn_deg(walk.ways_mm[near], _CORNER_SHARE * long)
    foremost = float(walk.ways_mm[near[np.argmax(x[near])]])
    tip = foremost if turn.max() < SHARP_DEG else walk.vertex_near(float(walk.ways_mm[near[np.argmax(turn)]]), 1.0)
    return _Sight(walk, tip, _heel(walk, tip, long))


def _heel(walk: Walk, tip_mm: float, long: float) -> float | None:
    """Return the way to the first corner behind the tip, on the lower side, that has a hollow behind it [mm]."""
    step = walk.length_mm / 2_000
    ways = tip_mm - np.arange(0, walk.length_mm * 0.6, step)  # backward along the lower side
    points = walk.at(ways)
    back = points[0, 0] - points[:, 0]
    turn = walk.turn_deg(ways, _HEEL_SHARE * long)
    rear = int(np.argmax(back))
    turned = walk.turned_deg(ways)
    found: list[int] = []
    for k in range(1, rear):
        if not _FIRST * long <= back[k] <= _LAST * long or turn[k] < HEEL_DEG:
            continue
        if turn[k] < turn[max(0, k - 20) : k + 21].max():
            continue
        behind = np.flatnonzero((np.arange(len(ways)) > k) & (back <= back[k] + _BEHIND * long))
        behind = behind[behind <= rear]
        after = int(_HEEL_SHARE * long / 2 / step) + 1
        if abs((walk.heading_deg(float(ways[max(k - after, 0)])) + 180.0) % 360.0 - 180.0) > _FLAT_AHEAD_DEG:
            continue
        behind = behind[behind > k + after]
        hollow = len(behind) > 0 and turned[behind].max() - turned[behind[0]] >= HOLLOW_DEG
        if hollow and (not found or back[k] - back[found[-1]] > _HEEL_SHARE * long):
            found.append(k)
    level = [k for k in found if abs(points[k, 1] - points[found[0], 1]) < _SCALLOP_SHARE * long]
    if not level:
        return None
    k = level[-1] if len(level) >= _SCALLOPS else level[0]  # the teeth of a scalloped edge have hollows as well
    return float(walk.vertex_near(float(ways[k]), _HEEL_SHARE * long))


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
    heel, origin, lean = _board(sight)
    straight = _turn(-lean)
    placing = Placing(straight @ matrix, -straight @ origin, mirrored)
    rows, regions = _with_regions(walk, sight.tip_mm, heel, lean)
    laid = np.column_stack([rows[:, :2] @ straight.T - straight @ origin, rows[:, 2]])
    return Named(Outline(laid, tuple(regions), walk.outline.max_error_mm), placing, tuple(doubts))


def _board(sight: _Sight) -> tuple[float, Array, float]:
    """Return the way to the heel [mm], the origin [mm] and the lean of the board line [degrees]."""
    walk = sight.walk
    x = walk.points[:, 0]
    if sight.heel_mm is None:
        low = np.flatnonzero((walk.points[:, 1] < np.mean(walk.points[:, 1])) & (x < x.min() + 0.4 * np.ptp(x)))
        heel = float(walk.ways_mm[low[np.argmax(x[low])]]) if len(low) else 0.0
        return heel, np.array([walk.at(np.array([heel]))[0, 0], float(walk.points[:, 1].min())]), 0.0
    heel = sight.heel_mm
    long = float(np.ptp(x))
    corner = float(walk.turn_deg(np.array([heel]), 0.02)[0])
    if corner < HEEL_DEG / 2:
        return _rounded_heel(walk, heel, _HEEL_SHARE * long, sight.tip_mm)
    place = walk.at(np.array([heel]))[0]
    flat = _flat_piece(walk, heel)
    if flat is None:
        return heel, place, _lean(walk, heel, sight.tip_mm, place)
    start, along = flat
    onto = start + ((place - start) @ along) * along  # the heel is where the line of the flat has it
    return heel, onto, float(np.degrees(np.arctan2(along[1], along[0])))


def _flat_piece(walk: Walk, from_mm: float) -> tuple[Array, Array] | None:
    """Return start and direction of the straight piece of the edge that begins at the heel, or a little ahead of it."""
    o = walk.outline
    starts = np.concatenate([[0.0], np.cumsum(o.lengths)[:-1]])
    ahead = np.mod(starts - from_mm + _SLACK_MM / 2, walk.length_mm) - _SLACK_MM / 2
    fits = np.flatnonzero((np.abs(ahead) <= _SLACK_MM) & (o.bulges == 0) & (o.lengths >= _FLAT_MM))
    if not len(fits):
        return None
    k = int(fits[np.argmax(o.lengths[fits])])
    return o.starts[k], o.start_tangents[k]


def _lean(walk: Walk, from_mm: float, tip_mm: float, origin: Array) -> float:
    """Return the lean of the line through the origin on which the edge rests [degrees]."""
    flat = _flat_piece(walk, from_mm)
    if flat is not None:
        return float(np.degrees(np.arctan2(flat[1][1], flat[1][0])))
    way = from_mm + np.linspace(0.02, 0.95, 800) * np.mod(tip_mm - from_mm, walk.length_mm)
    d = walk.at(way) - origin
    lean = float(np.degrees(np.arctan2(d[20:, 1], d[20:, 0]).min()))
    return _flat_lean(d, lean)


def _flat_lean(d: Array, lean: float) -> float:
    """Return the lean of the flat by least squares where the edge has one; else the lean as it was [degrees].

    Args:
        d: (n, 2) places of the edge, from the heel on [mm].
        lean: Of the line through the heel on which the edge rests [degrees].
    """
    far = np.hypot(*d.T)
    best, least = lean, _TIP_WITHIN_MM / far.max()
    for share in np.linspace(0.9, 0.04, 87):
        last = int(share * len(d))
        if last < 10 or far[last - 1] < _FLAT_MM:
            break
        long = float(far[last - 1])
        slope, shift = np.polyfit(d[:last, 0], d[:last, 1], 1)
        off = d[:last, 1] - slope * d[:last, 0] - shift
        bow = float(np.polyfit(far[:last] / long - 0.5, off, 2)[0]) / 4
        doubt = (4 * abs(bow) + _FLAT_NOISE_MM) / long
        if np.abs(off).max() <= _FLAT_WITHIN_MM and doubt < least:
            best, least = float(np.degrees(np.arctan(slope))), doubt
    return best


def _rounded_heel(walk: Walk, heel: float, window: float, tip_mm: float) -> tuple[float, Array, float]:
    """Return the same of a rounded heel: the origin is where the sides meet, the edge begins where it is straight."""
    o = walk.outline
    ends_mm = np.cumsum(o.lengths)
    away = np.mod(ends_mm - o.lengths / 2 - heel + walk.length_mm / 2, walk.length_mm) - walk.length_mm / 2
    n, at = len(o), int(np.argmax(np.where(np.abs(away) < window, o.curvatures, -np.inf)))
    tight = o.curvatures * window > 1.0
    first = last = at
    while tight[(first - 1) % n] and (last - first) < n - 1:
        first -= 1
    while tight[(last + 1) % n] and (last - first) < n - 1:
        last += 1
    a, b = o.starts[first % n], o.ends[last % n]
    u, v = o.start_tangents[first % n], o.end_tangents[last % n]
    cross, d = float(u[0] * v[1] - u[1] * v[0]), b - a
    origin = a + u * (d[0] * v[1] - d[1] * v[0]) / cross if abs(cross) > 0.1 else b
    begins = float(ends_mm[last % n])
    return begins, origin, _lean(walk, begins, tip_mm, origin)


def _with_regions(walk: Walk, tip_mm: float, heel_mm: float, lean: float) -> tuple[Array, list[str]]:
    """Return the rows of the outline from the heel on, with a vertex where each region begins, and the regions."""
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
    rows, at = walk.split([float(np.mod(heel_mm + cuts[k], whole)) for k in keep])
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
    near = np.flatnonzero(x[last] - x[rear:] < _HEEL_SHARE * long) + rear
    down = int(near[np.argmin(off[near])])  # where it comes down to the heel most steeply
    back = np.arange(down, rear, -1)
    back = back[x[last] - x[back] < _BEHIND * long]
    level = off[back] >= off[back].max(initial=-np.inf) - _LEVEL_DEG if len(back) else np.zeros(0, dtype=bool)
    end = int(back[int(np.argmax(level))]) if level.any() else last - 1
    return min(max(end, rear + 2), last - 1)
