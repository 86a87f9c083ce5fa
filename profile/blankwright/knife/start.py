"""From what the work starts, and what that leaves to do: board, bar, sheet, found, forged, bought blank."""

from __future__ import annotations

from blankwright.base.errors import RequestError
from blankwright.base.frozen import dataclass
from blankwright.design.request import Design
from blankwright.shop.records import UNKNOWN, Material
from blankwright.shop.tables import process

_WOODEN = ("bar", "blank")
BOUGHT = ("blank", "hardened-blank")
"""Starts, as a design asks for them, whose outline and holes are there already."""


@dataclass(frozen=True)
class Start:
    """How the work starts.

    Args:
        name: board, wooden-blank, bar, sheet, found, forged, blank or hardened-blank.
        words: The same in words.
        known: Whether the stock's grade is known and can be trusted, so that figures for its heat may be given.
        soft: Whether a blade of steel is left soft.
        ground: Whether the blade has its bevels already, and only the edge is still to be made.
    """

    name: str
    words: str
    known: bool
    soft: bool = False
    ground: bool = False

    @property
    def wooden(self) -> bool:
        """Whether the blade is of wood."""
        return self.name in ("board", "wooden-blank")

    @property
    def bought(self) -> bool:
        """Whether the outline is cut already, with every hole: no oversize, no cutting file, no hole to make."""
        return self.name in (*BOUGHT, "wooden-blank")

    @property
    def heated(self) -> bool:
        """Whether the blade has still to be hardened."""
        return not (self.wooden or self.soft or self.hard)

    @property
    def hard(self) -> bool:
        """Whether the blade is hard already when the work starts."""
        return self.name == "hardened-blank"

    @property
    def blank_words(self) -> str:
        """What the blank is as the work finds it."""
        return "as bought" if self.bought else "as cut"


FORGED_KEYS = ("start.bar", "start.heats", "start.forged_bevels", "start.handling")
"""Settings that only a forging has."""

_WORDS = {
    "board": "from a board", "wooden-blank": "from a bought wooden blank", "bar": "ground from bar",
    "sheet": "blank cut from sheet", "found": "from found steel", "forged": "forged",
    "blank": "from a bought blank, soft", "hardened-blank": "from a bought blank, hardened",
}  # fmt: skip


def start_words(name: str) -> str:
    """Return a start in words.

    Args:
        name: One of those of a `Start`.
    """
    return _WORDS[name]


def start_of(design: Design, stock: Material) -> Start:
    """Return how the work starts: as the design says, else found for an unknown grade, sheet for a machine's cut.

    Args:
        design: The request.
        stock: What the blade is made of.

    Raises:
        RequestError: Wood cannot start like that.
    """
    asked, unknown_grade = design.start, stock.name == UNKNOWN
    if stock.kind == "wood":
        if asked is not None and asked not in _WOODEN:
            raise RequestError(
                f"[start] from: '{asked}' does not go with a blade of {stock.title}. Allowed: {', '.join(_WOODEN)}."
            )
        name = "wooden-blank" if asked == "blank" else "board"
    elif asked is not None:
        name = asked
    elif unknown_grade:
        name = "found"
    else:
        name = "sheet" if process(design.cutting.process).machine_cut else "bar"
    soft = design.stock.soft and stock.kind != "wood"
    ground = design.settings.get("start.ground") == "yes"
    if ground and name != "hardened-blank":
        raise RequestError(
            f"[start] ground: only a blank that is bought hardened has its bevels already; this work starts "
            f"{_WORDS[name]}. Leave it out."
        )
    words = f"{_WORDS[name]}{', left soft' if soft and not _WORDS[name].endswith(', soft') else ''}"
    words += " and ground" if ground else ""
    return Start(name, words, not unknown_grade and name != "found", soft, ground)


def idle_words(design: Design) -> tuple[str, ...]:
    """Say what was asked for and changes nothing: the way of cutting and the oversize of a blank that is bought."""
    if design.start not in BOUGHT:
        return (*_idle_rough(design), *_idle_nozzle(design))
    idle = [k for k in design.settings if k.split(".")[0] in ("cutting", "allowance") and design.asked(k)]
    return (f"not used: {', '.join(idle)} (the blank is bought, its outline is cut already)",) if idle else ()


def _idle_nozzle(design: Design) -> tuple[str, ...]:
    """Say that a nozzle was given to a way of cutting that runs none along a guide."""
    if design.cutting.nozzle_radius_mm is None:
        return ()
    way = process(design.cutting.process)
    if way.nozzle_radius_mm is not None:
        return ()
    return (f"not used: cutting.nozzle_radius ({way.title} runs no nozzle along a guide)",)


def _idle_rough(design: Design) -> tuple[str, ...]:
    """Say what was told of found steel or of a bar to forge, and changes nothing where neither begins the work."""
    found = design.start == "found" or (design.start is None and design.stock.grade == UNKNOWN)
    known = found and "start.piece" in design.settings
    used = {"start.piece": found, "start.thickness": known, "start.loss": known}
    used |= dict.fromkeys(FORGED_KEYS, design.start == "forged")
    idle = [key for key, is_used in used.items() if key in design.settings and not is_used]
    return (f"not used: {', '.join(idle)} (the work does not start from such a piece)",) if idle else ()
