"""Service files that differ from the shipped ones in one thing that shops disagree on, as parsed tables."""

from __future__ import annotations

import copy
from typing import Any

from blankwright.base.fields import read_toml
from blankwright.base.library import templates_dir


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
