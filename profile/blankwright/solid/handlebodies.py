"""The handle as bodies: a pair of scales, or one block on a hidden tang, and the pins through them.

Glue is neglected: a film of a tenth of a millimetre weighs about a gram.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from blankwright.base.frozen import dataclass
from blankwright.geometry.moments import weighted
from blankwright.geometry.outline import Outline
from blankwright.solid.bodies import Body
from blankwright.solid.mass import G_PER_MM3_PER_KG_M3
from blankwright.solid.steel import Sums

SECTIONS = {"slab": math.inf, "rounded": 4.0, "oval": 2.0}
"""Round section of a handle: exponent n of |2y/h|^n + (z/s)^n = 1, h high and s thick; a slab has square edges."""


FLATS = {"octagon": math.tan(math.pi / 8)}
"""Section with flats: the share of height and thickness that each flat keeps; a regular octagon, stretched."""


def flat_corners(section: str) -> tuple[tuple[float, float], ...]:
    """Return the corners of the upper half of a section with flats, y from 1 to -1 and z from 0 to 1 and back."""
    keep = FLATS[section]
    upper = ((1.0, 0.0), (1.0, keep), (keep, 1.0))
    return (*upper, *((-y, z) for y, z in reversed(upper)))


@dataclass(frozen=True)
class Swell:
    """Thickness along the handle: the same all along, and a palm swell, a parabola highest in the middle.

    Args:
        thickness_mm: Thickness at front and butt [mm].
        more_mm: What the middle has more [mm].
        front_mm: x of the handle's front [mm].
        rear_mm: x of its rear end [mm].
    """

    thickness_mm: float
    more_mm: float
    front_mm: float
    rear_mm: float

    @property
    def coefficients(self) -> tuple[float, ...]:
        """Coefficients of 1, x, x^2 of the thickness."""
        if self.more_mm == 0:
            return (self.thickness_mm,)
        middle, half = (self.front_mm + self.rear_mm) / 2, (self.front_mm - self.rear_mm) / 2
        bend = self.more_mm / half**2
        return (self.thickness_mm + self.more_mm - bend * middle**2, 2 * bend * middle, -bend)

    def at(self, x_mm: float) -> float:
        """Return the thickness at a place [mm]."""
        return sum(c * x_mm**k for k, c in enumerate(self.coefficients))


def section_share(section: str) -> float:
    """Return the area of a section as a share of height times thickness.

    An octagon: the rectangle without its four corners. A superellipse: Gamma(1 + 1/n)^2 / Gamma(1 + 2/n) (any table of
    plane curves).

    >>> round(section_share("oval"), 6)
    0.785398
    """
    if section in FLATS:
        return 1.0 - (1.0 - FLATS[section]) ** 2 / 2
    n = SECTIONS[section]
    return 1.0 if math.isinf(n) else math.gamma(1 + 1 / n) ** 2 / math.gamma(1 + 2 / n)


def scales(
    outline: Outline,
    bores: Sequence[tuple[float, float, float]],
    *,
    section: str,
    swell: Swell,
    density_kg_m3: float,
) -> Body:
    """Return a pair of scales, symmetric about the tang.

    Args:
        outline: One scale's outline.
        bores: x, y and diameter of the holes through both [mm].
        section: slab, rounded or oval; the section keeps its kind along the handle, as high as the outline.
        swell: Thickness of one scale at its middle, along the handle.
        density_kg_m3: Density [kg/m^3].
    """
    share = section_share(section)
    volume, mx, my = (share * m for m in weighted(outline.boundary, swell.coefficients))
    for bore in bores:
        volume, mx, my = (a - b for a, b in zip((volume, mx, my), bored(bore, swell), strict=True))
    return Body(2 * volume * density_kg_m3 * G_PER_MM3_PER_KG_M3, (mx / volume, my / volume, 0.0))


def block(
    outline: Outline,
    tang: Sums,
    bores: Sequence[tuple[float, float, float]],
    *,
    section: str,
    swell: Swell,
    through: Swell,
    density_kg_m3: float,
) -> Body:
    """Return one block on a hidden tang.

    Args:
        outline: The block's outline, seen from the side.
        tang: The steel inside it, as `steel.tang_behind` gives it: the block has a slot of just that size.
        bores: x, y and diameter of the holes through block and tang [mm].
        section: slab, rounded, oval or octagon, as high as the outline.
        swell: Thickness of the whole block at its middle, along the handle.
        through: Thickness of the steel that the bores pass through, already taken off with the tang.
        density_kg_m3: Density [kg/m^3].
    """
    share = section_share(section)
    volume, mx, my = (share * m for m in weighted(outline.boundary, swell.coefficients))
    taken = [tang, *(bored(bore, swell) for bore in bores)]
    given_back = [bored(bore, through) for bore in bores]
    for sums, sign in (*((t, -1.0) for t in taken), *((g, 1.0) for g in given_back)):
        volume, mx, my = volume + sign * sums[0], mx + sign * sums[1], my + sign * sums[2]
    return Body(volume * density_kg_m3 * G_PER_MM3_PER_KG_M3, (mx / volume, my / volume, 0.0))


def bored(bore: tuple[float, float, float], swell: Swell) -> Sums:
    """Return what a hole takes at the thickness along the handle: moments of a disc, exact for a parabola."""
    x, y, diameter = bore
    area, quarter = math.pi * diameter**2 / 4, diameter**2 / 16
    means = (1.0, x, x * x + quarter, x**3 + 3 * x * quarter)
    volume = area * sum(c * m for c, m in zip(swell.coefficients, means, strict=False))
    mx = area * sum(c * m for c, m in zip(swell.coefficients, means[1:], strict=False))
    return volume, mx, volume * y


def pin(x_mm: float, y_mm: float, *, diameter_mm: float, length_mm: float, density_kg_m3: float) -> Body:
    """Return a round pin across the handle."""
    volume = math.pi * diameter_mm**2 / 4 * length_mm
    return Body(volume * density_kg_m3 * G_PER_MM3_PER_KG_M3, (x_mm, y_mm, 0.0))
