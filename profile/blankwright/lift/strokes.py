"""A thing that is drawn as a line: round a knife laid on paper, or on a printed page. Its outline is the line's middle.

What lies outside of the line (dashes, words, a board line) may touch it; what it encloses is plain paper. So the line's
inner side is followed, and half of the line's width is added.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from blankwright.base.arrays import Array
from blankwright.lift.pictures import Pixels
from blankwright.lift.rows import normals, spaced

LINE_SHARE = 0.35
"""A thing of which less is dark is drawn as a line."""
_PART = 0.05
"""A white part that is a larger share of the thing lies in it; smaller ones lie between lines that touch."""
_REACH_PX = 40.0
_STEP = 0.25
_CLEAR = 0.7
_JUMP, _WIDER, _BESIDE, _INSIDE_PX = 0.5, 0.25, 3, 3.5
_ISLAND = 80
_LOOK, _MOST_MISSED, _ON_PX, _MOST_JOINED = 40, 40, 0.35, 120
"""So many places tell where the line goes on, over so many that are missed, and so near a place must lie."""


def is_line(cv: Any, mask: NDArray[np.uint8], border: NDArray[np.int32], area: float) -> bool:
    """Say whether a thing is drawn as a line: little of what its border encloses is dark."""
    x, y, w, h = cv.boundingRect(border)
    inside = np.zeros((h, w), dtype=np.uint8)
    cv.drawContours(inside, [border - (x, y)], -1, 255, cv.FILLED)
    dark = cv.countNonZero(cv.bitwise_and(inside, mask[y : y + h, x : x + w]))
    return bool(dark < LINE_SHARE * area)


def inner_border(cv: Any, grey: Pixels, parts: list[NDArray[np.int32]], area: float) -> tuple[NDArray[np.int32], float]:
    """Return the border of what a line encloses, to a pixel, and the line's width [pixels].

    Args:
        cv: The library for pictures.
        grey: The picture.
        parts: Borders of the white parts in it.
        area: Of the thing [pixels].
    """
    parts = sorted((p for p in parts if cv.contourArea(p) > _PART * area), key=cv.contourArea, reverse=True)
    if not parts:
        return np.zeros((0, 1, 2), dtype=np.int32), 0.0
    width = _width(cv, grey, parts[0].reshape(-1, 2).astype(np.float64) + 0.5)
    both = np.concatenate(parts)
    x, y, w, h = cv.boundingRect(both)
    reach = int(np.ceil(width / 2)) + 1  # closes over a line that divides the thing, and fills no corner
    room = np.zeros((h + 4 * reach, w + 4 * reach), dtype=np.uint8)
    move = np.array([x - 2 * reach, y - 2 * reach], dtype=np.int32)
    cv.drawContours(room, [p - move for p in parts], -1, 255, cv.FILLED)
    bell = cv.getStructuringElement(cv.MORPH_ELLIPSE, (2 * reach + 1, 2 * reach + 1))
    room = cv.morphologyEx(room, cv.MORPH_CLOSE, bell)
    found, _ = cv.findContours(room, cv.RETR_EXTERNAL, cv.CHAIN_APPROX_NONE)
    largest = max(found, key=cv.contourArea)
    return largest + move, width


def _width(cv: Any, grey: Pixels, border: Array) -> float:
    """Return the width of the line round a white part [pixels]: how far it is dark from the border outward."""
    points = spaced(border[::-1])
    t = np.arange(-3.0, _REACH_PX, 0.5)
    profile = across(cv, grey, points, normals(points), t)
    paper = np.median(profile[:, :4], axis=1)
    depth = np.abs(paper[:, None] - profile)
    dark = depth > 0.5 * np.median(depth.max(axis=1))
    begins = np.argmax(dark, axis=1)
    after = np.array([np.argmax(~row[b:]) for row, b in zip(dark, begins, strict=True)])
    return float(np.clip(np.median(after[after > 0]) * 0.5, 1.0, _REACH_PX)) if (after > 0).any() else 1.0


def across(cv: Any, grey: Pixels, points: Array, normal: Array, t: Array) -> Array:
    """Return the grey at steps along normals; the library takes less than 32,768 rows at once."""
    out = np.empty((len(points), len(t)))
    for low in range(0, len(points), 20_000):
        p, n = points[low : low + 20_000], normal[low : low + 20_000]
        x = (p[:, :1] + n[:, :1] * t - 0.5).astype(np.float32)
        y = (p[:, 1:] + n[:, 1:] * t - 0.5).astype(np.float32)
        out[low : low + 20_000] = cv.remap(grey, x, y, cv.INTER_LINEAR, borderMode=cv.BORDER_REPLICATE)
    return out


def middle_of_line(
    cv: Any, grey: Pixels, points: Array, normal: Array, wide_px: float
) -> tuple[Array, Array, NDArray[np.bool_], float]:
    """Return the middle of a line along its inner side.

    Args:
        cv: The library for pictures.
        grey: The picture.
        points: (n, 2) places on the inner side, to a pixel.
        normal: (n, 2) outward.
        wide_px: About the width of the line [pixels].

    Returns:
        (n, 2) places, (n,) steps of grey, (n,) whether another line lies there, and the width of the line [pixels].
    """
    t = np.arange(-_INSIDE_PX, wide_px + 6.0, _STEP)
    profile = across(cv, grey, points, normal, t)
    profile = (np.roll(profile, 1, axis=0) + profile + np.roll(profile, -1, axis=0)) / 3
    paper = _level(profile[:, t < -2.0].mean(axis=1))
    depth = np.abs(paper[:, None] - profile)
    deepest = depth[:, t > -2.0].max(axis=1)
    level = 0.5 * float(np.median(deepest))
    first = _crossing(depth, t, level, np.argmax((depth > level) & (t > -2.5), axis=1))
    beyond = (depth < level) & (t > first[:, None] + 0.5)
    second = _crossing(depth, t, level, np.argmax(beyond, axis=1))
    wide = second - first
    usual = float(np.median(wide[beyond.any(axis=1)])) if beyond.any() else wide_px
    clear = depth[:, t < -2.0].max(axis=1) < (1 - _CLEAR) * 2 * level  # no other line there
    odd = ~clear | (deepest < level) | (np.abs(first) > 3.0)
    odd |= (np.abs(np.gradient(first)) > _JUMP) | (np.abs(wide / usual - 1) > _WIDER)
    odd = _without_islands(_widened(odd, _BESIDE))
    inner, outer = points + (first + usual / 2)[:, None] * normal, points + (second - usual / 2)[:, None] * normal
    middle = np.where(odd[:, None], points + usual / 2 * normal, inner)
    middle, odd = followed(middle, odd, (inner, outer))
    return middle, deepest, odd, usual


def followed(places: Array, odd: NDArray[np.bool_], choices: tuple[Array, ...]) -> tuple[Array, NDArray[np.bool_]]:
    """Return places with what continues the line where another one lies over it, and which are still odd.

    Args:
        places: (n, 2) closed.
        odd: (n,) where another line disturbs it.
        choices: (n, 2) each, what the line may be there, by one of its sides.
    """
    out, left = places.copy(), odd.copy()
    n = len(out)
    if left.all() or not left.any():
        return out, left
    _join_sides(out, left, choices)
    for way in (1, -1):
        order = np.arange(n)[::way]
        order = np.roll(order, -int(np.argmin(left[order])))
        kept: list[Array] = []
        missed = 0
        for k in order:
            if not left[k]:
                kept.append(out[k])
                missed = 0
            elif len(kept) >= _LOOK and missed < _MOST_MISSED:
                best = _nearest(np.array(kept[-_LOOK:]), [c[k] for c in choices])
                missed += best is None
                if best is not None:
                    out[k], left[k] = best, False
                    kept.append(best)
    return out, left


def _join_sides(out: Array, left: NDArray[np.bool_], choices: tuple[Array, ...]) -> None:
    """Fill short odd stretches whose sides run on into each other: with the choice on that curve, or with the curve."""
    n, start = len(out), int(np.argmin(left))
    for a, b in _stretches(np.roll(left, -start)):
        if b - a > _MOST_JOINED:
            continue
        sides = (start + np.concatenate([np.arange(a - _LOOK, a), np.arange(b, b + _LOOK)])) % n
        sides = sides[~left[sides]]
        inner = (start + np.arange(a, b)) % n
        if len(sides) < _LOOK:
            continue
        origin, along = out[sides[0]], out[sides[-1]] - out[sides[0]]
        along = along / max(float(np.hypot(*along)), 1e-9)
        across = np.array([-along[1], along[0]])
        u, v = (out[sides] - origin) @ along, (out[sides] - origin) @ across
        scale = max(float(np.ptp(u)), 1e-9)
        terms = np.polyfit(u / scale, v, 4)
        if np.abs(np.polyval(terms, u / scale) - v).max() > 2 * _ON_PX or np.any(np.diff(u) <= 0):
            continue
        for k in inner:
            places = [c[k] for c in choices]
            off = [float((p - origin) @ across - np.polyval(terms, (p - origin) @ along / scale)) for p in places]
            best = int(np.argmin(np.abs(off)))
            out[k] = places[best] if abs(off[best]) <= _ON_PX else places[best] - off[best] * across
            left[k] = False


def _nearest(kept: Array, choices: list[Array]) -> Array | None:
    """Return the choice that lies on the parabola through what was kept; None where none does."""
    along = kept[-1] - kept[0]
    along = along / max(float(np.hypot(*along)), 1e-9)
    across = np.array([-along[1], along[0]])
    u, v = (kept - kept[-1]) @ along, (kept - kept[-1]) @ across
    terms = np.polyfit(u, v, 2)
    off = [abs(float(np.polyval(terms, (c - kept[-1]) @ along)) - float((c - kept[-1]) @ across)) for c in choices]
    best = int(np.argmin(off))
    return choices[best] if off[best] <= _ON_PX else None


def _without_islands(odd: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Return a closed row whose short stretches between odd ones are odd as well: they may lie on the other line."""
    if odd.all() or not odd.any():
        return odd
    start = int(np.argmax(odd))
    rolled = np.roll(odd, -start)
    out = rolled.copy()
    for a, b in _stretches(~rolled):
        if b - a < _ISLAND:
            out[a:b] = True
    back: NDArray[np.bool_] = np.roll(out, start)
    return back


