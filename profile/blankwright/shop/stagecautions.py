"""Which cautions belong to a stage of the work: regulation where there is one, practice beside it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from blankwright.base.errors import RequestError, unknown
from blankwright.base.fields import Fields, read_toml
from blankwright.shop.bands import Rule, read_rules

__all__ = ["FIRST", "StageCautions", "cutting_stage", "stage", "stage_names", "stages_for"]

FIRST = "Local codes, makers' data sheets and licensed practice come first."
"""What ends every list of cautions."""

STEEL_STAGES = ("grinding", "drilling", "heat", "quench", "temper")
"""Stages of every steel blade, in order, between cutting and the handle."""

_TABLE = Path(__file__).parent / "data" / "cautions.toml"


@dataclass(frozen=True)
class StageCautions:
    """The cautions of one stage.

    Args:
        name: Name of the stage.
        title: The name in words.
        rules: The cautions, each with source and status.
    """

    name: str
    title: str
    rules: tuple[Rule, ...]

    def __post_init__(self) -> None:
        if not self.title.strip() or not self.rules:
            raise RequestError(f"stage '{self.name}': needs a title and cautions.")

    @property
    def words(self) -> tuple[str, ...]:
        """Each caution with its source and status in brackets; last of all, what comes first."""
        return (*(f"{rule.text} [{rule.source}; {rule.status}]" for rule in self.rules), FIRST)


@cache
def _stages() -> dict[str, StageCautions]:
    tables = read_toml(_TABLE)
    rows = {name: Fields(tables, _TABLE.name).sub(name) for name in tables}
    own = {}
    for name, row in rows.items():
        row.only(("title", "also", "rules"))
        own[name] = read_rules(row, "rules")
    found = {}
    for name, row in rows.items():
        more = [rule for other in row.table.get("also", ()) for rule in own[other]]
        found[name] = StageCautions(name, row.text("title"), (*own[name], *more))
    return found


def stage_names() -> tuple[str, ...]:
    """Return the names of all stages, in the order of the work."""
    return tuple(_stages())


def stage(name: str) -> StageCautions:
    """Return the cautions of a stage.

    Raises:
        RequestError: No such stage; the message suggests the nearest.

    >>> stage("quench").rules[0].text
    'Keep the oil at least 28 °C (50 °F) below its flash point.'
    """
    found = _stages().get(name)
    if found is None:
        raise unknown("stage", name, _stages())
    return found


def cutting_stage(process_name: str) -> StageCautions:
    """Return the cautions of a way of cutting.

    Raises:
        RequestError: No such process.

    >>> cutting_stage("plasma-table").rules[0].source
    '29 CFR 1910.133(a)(5)'
    """
    return stage(f"cut-{process_name}")


def stages_for(
    *, process_name: str, material_kind: str, found: bool, holes: bool, handle_kinds: Iterable[str]
) -> tuple[StageCautions, ...]:
    """Return the stages that a knife goes through, in order.

    Args:
        process_name: How the blank is cut.
        material_kind: "steel", "stainless" or "wood".
        found: True for found steel.
        holes: True when something is drilled.
        handle_kinds: Kinds of the handle's materials, such as "wood" and "laminate"; none for a knife of one board.

    Raises:
        RequestError: No such process.
    """
    kinds = set(handle_kinds)
    names = ["found-steel"] if found else []
    names.append(f"cut-{process_name}")
    if material_kind != "wood":
        names += [name for name in STEEL_STAGES if name != "drilling" or holes]
    elif holes:
        names.append("drilling")
    if "wood" in kinds or material_kind == "wood":
        names.append("wood-dust")
    if "laminate" in kinds:
        names.append("laminate-dust")
    if kinds:
        names.append("epoxy")
    if "wood" in kinds or material_kind == "wood":
        names.append("finishing-oil")
    return tuple(stage(name) for name in [*names, "sharpening"])
