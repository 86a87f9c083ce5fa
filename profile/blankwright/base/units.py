"""Reading and writing quantities. Inside the package everything is mm, g, degrees and °C.

Numbers without a unit are refused where the unit matters: 8.25 read as millimetres instead of inches
is the most expensive slip in the trade.
"""

from __future__ import annotations

import math
import re
from fractions import Fraction

from blankwright.base.errors import RequestError, told

MM_PER_INCH = 25.4
"""Exact by definition of the international inch."""

_LENGTH_MM = {
    "mm": 1.0, "cm": 10.0, "m": 1000.0, "in": MM_PER_INCH, "inch": MM_PER_INCH, "inches": MM_PER_INCH,
    '"': MM_PER_INCH, "”": MM_PER_INCH, "″": MM_PER_INCH, "ft": 12 * MM_PER_INCH, "'": 12 * MM_PER_INCH,
}  # fmt: skip
_AREA_MM2 = {"mm2": 1.0, "mm²": 1.0, "cm2": 100.0, "cm²": 100.0, "in2": MM_PER_INCH**2, "in²": MM_PER_INCH**2}
_MASS_G = {"g": 1.0, "kg": 1000.0, "oz": 28.349523125, "lb": 453.59237}
_RATE_MM_MIN = {"mm/min": 1.0, "m/min": 1000.0, "mm/s": 60.0, "in/min": MM_PER_INCH}
_TIME_S = {"s": 1.0, "ms": 0.001, "min": 60.0}
_ANGLE_DEG = {"deg": 1.0, "°": 1.0, "degrees": 1.0, "rad": 180 / math.pi}

_NUMBER = re.compile(
    r"""^\s*(?P<sign>[+-]?)\s*
        (?: (?P<whole>\d+)[\s-]+(?P<num>\d+)\s*/\s*(?P<den>\d+)      # 8 1/4 or 8-1/4
          | (?P<fnum>\d+)\s*/\s*(?P<fden>\d+)                        # 3/32
          | (?P<dec>\d+(?:[.,]\d*)?|[.,]\d+)(?P<exp>[eE][+-]?\d+)?   # 210, 8.25, 8,25
        )\s*(?P<unit>.*?)\s*$""",
    re.VERBOSE,
)


def mm_per(unit: str) -> float:
    """Return the millimetres in a unit that files are written in, "mm" or "in".

    >>> mm_per("mm"), mm_per("in")
    (1.0, 25.4)
    """
    return 1.0 if unit == "mm" else MM_PER_INCH


def _split(text: str, where: str) -> tuple[Fraction, str]:
    """Split "8 1/4 in" into its number and its unit; raise RequestError when it is no quantity."""
    match = _NUMBER.match(text)
    if match is None or len(text) > 60:
        raise RequestError(f"{where}: '{text[:60]}' is not a quantity. Write it like 210 mm, 8 1/4 in or 3/32 in.")
    try:
        value: Fraction
        if match["whole"] is not None:
            value = int(match["whole"]) + Fraction(int(match["num"]), int(match["den"]))
        elif match["fnum"] is not None:
            value = Fraction(int(match["fnum"]), int(match["fden"]))
        else:
            exponent = min(max(int((match["exp"] or "e0")[1:]), -30), 30)  # beyond is no length of anything
            value = Fraction(match["dec"].replace(",", ".").rstrip(".") or "0") * Fraction(10) ** exponent
    except (ZeroDivisionError, OverflowError, ValueError):
        raise RequestError(f"{where}: '{text[:60]}' is not a number.") from None
    return (-value if match["sign"] == "-" else value), match["unit"]


def _quantity(text: object, where: str, table: dict[str, float], example: str) -> float:
    if isinstance(text, bool) or not isinstance(text, (str, int, float)):
        raise RequestError(f"{where}: expected a quantity such as {example}, got {told(text)}.")
    if not isinstance(text, str):
        raise RequestError(f"{where}: {told(text)} has no unit. Write it with its unit, such as {example}.")
    number, unit = _split(text, where)
    if not unit:
        raise RequestError(f"{where}: '{text.strip()}' has no unit. Write it with its unit, such as {example}.")
    factor = table.get(unit) or table.get(unit.lower())
    if factor is None:
        raise RequestError(f"{where}: unknown unit '{unit[:20]}'. Allowed: {', '.join(table)}. Example: {example}.")
    return float(number * Fraction(str(factor)))  # exact until here: 8 1/4 in is 209.55, not 209.54999999999998


def length_mm(text: object, where: str = "length") -> float:
    """Read a length with its unit and return millimetres.

    Args:
        text: "210 mm", "21 cm", "8 1/4 in", '8.25"', "3/32 in", "1 ft". A bare number is refused.
        where: File, table and key for the message.

    Raises:
        RequestError: No unit, an unknown unit, or no number.

    >>> length_mm("8 1/4 in")
    209.55
    >>> length_mm("3/32 in")
    2.38125
    """
    return _quantity(text, where, _LENGTH_MM, "210 mm")


