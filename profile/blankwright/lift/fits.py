"""What a fit is: a family's shape, how the outline lies on it, what is left, and how well each dimension is told."""

from __future__ import annotations

from functools import cached_property

import numpy as np

from blankwright.base.arrays import Array, Place
from blankwright.base.frozen import dataclass
from blankwright.design.solve import SolvedShape
from blankwright.geometry.distance import points_to_pieces
from blankwright.geometry.outline import Outline
from blankwright.geometry.pose import Pose
from blankwright.lift.offness import signed_mm

MOST_PLACES = 600
"""So many places of the outline are looked at: one each millimetre of a chef's knife."""
ROBUST_MM = 0.3
"""A place that is further off than this counts by its distance, not by its square."""


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
    def of(outline: Outline, places: int = MOST_PLACES) -> Target:
        """Return the outline with places on it."""
        points, _ = outline.sampled(max(outline.perimeter_mm / places, 0.2))
        return Target(points, outline)


@dataclass(frozen=True, eq=False)
class Fit:
    """A family that was laid on an outline.

    Args:
        shape: The family at the dimensions found.
        laid: How the outline lies on it: turned about the heel, then shifted.
        target: The outline it was laid on.
        driven: Names of the dimensions that were sought; a free one that is not among them follows.
        spread_mm: One standard deviation of each of them [mm].
    """

    shape: SolvedShape
    laid: Pose
    target: Target
    driven: tuple[str, ...]
    spread_mm: Array

    @cached_property
    def off_mm(self) -> Array:
        """(n,) distance of each place of the outline from the family's arcs, plus outside [mm]."""
        return signed_mm(self.shape.finished, self.laid.points(self.target.points))

    @cached_property
    def rms_mm(self) -> float:
        """Root mean square of those distances [mm]."""
        return float(np.sqrt((self.off_mm**2).mean()))

    @cached_property
    def robust_mm(self) -> float:
        """The same with far places counted by their distance: what families are ranked by [mm]."""
        return robust_mm(self.off_mm)

    @property
    def worst_mm(self) -> float:
        """The greatest of them [mm]."""
        return float(np.abs(self.off_mm).max())

    @property
    def _worst(self) -> int:
        return int(np.abs(self.off_mm).argmax())

    @property
    def worst_off_mm(self) -> float:
        """The greatest of them, plus outside the family [mm]."""
        return float(self.off_mm[self._worst])

    @property
    def at_mm(self) -> Place:
        """Where it is, in the design's coordinates [mm]."""
        x, y = self.laid.points(self.target.points)[self._worst].tolist()
        return (x, y)

    @property
    def at_region(self) -> str:
        """Region of the family there."""
        o = self.shape.finished
        away = points_to_pieces(np.array([self.at_mm]), o.starts, o.ends, o.bulges)[0]
        return o.regions[int(away.argmin())]

    @property
    def known_to_mm(self) -> dict[str, float]:
        """How well the outline tells each dimension, by name: three times its standard deviation [mm].

        From what is left of the fit (linear least squares; neighbouring places that are off together count as one).
        A shape does not follow its dimensions along a line, and twice covered nine of ten where it should be more.
        Where an edge rises slowly, the length of its flat is told to some millimetres only, however fine the outline.
        """
        return {name: 3 * float(s) for name, s in zip(self.driven, self.spread_mm.tolist(), strict=True)}

    @property
    def dimensions_mm(self) -> dict[str, float]:
        """Every dimension found, by name [mm]."""
        return dict(self.shape.values_mm)

    @property
    def asked_mm(self) -> dict[str, float]:
        """The dimensions that a design asks for to become this shape, by name [mm]."""
        return {name: self.dimensions_mm[name] for name in self.driven}


def robust_mm(off: Array) -> float:
    """Return the root mean square of distances, of which far ones count by their distance, not its square [mm]."""
    z = (off / ROBUST_MM) ** 2
    return float(np.sqrt((2 * (np.sqrt(1 + z) - 1)).mean())) * ROBUST_MM
