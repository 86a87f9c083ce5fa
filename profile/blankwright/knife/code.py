"""A design laid out like its file, and the short code that ties its papers together."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from blankwright.base.reading import MAX_BYTES, read_text
from blankwright.design.keys import SETTING_UNITS, SETTINGS
from blankwright.design.request import OVERALL_KEY, PATTERN_KEY, Design

_LETTERS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"  # no I, L, O, U


def design_code(design: Design) -> str:
    """Return a short code that ties print, cutting file and report together: the same inputs give the same code.

    Eight letters and digits without those that are mistaken for each other (40 bits of a SHA-256 of the inputs).
    """
    inputs = design_table(design) | {"family": design.family.name}  # a family moved to another folder is the same
    for key in design.family.beside:  # what stands in a file beside it is in its source
        del inputs[key]
    for setting in SETTINGS:
        value = design.settings.get(setting.key)
        if setting.kind == "name" and isinstance(value, str) and value.endswith(".toml"):
            table, key = setting.key.split(".")
            inputs[table] = inputs[table] | {key: read_text(Path(value), MAX_BYTES, "a table file")}
    return _code(json.dumps([inputs, design.family.source], sort_keys=True, ensure_ascii=False))


def common_code(codes: Sequence[str]) -> str:
    """Return one code for several designs in one file: their own for one, else one like theirs made from all."""
    return codes[0] if len(codes) == 1 else _code(" ".join(codes))


def _code(text: str) -> str:
    number = int.from_bytes(hashlib.sha256(text.encode()).digest()[:5], "big")
    letters = "".join(_LETTERS[(number >> (5 * i)) & 31] for i in range(8))
    return f"{letters[:4]}-{letters[4:]}"


def design_table(design: Design) -> dict[str, Any]:
    """Return a design laid out like a design file, defaults filled in; it can be read back."""
    out: dict[str, Any] = {"name": design.name, "family": design.family.path_or_name, **design.family.beside}
    out["blade"], out["handle"] = {}, {"construction": design.construction}
    if design.pattern is not None:
        out["handle"][PATTERN_KEY.split(".")[1]] = design.pattern
    for d in design.family.offered(design.construction):
        if d.name in design.dimensions_mm:
            table, key = d.key.split(".")
            out.setdefault(table, {})[key] = in_mm(design.dimensions_mm[d.name])
    if design.overall_mm is not None:
        out["blade"][OVERALL_KEY.split(".")[1]] = in_mm(design.overall_mm)
    for setting in SETTINGS:
        value = design.settings.get(setting.key)
        if value is None:
            continue
        table, key = setting.key.split(".")
        if isinstance(value, tuple):
            shown: Any = [in_mm(v) for v in value]
        elif setting.kind in ("length", "height") and isinstance(value, (int, float)):
            shown = in_mm(value)
        elif setting.kind in SETTING_UNITS:
            shown = f"{value:.12g} {SETTING_UNITS[setting.kind]}"
        else:
            shown = value
        out.setdefault(table, {})[key] = shown
    return out


def in_mm(value: float) -> str:
    """Return a length as a design file has it."""
    return f"{value:.12g} mm"
