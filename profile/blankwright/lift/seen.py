"""What a source shows, before tip and edge are known: an outline as it lies there, and what it may be off."""

from __future__ import annotations

from collections.abc import Callable

from blankwright.base.arrays import Array
from blankwright.base.frozen import dataclass
from blankwright.base.said import Line, Quantity, exact_mm, mm
from blankwright.design.lifted import BudgetRow
from blankwright.geometry.outline import Outline
from blankwright.lift.pictures import Pixels

Hole = tuple[float, float, float]
"""x, y and diameter [mm]."""


@dataclass(frozen=True, eq=False)
class Backdrop:
    """What the picture of the outline lies over.

    Args:
        pixels: A picture, or None for a drawing.
        to_source: Maps (n, 2) places [mm] to the picture's pixels, or, for a drawing, to itself.
        lines: (n, 2) polylines of a drawing [mm].
        weak: (n, 2) places that could hardly be seen [mm].
    """

    pixels: Pixels | None
    to_source: Callable[[Array], Array]
    lines: tuple[Array, ...] = ()
    weak: Array | None = None


@dataclass(frozen=True, eq=False)
class Seen:
    """What a source shows.

    Args:
        outline: Counter-clockwise, x to the right, y up, as it lies in the source [mm].
        holes: Round holes in it.
        budget: What a place may be off, part by part.
        notes: What else the maker should know.
        backdrop: What the picture of it lies over.
        by_itself: Whether its scale is from a length of the thing itself, which no other thing has.
    """

    outline: Outline
    holes: tuple[Hole, ...]
    budget: tuple[BudgetRow, ...]
    notes: tuple[Line, ...]
    backdrop: Backdrop
    by_itself: bool = False


def within_said(within_mm: float) -> Quantity:
    """Return what a place may be off, to a hundredth, or to a thousandth where that would be nothing.

    >>> within_said(0.126).shown(), within_said(0.0012).shown()
    ('0.13 mm', '0.001 mm')
    """
    return mm(within_mm) if within_mm >= 0.01 else exact_mm(max(round(within_mm, 3), 0.001))
