"""How coarse a grit is, and in which order grits are used."""

from __future__ import annotations

import itertools
from collections.abc import Mapping
from dataclasses import field
from functools import cache
from typing import Annotated, Literal, get_args

from blankwright.base.errors import unknown
from blankwright.base.fields import Fields, read_toml
from blankwright.base.frozen import dataclass
from blankwright.base.readrows import In, TableRow, need, read_row
from blankwright.base.said import Status
from blankwright.shop.tables import DATA

Scale = Literal["P", "CAMI"]

SCALES: tuple[Scale, ...] = get_args(Scale)
"""Scales of coated abrasives: FEPA P and CAMI (ANSI)."""


@dataclass(frozen=True)
class Grit(TableRow):
    """A grade of coated abrasive.

    Args:
        scale: One of SCALES.
        number: Its number on that scale.
        size_um: Mean size of its grains [micrometre].
        source: Where the size comes from.
        status: How far it can be trusted.
    """

    scale: Scale
    number: Annotated[int, In(1, 10000)]
    size_um: Annotated[float, In(1, 3000)]
    source: str
    status: Status

    @property
    def printed(self) -> str:
        """Such as "P120 (125 µm)"."""
        sign = "P" if self.scale == "P" else "CAMI "
        return f"{sign}{self.number} ({self.size_um:g} µm)"


@dataclass(frozen=True)
class Sequence(TableRow):
    """Grits in the order of use.

    Args:
        name: What it is for, in a word or two.
        scale: The scale of its numbers.
        purpose: What it is for, in words.
        numbers: Coarse to fine.
        text: How to go about it.
        source: Where it comes from.
        status: How far it can be trusted.
    """

    name: str
    scale: Scale
    purpose: str = field(metadata={"key": "for"})
    numbers: tuple[int, ...]
    text: str
    source: str
    status: Status

    def check(self) -> None:
        """Refuse grits that are not on the scale or do not run from coarse to fine."""
        sizes = [entry.size_um for entry in self.grits]
        good = len(sizes) >= 2 and all(a > b for a, b in itertools.pairwise(sizes))
        need(good, f"sequence '{self.name}': needs two or more grits, coarse to fine.")

    @property
    def grits(self) -> tuple[Grit, ...]:
        """The grits, coarse to fine."""
        return tuple(grit(self.scale, number) for number in self.numbers)


@dataclass(frozen=True)
class _Size(TableRow):
    """One row of a scale."""

    number: int
    size_um: float
    status: Status


@dataclass(frozen=True)
class _Scale(TableRow):
    """A scale as its table has it."""

    title: str
    source: str
    rows: tuple[_Size, ...]

    def check(self) -> None:
        good = all(a.size_um > b.size_um and a.number < b.number for a, b in itertools.pairwise(self.rows))
        need(good, "rows must run from coarse to fine.")


@dataclass(frozen=True)
class _Grits(TableRow):
    """The table of grits."""

    scales: Mapping[str, _Scale]


@cache
def _table() -> Fields:
    return Fields(read_toml(DATA / "grit.toml"), "grit.toml")


@cache
def grits(scale: Scale) -> tuple[Grit, ...]:
    """Return the grits of a scale, coarse to fine.

    Raises:
        RequestError: No such scale.
    """
    if scale not in SCALES:
        raise unknown("scale of grit", scale, SCALES)
    found = read_row(_Grits, _table(), ("sequence",)).scales[scale]
    return tuple(Grit(scale, row.number, row.size_um, found.source, row.status) for row in found.rows)


def grit(scale: Scale, number: int) -> Grit:
    """Look up a grit.

    Raises:
        RequestError: No such scale or number.

    >>> grit("P", 120).printed
    'P120 (125 µm)'
    """
    for entry in grits(scale):
        if entry.number == number:
            return entry
    raise unknown("grit", f"{scale}{number}", [f"{scale}{entry.number}" for entry in grits(scale)])


@cache
def sequences() -> tuple[Sequence, ...]:
    """Return every sequence, in the order of the table."""
    return tuple(read_row(Sequence, row) for row in _table().rows("sequence"))


def sequence(name: str) -> Sequence:
    """Look up a sequence by its name, such as "wood".

    Raises:
        RequestError: No such sequence.
    """
    for entry in sequences():
        if entry.name == name:
            return entry
    raise unknown("sequence of grits", name, [entry.name for entry in sequences()])
