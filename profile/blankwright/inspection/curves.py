"""Splines and ellipses of a file as tangent arcs and lines, with the deviation that was reached.

Every curve is kept as rational polynomials, span by span: (x w, y w, w) as power coefficients of u from 0 to 1.
Splines become so by de Boor's algorithm at the nodes of each span; an ellipse is a row of rational parabolas,
which is exact (Piegl and Tiller, "The NURBS Book", chapters 3, 4 and 7). A scaling that turns circles into
ellipses moves the coefficients alone, so that it is exact as well.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from blankwright.base.arrays import Array
from blankwright.base.errors import GeometryError, ToleranceNotMetError
from blankwright.base.frozen import dataclass
from blankwright.geometry.arcfit import biarcs
from blankwright.inspection.budget import SPAN, Budget
from blankwright.proof import distance

MAX_DEGREE = 10
MAX_CONTROL_POINTS = 5000
MAX_BIARCS = 20_000
"""Limits on a curve from anywhere; a knife's edge needs a hundredth."""

_ROUNDS = 16
_SAMPLES = 12
_AIM = 0.9  # share of the tolerance aimed at: between two samples the error rises by a few percent
_WEDGE = math.pi / 2  # widest part of an ellipse that one rational parabola makes well
_SAME_CURVATURE = 1e-9
_SAME_HEADING = 1e-7


@dataclass(frozen=True, eq=False)
class Curve:
    """A curve of rational polynomials.

    Args:
        coefs: (spans, degree + 1, 3) power coefficients of (x w, y w, w) in u from 0 to 1 [file units].
        closed: Whether it ends where it starts.
    """

    coefs: Array
    closed: bool

    @property
    def reach(self) -> float:
        """How far its ends lie apart at most, in x or y, over all spans; in the units of the coefficients."""
        ends = np.concatenate([self.coefs[:, 0], self.coefs.sum(axis=1)])
        return float(np.ptp(ends[:, :2] / ends[:, 2:], axis=0).max())

    def moved(self, matrix: Array, shift: Array) -> Curve:
        """Return the curve under x -> matrix x + shift."""
        c = self.coefs.copy()
        c[..., :2] = self.coefs[..., :2] @ matrix.T + self.coefs[..., 2:] * shift
        return Curve(c, self.closed)

    def at(self, span: NDArray[np.intp], u: Array) -> Array:
        """Return (m, 2) points at (m,) spans and places in them."""
        value = _horner(self.coefs[span], u)
        return np.asarray(value[:, :2] / value[:, 2:])

    def headings(self, span: NDArray[np.intp], u: Array) -> Array:
        """Return (m, 2) unit tangents; where the curve stands still, the direction in which it leaves."""
        c = self.coefs[span]
        value = _horner(c, u)
        slope = _horner(c[:, 1:] * np.arange(1, c.shape[1])[None, :, None], u)
        d = slope[:, :2] * value[:, 2:] - value[:, :2] * slope[:, 2:]
        still = np.hypot(d[:, 0], d[:, 1]) < 1e-9 * (1e-300 + np.abs(value[:, :2]).max(initial=0.0))
        if still.any():
            step = np.where(u < 0.5, 1e-3, -1e-3)
            ahead = (self.at(span, u + step) - self.at(span, u)) * np.sign(step)[:, None]
            d = np.where(still[:, None], ahead, d)
        size = np.hypot(d[:, 0], d[:, 1])
        return np.where((size > 0)[:, None], d / np.maximum(size, 1e-300)[:, None], np.array([1.0, 0.0]))


def _horner(c: Array, u: Array) -> Array:
    value = c[:, -1]
    for k in range(c.shape[1] - 2, -1, -1):
        value = value * u[:, None] + c[:, k]
    return value


def of_spline(points: Array, weights: Array, knots: Array, degree: int) -> Curve:
    """Return a B-spline, rational or not, with any rising knots.

    Args:
        points: (n, 2) control points.
        weights: (n,) above 0.
        knots: (n + degree + 1,) rising.
        degree: 1 to 10.

    Raises:
        GeometryError: The numbers do not make a spline.
    """
    n = len(points)
    if not 1 <= degree <= MAX_DEGREE or not degree < n <= MAX_CONTROL_POINTS:
        raise GeometryError(f"a spline of degree {degree} with {n} control points")
    if len(knots) != n + degree + 1 or (np.diff(knots) < 0).any() or not knots[n] > knots[degree]:
        raise GeometryError(f"a spline of {n} control points needs {n + degree + 1} rising knots, has {len(knots)}")
    if not (weights > 0).all() or weights.max() > 1e6 * weights.min():
        raise GeometryError("a spline whose weights are not above 0")
    spans = np.flatnonzero(np.diff(knots[degree : n + 1]) > 1e-12 * (knots[n] - knots[degree])) + degree
    nodes = (1 - np.cos(np.pi * np.arange(degree + 1) / degree)) / 2
    low, high = knots[spans, None], knots[spans + 1, None]
    t = low + (high - low) * nodes
    rows = np.column_stack([points * weights[:, None], weights])
    d = np.repeat(rows[spans[:, None] - degree + np.arange(degree + 1)][:, None], degree + 1, axis=1)
    for r in range(1, degree + 1):  # de Boor, at all nodes of all spans at once
        for j in range(degree, r - 1, -1):
            left, right = knots[spans + j - degree, None], knots[spans + 1 + j - r, None]
            share = ((t - left) / (right - left))[..., None]
            d[:, :, j] = (1 - share) * d[:, :, j - 1] + share * d[:, :, j]
    to_powers = np.linalg.inv(np.vander(nodes, increasing=True))
    coefs = np.einsum("kn,snc->skc", to_powers, d[:, :, degree])
    return _checked(coefs)


