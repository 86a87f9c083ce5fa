"""How large a hole is and who makes it: the cutter, the cutter and a reamer, or the drill."""

from __future__ import annotations

import math
from typing import Literal

from blankwright.base.errors import RequestError, unknown
from blankwright.base.frozen import dataclass
from blankwright.base.said import Line, exact_mm, said
from blankwright.shop import tables
from blankwright.shop.records import PIN_FACTOR, Figure, Process
from blankwright.shop.tables import process

Piece = Literal["tang", "scale"]
"""What a pin's hole is in."""

PURPOSES = ("pin", "lanyard", "lightening")
"""What a hole is for."""

MADE_BY = ("cut", "ream", "drill", "there")
"""Cut to size; cut under size and reamed; not cut at all and drilled; in a bought blank already."""

MAX_PIN_MM = 20.0
"""No kitchen-knife pin is thicker; more is a slip of the unit."""

MAX_HOLE_MM = 100.0
"""No hole in a kitchen knife is wider; more is a slip of the unit."""


@dataclass(frozen=True)
class HoleCut:
    """What happens to one hole.

    Args:
        made_by: One of MADE_BY.
        cut_diameter_mm: Diameter in the cutting file [mm]; None when the hole is drilled or there already.
        why: Why, in one sentence.
    """

    made_by: str
    cut_diameter_mm: float | None
    why: Line

    def __post_init__(self) -> None:
        if self.made_by not in MADE_BY:
            raise unknown("way to make a hole", self.made_by, MADE_BY)
        if (self.made_by in ("cut", "ream")) != (self.cut_diameter_mm is not None):
            raise RequestError("a hole that is cut has a cut diameter, no other hole has one.")
        if not self.why.words:
            raise RequestError("a hole needs a reason.")

    @property
    def reason(self) -> str:
        """Why, in one sentence and in mm."""
        return self.why.text()


def finished_hole_mm(pin_diameter_mm: float, fit: str) -> tuple[float, Figure]:
    """Return the finished hole in the tang for a pin, and the figure it rests on.

    Args:
        pin_diameter_mm: Diameter of the pin [mm], above 0 and up to 20.
        fit: "glued", "peened" or "bolted".

    Returns:
        Diameter of the hole [mm] and the figure of the fit table.

    Raises:
        RequestError: Unknown fit, or no such pin.

    >>> finished_hole_mm(5.0, "glued")[0]
    5.1
    """
    figure = tables.fit(fit, "[pins] fit").tang
    return _widened_mm(pin_diameter_mm, figure), figure


def scale_hole_mm(pin_diameter_mm: float, fit: str) -> tuple[float, Figure]:
    """Return the finished hole in the scale for a pin, and the figure it rests on.

    Args and errors are those of finished_hole_mm.

    >>> scale_hole_mm(5.0, "peened")[0]
    5.1
    """
    figure = tables.fit(fit, "[pins] fit").scale
    return _widened_mm(pin_diameter_mm, figure), figure


def widest_hole_mm(pin_diameter_mm: float, fit: str, piece: Piece) -> float:
    """Return the widest hole that still holds a pin as its fit wants [mm]; what is drilled lies between.

    Args:
        pin_diameter_mm: Diameter of the pin [mm], above 0 and up to 20.
        fit: "glued", "peened" or "bolted".
        piece: "tang" or "scale".

    Raises:
        RequestError: Unknown fit, or no such pin.

    >>> widest_hole_mm(4.0, "glued", "tang")
    4.2
    """
    row = tables.fit(fit, "[pins] fit")
    return _widened_mm(pin_diameter_mm, row.tang_most if piece == "tang" else row.scale_most)


def pins_for_mm(hole_mm: float, fit: str, piece: Piece) -> tuple[float, float]:
    """Return the thinnest and the thickest pin that a hole holds as the fit wants [mm].

    Args:
        hole_mm: The hole [mm].
        fit: "glued", "peened" or "bolted".
        piece: "tang" or "scale".

    Raises:
        RequestError: Unknown fit.

    >>> pins_for_mm(5.0, "glued", "tang")
    (4.8, 4.9)
    """
    row = tables.fit(fit, "[pins] fit")
    close, wide = (row.tang, row.tang_most) if piece == "tang" else (row.scale, row.scale_most)
    least, most = (
        hole_mm / one.value if one.unit == PIN_FACTOR else hole_mm - one.value for one in (wide, close)
    )  # fmt: skip
    return round(least, 6), round(most, 6)


