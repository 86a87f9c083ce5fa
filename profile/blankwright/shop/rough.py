"""What found steel was and loses before it is traced; what a forging loses between bar and blank."""

from __future__ import annotations

from functools import cache
from typing import Annotated

from blankwright.base.errors import named
from blankwright.base.fields import Fields, read_toml
from blankwright.base.frozen import dataclass
from blankwright.base.readrows import In, TableRow, need, read_row
from blankwright.base.units import length_mm
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
        layer_mm: What a heat burns off every face [mm].
        layer_least_mm: The same in a reducing fire and by a quick hand [mm].
        layer_most_mm: The same in an oxidising fire and by a slow one [mm].
        heats: How often a blade is heated until it is forged.
        heats_more: So many more, or less, are usual.
        bevels: Share of bevels and tapers that is forged [%].
        handling_mm: What the tongs hold, cut off afterwards [mm].
        kerf_mm: The cut through the bar [mm].
        drawn: How many times as long as its bar a forging is, at least.
        process: How it is cut to the line where nobody asks otherwise.
        bars: Bars that are usual: width and thickness [mm].
    """

    skin_mm: Figure
    layer_mm: Figure
    layer_least_mm: Annotated[float, In(0, 1, "mm", length_mm)]
    layer_most_mm: Annotated[float, In(0, 1, "mm", length_mm)]
    heats: Figure
    heats_more: Annotated[int, In(0, 20)]
    bevels: Figure
    handling_mm: Figure
    kerf_mm: Figure
    drawn: Annotated[Figure, In(unit="times")]
    process: str
    bars: tuple[tuple[Annotated[float, In(1, 200)], Annotated[float, In(1, 200)]], ...]

    def check(self) -> None:
        """Refuse a loss that leaves nothing."""
        need(self.bevels.unit == "%" and self.bevels.value <= 100, "bevels must be in %, at most 100.")
        need(self.heats.unit == "heats" and self.heats.value >= 1, "heats must be 1 or more, in heats.")
        need(
            self.layer_least_mm <= self.layer_mm.value <= self.layer_most_mm,
            "layer must lie between layer_least and layer_most.",
        )
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