def of_ellipse(centre: Array, major: Array, minor: Array, first: float, last: float) -> Curve:
    """Return an ellipse or a part of it.

    Args:
        centre: (2,) centre.
        major: (2,) half axis to which the parameter 0 points.
        minor: (2,) half axis to which a quarter turn points.
        first: Parameter at the start [rad].
        last: Parameter at the end, after the start [rad].
    """
    count = max(1, math.ceil((last - first) / _WEDGE - 1e-9))
    edges = np.linspace(first, last, count + 1)
    half = (last - first) / count / 2
    middle = (edges[1:] + edges[:-1]) / 2
    w = math.cos(half)
    corners = [(edges[:-1], 1.0, 1.0), (middle, 1 / w, w), (edges[1:], 1.0, 1.0)]
    bezier = []
    for angle, reach, weight in corners:
        p = centre + reach * (np.cos(angle)[:, None] * major + np.sin(angle)[:, None] * minor)
        bezier.append(np.column_stack([p * weight, np.full(count, weight)]))
    return _checked(_parabolas(*bezier))


def of_chain(vertices: Array, closed: bool) -> Curve:
    """Return a chain of lines and arcs as a curve; the part that a scaling makes elliptic stays exact."""
    v = _narrow(vertices, closed)
    a, b, g = v[:-1, :2], v[1:, :2], v[:-1, 2]
    d = b - a
    # the middle corner lies where the end tangents meet: tan(half angle) of half a chord to the right of it
    corner = (a + b) / 2 + np.stack([d[:, 1], -d[:, 0]], axis=1) * (g / (1 - g * g))[:, None]
    w = (1 - g * g) / (1 + g * g)  # cosine of half the arc's angle
    ones = np.ones(len(a))
    return _checked(
        _parabolas(
            np.column_stack([a, ones]), np.column_stack([corner * w[:, None], w]), np.column_stack([b, ones])
        )
    )  # fmt: skip


def _narrow(vertices: Array, closed: bool) -> Array:
    """Return an open chain with the same course and no arc wider than a third of a turn."""
    v = np.vstack([vertices, vertices[:1]]) if closed else vertices
    while (np.abs(v[:-1, 2]) > 0.6).any():
        pieces = distance.pieces_of(v, closed=False)
        middle = distance.along_pieces(pieces, np.full(len(pieces), 0.5))
        half = np.tan(np.arctan(v[:-1, 2]) / 2)
        rows = np.empty((2 * len(v) - 1, 3))
        rows[::2] = v
        rows[1::2, :2] = middle
        rows[:-1:2, 2] = rows[1::2, 2] = half
        v = rows
    return v


def _parabolas(a: Array, b: Array, c: Array) -> Array:
    return np.stack([a, 2 * (b - a), a - 2 * b + c], axis=1)


def _checked(coefs: Array) -> Curve:
    if not np.isfinite(coefs).all() or not len(coefs):
        raise GeometryError("a curve with numbers that are not finite")
    start = coefs[0, 0, :2] / coefs[0, 0, 2]
    last = coefs[-1].sum(axis=0)
    reach = float(np.abs(coefs[..., :2]).max())
    return Curve(coefs, bool(np.hypot(*(start - last[:2] / last[2])) <= 1e-9 * (1 + reach)))


