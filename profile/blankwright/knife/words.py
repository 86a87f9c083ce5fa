"""What a knife is called, once, for all papers: its size, how it is built, its holes."""

from __future__ import annotations

from blankwright.base.frozen import dataclass
from blankwright.base.said import range_mm
from blankwright.base.units import MM_PER_INCH
from blankwright.knife.knife import Knife

CONSTRUCTION_WORDS = {"full": "full tang", "hidden": "hidden tang", "one-piece": "one piece"}


def size_in_words(
    size_mm: tuple[float, float], thickness_mm: float, unit: str = "mm", upto_mm: float | None = None
) -> str:
    """Say how large the part is, in both units, so that a wrong unit is noticed.

    Args:
        size_mm: Length and height [mm].
        thickness_mm: Thickness [mm].
        unit: mm or in, whichever stands first.
        upto_mm: Thickness where it is thickest, of a part that tapers [mm].

    >>> size_in_words((345.3, 49.46), 3)
    'The part is 345.3 mm long, 49.5 mm high and 3 mm thick (13.59 x 1.95 x 0.118 in).'
    """
    thick = None if upto_mm is None else range_mm(thickness_mm, upto_mm)
    thick_mm = f"{thickness_mm:g}" if thick is None else thick.shown().removesuffix(" mm")
    thick_in = f"{thickness_mm / MM_PER_INCH:.3f}" if thick is None else thick.shown("in").removesuffix(" in")
    metric = [f"{size_mm[0]:.1f}", f"{size_mm[1]:.1f}", thick_mm]
    long, high = size_mm
    inches = [f"{long / MM_PER_INCH:.2f}", f"{high / MM_PER_INCH:.2f}", thick_in]
    first, other, behind = (inches, metric, "mm") if unit == "in" else (metric, inches, "in")
    said = f"{first[0]} {unit} long, {first[1]} {unit} high and {first[2]} {unit} thick"
    return f"The part is {said} ({' x '.join(other)} {behind})."


def part_words(knife: Knife, unit: str = "mm") -> str:
    """Say how large the blank is, as it is cut or as it was bought; the maker's or the shop's unit first."""
    return size_in_words(knife.cut.size_mm, knife.stock_mm, unit)


def cut_words(knife: Knife) -> str:
    """Say how the blank comes about: the way of cutting, or from what the work starts."""
    if knife.process is None:
        return knife.start.words
    told = knife.start.name in ("forged", "found") or knife.start.soft
    rough = f"{knife.start.words}, " if told else ""
    return f"{rough}cutting: {knife.process.title}"


def knife_words(knife: Knife) -> str:
    """Say which knife it is: construction, stock, and how its blank comes about."""
    stock = f"{knife.material.title}, {knife.stock_mm:g} mm"
    return f"{CONSTRUCTION_WORDS[knife.construction]}, {stock}; {cut_words(knife)}"


@dataclass(frozen=True)
class StageNames:
    """What the blade is called at its stages: to the line, before hardening, ready for its handle."""

    line: str
    before: str
    ready: str
    part: str


_STEEL = StageNames(
    "blank, ground to the line", "ground, before hardening", "ground and sharpened", "blade and tang, ground"
)
_BLUNT = StageNames(
    "blank, ground to the line", "ground, before hardening", "ground and rounded", "blade and tang, ground"
)
_WOOD = StageNames("blank, worked to the line", "shaped", "shaped", "blade, shaped")


def stage_names(knife: Knife) -> StageNames:
    """Return the names of a blade's stages: wood is shaped, steel is ground, and sharpened unless its edge is blunt."""
    return _WOOD if knife.start.wooden else _BLUNT if knife.ground.bevels.blunt else _STEEL