def decide(process_name: str, *, thickness_mm: float, diameter_mm: float, purpose: str) -> HoleCut:
    """Return how a hole is made.

    Args:
        process_name: A cutting process of the table.
        thickness_mm: Thickness of the stock [mm].
        diameter_mm: Finished diameter of the hole [mm], up to 100.
        purpose: One of PURPOSES.

    Raises:
        RequestError: Unknown process or purpose, or a length that cannot be.

    >>> decide("water-jet", thickness_mm=3, diameter_mm=5.1, purpose="pin").cut_diameter_mm
    4.85
    """
    chosen = process(process_name)
    if purpose not in PURPOSES:
        raise unknown("purpose of a hole", str(purpose), PURPOSES)
    if not (math.isfinite(thickness_mm) and thickness_mm > 0):
        raise RequestError(f"the thickness of the stock must be above 0 mm, got {thickness_mm:g}.")
    if not 0 < diameter_mm <= MAX_HOLE_MM:  # nan fails the comparison as well
        raise RequestError(f"a hole must be above 0 and up to {MAX_HOLE_MM:g} mm wide, got {diameter_mm:g}.")
    if purpose == "pin":
        return _pin_hole(chosen, thickness_mm, diameter_mm)
    return _other_hole(chosen, thickness_mm, diameter_mm, purpose)


def _pin_hole(chosen: Process, thickness_mm: float, diameter_mm: float) -> HoleCut:
    under = chosen.pin_undersize_mm
    smallest_mm = chosen.smallest_hole_for_mm(thickness_mm)
    if under is None or smallest_mm is None:
        return _drilled(said("{}", chosen.hole_note))
    cut_mm = round(diameter_mm - under.value, 6)
    if cut_mm < smallest_mm:
        return _drilled(_too_small(chosen, thickness_mm, smallest_mm))
    why = said("Cut {} under and ream: {}.", exact_mm(under.value), chosen.hole_note)
    return HoleCut("ream", cut_mm, why)


def _other_hole(chosen: Process, thickness_mm: float, diameter_mm: float, purpose: str) -> HoleCut:
    smallest_mm = chosen.smallest_hole_for_mm(thickness_mm)
    if smallest_mm is None:
        return _drilled(said("{}", chosen.hole_note))
    if diameter_mm < smallest_mm:
        return _drilled(_too_small(chosen, thickness_mm, smallest_mm))
    why = said(
        "Cut to size: a {} hole needs no close fit and {} makes one of {} in {} stock.",
        purpose, chosen.name, exact_mm(diameter_mm), exact_mm(thickness_mm),
    )  # fmt: skip
    return HoleCut("cut", float(diameter_mm), why)


def _too_small(chosen: Process, thickness_mm: float, smallest_mm: float) -> Line:
    words = "the smallest hole {} makes in {} stock is {}"
    return said(words, chosen.name, exact_mm(thickness_mm), exact_mm(smallest_mm))


def _drilled(why: Line) -> HoleCut:
    return HoleCut("drill", None, drilled_because(why))


def drilled_because(why: Line) -> Line:
    """Return the sentence on a hole that is left to the drill."""
    return said(f"Drill: {why.words}.", *why.values)


def _widened_mm(pin_diameter_mm: float, figure: Figure) -> float:
    if not 0 < pin_diameter_mm <= MAX_PIN_MM:  # nan fails the comparison as well
        raise RequestError(f"[pins] diameter: must be above 0 and up to {MAX_PIN_MM:g} mm, got {pin_diameter_mm:g}.")
    hole_mm = pin_diameter_mm * figure.value if figure.unit == PIN_FACTOR else pin_diameter_mm + figure.value
    return round(hole_mm, 6)  # 5 + 0.1 is 5.1, not 5.0999999999999996
