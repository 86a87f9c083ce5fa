"""Which drill is nearest to a hole: metric, fractional, number and letter sizes, below and above."""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from pathlib import Path

from blankwright.base.errors import RequestError
from blankwright.base.fields import Fields, read_toml
from blankwright.base.said import STATUSES
from blankwright.base.units import MM_PER_INCH

__all__ = ["SERIES", "Drill", "Nearest", "best", "drill", "drills", "nearest"]

SERIES = ("metric", "fractional", "number", "letter")
"""The series of drills."""

SAME_MM = 1e-6
"""Sizes nearer than this are the same [mm]."""

_TABLE = Path(__file__).parent / "data" / "drills.toml"


@dataclass(frozen=True)
class Drill:
    """A drill that is stocked.

    Args:
        name: As it is called, such as "5.1 mm", "3/16 in", "#11" or "F".
        series: One of SERIES.
        diameter_mm: Its diameter [mm].
        source: Where the size comes from.
        status: One of STATUSES.
    """

    name: str
    series: str
    diameter_mm: float
    source: str
    status: str

    def __post_init__(self) -> None:
        if self.series not in SERIES or self.status not in STATUSES or not self.name or not self.source:
            raise RequestError(f"drill '{self.name}': needs a name, a source, a known series and a known status.")
        if not 0.2 <= self.diameter_mm <= 26:
            raise RequestError(f"drill '{self.name}': {self.diameter_mm:g} mm is outside 0.2 to 26 mm.")

    @property
    def printed(self) -> str:
        """Name and diameter: "#30 (3.264 mm)"; a metric drill's name says it already."""
        return self.name if self.series == "metric" else f"{self.name} ({self.diameter_mm:.3f} mm)"


@dataclass(frozen=True)
class Nearest:
    """The drills of one series on both sides of a diameter.

    Args:
        series: One of SERIES.
        diameter_mm: The diameter asked for [mm].
        below: The largest not above it, or None where the series begins above.
        above: The smallest not below it, or None where the series ends below.
    """

    series: str
    diameter_mm: float
    below: Drill | None
    above: Drill | None

    def __post_init__(self) -> None:
        if self.below is None and self.above is None:
            raise RequestError(f"the series {self.series} has no drill.")

    @property
    def below_off_mm(self) -> float | None:
        """How much smaller the lower one is; 0 or negative [mm]."""
        return None if self.below is None else self.below.diameter_mm - self.diameter_mm

    @property
    def above_off_mm(self) -> float | None:
        """How much larger the upper one is; 0 or positive [mm]."""
        return None if self.above is None else self.above.diameter_mm - self.diameter_mm


@cache
def drills(series: str) -> tuple[Drill, ...]:
    """Return the drills of a series, smallest first.

    Args:
        series: One of SERIES.

    Raises:
        RequestError: No such series.

    >>> drills("number")[0].name
    '#80'
    """
    if series not in SERIES:
        raise RequestError(f"drills: unknown series '{series}'. Allowed: {', '.join(SERIES)}.")
    row = Fields(read_toml(_TABLE), _TABLE.name).sub(series)
    make = {"metric": _metric, "fractional": _fractional}.get(series, _listed)
    return tuple(sorted(make(row, series), key=lambda found: found.diameter_mm))


def _metric(row: Fields, series: str) -> list[Drill]:
    found = []
    for first, last, step in row.table["steps"]:
        for i in range(round((last - first) / step) + 1):
            size_mm = round(first + i * step, 6)
            found.append(Drill(f"{size_mm:.1f} mm", series, size_mm, row.text("source"), row.text("status")))
    return found


def _fractional(row: Fields, series: str) -> list[Drill]:
    first, last = row.table["steps_64"]
    return [
        Drill(f"{Fraction(i, 64)} in", series, i / 64 * MM_PER_INCH, row.text("source"), row.text("status"))
        for i in range(first, last + 1)
    ]


def _listed(row: Fields, series: str) -> list[Drill]:
    read = row.table["read"]
    sign = "#" if series == "number" else ""
    return [
        Drill(
            f"{sign}{name}",
            series,
            size_in * MM_PER_INCH,
            f"{row.text('source')}{', read in a drill chart' if name in read else ''}",
            "published" if name in read else "from memory",
        )
        for name, size_in in row.table["sizes"]
    ]


def drill(name: str) -> Drill:
    """Look up a drill by its name, such as "#30", "F", "3/16 in" or "5.1 mm".

    Raises:
        RequestError: No such drill.

    >>> drill("#30").printed
    '#30 (3.264 mm)'
    """
    for series in SERIES:
        for entry in drills(series):
            if entry.name.lower() == name.strip().lower():
                return entry
    raise RequestError(f"drills: '{name[:20]}' is not in the tables. Write it like 5.1 mm, 3/16 in, #30 or F.")


def nearest(diameter_mm: float, *, at_least: bool = False) -> tuple[Nearest, ...]:
    """Return the drills nearest to a diameter in every series.

    Args:
        diameter_mm: The hole [mm].
        at_least: True when the hole must not be smaller: only the drills above are kept, and a series that ends
            below is left out.

    Raises:
        RequestError: The diameter is not between 0.3 and 13 mm.
    """
    if not (math.isfinite(diameter_mm) and 0.3 <= diameter_mm <= 13):
        raise RequestError(f"drills: a hole of 0.3 to 13 mm is drilled in one go, got {diameter_mm:g} mm.")
    found = []
    for series in SERIES:
        sizes = drills(series)
        below = [d for d in sizes if d.diameter_mm <= diameter_mm + SAME_MM]
        above = [d for d in sizes if d.diameter_mm >= diameter_mm - SAME_MM]
        lower = below[-1] if below and not at_least else None
        upper = above[0] if above else None
        if lower is not None or upper is not None:
            found.append(Nearest(series, diameter_mm, lower, upper))
    return tuple(found)


def best(diameter_mm: float, *, at_least: bool = False) -> Drill:
    """Return the one drill of all series that is nearest; of two alike, the one of the earlier series.

    Args and errors are those of nearest.

    >>> best(4.8625, at_least=True).name
    '4.9 mm'
    """
    both = [d for found in nearest(diameter_mm, at_least=at_least) for d in (found.below, found.above) if d is not None]
    return min(both, key=lambda d: round(abs(d.diameter_mm - diameter_mm), 6))
