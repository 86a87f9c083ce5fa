"""Where the grind shows on the face of a blade: the grind line, and the plunge line where it begins.

The grind line lies a height above the edge, measured upright at each x, as section.py measures it: it is the edge's
own arcs moved up, exact. Where a plunge has a radius the ground surface runs out in a curve, drawn as short straight
pieces within STEP_MM.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from blankwright.base.arrays import Array
from blankwright.design.tang import chord_at
from blankwright.geometry.chain import Chain
from blankwright.geometry.distance import crossings
from blankwright.geometry.outline import Outline, points_on
from blankwright.solid.blade import face_mm, running_one_way
from blankwright.solid.ground import Ground
from blankwright.solid.section import ground_heights

STEP_MM = 0.005
"""A plunge line's straight pieces follow the curve within this."""
_HEEL_MM = 0.01
_SHORT_MM = 1e-6


def shown_side(ground: Ground) -> int:
    """Return which side's lines are drawn: 0 the right, the face that is seen, if anything is ground there, else 1."""
    return 0 if ground.bevels.right_share > 0 else 1


def begin_mm(ground: Ground) -> float:
    """Return where the bevel has its full depth [mm]: ahead of a plunge line, or at the heel."""
    if ground.plunge is None:
        return 0.0
    return ground.plunge.full_mm(face_mm(ground.plunge, ground.taper, ground.bevels))


def grind_lines(outline: Outline, ground: Ground) -> list[Chain]:
    """Return the grind line, in pieces where it leaves the blade; nothing for a blade ground to the spine.

    Args:
        outline: The finished outline.
        ground: How the blade is ground.
    """
    height = ground.bevels.height_mm
    if height is None:
        return []
    begin = max(begin_mm(ground), 0.0)
    a, b, g = running_one_way(outline)
    lower = (b[:, 0] - a[:, 0] > _SHORT_MM) & (b[:, 0] > begin + _SHORT_MM)  # counter-clockwise: the edge runs ahead
    order = np.argsort(a[lower, 0])
    up = np.array([0.0, height])
    a, b, g = a[lower][order] + up, b[lower][order] + up, g[lower][order]
    return _chains(_inside(a, b, g, outline, begin, height))


def _inside(a: Array, b: Array, g: Array, outline: Outline, begin: float, height: float) -> list[tuple[Array, Array]]:
    """Return the stretches of some pieces that lie on the blade: (start with bulge, end)."""
    _, low, _, high = outline.bounds_mm
    others = np.array([[begin, low - 1.0]]), np.array([[begin, high + 1.0]])
    starts = np.vstack([a, outline.starts, others[0]])
    ends = np.vstack([b, outline.ends, others[1]])
    bulges = np.concatenate([g, outline.bulges, [0.0]])
    n, m = len(a), len(outline) + 1
    first, s, second, t = crossings(starts, ends, bulges, np.repeat(np.arange(n), m), np.tile(np.arange(n, n + m), n))
    found: list[tuple[Array, Array]] = []
    for i in range(n):
        cut = np.concatenate([s[first == i], t[second == i]])
        stops = sorted({0.0, *cut[(cut > 1e-9) & (cut < 1 - 1e-9)].tolist(), 1.0})
        for one, two in pairwise(stops):
            three = points_on(a[[i] * 3], b[[i] * 3], g[[i] * 3], np.array([one, (one + two) / 2, two]))
            x = float(three[1, 0])
            chord = chord_at(outline, x)
            if x > begin and chord is not None and chord[1] - chord[0] > height:
                bulge = float(np.tan(np.arctan(g[i]) * (two - one)))
                found.append((np.array([*three[0], bulge]), three[2]))
    return found


def _chains(pieces: list[tuple[Array, Array]]) -> list[Chain]:
    """Join stretches that follow on each other."""
    chains: list[list[Array]] = []
    end: Array | None = None
    for start, stop in pieces:
        if end is None or np.hypot(*(start[:2] - end)) > 1e-5:
            chains.append([])
        else:
            chains[-1].pop()
        chains[-1] += [start, np.array([*stop, 0.0])]
        end = stop
    return [Chain(np.array(rows)) for rows in chains]


def plunge_line(outline: Outline, ground: Ground) -> Chain | None:
    """Return where the grind begins on the shown side, from the edge up; None for ground through to the heel.

    Args:
        outline: The finished outline.
        ground: How the blade is ground.
    """
    plunge = ground.plunge
    if plunge is None:
        return None
    full = begin_mm(ground)
    reach = full - plunge.at_mm
    turn = np.arcsin(min(reach / plunge.radius_mm, 1.0)) if plunge.radius_mm > 0 else 0.0
    count = max(int(np.ceil(turn * np.sqrt(outline.size_mm[1] / STEP_MM) * 1.2)), 1)
    x = full - plunge.radius_mm * np.sin(np.linspace(turn, 0.0, count + 1))
    x[0] = max(plunge.at_mm, _HEEL_MM)
    x = np.maximum(x, x[0])
    if reach <= _SHORT_MM:
        x = x[:1]
    chords = [chord_at(outline, float(p)) for p in x]
    if any(chord is None for chord in chords):
        return None
    low, high = np.array([c for c in chords if c is not None]).T
    just = x + 1e-9  # the step begins just ahead of the plunge line, not on it
    out = plunge.out_mm(just, face_mm(plunge, ground.taper, ground.bevels))
    tops = ground_heights(high - low, ground.taper.at(x), ground.bevels, out)[shown_side(ground)]
    points = [(x[0], low[0]), *zip(x, low + tops, strict=True)]
    kept = [points[0]]
    for point in points[1:]:
        if np.hypot(point[0] - kept[-1][0], point[1] - kept[-1][1]) > 1e-4:
            kept.append(point)
    return Chain(np.array([[px, py, 0.0] for px, py in kept])) if len(kept) > 1 else None
