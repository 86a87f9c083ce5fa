"""A commented design file to start from: every key the family offers, at its default."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from pathlib import Path

from blankwright.base.errors import unknown
from blankwright.base.plain import quoted
from blankwright.base.units import show_mm
from blankwright.design.keys import SETTING_UNITS, SETTINGS
from blankwright.design.partkeys import EXAMPLES
from blankwright.design.parts import LIFTED, Family
from blankwright.design.pattern import handle_names
from blankwright.design.request import EDGE_ANGLES, OVERALL_KEY, Design

_TABLES = (
    "blade", "handle", "tang", "pins", "material", "scales", "block", "grind", "start", "cutting", "allowance", "mark",
    "parts",
)  # fmt: skip


def design_file(family: Family, name: str, construction: str | None = None, folder: Path | None = None) -> str:
    """Return the text of a design file.

    Args:
        family: The family.
        name: Name of the knife.
        construction: full, hidden or one-piece; None for the family's first.
        folder: Where the file will lie, so that what lies there too is named shortly.

    Raises:
        RequestError: The family has no such construction.

    Values are written at their defaults; keys without a default are written as comments.
    """
    construction = construction or next(iter(family.curves))
    if construction not in family.curves:
        raise unknown("construction", construction, family.curves, f"family {family.name}")
    lines = [
        "# A design file. Lengths carry their unit: 210 mm, 21 cm, 8 1/4 in. Delete a line to let it follow.",
        f"name = {quoted(name)}",
        *_family_lines(family, folder),
        *_to_measure(family, construction),
    ]
    for table in _TABLES:
        rows = _rows(family, construction, table)
        if rows:
            lines += ["", f"[{table}]", *rows]
    return "\n".join(lines) + "\n"


def design_text(design: Design, head: Sequence[str], notes: Mapping[str, str], folder: Path | None = None) -> str:
    """Return a design as the text of a design file: what was asked, not what followed.

    Args:
        design: The design.
        head: Lines of comment at the top, without their sign.
        notes: Comment behind a key, by its dotted name.
        folder: Where the file will lie, so that what lies there too is named shortly.
    """
    lines = [f"# {line}" for line in head]
    lines += [f"name = {quoted(design.name)}", *_family_lines(design.family, folder)]
    tables: dict[str, list[tuple[str, str]]] = {"handle": [("construction", quoted(design.construction))]}
    if design.pattern is not None:
        own = design.pattern.endswith(".toml")
        tables["handle"].append(("pattern", quoted(_shortly(Path(design.pattern), folder) if own else design.pattern)))
    for d in design.family.offered(design.construction):
        if d.name in design.dimensions_mm:
            group, key = d.key.split(".")
            tables.setdefault(group, []).append((key, f'"{design.dimensions_mm[d.name]:.12g} mm"'))
    if design.overall_mm is not None:
        group, key = OVERALL_KEY.split(".")
        tables.setdefault(group, []).append((key, f'"{design.overall_mm:.12g} mm"'))
    for setting in SETTINGS:
        if design.sources.get(setting.key) == "asked":
            group, key = setting.key.split(".")
            tables.setdefault(group, []).append((key, written(setting.kind, design.settings[setting.key])))
    for group in (t for t in _TABLES if t in tables):
        lines += ["", f"[{group}]"]
        for key, text in tables[group]:
            note = notes.get(f"{group}.{key}")
            lines.append(f"{key} = {text}" + (f"  # {note}" if note else ""))
    return "\n".join(lines) + "\n"


def written(kind: str, value: object) -> str:
    """Return a setting as it stands in a design file."""
    if isinstance(value, tuple):
        return "[" + ", ".join(f'"{v:.12g} mm"' for v in value) + "]"
    if isinstance(value, str):
        return quoted(value)
    if kind == "count":
        return str(value)
    return f'"{value:.12g} {SETTING_UNITS.get(kind, "mm")}"'


def _family_lines(family: Family, folder: Path | None) -> list[str]:
    """Return how a design file names the family: one that is shipped, or lies in a folder, shortly."""
    own = family.path_or_name not in (family.name, LIFTED)
    name = _shortly(Path(family.path), folder) if own else family.path_or_name
    return [
        f"family = {quoted(name)}",
        *(f"{key} = {quoted(_shortly(Path(path), folder))}" for key, path in family.beside.items()),
    ]


def _shortly(path: Path, folder: Path | None) -> str:
    """Return a file's whole path, or its way from a folder that it lies in."""
    whole = path.resolve()
    if folder is not None and whole.is_relative_to(folder.resolve()):
        return whole.relative_to(folder.resolve()).as_posix()
    return str(whole)


