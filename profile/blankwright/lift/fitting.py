"""A family laid on an outline that exists: the dimensions, and the way it lies, that bring both nearest.

Least squares over the distances of places on the outline from the family's own, damped so that a nick or a burr does
not pull (soft absolute value: squares near the line, lengths far from it). What is reported is measured once more, on
the arcs.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from blankwright.base.arrays import Array, Place
from blankwright.base.errors import BlankwrightError
from blankwright.design.parts import Dimension, Family
from blankwright.design.solve import Shape, solve_shape
from blankwright.geometry.distance import points_to_pieces
from blankwright.geometry.outline import Outline, points_on
from blankwright.lift.laid import Laid

STEP_MM = 0.05
"""By so much a dimension is changed to see what moves: a hundred times what arcs follow their curve by, and far below
what a maker sees."""
ROBUST_MM = 0.3
"""Beyond this a place counts by its distance, not by its square."""
ROUNDS, QUICK_ROUNDS = 40, 3
"""Steps of a fit: it stands still after six or seven; three tell which family is meant."""
MOST_PLACES = 900
"""So many places of the outline are looked at: one each millimetre of a chef's knife."""
_FAR_MM = 50.0
"""Told of a shape that cannot be: far enough that no step goes there."""
_STILL = 1e-4


@dataclass(frozen=True, eq=False)
class Target:
    """The outline to be met.

    Args:
        points: (n, 2) places on it, evenly along it, in the design's coordinates [mm].
        outline: The outline itself.
    """

    points: Array
    outline: Outline

    @staticmethod
    def of(outline: Outline) -> Target:
        """Return the outline with places on it."""
        step = max(outline.perimeter_mm / MOST_PLACES, 0.3)
        points, _ = outline.sampled(step)
        return Target(points, outline)


@dataclass(frozen=True, eq=False)
class Fit:
    """A family that was laid on an outline.

    Args:
        shape: The family at the dimensions found.
        laid: How the outline lies on it: turned about the heel, then shifted.
        target: The outline it was laid on.
        slopes: (n, m) what each dimension moves at each place, then turn and shift.
    """

    shape: Shape
    laid: Laid
    target: Target
    slopes: Array

    @cached_property
    def off_mm(self) -> Array:
        """(n,) distance of each place of the outline from the family's arcs, plus outside [mm]."""
        return signed_mm(self.shape.finished, self.laid.of(self.target.points))

    @cached_property
    def rms_mm(self) -> float:
        """Root mean square of those distances [mm]."""
        return float(np.sqrt((self.off_mm**2).mean()))

    @property
    def worst_mm(self) -> float:
        """The greatest of them [mm]."""
        return float(np.abs(self.off_mm).max())

    @property
    def at_mm(self) -> Place:
        """Where it is, on the family's outline [mm]."""
        x, y = self.laid.of(self.target.points)[int(np.abs(self.off_mm).argmax())].tolist()
        return (x, y)

    @property
    def at_region(self) -> str:
        """Region of the family there."""
        o = self.shape.finished
        away = points_to_pieces(np.array([self.at_mm]), o.starts, o.ends, o.bulges)[0]
        return o.regions[int(away.argmin())]

    @cached_property
    def known_to_mm(self) -> dict[str, float]:
        """How well the outline tells each dimension, by name: twice its standard deviation [mm].

        From what is left of the fit (linear least squares): where an edge rises slowly, the length of its flat is told to
        some millimetres only, however fine the outline is.
        """
        freedom = max(len(self.slopes) - self.slopes.shape[1], 1)
        left = float((self.off_mm**2).sum()) / freedom
        spread = np.sqrt(np.maximum(np.diag(np.linalg.pinv(self.slopes.T @ self.slopes)) * left, 0.0))
        return {s.dimension.name: 2 * float(d) for s, d in zip(self.shape.solved, spread.tolist(), strict=False)}

    @property
    def dimensions_mm(self) -> dict[str, float]:
        """Every dimension found, by name [mm]."""
        return dict(self.shape.values_mm)


def signed_mm(outline: Outline, points: Array) -> Array:
    """Return the exact distance of places from an outline, plus outside [mm].

    Args:
        outline: Counter-clockwise.
        points: (n, 2) [mm].
    """
    away: Array = points_to_pieces(points, outline.starts, outline.ends, outline.bulges).min(axis=1)
    return np.where(_inside(outline.flattened(0.002), points), -away, away)


def _inside(loop: Array, points: Array) -> Array:
    """Return which places lie inside a closed loop of lines: the ray to the right crosses it an odd number of times."""
    a, b = loop, np.roll(loop, -1, axis=0)
    y = points[:, 1:2]
    across = (a[:, 1] <= y) != (b[:, 1] <= y)
    rise = np.where(b[:, 1] == a[:, 1], 1.0, b[:, 1] - a[:, 1])
    x = a[:, 0] + (y - a[:, 1]) / rise * (b[:, 0] - a[:, 0])
    inside: Array = (across & (x > points[:, 0:1])).sum(axis=1) % 2 == 1
    return inside


