"""The finished knife as a sum of bodies: ground blade, flat steel behind the heel, scales, pins.

Glue is neglected: a film of a tenth of a millimetre weighs about a gram. The steel's growth in hardening (below
0.5 % in volume) is neglected as well.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from blankwright.geometry.outline import Outline
from blankwright.solid.blade import Taper, ground_blade, strips
from blankwright.solid.mass import G_PER_MM3_PER_KG_M3
from blankwright.solid.section import Bevels

SECTIONS = {"slab": math.inf, "rounded": 4.0, "oval": 2.0}
"""Section of a scale: exponent n of |2y/h|^n + (z/s)^n = 1, h high and s thick; a slab has square edges."""


@dataclass(frozen=True)
class Body:
    """A mass and where its centre is.

    Args:
        mass_g: Mass [g].
        centre_mm: Centre x, y, z [mm].
    """

    mass_g: float
    centre_mm: tuple[float, float, float]


def together(bodies: Sequence[Body]) -> Body:
    """Return the sum of bodies; their total must not be zero."""
    total = sum(b.mass_g for b in bodies)
    x, y, z = (sum(b.mass_g * b.centre_mm[axis] for b in bodies) / total for axis in range(3))
    return Body(total, (x, y, z))


def steel(
    outline: Outline,
    holes: Sequence[tuple[float, float, float]],
    taper: Taper,
    bevels: Bevels,
    *,
    thickness_mm: float,
    density_kg_m3: float,
) -> Body:
    """Return the ground blade with its tang: bevelled ahead of the heel, flat behind it.

    Args:
        outline: The finished outline.
        holes: x, y and diameter of the holes behind the heel [mm].
        taper: Thickness of the spine ahead of the heel.
        bevels: The grind.
        thickness_mm: Thickness of the stock [mm].
        density_kg_m3: Density [kg/m^3].

    Raises:
        GeometryError: The blade ahead of the heel is not crossed twice by every upright line.
    """
    blade = ground_blade(outline, taper, bevels)
    x, weight, low, high = strips(outline, ())
    ahead = float((weight * (high - low)).sum())
    ahead_x = float((weight * (high - low) * x).sum())
    ahead_y = float((weight * (high**2 - low**2) / 2).sum())
    cx, cy = outline.centroid_mm
    area = outline.area_mm2 - ahead
    mx, my = outline.area_mm2 * cx - ahead_x, outline.area_mm2 * cy - ahead_y
    for hx, hy, diameter in holes:
        hole = math.pi * diameter**2 / 4
        area, mx, my = area - hole, mx - hole * hx, my - hole * hy
    grams = density_kg_m3 * G_PER_MM3_PER_KG_M3
    flat = Body(area * thickness_mm * grams, (mx / area, my / area, 0.0))
    return together([Body(blade.volume_mm3 * grams, blade.centre_mm), flat])


def section_share(section: str) -> float:
    """Return the area of a scale's section as a share of height times thickness.

    Area of a superellipse: Gamma(1 + 1/n)^2 / Gamma(1 + 2/n) (any table of plane curves).

    >>> round(section_share("oval"), 6)
    0.785398
    """
    n = SECTIONS[section]
    return 1.0 if math.isinf(n) else math.gamma(1 + 1 / n) ** 2 / math.gamma(1 + 2 / n)


def scales(
    outline: Outline,
    pin_holes: Sequence[tuple[float, float, float]],
    *,
    section: str,
    thickness_mm: float,
    density_kg_m3: float,
) -> Body:
    """Return a pair of scales, symmetric about the tang.

    Args:
        outline: One scale's outline.
        pin_holes: x, y and diameter of the holes through both [mm].
        section: slab, rounded or oval; the section keeps its kind along the handle, as high as the outline.
        thickness_mm: Thickness of one scale at its middle [mm].
        density_kg_m3: Density [kg/m^3].
    """
    share = section_share(section)
    area = outline.area_mm2 * share
    cx, cy = outline.centroid_mm
    mx, my = area * cx, area * cy
    for hx, hy, diameter in pin_holes:
        hole = math.pi * diameter**2 / 4
        area, mx, my = area - hole, mx - hole * hx, my - hole * hy
    grams = density_kg_m3 * G_PER_MM3_PER_KG_M3
    return Body(2 * area * thickness_mm * grams, (mx / area, my / area, 0.0))


def pin(x_mm: float, y_mm: float, *, diameter_mm: float, length_mm: float, density_kg_m3: float) -> Body:
    """Return a round pin across the handle."""
    volume = math.pi * diameter_mm**2 / 4 * length_mm
    return Body(volume * density_kg_m3 * G_PER_MM3_PER_KG_M3, (x_mm, y_mm, 0.0))