def _to_measure(family: Family, construction: str) -> list[str]:
    """Say what a blank that exists measures, and what still has to be measured on it."""
    found = [d for d in family.offered(construction) if d.measured]
    if not found:
        return []
    sizes = ", ".join(f"{d.key} {show_mm(d.default_mm)}" for d in found)
    return [
        f"# Measured on the outline, and not asked for: {sizes}.",
        "# Its holes are measured too; pins.diameter is the largest usual rod that goes through them.",
        "# Measure its thickness with a caliper and write it below, as thickness of [material].",
    ]


def _rows(family: Family, construction: str, table: str) -> list[str]:
    rows: list[tuple[str, str, str]] = []
    if table == "handle":
        rows.append(("", f'construction = "{construction}"', f"one of {', '.join(family.curves)}"))
        if family.patterns:
            fitting = ", ".join(handle_names(construction))
            rows.append(("", f"pattern = {quoted(family.patterns[construction])}", f"one of {fitting}, or a file"))
    for d in family.offered(construction):
        if d.key.startswith(table + ".") and not d.measured:
            span = f"{show_mm(d.least_mm, digits=0)} to {show_mm(d.greatest_mm, digits=0)}"
            leader = d.follows is not None
            mark = "# " if leader else ""
            rows.append((mark, f'{d.key.split(".")[1]} = "{d.default_mm:g} mm"', f"{d.meaning}; {span}"))
    if OVERALL_KEY.startswith(table + ".") and not family.beside:
        rows.append(("# ", 'overall_length = "344 mm"', "butt to tip; blade or handle gives way to it"))
    defaults = dict(family.defaults[construction])
    if "grind.edge" in defaults and defaults["grind.edge"].value == "blunt":
        defaults = {key: default for key, default in defaults.items() if key not in EDGE_ANGLES}
    for setting in SETTINGS:
        if not setting.key.startswith(table + "."):
            continue
        key = setting.key.split(".")[1]
        if family.stands(setting.key):
            continue
        if setting.key in defaults:
            value = defaults[setting.key].value
            rows.append(("", f"{key} = {quoted(value)}", setting.meaning))
        else:
            rows.append(("# ", f"{key} = {_example(setting.key, setting.kind)}", setting.meaning))
    wide = max((len(mark + text) for mark, text, _ in rows), default=0)
    return [f"{mark + text:<{wide}}  # {comment}" for mark, text, comment in rows]


_EXAMPLES = {
    "cutting.heel_notch": '"before hardening"',
    "cutting.nozzle_radius": '"8 mm"',
    "pins.positions": '["-40 mm", "-100 mm"]',
    "pins.spacing": '"40 mm"',
    "pins.diameter": '"5 mm"',
    "tang.lanyard_diameter": '"5 mm"',
    "tang.lightening_count": "2",
    "tang.lightening_diameter": '"7 mm"',
    "tang.butt_thickness": '"2 mm"',
    "material.hardened": '"yes"',
    "material.hardness": '"60 HRC"',
    "grind.edge": '"sharp"',
    "grind.edge_angle": '"15 deg"',
    "grind.height": '"full"',
    "grind.wheel": '"250 mm"',
    "grind.right_share": '"70 %"',
    "grind.edge_angle_left": '"12 deg"',
    "grind.spine_heel": '"2.8 mm"',
    "grind.spine_middle": '"2 mm"',
    "grind.spine_near_tip": '"1.6 mm"',
    "grind.ricasso": '"3 mm"',
    "grind.plunge_radius": '"5 mm"',
    "scales.weighed": '"85 g"',
    "scales.weighed_size": '["130 mm", "40 mm", "10 mm"]',
    "start.from": '"bar"',
    "start.ground": '"yes"',
    "start.piece": '"file"',
    "start.thickness": '"6 mm"',
    "start.loss": '"0.5 mm"',
    "start.bar": '["25 mm", "6 mm"]',
    "start.forged_bevels": '"50 %"',
    "start.handling": '"25 mm"',
    "mark.text": '"GALLEY"',
    "mark.file": '"mark.svg"',
    "mark.height": '"2 mm"',
    "mark.at": '["-7 mm", "40 mm"]',
    "mark.reads": '"along"',
    "mark.lines": '"left out"',
    **{f"parts.{key}": json.dumps(value) for key, value in EXAMPLES.items()},
    "block.weighed": '"120 g"',
    "block.weighed_size": '["130 mm", "40 mm", "30 mm"]',
}
"""What stands in the comment of a key that has no default; lengths not named here show 1 mm."""


def _example(key: str, kind: str) -> str:
    return _EXAMPLES.get(key, '"1 mm"' if kind == "length" else '"..."')