def mass_g(text: object, where: str = "mass") -> float:
    """Read a mass with its unit and return grams.

    >>> mass_g("190 g")
    190.0
    """
    return _quantity(text, where, _MASS_G, "190 g")


def area_mm2(text: object, where: str = "area") -> float:
    """Read an area with its unit and return square millimetres.

    >>> area_mm2("78 cm2")
    7800.0
    """
    return _quantity(text, where, _AREA_MM2, "78 cm2")


def angle_deg(text: object, where: str = "angle") -> float:
    """Read an angle with its unit and return degrees.

    >>> angle_deg("15 deg")
    15.0
    """
    return _quantity(text, where, _ANGLE_DEG, "15 deg")


def rate_mm_min(text: object, where: str = "speed") -> float:
    """Read a speed with its unit and return millimetres a minute.

    >>> rate_mm_min("2.5 m/min")
    2500.0
    """
    return _above_nothing(_quantity(text, where, _RATE_MM_MIN, "2500 mm/min"), where)


def time_s(text: object, where: str = "time") -> float:
    """Read a time with its unit and return seconds.

    >>> time_s("0.5 s")
    0.5
    """
    return _above_nothing(_quantity(text, where, _TIME_S, "0.5 s"), where, or_nothing=True)


def _above_nothing(value: float, where: str, *, or_nothing: bool = False) -> float:
    if value < 0 or (value == 0 and not or_nothing) or value > 1e6:
        raise RequestError(f"{where}: {value:g} cannot be; it must be above 0.")
    return value


def share_percent(text: object, where: str = "share") -> float:
    """Read a share written in per cent.

    >>> share_percent("70 %")
    70.0
    """
    return _quantity(text, where, {"%": 1.0}, "70 %")


def hardness_hrc(text: object, where: str = "hardness") -> float:
    """Read a hardness on the Rockwell C scale.

    >>> hardness_hrc("60 HRC")
    60.0
    """
    return _quantity(text, where, {"hrc": 1.0}, "60 HRC")


def temperature_c(text: object, where: str = "temperature") -> float:
    """Read a temperature with its scale and return degrees Celsius.

    >>> temperature_c("212 F")
    100.0
    """
    if not isinstance(text, str):
        raise RequestError(f"{where}: {told(text)} has no scale. Write it like 800 C or 1475 F.")
    number, unit = _split(text, where)
    scale = unit.replace("°", "").strip().upper()
    if scale == "C":
        return float(number)
    if scale == "F":
        return float((number - 32) * 5 / 9)
    raise RequestError(f"{where}: '{text[:60]}' needs the scale C or F, such as 800 C or 1475 F.")


def decimals_apart(value: float, *ends: float) -> int:
    """Return with how many decimals, at least two, a number does not look like an end of its range.

    >>> decimals_apart(16.5, 12.0), decimals_apart(16.500001, 12.0, 16.5)
    (2, 6)
    """
    shown = (d for d in range(2, 12) if all(f"{value:.{d}f}" != f"{end:.{d}f}" for end in ends))
    return next(shown, 12)


def apart(value: float, *ends: float) -> str:
    """Return a number in the digits it needs, so that it does not look like an end of its range.

    >>> apart(25.5, 2.0, 25.0), apart(25.00000001, 2.0, 25.0)
    ('25.5', '25.00000001')
    """
    shown = (text for d in range(6, 17) for text in [f"{value:.{d}g}"] if text not in {f"{end:.{d}g}" for end in ends})
    return next(shown, repr(value))


def show_mm(value_mm: float, units: str = "mm", digits: int | None = None) -> str:
    """Write a length in the reader's unit: "210.00 mm" or "8.268 in".

    >>> show_mm(209.55, "in"), show_mm(-0.001)
    ('8.250 in', '0.00 mm')
    """
    if units == "in":
        return f"{_fixed(value_mm / MM_PER_INCH, 3 if digits is None else digits + 1)} in"
    return f"{_fixed(value_mm, 2 if digits is None else digits)} mm"


_WRITTEN_OUT = 1e9
"""A slip of more digits is told by its power of ten."""


def _fixed(value: float, digits: int) -> str:
    """Write a number; one that rounds to nothing has no sign."""
    text = f"{value:.{digits}f}" if abs(value) < _WRITTEN_OUT else f"{value:g}"
    return text.lstrip("-") if float(text) == 0 else text


def show_area_mm2(value_mm2: float, units: str = "mm") -> str:
    """Write an area in the reader's unit: "10123 mm²" or "15.69 in²".

    >>> show_area_mm2(645.16, "in")
    '1.00 in²'
    """
    if units == "in":
        return f"{value_mm2 / MM_PER_INCH**2:.2f} in²"
    return f"{value_mm2:.0f} mm²"


def show_g(value_g: float, units: str = "mm") -> str:
    """Write a mass in the reader's unit: "231.4 g" or "8.16 oz".

    >>> show_g(28.349523125, "in")
    '1.00 oz'
    """
    if units == "in":
        return f"{_fixed(value_g / _MASS_G['oz'], 2)} oz"
    return f"{_fixed(value_g, 1)} g"
