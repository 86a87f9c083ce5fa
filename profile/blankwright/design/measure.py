"""Reading a dimension off the curves, with its gradient by the control points."""

from __future__ import annotations

from collections.abc import Sequence, Set
from functools import lru_cache

import numpy as np

from blankwright.base.arrays import Array, evenly
from blankwright.base.errors import GeometryError
from blankwright.base.frozen import dataclass
from blankwright.design.layout import SplinePlan
from blankwright.design.parts import Dimension, Station
from blankwright.geometry.spline import Spline, span_matrices
from blankwright.geometry.steady import product

Pull = tuple[int, int, Array | None, Array | None]
"""Gradient on one spline: its number, first control point, weights on x and on y (None where zero)."""

_ENOUGH = 1e-8
"""A Newton step this small, as a share of a span, leaves its square: less than rounding."""


PLACED = ("lean", "corner", "given")
"""Measures that points are placed by, or corners rounded by: nothing is left for the fine solve."""


def driven(dimensions: Sequence[Dimension], free: Set[str]) -> list[Dimension]:
    """Return the dimensions that the fine solve brings to their values; those of free names are only measured."""
    return [d for d in dimensions if d.name not in free and d.measure.kind not in PLACED]


@dataclass(frozen=True)
class Reading:
    """A dimension's value [mm] and how it moves with the control points."""

    value_mm: float
    pulls: tuple[Pull, ...] = ()


def _row(spline: Spline, t: float, *, slope: bool = False) -> tuple[int, Array]:
    """Return the first control point and the weights that give the point, or its slope, at t."""
    last = spline.spans - 1
    span = int(t) if t < last else last
    u = t - span
    p = spline.degree
    powers = [0.0] + [k * u ** (k - 1) for k in range(1, p + 1)] if slope else [u**k for k in range(p + 1)]
    # a handful of numbers: plain sums are several times as fast as arrays
    rows = _span_rows(p, spline.spans + p)[span]
    weights = [powers[0] * c for c in rows[0]]
    for power, row in zip(powers[1:], rows[1:], strict=True):
        weights = [w + power * c for w, c in zip(weights, row, strict=True)]
    return span, np.array(weights)


@lru_cache(maxsize=64)
def _span_rows(degree: int, count: int) -> list[list[list[float]]]:
    """Return span_matrices as plain numbers."""
    rows: list[list[list[float]]] = span_matrices(degree, count).tolist()
    return rows


def _stepped(t: float, step: float, longest: float, spans: int) -> float:
    """Return a parameter after a step that is cut to the longest one, inside of the spline."""
    there = t + (longest if step > longest else -longest if step < -longest else step)
    return 0.0 if there < 0 else float(spans) if there > spans else there


