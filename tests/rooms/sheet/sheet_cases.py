"""Knives whose sheets are looked at: constructions, materials, starts."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from blankwright.design.request import read_design
from blankwright.knife.knife import Knife, finish
from blankwright.sheet.brief import told_once
from blankwright.sheet.files import SheetWishes, card_file, pictures_of, sheet_data, sheet_page, sheet_paper
from blankwright.sheet.model import Sheet, Stage
from blankwright.sheet.pdf import sheet_pdf
from blankwright.sheet.picture import Picture
from rooms.often import EVERY_CASE

DESIGNS = Path(__file__).parents[3] / "templates" / "designs"

CASES: dict[str, tuple[str, dict[str, object]]] = {
    "chef": ("chef", {}),
    "hidden": ("chef", {"handle.construction": "hidden", "material.grade": "1095", "pins.count": "1"}),
    "utility": ("utility", {"material.grade": "O1", "pins.fit": "bolted"}),
    "paring-1095": ("paring", {"material.grade": "1095"}),
    "stainless": ("paring", {"material.grade": "14C28N"}),
    "file": (str(DESIGNS / "mill_file_paring.toml"), {}),
    "spring": (str(DESIGNS / "leaf_spring_chef.toml"), {}),
    "found-named": ("chef", {"start.from": "found"}),
    "spreader": ("spreader", {"handle.construction": "one-piece"}),
    "wooden-chef": ("chef", {"handle.construction": "one-piece"}),
    "wooden-scales": (
        "spreader",
        {"handle.construction": "full", "material.grade": "beech", "cutting.process": "trace"},
    ),
    "steel-board": (
        "chef",
        {"handle.construction": "one-piece", "material.grade": "80CrV2", "cutting.process": "laser"},
    ),
    "hardened": ("utility", {"start.from": "hardened-blank"}),
    "hardened-hidden": ("chef", {"start.from": "hardened-blank", "handle.construction": "hidden"}),
    "soft-blank": ("chef", {"start.from": "blank"}),
    "forged": ("chef", {"start.from": "forged", "material.grade": "52100", "cutting.process": "saw"}),
    "single": ("chef", {"grind.bevel": "single", "grind.right_share": "100 %"}),
    "left-single": ("chef", {"grind.bevel": "single", "grind.right_share": "0 %"}),
    "bread": ("bread", {}),
    "plasma": ("chef", {"cutting.process": "plasma-table", "start.from": "bar"}),
}

SOME = tuple(CASES) if EVERY_CASE else ("chef", "hidden", "file", "spreader", "hardened", "forged")
"""Those whose whole page and print the suite reads: every construction, found, forged and bought steel, and wood."""

MORE: dict[str, tuple[str, dict[str, object]]] = {
    "bread-single": ("bread", {"grind.bevel": "single", "grind.right_share": "0 %", "grind.edge_angle": "20 deg"}),
    "bread-soft": ("bread", {"material.hardened": "no"}),
    "bread-wooden": ("bread", {"handle.construction": "one-piece", "material.grade": "beech"}),
    "preheated": ("paring", {"material.grade": "D2"}),
    "forged-paring": (
        "paring",
        {"start.from": "forged", "material.grade": "1095", "handle.construction": "hidden"},
    ),
    "torch": ("chef", {"cutting.process": "plasma-hand", "material.grade": "1084"}),
}
"""Knives of which one stage is looked at."""


@cache
def work(name: str) -> Knife:
    source, changes = {**CASES, **MORE}[name]
    return finish(read_design(source, changes))


def wished(units: str = "mm", paper: str = "A4") -> SheetWishes:
    return SheetWishes(sheet_paper(paper), units, "men 50")


@cache
def sheet(name: str) -> Sheet:
    return sheet_data(work(name), wished())


@cache
def pictures(name: str, units: str) -> tuple[Picture, ...]:
    return pictures_of(work(name), units)


@cache
def pdf(name: str, units: str = "mm", paper: str = "A4") -> bytes:
    """Return the sheet's print alone, as `sheet_files` makes it."""
    return sheet_pdf(told_once(sheet(name)), pictures(name, units), units=units, paper=wished(units, paper).paper)


@cache
def card(name: str, units: str = "mm", paper: str = "A4") -> bytes:
    """Return the bench card alone, from the sheet that is at hand."""
    ((_, made),) = card_file(work(name), wished(units, paper), sheet(name)).items()
    assert isinstance(made, bytes)
    return made


@cache
def page(name: str, units: str = "mm", paper: str = "A4") -> str:
    """Return the sheet's page alone."""
    ((_, made),) = sheet_page(work(name), wished(units, paper), sheet(name), pictures(name, units)).items()
    assert isinstance(made, str)
    return made


def codes(name: str) -> list[str]:
    return [stage.code for stage in sheet(name).stages]


def stage(name: str, code: str) -> Stage:
    return next(s for s in sheet(name).stages if s.code == code)


def words(found: Sheet | Stage) -> str:
    """Return everything that a sheet or a stage says."""
    stages = found.stages if isinstance(found, Sheet) else (found,)
    said: list[str] = []
    for one in stages:
        said.append(one.title)
        said += [line.text() for line in one.lines]
        said += [f"{row.label} {row.note}" for row in (*one.rows, *(r for t in one.tables for r in t.rows))]
    return "\n".join(said)
