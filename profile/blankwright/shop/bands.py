"""What a range or a rule in words is, with its source and standing, and how both are read from a table.

A `Figure` (records.py) is one number. Bench figures are mostly ranges, so a `Band` has two ends; where the source
printed another scale, its own words are kept beside them.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeVar

from blankwright.base.errors import RequestError
from blankwright.base.fields import Fields
from blankwright.base.said import STATUSES

__all__ = [
    "Band", "Rule", "built", "c_from_f", "f_from_c", "number", "printed_c", "read_band", "read_rule", "read_rules",
    "show_c",
]  # fmt: skip

PRINTED_OFF_C = 3.0
"""Sheets round their second scale to 5 °C; further apart than this the file has a slip [°C]."""

_PRINTED = re.compile(r"^\s*(?P<low>\d+(?:\.\d+)?)(?:\s+to\s+(?P<high>\d+(?:\.\d+)?))?\s*°?(?P<scale>[CF])\b")

Built = TypeVar("Built")


def f_from_c(value_c: float) -> float:
    """Return degrees Fahrenheit.

    >>> f_from_c(100.0)
    212.0
    """
    return value_c * 9 / 5 + 32


def c_from_f(value_f: float) -> float:
    """Return degrees Celsius.

    >>> c_from_f(212.0)
    100.0
    """
    return (value_f - 32) * 5 / 9


def show_c(value_c: float) -> str:
    """Write a temperature in both scales, to whole degrees.

    >>> show_c(800)
    '800 °C (1472 °F)'
    """
    return f"{value_c:.0f} °C ({f_from_c(value_c):.0f} °F)"


def _need(condition: bool, message: str) -> None:
    if not condition:
        raise RequestError(message)


def _check_standing(source: str, status: str) -> None:
    _need(bool(source.strip()), "source is empty.")
    _need(status in STATUSES, f"status '{status}' is not one of: {', '.join(STATUSES)}.")


@dataclass(frozen=True)
class Band:
    """A range with all that is known about it; both ends are the same for a single figure.

    Args:
        low: Lower end.
        high: Upper end, no less.
        unit: Unit of both, such as "C", "HRC", "min" or "h".
        printed: The figure as its source printed it, such as "1475 to 1500 F".
        source: Where it comes from, in words.
        status: One of STATUSES.

    Raises:
        RequestError: An end is not finite, the ends are in the wrong order, a text is empty, or the status unknown.
    """

    low: float
    high: float
    unit: str
    printed: str
    source: str
    status: str

    def __post_init__(self) -> None:
        good = math.isfinite(self.low) and math.isfinite(self.high) and self.low <= self.high
        _need(good, f"low and high must be numbers in that order, got {self.low:g} and {self.high:g}.")
        _need(bool(self.unit.strip()) and bool(self.printed.strip()), "unit or printed is empty.")
        _check_standing(self.source, self.status)

    @property
    def middle(self) -> float:
        """Half-way between the ends."""
        return (self.low + self.high) / 2

    def holds(self, value: float) -> bool:
        """Tell whether a value lies inside, ends included."""
        return self.low <= value <= self.high

    def _ends_f(self) -> tuple[float, float]:
        """Return the ends of a temperature in °F, as printed where the source printed °F."""
        found = _PRINTED.match(self.printed)
        if found is not None and found["scale"] == "F":
            return float(found["low"]), float(found["high"] or found["low"])
        return f_from_c(self.low), f_from_c(self.high)

    def words(self) -> str:
        """Return the range with its unit; a temperature in both scales.

        >>> Band(60, 63, "HRC", "60 to 63", "a sheet", "published").words()
        '60 to 63 HRC'
        """
        if self.unit == "C":
            low_f, high_f = self._ends_f()
            if self.low == self.high:
                return f"{self.low:.0f} °C ({low_f:.0f} °F)"
            return f"{self.low:.0f} to {self.high:.0f} °C ({low_f:.0f} to {high_f:.0f} °F)"
        span = f"{self.low:g}" if self.low == self.high else f"{self.low:g} to {self.high:g}"
        return f"{span}°" if self.unit == "°" else f"{span} {self.unit}"


@dataclass(frozen=True)
class Rule:
    """A sentence of advice with its source and standing.

    Args:
        text: The sentence.
        source: Where it comes from, in words.
        status: One of STATUSES.

    Raises:
        RequestError: A text is empty or the status is unknown.
    """

    text: str
    source: str
    status: str

    def __post_init__(self) -> None:
        _need(bool(self.text.strip()), "text is empty.")
        _check_standing(self.source, self.status)


# Reading --------------------------------------------------------------------------------------------------


def built(where: str, make: Callable[[], Built]) -> Built:
    """Make a record; a complaint without a place gets the place in front.

    Raises:
        RequestError: The record is not valid.
    """
    try:
        return make()
    except RequestError as error:
        text = str(error)
        raise RequestError(text if text.startswith(where) else f"{where}: {text}") from None


def number(fields: Fields, key: str, least: float, greatest: float) -> float:
    """Return a number within a range.

    Raises:
        RequestError: Missing, no number, or outside; the message names place, key and range.
    """
    value = fields.table.get(key)
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not least <= value <= greatest:
        raise RequestError(f"{fields.where} {key}: expected a number {least:g} to {greatest:g}, got {value!r}.")
    return float(value)


def printed_c(text: str, where: str) -> tuple[float, float]:
    """Return the ends of a temperature as printed [°C]; what follows the first scale is a remark.

    Raises:
        RequestError: The text does not begin with "N C", "N F", "N to M C" or "N to M F".

    >>> printed_c("1472 to 1652 F", "x")
    (800.0, 900.0)
    """
    found = _PRINTED.match(text)
    if found is None:
        raise RequestError(f"{where}: '{text[:40]}' must begin like '1475 to 1500 F' or '1060 C'.")
    ends = (float(found["low"]), float(found["high"] or found["low"]))
    return ends if found["scale"] == "C" else (c_from_f(ends[0]), c_from_f(ends[1]))


def read_band(fields: Fields, unit: str, least: float, greatest: float) -> Band:
    """Read `{ low, high, printed, source, status }`; a temperature must agree with what was printed.

    Args:
        fields: The table.
        unit: Unit of both ends; "C" is checked against the printed text.
        least: Smallest sensible end.
        greatest: Largest sensible end.

    Raises:
        RequestError: A key is missing, unknown or outside the range; or low, high and printed do not agree.
    """
    fields.only(("low", "high", "printed", "source", "status"))
    low, high = (number(fields, key, least, greatest) for key in ("low", "high"))
    printed = fields.text("printed")
    if unit == "C":
        ends = printed_c(printed, f"{fields.where} printed")
        if abs(ends[0] - low) > PRINTED_OFF_C or abs(ends[1] - high) > PRINTED_OFF_C:
            raise RequestError(
                f"{fields.where}: low {low:g} and high {high:g} are in C, but printed says {ends[0]:.0f} to "
                f"{ends[1]:.0f} C. Correct one; they may be {PRINTED_OFF_C:g} C apart."
            )
    source, status = fields.text("source"), fields.choice("status", STATUSES)
    return built(fields.where, lambda: Band(low, high, unit, printed, source, status))


def read_rule(fields: Fields) -> Rule:
    """Read `{ text, source, status }`.

    Raises:
        RequestError: A key is missing, unknown or empty.
    """
    fields.only(("text", "source", "status"))
    return Rule(fields.text("text"), fields.text("source"), fields.choice("status", STATUSES))


def read_rules(fields: Fields, key: str) -> tuple[Rule, ...]:
    """Read a list of `{ text, source, status }`; none when the key is not there.

    Raises:
        RequestError: The list or one of its tables is wrong.
    """
    return tuple(read_rule(row) for row in fields.rows(key)) if key in fields.table else ()
