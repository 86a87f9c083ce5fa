"""What can be set on the page: every key of the design, in groups, with kind, range and words."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from blankwright.base.units import MM_PER_INCH
from blankwright.design.keys import BY_KEY, SETTING_UNITS, SETTINGS, Setting, read_value
from blankwright.design.parts import Dimension
from blankwright.design.pattern import handle_names
from blankwright.design.request import OVERALL_KEY, PATTERN_KEY, Design
from blankwright.knife.knife import Knife
from blankwright.page.grips import words_of
from blankwright.page.typed import shown

GROUPS = {
    "blade": "Blade",
    "handle": "Handle",
    "tang": "Tang",
    "pins": "Pins",
    "material": "Stock",
    "grind": "Grind",
    "scales": "Scales",
    "block": "Handle block",
    "start": "Start",
    "cutting": "Cutting",
    "allowance": "Allowance",
    "mark": "Mark",
    "parts": "Parts beside the blade",
}
"""Tables of a design file, and what their group is called; in this order."""

_ONLY = {"full": ("block",), "hidden": ("scales",), "one-piece": ("scales", "block", "pins")}
"""Groups that a construction has no use for."""

CHOSEN = ("material.grade", "pins.material", "scales.material", "block.material", "cutting.process")
"""Names that are chosen from a table of the trade."""


def form(design: Design, units: str) -> dict[str, Any]:
    """Return what can be set in a design, as the page's message.

    Args:
        design: The design.
        units: mm or in.
    """
    groups: dict[str, list[dict[str, Any]]] = {name: [] for name in GROUPS}
    groups["handle"] += [_construction(design), *_pattern(design)]
    for key, field in _fields(design, units):
        groups[key.split(".")[0]].append(field)
    unused = _ONLY.get(design.construction, ())
    return {
        "say": "form",
        "family": design.family.name,
        "title": design.family.title,
        "construction": design.construction,
        "units": units,
        "groups": [
            {"name": name, "words": GROUPS[name], "fields": fields}
            for name, fields in groups.items()
            if fields and name not in unused
        ],
    }


def _construction(design: Design) -> dict[str, Any]:
    return {
        "key": "handle.construction", "words": "construction", "meaning": "how blade and handle are held together",
        "kind": "choice", "choices": list(design.family.curves), "least": None, "greatest": None, "unit": "",
    }  # fmt: skip


def _pattern(design: Design) -> list[dict[str, Any]]:
    """Return the choice among handles; none for a family that draws its own."""
    if design.pattern is None:
        return []
    known = handle_names(design.construction)
    own = [] if design.pattern in known else [design.pattern]
    return [{
        "key": PATTERN_KEY, "words": "handle pattern", "meaning": "which handle the blade has", "kind": "choice",
        "choices": [*own, *known], "least": None, "greatest": None, "unit": "",
    }]  # fmt: skip


def _fields(design: Design, units: str) -> Iterator[tuple[str, dict[str, Any]]]:
    for d in design.family.offered(design.construction):
        yield d.key, _dimension(d, units)
    whole = {"meaning": "butt to tip; blade or handle gives way to it", "kind": "length", "choices": []}
    ends = _ends(100.0, 600.0, units)
    yield OVERALL_KEY, {"key": OVERALL_KEY, "words": "overall length", **whole, **ends, "source": ""}
    for setting in SETTINGS:
        yield setting.key, _setting(design, setting, units)


def _dimension(d: Dimension, units: str) -> dict[str, Any]:
    return {
        "key": d.key, "words": words_of(d.key), "meaning": d.meaning, "kind": "length", "choices": [],
        **_ends(d.least_mm, d.greatest_mm, units), "source": d.source,
    }  # fmt: skip


def _ends(least_mm: float, greatest_mm: float, units: str) -> dict[str, Any]:
    """Return a range of lengths in the reader's units, as numbers for a slider and as text."""
    factor = MM_PER_INCH if units == "in" else 1.0
    return {
        "least": round(least_mm / factor, 4), "greatest": round(greatest_mm / factor, 4), "unit": units,
        "span": f"{shown('blade.length', least_mm, units)} to {shown('blade.length', greatest_mm, units)}",
    }  # fmt: skip


