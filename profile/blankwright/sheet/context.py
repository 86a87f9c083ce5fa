"""What every stage looks at: the workpiece, its weights and bench figures, how it starts, what was wished."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from blankwright.knife.knife import MadeHole, Workpiece
from blankwright.knife.weights import Weights, ground_of, weigh
from blankwright.sheet.start import Start, start_of
from blankwright.solid.ground import Ground
from blankwright.solid.stations import Station, stations


@dataclass(frozen=True, eq=False)
class Knife:
    """A workpiece as the sheet sees it.

    Args:
        work: The workpiece.
        start: How the work starts.
    """

    work: Workpiece
    start: Start

    @cached_property
    def weights(self) -> Weights:
        """What it weighs."""
        return weigh(self.work)

    @cached_property
    def ground(self) -> Ground:
        """How it is ground."""
        return ground_of(self.work)

    @cached_property
    def stations(self) -> Sequence[Station]:
        """What the grinder sets and measures along the blade."""
        length = self.work.shape.values_mm["blade_length"]
        ground = self.ground
        return stations(self.work.finished, ground.taper, ground.bevels, ground.before, self.stock_mm, length)

    @property
    def stock_mm(self) -> float:
        """Thickness of the stock [mm]."""
        return self.work.design.number("material.thickness")

    @property
    def construction(self) -> str:
        """full, hidden or one-piece."""
        return self.work.design.construction

    @property
    def stainless(self) -> bool:
        """Whether the steel is stainless."""
        return self.work.material.kind == "stainless"

    @property
    def single(self) -> bool:
        """Whether the blade is ground on one face only."""
        return self.ground.bevels.right_share in (0.0, 1.0)

    @property
    def pins(self) -> tuple[MadeHole, ...]:
        """Holes for pins."""
        return tuple(h for h in self.work.holes if h.hole.purpose == "pin")

    def setting(self, key: str) -> float:
        """Return a number of the design, 0 where it is not set."""
        value = self.work.design.settings.get(key, 0.0)
        return float(value) if isinstance(value, (int, float)) else 0.0


def knife_of(work: Workpiece) -> Knife:
    """Return a workpiece as the sheet sees it.

    Raises:
        RequestError: Start and stock do not go together.
    """
    return Knife(work, start_of(work))
