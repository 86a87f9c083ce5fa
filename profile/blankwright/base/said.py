"""Sentences as data until they are printed: words, quantities with units, and how far each figure can be trusted."""

from __future__ import annotations

import math
import re
from typing import Literal, get_args

from blankwright.base.errors import RequestError, unknown
from blankwright.base.frozen import dataclass
from blankwright.base.units import MM_PER_INCH

Status = Literal[
    "published",
    "common practice",
    "computed",
    "not checked against a source",
    "given by the design",
    "asked",
    "measured",
]
"""How far a figure can be trusted: four standings that a table's row can have, and three of what the maker says."""

STATUSES: tuple[Status, ...] = get_args(Status)
"""Every standing, of a table's row or of what the maker says."""

TABLED: tuple[Status, ...] = STATUSES[:4]
"""The standings that a row of a table can have."""

NOT_CHECKED: Status = "not checked against a source"
"""Known to whoever wrote the row, and not read again."""

_OZ_G = 28.349523125

NUMBER_WITH_UNIT = re.compile(
    r"\d[\d.,/]*\s?(?:mm|cm|in|g|kg|oz|lb|°C|°F|°|deg|HRC|µm|min|hours?|h|s|%|µg/m³|mg/m³|µg/m3|mg/m3|kg/m³|ppm|dB|mm²|in²)(?![A-Za-z])"
)
"""A number that means something only with its unit; what the words of a sheet are searched for."""


@dataclass(frozen=True)
class Standing:
    """How far a figure can be trusted.

    Args:
        source: Where it comes from, in words.
        status: One of STATUSES.

    Raises:
        RequestError: No source, or an unknown status.
    """

    source: str
    status: Status

    def __post_init__(self) -> None:
        if not self.source.strip():
            raise RequestError("a standing needs its source.")
        if self.status not in STATUSES:
            raise unknown("status", self.status, STATUSES)


@dataclass(frozen=True)
class Quantity:
    """A number with its unit, or a range of them.

    Args:
        value: The number.
        unit: mm, g, deg, °C or any other that is shown as it is; empty for a count.
        digits: Decimals shown, of mm, g and the like; inches and ounces get what tells as much.
        upto: Upper end of a range, or None.

    Raises:
        RequestError: A number that is not finite.
    """

    value: float
    unit: str
    digits: int = 1
    upto: float | None = None

    def __post_init__(self) -> None:
        if not all(math.isfinite(v) for v in (self.value, self.upto or 0.0)):
            raise RequestError(f"a figure of the sheet is not a finite number: {self.value}.")

    def shown(self, units: str = "mm") -> str:
        """Return the quantity in the reader's units.

        Args:
            units: "mm" or "in"; temperatures are always shown in both scales.

        >>> Quantity(5.1, "mm", 2).shown(), Quantity(815, "°C", 0).shown()
        ('5.10 mm', '815 °C (1499 °F)')
        """
        if self.unit == "°C":
            return f"{_span(self, 1.0, 0.0, 0)} °C ({_span(self, 9 / 5, 32.0, 0)} °F)"
        if self.unit == "deg":
            return f"{_span(self, 1.0, 0.0, self.digits)}°"
        factor, unit, digits = self._in(units)
        return f"{_span(self, factor, 0.0, digits)} {unit}".rstrip()

    def _in(self, units: str) -> tuple[float, str, int]:
        if units == "in" and self.unit == "mm":
            return 1 / MM_PER_INCH, "in", max(min(self.digits + 2, 3), self.digits + 1)
        if units == "in" and self.unit == "g":
            return 1 / _OZ_G, "oz", self.digits + 1
        return 1.0, self.unit, self.digits


def _span(q: Quantity, factor: float, plus: float, digits: int) -> str:
    ends = [f"{v * factor + plus:.{digits}f}" for v in (q.value, q.upto) if v is not None]
    ends = [text.lstrip("-") if float(text) == 0 else text for text in ends]
    return " to ".join(dict.fromkeys(ends))


def mm(value: float, digits: int = 2, *, upto: float | None = None) -> Quantity:
    """Return a length [mm], or a range of lengths, with the decimals that are shown.

    >>> mm(20, 0, upto=25).shown(), mm(20, 0, upto=25).shown("in")
    ('20 to 25 mm', '0.79 to 0.98 in')
    """
    return Quantity(float(value), "mm", digits, upto)


def exact_mm(value: float) -> Quantity:
    """Return a length [mm] with as many decimals as it needs, such as a limit or a thickness of stock.

    >>> exact_mm(3.0).shown(), exact_mm(3.175).shown()
    ('3 mm', '3.175 mm')
    """
    _, _, decimals = f"{round(value, 4):.4f}".rstrip("0").partition(".")
    return mm(value, len(decimals))