def _stretches(good: NDArray[np.bool_]) -> list[tuple[int, int]]:
    edges = np.flatnonzero(np.diff(np.concatenate([[False], good, [False]]).astype(int)))
    return [(int(a), int(b)) for a, b in zip(edges[::2], edges[1::2], strict=True)]


def _level(values: Array) -> Array:
    """Return the usual value near each place of a closed row: the median of a longer stretch."""
    count = len(values)
    blocks = np.array_split(values, max(1, count // 200))
    middle = np.cumsum([len(b) for b in blocks]) - np.array([len(b) for b in blocks]) / 2
    usual: Array = np.interp(np.arange(count), middle, [float(np.median(b)) for b in blocks], period=count)
    return usual


def _widened(odd: NDArray[np.bool_], by: int) -> NDArray[np.bool_]:
    """Return a closed row with what stands beside a place that is odd."""
    wide: NDArray[np.bool_] = np.any([np.roll(odd, k) for k in range(-by, by + 1)], axis=0)
    return wide


def _crossing(depth: Array, t: Array, level: float, index: NDArray[np.intp]) -> Array:
    """Return where the depth passes a level, between a step and the one before."""
    k = np.clip(index, 1, len(t) - 1)
    row = np.arange(len(depth))
    a, b = depth[row, k - 1], depth[row, k]
    share = np.clip((level - a) / np.where(np.abs(b - a) > 1e-9, b - a, np.inf), 0.0, 1.0)
    place: Array = t[k - 1] + share * (t[k] - t[k - 1])
    return place
