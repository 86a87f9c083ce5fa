"""Blade and tang as one body: bevelled ahead of the heel, flat or tapering behind it.

The steel's growth in hardening (below 0.5 % in volume) is neglected.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from blankwright.geometry.clip import behind
from blankwright.geometry.moments import weighted
from blankwright.geometry.outline import Outline
from blankwright.solid.blade import Plunge, Strips, Taper, ground_blade, lay_out
from blankwright.solid.bodies import Body, together
from blankwright.solid.mass import G_PER_MM3_PER_KG_M3
from blankwright.solid.section import Bevels

Sums = tuple[float, float, float]
"""Volume [mm^3] and its first moments along x and y [mm^4]."""


def steel(
    outline: Outline,
    holes: Sequence[tuple[float, float, float]],
    taper: Taper,
    bevels: Bevels,
    *,
    density_kg_m3: float,
    plunge: Plunge | None = None,
    laid: Strips | None = None,
    hollowed: Outline | None = None,
) -> Body:
    """Return the ground blade with its tang.

    Args:
        outline: The finished outline.
        holes: x, y and diameter of the holes behind the heel [mm].
        taper: Thickness of the spine, and of the tang behind the heel.
        bevels: The grind.
        density_kg_m3: Density [kg/m^3].
        plunge: Where the grind begins; None for ground through to the heel.
        laid: The outline laid out for this grind, when it is at hand.
        hollowed: The outline with its scallops, which are cut out of the ground blade; None for a plain edge.

    Raises:
        GeometryError: The blade ahead of the heel is not crossed twice by every upright line, a hollow cuts through,
            or a tapering tang comes back over the line where its taper begins.
    """
    laid = laid or lay_out(outline, taper, [bevels], plunge)
    blade = ground_blade(outline, taper, bevels, plunge, laid)
    volume, mx, my = _behind_heel(outline, taper, laid)
    for x, y, diameter in holes:
        volume, mx, my = (a - b for a, b in zip((volume, mx, my), _bored(x, y, diameter, taper), strict=True))
    grams = density_kg_m3 * G_PER_MM3_PER_KG_M3
    ahead = [Body(blade.volume_mm3 * grams, blade.centre_mm)]
    if hollowed is not None:
        from blankwright.solid.hollows import hollows  # noqa: PLC0415 - few edges have scallops

        gone = hollows(outline, hollowed, taper, bevels, plunge)
        ahead.append(Body(-gone.volume_mm3 * grams, gone.centre_mm))
    flat = Body(volume * grams, (mx / volume, my / volume, 0.0))
    return together([*ahead, flat])


def tang_behind(outline: Outline, taper: Taper, x_mm: float) -> Sums:
    """Return the volume and first moments of the steel behind an upright line, holes not taken off.

    Raises:
        GeometryError: The outline does not cross the line, or comes back over it.
    """
    at, slope = _thickness_behind(taper, x_mm)
    return _integrated(behind(outline, x_mm, "cut"), taper, x_mm, at, slope)


def _behind_heel(outline: Outline, taper: Taper, laid: Strips) -> Sums:
    """Integrate over what lies behind the heel: the whole outline less what lies ahead."""
    at, slope = _thickness_behind(taper, 0.0)
    whole = _integrated(outline, taper, 0.0, at, slope)
    weight = laid.weight * (at + slope * laid.x)
    ahead = (
        float((weight * (laid.high - laid.low)).sum()),
        float((weight * (laid.high - laid.low) * laid.x).sum()),
        float((weight * (laid.high**2 - laid.low**2) / 2).sum()),
    )
    volume, mx, my = (a - b for a, b in zip(whole, ahead, strict=True))
    return volume, mx, my


def _thickness_behind(taper: Taper, x_mm: float) -> tuple[float, float]:
    """Return the thickness at a place and how it grows along x just behind it."""
    at = float(taper.at(np.array([x_mm]))[0])
    knots = [k for k in taper.x_mm if k < x_mm]
    if not knots:
        return at, 0.0
    return at, (at - float(taper.at(np.array([knots[-1]]))[0])) / (x_mm - knots[-1])


def _integrated(outline: Outline, taper: Taper, x_mm: float, at: float, slope: float) -> Sums:
    """Integrate the thickness over an outline: one straight rule, and what each bend of the taper behind adds."""
    if slope == 0:
        area, (x, y) = outline.area_mm2, outline.centroid_mm
        sums = (area * at, area * at * x, area * at * y)
    else:
        sums = weighted(outline.boundary, (at - slope * x_mm, slope))
    rear = outline.bounds_mm[0]
    for knot in (k for k in reversed(taper.x_mm) if rear < k < x_mm):
        _, before = _thickness_behind(taper, knot)
        bend = before - slope
        if bend != 0:
            part = behind(outline, knot, "cut")
            more = weighted(part.boundary, (-bend * knot, bend))
            sums = (sums[0] + more[0], sums[1] + more[1], sums[2] + more[2])
        slope = before
    return sums


def _bored(x: float, y: float, diameter: float, taper: Taper) -> Sums:
    """Return what a hole takes: a disc of the local thickness, which changes straight across it."""
    area = math.pi * diameter**2 / 4
    thick = taper.at(np.array([x - diameter / 2, x, x + diameter / 2]))
    slope = (thick[2] - thick[0]) / diameter
    volume = area * float(thick[1])
    return volume, volume * x + area * float(slope) * diameter**2 / 16, volume * y
