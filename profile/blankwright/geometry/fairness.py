"""How fair a curve is: hollows and bumps, straight runs, tightest bend.

Along a fair edge the curvature grows to one place and falls from there, or only grows. A place where the curve
turns less and then more again is felt as a bump by a thumb run along the edge; a change of sign is a hollow.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from blankwright.base.arrays import Array, evenly
from blankwright.base.frozen import dataclass
from blankwright.geometry.outline import Outline, points_on
from blankwright.geometry.spline import Spline

STEADY = 0.05
"""A dip in curvature smaller than this share of its largest value cannot be seen or felt."""
_PER_SPAN = 24


@dataclass(frozen=True)
class Fairness:
    """Health of a curve.

    Args:
        bumps_mm: (x, y) of every place where the curve bends less and then more again [mm].
        hollows_mm: (x, y) of every change of the side it bends to [mm].
        longest_flat_mm: Length of the longest true straight [mm].
        flat_from_mm: (x, y) where that straight begins [mm].
        least_radius_mm: Tightest bend [mm].
        least_at_mm: (x, y) of the tightest bend [mm].
    """

    bumps_mm: tuple[tuple[float, float], ...]
    hollows_mm: tuple[tuple[float, float], ...]
    longest_flat_mm: float
    flat_from_mm: tuple[float, float]
    least_radius_mm: float
    least_at_mm: tuple[float, float]


def fairness(spline: Spline, t0: float, t1: float) -> Fairness:
    """Look at a spline between two parameters, run so that it should turn left (counter-clockwise).

    Sampled 24 times a span: a bump narrower than an eighth of a span cannot be drawn by a cubic.
    """
    t = evenly(t0, t1, max(2, int(np.ceil((t1 - t0) * _PER_SPAN))) + 1)
    p, k = spline.at(t), spline.curvature(t)
    top = float(np.abs(k).max())
    least = int(np.abs(k).argmax())
    flat, start = _longest_straight(spline, t0, t1)
    return Fairness(
        bumps_mm=tuple(_place(p[i]) for i in _dips(k, STEADY * top)),
        hollows_mm=tuple(_place(p[i]) for i in _sign_changes(k, 1e-3 * top)),
        longest_flat_mm=flat,
        flat_from_mm=start,
        least_radius_mm=1 / top if top > 0 else np.inf,
        least_at_mm=_place(p[least]),
    )


SHORT_MM = 1.0
"""An arc no longer than this says nothing of how tightly a line bends."""

SEEN_MM = 0.02
"""An outline that is known no better was seen, not drawn: the arcs of a line that was seen follow its noise."""

_CHORD_MM, _STEP_MM = 30.0, 1.0
"""A line that was seen is looked at over such chords: noise of 0.06 mm changes a radius of 400 mm by a fifth there."""


def fairness_of_arcs(outline: Outline, run: NDArray[np.intp], within_mm: float) -> Fairness:
    """Look at pieces of an outline that follow each other and should turn left (counter-clockwise).

    Args:
        outline: The outline.
        run: Numbers of the pieces, in order.
        within_mm: How far the outline may be from the thing: no hollow that is flatter is told, and no bump at all, for
            a change of curvature is within any such error [mm].
    """
    a, b, bulges = outline.starts[run], outline.ends[run], outline.bulges[run]
    deep = np.abs(bulges) * outline.chord_lengths[run] / 2
    bends = outline.curvatures[run]
    long = outline.lengths[run] >= SHORT_MM
    hollow = np.flatnonzero((bends < 0) & (deep > within_mm))
    straight = np.where(bulges == 0, outline.chord_lengths[run], 0.0)
    flat = int(straight.argmax()) if len(run) else 0
    turning = np.where(long, np.abs(bends), 0.0)
    least = int(turning.argmax()) if len(run) else 0
    top = float(turning[least]) if len(run) else 0.0
    place = _place((a[least] + b[least]) / 2) if len(run) else (0.0, 0.0)
    if within_mm > SEEN_MM and len(run):
        top, place = _over_chords(outline, run)
    return Fairness(
        bumps_mm=(),
        hollows_mm=tuple(_place((a[i] + b[i]) / 2) for i in hollow),
        longest_flat_mm=float(straight[flat]) if len(run) else 0.0,
        flat_from_mm=_place(a[flat]) if len(run) else (0.0, 0.0),
        least_radius_mm=1 / top if top > 0 else np.inf,
        least_at_mm=place,
    )


def along_run(outline: Outline, run: NDArray[np.intp], along_mm: Array) -> tuple[Array, NDArray[np.intp]]:
    """Return (n, 2) places at (n,) lengths along pieces that follow each other [mm], and the piece of each."""
    ends = np.concatenate([[0.0], np.cumsum(outline.lengths[run])])
    number = np.clip(ends.searchsorted(along_mm, side="right") - 1, 0, len(run) - 1)
    at, share = run[number], (along_mm - ends[number]) / outline.lengths[run[number]]
    return points_on(outline.starts[at], outline.ends[at], outline.bulges[at], share), at


def _over_chords(outline: Outline, run: NDArray[np.intp]) -> tuple[float, tuple[float, float]]:
    """Return the greatest bend of a line by circles through three places half a chord apart, and where it is."""
    long_mm = float(outline.lengths[run].sum())
    half = min(_CHORD_MM, long_mm / 3) / 2
    apart = int(np.ceil(half / _STEP_MM))
    p, _ = along_run(outline, run, np.arange(0.0, long_mm, half / apart))
    first, second = p[apart:-apart] - p[: -2 * apart], p[2 * apart :] - p[apart:-apart]
    third = p[2 * apart :] - p[: -2 * apart]
    across = first[:, 0] * second[:, 1] - first[:, 1] * second[:, 0]
    bend = 2 * np.abs(across) / (np.hypot(*first.T) * np.hypot(*second.T) * np.hypot(*third.T))
    most = int(bend.argmax())
    return float(bend[most]), _place(p[apart + most])


def _place(point: Array) -> tuple[float, float]:
    return float(point[0]), float(point[1])


def _dips(k: Array, depth: float) -> list[int]:
    """Return the lowest place of every dip that is deeper than a depth on both sides."""
    found = []
    low = high = float(k[0])
    low_at, falling = 0, False
    for i, value in enumerate(k.tolist()):
        if not falling:
            high = value if value > high else high
            if high - value > depth:
                falling, low, low_at = True, value, i
        elif value < low:
            low, low_at = value, i
        elif value - low > depth:
            found.append(low_at)
            falling, high = False, value
    return found


def _sign_changes(k: Array, least: float) -> list[int]:
    strong = (np.abs(k) > least).nonzero()[0]
    flips = np.diff(np.sign(k[strong])).nonzero()[0]
    return [int(strong[i + 1]) for i in flips]


def _longest_straight(spline: Spline, t0: float, t1: float) -> tuple[float, tuple[float, float]]:
    best, start, at = 0.0, (0.0, 0.0), None
    straight = spline.straight_spans
    for span in range(int(np.floor(t0)), int(np.ceil(t1)) + 1):
        inside = span < min(spline.spans, t1) and bool(straight[min(span, spline.spans - 1)])
        if inside and at is None:
            at = max(float(span), t0)
        if not inside and at is not None:
            ends = spline.at(np.array([at, min(float(span), t1)]))
            length = float(np.hypot(*(ends[1] - ends[0])))
            if length > best:
                best, start = length, _place(ends[0])
            at = None
    return best, start
