"""Bars in a picture: a line with long ticks at its 0 and at its 100 mm, as on a printed page, or a plain bar."""

from __future__ import annotations

from typing import Any

import numpy as np

from blankwright.base.arrays import Array
from blankwright.base.frozen import dataclass
from blankwright.lift.contour import PixelCurves, border_at, clearest_channel
from blankwright.lift.pictures import Pixels, library
from blankwright.lift.scale import BAR_MM, Axis, Candidate

_OUT_MM = (0.8, 1.4, 2.0, 2.7, 3.1, 3.5)
"""So far from the line a long tick is dark everywhere; the others end at 2.2 mm."""
_LEAST_DEPTH = 8.0
_LEAST_MM = 40.0
_THIN = 0.15
_LEVEL_DEG = 20.0
_NEAR = 0.05
_ON_LINE = 0.55
"""More than half of the border of a line with ticks runs along it."""
_LEAST_CAP, _FLAT_CAP_PX = 8, 3.0
"""A short side of a bar has so many places at least, and they lie so near to one line across it."""


@dataclass(frozen=True, eq=False)
class Bar:
    """A bar.

    Args:
        axis: Along which side of the picture it lies.
        ends: (2, 2) its ends, or its ticks of 0 and 100 mm [pixels].
        ticked: Whether these are ticks.
    """

    axis: Axis
    ends: Array
    ticked: bool

    def candidate(self) -> Candidate:
        """Return it as what may have been measured."""
        dx, dy = np.abs(self.ends[1] - self.ends[0]).tolist()
        words = "the 100 mm bar between its long ticks" if self.ticked else "the bar beside the thing"
        return Candidate(self.axis, words, lambda x, y: float(np.hypot(dx * x, dy * y)))


def bars_in(image: Pixels, curves: PixelCurves, pixel_mm: float) -> list[Bar]:
    """Return the bars of a picture, ticked ones first.

    Args:
        image: The picture.
        curves: What is seen in it.
        pixel_mm: About the size of a pixel [mm].
    """
    cv = library("cv2", "finding bars in a picture")
    grey = clearest_channel(cv, image)
    found = []
    for curve in curves.others:
        bar = _bar(cv, grey, curve, pixel_mm)
        if bar is not None:
            found.append(bar)
    return sorted(found, key=lambda b: not b.ticked)


def _bar(cv: Any, grey: Pixels, curve: Array, pixel_mm: float) -> Bar | None:
    low, high = curve.min(axis=0), curve.max(axis=0)
    long = float(np.hypot(*(high - low))) * pixel_mm
    if long < _LEAST_MM:
        return None
    middle = curve.mean(axis=0)
    _, _, axes = np.linalg.svd(curve - middle, full_matrices=False)
    along = axes[0] * np.sign(axes[0][np.argmax(np.abs(axes[0]))])
    across = np.array([-along[1], along[0]])
    s, v = (curve - middle) @ along, (curve - middle) @ across
    if np.ptp(v) > _THIN * np.ptp(s):
        return None
    axis: Axis = "x" if abs(along[0]) > abs(along[1]) else "y"
    if np.degrees(np.arccos(min(1.0, float(np.abs(along).max())))) > _LEVEL_DEG:
        return None
    line = float(np.median(v))
    for _ in range(3):  # the line itself: most of the border runs along it, on both sides alike
        near = np.abs(v - line) < 1.0 / pixel_mm
        slope, line_at = np.polyfit(s[near], v[near], 1)
        turned = along + slope * across
        along = turned / np.hypot(*turned)
        across = np.array([-along[1], along[0]])
        middle = middle + line_at * across
        s, v = (curve - middle) @ along, (curve - middle) @ across
        line = 0.0
    thin = float((np.abs(v) < 1.0 / pixel_mm).mean()) > _ON_LINE  # of a broad bar one side at most lies there
    ticks = _ticks(cv, grey, middle, along, across, (float(s.min()), float(s.max())), pixel_mm) if thin else []
    if len(ticks) >= 2:
        apart = [abs((t - ticks[0]) * pixel_mm / BAR_MM - 1) for t in ticks[1:]]
        best = int(np.argmin(apart))
        if apart[best] < _NEAR:
            return Bar(axis, np.stack([middle + ticks[0] * along, middle + ticks[1 + best] * along]), True)
        back = [abs((ticks[-1] - t) * pixel_mm / BAR_MM - 1) for t in ticks[:-1]]
        best = int(np.argmin(back))
        if back[best] < _NEAR:
            return Bar(axis, np.stack([middle + ticks[best] * along, middle + ticks[-1] * along]), True)
    return Bar(axis, _plain_ends(border_at(cv, grey, curve)), False)


def _plain_ends(border: Array) -> Array:
    """Return both ends of a bar without ticks: the middles of its short sides, or how far it reaches where they bend.

    Args:
        border: (n, 2) places all round it [pixels].
    """
    middle = border.mean(axis=0)
    along = np.linalg.svd(border - middle, full_matrices=False)[2][0]
    for _ in range(2):  # along both long sides alike: their middle would have nothing to lie along
        across = np.array([-along[1], along[0]])
        s, v = (border - middle) @ along, (border - middle) @ across
        far = np.abs(s) < 0.45 * np.ptp(s)
        slopes = [np.polyfit(s[side], v[side], 1)[0] for side in (far & (v > 0), far & (v < 0)) if side.sum() > 2]
        along = along + float(np.mean(slopes)) * across if slopes else along
        along = along / np.hypot(*along)
    s, v = (border - middle) @ along, (border - middle) @ np.array([-along[1], along[0]])
    ends = np.percentile(s, (0.5, 99.5))
    caps = [s[(np.abs(v) < 0.3 * np.ptp(v)) & (np.sign(s) == sign)] for sign in (-1, 1)]
    if all(len(cap) >= _LEAST_CAP and np.ptp(cap) < _FLAT_CAP_PX for cap in caps):
        ends = np.array([np.median(cap) for cap in caps])
    places: Array = middle + ends[:, None] * along
    return places


def _ticks(
    cv: Any, grey: Pixels, middle: Array, along: Array, across: Array, span: tuple[float, float], pixel_mm: float
) -> list[float]:
    """Return where long ticks cross the bar [pixels along it]: dark from the bar out to where only they reach."""
    s = np.arange(span[0] - 6.0, span[1] + 6.0, 0.25)
    sides = []
    for side in (1.0, -1.0):
        place = np.stack([middle + s[:, None] * along + (side * o / pixel_mm) * across - 0.5 for o in _OUT_MM])
        values = cv.remap(
            grey,
            place[..., 0].T.astype(np.float32),
            place[..., 1].T.astype(np.float32),
            cv.INTER_LINEAR,
            borderMode=cv.BORDER_REPLICATE,
        ).astype(np.float64)
        sides.append(np.abs(values - np.median(values)).min(axis=1))  # words are dark at some places only
    depth = np.maximum(sides[0], sides[1])
    level = 0.4 * float(depth.max(initial=0.0))
    if level < _LEAST_DEPTH:
        return []
    found = []
    edges = np.flatnonzero(np.diff(np.concatenate([[False], depth > level, [False]]).astype(int)))
    for a, b in zip(edges[::2], edges[1::2], strict=True):
        a0, b0 = max(a - 6, 0), min(b + 6, len(s))
        found.append(float(np.average(s[a0:b0], weights=depth[a0:b0])))
    return found
