"""What a torch in the hand runs along: the cut outline's parallel, outside it by half the kerf and the nozzle's radius.

The guide lies on the scrap's side. The nozzle slides along its inside, so that the middle of the cut is half a kerf
outside the cut outline, and the part keeps its whole allowance.
"""

from __future__ import annotations

import math

from blankwright.base.errors import DesignError, GeometryError
from blankwright.base.frozen import dataclass
from blankwright.base.said import Line, mm, said
from blankwright.design.request import Design
from blankwright.geometry.offset import parallel
from blankwright.geometry.outline import Outline
from blankwright.shop.allowance import GIVEN
from blankwright.shop.records import Figure, Process

_SHORTER_MM = 0.1
"""A parallel outline this much shorter than the law of Steiner has it does not follow some hollow."""


@dataclass(frozen=True, eq=False)
class Guide:
    """What the nozzle runs along.

    Args:
        outline: The guide's inner outline.
        kerf: Full width of the cut.
        nozzle: Radius of the nozzle.
        follows: Whether the nozzle reaches every hollow of the cut outline; a narrower one it cuts across outside.
    """

    outline: Outline
    kerf: Figure
    nozzle: Figure
    follows: bool

    @property
    def distance_mm(self) -> float:
        """How far it lies outside the cut outline [mm]."""
        return self.kerf.value / 2 + self.nozzle.value

    @property
    def words(self) -> Line:
        """What it is, for a drawing or a template."""
        whose = "yours" if self.nozzle.status == GIVEN else "measure yours"
        parts = (mm(self.distance_mm), mm(self.kerf.value / 2), mm(self.nozzle.value))
        text = "Guide {} outside the cut: half the kerf, {}, and the nozzle's radius, {}"
        return said(f"{text} ({whose}). The nozzle runs inside it.", *parts)


def guide_of(design: Design, cut: Outline, way: Process | None) -> Guide | None:
    """Return what the torch runs along; None where nothing is run along a guide.

    Args:
        design: The request.
        cut: The outline to cut.
        way: How it is cut; None for a bought blank.

    Raises:
        DesignError: No guide can be laid round this outline.
    """
    if way is None or way.nozzle_radius_mm is None:
        return None
    asked = design.cutting.nozzle_radius_mm
    nozzle = way.nozzle_radius_mm
    if asked is not None:
        nozzle = Figure(asked, "mm", "the design's own nozzle, [cutting] nozzle_radius", GIVEN)
    distance = way.kerf_mm.value / 2 + nozzle.value
    try:
        outline = parallel(cut, distance).outline
    except GeometryError as error:
        raise DesignError(
            f"No guide can be laid round this outline: {error}. Use a smaller [cutting] nozzle_radius."
        ) from None
    whole = cut.perimeter_mm + 2 * math.pi * distance
    return Guide(outline, way.kerf_mm, nozzle, outline.perimeter_mm > whole - _SHORTER_MM)
