"""How much steel is left between blanks where the maker does not say: the slot, and a web that stays stiff and cool."""

from __future__ import annotations

from collections.abc import Sequence

from blankwright.base.errors import RequestError
from blankwright.stock.blank import Blank


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
        if way is None or way.web_mm is None:
            name = "" if way is None else f" of process {way.name}"
            raise RequestError(f"{where}: the key 'gap' is missing; nothing is known{name}. Example: gap = \"4 mm\".")
        share = way.web_per_thickness.value if way.web_per_thickness is not None else 0.0
        left = max(share * blank.thickness_mm, way.web_mm.value)
        gap = round(way.kerf_mm.value + left, 3)
        if gap > best:
            best = gap
            words = f"slot {way.kerf_mm.value:g} mm, and {left:g} mm {way.web_why} ({way.name}; {way.web_mm.status})"
    return best, words
