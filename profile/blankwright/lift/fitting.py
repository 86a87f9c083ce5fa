"""A family laid on an outline that exists: the dimensions, and the way it lies, that bring both nearest.

Least squares over the distances of places on the outline from the family's own, damped so that a nick or a burr does
not pull (squares near the line, lengths far from it; at the end what stands clear of the rest is left out). What the
outline cannot tell stays what the family has. What is reported is measured once more, on the arcs.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property, partial

import numpy as np
from numpy.typing import NDArray

from blankwright.base.arrays import Array
from blankwright.base.errors import BlankwrightError
from blankwright.design.parts import Dimension, Family
from blankwright.design.sizes import brought_in, resolve
from blankwright.design.solve import FINISHED_TOLERANCE_MM, Found, SolvedShape, solve_shape
from blankwright.lift.fits import ROBUST_MM, Fit, Target, robust_mm
from blankwright.lift.laid import TURN, pose_of
from blankwright.lift.measured import measured_mm
from blankwright.lift.offness import Line

QUICK_PLACES = 200
"""So many places of the outline are enough to rank families."""
ROUNDS, QUICK_ROUNDS = 20, 4
_STEP_MM, _QUICK_STEP_MM = 0.25, 0.5
"""By so much a dimension is changed to see what moves: fifty times what arcs follow their curve by."""
_QUICK_TOLERANCE_MM = 0.03
_STALE_MM = 1.0
"""Slopes are read anew when a dimension has moved so far from where they were read: in between they hardly change."""
_FAR_MM = 50.0
"""Told of a shape that cannot be: far enough that no step goes there."""
_STILL = 1e-4
_CLEAR = 6.0
"""What stands off by more than this many standard deviations of the rest is a nick or a burr, and is left out."""
_LEAST_SIGMA_MM = 0.004
"""Arcs themselves are no better."""
_PRIOR_SHARE = 0.25
"""What a family has by itself is believed to this share of a dimension's range where the outline does not tell."""
_TELLS = 12.0
"""A spine of its own is believed when it makes what is left so much less likely to be chance (twice the logarithm)."""
_FEEBLE_MM = 0.05
"""At first the family's usual hardly counts: as if places were known so well."""
_MOST_BELIEF_MM = 1.5
"""And never more than this, or a part that the family does not have would pull on all others."""
_OWN, _HANDLE = ("blade_length", "heel_height", "tip_height"), ("handle_length",)
"""Every outline tells the first; the second is drawn by no line where a tang is hidden in a block."""


