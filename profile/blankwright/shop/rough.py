"""What found steel was and loses before it is traced; what a forging loses between bar and blank."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Annotated

from blankwright.base.errors import named
from blankwright.base.fields import Fields, read_toml
from blankwright.base.readrows import In, TableRow, need, read_row
from blankwright.shop.bands import Rule
from blankwright.shop.records import Figure
from blankwright.shop.tables import DATA


@dataclass(frozen=True)
class Piece(TableRow):
    """What found steel was.

    Args:
        name: Its name in design files.
        title: The name in words.
        loss_mm: What is ground off each face before it is traced [mm].
        rules: What to do with it and what to know.
    """

    name: str
    title: str
    loss_mm: Figure
    rules: tuple[Rule, ...]


@dataclass(frozen=True)
class ForgingLoss(TableRow):
    """What a forging loses.

    Args:
        skin_mm: Ground off on every side after forging [mm].
        scale: Share of the weight that burns off [%].
        kerf_mm: The cut through the bar [mm].
        drawn: How many times as long as its bar a forging is, at least.
        process: How it is cut to the line where nobody asks otherwise.
        bars: Bars that are usual: width and thickness [mm].
    """

    skin_mm: Figure
    scale: Figure
    kerf_mm: Figure
    drawn: Annotated[Figure, In(unit="times")]
    process: str
    bars: tuple[tuple[Annotated[float, In(1, 200)], Annotated[float, In(1, 200)]], ...]

    def check(self) -> None:
        """Refuse a loss that leaves nothing."""
        need(self.scale.unit == "%", "scale must be in %.")
        need(self.scale.value < 60, "scale must be below 60 %.")
        need(self.drawn.value > 1, "drawn must be more than once: a bar is drawn out.")


@cache
def pieces() -> dict[str, Piece]:
    """Return what found steel may have been, by name."""
    table = Fields(read_toml(DATA / "rough.toml"), "rough.toml").sub("pieces")
    return {name: read_row(Piece, table.sub(name), name=name) for name in table.table}


def piece(name: str) -> Piece:
    """Return a piece of found steel by name.

    Raises:
        RequestError: No such piece.

    >>> piece("rasp").loss_mm.value
    1.0
    """
    return named("piece", name, pieces())


@cache
def forging_loss() -> ForgingLoss:
    """Return what a forging loses."""
    return read_row(ForgingLoss, Fields(read_toml(DATA / "rough.toml"), "rough.toml").sub("forging"))
