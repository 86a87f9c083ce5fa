"""Which sheets of paper are known, how a maker names one, and what two of them have in common."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path
from typing import Annotated

from blankwright.base.errors import RequestError, told, unknown
from blankwright.base.frozen import dataclass
from blankwright.base.readrows import In, TableRow, built, read_rows
from blankwright.base.said import Status
from blankwright.base.units import length_mm

_TABLE = Path(__file__).with_name("papers.toml")

LEAST_MM = 60.0
"""Shortest side of a sheet [mm]: a page needs room for its measuring bars."""
MOST_MM = 2000.0
"""Longest side of a sheet [mm]: longer than any printer's roll is used at once."""

_SIZE = re.compile(r"^\s*(?P<width>[\d.,+-][^x×]*?)\s*[x×]\s*(?P<height>\S.*?)\s*$", re.IGNORECASE)
_UNIT = re.compile(r"[^\d\s.,/+-]+$")


_SIDE = In(LEAST_MM, MOST_MM, "mm", length_mm)


@dataclass(frozen=True)
class Paper(TableRow):
    """A sheet of paper.

    Args:
        name: The name used in requests and file names.
        width_mm: Width as it lies in the printer's page [mm].
        height_mm: Height likewise [mm].
        source: Where the size comes from, in words.
        status: Standing of the size; "asked" for a size that the maker gave.
    """

    name: str
    width_mm: Annotated[float, _SIDE]
    height_mm: Annotated[float, _SIDE]
    source: str
    status: Status


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
        raise RequestError(
            f"{where}: a paper is a name or a size in quotes, such as A4 or 300x420mm, got {told(text)}."
        )
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
    name = f"{width_mm:.7g}x{height_mm:.7g}mm"
    return built(where, lambda: Paper(name, width_mm, height_mm, "size given", "asked"))


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


@cache
def _papers() -> dict[str, Paper]:
    return {name.lower(): found for name, found in read_rows(_TABLE, Paper).items()}
