"""Values as a maker types them on the page, made into what stands in a design file; and back, in the reader's units."""

from __future__ import annotations

import re
from collections.abc import Mapping
from fractions import Fraction

from blankwright.base.errors import RequestError, told
from blankwright.base.units import MM_PER_INCH, show_mm
from blankwright.design.keys import BY_KEY, SETTING_UNITS
from blankwright.design.request import PATTERN_KEY
from blankwright.page.edits import Written

UNITS = ("mm", "in")

WORDS = ("name", "family", "handle.construction", PATTERN_KEY)
"""Keys whose values are words, beside the settings."""

_BARE = re.compile(r"[+-]?[\d\s.,/-]*\d[.,]?")
_INCH_PART = 64
"""A point moved by hand stops at these parts of an inch, as a rule has them; in mm at tenths."""


def kind_of(key: str) -> str:
    """Return the kind of a key's value: that of a setting, "name" for words, else a length."""
    if key in WORDS:
        return "name"
    return BY_KEY[key].kind if key in BY_KEY else "length"


def as_written(key: str, value: object, units: str) -> Written:
    """Return a typed value as it stands in a design file; a number without a unit is in the units shown.

    Args:
        key: Dotted key.
        value: What was typed.
        units: mm or in.

    Raises:
        RequestError: It is no value of this kind.

    >>> (
    ...     as_written("blade.length", "8 1/4", "in"),
    ...     as_written("pins.count", "3", "mm"),
    ...     as_written("grind.height", "full", "mm"),
    ... )
    ('8 1/4 in', 3, 'full')
    """
    kind = kind_of(key)
    if kind == "lengths":
        items = value if isinstance(value, list) else str(value).split(",")
        return [with_unit(str(item), units) for item in items]
    if kind == "count":
        text = str(value).strip()
        if not re.fullmatch(r"\d{1,3}", text):
            raise RequestError(f"{key}: expected a whole number, got {told(value)}.")
        return int(text)
    if isinstance(value, list):
        raise RequestError(f"{key}: expected one value, got {told(value)}.")
    text = f"{value:.12g}" if isinstance(value, float) else str(value).strip()
    if kind in ("name", "choice"):
        return text
    return with_unit(text, SETTING_UNITS.get(kind, units))


def with_unit(text: str, unit: str) -> str:
    """Return what was typed, with a unit behind it where it is a number alone."""
    text = text.strip()
    return f"{text} {unit}" if _BARE.fullmatch(text) else text


def by_hand(value_mm: float, units: str) -> tuple[str, float]:
    """Return a length that was reached by hand as it is written, at a tenth of a mm or a 64th of an inch, and in mm.

    >>> by_hand(210.04, "mm"), by_hand(209.5, "in")
    (('210 mm', 210.0), ('8 1/4 in', 209.55))
    """
    if units == "mm":
        rounded = round(value_mm, 1)
        return f"{rounded:g} mm", rounded
    parts = Fraction(round(value_mm / MM_PER_INCH * _INCH_PART), _INCH_PART)
    return f"{_in_parts(parts)} in", float(parts * Fraction("25.4"))


def _in_parts(value: Fraction) -> str:
    whole, rest = divmod(abs(value), 1)
    sign = "-" if value < 0 else ""
    if not rest:
        return f"{sign}{whole}"
    return f"{sign}{whole} {rest}" if whole else f"{sign}{rest}"


def exact(value_mm: float, units: str) -> str:
    """Return a length as it is written where a solver's limit is met: hundredths of a mm, or thousandths of an inch.

    >>> exact(209.55, "in"), exact(17.25, "mm")
    ('8.25 in', '17.25 mm')
    """
    return f"{value_mm / MM_PER_INCH:.3f}".rstrip("0").rstrip(".") + " in" if units == "in" else f"{value_mm:.12g} mm"


def shown(key: str, value: object, units: str, raw: object = None) -> str:
    """Return a value for a field of the page.

    Args:
        key: Dotted key.
        value: The value: mm, degrees, g, %, HRC, a count or a word.
        units: mm or in.
        raw: How it stands in the design file; shown so where it is in the reader's units.
    """
    kind = kind_of(key)
    if isinstance(value, str):
        return value
    if isinstance(value, (tuple, list)):
        return ", ".join(_length(float(v), units) for v in value)
    if not isinstance(value, (int, float)):
        return ""
    if kind == "count":
        return str(value)
    if kind in SETTING_UNITS:
        return f"{value:g} {SETTING_UNITS[kind]}"
    if isinstance(raw, str) and raw.strip().endswith(("in", '"') if units == "in" else ("mm",)):
        return raw.strip()
    return _length(float(value), units)


def _length(value_mm: float, units: str) -> str:
    """Write a length with the digits that it needs, at most hundredths of a mm or thousandths of an inch."""
    text = show_mm(value_mm, units)
    number, _, unit = text.rpartition(" ")
    return f"{number.rstrip('0').rstrip('.')} {unit}"


def words_of_values(values: Mapping[str, object], words: Mapping[str, str]) -> str:
    """Return what some changed keys are called, for the button that undoes the change."""
    names = [words.get(key, key) for key in values]
    return names[0] if len(names) == 1 else f"{names[0]} and {len(names) - 1} more"
