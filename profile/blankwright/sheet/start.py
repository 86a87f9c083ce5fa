"""From what the work starts, and so which stages it has: board, bar, sheet, found, forged, bought blank."""

from __future__ import annotations

from dataclasses import dataclass

from blankwright.base.errors import RequestError
from blankwright.knife.knife import FinishedPart
from blankwright.shop.tables import process

_WOODEN = ("bar", "blank")


@dataclass(frozen=True)
class Start:
    """How the work starts.

    Args:
        name: board, wooden-blank, bar, sheet, found, forged, blank or hardened-blank.
        words: The same in words.
        known: Whether the stock's grade is known and can be trusted, so that figures for its heat may be given.
    """

    name: str
    words: str
    known: bool

    @property
    def wooden(self) -> bool:
        """Whether the blade is of wood."""
        return self.name in ("board", "wooden-blank")

    @property
    def bought(self) -> bool:
        """Whether the outline is cut already."""
        return self.name in ("blank", "hardened-blank", "wooden-blank")

    @property
    def heated(self) -> bool:
        """Whether the blade has still to be hardened."""
        return not self.wooden and self.name != "hardened-blank"


_WORDS = {
    "board": "from a board", "wooden-blank": "from a bought wooden blank", "bar": "ground from bar",
    "sheet": "blank cut from sheet", "found": "from found steel", "forged": "forged",
    "blank": "from a bought blank, soft", "hardened-blank": "from a bought blank, hardened",
}  # fmt: skip


def start_of(part: FinishedPart) -> Start:
    """Return how the work starts: as the design says, else found for an unknown grade, sheet for a machine's cut.

    Raises:
        RequestError: Wood cannot start like that.
    """
    asked = part.design.settings.get("start.from")
    unknown_grade = part.material.name == "unknown"
    if part.material.kind == "wood":
        if asked is not None and asked not in _WOODEN:
            raise RequestError(
                f"[start] from: '{asked}' does not go with a blade of {part.material.title}. "
                f"Allowed: {', '.join(_WOODEN)}."
            )
        name = "wooden-blank" if asked == "blank" else "board"
    elif isinstance(asked, str):
        name = asked
    elif unknown_grade:
        name = "found"
    else:
        name = "sheet" if process(part.design.word("cutting.process")).machine_cut else "bar"
    return Start(name, _WORDS[name], not unknown_grade and name != "found")
