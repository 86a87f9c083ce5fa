"""Which hands a handle has to suit: percentiles of a survey by name, such as "women 50", and what a hand wants."""

from __future__ import annotations

from functools import cache
from typing import Annotated

from blankwright.base.errors import named
from blankwright.base.fields import Fields, read_toml
from blankwright.base.frozen import dataclass
from blankwright.base.readrows import In, TableRow, need, read_row
from blankwright.base.said import Status
from blankwright.shop.bands import Band
from blankwright.shop.tables import DATA

_Percentiles = tuple[Annotated[float, In(50, 270)], ...]  # nobody's hand is outside; an inch would be


@dataclass(frozen=True)
class Hand(TableRow):
    """A hand of the survey.

    Args:
        name: Such as "women 50".
        breadth_mm: Across the palm, without the thumb [mm].
        length_mm: Wrist crease to the tip of the middle finger [mm].
        palm_mm: Wrist crease to the base of the middle finger [mm].
        circumference_mm: Round the palm [mm].
        source: Where it comes from.
        status: How far it can be trusted.
    """

    name: str
    breadth_mm: float
    length_mm: float
    palm_mm: float
    circumference_mm: float
    source: str
    status: Status


@dataclass(frozen=True)
class _Survey(TableRow):
    """Where the rows come from, and which percentiles they are."""

    source: str
    status: Status
    percentiles: tuple[Annotated[int, In(1, 99)], ...]


@dataclass(frozen=True)
class _People(TableRow):
    """The percentiles of one sex [mm]."""

    count: int
    breadth: _Percentiles
    length: _Percentiles
    palm: _Percentiles
    circumference: _Percentiles


@dataclass(frozen=True)
class _Guess(TableRow):
    """What a hand wants of a handle, by rule of thumb."""

    finger_room: Annotated[Band, In(5, 300, "mm")]
    grip_over_breadth: Annotated[Band, In(5, 100, "mm")]


@dataclass(frozen=True)
class _Hands(TableRow):
    """The table of hands."""

    survey: _Survey
    women: _People
    men: _People
    guess: _Guess

    def check(self) -> None:
        """Refuse a row that has not one figure for each percentile."""
        for people in (self.women, self.men):
            for row in (people.breadth, people.length, people.palm, people.circumference):
                need(len(row) == len(self.survey.percentiles), "every row has one figure for each percentile.")


@cache
def _table() -> _Hands:
    return read_row(_Hands, Fields(read_toml(DATA / "hands.toml"), "hands.toml"))


@cache
def hands() -> dict[str, Hand]:
    """Return every hand of the survey by name."""
    table = _table()
    survey = table.survey
    return {
        f"{sex} {percent}": Hand(
            f"{sex} {percent}", people.breadth[i], people.length[i], people.palm[i], people.circumference[i],
            survey.source, survey.status,
        )
        for sex, people in (("women", table.women), ("men", table.men))
        for i, percent in enumerate(survey.percentiles)
    }  # fmt: skip


def percentile_hand(name: str) -> Hand:
    """Return a hand of the survey by name.

    Args:
        name: "women" or "men" and a percentile of the table, such as "women 50".

    Raises:
        RequestError: No such hand in the table; nothing is put between its columns.

    >>> percentile_hand("women 50").breadth_mm
    78.0
    """
    words = " ".join(str(name).lower().split())
    return named("hand", words, hands())


def finger_room() -> Band:
    """Return the usual guess of the room under a handle, where no finger was measured [mm]."""
    return _table().guess.finger_room


def grip_over_breadth() -> Band:
    """Return by how much a handle is longer than the palm is broad [mm]; the one figure of rules and sheets.

    >>> grip_over_breadth().low
    20.0
    """
    return _table().guess.grip_over_breadth
