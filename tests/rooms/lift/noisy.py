"""Random designs of every family, their outlines with noise, and what a fit makes of them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from blankwright.base.errors import BlankwrightError
from blankwright.design.family import family_names, load_family
from blankwright.design.solve import Shape, solve_shape
from blankwright.geometry.outline import Outline
from blankwright.lift.fits import Fit, Target
from blankwright.lift.fitting import fitted
from blankwright.lift.nearest import nearest_families

NOISE_MM = 0.2
ALWAYS = ("blade_length", "heel_height", "tip_height", "handle_length")


@dataclass(frozen=True)
class Case:
    """A design, and what its noisy outline was taken for."""

    number: int
    shape: Shape
    fits: list[Fit]
    fit: Fit

    @property
    def right(self) -> bool:
        """Whether the right family is named first."""
        return self.fits[0].shape.family.name == self.shape.family.name

    @property
    def missed(self) -> dict[str, tuple[float, float]]:
        """Dimensions off by more than three times the noise and by more than the outline tells: off, told [mm]."""
        known = self.fit.known_to_mm
        off = {n: self.fit.dimensions_mm[n] - v for n, v in self.shape.values_mm.items() if n in known}
        return {n: (round(v, 2), round(known[n], 2)) for n, v in off.items() if abs(v) > max(3 * NOISE_MM, known[n])}


def shape_of(number: int, seed: int) -> Shape:
    """Return a random design: the four great dimensions anywhere in their ranges, and up to three others."""
    rng = np.random.default_rng([seed, number])
    names = family_names()
    family = load_family(names[number % len(names)])
    while True:
        offered = family.offered("full")
        others = [d.name for d in offered if d.name not in ALWAYS]
        more = rng.choice(others, rng.integers(0, 4), replace=False).tolist()
        asked = {d.name: float(rng.uniform(d.least_mm, d.greatest_mm)) for d in offered if d.name in (*ALWAYS, *more)}
        try:
            shape = solve_shape(family, "full", asked)
            _ = shape.finished
        except BlankwrightError:  # these do not go together
            continue
        return shape


def with_noise(outline: Outline, rng: np.random.Generator, noise_mm: float = NOISE_MM) -> Outline:
    """Return an outline of lines between places 1 mm apart, each moved at random along x and y."""
    points, piece = outline.sampled(1.0)
    moved = points + rng.normal(0, noise_mm, points.shape)
    return Outline(np.column_stack([moved, np.zeros(len(moved))]), tuple(outline.regions[i] for i in piece), 0.0)


def tried(number: int, seed: int) -> Case:
    """Return a case: the family sought among all, the dimensions by the right one."""
    shape = shape_of(number, seed)
    noisy = with_noise(shape.finished, np.random.default_rng([seed, number, 1]))
    fits = nearest_families(noisy)
    fit = fits[0]
    if fit.shape.family.name != shape.family.name:
        own = fitted(Target.of(noisy), shape.family, "full")
        assert own is not None
        fit = own
    return Case(number, shape, fits, fit)