class _Problem:
    """The distances for a set of numbers: the dimensions, then the turn [rad / 100] and the shift [mm]."""

    def __init__(self, target: Target, family: Family, construction: str, *, quick: bool, spine: bool) -> None:
        self.points, self.family, self.construction = target.points, family, construction
        self.quick = quick
        self.own = _OWN if construction == "hidden" else _OWN + _HANDLE
        offered = family.offered(construction)
        self.dimensions: tuple[Dimension, ...] = tuple(d for d in offered if spine or not d.free)
        self.usual = np.array([d.default_mm for d in self.dimensions])
        self.weights = np.zeros(len(self.dimensions))
        self.used: NDArray[np.bool_] = np.ones(len(target.points), dtype=bool)
        self._solved: dict[bytes, tuple[SolvedShape, Line] | None] = {}
        self._read: tuple[Array, Array] | None = None
        self._near: Found | None = None
        self._answer: Array | None = None
        self._beside: dict[tuple[str, float], tuple[Found, Found]] = {}

    @property
    def names(self) -> tuple[str, ...]:
        return tuple(d.name for d in self.dimensions)

    def bounds(self) -> tuple[Array, Array]:
        low = np.array([d.least_mm for d in self.dimensions] + [-np.inf] * 3)
        high = np.array([d.greatest_mm for d in self.dimensions] + [np.inf] * 3)
        fixed = high - low < 1e-5
        return np.where(fixed, low - 1e-5, low), np.where(fixed, high + 1e-5, high)

    def inside(self, numbers: Array) -> Array:
        """Return numbers within the bounds, where a search may begin."""
        low, high = self.bounds()
        room = np.where(np.isfinite(high - low), 1e-4 * (high - low), 0.0)
        return np.clip(numbers, low + room, high - room)

    def asked(self, values: Array) -> dict[str, float]:
        """Return dimensions by name, those that stand in another's way brought in."""
        asked = {
            d.name: min(max(float(v), d.least_mm), d.greatest_mm)
            for d, v in zip(self.dimensions, values.tolist(), strict=True)
        }
        return brought_in(self.family, self.construction, asked)

    def shape(self, values: Array) -> SolvedShape | None:
        """Return the shape at given dimensions, as finely as it is made; None where there is none."""
        try:
            shape = solve_shape(self.family, self.construction, self.asked(values))
            _ = shape.finished
        except BlankwrightError:
            return None
        return shape

    def line(self, values: Array, near: Found | None = None) -> Line | None:
        key = values.tobytes()
        if key not in self._solved:
            if len(self._solved) > 40:
                self._solved.clear()
            tolerance = _QUICK_TOLERANCE_MM if self.quick else FINISHED_TOLERANCE_MM
            try:
                shape = self._shape(self.asked(values), tolerance, near or self._near)
                self._solved[key] = shape, Line(shape.smooth)
            except BlankwrightError:
                self._solved[key] = None
        found = self._solved[key]
        return None if found is None else found[1]

    def _shape(self, asked: dict[str, float], tolerance_mm: float, near: Found | None) -> SolvedShape:
        """Return the shape at given dimensions, solved from one nearby where that leads anywhere."""
        solve = partial(solve_shape, self.family, self.construction, asked, tolerance_mm=tolerance_mm)
        if near is None:
            shape = solve()
        else:
            try:
                shape = solve(near=near if self._answer is None else replace(near, answer=self._answer))
            except BlankwrightError:
                shape = solve()
        if shape.found is not None and shape.found.corner_mm:
            self._answer = shape.found.answer
        return shape

    def lay_usual(self, values: Mapping[str, float], sigma_mm: float) -> None:
        """Set what the family has by itself at a size, and how much that counts against places that are sigma off."""
        size = {name: values[name] for name in self.own if name in values}
        try:
            usual = resolve(self.family, self.construction, size, None)
        except BlankwrightError:
            usual = {d.name: d.default_mm for d in self.dimensions}
        self.usual = np.array([usual[d.name] for d in self.dimensions])
        believed = np.array([_PRIOR_SHARE * (d.greatest_mm - d.least_mm) for d in self.dimensions])
        self.weights = np.where(
            [d.name in self.own or d.free for d in self.dimensions], 0.0, sigma_mm / np.maximum(believed, 1e-3)
        )

    def off(self, numbers: Array) -> Array:
        """Return the distances [mm], then how far the dimensions are from what is usual, weighed."""
        line = self.line(numbers[:-3])
        there = pose_of(numbers[-3:]).points(self.points[self.used])
        off = np.full(len(there) + 1, _FAR_MM) if line is None else _with_reach(line, there)
        return np.concatenate([off, self.weights * (numbers[:-3] - self.usual)])

    def slopes(self, numbers: Array) -> Array:
        """Return what each number moves: the dimensions by differences, the lie by the directions out of the line."""
        values, lie = numbers[:-3], numbers[-3:]
        stale = _STALE_MM * (8 if self.quick else 1)
        if self._read is None or (self._moves(values) * np.abs(values - self._read[0])).max() > stale:
            self._read = values.copy(), self._by_dimensions(values, lie)
        there = pose_of(lie).points(self.points)
        line = self.line(values)
        out = np.zeros((len(there) + 1, len(numbers)))
        out[:, :-3] = self._read[1]
        if line is not None:
            tip = int(there[self.used, 0].argmax())
            n = np.vstack([line.off(there)[1], [-1.0, 0.0]])
            x, y = (np.vstack([there, there[self.used][tip]]) - lie[-2:]).T
            out[:, -3:] = np.column_stack([TURN * (x * n[:, 1] - y * n[:, 0]), n])
        usual = np.zeros((len(values), len(numbers)))
        usual[:, : len(values)] = np.diag(self.weights)
        return np.vstack([out[np.append(self.used, True)], usual])

    def _moves(self, values: Array) -> Array:
        """Return by how much more than it changes each dimension moves a place: each scallop moves all that follow."""
        out = np.ones(len(values))
        if "scallop_pitch" in self.names:
            pitch = self.names.index("scallop_pitch")
            out[pitch] = max(values[self.names.index("blade_length")] / values[pitch], 1.0)
        return out

    def _by_dimensions(self, values: Array, lie: Array) -> Array:
        points = pose_of(lie).points(self.points)
        out = np.zeros((len(points) + 1, len(values)))
        line = self.line(values)
        if line is None:
            return out
        base = self._near = self._found(values)
        here, moves = _with_reach(line, points), self._moves(values).tolist()
        for i, d in enumerate(self.dimensions):
            step = min(_QUICK_STEP_MM if self.quick else _STEP_MM, 0.2 * (d.greatest_mm - d.least_mm)) / moves[i]
            # toward the middle of its range first: there it is in nobody's way
            first = -step if values[i] > (d.least_mm + d.greatest_mm) / 2 or values[i] + step > d.greatest_mm else step
            for by in (first, -first):
                moved = values.copy()
                moved[i] += by
                before = self._beside.get((d.name, by))
                near = None if before is None else base.changed_as(*before)
                other = self.line(moved, near) if d.least_mm <= moved[i] <= d.greatest_mm else None
                if other is not None:
                    self._beside[d.name, by] = base, self._found(moved)
                    out[:, i] = (_with_reach(other, points) - here) / by
                if out[:, i].any():
                    break
        return out

    def _found(self, values: Array) -> Found:
        """Return where the solve of values that have a line ended."""
        solved = self._solved[values.tobytes()]
        assert solved is not None and solved[0].found is not None
        return solved[0].found

    def begin_as(self, other: _Problem) -> None:
        """Have solves begin with where those of another problem of this family ended."""
        self._near, self._answer, self._beside = other._near, other._answer, dict(other._beside)

    def fresh(self) -> None:
        """Have the slopes read anew."""
        self._read = None

    def walked(self, numbers: Array) -> _Walked:
        """Return where the first steps lead, on which what is usual hardly counts."""
        self.lay_usual(self.asked(numbers[:-3]), _FEEBLE_MM)
        return _Walked(self, self.walk(numbers, ROBUST_MM, ROUNDS))

    def walk(self, numbers: Array, scale_mm: float, rounds: int) -> Array:
        """Return the numbers that bring it nearest, from these on."""
        from scipy.optimize import least_squares  # noqa: PLC0415 - only a fit needs it

        found = least_squares(
            self.off, self.inside(numbers), self.slopes, self.bounds(), loss="soft_l1", f_scale=scale_mm,
            x_scale="jac", max_nfev=rounds, ftol=_STILL, xtol=1e-5,
        )  # fmt: skip
        x: Array = found.x
        return x


