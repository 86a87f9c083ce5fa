"""How much steel is left between blanks where the maker does not say: the slot, and a web that stays stiff and cool."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from blankwright.base.errors import RequestError
from blankwright.stock.blank import Blank


@dataclass(frozen=True)
class Web:
    """What stands between two slots.

    Args:
        thicknesses: So many times the thickness of the steel.
        least_mm: And this at least [mm].
        why: What for, in words.
    """

    thicknesses: float
    least_mm: float
    why: str


WEBS = {
    "plasma-table": Web(1.0, 3.0, "for the heat and the pierce"),
    "plasma-hand": Web(1.0, 4.0, "for the heat and the hand"),
    "oxy-fuel": Web(1.5, 5.0, "for the heat"),
    "water-jet": Web(0.5, 1.5, "so that the web stands up to the jet"),
    "laser": Web(1.0, 1.5, "for the heat and the pierce"),
    "saw": Web(0.0, 1.0, "for the wander of the saw"),
    "trace": Web(0.0, 1.0, "for the wander of the saw"),
}
"""By process; all common practice of cutting services and shops, with no source: ask the one that cuts."""


def gap_of(blanks: Sequence[Blank], where: str) -> tuple[float, str]:
    """Return the gap that the blanks' processes ask for [mm], and how it is made up, in words.

    Args:
        blanks: The blanks.
        where: The job, for messages.

    Raises:
        RequestError: Nothing is known of a process; the gap has to be given.
    """
    best, words = 0.0, ""
    for blank in blanks:
        way = blank.knife.process if blank.knife is not None else None
        web = WEBS.get(way.name) if way is not None else None
        if way is None or web is None:
            name = "" if way is None else f" of process {way.name}"
            raise RequestError(f"{where}: the key 'gap' is missing; nothing is known{name}. Example: gap = \"4 mm\".")
        left = max(web.thicknesses * blank.thickness_mm, web.least_mm)
        gap = round(way.kerf_mm.value + left, 3)
        if gap > best:
            best = gap
            words = f"slot {way.kerf_mm.value:g} mm, and {left:g} mm {web.why} ({way.name}; common practice)"
    return best, words