class _Line:
    """A family's outline as a dense row of places with the directions out of it: distances by the nearest of them."""

    def __init__(self, outline: Outline) -> None:
        from scipy.spatial import cKDTree  # noqa: PLC0415 - only a fit needs it

        counts = np.maximum(1, np.ceil(outline.lengths / 0.25)).astype(int)
        piece = np.repeat(np.arange(len(outline)), counts)
        share = np.concatenate([(np.arange(n) + 0.5) / n for n in counts.tolist()])
        a, b, bulge = outline.starts[piece], outline.ends[piece], outline.bulges[piece]
        self.places = points_on(a, b, bulge, share)
        first = outline.start_tangents[piece]
        turn = 4 * np.arctan(bulge) * share
        along = np.column_stack(
            [
                first[:, 0] * np.cos(turn) - first[:, 1] * np.sin(turn),
                first[:, 0] * np.sin(turn) + first[:, 1] * np.cos(turn),
            ]
        )
        self.out = np.column_stack([along[:, 1], -along[:, 0]])
        self.bend = 4 * np.arctan(bulge) / outline.lengths[piece]
        self.tree = cKDTree(self.places)

    def off(self, points: Array) -> Array:
        """Return how far outside places lie [mm]; the bend between two places of the row is reckoned with."""
        _, near = self.tree.query(points)
        away = points - self.places[near]
        out = (away * self.out[near]).sum(axis=1)
        along2 = (away * away).sum(axis=1) - out**2
        return out + 0.5 * self.bend[near] * np.minimum(along2, 0.05)


class _Problem:
    """The distances for a set of numbers: the dimensions, then the turn [rad / 100] and the shift [mm]."""

    def __init__(self, target: Target, family: Family, construction: str) -> None:
        self.target, self.family, self.construction = target, family, construction
        self.dimensions: tuple[Dimension, ...] = family.offered(construction)
        self._last: tuple[bytes, Shape | None, _Line | None] = (b"", None, None)

    def shape(self, values: Array) -> Shape | None:
        """Return the shape at given dimensions, or None where there is none."""
        return self._solved(values)[0]

    def _solved(self, values: Array) -> tuple[Shape | None, _Line | None]:
        key = values.tobytes()
        if key != self._last[0]:
            asked = {d.name: float(v) for d, v in zip(self.dimensions, values.tolist(), strict=True)}
            try:
                shape = solve_shape(self.family, self.construction, asked)
                self._last = (key, shape, _Line(shape.finished))
            except BlankwrightError:
                self._last = (key, None, None)
        return self._last[1:]

    def off(self, numbers: Array) -> Array:
        """Return the distances [mm]."""
        values, lie = numbers[:-3], numbers[-3:]
        _, line = self._solved(values)
        if line is None:
            return np.full(len(self.target.points), _FAR_MM)
        return line.off(Laid.of_numbers(lie).of(self.target.points))

    def slopes(self, numbers: Array) -> Array:
        """Return what each number moves, by differences; backward where forward there is no shape."""
        here = self.off(numbers)
        out = np.zeros((len(here), len(numbers)))
        _, line = self._solved(numbers[:-3])
        for i in range(len(numbers) - 3, len(numbers)):
            step = np.zeros(len(numbers))
            step[i] = 0.01
            if line is not None:
                moved = line.off(Laid.of_numbers((numbers + step)[-3:]).of(self.target.points))
                out[:, i] = (moved - here) / 0.01
        for i, d in enumerate(self.dimensions):
            for step_mm in (STEP_MM, -STEP_MM):
                moved_to = numbers.copy()
                moved_to[i] = min(max(moved_to[i] + step_mm, d.least_mm), d.greatest_mm)
                by = moved_to[i] - numbers[i]
                if abs(by) < STEP_MM / 2:
                    continue
                moved = self.off(moved_to)
                if moved[0] != _FAR_MM or self._last[1] is not None:
                    out[:, i] = (moved - here) / by
                    break
        return out


def fitted(target: Target, family: Family, construction: str, rounds: int = ROUNDS) -> Fit | None:
    """Return a family laid on an outline; None where no shape of it could be begun with.

    Args:
        target: The outline, in the design's coordinates as far as they are known.
        family: The family.
        construction: full, hidden or one-piece.
        rounds: Most steps of the fit.
    """
    from scipy.optimize import least_squares  # noqa: PLC0415 - only a fit needs it

    problem = _Problem(target, family, construction)
    begin = _begin(problem)
    if begin is None:
        return None
    low = np.array([d.least_mm for d in problem.dimensions] + [-np.inf] * 3)
    high = np.array([d.greatest_mm for d in problem.dimensions] + [np.inf] * 3)
    fixed = high - low < 1e-6
    low[fixed] -= 1e-6
    high[fixed] += 1e-6
    found = least_squares(
        problem.off, np.clip(begin, low + 1e-7, high - 1e-7), problem.slopes, (low, high), loss="soft_l1",
        f_scale=ROBUST_MM, x_scale="jac", max_nfev=rounds, ftol=_STILL, xtol=1e-6,
    )  # fmt: skip
    shape = problem.shape(found.x[:-3])
    return None if shape is None else Fit(shape, Laid.of_numbers(found.x[-3:]), target, problem.slopes(found.x))


def _begin(problem: _Problem) -> Array | None:
    """Return numbers to begin with: what the outline measures, brought into the family's ranges."""
    from blankwright.lift.measured import measured_mm  # noqa: PLC0415 - it measures by the same rules

    seen = measured_mm(problem.target.outline, problem.dimensions)
    sets: Sequence[dict[str, float]] = (
        seen,
        {k: v for k, v in seen.items() if k in ("blade_length", "heel_height", "handle_length")},
        {k: v for k, v in seen.items() if k in ("blade_length", "heel_height")},
        {},
    )
    for values in sets:
        asked = {
            d.name: float(np.clip(values[d.name], d.least_mm, d.greatest_mm))
            for d in problem.dimensions
            if d.name in values
        }
        try:
            shape = solve_shape(problem.family, problem.construction, asked)
        except BlankwrightError:
            continue
        numbers = np.array([shape.values_mm[d.name] for d in problem.dimensions] + [0.0] * 3)
        if problem.shape(numbers[:-3]) is not None:
            return numbers
    return None
