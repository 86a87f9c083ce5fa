"""What a range or a rule in words is, with its source and standing.

A `Figure` (records.py) is one number. Bench figures are mostly ranges, so a `Band` has two ends; where the source
printed another scale, its own words are kept beside them.
"""

from __future__ import annotations

import re
from typing import Literal

from blankwright.base.errors import RequestError, told
from blankwright.base.fields import Fields
from blankwright.base.frozen import dataclass
from blankwright.base.readrows import In, TableRow, need, read_row
from blankwright.base.said import Status

PRINTED_OFF_C = 3.0
"""Sheets round their second scale to 5 °C; further apart than this the file has a slip [°C]."""

_PRINTED = re.compile(r"^\s*(?P<low>\d+(?:\.\d+)?)(?:\s+to\s+(?P<high>\d+(?:\.\d+)?))?\s*°?(?P<scale>[CF])\b")


@dataclass(frozen=True)
class Band(TableRow):
    """A range with all that is known about it; both ends are the same for a single figure.

    Args:
        low: Lower end.
        high: Upper end, no less.
        unit: Unit of both, such as "C", "HRC", "min" or "h".
        printed: The figure as its source printed it, such as "1475 to 1500 F".
        source: Where it comes from, in words.
        status: How far it can be trusted.
    """

    low: float
    high: float
    unit: str
    printed: str
    source: str
    status: Status

    def check(self) -> None:
        """Refuse ends in the wrong order."""
        need(self.low <= self.high, f"low and high must be numbers in that order, got {self.low:g} and {self.high:g}.")

    @classmethod
    def read(cls, fields: Fields, mark: In) -> Band:
        """Read `{ low, high, printed, source, status }`; a temperature is what was printed, to the last degree.

        Args:
            fields: The table.
            mark: Unit and sensible ends; "C" is checked against the printed text.

        Raises:
            RequestError: A key is missing, unknown or outside the range; or low, high and printed do not agree.
        """
        for key in ("low", "high"):
            value = fields.table.get(key)
            if (
                isinstance(value, bool)
                or not isinstance(value, (int, float))
                or not mark.least <= value <= mark.greatest
            ):
                raise RequestError(
                    f"{fields.where} {key}: expected a number {mark.least:g} to {mark.greatest:g}, got {told(value)}."
                )
        found = read_row(cls, fields, unit=mark.unit)
        if mark.unit != "C":
            return found
        low, high = printed_c(found.printed, f"{fields.where} printed")
        if abs(low - found.low) > PRINTED_OFF_C or abs(high - found.high) > PRINTED_OFF_C:
            raise RequestError(
                f"{fields.where}: low {found.low:g} and high {found.high:g} are in C, but printed says {low:.0f} to "
                f"{high:.0f} C. Correct one; they may be {PRINTED_OFF_C:g} C apart."
            )
        return cls(low, high, "C", found.printed, found.source, found.status)

    @property
    def middle(self) -> float:
        """Half-way between the ends."""
        return (self.low + self.high) / 2

    def holds(self, value: float) -> bool:
        """Tell whether a value lies inside, ends included."""
        return self.low <= value <= self.high

    def words(self) -> str:
        """Return the range with its unit; a temperature in both scales.

        >>> Band(60, 63, "HRC", "60 to 63", "a sheet", "published").words()
        '60 to 63 HRC'
        """
        if self.unit == "C":
            fahrenheit = " to ".join(dict.fromkeys(f"{v * 9 / 5 + 32:.0f}" for v in (self.low, self.high)))
            return f"{' to '.join(dict.fromkeys(f'{v:.0f}' for v in (self.low, self.high)))} °C ({fahrenheit} °F)"
        span = f"{self.low:g}" if self.low == self.high else f"{self.low:g} to {self.high:g}"
        return f"{span}°" if self.unit == "°" else f"{span} {self.unit}"


RuleKind = Literal["do", "know"]
"""What a sentence of advice is: something to do, or something to know."""


@dataclass(frozen=True)
class Rule(TableRow):
    """A sentence of advice with its source and standing.

    Args:
        text: The sentence.
        source: Where it comes from, in words.
        status: How far it can be trusted.
        kind: Whether it says what to do or what to know; a sheet keeps the two apart.
        name: What it is picked by where a stage says only some of its advice; empty where it always says all.
        chromium: Whether it holds for steel alone that is rich in chromium, or of which nobody knows.
    """

    text: str
    source: str
    status: Status
    kind: RuleKind = "do"
    name: str = ""
    chromium: bool = False


@dataclass(frozen=True)
class Advice(TableRow):
    """Rules that belong together: the cautions of a stage, a finish, the care of a blade.

    Args:
        name: Name in the table.
        title: The name in words.
        rules: The rules, each with source and status.
        also: Other rows of the table whose rules count as well.
    """

    name: str
    title: str
    rules: tuple[Rule, ...]
    also: tuple[str, ...] = ()

    def check(self) -> None:
        """Refuse advice that says nothing, and two rules of one name."""
        need(bool(self.rules), f"'{self.name}': needs rules.")
        names = [rule.name for rule in self.rules if rule.name]
        need(len(set(names)) == len(names), f"'{self.name}': two rules have one name.")


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
    return ends if found["scale"] == "C" else ((ends[0] - 32) * 5 / 9, (ends[1] - 32) * 5 / 9)
