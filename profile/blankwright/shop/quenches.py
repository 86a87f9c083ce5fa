"""What a blade is quenched in: what stands ready, what is done, what to look at, and which cautions belong to it."""

from __future__ import annotations

from functools import cache
from typing import Literal

from blankwright.base.errors import named
from blankwright.base.frozen import dataclass
from blankwright.base.readrows import TableRow, need, read_rows
from blankwright.shop.bands import Rule
from blankwright.shop.stagecautions import stages
from blankwright.shop.tables import DATA


@dataclass(frozen=True)
class Medium(TableRow):
    """One medium.

    Args:
        name: Its name in the table of hardening.
        title: The name in words.
        kind: liquid or dry.
        ready: What stands ready before the blade is hot.
        steps: What is done, in order.
        cautions: Stages of the table of cautions.
        checks: What to look at.
    """

    name: str
    title: str
    kind: Literal["liquid", "dry"]
    ready: Rule
    steps: tuple[Rule, ...]
    cautions: tuple[str, ...]
    checks: tuple[Rule, ...] = ()

    def check(self) -> None:
        """Refuse a medium without steps, or with cautions that no table has."""
        need(bool(self.steps), f"'{self.name}': needs steps.")
        need(set(self.cautions) <= set(stages()), f"'{self.name}': cautions must be stages of cautions.toml.")

    @property
    def oily(self) -> bool:
        """Whether oil is on the blade afterwards."""
        return self.name.endswith("oil")


@cache
def media() -> dict[str, Medium]:
    """Return every medium by name, in the order of the table."""
    return read_rows(DATA / "quenches.toml", Medium)


def medium(name: str) -> Medium:
    """Return a medium.

    Raises:
        RequestError: No such medium; the message suggests the nearest.

    >>> medium("plates").kind
    'dry'
    """
    return named("medium", name, media())
