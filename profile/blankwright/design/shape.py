"""The finished outline with the dimensions it has: what every paper asks, wherever the shape came from."""

from __future__ import annotations

from abc import ABC, abstractmethod
from functools import cached_property
from typing import TYPE_CHECKING

from blankwright.base.arrays import Array
from blankwright.base.frozen import dataclass
from blankwright.design.parts import Dimension, Family
from blankwright.geometry.fairness import Fairness
from blankwright.geometry.outline import Outline

if TYPE_CHECKING:
    from blankwright.design.lifted import Lifted

FINE = 8
"""Chords between two places of a bend: the length along the curve is then good to a millionth."""


@dataclass(frozen=True)
class Solved:
    """One dimension of a shape.

    Args:
        dimension: What it is.
        value_mm: The value reached, or measured [mm].
        asked_mm: The value asked, or None when it followed [mm].
    """

    dimension: Dimension
    value_mm: float
    asked_mm: float | None


@dataclass(frozen=True, eq=False)
class Shape(ABC):
    """An outline and its dimensions.

    Args:
        family: The family it came from.
        construction: full, hidden or one-piece.
        solved: Every dimension with its value.
        overall_asked_mm: Overall length when it was asked [mm].
        tolerance_mm: How far the arcs may be from what they stand for [mm].
    """

    family: Family
    construction: str
    solved: tuple[Solved, ...]
    overall_asked_mm: float | None
    tolerance_mm: float

    @property
    @abstractmethod
    def smooth(self) -> Outline:
        """The finished outline before its coordinates were rounded: neighbouring pieces are tangent to the last digit.

        What is offset must be this one: an angle of 1e-5 rad, which rounding leaves at a short piece, opens a gap in
        the parallel.
        """

    @property
    @abstractmethod
    def plain(self) -> Outline:
        """The smooth outline without scallops: the line on which their points stand."""

    @property
    @abstractmethod
    def edge_health(self) -> Fairness:
        """How fair the cutting edge is, heel to tip."""

    @abstractmethod
    def bend(self, curve: str, count: int) -> Array:
        """Return how a curve bends: (count, 4) length from its start, x, y [mm] and curvature [1/mm].

        Raises:
            GeometryError: The family has no such curve.
        """

    @property
    def there(self) -> Lifted | None:
        """The thing it was measured on, with the holes that are in it; None for a shape that is to be made."""
        return None

    @cached_property
    def values_mm(self) -> dict[str, float]:
        """Every dimension, by name [mm]."""
        return {s.dimension.name: s.value_mm for s in self.solved}

    @property
    def front_x_mm(self) -> float:
        """Where the handle begins [mm]."""
        return -self.values_mm["handle_gap"]

    @property
    def butt_x_mm(self) -> float:
        """Rear end of the handle [mm]."""
        return self.front_x_mm - self.values_mm["handle_length"]

    @property
    def tang_end_x_mm(self) -> float:
        """Rear end of the steel inside the handle [mm]."""
        return self.front_x_mm - self.values_mm.get("tang_length", self.values_mm["handle_length"])

    @property
    def overall_length_mm(self) -> float:
        """Butt of the handle to tip, along x [mm]."""
        return self.values_mm["blade_length"] - self.butt_x_mm

    @cached_property
    def finished(self) -> Outline:
        """The finished outline as arcs and lines, its coordinates on the grid of Outline.on_grid.

        Raises:
            GeometryError: A joint's radius does not fit.
            ToleranceNotMetError: The arcs do not reach the tolerance.
        """
        return self.smooth.on_grid()

    @cached_property
    def edge_line(self) -> Outline:
        """The outline that is ground and measured: of scallops the line of their points; else the finished one."""
        return self.finished if "scallop_pitch" not in self.values_mm else self.plain.on_grid()