def _with_reach(line: Line, there: Array) -> Array:
    """Return how far places are off a line [mm], then by how much the line reaches further ahead than they do.

    Where a family goes on past the tip there are no places that could tell.
    """
    return np.append(line.off(there)[0], line.reach_mm - there[:, 0].max())


def quickly(target: Target, family: Family, construction: str) -> tuple[float, Array] | None:
    """Return how far a family is off after a few coarse steps [mm], and the numbers found; None without a shape.

    Args:
        target: The outline, with few places.
        family: The family.
        construction: full, hidden or one-piece.
    """
    problem = _Problem(target, family, construction, quick=True, spine=True)
    begin = _begin(problem, target)
    if begin is None:
        return None
    problem.lay_usual(problem.asked(begin[:-3]), _FEEBLE_MM)
    found = problem.walk(begin, ROBUST_MM, QUICK_ROUNDS)
    return robust_mm(problem.off(found)[: len(target.points)]), found


def at_once(target: Target, family: Family, construction: str) -> float:
    """Return how far a family's blade is off as the outline measures, before any step [mm]."""
    problem = _Problem(target, family, construction, quick=True, spine=True)
    begin = _begin(problem, target)
    line = None if begin is None else problem.line(begin[:-3])
    if line is None:
        return math.inf
    blade = target.points[target.points[:, 0] > 1.0]
    return robust_mm(line.off(blade)[0])


