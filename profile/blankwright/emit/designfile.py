"""A commented design file to start from: every key the family offers, at its default."""

from __future__ import annotations

import json
from pathlib import Path

from blankwright.design.parts import Family
from blankwright.design.request import OVERALL_KEY, SETTINGS
from blankwright.errors import unknown
from blankwright.units import show_mm

_TABLES = ("blade", "handle", "tang", "pins", "material", "scales", "block", "grind", "cutting", "allowance")


def design_file(family: Family, name: str, construction: str | None = None) -> str:
    """Return the text of a design file.

    Args:
        family: The family.
        name: Name of the knife.
        construction: full, hidden or one-piece; None for the family's first.

    Raises:
        RequestError: The family has no such construction.

    Values are written at their defaults; keys without a default are written as comments.
    """
    construction = construction or next(iter(family.curves))
    if construction not in family.curves:
        raise unknown("construction", construction, family.curves, f"family {family.name}")
    named = family.path_or_name if family.path_or_name == family.name else str(Path(family.path).resolve())
    lines = [
        "# A design file. Lengths carry their unit: 210 mm, 21 cm, 8 1/4 in. Delete a line to let it follow.",
        f"name = {json.dumps(name, ensure_ascii=False)}",
        f"family = {json.dumps(named, ensure_ascii=False)}",
    ]
    for table in _TABLES:
        rows = _rows(family, construction, table)
        if rows:
            lines += ["", f"[{table}]", *rows]
    return "\n".join(lines) + "\n"


def _rows(family: Family, construction: str, table: str) -> list[str]:
    rows: list[tuple[str, str, str]] = []
    if table == "handle":
        rows.append(("", f'construction = "{construction}"', f"one of {', '.join(family.curves)}"))
    for d in family.offered(construction):
        if d.key.startswith(table + "."):
            span = f"{show_mm(d.least_mm, digits=0)} to {show_mm(d.greatest_mm, digits=0)}"
            leader = d.follows is not None
            mark = "# " if leader else ""
            rows.append((mark, f'{d.key.split(".")[1]} = "{d.default_mm:g} mm"', f"{d.meaning}; {span}"))
    if OVERALL_KEY.startswith(table + "."):
        rows.append(("# ", 'overall_length = "344 mm"', "butt to tip; blade or handle gives way to it"))
    defaults = family.defaults[construction]
    for setting in SETTINGS:
        if not setting.key.startswith(table + "."):
            continue
        key = setting.key.split(".")[1]
        if setting.key in defaults:
            value = defaults[setting.key].value
            rows.append(("", f"{key} = {json.dumps(value, ensure_ascii=False)}", setting.meaning))
        else:
            rows.append(("# ", f"{key} = {_example(setting.key, setting.kind)}", setting.meaning))
    wide = max((len(mark + text) for mark, text, _ in rows), default=0)
    return [f"{mark + text:<{wide}}  # {comment}" for mark, text, comment in rows]


_EXAMPLES = {
    "pins.positions": '["-40 mm", "-100 mm"]',
    "pins.spacing": '"40 mm"',
    "pins.diameter": '"5 mm"',
    "tang.lanyard_diameter": '"5 mm"',
    "tang.lightening_count": "2",
    "tang.lightening_diameter": '"7 mm"',
    "tang.butt_thickness": '"2 mm"',
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
    "block.weighed": '"120 g"',
    "block.weighed_size": '["130 mm", "40 mm", "30 mm"]',
}
"""What stands in the comment of a key that has no default; lengths not named here show 1 mm."""


def _example(key: str, kind: str) -> str:
    return _EXAMPLES.get(key, '"1 mm"' if kind == "length" else '"..."')