def range_mm(least_mm: float, most_mm: float) -> Quantity:
    """Return two lengths [mm] as one range, with as many decimals as they need, two at most.

    >>> range_mm(5.5, 8.0).shown(), range_mm(3.0, 3.0).shown(), range_mm(3.175, 3.175).shown()
    ('5.5 to 8.0 mm', '3 mm', '3.175 mm')
    """
    if most_mm - least_mm < 1e-6:
        return exact_mm(least_mm)
    digits = max(exact_mm(round(v, 2)).digits for v in (least_mm, most_mm))
    return mm(least_mm, digits, upto=most_mm)


def bare(value_mm: float, digits: int = 2, units: str = "mm") -> str:
    """Return a length [mm] without its unit, as a drawing has it, whose head says what its figures are in.

    >>> bare(2.0), bare(25.4, 1, "in")
    ('2.00', '1.000')
    """
    return mm(value_mm, digits).shown(units).rsplit(" ", 1)[0]


@dataclass(frozen=True)
class Spot:
    """A place in the drawing [mm]."""

    x_mm: float
    y_mm: float
    digits: int = 2

    def shown(self, units: str = "mm") -> str:
        """Return the place in the reader's units.

        >>> Spot(12.5, -0.0).shown(), Spot(25.4, 0.0).shown("in")
        ('x 12.50 mm, y 0.00 mm', 'x 1.000 in, y 0.000 in')
        """
        return ", ".join(f"{a} {mm(v, self.digits).shown(units)}" for a, v in (("x", self.x_mm), ("y", self.y_mm)))


@dataclass(frozen=True)
class Size:
    """Lengths that are multiplied, such as those of a block [mm]."""

    lengths_mm: tuple[float, ...]
    digits: int = 1

    def shown(self, units: str = "mm") -> str:
        """Return the size in the reader's units.

        >>> Size((126.0, 30.0, 9.5)).shown()
        '126.0 x 30.0 x 9.5 mm'
        """
        return joined(tuple(mm(v, self.digits) for v in self.lengths_mm), units, " x ")


@dataclass(frozen=True)
class Named:
    """A thing with a name and a size [mm], such as a drill; the size stands behind a name that does not say it."""

    name: str
    size: Quantity

    def shown(self, units: str = "mm") -> str:
        """Return name and size in the reader's units.

        >>> Named("#20", mm(4.09)).shown(), Named("4.1 mm", mm(4.1)).shown(), Named("4.1 mm", mm(4.1)).shown("in")
        ('#20 (4.09 mm)', '4.1 mm', '4.1 mm (0.161 in)')
        """
        told = units == "mm" and self.name.endswith(" mm")
        return self.name if told else f"{self.name} ({self.size.shown(units)})"


Value = Quantity | Size | Spot | Named | str
"""A figure of a row: a quantity, a size, a place, or a name such as a drill's."""


def joined(values: tuple[Value, ...], units: str, sign: str) -> str:
    """Return values as text; lengths that are multiplied, or told one after the other, share their unit.

    >>> joined((Quantity(120, "mm", 0), Quantity(30, "mm", 0)), "mm", " x ")
    '120 x 30 mm'
    """
    texts = [v if isinstance(v, str) else v.shown(units) for v in values]
    kinds = {v.unit for v in values if isinstance(v, Quantity)}
    if sign in (" x ", " / ") and kinds == {"mm"} and all(isinstance(v, Quantity) for v in values):
        texts = [text.rsplit(" ", 1)[0] for text in texts[:-1]] + texts[-1:]
    return sign.join(texts)


@dataclass(frozen=True)
class Line:
    """One sentence: a step, a check or a caution.

    Args:
        words: The sentence, with {} for each quantity.
        values: The quantities.
        standing: Where its numbers come from; needed as soon as it has one with a unit.

    Raises:
        RequestError: A number without standing, or quantities that do not fit the words.
    """

    words: str
    values: tuple[Value, ...] = ()
    standing: Standing | None = None

    def __post_init__(self) -> None:
        if self.words.count("{}") != len(self.values):
            raise RequestError(f"line '{self.words}' has {len(self.values)} values for its places.")
        if self.standing is None and (self.values or NUMBER_WITH_UNIT.search(self.words)):
            raise RequestError(f"line '{self.words}' has a number and does not say where it comes from.")

    def text(self, units: str = "mm") -> str:
        """Return the sentence in the reader's units."""
        return self.words.format(*(v if isinstance(v, str) else v.shown(units) for v in self.values))

    def then(self, words: str, *values: Value) -> Line:
        """Return the sentence with more words and their quantities behind it."""
        return Line(self.words + words, self.values + values, self.standing or (COMPUTED if values else None))


COMPUTED = Standing("this design", "computed")
"""The standing of whatever is computed from a design, or measured in a file."""


def said(words: str, *values: Value) -> Line:
    """Return a sentence on a design or a file: its numbers are computed from it.

    Args:
        words: The sentence, with {} for each value.
        values: Quantities, places, and names that come from elsewhere, such as a layer's.

    >>> said("At least {} of wood is left.", mm(2.5)).text("in")
    'At least 0.098 in of wood is left.'
    """
    return Line(words, values, COMPUTED)