def fitted(target: Target, family: Family, construction: str, begin: Array | None = None) -> Fit | None:
    """Return a family laid on an outline; None where no shape of it could be begun with.

    Args:
        target: The outline, in the design's coordinates as far as they are known.
        family: The family.
        construction: full, hidden or one-piece.
        begin: Numbers that `quickly` found.
    """
    own = _Problem(target, family, construction, quick=False, spine=True)
    begin = _begin(own, target) if begin is None else begin
    if begin is None:
        return None
    best = own.walked(begin)
    free = np.array([d.free for d in own.dimensions] + [False] * 3)
    if free.any():  # a spine that falls as the family's does is told by less
        narrower = _Problem(target, family, construction, quick=False, spine=False)
        narrower.begin_as(own)
        followed = narrower.walked(best.numbers[~free])
        best = best if best.tells_more_than(followed) else followed
    return best.refined().fit(target)


@dataclass(eq=False)
class _Walked:
    """Numbers that were found, with what is left."""

    problem: _Problem
    numbers: Array

    @cached_property
    def off(self) -> Array:
        line = self.problem.line(self.numbers[:-3])
        points = pose_of(self.numbers[-3:]).points(self.problem.points)
        return np.full(len(points), _FAR_MM) if line is None else line.off(points)[0]

    @cached_property
    def sigma_mm(self) -> float:
        """What is left at most places: 1.48 of the median, which no nick moves (exact for normal errors)."""
        return max(1.4826 * float(np.median(np.abs(self.off))), _LEAST_SIGMA_MM)

    @cached_property
    def together(self) -> float:
        """How many neighbouring places are off as one."""
        clear = np.clip(self.off, -3 * self.sigma_mm, 3 * self.sigma_mm)
        clear = clear - clear.mean()
        power = float((clear * clear).sum()) or 1.0
        run = 1.0
        for lag in range(1, len(clear) // 8):
            share = float((clear * np.roll(clear, lag)).sum()) / power
            if share < 0.1:
                break
            run += 2 * share
        return run

    @property
    def belief_mm(self) -> float:
        """What is left, as if each place were known by itself [mm]."""
        return min(self.sigma_mm * math.sqrt(self.together), _MOST_BELIEF_MM)

    def refined(self) -> _Walked:
        """Return the last steps: what stands clear is left out, and what the outline does not tell is as usual."""
        p = self.problem
        p.used = np.abs(self.off) <= _CLEAR * self.sigma_mm
        p.lay_usual(p.asked(self.numbers[:-3]), self.belief_mm)
        p.fresh()
        return _Walked(p, p.walk(self.numbers, 2 * self.sigma_mm, ROUNDS))

    def tells_more_than(self, other: _Walked) -> bool:
        """Whether what is left is less than chance, or the tolerance of arcs, makes it."""
        used = np.abs(self.off) <= _CLEAR * self.sigma_mm
        if float(np.abs(other.off[used]).max(initial=0.0)) <= 2 * FINISHED_TOLERANCE_MM:
            return False
        mine, yours = (float((w.off[used] ** 2).sum()) + 1e-9 for w in (self, other))
        return float(used.sum()) / self.together * math.log(yours / mine) > _TELLS

    def fit(self, target: Target) -> Fit | None:
        p = self.problem
        shape = p.shape(self.numbers[:-3])
        if shape is None:
            return None
        p.used = np.abs(self.off) <= _CLEAR * self.sigma_mm
        p.lay_usual(shape.values_mm, self.belief_mm)
        slopes = p.slopes(self.numbers)
        covered = np.linalg.pinv(slopes.T @ slopes) * self.sigma_mm**2 * self.together
        spread = np.sqrt(np.maximum(np.diag(covered), 0.0))[:-3]
        return Fit(shape, pose_of(self.numbers[-3:]), target, p.names, spread)


def _begin(problem: _Problem, target: Target) -> Array | None:
    """Return numbers to begin with: what the outline measures, brought into the family's ranges."""
    seen = measured_mm(target.outline, problem.dimensions)
    told = tuple(n for n in seen if n not in _HANDLE or n in problem.own)
    kept = (told, problem.own, ("blade_length", "heel_height"), ())
    for names in kept:
        asked = {
            d.name: min(max(seen[d.name], d.least_mm), d.greatest_mm)
            for d in problem.dimensions
            if d.name in seen and d.name in names
        }
        try:
            values = resolve(problem.family, problem.construction, asked, None)
        except BlankwrightError:
            continue
        numbers = np.array([values[d.name] for d in problem.dimensions] + [0.0] * 3)
        if problem.line(numbers[:-3]) is not None:
            return numbers
    return None
