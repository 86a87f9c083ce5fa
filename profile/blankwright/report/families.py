"""The list of families with the range of each dimension, for a reader and as JSON."""

from __future__ import annotations

import json
from collections.abc import Sequence

from blankwright.base.units import show_mm
from blankwright.design.parts import Family
from blankwright.design.pattern import handle_names


def families_text(families: Sequence[Family], units: str) -> str:
    """Return the families as aligned text."""
    blocks = []
    for family in families:
        lines = [
            f"{family.name}: {family.title}, {family.use}",
            f"  handle.construction: {', '.join(family.curves)}",
            *_handles(family),
        ]
        seen = set()
        for d in family.dimensions:
            only = "" if set(d.constructions) == set(family.curves) else f" ({', '.join(d.constructions)})"
            if (d.key, only) in seen:
                continue
            seen.add((d.key, only))
            span = f"{show_mm(d.least_mm, units, 1)} to {show_mm(d.greatest_mm, units, 1)}"
            lines.append(f"  {d.key:<18} {show_mm(d.default_mm, units, 1):>9}   {span:<22}   {d.meaning}{only}")
        blocks.append("\n".join(lines))
    return "\n\n".join(blocks)


def _handles(family: Family) -> list[str]:
    """Return a line that says which handle a family has by itself; none where its own file draws it."""
    own = [f"{name} ({construction})" for construction, name in family.patterns.items() if construction != "one-piece"]
    return [f"  handle.pattern: {', '.join(own)}; any of {', '.join(handle_names())} fits"] if own else []


def judged_text(family: Family, faults: Sequence[str], bends: Sequence[str]) -> str:
    """Return the verdict on a family as text: that it holds and how its lines bend, or everything that is wrong."""
    if not faults:
        holds = (
            f"{family.name}: holds. Drawn as {', '.join(family.curves)}, the points measure the defaults, and every "
            "dimension measures the same on the arcs from its least to its greatest."
        )
        return "\n".join([holds, *(f"  {line}" for line in bends)])
    return "\n".join([f"{family.name}: does not hold, {len(faults)} wrong", *(f"  x {fault}" for fault in faults)])


def judged_json(family: Family, faults: Sequence[str], bends: Sequence[str]) -> str:
    """Return the verdict on a family as JSON text."""
    table = {"family": family.name, "holds": not faults, "faults": list(faults), "bends": list(bends)}
    return json.dumps(table, indent=1, ensure_ascii=False)


def families_json(families: Sequence[Family]) -> str:
    """Return the families as JSON text."""
    table = [
        {
            "name": f.name,
            "title": f.title,
            "use": f.use,
            "constructions": list(f.curves),
            "handles": dict(f.patterns),
            "dimensions": [
                {
                    "key": d.key,
                    "name": d.name,
                    "default_mm": d.default_mm,
                    "least_mm": d.least_mm,
                    "greatest_mm": d.greatest_mm,
                    "meaning": d.meaning,
                    "source": d.source,
                    "constructions": list(d.constructions),
                }
                for d in f.dimensions
            ],
        }
        for f in families
    ]
    return json.dumps({"families": table}, indent=1, ensure_ascii=False)
