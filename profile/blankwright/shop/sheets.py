"""What is known of parts beside the blade: a figure for every key of [parts], and the sheets they are cut from."""

from __future__ import annotations

from functools import cache
from typing import Literal

from blankwright.base.errors import RequestError, unknown
from blankwright.base.frozen import dataclass
from blankwright.base.readrows import TableRow, read_rows
from blankwright.base.said import Status
from blankwright.shop.records import Material
from blankwright.shop.tables import DATA, processes


@dataclass(frozen=True)
class PartFigure(TableRow):
    """One value of a part where the design gives none.

    Args:
        name: The key in [parts].
        value: The value as it stands in a design file.
        what: What it is.
        source: Where it comes from.
        status: How far it can be trusted.
    """

    name: str
    value: str
    what: str
    source: str
    status: Status


@dataclass(frozen=True)
class SheetStock(TableRow):
    """A board, a plastic, a leather, or any material of a kind, as a part is cut from it.

    Args:
        name: The name used in design files, or a kind of material.
        title: The name in words.
        kind: What it is.
        cut_by: Ways of cutting that suit it.
        etched: Whether a laser marks it.
        note: What the maker should know.
        caution: The usual caution.
        by_way: Ways of cutting, each with what it adds to the caution.
        source: Where that comes from.
        status: How far it can be trusted.
    """

    name: str
    title: str
    kind: Literal["board", "plastic", "leather", "wood", "laminate", "metal", "steel", "bone"]
    cut_by: tuple[str, ...]
    etched: bool
    note: str
    caution: str
    source: str
    status: Status
    by_way: tuple[tuple[str, str], ...] = ()

    def cautions(self, way: str | None) -> str:
        """Return what to mind, with what a way of cutting adds; with all of them where it is open how it is cut."""
        return " ".join([self.caution, *(words for name, words in self.by_way if way in (None, name))])

    def check(self) -> None:
        """Refuse a way of cutting that no table knows."""
        names = [p.name for p in processes()]
        for way in (*self.cut_by, *(name for name, _ in self.by_way)):
            if way not in names:
                raise unknown("process", way, names, "cut_by")


@cache
def part_figures() -> dict[str, PartFigure]:
    """Return the figures of parts by their key."""
    return read_rows(DATA / "parts.toml", PartFigure)


@cache
def sheet_stocks() -> dict[str, SheetStock]:
    """Return what parts are cut from, by name or kind."""
    return read_rows(DATA / "sheets.toml", SheetStock)


def sheet_stock(name: str, where: str) -> SheetStock:
    """Look up a board, a plastic or a leather.

    Args:
        name: Such as "hardboard".
        where: File, table and key for the message.

    Raises:
        RequestError: No such row; the message names those that there are.
    """
    plain = "-".join(name.strip().lower().replace("_", " ").split())
    own = {key: row for key, row in sheet_stocks().items() if row.kind in ("board", "plastic", "leather")}
    if plain not in own:
        raise unknown("sheet", name, own, where)
    return own[plain]


def stock_of(material: Material) -> SheetStock:
    """Return how parts of a material are cut, by its kind.

    Raises:
        RequestError: The table has no row for its kind.
    """
    kind = "steel" if material.kind == "stainless" else material.kind
    if kind not in sheet_stocks():
        raise RequestError(f"sheets.toml: there is no row for {kind}.")
    return sheet_stocks()[kind]
