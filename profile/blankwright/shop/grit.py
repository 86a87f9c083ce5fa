"""How coarse a grit is, which grit of the other scale is like it, and in which order they are used."""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from blankwright.base.errors import RequestError, unknown
from blankwright.base.fields import Fields, read_toml
from blankwright.base.said import STATUSES

__all__ = ["SCALES", "Grit", "Sequence", "grit", "grits", "like", "sequence", "sequences"]

SCALES = ("P", "CAMI")
"""Scales of coated abrasives: FEPA P and CAMI (ANSI)."""

ALIKE = 1.25
"""Grains whose sizes differ by no more than this factor are alike; neighbours on a scale differ by about as much."""

_TABLE = Path(__file__).parent / "data" / "grit.toml"


@dataclass(frozen=True)
class Grit:
    """A grade of coated abrasive.

    Args:
        scale: One of SCALES.
        number: Its number on that scale.
        size_um: Mean size of its grains [micrometre].
        source: Where the size comes from.
        status: One of STATUSES.
    """

    scale: str
    number: int
    size_um: float
    source: str
    status: str

    def __post_init__(self) -> None:
        good = self.scale in SCALES and self.status in STATUSES and bool(self.source) and self.number > 0
        if not good or not 1 <= self.size_um <= 3000:
            raise RequestError(f"grit {self.scale}{self.number}: scale, source, status or size is wrong.")

    @property
    def printed(self) -> str:
        """Such as "P120 (125 µm)"."""
        sign = "P" if self.scale == "P" else "CAMI "
        return f"{sign}{self.number} ({self.size_um:g} µm)"


@dataclass(frozen=True)
class Sequence:
    """Grits in the order of use.

    Args:
        name: What it is for, in a word or two.
        purpose: What it is for, in words.
        grits: Coarse to fine.
        text: How to go about it.
        source: Where it comes from.
        status: One of STATUSES.
    """

    name: str
    purpose: str
    grits: tuple[Grit, ...]
    text: str
    source: str
    status: str

    def __post_init__(self) -> None:
        sizes = [entry.size_um for entry in self.grits]
        if len(sizes) < 2 or not all(a > b for a, b in itertools.pairwise(sizes)):
            raise RequestError(f"sequence '{self.name}': needs two or more grits, coarse to fine.")
        if self.status not in STATUSES or not (self.name and self.purpose and self.text and self.source):
            raise RequestError(f"sequence '{self.name}': a text is empty or the status is unknown.")


@cache
def _data() -> dict[str, Any]:
    return read_toml(_TABLE)


@cache
def grits(scale: str) -> tuple[Grit, ...]:
    """Return the grits of a scale, coarse to fine.

    Raises:
        RequestError: No such scale.
    """
    if scale not in SCALES:
        raise unknown("scale of grit", scale, SCALES)
    row = Fields(_data(), _TABLE.name).sub("scales").sub(scale)
    source = row.text("source")
    found = [Grit(scale, int(number), float(size), source, status) for number, size, status in row.table["rows"]]
    if not all(a.size_um > b.size_um and a.number < b.number for a, b in itertools.pairwise(found)):
        raise RequestError(f"{row.where}: rows must run from coarse to fine.")
    return tuple(found)


def grit(scale: str, number: int) -> Grit:
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


def like(entry: Grit) -> Grit | None:
    """Return the grit of the other scale whose grains are nearest in size, None when none is within a quarter.

    >>> like(grit("CAMI", 400)).printed
    'P800 (22 µm)'
    """
    other = SCALES[1 - SCALES.index(entry.scale)]
    ratio, found = min(
        ((max(g.size_um, entry.size_um) / min(g.size_um, entry.size_um), g) for g in grits(other)),
        key=lambda pair: pair[0],
    )
    return found if ratio <= ALIKE else None


@cache
def sequences() -> tuple[Sequence, ...]:
    """Return every sequence, in the order of the table."""
    return tuple(_sequence(row) for row in Fields(_data(), _TABLE.name).rows("sequence"))


def _sequence(row: Fields) -> Sequence:
    row.only(("name", "scale", "for", "numbers", "text", "source", "status"))
    steps = tuple(grit(row.choice("scale", SCALES), number) for number in row.table["numbers"])
    texts = (row.text("text"), row.text("source"), row.choice("status", STATUSES))
    return Sequence(row.text("name"), row.text("for"), steps, *texts)


def sequence(name: str) -> Sequence:
    """Look up a sequence by its name, such as "wood".

    Raises:
        RequestError: No such sequence.
    """
    for entry in sequences():
        if entry.name == name:
            return entry
    raise unknown("sequence of grits", name, [entry.name for entry in sequences()])
