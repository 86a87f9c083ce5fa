"""Which drills are stocked: metric, fractional, number and letter sizes."""

from __future__ import annotations

from fractions import Fraction
from functools import cache
from typing import Annotated, Literal, get_args

from blankwright.base.errors import RequestError
from blankwright.base.frozen import dataclass
from blankwright.base.readrows import In, TableRow, need, read_rows
from blankwright.base.said import NOT_CHECKED, Status
from blankwright.base.units import MM_PER_INCH
from blankwright.shop.tables import DATA

Series = Literal["metric", "fractional", "number", "letter"]

SERIES: tuple[Series, ...] = get_args(Series)
"""The series of drills."""


@dataclass(frozen=True)
class Drill(TableRow):
    """A drill that is stocked.

    Args:
        name: As it is called, such as "5.1 mm", "3/16 in", "#11" or "F".
        series: One of SERIES.
        diameter_mm: Its diameter [mm].
        source: Where the size comes from.
        status: How far it can be trusted.
    """

    name: str
    series: Series
    diameter_mm: Annotated[float, In(0.2, 26)]
    source: str
    status: Status


@dataclass(frozen=True)
class _Series(TableRow):
    """A series as its table has it: by steps in mm, by steps of a 64th of an inch, or a list in inches.

    Args:
        name: One of SERIES.
        title: The name in words.
        unit: Unit of steps and sizes.
        source: Where the sizes come from.
        status: How far they can be trusted; None where `read` says it size by size.
        steps: First, last, step.
        steps_64: First and last, in 64ths.
        sizes: Name and size.
        read: Names of the list that were read in a printed chart.
    """

    name: Series
    title: str
    unit: Literal["mm", "in"]
    source: str
    status: Status | None = None
    steps: tuple[tuple[float, float, float], ...] = ()
    steps_64: tuple[int, int] | None = None
    sizes: tuple[tuple[str, float], ...] = ()
    read: tuple[str, ...] = ()

    def check(self) -> None:
        """Refuse a series without sizes, or whose standing is said twice or not at all."""
        ways = sum((bool(self.steps), self.steps_64 is not None, bool(self.sizes)))
        need(ways == 1, "give one of steps, steps_64 and sizes.")
        need((self.status is None) == bool(self.sizes), "status goes with steps; a list says what was read.")

    def drills(self) -> list[Drill]:
        """Return its drills."""
        if self.sizes:
            sign = "#" if self.name == "number" else ""
            return [self._listed(sign, name, size) for name, size in self.sizes]
        assert self.status is not None  # check
        named = [
            (f"{size:.1f} mm", size)
            for first, last, step in self.steps
            for size in (round(first + i * step, 6) for i in range(round((last - first) / step) + 1))
        ]
        if self.steps_64 is not None:
            first, last = self.steps_64
            named = [(f"{Fraction(i, 64)} in", i / 64 * MM_PER_INCH) for i in range(first, last + 1)]
        return [Drill(name, self.name, size, self.source, self.status) for name, size in named]

    def _listed(self, sign: str, name: str, size_in: float) -> Drill:
        seen = name in self.read
        source = f"{self.source}, read in a drill chart" if seen else self.source
        return Drill(f"{sign}{name}", self.name, size_in * MM_PER_INCH, source, "published" if seen else NOT_CHECKED)


@cache
def _series() -> dict[str, _Series]:
    return read_rows(DATA / "drills.toml", _Series)


@cache
def drills(series: Series) -> tuple[Drill, ...]:
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
    return tuple(sorted(_series()[series].drills(), key=lambda found: found.diameter_mm))
