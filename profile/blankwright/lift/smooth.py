"""A smooth curve through places that jump about: as stiff as they allow, and no stiffer.

A cubic B-spline is fitted by least squares with a penalty on its third derivative (penalised splines: Eilers and
Marx, "Flexible smoothing with B-splines and penalties", Statistical Science 11, 1996). How stiff it is differs along
the curve: it begins stiff everywhere, and is softened where the places say together that it misses them.
"""

from __future__ import annotations

import math

import numpy as np

from blankwright.base.arrays import Array
from blankwright.base.frozen import dataclass
from blankwright.geometry.spline import Spline, span_matrices
from blankwright.lift.sides import LAG

STIFF_MM = 80.0
"""A wave of this length is halved where the curve is stiffest [mm]."""
_ROUNDS = 24
_SOFTER, _JUMPS = 8.0, 4.0
_HEAVY = 1e6
_STRAIGHT_MM = 12.0
"""A straight run at least this long becomes a line."""


@dataclass(frozen=True, eq=False)
class Fitted:
    """A smooth curve.

    Args:
        spline: The curve.
        length: Of its places [mm].
        rest: (m,) how far each place lies from it, across [mm].
    """

    spline: Spline
    length: float
    rest: Array


def smooth(
    points: Array,
    weights: Array,
    ends: tuple[Array | None, Array | None],
    soft_mm: float,
    limit_mm: float,
    jumps_mm: float,
) -> Fitted:
    """Return a smooth curve along places.

    Args:
        points: (m, 2) places in their order [mm].
        weights: (m,) how much each counts.
        ends: Where the curve must begin and end; None where it need not.
        soft_mm: A wave of this length is halved where the curve is softest [mm].
        limit_mm: What the mean of neighbouring places may be off before the curve is softened there [mm].
        jumps_mm: What single places jump about; means of them may be off by what is left of it [mm].
    """
    if ends[0] is not None:
        points, weights = np.vstack([ends[0], points]), np.concatenate([[_HEAVY], weights])
    if ends[1] is not None:
        points, weights = np.vstack([points, ends[1]]), np.concatenate([weights, [_HEAVY]])
    step = np.hypot(*np.diff(points, axis=0).T)
    way = np.concatenate([[0.0], np.cumsum(step)])
    length = float(way[-1])
    spans = int(np.clip(np.ceil(length / (soft_mm / 3.0)), 4, 6_000))
    h = length / spans
    t = np.clip(way / h, 0.0, spans)
    fit = _Fit(points, weights, t, spans, h, length)
    wave = np.full(spans, min(STIFF_MM, max(2.0 * length, soft_mm)))
    least = soft_mm
    control = fit.solved(wave)
    near = min(max(3, int(0.5 * soft_mm / (length / len(points)))), (len(points) - 1) // 2)
    for _ in range(_ROUNDS):
        bad = np.zeros(len(t), dtype=bool)
        for many in (near, 4 * near):
            if 2 * many < len(t):
                left = _JUMPS * jumps_mm * np.sqrt(LAG / (2 * many + 1))
                bad |= fit.misses(control, many) > max(limit_mm, left)
        softer = np.zeros(spans, dtype=bool)
        softer[np.minimum(t[bad].astype(int), spans - 1)] = True
        softer = np.any([softer, *(_moved(softer, k) for k in (-2, -1, 1, 2))], axis=0)
        softer &= wave > least * 1.001
        if not softer.any():
            break
        wave = np.where(softer, np.maximum(wave / _SOFTER ** (1 / 3), least), wave)
        control = fit.solved(wave)
    control = _straightened(control, h, max(limit_mm, jumps_mm))
    for k, end in ((0, ends[0]), (-1, ends[1])):
        if end is not None:
            control[k] = end
    return Fitted(Spline(control, 3), length, fit.rest(control))


def _moved(row: Array, by: int) -> Array:
    """Return a row moved by some places, nothing coming in."""
    out = np.zeros_like(row)
    out[max(by, 0) : len(row) + min(by, 0)] = row[max(-by, 0) : len(row) - max(by, 0)]
    return out


class _Fit:
    """Normal equations of a cubic B-spline; banded, three beside the middle."""

    def __init__(self, points: Array, weights: Array, t: Array, spans: int, h: float, length: float) -> None:
        self.points, self.weights, self.t, self.h = points, weights, t, h
        self.count = spans + 3
        self.matrices = span_matrices(3, self.count)
        self.span = np.minimum(t.astype(int), spans - 1)
        u = t - self.span
        powers = np.stack([np.ones_like(u), u, u * u, u * u * u], axis=1)
        self.rows = np.einsum("mk,mkj->mj", powers, self.matrices[self.span])
        self.density = len(points) / length
        self.bands = np.zeros((4, self.count))
        self.right = np.zeros((self.count, 2))
        for a in range(4):
            np.add.at(self.right, self.span + a, (weights * self.rows[:, a])[:, None] * points)
            for b in range(a, 4):
                np.add.at(self.bands[b - a], self.span + a, weights * self.rows[:, a] * self.rows[:, b])

    def solved(self, wave: Array) -> Array:
        """Return the control points for a stiffness of each span, by the wave length that it halves [mm]."""
        from scipy.linalg import solveh_banded  # noqa: PLC0415 - loaded only where something is fitted

        third = 6.0 * self.matrices[:, 3, :]
        stiff = self.density * (wave / (2 * np.pi)) ** 6 / self.h**5
        bands = self.bands.copy()
        bands[0] += 1e-9
        j = np.arange(len(wave))
        for a in range(4):
            for b in range(a, 4):
                np.add.at(bands[b - a], j + a, stiff * third[:, a] * third[:, b])
        lower = np.zeros_like(bands)
        for d in range(4):
            lower[d, : self.count - d] = bands[d, : self.count - d]
        control: Array = solveh_banded(lower, self.right, lower=True, check_finite=False)
        return control

    def _off(self, control: Array) -> Array:
        at = np.einsum("mj,mjc->mc", self.rows, control[self.span[:, None] + np.arange(4)])
        off: Array = self.points - at
        return off

    def misses(self, control: Array, near: int) -> Array:
        """Return how far neighbouring places together lie from the curve [mm]."""
        light = np.where(self.weights < _HEAVY, self.weights, 0.0)
        off = self._off(control) * light[:, None]
        bell = np.ones(2 * near + 1)
        share = np.convolve(light, bell, mode="same")
        mean = [np.convolve(off[:, a], bell, mode="same") / np.maximum(share, 1e-3) for a in (0, 1)]
        missed: Array = np.hypot(mean[0], mean[1])
        return missed

    def rest(self, control: Array) -> Array:
        """Return how far each place lies from the curve, across [mm]."""
        off, spline = self._off(control), Spline(control, 3)
        along = spline.tangents(np.clip(self.t, 0, spline.spans - 1e-9))
        rest: Array = np.abs(off[:, 0] * along[:, 1] - off[:, 1] * along[:, 0])
        return rest[self.weights < _HEAVY]


def _straightened(control: Array, h: float, limit_mm: float) -> Array:
    """Return control points that lie on a line wherever they do so within what is known of them."""
    out = control.copy()
    least = int(np.ceil(_STRAIGHT_MM / h))
    k, n = 0, len(control)
    while k + least < n:
        reach = _run(control, k, least, limit_mm)
        if reach is None:
            k += max(1, least // 8)
            continue
        part = control[k:reach]
        middle, along = _line(part)
        out[k:reach] = middle + ((part - middle) @ along)[:, None] * along
        k = reach
    return out


def _line(points: Array) -> tuple[Array, Array]:
    middle = points.mean(axis=0)
    _, _, axes = np.linalg.svd(points - middle, full_matrices=False)
    return middle, axes[0]


def _off_line(points: Array) -> Array:
    middle, along = _line(points)
    d = points - middle
    off: Array = d[:, 0] * along[1] - d[:, 1] * along[0]
    return off


def _breadth(a: Array, b: Array, c: Array) -> float:
    """Return the least height of a triangle: no line lies nearer than half of it to all three corners."""
    (ux, uy), (vx, vy) = (b - a).tolist(), (c - a).tolist()
    longest = max(math.hypot(ux, uy), math.hypot(vx, vy), math.hypot(vx - ux, vy - uy))
    return abs(ux * vy - uy * vx) / longest if longest > 0 else 0.0


def _run(control: Array, start: int, least: int, limit_mm: float) -> int | None:
    """Return where a straight run from a control point ends; None where it is too short, or the part of a bow."""
    n = len(control)

    def fits(end: int) -> bool:
        if _breadth(control[start], control[(start + end) // 2], control[end - 1]) > 2.001 * limit_mm:
            return False  # three of them are further than that from any line
        return bool(np.abs(_off_line(control[start:end])).max() <= limit_mm)

    if not fits(start + least):
        return None
    low, high = start + least, n
    while low < high:
        middle = (low + high + 1) // 2
        low, high = (middle, high) if fits(middle) else (low, middle - 1)
    part = control[start:low]
    inner = part[int(len(part) * 0.15) : max(int(len(part) * 0.85), 4)]
    if len(inner) < 4:
        return None
    u = np.linspace(-1, 1, len(inner))
    bow = np.polyfit(u, _off_line(inner), 2)[0]
    return low if abs(bow) <= 0.22 * limit_mm else None