class Reader:
    """Reads dimensions off a set of splines, remembering where each was found last."""

    def __init__(self, plans: tuple[SplinePlan, ...], places_mm: dict[str, float]) -> None:
        self._plans = plans
        self._places = places_mm
        self._found: dict[tuple[str, str | float], float] = {}
        self._where = {
            curve.name: (i, plan.ranges[j]) for i, plan in enumerate(plans) for j, curve in enumerate(plan.curves)
        }
        self._samples: dict[tuple[int, float, float], tuple[Array, Array]] = {}
        self.splines: list[Spline] = []
        self._pulling = True
        self._powers: list[list[list[list[float]]]] = []
        """Of each spline and span, the highest power first."""

    def look_at(self, splines: list[Spline], pulling: bool = True) -> None:
        """Set the splines that the next readings are taken from, and whether these shall say what pulls on them."""
        self.splines, self._pulling = splines, pulling
        self._samples.clear()
        self._powers = [s.powers[:, ::-1].tolist() for s in splines]

    def has(self, curve: str | None) -> bool:
        """Return whether this construction has a curve."""
        return curve in self._where

    def station_mm(self, station: Station) -> float:
        """Return the x of a station [mm]."""
        a, b = self._places[station.start], self._places[station.toward]
        if station.mm is not None:
            return a + station.mm if b > a else a - station.mm if b < a else a
        return a + (b - a) * (station.share or 0.0)

    def read(self, dimension: Dimension, given_mm: float) -> Reading:
        """Read one dimension.

        Args:
            dimension: What to read.
            given_mm: Its value for measures that are placed exactly and not read off a curve [mm].

        Raises:
            GeometryError: The curve does not reach the station.
        """
        m = dimension.measure
        if m.curve is None or m.kind in PLACED or not self.has(m.curve):
            return Reading(given_mm)
        number, (t0, t1) = self._where[m.curve]
        spline = self.splines[number]
        if m.kind == "ahead":
            return Reading(float(spline.points[-1, 0]))
        if m.kind == "behind":
            return Reading(self._places["front"] - float(spline.points[-1, 0]))
        if m.kind == "apart":
            other, _ = self._where[m.other or ""]
            return Reading(float(spline.points[-1, 1] - self.splines[other].points[-1, 1]))
        if m.kind == "above":
            return Reading(float(spline.points[-1, 1]))
        if m.kind == "flat":
            return self._flat(number)
        if m.kind in ("foremost", "foremost-height", "rearmost"):
            return self._extreme(m.kind, m.curve, number, t0, t1)
        assert m.station is not None
        first = self._height(m.curve, self.station_mm(m.station))
        if m.kind == "height":
            return first
        if m.kind == "drop":
            assert m.second is not None
            second = self._height(m.curve, self.station_mm(m.second))
        else:
            assert m.other is not None
            second = self._height(m.other, self.station_mm(m.station))
        minus = tuple((n, i, None if x is None else -x, None if y is None else -y) for n, i, x, y in second.pulls)
        return Reading(first.value_mm - second.value_mm, first.pulls + minus)

    def _flat(self, number: int) -> Reading:
        spline = self.splines[number]
        straight = spline.straight_spans
        run = len(straight) if straight.all() else int(straight.argmin())
        if run == 0:
            raise GeometryError("the edge has no flat: its first points do not lie on one line")
        index, weights = _row(spline, float(run))
        return Reading(
            float(product(weights[None], spline.points[index : index + len(weights)])[0, 0]),
            ((number, index, weights, None),),
        )

    def _horner(self, number: int, t: float) -> tuple[float, float, float, float, float]:
        """Return x, y, x', y', x'' at t in plain floats (numpy is slow on single numbers)."""
        last = self.splines[number].spans - 1
        span = int(t) if t < last else last
        u = t - span
        x = y = dx = dy = ddx = 0.0
        for cx, cy in self._powers[number][span]:
            ddx = ddx * u + 2 * dx
            dx = dx * u + x
            dy = dy * u + y
            x = x * u + cx
            y = y * u + cy
        return x, y, dx, dy, ddx

    def _height(self, curve: str, x_mm: float) -> Reading:
        number, (t0, t1) = self._where[curve]
        spline = self.splines[number]
        key = (curve, x_mm)
        t = self._found.get(key)
        if t is None:
            t = self._search(number, t0, t1, x_mm, curve)
        enough = _ENOUGH * spline.spans
        for _ in range(30):
            x, y, dx, dy, _ = self._horner(number, t)
            if dx == 0:
                break
            step = (x_mm - x) / dx
            t = _stepped(t, step, 0.5, spline.spans)
            if -enough < step < enough:
                break
        x, y, dx, dy, _ = self._horner(number, t)
        if abs(x - x_mm) > 1e-7 or dx == 0:
            raise GeometryError(f"the curve '{curve}' does not reach x = {x_mm:.2f} mm")
        self._found[key] = t
        if not self._pulling:
            return Reading(y)
        index, weights = _row(spline, t)
        return Reading(y, ((number, index, weights * (-dy / dx), weights),))

    def _search(self, number: int, t0: float, t1: float, x_mm: float, curve: str) -> float:
        """Find the crossing of a station nearest to the middle of a curve's own stretch."""
        t, x = self._sampled(number, t0, t1)
        off = x - x_mm
        cross = (off[:-1] * off[1:] <= 0).nonzero()[0]
        if not len(cross):
            raise GeometryError(f"the curve '{curve}' does not reach x = {x_mm:.2f} mm")
        nearest = np.abs(t[cross] - (t0 + t1) / 2).argmin() if len(cross) > 1 else 0
        i = int(cross[nearest])
        share = off[i] / (off[i] - off[i + 1]) if off[i] != off[i + 1] else 0.0
        return float(t[i] + (t[i + 1] - t[i]) * share)

    def _sampled(self, number: int, t0: float, t1: float) -> tuple[Array, Array]:
        """Return parameters on and about a curve's stretch, and x there [mm]."""
        key = (number, t0, t1)
        if key not in self._samples:
            spline = self.splines[number]
            t = evenly(max(t0 - 2, 0.0), min(t1 + 2, float(spline.spans)), max(16, 8 * int(t1 - t0 + 4)))
            self._samples[key] = t, spline.at(t)[:, 0]
        return self._samples[key]

    def _extreme(self, kind: str, curve: str, number: int, t0: float, t1: float) -> Reading:
        spline = self.splines[number]
        key: tuple[str, str | float] = (curve, "rear" if kind == "rearmost" else "fore")
        t = self._found.get(key)
        if t is None:
            grid = evenly(max(t0 - 1, 0.0), min(t1 + 1, float(spline.spans)), max(16, 10 * int(t1 - t0 + 3)))
            x = spline.at(grid)[:, 0]
            t = float(grid[int(x.argmin() if kind == "rearmost" else x.argmax())])
        for _ in range(30):
            _, _, dx, _, ddx = self._horner(number, t)
            if ddx == 0:
                break
            step = -dx / ddx
            t = _stepped(t, step, 0.3, spline.spans)
            if -1e-12 < step < 1e-12:
                break
        x_mm, y_mm, dx, dy, ddx = self._horner(number, t)
        if abs(dx) > 1e-6 or ddx == 0:
            raise GeometryError(f"the curve '{curve}' has no {'rear' if kind == 'rearmost' else 'fore'}most point")
        self._found[key] = t
        if not self._pulling:
            front = self._places["front"]
            return Reading({"foremost": x_mm, "rearmost": front - x_mm, "foremost-height": y_mm}[kind])
        index, weights = _row(spline, t)
        if kind == "foremost":
            return Reading(x_mm, ((number, index, weights, None),))
        if kind == "rearmost":
            return Reading(self._places["front"] - x_mm, ((number, index, -weights, None),))
        _, slope = _row(spline, t, slope=True)
        return Reading(y_mm, ((number, index, slope * (-dy / ddx), weights),))
