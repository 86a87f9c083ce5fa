"""B-splines of control points: evaluated, differentiated and measured.

A spline of degree p with n control points has n - p spans. Its parameter t runs from 0 to n - p; the whole
part of t is the span, the rest the place in it. The ends are clamped: the curve starts at the first
control point and ends at the last. Source: de Boor, "A Practical Guide to Splines", chapters IX to XI.
"""

from __future__ import annotations

from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import NDArray

from blankwright.base.arrays import Array
from blankwright.base.errors import GeometryError
from blankwright.base.frozen import dataclass
from blankwright.geometry.steady import product

STRAIGHT_MM = 1e-9
"""A span whose control points leave its chord by less than this is a straight line; far below any tool."""


def _knots(degree: int, count: int) -> Array:
    inner = np.arange(count - degree + 1, dtype=np.float64)
    return np.concatenate([np.zeros(degree), inner, np.full(degree, inner[-1])])


def _basis_powers(knots: Array, degree: int, span: int) -> Array:
    """Return the power coefficients of the basis functions that do not vanish on a span, one function a row.

    Cox - de Boor on polynomials in u = t - span instead of numbers: nothing is interpolated, so the coefficients are
    good to the last digit.
    """
    left = span + degree  # index of the knot at the span's start
    values = np.zeros((degree + 1, degree + 1))
    values[0, 0] = 1.0
    for k in range(1, degree + 1):
        saved = np.zeros(degree + 1)
        for r in range(k):
            high, low = knots[left + r + 1], knots[left + 1 - k + r]
            share = values[r] / (high - low)
            times_u = np.concatenate([[0.0], share[:-1]])
            values[r] = saved + (high - span) * share - times_u
            saved = times_u - (low - span) * share
        values[k] = saved
    return values


@lru_cache(maxsize=64)
def span_matrices(degree: int, count: int) -> Array:
    """Return (spans, degree + 1, degree + 1): power coefficients in the local u from control points.

    Row k of a matrix gives the coefficient of u^k; the columns are the control points span .. span + degree.

    Raises:
        GeometryError: Fewer control points than degree + 1.
    """
    if count < degree + 1:
        raise GeometryError(f"a curve of degree {degree} needs at least {degree + 1} points, got {count}")
    knots = _knots(degree, count)
    out = np.stack([_basis_powers(knots, degree, span).T for span in range(count - degree)])
    out.setflags(write=False)
    return out


@lru_cache(maxsize=64)
def greville(degree: int, count: int) -> Array:
    """Return the (count,) parameter at which each control point pulls most (Greville abscissa)."""
    knots = _knots(degree, count)
    return np.array([knots[i + 1 : i + degree + 1].mean() for i in range(count)])


@lru_cache(maxsize=64)
def _window(degree: int, count: int) -> NDArray[np.intp]:
    return np.arange(count - degree)[:, None] + np.arange(degree + 1)[None, :]


@dataclass(frozen=True, eq=False)
class Spline:
    """A clamped uniform B-spline.

    Args:
        points: (n, 2) control points [mm].
        degree: 1 (a line between two points) to 5.
    """

    points: Array
    degree: int

    @cached_property
    def spans(self) -> int:
        """Number of polynomial spans; t runs from 0 to this."""
        return len(self.points) - self.degree

    @cached_property
    def powers(self) -> Array:
        """(spans, degree + 1, 2) power coefficients in the local parameter [mm]."""
        n = len(self.points)
        return product(span_matrices(self.degree, n), self.points[_window(self.degree, n)])

    @cached_property
    def _derivatives(self) -> tuple[Array, Array, Array, Array]:
        """Of the curve and its derivatives: (degree + 1, spans, 2) power coefficients, those of one power together."""
        out = [np.ascontiguousarray(self.powers.transpose(1, 0, 2))]
        for _ in range(3):
            c = out[-1]
            factor = np.arange(1, len(c))[:, None, None]
            out.append(c[1:] * factor if len(c) > 1 else np.zeros((1, *c.shape[1:])))
        return out[0], out[1], out[2], out[3]

    def _locate(self, t: Array) -> tuple[NDArray[np.intp], Array]:
        span = np.minimum(np.maximum(t.astype(np.intp), 0), self.spans - 1)
        return span, (t - span)[:, None]

    def at(self, t: Array, order: int = 0) -> Array:
        """Return (m, 2) points [mm], or the derivative of an order 1 to 3 by t, at (m,) parameters."""
        span, u = self._locate(t)
        c = self._derivatives[order].take(span, axis=1)
        value: Array = c[-1]
        for k in range(len(c) - 2, -1, -1):
            value = value * u + c[k]
        return value

    def tangents(self, t: Array) -> Array:
        """Return (m, 2) unit tangents at (m,) parameters."""
        d = self.at(t, 1)
        return d / np.hypot(d[:, 0], d[:, 1])[:, None]

    def curvature(self, t: Array) -> Array:
        """Return the signed curvature [1/mm], positive turning left, at (m,) parameters."""
        d, dd = self.at(t, 1), self.at(t, 2)
        speed = np.hypot(d[:, 0], d[:, 1])
        result: Array = (d[:, 0] * dd[:, 1] - d[:, 1] * dd[:, 0]) / (speed * speed * speed)
        return result

    def row(self, t: float) -> tuple[int, Array]:
        """Return the first control point's index and the (degree + 1,) weights that give the point at t."""
        span = min(max(int(t), 0), self.spans - 1)
        u = t - span
        powers: Array = np.float64(u) ** np.arange(self.degree + 1)
        return span, product(powers[None], span_matrices(self.degree, len(self.points))[span])[0]

    @cached_property
    def straight_spans(self) -> NDArray[np.bool_]:
        """(spans,) whether each span is a straight line (control points within STRAIGHT_MM of a chord)."""
        p = self.points[_window(self.degree, len(self.points))]
        d = p[:, -1] - p[:, 0]
        off = d[:, None, 0] * (p[:, :, 1] - p[:, :1, 1]) - d[:, None, 1] * (p[:, :, 0] - p[:, :1, 0])
        return np.asarray(np.abs(off).max(axis=1) <= STRAIGHT_MM * np.hypot(d[:, 0], d[:, 1]))
