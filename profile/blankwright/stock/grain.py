"""How far the blades of a layout lie across the grain of their piece."""

from __future__ import annotations

from blankwright.base.frozen import dataclass
from blankwright.base.said import Line, Quantity, said
from blankwright.geometry.pose import angle_between
from blankwright.stock.layout import Layout, Sheet
from blankwright.stock.place import Placed

LOOK_DEG = 10.0
"""A blade further across is something to look at (common practice: along it, within a hand's care)."""

_ALONG_DEG = 0.05
"""What would be shown as 0.0 degrees."""


@dataclass(frozen=True)
class Across:
    """The blade of a piece that lies furthest across its grain.

    Args:
        deg: The angle between blade and grain [degrees, 0 to 90].
        name: Which blank.
        number: Its number on the piece, in the order of cutting.
        why: Why a blade lies along the grain; empty where nothing is known.
    """

    deg: float
    name: str
    number: int
    why: str

    @property
    def look(self) -> bool:
        """Whether it is something to look at."""
        return self.deg > LOOK_DEG

    def short(self) -> Line:
        """Return it in a few words for a head."""
        angle = Quantity(self.deg, "deg", 1)
        if self.deg < _ALONG_DEG:
            return said("blades lie along the grain")
        if not self.look:
            return said("blades lie within {} of the grain", angle)
        return said(f"number {self.number} lies {{}} across the grain", angle)

    def line(self) -> Line:
        """Return it in a sentence."""
        if not self.look:
            return self.short().then(".")
        angle = Quantity(self.deg, "deg", 1)
        why = f": {self.why}" if self.why else ""
        words = f"to look at: number {self.number}, {self.name}, lies {{}} across the grain{why}. "
        return said(words + 'turn = "grain" with within = "5 deg" in the job keeps it along.', angle)


def lies_words(placed: Placed) -> Line | None:
    """Say how a placed blade lies to the grain of its piece; None where nobody knows the grain."""
    deg = across_deg(placed)
    if deg is None:
        return None
    if deg < _ALONG_DEG:
        return said("the blade lies along the grain")
    angle = Quantity(deg, "deg", 1)
    return said(
        "the blade lies {} across the grain" if deg > LOOK_DEG else "the blade lies within {} of the grain", angle
    )


def across_deg(placed: Placed) -> float | None:
    """Return the angle between a placed blade and the grain of its piece [degrees, 0 to 90]; None if nobody knows."""
    grain_deg = placed.piece.grain_deg
    return None if grain_deg is None else angle_between(placed.pose.turn_deg, grain_deg)


def placed_line(placed: Placed) -> Line | None:
    """Return it in a sentence, with what to do where it is something to look at."""
    words, deg = lies_words(placed), across_deg(placed)
    if words is None or deg is None or deg <= LOOK_DEG:
        return None if words is None else words.then(".")
    why = placed.wanted.knife.material.along
    return (
        said("to look at: ")
        .then(words.words, *words.values)
        .then(f"{f': {why}' if why else ''}. --grain 5deg keeps it along.")
    )


def across(layout: Layout, sheet: Sheet) -> Across | None:
    """Return the blade that lies furthest across the grain; None where nobody knows the grain, or no blade is there."""
    piece = layout.job.pieces[sheet.piece]
    if piece.grain_deg is None:
        return None
    found = []
    for number, one in enumerate(sheet.laid, start=1):
        blank = layout.job.blanks[one.blank]
        if blank.knife is not None:
            away = angle_between(one.pose.turn_deg, piece.grain_deg)
            found.append(Across(away, blank.name, number, blank.knife.material.along))
    return max(found, key=lambda one: one.deg, default=None)
