"""Service files that differ from the shipped ones in one thing that shops disagree on, as parsed tables."""

from __future__ import annotations

import copy
from typing import Any

from blankwright.base.fields import read_toml
from blankwright.base.library import templates_dir
from blankwright.design.request import Design, read_design
from blankwright.shop.services import Service
from blankwright.shop.tables import process


def plain_table(name: str) -> dict[str, Any]:
    """Return a shipped service as its parsed file."""
    return read_toml(templates_dir() / "services" / f"{name}.toml")


def changed(name: str, changes: dict[str, Any]) -> dict[str, Any]:
    """Return a shipped service with keys changed: "file.unit" sets a key of a table, a None takes it out."""
    table = copy.deepcopy(plain_table(name))
    for key, value in changes.items():
        *path, last = key.split(".")
        inner = table
        for part in path:
            inner = inner[part]
        if value is None:
            inner.pop(last)
        else:
            inner[last] = value
    return table


def demo_design(name: str, shop: Service) -> Design:
    """Return a demonstration design cut as a shop cuts; a board that no flame cuts is made of steel."""
    changes: dict[str, object] = {"cutting.process": shop.process}
    if "spreader" in name and "wood" not in process(shop.process).materials:
        changes |= {"material.grade": "80CrV2", "material.thickness": "3 mm"}
    return read_design(str(templates_dir() / "designs" / f"{name}.toml"), changes)


VARIANTS: dict[str, dict[str, Any]] = {
    "inches": changed("jet", {"file.unit": "in"}),
    "chords": changed("jet", {"file.curves": "chords", "file.deviation": "0.01 mm"}),
    "exploded R2010": changed("laser", {"file.contours": "exploded"}),
    "joined R12": changed("plasma", {"file.contours": "polyline", "file.longest_name": 40}),
    "exploded R12 in inches": changed("plasma", {"file.unit": "in"}),
    "exploded chords": changed(
        "laser", {"file.contours": "exploded", "file.curves": "chords", "file.deviation": "0.05 mm"}
    ),
    "no marks": changed("jet", {"holes.policy": "none", "file.cut_layer": "0"}),
    "marks only": changed("jet", {"holes.policy": "mark only", "file.mark_layer": "CENTRES"}),
    "own table, spine, tabs, inches": changed(
        "own-table",
        {"file.unit": "in", "table.enter": "spine", "table.outside": "counter-clockwise", "table.tabs": 2,
         "table.lead": "3 mm"},
    ),
    "own table, exploded": changed("own-table", {"file.contours": "exploded", "file.release": "R12"}),
}  # fmt: skip
"""What shops disagree on, one thing at a time."""
