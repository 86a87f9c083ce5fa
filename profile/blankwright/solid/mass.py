"""Weights of flat blanks: outline less holes, times thickness, times density."""

from __future__ import annotations

import math
from collections.abc import Sequence

from blankwright.base.frozen import dataclass
from blankwright.geometry.outline import Outline

G_PER_MM3_PER_KG_M3 = 1e-6
"""1 kg/m3 is 1e-6 g/mm3."""


@dataclass(frozen=True)
class FlatBlank:
    """A flat plate's mass and where it balances.

    Args:
        area_mm2: Area less holes [mm^2].
        mass_g: Mass [g].
        centre_mm: Centre of mass x, y [mm].
    """

    area_mm2: float
    mass_g: float
    centre_mm: tuple[float, float]


def flat_blank(
    outline: Outline,
    holes: Sequence[tuple[float, float, float]],
    *,
    thickness_mm: float,
    density_kg_m3: float,
) -> FlatBlank:
    """Weigh a flat plate.

    Args:
        outline: Its outline.
        holes: x, y and diameter of the round holes in it [mm].
        thickness_mm: Thickness [mm].
        density_kg_m3: Density [kg/m^3].
    """
    area = outline.area_mm2
    x, y = outline.centroid_mm
    mx, my = area * x, area * y
    for hx, hy, diameter in holes:
        hole = math.pi * diameter**2 / 4
        area -= hole
        mx -= hole * hx
        my -= hole * hy
    return FlatBlank(area, area * thickness_mm * density_kg_m3 * G_PER_MM3_PER_KG_M3, (mx / area, my / area))
