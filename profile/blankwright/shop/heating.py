"""How long a thin blade takes to come to heat in an oven, from the heat of steel and radiation on both faces.

Specific heat and conductivity are those of EN 1993-1-2 for carbon steel. The blade is one temperature through its
thickness (the Biot number says whether that holds), so the time is a single integral,
rho a / (2 eps sigma) x integral of c(T) / (Ts^4 - T^4) dT, done by Gauss points with the kinks of c as ends.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable

from blankwright.base.errors import RequestError
from blankwright.base.gauss import gauss_legendre
from blankwright.shop.bands import Band

SOURCE = "EN 1993-1-2, 3.4.1.2 and 3.4.1.3, carbon steel"
"""Where specific heat and conductivity come from."""

SIGMA = 5.670374e-8
"""Stefan-Boltzmann constant [W/m2K4]."""

KELVIN = 273.15
"""Kelvin above degrees Celsius."""

BIOT_LIMIT = 0.1
"""Below this a body is one temperature throughout, within a few per cent (heat-transfer texts, not checked again)."""

LEAST_C, MOST_C = 20.0, 1200.0
"""Scope of the standard's formulae [°C]."""

_KINKS_C = (600.0, 735.0, 900.0)
_TABLE = "radiation-thermometer manual's table of emissivities"

SURFACES: dict[str, Band] = {
    "oxidised": Band(0.74, 0.80, "of 1", "0.74 to 0.80 at 100 to 600 C", _TABLE, "published"),
    "hot-rolled": Band(0.77, 0.77, "of 1", "0.77", _TABLE, "published"),
    "ground": Band(0.55, 0.61, "of 1", "0.55 to 0.61 at 950 to 1100 C, ground sheet", _TABLE, "published"),
    "rolled": Band(0.24, 0.66, "of 1", "0.24 to 0.66, rolled sheet", _TABLE, "published"),
    "polished": Band(0.14, 0.38, "of 1", "0.14 to 0.38 at 400 to 1000 C", _TABLE, "published"),
}
"""How well a surface takes up radiation. A blade scales as it heats, so it ends nearer to oxidised."""


def surface(name: str) -> Band:
    """Return the emissivity of a surface.

    Raises:
        RequestError: No such surface.

    >>> surface("oxidised").low
    0.74
    """
    if name not in SURFACES:
        raise RequestError(f"surface: unknown surface '{name}'. Allowed: {', '.join(SURFACES)}.")
    return SURFACES[name]


def _check_c(value_c: float, what: str) -> None:
    if not LEAST_C <= value_c <= MOST_C:  # nan fails the comparison as well
        raise RequestError(f"{what}: {value_c:g} °C is outside {LEAST_C:g} to {MOST_C:g} °C, the scope of {SOURCE}.")


def specific_heat_j_kgk(temperature_c: float) -> float:
    """Return the specific heat of carbon steel by EN 1993-1-2, 3.4.1.2 [J/kgK].

    Raises:
        RequestError: Outside 20 to 1200 °C.

    >>> round(specific_heat_j_kgk(20), 1)
    439.8
    """
    t = temperature_c
    _check_c(t, "temperature")
    if t < 600:
        return 425 + 0.773 * t - 1.69e-3 * t**2 + 2.22e-6 * t**3
    if t <= 735:
        return 666 + 13002 / (738 - t)
    if t < 900:
        return 545 + 17820 / (t - 731)
    return 650.0


def conductivity_w_mk(temperature_c: float) -> float:
    """Return the heat conductivity of carbon steel by EN 1993-1-2, 3.4.1.3 [W/mK].

    Raises:
        RequestError: Outside 20 to 1200 °C.

    >>> round(conductivity_w_mk(20), 1)
    53.3
    """
    _check_c(temperature_c, "temperature")
    return 54 - 0.0333 * temperature_c if temperature_c < 800 else 27.3


def heat_time_s(
    *, thickness_mm: float, emissivity: float, oven_c: float, start_c: float, to_c: float, density_kg_m3: float
) -> float:
    """Return the time a flat blade takes to come to a temperature, radiation on both faces [s].

    The oven is taken as black, wide and steady, and moving air is left out. Against an integration of the differential
    equation the quadrature is better than 1e-5 of the time.

    Args:
        thickness_mm: Thickness of the blade where it is thickest [mm].
        emissivity: Of the blade's surface, above 0 and up to 1; see SURFACES.
        oven_c: Temperature of the oven [°C].
        start_c: Temperature of the blade to begin with [°C].
        to_c: Temperature asked for, below the oven's [°C].
        density_kg_m3: Density of the steel [kg/m3].

    Raises:
        RequestError: A figure that cannot be, or a blade that is to become hotter than its oven.
    """
    _check_body(thickness_mm, emissivity, oven_c, start_c, to_c)
    oven_k = oven_c + KELVIN

    def slope(t_c: float) -> float:
        return specific_heat_j_kgk(t_c) / (oven_k**4 - (t_c + KELVIN) ** 4)

    ends = [start_c, *(k for k in _KINKS_C if start_c < k < to_c), to_c]
    total = sum(_integral(slope, a, b) for a, b in itertools.pairwise(ends))
    return density_kg_m3 * thickness_mm / 1000 / (2 * emissivity * SIGMA) * total


def _integral(of: Callable[[float], float], a: float, b: float) -> float:
    """Return an integral by twelve Gauss points in each of twenty-four strips, narrower toward both ends."""
    nodes, weights = gauss_legendre(12)
    strips = 24
    marks = [a + (b - a) * (1 - math.cos(math.pi * i / strips)) / 2 for i in range(strips + 1)]
    total = 0.0
    for x0, x1 in itertools.pairwise(marks):
        middle, half = (x0 + x1) / 2, (x1 - x0) / 2
        total += half * sum(float(w) * of(middle + half * float(x)) for x, w in zip(nodes, weights, strict=True))
    return total


def _check_body(thickness_mm: float, emissivity: float, oven_c: float, start_c: float, to_c: float) -> None:
    if not 0.1 <= thickness_mm <= 25:
        raise RequestError(f"thickness: a blade is 0.1 to 25 mm thick, got {thickness_mm:g} mm.")
    if not 0.05 <= emissivity <= 1:
        raise RequestError(f"emissivity: must be 0.05 to 1, got {emissivity:g}.")
    for value_c, what in ((oven_c, "oven"), (start_c, "start"), (to_c, "target")):
        _check_c(value_c, what)
    if not start_c <= to_c < oven_c:
        raise RequestError(
            f"oven: {oven_c:g} °C does not bring a blade from {start_c:g} to {to_c:g} °C. "
            "The oven must be hotter than the blade is to become."
        )


def radiation_w_m2k(*, emissivity: float, oven_c: float, blade_c: float) -> float:
    """Return the coefficient that radiation amounts to, eps sigma (Ts^2 + T^2)(Ts + T) [W/m2K]."""
    s, t = oven_c + KELVIN, blade_c + KELVIN
    return emissivity * SIGMA * (s**2 + t**2) * (s + t)


def biot(*, coefficient_w_m2k: float, length_mm: float, conductivity: float) -> float:
    """Return the Biot number h L / k.

    Args:
        coefficient_w_m2k: Heat-transfer coefficient [W/m2K].
        length_mm: Volume over heated surface [mm]; half the thickness of a blade heated on both faces.
        conductivity: Heat conductivity [W/mK].
    """
    return coefficient_w_m2k * length_mm / 1000 / conductivity
