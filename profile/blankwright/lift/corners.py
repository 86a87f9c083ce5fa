"""Where does a seen border have a corner, and where would it be had the picture no blur?

A lens, a scanner and the pixels themselves cut a corner off: a tip of 40 degrees comes out three pixels short. What
is seen of both sides beside the corner is not touched by that: each side is continued as a parabola, and the corner is
where they cross; as far from the border as a corner of its angle is by the blur.
"""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from blankwright.base.arrays import Array
from blankwright.base.frozen import dataclass
from blankwright.lift.sides import LAG, LEAST_SIDE, Side, crossing, jumps_of, side_of

LEAST_DEG = 35.0
"""A border that turns by more at once has a corner; less is smoothed and moves by less than its blur."""
SIDE_MM = 4.0
"""So much of each side is continued, or so many places of it where that is more; never more than the second number."""
_SIDE_PLACES, _MOST_PLACES = 60, 400
_FAR_SIDE_MM, _WITHIN = 10.0, 1.5
"""A side seen so far tells a corner better; it is not believed where it tells one further off than so many doubts."""

_WINDOW = 12
_LOSS_BLUR, _LOSS_PX = (0.6, 1.5, 2.2), 0.35
"""A corner may be cut by so much of the blur, and a bit; what is cut more is a rounded one."""
_SKIPS = 3
_PIXEL_BLUR, _LOST_PX, _LOST_SHARE = 0.55, 0.15, 0.1
"""Pixels blur by so much of their size, and what a corner lost is known to so much of it, and to a share: measured on
scans with a known truth, where it was within these in 95 of 100."""
_TIP_DEG, _SHARPEST_RAD = 110.0, 0.27
"""Half the angle of a corner that is sharper is continued far, and needs long sides."""
_SUSPECT_DEG, _APEX = 22.0, 15
_SHADOW, _SHADOW_SHARE = 60, 0.6
_SEEN_MM, _FOR_GOOD = 1.5, 0.5
MOST_HIDDEN = 80
"""A corner is looked for behind no more places than these."""


@dataclass(frozen=True, eq=False)
class Corner:
    """A corner of a border.

    Args:
        at: Number of the place that is nearest.
        point: (2,) where both sides meet.
        turn_deg: By how much the border turns, positive to the left [degrees].
        before: So many places before it belong to no side.
        after: The same behind it.
        loss: How much of it was cut off, in the unit of the places.
        doubt: What the point may be off, in 95 of 100 cases, in that unit: by what single places jump about, and by
            how much it moves when only the nearer half of each side is continued.
    """

    at: int
    point: Array
    turn_deg: float
    before: int
    after: int
    loss: float
    doubt: float = 0.0


@dataclass(frozen=True)
class Sight:
    """How a border is seen.

    Args:
        blur: Standard deviation of the blur [mm].
        step: Distance of neighbouring places [mm].
        blurred: Whether blur cuts its corners off; a drawn line's breadth rounds those of its middle otherwise.
        jumps: What single places jump about [mm].
    """

    blur: float
    step: float
    blurred: bool = True
    jumps: float = 0.0


def corners_of(points: Array, weak: NDArray[np.bool_], seen: Sight, most: int = 60) -> list[Corner]:
    """Return the corners of a closed border.

    Args:
        points: (n, 2) places, evenly spaced [mm].
        weak: (n,) whether a place can hardly be seen; a corner may be hidden there.
        seen: How they are seen; what they jump about is found here.
        most: No more are looked for; the sharpest ones count.
    """
    seen = replace(seen, jumps=jumps_of(points))
    gap = int(np.ceil(1.5 + 2.0 * seen.blur / seen.step))
    turn = _turns(points, gap)
    order = np.argsort(-np.abs(turn))
    taken = np.zeros(len(points), dtype=bool)
    found: list[Corner] = []
    n, reach = len(points), 2 * gap + _WINDOW
    hidden_runs = runs_of(weak)
    for first, count in hidden_runs if len(hidden_runs) <= most else ():
        if 2 * gap <= count <= MOST_HIDDEN:
            hidden = _hidden(points, first, count, seen.step, seen.jumps)
            if hidden is not None:
                found.append(hidden)
                taken[np.arange(first - reach, first + count + reach) % n] = True
    for i in order[: max(200, most * 40)]:
        if abs(turn[i]) < _SUSPECT_DEG or len(found) >= most:
            break
        if taken[i]:
            continue
        taken[np.arange(i - reach, i + reach + 1) % n] = True  # beside a corner a lesser one is its shadow
        found.append(Corner(int(i), points[i], float(turn[i]), gap, gap, 0.0))
    found = _without_shadows(sorted(found, key=lambda c: c.at), n)
    for last in (False, True):  # once more with the room that only true corners leave
        found = [
            c
            for k, c in enumerate(found)
            if c.loss > 0 or _crossed(points, found, k, seen, far=False) or (not last and _crowded(found, k, n))
        ]
    exact = [c if c.loss > 0 else _crossed(points, found, k, seen, far=True) for k, c in enumerate(found)]
    return [c for c in exact if c is not None]


