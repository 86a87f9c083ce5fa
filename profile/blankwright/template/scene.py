"""What is to be printed at true size, in its own coordinates: outlines, lines, holes and the words beside them."""

from __future__ import annotations

import numpy as np

from blankwright.base.arrays import Array
from blankwright.base.frozen import dataclass
from blankwright.geometry.chain import Chain
from blankwright.geometry.outline import Outline
from blankwright.ink.marks import LineType

Point = tuple[float, float]

SOLID = LineType("finished-thin", 0.25, ())
"""The finished line of a template is thin: its middle is what is traced."""


@dataclass(frozen=True)
class Stroke:
    """A straight line; kind is "centre", "board", "narrow", "cut" or "arrow"."""

    a: Point
    b: Point
    kind: str


@dataclass(frozen=True)
class DrawnHole:
    """A hole; kind is "pin" (cross, punch circle, ring at true size) or "crossed" (crossed out: not to be drilled)."""

    x_mm: float
    y_mm: float
    diameter_mm: float
    kind: str


@dataclass(frozen=True)
class Label:
    """Words that belong to a place; they are set beside it where there is room, clear_mm or more away from it."""

    text: str
    at: Point
    clear_mm: float


@dataclass(frozen=True)
class Avoid:
    """A stretch along x where a join between sheets does harm; cost 1 is bearable, 1000 is out of the question."""

    x0_mm: float
    x1_mm: float
    cost: float


@dataclass(frozen=True, eq=False)
class Drawn:
    """A chain of lines and arcs as it stands in a file, in a line type of its layer."""

    chain: Chain
    line: LineType


@dataclass(frozen=True, eq=False)
class Scene:
    """One thing to print.

    Args:
        name: Short name for file and page heads, such as "blade".
        title: Words for the head of its pages.
        solid: Finished outlines, drawn thin and solid.
        dashed: Oversize outlines, drawn dashed.
        lines: Straight lines.
        holes: Holes.
        labels: Words beside places.
        texts: Short words centred exactly on a place, such as a ruler's numbers.
        facts: Further lines for the head of the first page.
        avoid: Where joins do harm.
        drawn: Chains in line types of their own.
        legend: Words and the line type they explain, or None; empty for finished line and cut line.
        corners: Further places that must be on the page.
    """

    name: str
    title: str
    solid: tuple[Outline, ...]
    dashed: tuple[Outline, ...]
    lines: tuple[Stroke, ...]
    holes: tuple[DrawnHole, ...]
    labels: tuple[Label, ...]
    texts: tuple[tuple[str, Point], ...]
    facts: tuple[str, ...]
    avoid: tuple[Avoid, ...]
    drawn: tuple[Drawn, ...] = ()
    legend: tuple[tuple[str, LineType | None], ...] = ()
    corners: tuple[Point, ...] = ()

    def points(self) -> Array:
        """Return (n, 2) points whose hull holds everything drawn [mm]."""
        parts = [o.flattened(0.02) for o in (*self.solid, *self.dashed)]
        parts += [np.array([line.a, line.b]) for line in self.lines]
        parts += [one.chain.flattened(0.02) for one in self.drawn]
        parts += [np.array([corner]) for corner in self.corners]
        return np.concatenate(parts)
