"""One part as it is cut: its outline, holes and openings, what it is made of, and what its maker should know."""

from __future__ import annotations

from collections.abc import Callable

from blankwright.base.finding import Finding
from blankwright.base.frozen import dataclass
from blankwright.base.said import Line
from blankwright.cutting.parts.figures import Given
from blankwright.geometry.chain import Chain
from blankwright.geometry.outline import Outline
from blankwright.shop.sheets import SheetStock

Circle = tuple[float, float, float]
"""x, y and diameter [mm]."""

LIFT_MM = 0.004
"""A part is drawn this much further out than asked, so that rounding in any reader errs to the safe side."""


@dataclass(frozen=True, eq=False)
class CutPart:
    """A part that is cut beside the blade.

    Args:
        name: Its name in the file's name, such as "scale-right".
        of: The word that asks for it, such as "scales".
        title: What it is called.
        outline: The outline as it is cut.
        holes: The round holes.
        openings: Other openings.
        marks: What is marked on it, open chains; empty for none.
        material: What it is made of, in words.
        stock: How that is cut.
        thickness_mm: Its thickness [mm].
        pieces: How many are wanted for one knife.
        figures: The figures it rests on.
        lines: What its maker should know, one sentence each.
        findings: What is in doubt.
    """

    name: str
    of: str
    title: str
    outline: Outline
    holes: tuple[Circle, ...]
    openings: tuple[Outline, ...]
    marks: tuple[Chain, ...]
    material: str
    stock: SheetStock
    thickness_mm: float
    pieces: int
    figures: tuple[Given, ...]
    lines: tuple[Line, ...]
    findings: tuple[Finding, ...] = ()


def mirrored_in_x(outline: Outline) -> Outline:
    """Return an outline with x turned round: what lies to the right lies to the left, y stays."""
    return outline.mirrored().placed(180.0, 0.0, 0.0).on_grid()


Maker = Callable[..., tuple[CutPart, ...]]
"""Makes the pieces of one kind of part from a knife."""