def to_arcs(curve: Curve, tol_mm: float, budget: Budget | None = None) -> tuple[Array, float]:
    """Follow a curve by tangent arcs and lines, halving until every biarc is near enough.

    Args:
        curve: The curve, in mm.
        tol_mm: Largest distance allowed between curve and arcs [mm].
        budget: What the work is taken from; without one only MAX_BIARCS limits it.

    Returns:
        (n + 1, 3) x [mm], y [mm] and bulge; and the largest distance measured [mm].

    Raises:
        ToleranceNotMetError: The curve cannot be followed so closely.
        TooMuchWorkError: The budget is spent.
    """
    span = np.repeat(np.arange(len(curve.coefs)), 2)
    low = np.tile([0.0, 0.5], len(curve.coefs))
    high = low + 0.5
    done: list[Array] = []
    worst = 0.0
    for turn in range(_ROUNDS):
        if budget is not None:
            budget.spend(SPAN * len(span), "curves")
        joint, b1, b2, error = _fitted(curve, span, low, high)
        good = error <= _AIM * tol_mm
        if good.any():
            worst = max(worst, float(error[good].max()))
            done.append(np.column_stack([span, low, high, joint, b1, b2])[good])
        span, low, high = span[~good], low[~good], high[~good]
        if not len(span):
            rows = np.concatenate(done)
            return _chained(curve, rows[np.lexsort((rows[:, 1], rows[:, 0]))]), worst / _AIM
        if turn + 1 == _ROUNDS or sum(map(len, done)) + 2 * len(span) > MAX_BIARCS:
            break
        middle = (low + high) / 2
        span, low, high = np.tile(span, 2), np.concatenate([low, middle]), np.concatenate([middle, high])
    raise ToleranceNotMetError(f"a curve was not reached within {tol_mm} mm by arcs", float(np.nanmax(error)))


def _fitted(curve: Curve, span: NDArray[np.intp], low: Array, high: Array) -> tuple[Array, Array, Array, Array]:
    """Return joints, both bulges and the measured error of a biarc on each part; inf where there is none."""
    a, b = curve.at(span, low), curve.at(span, high)
    ta, tb = curve.headings(span, low), curve.headings(span, high)
    with np.errstate(all="ignore"):
        joint, b1, b2 = biarcs(a, ta, b, tb)
    whole = np.isfinite(joint).all(axis=1) & (np.abs(b1) < 1) & (np.abs(b2) < 1)
    point = np.hypot(*(b - a).T) == 0
    joint = np.where(whole[:, None], joint, (a + b) / 2)
    b1, b2 = np.where(whole, b1, 0.0), np.where(whole, b2, 0.0)
    first = distance.pieces_of(_pairs(a, b1, joint), closed=False).take(2 * np.arange(len(a)))
    second = distance.pieces_of(_pairs(joint, b2, b), closed=False).take(2 * np.arange(len(a)))
    u = (np.arange(_SAMPLES) + 0.5) / _SAMPLES
    rows = np.repeat(np.arange(len(a)), _SAMPLES)
    t = (low[:, None] + (high - low)[:, None] * u).ravel()
    p = curve.at(span[rows], t)
    off = np.minimum(distance.to_pieces(p, first.take(rows))[0], distance.to_pieces(p, second.take(rows))[0])
    error = off.reshape(-1, _SAMPLES).max(axis=1)
    # without a biarc two lines stand in; a part that has shrunk to a point needs nothing at all
    small = point & (error == 0)
    return joint, b1, b2, np.where(whole | small | (error < 1e-6), error, np.inf)


def _pairs(a: Array, bulge: Array, b: Array) -> Array:
    rows = np.empty((2 * len(a), 3))
    rows[::2, :2], rows[::2, 2], rows[1::2, :2], rows[1::2, 2] = a, bulge, b, 0.0
    return rows


def _chained(curve: Curve, rows: Array) -> Array:
    """Return the biarcs in order as one chain, arcs and lines that run on joined."""
    span = rows[:, 0].astype(np.intp)
    n = len(rows)
    v = np.empty((2 * n + 1, 3))
    v[:-1:2, :2], v[:-1:2, 2] = curve.at(span, rows[:, 1]), rows[:, 5]
    v[1::2, :2], v[1::2, 2] = rows[:, 3:5], rows[:, 6]
    v[-1] = [*curve.at(span[-1:], rows[-1:, 2])[0], 0.0]
    step = np.hypot(*np.diff(v[:, :2], axis=0).T)
    v = v[np.append(step > 0, True)]
    return v if len(v) < 2 else _run_on(v)


def _run_on(v: Array) -> Array:
    """Join neighbours that are one line or one circle."""
    pieces = distance.pieces_of(v, closed=False)
    k, out, turn = pieces.curvature, pieces.leaving, 4 * np.arctan(v[:-1, 2])
    kept = [0]
    angle = float(turn[0])
    bulges = []
    for i in range(1, len(pieces)):
        cross = out[i - 1, 0] * pieces.tangent[i, 1] - out[i - 1, 1] * pieces.tangent[i, 0]
        ahead = out[i - 1] @ pieces.tangent[i] > 0
        alike = abs(k[i] - k[i - 1]) < _SAME_CURVATURE and abs(cross) < _SAME_HEADING and ahead
        if alike and abs(angle + turn[i]) < math.pi:
            angle += float(turn[i])
            continue
        bulges.append(math.tan(angle / 4))
        kept.append(i)
        angle = float(turn[i])
    bulges.append(math.tan(angle / 4))
    rows = v[[*kept, len(v) - 1]].copy()
    rows[:-1, 2] = bulges
    return rows
