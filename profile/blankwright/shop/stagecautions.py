"""Which cautions belong to a stage of the work: regulation where there is one, practice beside it."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

from blankwright.base.errors import named, unknown
from blankwright.base.readrows import read_rows
from blankwright.shop.bands import Advice, Rule
from blankwright.shop.records import Process
from blankwright.shop.tables import DATA


@cache
def stages() -> dict[str, Advice]:
    """Return the cautions of every stage by name; those of the stages it names in `also` come after its own.

    Raises:
        RequestError: A stage names another that is not there.
    """
    own = read_rows(DATA / "cautions.toml", Advice)
    return {name: replace(found, rules=(*found.rules, *_more(found.also, own))) for name, found in own.items()}


def _more(also: tuple[str, ...], known: dict[str, Advice]) -> list[Rule]:
    for name in also:
        if name not in known:
            raise unknown("stage", name, known, "also")
    return [rule for name in also for rule in known[name].rules]


def stage(name: str) -> Advice:
    """Return the cautions of a stage.

    Raises:
        RequestError: No such stage; the message suggests the nearest.

    >>> stage("quench-oil").rules[0].text
    'Keep the oil at least 28 °C (50 °F) below its flash point.'
    """
    return named("stage", name, stages())


def cutting_cautions(process: Process, *, chromium: bool = True) -> tuple[Rule, ...]:
    """Return the cautions of a way of cutting: those of its row, then those of the stages it names in `also`.

    Args:
        process: The way of cutting.
        chromium: Whether the steel is rich in chromium, or nobody knows; of other steel nothing is said of it.

    Raises:
        RequestError: Its row names a stage that is not there.
    """
    found = (*process.cautions, *_more(process.also, stages()))
    return tuple(rule for rule in found if chromium or not rule.chromium)
