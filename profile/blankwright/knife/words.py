"""What a knife is called, once, for all papers: its size, how it is built, its holes."""

from __future__ import annotations

from dataclasses import dataclass

from blankwright.base.units import MM_PER_INCH
from blankwright.knife.knife import Knife

CONSTRUCTION_WORDS = {"full": "full tang", "hidden": "hidden tang", "one-piece": "one piece"}


def size_in_words(size_mm: tuple[float, float], thickness_mm: float) -> str:
    """Say how large the part is, in both units, so that a wrong unit is noticed.

    >>> size_in_words((345.3, 49.46), 3)
    'The part is 345.3 mm long, 49.5 mm high and 3 mm thick (13.59 x 1.95 x 0.118 in).'
    """
    long, high = size_mm
    inches = f"{long / MM_PER_INCH:.2f} x {high / MM_PER_INCH:.2f} x {thickness_mm / MM_PER_INCH:.3f} in"
    return f"The part is {long:.1f} mm long, {high:.1f} mm high and {thickness_mm:g} mm thick ({inches})."


def part_words(knife: Knife) -> str:
    """Say how large the blank is, as it is cut or as it was bought."""
    return size_in_words(knife.cut.size_mm, knife.stock_mm)


def cut_words(knife: Knife) -> str:
    """Say how the blank comes about: the way of cutting, or from what the work starts."""
    if knife.process is None:
        return knife.start.words
    rough = f"{knife.start.words}, " if knife.start.name in ("forged", "found") else ""
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
_WOOD = StageNames("blank, worked to the line", "shaped", "shaped", "blade, shaped")


def stage_names(knife: Knife) -> StageNames:
    """Return the names of a blade's stages: wood is shaped, steel is ground."""
    return _WOOD if knife.start.wooden else _STEEL
