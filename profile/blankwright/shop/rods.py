"""Which rods are sold for pins, and which of them goes through a hole that is there."""

from __future__ import annotations

from fractions import Fraction
from functools import cache
from typing import Literal

from blankwright.base.frozen import dataclass
from blankwright.base.readrows import TableRow, need, read_rows
from blankwright.base.said import Status
from blankwright.base.units import MM_PER_INCH
from blankwright.shop.holes import finished_hole_mm
from blankwright.shop.tables import DATA

SLIDES_MM = 0.02
"""So much wider than the rod a hole is at least, or the rod does not go through by hand (common practice)."""

TIGHTER = 0.97
"""A hole that is there may be so much tighter than its fit wants: a rod is not given up for a tenth."""


@dataclass(frozen=True)
class Rod(TableRow):
    """A rod that is sold.

    Args:
        name: As it is called, such as "5 mm" or "3/16 in".
        diameter_mm: Its diameter [mm].
        source: Where the size comes from.
        status: How far it can be trusted.
    """

    name: str
    diameter_mm: float
    source: str
    status: Status


@dataclass(frozen=True)
class _Series(TableRow):
    """A series as its table has it: sizes in mm or inches."""

    name: str
    sizes: tuple[float, ...]
    unit: Literal["mm", "in"]
    source: str
    status: Status

    def check(self) -> None:
        """Refuse a series without sizes."""
        need(len(self.sizes) > 0, "give sizes.")

    def rods(self) -> list[Rod]:
        """Return its rods."""
        if self.unit == "mm":
            return [Rod(f"{size:g} mm", size, self.source, self.status) for size in self.sizes]
        return [Rod(f"{Fraction(size)} in", size * MM_PER_INCH, self.source, self.status) for size in self.sizes]


@cache
def rods() -> tuple[Rod, ...]:
    """Return the rods that are sold, the thinnest first.

    >>> [rod.name for rod in rods()][:3]
    ['2 mm', '3/32 in', '2.5 mm']
    """
    series = read_rows(DATA / "rods.toml", _Series).values()
    return tuple(sorted((rod for one in series for rod in one.rods()), key=lambda rod: rod.diameter_mm))


def goes_through(diameter_mm: float, hole_mm: float, fit: str) -> bool:
    """Whether a rod goes through a hole in the tang that is there, and sits as its fit wants.

    Args:
        diameter_mm: The rod [mm].
        hole_mm: The hole [mm].
        fit: "glued", "peened" or "bolted".

    Raises:
        RequestError: Unknown fit, or no such pin.

    >>> goes_through(5.0, 5.1, "glued"), goes_through(5.0, 5.0, "glued"), goes_through(5.0, 5.1, "peened")
    (True, False, False)
    """
    return max(diameter_mm + SLIDES_MM, TIGHTER * finished_hole_mm(diameter_mm, fit)[0]) <= hole_mm + 1e-9


def largest_rod(hole_mm: float, fit: str) -> Rod | None:
    """Return the largest rod that goes through a hole that is there; None where the thinnest does not.

    Args:
        hole_mm: The hole [mm].
        fit: "glued", "peened" or "bolted".

    Raises:
        RequestError: Unknown fit.

    >>> largest_rod(5.1, "glued").name, largest_rod(5.0, "glued").name, largest_rod(5.1, "peened").name
    ('5 mm', '3/16 in', '4 mm')
    """
    fitting = [rod for rod in rods() if goes_through(rod.diameter_mm, hole_mm, fit)]
    return fitting[-1] if fitting else None
