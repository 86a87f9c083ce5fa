"""A part's figures: what the design gives, or the row of the table, each with its source and standing."""

from __future__ import annotations

from blankwright.base.frozen import dataclass
from blankwright.base.said import Quantity, Standing, exact_mm
from blankwright.design.keys import BY_KEY, read_value
from blankwright.design.request import Design
from blankwright.shop.sheets import SheetStock, part_figures, sheet_stock, stock_of
from blankwright.shop.tables import material

FILE = "parts.toml"


@dataclass(frozen=True)
class Given:
    """One value of a part.

    Args:
        key: Its key in [parts].
        value: A length [mm], or a name.
        what: What it is.
        standing: Where it comes from.
    """

    key: str
    value: float | str
    what: str
    standing: Standing

    @property
    def shown(self) -> Quantity | str:
        """The value for a sentence."""
        return self.value if isinstance(self.value, str) else exact_mm(self.value)


class Figures:
    """The figures of one part; remembers which were asked for, so that the note can tell each.

    Args:
        design: The design.
    """

    def __init__(self, design: Design) -> None:
        self._design = design
        self._used: dict[str, Given] = {}

    @property
    def used(self) -> tuple[Given, ...]:
        """What was looked up so far, in that order."""
        return tuple(self._used.values())

    def mm(self, key: str) -> float:
        """Return a length of [parts] [mm].

        Raises:
            RequestError: The table's value is out of range.
        """
        return float(self._given(key).value)

    def name(self, key: str) -> str:
        """Return a name of [parts]."""
        return str(self._given(key).value)

    def stock(self, key: str) -> tuple[str, SheetStock]:
        """Return the title of a material of [parts], and how it is cut.

        Raises:
            RequestError: No table knows it.
        """
        name = self.name(key)
        if BY_KEY[f"parts.{key}"].kinds:
            made_of = material(name, f"[parts] {key}")
            return made_of.title, stock_of(made_of)
        row = sheet_stock(name, f"[parts] {key}")
        return row.title, row

    def _given(self, key: str) -> Given:
        if key not in self._used:
            self._used[key] = _look_up(self._design, key)
        return self._used[key]


def _look_up(design: Design, key: str) -> Given:
    dotted, row = f"parts.{key}", part_figures()[key]
    value = design.settings.get(dotted)
    if value is not None:
        standing = Standing("the design file", "given by the design")
    else:
        value = read_value(BY_KEY[dotted], row.value, f"{FILE} [{key}] value")
        standing = Standing(row.source, row.status)
    if isinstance(value, tuple):
        raise TypeError(f"{dotted} is one value")
    return Given(key, value if isinstance(value, str) else float(value), row.what, standing)