def _without_shadows(found: list[Corner], n: int) -> list[Corner]:
    """Return candidates without those that stand near a much sharper one: blur and noise make them."""
    kept = []
    for c in found:
        away = [(abs((o.at - c.at + n // 2) % n - n // 2), abs(o.turn_deg)) for o in found if o is not c]
        if not any(d < _SHADOW and t * _SHADOW_SHARE > abs(c.turn_deg) for d, t in away):
            kept.append(c)
    return kept


def runs_of(weak: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """Return first place and number of places of each run, round the end."""
    if weak.all() or not weak.any():
        return []
    n, start = len(weak), int(np.argmin(weak))
    rolled = np.concatenate([[False], np.roll(weak, -start), [False]]).astype(int)
    edges = np.flatnonzero(np.diff(rolled))
    return [(int((a + start) % n), int(b - a)) for a, b in zip(edges[::2], edges[1::2], strict=True)]


def _hidden(points: Array, first: int, count: int, step: float, jumps: float) -> Corner | None:
    """Return the corner where both sides of a run meet that could hardly be seen; None where they run on."""
    n, middle, half = len(points), (first + count // 2) % len(points), count // 2 + 2
    sides = [side_of(points[(middle + way * np.arange(half, half + _SIDE_PLACES)) % n], jumps) for way in (-1, 1)]
    met = crossing(sides[0], sides[1], points[middle])
    if met is None or abs(met[1]) < LEAST_DEG:
        return None
    loss = float(np.hypot(*(met[0] - points[(middle + np.arange(-half, half + 1)) % n]).T).min())
    if loss > count * step:
        return None
    if not _turns_for_good(points, middle, met[1], half + int(_SEEN_MM / step)):
        return None
    return Corner(middle, met[0], met[1], half, half, max(loss, 0.1 * step))


def _centred(points: Array, corner: Corner) -> Corner:
    """Return a candidate at its apex: the place that stands out furthest from the chord over it."""
    n = len(points)
    near = (corner.at + np.arange(-_APEX, _APEX + 1)) % n
    a, b = points[near[0]], points[near[-1]]
    chord = b - a
    off = np.abs((points[near, 0] - a[0]) * chord[1] - (points[near, 1] - a[1]) * chord[0])
    at = int(near[int(np.argmax(off))])
    return replace(corner, at=at, point=points[at])


def _cut_off(turn_deg: float) -> float:
    """Return how much of the blur may be missing at a corner, seen across its sides: more of a tip than of a heel."""
    return float(np.interp(abs(turn_deg), (60.0, 140.0, 160.0), _LOSS_BLUR))


def _turns_for_good(points: Array, at: int, turn_deg: float, reach: int) -> bool:
    """Say whether the border runs on in another direction, and has not made a step aside only."""
    n = len(points)
    a, b, c = (points[(at + k) % n] for k in (-reach, 0, reach))
    p, q = b - a, c - b
    seen = float(np.degrees(np.arctan2(p[0] * q[1] - p[1] * q[0], p @ q)))
    return bool(seen * np.sign(turn_deg) >= _FOR_GOOD * abs(turn_deg))


@lru_cache(maxsize=16)
def _ahead(window: int, gap: int) -> Array:
    """Return the weights of places gap, gap + 1, ... ahead that give the slope at 0 of a parabola through them."""
    k = np.arange(gap, gap + window, dtype=np.float64)
    a = np.stack([np.ones_like(k), k, k * k], axis=1)
    weights: Array = np.linalg.pinv(a)[1]
    return weights


def _turns(points: Array, gap: int) -> Array:
    """Return by how much the border turns at each place, both sides continued over the gap [degrees]."""
    weights = _ahead(_WINDOW, gap)
    ahead = sum(w * np.roll(points, -(gap + k), axis=0) for k, w in enumerate(weights))
    behind = -sum(w * np.roll(points, gap + k, axis=0) for k, w in enumerate(weights))
    a, b = np.asarray(behind), np.asarray(ahead)
    turn: Array = np.degrees(np.arctan2(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0], (a * b).sum(axis=1)))
    return turn


def _crowded(found: list[Corner], k: int, n: int) -> bool:
    """Say whether a candidate has too little room for its sides, beside one that turns less and may be a bend."""
    c, near = found[k], (found[k - 1], found[(k + 1) % len(found)])
    away = [(abs((o.at - c.at + n // 2) % n - n // 2), abs(o.turn_deg)) for o in near if o is not c]
    return any(d < _SHADOW and turn < abs(c.turn_deg) for d, turn in away)


def _crossed(points: Array, found: list[Corner], k: int, seen: Sight, *, far: bool) -> Corner | None:
    """Return a corner where its sides cross, seen far if that is asked; None where it is a rounded one."""
    n, corner = len(points), _centred(points, found[k])
    before, after = found[k - 1], found[(k + 1) % len(found)]
    room = ((corner.at - before.at) % n, (after.at - corner.at) % n) if len(found) > 1 else (n, n)
    if abs(corner.turn_deg) > _TIP_DEG:
        tip = _met(points, corner, room, seen, tip=True, far=far)
        if tip is not None and abs(tip.turn_deg) > _TIP_DEG:
            return tip
    return _met(points, corner, room, seen, tip=False, far=far)


def _met(points: Array, corner: Corner, room: tuple[int, int], seen: Sight, *, tip: bool, far: bool) -> Corner | None:
    """Return a corner where its sides meet; None as `_crossed`.

    Whether there is one its near sides say. Where it is, longer ones tell better if they can be followed: what they
    tell lies within what the near ones may be off.
    """
    near = _meeting(points, corner, room, seen, tip=tip)
    if near is None or not far:
        return near
    better = _meeting(points, corner, room, seen, tip=tip, side_mm=_FAR_SIDE_MM)
    return better if better and np.hypot(*(better.point - near.point)) <= _WITHIN * near.doubt else near


def _meeting(
    points: Array, corner: Corner, room: tuple[int, int], seen: Sight, *, tip: bool,
    side_mm: float = SIDE_MM,
) -> Corner | None:  # fmt: skip
    """Return a corner where its sides meet, which are seen as far as there is room [places], over a length."""
    n, blur, step, jumps = len(points), seen.blur, seen.step, seen.jumps
    half = np.radians(180.0 - min(abs(corner.turn_deg), 170.0)) / 2
    reach = 1.5 + 2.2 * blur / step
    if tip:
        half, reach = _SHARPEST_RAD, 2.0 + 2.8 * blur / step  # a tip is sharper than what blur leaves of it
    gap = int(np.ceil(reach / max(float(np.sin(half)), 0.15)))
    rows, sides = [], []
    for way, free in zip((-1, 1), room, strict=True):
        skip = min(gap, max(2, free // 4))
        long = int(min(max(side_mm / step, _SIDE_PLACES), _MOST_PLACES, free * 0.6 - skip))
        if long < 8:
            return None
        rows.append(points[(corner.at + way * np.arange(skip, skip + long)) % n])
        sides.append(side_of(rows[-1], jumps, _SKIPS * skip if tip else 0))
    met = crossing(sides[0], sides[1], points[corner.at])
    if met is None:
        return None
    at, turn = met
    loss = float(np.hypot(*(at - points[(corner.at + np.arange(-2 * gap, 2 * gap + 1)) % n]).T).min())
    sharp = float(np.sin(np.radians(180.0 - min(abs(turn), 175.0)) / 2))
    if loss * sharp > _cut_off(turn) * blur + _LOSS_PX * step or abs(turn) < LEAST_DEG:
        return None
    if not _turns_for_good(points, corner.at, turn, max(3 * gap, min(int(_SEEN_MM / step), *(r // 2 for r in room)))):
        return None
    near = [
        side_of(row[: max(s.count // 2, LEAST_SIDE)], jumps, LEAST_SIDE) for row, s in zip(rows, sides, strict=True)
    ]
    doubt = _doubt(sides, near, at, turn, jumps)
    if seen.blurred:
        at, loss = _settled(at, turn, points[(corner.at + np.arange(-gap, gap + 1)) % n], sides, seen)
    return Corner(corner.at, at, turn, min(gap, room[0] // 4), min(gap, room[1] // 4), loss, doubt)


def _settled(at: Array, turn_deg: float, border: Array, sides: list[Side], seen: Sight) -> tuple[Array, float]:
    """Return a corner no further from its border than blur explains, nor nearer, and how far: along the surer side.

    Args:
        at: (2,) where the sides meet.
        turn_deg: By how much the border turns there [degrees].
        border: (n, 2) places round it.
        sides: Both sides.
        seen: How they are seen.
    """
    a, b = (s.slope(float((at - s.origin) @ s.along)) for s in sides)
    outward = -(a / np.hypot(*a) + b / np.hypot(*b))
    outward = outward / max(float(np.hypot(*outward)), 1e-9)
    should = _lost(turn_deg, float(np.hypot(seen.blur, _PIXEL_BLUR * seen.step)))
    most = _LOST_PX * seen.step + _LOST_SHARE * should
    known = sum(
        np.outer(n, n) / max(s.doubt(at), 1e-3) ** 2
        for s, n in zip(sides, (np.array([-v[1], v[0]]) / np.hypot(*v) for v in (a, b)), strict=True)
    )
    slide = np.linalg.solve(known, outward)
    slide = slide / float(slide @ outward)
    lost = float(at @ outward - (border @ outward).max())
    at = at + (float(np.clip(lost, should - most, should + most)) - lost) * slide
    return at, float(np.hypot(*(border - at).T).min())


def _lost(turn_deg: float, blur: float) -> float:
    """Return how far within a corner the border of a blurred wedge lies, where it is half as dark.

    Of a thin wedge it lies where the normal spread holds one half between both sides (its quartile, 0.6745); of a blunt
    one its mean height above them counts, the root of 2/pi; between them within 2 per cent.
    """
    half = np.radians(180.0 - min(abs(turn_deg), 175.0)) / 2
    thin, blunt = 0.6745, float(np.sqrt(2 / np.pi))
    return float((thin + (blunt - thin) * np.sin(half)) / np.tan(half)) * blur


def _doubt(sides: list[Side], halves: list[Side], at: Array, turn_deg: float, jumps: float) -> float:
    """Return what a corner may be off: the jumping about carried to it, and what the halves of its sides move it more.

    Neighbouring places know of each other over the lag; twice a standard deviation is 95 of 100 (JCGM 100:2008, G.1.3).
    """

    def carried(of: list[Side]) -> float:
        across = 2 * jumps * np.sqrt(LAG) * np.hypot(of[0].doubt(at), of[1].doubt(at))
        return float(across / max(abs(np.sin(np.radians(turn_deg))), 0.2))

    moved = crossing(halves[0], halves[1], at)
    away = float(np.hypot(*(moved[0] - at))) if moved is not None else 0.0
    return float(np.hypot(carried(sides), max(away - carried(halves), 0.0)))


def mask_of(corners: list[Corner], count: int) -> NDArray[np.bool_]:
    """Say which places of a border belong to a side, and are not touched by the blur of a corner."""
    good = np.ones(count, dtype=bool)
    for c in corners:
        good[np.arange(c.at - c.before, c.at + c.after + 1) % count] = False
    return good
