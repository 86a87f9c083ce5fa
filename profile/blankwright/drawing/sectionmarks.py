"""What a drawing shows of a knife in section: areas, lines, widths and words, at true size.

Everything is in the section's own coordinates: mm, first across (positive to the right, seen from the handle toward
the tip), then up. The drawing enlarges it by the scale, which is stated.
"""

from __future__ import annotations

from blankwright.base.errors import RequestError
from blankwright.base.frozen import dataclass
from blankwright.geometry.chain import Chain
from blankwright.geometry.outline import Outline

HATCHES = ("steel", "wood")


@dataclass(frozen=True, eq=False)
class Area:
    """One cut piece of material, hatched.

    Args:
        outline: Its outline, counter-clockwise.
        hatch: "steel" or "wood": neighbours are hatched differently.
        hole: What is cut out of it, or None.
        bordered: Whether its outline is drawn; else it is only hatched, and lines say where it ends.

    Raises:
        RequestError: An unknown hatch.
    """

    outline: Outline
    hatch: str
    hole: Outline | None = None
    bordered: bool = True

    def __post_init__(self) -> None:
        if self.hatch not in HATCHES:
            raise RequestError(f"hatch '{self.hatch}' is unknown. Allowed: {', '.join(HATCHES)}.")


@dataclass(frozen=True)
class Width:
    """A dimension under a section, from one place across to another [mm]."""

    a_mm: float
    b_mm: float
    label: str


@dataclass(frozen=True, eq=False)
class Section:
    """One section, or an enlarged detail of one.

    Args:
        letter: Letter of the cutting plane; empty for a detail.
        title: Words over it.
        at_mm: Where on the part it is taken, x [mm]; None for a detail, which has no mark on the part.
        scale: By how much it is enlarged.
        areas: What is cut.
        wide: Further lines as wide as an outline.
        left_on: Dashed lines: steel that is left on until after hardening.
        thin: Thin lines.
        widths: Dimensions under it.
        facts: Lines of words beside it.
    """

    letter: str
    title: str
    at_mm: float | None
    scale: float
    areas: tuple[Area, ...]
    facts: tuple[str, ...]
    wide: tuple[Chain, ...] = ()
    left_on: tuple[Chain, ...] = ()
    thin: tuple[Chain, ...] = ()
    widths: tuple[Width, ...] = ()
