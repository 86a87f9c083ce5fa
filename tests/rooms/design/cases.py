"""Every family file in templates/families, in every construction and size: new files are picked up."""

from __future__ import annotations

import copy
import json
import math
import tomllib
from functools import cache
from pathlib import Path
from typing import Any

from blankwright.base.library import families_dir
from blankwright.design.family import family_names, load_family
from blankwright.design.nearest import solve_sound
from blankwright.design.parts import Family
from blankwright.design.solve import Shape

FAMILIES = family_names()
KINDS = [(name, construction) for name in FAMILIES for construction in load_family(name).curves]
"""(family, construction) of everything that is shipped."""


def sizes(family: Family, construction: str) -> dict[str, dict[str, float]]:
    """Return the sizes at which a family is looked at, by label: both ends of every dimension too."""
    offered = family.offered(construction)
    cases: dict[str, dict[str, float]] = {"default": {}}
    for d in offered:
        cases[f"{d.name} least"] = {d.name: d.least_mm}
        cases[f"{d.name} greatest"] = {d.name: d.greatest_mm}
    cases["all least"] = {d.name: d.least_mm for d in offered}
    cases["all greatest"] = {d.name: d.greatest_mm for d in offered}
    return cases


CASES = [(n, c, label) for n, c in KINDS for label in sizes(load_family(n), c)]
BY_DIMENSION = [(n, c, d.name) for n, c in KINDS for d in load_family(n).offered(c)]


@cache
def solved(name: str, construction: str, label: str) -> Shape:
    """Return a family solved at one of its sizes."""
    family = load_family(name)
    return solve_sound(family, construction, sizes(family, construction)[label])


def family_table(name: str) -> dict[str, Any]:
    """Return a shipped family file as a table of its own, to be spoiled or redrawn."""
    return copy.deepcopy(tomllib.loads((families_dir() / f"{name}.toml").read_text(encoding="utf-8")))


def toml_text(table: dict[str, Any]) -> str:
    """Write a table as TOML, one line for each top key."""
    return "".join(f"{json.dumps(key)} = {_inline(value)}\n" for key, value in table.items())


def _inline(value: object) -> str:
    if isinstance(value, dict):
        return "{" + ", ".join(f"{json.dumps(k)} = {_inline(v)}" for k, v in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(_inline, value)) + "]"
    if isinstance(value, float) and not math.isfinite(value):
        return "nan" if math.isnan(value) else "inf"
    return json.dumps(value)


def write_family(folder: Path, table: dict[str, Any], name: str = "drawn.toml") -> Path:
    """Write a table as a family file and return its path."""
    path = folder / name
    path.write_text(toml_text(table), encoding="utf-8")
    return path


def all_curves(table: dict[str, Any]) -> list[dict[str, Any]]:
    """Return every curve of a family table, shared ones first."""
    own = [c for part in table["construction"].values() for c in part.get("curve", [])]
    return [*table["curve"], *own]


def curve(table: dict[str, Any], region: str) -> dict[str, Any]:
    """Return the first curve of a region."""
    return next(c for c in all_curves(table) if c["region"] == region)