def _setting(design: Design, setting: Setting, units: str) -> dict[str, Any]:
    table, word = setting.key.split(".")
    field: dict[str, Any] = {
        "key": setting.key, "words": word.replace("_", " "), "meaning": setting.meaning, "kind": setting.kind,
        "choices": list(setting.choices), "table": setting.key in CHOSEN, "group": table,
        "source": design.family.defaults[design.construction][setting.key].source
        if setting.key in design.family.defaults[design.construction]
        else "",
    }  # fmt: skip
    if setting.kind in ("length", "height", "lengths"):
        return field | _ends(*_range(design, setting), units)
    if setting.kind in ("angle", "mass", "share", "hardness", "count"):
        least, greatest = _range(design, setting)
        unit = SETTING_UNITS.get(setting.kind, "")
        span = f"{least:g} {unit}".strip() + f" to {greatest:g} {unit}".rstrip()
        return field | {"least": least, "greatest": greatest, "unit": unit, "span": span}
    return field | {"least": None, "greatest": None, "unit": "", "span": ""}


def _range(design: Design, setting: Setting) -> tuple[float, float]:
    """Return what makes a sensible knife of the family, where it says so; else what can be read at all."""
    default = design.family.defaults[design.construction].get(setting.key)
    ends = [setting.least, setting.greatest]
    for i, text in enumerate((default.least, default.greatest) if default else ()):
        read = read_value(setting, text, setting.key) if text is not None else None
        ends[i] = float(read) if isinstance(read, (int, float)) else ends[i]
    return ends[0], ends[1]


def values(knife: Knife, table: dict[str, Any], units: str) -> dict[str, dict[str, Any]]:
    """Return the value of every key that has one: what it is, how it is shown, who gave it.

    Args:
        knife: The knife.
        table: The design as a table, for how a value was written.
        units: mm or in.
    """
    design = knife.asked
    found: dict[str, dict[str, Any]] = {
        "name": _value("name", design.name, units, design.name, "asked"),
        "handle.construction": _value(
            "handle.construction", design.construction, units, None, _who(table, "handle.construction")
        ),
    }
    if design.pattern is not None:
        found[PATTERN_KEY] = _value(PATTERN_KEY, design.pattern, units, None, _who(table, PATTERN_KEY))
    for s in knife.shape.solved:
        key = s.dimension.key
        raw = _raw(table, key)
        found[key] = _value(key, s.value_mm, units, raw, "asked" if s.asked_mm is not None else "follows")
    raw = _raw(table, OVERALL_KEY)
    who = "asked" if design.overall_mm is not None else "computed"
    found[OVERALL_KEY] = _value(OVERALL_KEY, knife.shape.overall_length_mm, units, raw, who)
    for key, value in design.settings.items():
        found[key] = _value(key, value, units, _raw(table, key), design.sources.get(key, ""))
    return found


def _value(key: str, value: object, units: str, raw: object, source: str) -> dict[str, Any]:
    plain = list(value) if isinstance(value, tuple) else value
    factor = MM_PER_INCH if units == "in" and _is_length(key) else 1.0
    slide = round(value / factor, 6) if isinstance(value, float) else plain
    return {"value": slide, "shown": shown(key, plain, units, raw), "asked": source == "asked", "from": source}


def _is_length(key: str) -> bool:
    return key not in BY_KEY or BY_KEY[key].kind in ("length", "height")


def _raw(table: dict[str, Any], key: str) -> object:
    group, _, word = key.rpartition(".")
    inside = table.get(group)
    return inside.get(word) if isinstance(inside, dict) else None


def _who(table: dict[str, Any], key: str) -> str:
    return "asked" if _raw(table, key) is not None else "family"
