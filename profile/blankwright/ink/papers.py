"""Which sheets of paper are known, how a maker names one, and what two of them have in common."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from blankwright.base.errors import RequestError, unknown
from blankwright.base.said import STATUSES
from blankwright.base.units import length_mm

_TABLE = Path(__file__).with_name("papers.toml")
_KEYS = ("width", "height", "source", "status")

LEAST_MM = 60.0
"""Shortest side of a sheet [mm]: a page needs room for its measuring bars."""
MOST_MM = 2000.0
"""Longest side of a sheet [mm]: longer than any printer's roll is used at once."""

_SIZE = re.compile(r"^\s*(?P<width>[\d.,+-][^x×]*?)\s*[x×]\s*(?P<height>\S.*?)\s*$", re.IGNORECASE)
_UNIT = re.compile(r"[^\d\s.,/+-]+$")


@dataclass(frozen=True)
class Paper:
    """A sheet of paper.

    Args:
        name: The name used in requests and file names.
        width_mm: Width as it lies in the printer's page [mm].
        height_mm: Height likewise [mm].
        source: Where the size comes from, in words.
        status: Standing of the size, one of STATUSES, or "asked" for a size that the maker gave.

    Raises:
        RequestError: A side is not between 60 and 2000 mm, a text is empty, or the status is unknown.
    """

    name: str
    width_mm: float
    height_mm: float
    source: str
    status: str

    def __post_init__(self) -> None:
        for side, value in (("width", self.width_mm), ("height", self.height_mm)):
            if not LEAST_MM <= value <= MOST_MM:
                raise RequestError(
                    f"{side} of {value:g} mm is outside {LEAST_MM:g} to {MOST_MM:g} mm. Give a sheet a printer takes."
                )
        if not self.name.strip() or not self.source.strip():
            raise RequestError("a paper needs a name and a source.")
        if self.status not in (*STATUSES, "asked"):
            raise RequestError(f"status '{self.status}' is not one of: {', '.join(STATUSES)}.")


def papers() -> tuple[Paper, ...]:
    """Return every paper in the order of the table."""
    return tuple(_papers().values())


def paper(text: str, where: str = "--paper") -> Paper:
    """Return a paper by name, in any case, or by its size.

    Args:
        text: Such as "A4", "letter", "300x420mm", "12x18in" or "300 mm x 420 mm"; a size is width x height.
        where: Option, or file, table and key, for the message.

    Raises:
        RequestError: Neither a known name nor a size, no unit, or a side outside 60 to 2000 mm.

    >>> paper("12x18in").width_mm
    304.8
    """
    if not isinstance(text, str):
        raise RequestError(f"{where}: a paper is a name or a size in quotes, such as A4 or 300x420mm, got {text!r}.")
    found = _papers().get(text.strip().lower())
    if found is not None:
        return found
    size = _SIZE.match(text) if len(text) <= 120 else None
    if size is None:
        error = unknown("paper", text.strip()[:40], [p.name for p in papers()], where)
        raise RequestError(f"{error} Or give width x height with a unit, such as 300x420mm or 12x18in.")
    return _asked(size["width"], size["height"], where)


def _asked(width: str, height: str, where: str) -> Paper:
    """Build a paper from two texts; a unit at the end counts for both."""
    unit = _UNIT.search(height)
    if unit is not None and _UNIT.search(width) is None:
        width += unit[0]
    width_mm, height_mm = length_mm(width, where), length_mm(height, where)
    try:
        return Paper(f"{width_mm:.7g}x{height_mm:.7g}mm", width_mm, height_mm, "size given", "asked")
    except RequestError as error:
        raise RequestError(f"{where}: {error}") from None


def common_area_mm(a: Paper, b: Paper, margin_mm: float) -> tuple[float, float]:
    """Return the largest area that can be printed, centred, on either of two papers.

    Args:
        a: The paper that says which way round.
        b: The other; turned when it lies the other way.
        margin_mm: What the printer leaves free along each edge [mm].

    Returns:
        Width and height as a lies [mm].

    Raises:
        RequestError: The margin is negative or leaves nothing.
    """
    turned = (a.width_mm - a.height_mm) * (b.width_mm - b.height_mm) < 0
    b_width_mm, b_height_mm = (b.height_mm, b.width_mm) if turned else (b.width_mm, b.height_mm)
    width_mm = min(a.width_mm, b_width_mm) - 2 * margin_mm
    height_mm = min(a.height_mm, b_height_mm) - 2 * margin_mm
    if not (margin_mm >= 0 and width_mm > 0 and height_mm > 0):
        shortest_mm = min(a.width_mm, a.height_mm, b.width_mm, b.height_mm)
        raise RequestError(f"a margin of {margin_mm:g} mm does not fit: give 0 mm to less than {shortest_mm / 2:g} mm.")
    return (width_mm, height_mm)


def read_paper(name: str, row: Mapping[str, Any], where: str) -> Paper:
    """Read one row of the table.

    Args:
        name: Name of the row.
        row: The row as read from TOML.
        where: File and table for the message.

    Raises:
        RequestError: A key is missing, unknown or no text, or the paper is not valid.
    """
    if set(row) != set(_KEYS) or not all(isinstance(value, str) for value in row.values()):
        raise RequestError(f"{where}: must hold exactly {', '.join(_KEYS)}, each a text.")
    sides = [length_mm(row[key], f"{where}.{key}") for key in ("width", "height")]
    if row["status"] not in STATUSES:
        raise RequestError(f"{where}.status: '{row['status']}' is not one of: {', '.join(STATUSES)}.")
    try:
        return Paper(name, sides[0], sides[1], row["source"], row["status"])
    except RequestError as error:
        raise RequestError(f"{where}: {error}") from None


@cache
def _papers() -> dict[str, Paper]:
    with _TABLE.open("rb") as handle:
        rows = tomllib.load(handle)
    return {name.lower(): read_paper(name, row, f"papers.toml [{name}]") for name, row in rows.items()}
