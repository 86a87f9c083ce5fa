"""Every family file in templates/families, in every construction and size: new files are picked up."""

from __future__ import annotations

import json
import math
import tomllib
from functools import cache
from pathlib import Path
from typing import Any

from blankwright.base.library import families_dir
from blankwright.design.blade import together
from blankwright.design.family import family_names, load_family
from blankwright.design.nearest import solve_sound
from blankwright.design.parts import Family
from blankwright.design.solve import SolvedShape, fair_plan
from rooms.often import EVERY_CASE

FAMILIES = family_names()
LOOKED_THROUGH = tuple(n for n in FAMILIES if EVERY_CASE or n in ("chef", "nakiri", "paring", "spreader", "utility"))
"""Points, a square nose and a round tip: all constructions, each dimension at both ends; others all together."""

KINDS = [
    (name, construction)
    for name in FAMILIES
    for construction in load_family(name).curves
    if construction != "one-piece" or name in LOOKED_THROUGH
]
"""(family, construction) of what is shipped; one board is drawn as a full tang: the others' are left to EVERY_CASE."""

SOME_KINDS = [kind for kind in KINDS if kind[0] in LOOKED_THROUGH or kind[0] == "boning"]
"""Those of them that dear checks look at in the suite, a slim handle among them."""


def sizes(family: Family, construction: str) -> dict[str, dict[str, float]]:
    """Return the sizes that a family can be looked at, by label: both ends of every dimension too."""
    offered = family.offered(construction)
    cases: dict[str, dict[str, float]] = {"default": {}}
    for d in offered:
        cases[f"{d.name} least"] = {d.name: d.least_mm}
        cases[f"{d.name} greatest"] = {d.name: d.greatest_mm}
    cases["all least"] = {d.name: d.least_mm for d in offered}
    cases["all greatest"] = {d.name: d.greatest_mm for d in offered}
    return cases


def labels(family: Family, construction: str) -> list[str]:
    """Return the labels of the sizes at which a family is looked at: of new ones where all dimensions end together."""
    some = ("default", "all least", "all greatest", "blade_length least", "blade_length greatest")
    return [one for one in sizes(family, construction) if family.name in LOOKED_THROUGH or one in some]


CASES = [(n, c, label) for n, c in KINDS for label in labels(load_family(n), c)]
BY_DIMENSION = [(n, c, d.name) for n, c in KINDS if n in LOOKED_THROUGH for d in load_family(n).offered(c)]


@cache
def solved(name: str, construction: str, label: str) -> SolvedShape:
    """Return a family solved at one of its sizes."""
    family = load_family(name)
    return solve_sound(family, construction, sizes(family, construction)[label])


def family_table(name: str) -> dict[str, Any]:
    """Return a shipped family, blade and handle written whole, as a table of its own, to be spoiled or redrawn."""
    parts = json.loads(load_family(name).source)
    whole: dict[str, Any] = json.loads(json.dumps(together(parts["blade"], parts["handles"], f"{name}.toml")))
    for construction, part in whole["construction"].items():
        if "curve" in part:
            _settle(name, construction, [*part.get("blade", whole["curve"]), *part["curve"]])
    return {key: value for key, value in whole.items() if key not in ("step", "top")}


def _settle(name: str, construction: str, curves: list[dict[str, Any]]) -> None:
    """Put the points of a handle where they settle on its blade: to the last digit, as a file of one's own has them."""
    points = [
        p for i, plan in enumerate(fair_plan(load_family(name), construction)) for p in plan.points.tolist()[i > 0 :]
    ]
    for one in curves:
        one["points"], points = points[: len(one["points"])], points[len(one["points"]) :]


def blade_table(name: str) -> dict[str, Any]:
    """Return a shipped blade's file as a table of its own."""
    return tomllib.loads((families_dir() / f"{name}.toml").read_text(encoding="utf-8"))


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
