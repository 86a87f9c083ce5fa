"""Control points of a fair curve through points on the line, as a maker takes them off a pattern.

Between the points the curve's third derivative changes as little as it can: curvature then grows or falls as steadily
as the points allow. It is a uniform cubic spline, clamped where the curve begins at a corner; what follows it, such as
the handle behind a spine, may be given as control points that it runs into.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from blankwright.base.arrays import Array
from blankwright.base.errors import RequestError
from blankwright.base.frozen import dataclass
from blankwright.geometry.spline import span_matrices
from blankwright.geometry.steady import product, solution

DEGREE = 3

_CALM = 0.02
"""Weight of the third derivative itself beside its jumps: it only decides where the points leave the curve free."""

_SPARE = 3
"""Spans more than points: room to be fair in."""

_LEAST_APART = 1.0
"""Spans between two points at least, where points lie close."""

_MOST_STRAIGHT = 4
"""Spans of a straight at most."""


@dataclass(frozen=True)
class Through:
    """A fair curve.

    Args:
        controls: Its control points [mm].
        at: Parameter of each point that it passes through.
    """

    controls: list[tuple[float, float]]
    at: tuple[float, ...]


def through(
    points: Sequence[tuple[float, float]], *, flat: bool = False, behind: Sequence[tuple[float, float]] = (),
    even: float = 1.0, spans: int | None = None,
) -> Through:  # fmt: skip
    """Return a fair curve that begins at the first point and passes through the others.

    Args:
        points: Points on the line, in order [mm].
        flat: Whether the line is straight from the first point to the second.
        behind: Control points that follow; without any the curve ends at the last point, at a corner.
        even: 1 spaces the control points evenly along the line; less puts more of them where points are close.
        spans: Spans ahead of what follows; None for as many as the points want.

    Raises:
        RequestError: Fewer than two points, or two neighbouring ones that are the same.
    """
    place = np.array(points, dtype=np.float64)
    goal = np.concatenate([place, np.array(behind[:1], dtype=np.float64).reshape(-1, 2)])
    steps = np.hypot(*np.diff(goal, axis=0).T)
    if len(place) < 2 or (steps < 1e-6).any():
        raise RequestError("a line needs two points or more, no two neighbours the same")
    steps = steps**even
    count = spans or len(place) - 1 + _SPARE + (1 if behind else 0)
    if even < 1:  # points that lie close must not want more of a span than it can give
        count = max(count, int(np.ceil(_LEAST_APART * steps[1 if flat else 0 :].sum() / steps[1:].min())) + 2)
    at = np.concatenate([[0.0], np.cumsum(steps)]) * (count / steps.sum())
    straight = 0
    if flat:  # the curve keeps its spans, and the straight gets as many as it is long
        curved = count - 2
        straight = int(min(max(round(curved * steps[0] / steps[1:].sum()), 1), _MOST_STRAIGHT))
        rest = np.concatenate([[0.0], np.cumsum(steps[1:])]) * (curved / steps[1:].sum())
        at, count = np.concatenate([[0.0], straight + rest]), straight + curved
    fixed = np.array(behind, dtype=np.float64).reshape(-1, 2)[:DEGREE]
    free = count + 1 if len(fixed) else count + DEGREE  # the first of what follows pulls most at t = count
    total = free + len(fixed)
    # no end of the curve may be near what is looked at, unless it is the curve's own
    matrices = span_matrices(DEGREE, total + (DEGREE if len(fixed) else 0))[: total - DEGREE]
    energy = _energy(matrices, total)
    out = np.zeros((free, 2))
    for axis in (0, 1):
        held = dict.fromkeys(range(straight + DEGREE), 0.0) if axis == 1 and straight else {}
        rows, values = _passing(place[:, axis], at, matrices, total)
        keep = [k for k in range(len(values)) if not (held and k < 2)]
        out[:, axis] = _least(energy, rows[keep], values[keep], free, fixed[:, axis], held)
    out[0] = place[0]  # to the last digit, for corners are compared
    if not len(fixed):
        out[-1] = place[-1]
    return Through(
        [(round(float(x), 6) + 0.0, round(float(y), 6) + 0.0) for x, y in out], tuple(at[: len(place)].tolist())
    )


def _passing(values: Array, at: Array, matrices: Array, total: int) -> tuple[Array, Array]:
    """Return rows that give the curve at parameters, and what they shall give."""
    rows = np.zeros((len(values), total))
    for row, t in zip(rows, at[: len(values)].tolist(), strict=True):
        span = min(int(t), len(matrices) - 1)
        u = t - span
        row[span : span + DEGREE + 1] = product(np.array([[1.0, u, u * u, u * u * u]]), matrices[span])[0]
    return rows, values


def _energy(matrices: Array, total: int) -> Array:
    """Return the quadratic form of the jumps of the third derivative, with a little of the derivative itself."""
    third = np.zeros((len(matrices), total))
    for span, matrix in enumerate(matrices):
        third[span, span : span + DEGREE + 1] = 6.0 * matrix[DEGREE]
    jumps = np.diff(third, axis=0)
    return product(jumps.T, jumps) + _CALM * product(third.T, third)


def _least(energy: Array, rows: Array, values: Array, free: int, behind: Array, held: dict[int, float]) -> Array:
    """Return the free coordinates of least energy that hold what is asked (a saddle system, solved by elimination)."""
    known = np.zeros(len(energy))
    known[free:] = behind
    open_ = [i for i in range(free) if i not in held]
    n, m = len(open_), len(rows)
    system = np.zeros((n + m, n + m))
    system[:n, :n] = energy[np.ix_(open_, open_)]
    system[n:, :n] = rows[:, open_]
    system[:n, n:] = system[n:, :n].T
    right = np.concatenate(
        [-product(energy[open_], known[:, None])[:, 0], values - product(rows, known[:, None])[:, 0]]
    )
    known[open_] = solution(system, right[:, None])[:n, 0]
    return known[:free]
