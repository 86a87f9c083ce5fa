"""Which temper gives an asked hardness, read off the steel's table and never beyond it; how two cycles compare.

The tempering parameter compares cycles only. It does not predict a hardness.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable
from dataclasses import dataclass

from blankwright.base.errors import RequestError
from blankwright.shop.bands import show_c
from blankwright.shop.hardening import Hardening, TemperPoint, TemperTable

__all__ = ["Temper", "hrc_after", "same_effect_c", "temper_for_hrc", "tempering_parameter"]

KELVIN_ROUNDED = 273.0
"""The tempering parameter is defined with 273, not 273.15."""

CONSTANT = 20.0
"""Constant of the tempering parameter for hours: right for low-alloy steel up to 0.4 % carbon; 15 to 17 suits
high-carbon steel better (from memory)."""


@dataclass(frozen=True)
class Temper:
    """A temper read off a table.

    Args:
        temper_c: Temperature [°C].
        hrc_low: Lowest hardness the table gives there [HRC].
        hrc_high: Highest [HRC].
        table: The table it was read from.
        others: What each other table gives for the same hardness: its name and °C; None where it does not reach.
    """

    temper_c: float
    hrc_low: float
    hrc_high: float
    table: TemperTable
    others: tuple[tuple[str, float | None], ...]

    def __post_init__(self) -> None:
        if not (math.isfinite(self.temper_c) and self.hrc_low <= self.hrc_high):
            raise RequestError("a temper needs a temperature and a hardness from low to high.")

    @property
    def words(self) -> str:
        """The temper in a sentence, with the standing of its table."""
        low, high = f"{self.hrc_low:.3g}", f"{self.hrc_high:.3g}"
        span = f"{low} HRC" if low == high else f"{low} to {high} HRC"
        return f"{show_c(self.temper_c)} gives {span} ({self.table.name}: {self.table.status})."


def temper_for_hrc(entry: Hardening, hrc: float) -> Temper:
    """Return the lowest temper that gives a hardness, between the points of the chosen table.

    Args:
        entry: The steel.
        hrc: Asked hardness [HRC], compared with the middle of each point.

    Raises:
        RequestError: The hardness is outside the table; the message gives its range.
    """
    table = entry.chosen_temper
    temper_c = _lowest_c(table, hrc)
    if temper_c is None:
        values = [point.hrc for point in table.points]
        raise RequestError(
            f"hardness: the table of {entry.title} ({table.name}) goes from {min(values):g} to {max(values):g} HRC, "
            f"not to {hrc:g}. Ask for a hardness inside it, or add your own table."
        )
    low, high = hrc_after(table, temper_c)
    others = tuple((other.name, _lowest_c(other, hrc)) for other in entry.temper if other is not table)
    return Temper(temper_c, low, high, table, others)


def hrc_after(table: TemperTable, temper_c: float) -> tuple[float, float]:
    """Return the hardness after a temper, low and high [HRC], between the points of a table.

    Raises:
        RequestError: The temperature is outside the table; the message gives its range.
    """
    points = table.points
    if not points[0].temper_c <= temper_c <= points[-1].temper_c:
        raise RequestError(
            f"temper: the table '{table.name}' goes from {points[0].temper_c:.0f} to {points[-1].temper_c:.0f} °C, "
            f"not to {temper_c:.0f} °C."
        )
    return _between(points, temper_c, lambda p: p.hrc_low), _between(points, temper_c, lambda p: p.hrc_high)


def _between(points: tuple[TemperPoint, ...], temper_c: float, of: Callable[[TemperPoint], float]) -> float:
    for a, b in itertools.pairwise(points):
        if a.temper_c <= temper_c <= b.temper_c:
            share = (temper_c - a.temper_c) / (b.temper_c - a.temper_c)
            return of(a) + share * (of(b) - of(a))
    raise AssertionError(temper_c)  # the caller has checked the range


def _lowest_c(table: TemperTable, hrc: float) -> float | None:
    """Return the lowest temperature whose middle hardness is the asked one [°C], None outside the table."""
    if not math.isfinite(hrc):
        return None
    for a, b in itertools.pairwise(table.points):
        if hrc == a.hrc:
            return a.temper_c
        if min(a.hrc, b.hrc) <= hrc <= max(a.hrc, b.hrc):
            return a.temper_c + (hrc - a.hrc) / (b.hrc - a.hrc) * (b.temper_c - a.temper_c)
    return None


def tempering_parameter(temper_c: float, hours: float) -> float:
    """Return the tempering parameter of Hollomon and Jaffe, (T + 273) (20 + log10 t) / 1000.

    For comparing cycles only: the constant fits low-alloy steel, and the parameter predicts no hardness here.

    Args:
        temper_c: Temperature [°C].
        hours: Time [h]; one source has minutes, but with the constant 20 it must be hours.

    Raises:
        RequestError: No such temperature or time.

    >>> round(tempering_parameter(200, 2), 4)
    9.6024
    """
    _check_cycle(temper_c, hours)
    return (temper_c + KELVIN_ROUNDED) * (CONSTANT + math.log10(hours)) / 1000


def same_effect_c(temper_c: float, hours: float, other_hours: float) -> float:
    """Return the temperature that does the same in another time, by the tempering parameter [°C].

    Args:
        temper_c: Temperature of the known cycle [°C].
        hours: Its time [h].
        other_hours: Time of the cycle asked for [h].

    Raises:
        RequestError: No such temperature or time.
    """
    _check_cycle(temper_c, other_hours)
    return 1000 * tempering_parameter(temper_c, hours) / (CONSTANT + math.log10(other_hours)) - KELVIN_ROUNDED


def _check_cycle(temper_c: float, hours: float) -> None:
    if not (20 <= temper_c <= 750 and 0.01 <= hours <= 1000):
        raise RequestError(f"a temper is 20 to 750 °C for 0.01 to 1000 hours, got {temper_c:g} °C for {hours:g} hours.")
