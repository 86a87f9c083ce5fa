"""A blade's file (format 2) and a handle's, put together as one family.

The blade says its points, its ranges, which hand it is made for and where the handle begins; the handle brings its own
points; what neither says comes from `conventions.toml`. The result is a table of format 1, in which everything is
written out, so that a family made of two files and one written whole are read alike.
"""

from __future__ import annotations

import copy
from functools import cache
from pathlib import Path
from typing import Any

from blankwright.base.errors import RequestError, unknown
from blankwright.base.fields import Fields, read_toml
from blankwright.base.units import length_mm
from blankwright.design.pattern import SIZES, Pattern, check_construction, fitted, pattern_from_table

FORMAT = 2
"""A blade without its handle; format 1 is a family written whole."""

_TOP = (
    "format", "name", "title", "use", "degree", "constructions", "blade", "handle", "curve", "notch", "spine",
    "defaults", "construction",
)  # fmt: skip
_SIZE = ("default", "least", "greatest", "source")
_OWN = (*_SIZE, "name", "meaning", "measure", "follows", "constructions")
_CONSTRUCTIONS = ("full", "one-piece", "hidden")
_PATTERN = {"full": "swell", "one-piece": "swell", "hidden": "oval"}
"""Handles of a blade that names none."""


@cache
def conventions() -> dict[str, Any]:
    """Return what is the same for every blade and handle unless their files say otherwise."""
    return read_toml(Path(__file__).with_name("conventions.toml"))


def hands() -> dict[str, dict[str, Any]]:
    """Return the hands that handles are made for, by name."""
    return {row["name"]: row for row in conventions()["hand"]}


def patterns_of(blade: dict[str, Any], where: str) -> dict[str, str]:
    """Return which handle a blade has by itself, for each construction.

    Raises:
        RequestError: The table names something that is no text.
    """
    top = Fields(blade, where)
    handle = top.sub("handle") if "handle" in blade else Fields({}, where)
    own = _PATTERN | {c: handle.text("pattern", _PATTERN[c]) for c in ("full", "one-piece")}
    own["hidden"] = handle.text("block", _PATTERN["hidden"])
    return {c: own[c] for c in _constructions(blade, where)}


def _constructions(blade: dict[str, Any], where: str) -> list[str]:
    own = blade.get("constructions", list(_CONSTRUCTIONS))
    if not isinstance(own, list) or not own or not all(c in _CONSTRUCTIONS for c in own):
        raise RequestError(f"{where} constructions: expected a list of {', '.join(_CONSTRUCTIONS)}.")
    return own


def together(blade: dict[str, Any], handles: dict[str, dict[str, Any]], where: str) -> dict[str, Any]:
    """Return a family's table of format 1, everything written out.

    Args:
        blade: The blade's table.
        handles: The handle's table for each construction.
        where: The blade's file, for messages.

    Raises:
        RequestError: Something is missing, misspelt or does not go together; the message names file, table and key.
    """
    top = Fields(blade, where)
    top.only(_TOP)
    top.whole("format", FORMAT, FORMAT)
    handle = top.sub("handle")
    handle.only(("pattern", "block", "hand", "drop", "gap", *(k for keys in SIZES.values() for k in keys)))
    hand = hands().get(handle.text("hand"))
    if hand is None:
        raise unknown("hand", handle.text("hand"), hands(), handle.where)
    dimensions = _blade_dimensions(top)
    default = {d["name"]: length_mm(d["default"], f"{where} {d['key']}") for d in dimensions}
    drop = length_mm(handle.text("drop"), f"{handle.where} drop")
    out: dict[str, Any] = {"format": 1, "curve": copy.deepcopy(blade["curve"]), "construction": {}}
    out |= {key: blade[key] for key in ("name", "title", "use", "degree") if key in blade}
    out["defaults"] = _merged(conventions()["defaults"], hand["defaults"], blade.get("defaults", {}))
    sized: list[dict[str, Any]] = []
    for construction, table in handles.items():
        pattern = pattern_from_table(table, f"handle {table.get('name')}")
        check_construction(pattern, construction, f"{handle.where} pattern")
        own = _handle_dimensions(handle, hand, pattern, construction)
        mm = {d.pop("size"): length_mm(d["default"], where) for d in own}
        front_height = length_mm(hand["front"]["default"], where)
        mm["neck"] = front_height * pattern.drawn_mm.get("neck", 0.0) / _whole("front")
        front = (-default["handle_gap"], default["heel_height"] - drop - front_height / 2)
        curves, butt = fitted(pattern, mm, front)
        if construction == "one-piece" and "full" in out["construction"]:
            part: dict[str, Any] = {"same_as": "full"}
        else:
            part = {"curve": [*curves, _notch(top, construction)]}
            sized += own
        if construction == "hidden":
            part["spine"] = _shouldered(top)
        part["defaults"] = _merged(
            conventions()["construction"].get(construction, {}), hand.get(construction, {}), pattern.defaults,
            blade.get("construction", {}).get(construction, {}),
        )  # fmt: skip
        out["construction"][construction] = part
        out.setdefault("points", {"front": list(front), "butt": list(butt)})
    out["dimension"] = _in_order([*dimensions, *sized])
    return out


def _whole(key: str) -> float:
    return length_mm(hands()["whole"][key]["default"], "conventions.toml")


def _merged(*tables: dict[str, Any]) -> dict[str, Any]:
    """Return tables of tables of settings as one; a later one wins, key by key."""
    out: dict[str, Any] = {}
    for table in tables:
        for group, settings in table.items():
            out[group] = out.get(group, {}) | settings
    return out


def _blade_dimensions(top: Fields) -> list[dict[str, Any]]:
    """Return the blade's own dimensions, with the gap before the handle."""
    known = conventions()["dimension"]
    rounded = any(c.get("name") == "tip" for c in top.table.get("curve", ()) if isinstance(c, dict))
    blade, handle = top.sub("blade"), top.sub("handle")
    rows = [("blade", key, blade.sub(key)) for key in blade.table] + [("handle", "gap", handle.sub("gap"))]
    out = []
    for group, key, row in rows:
        row.only(_OWN)
        usual = dict(known[group].get(key, {}))
        round_measure = usual.pop("round", None)
        if rounded and round_measure:
            usual["measure"] = round_measure
        for needed in ("meaning", "measure"):
            if needed not in usual and needed not in row.table:
                raise unknown("dimension", key, known[group], row.where)
        usual["name"] = "handle_gap" if group == "handle" else f"blade_{key}" if key == "length" else key
        out.append({"key": f"{group}.{key}", **usual, **row.table})
    return out


_KEYS = {
    "length": ("handle.length", "handle_length", "handle"),
    "front": ("tang.front", "tang_front", "tang"),
    "middle": ("tang.middle", "tang_middle", "tang"),
    "butt": ("tang.butt", "tang_butt", "tang"),
    "tang_length": ("tang.length", "tang_length", "stick"),
    "tang_front": ("tang.front", "tang_front", "stick"),
}
"""Key in the design file, name, and table of conventions.toml, by the name of a size."""


def _handle_dimensions(
    handle: Fields, hand: dict[str, Any], pattern: Pattern, construction: str
) -> list[dict[str, Any]]:
    """Return the dimensions of a handle: those of the hand, as much higher as the pattern is drawn."""
    known, out = conventions()["dimension"], []
    for size in SIZES[construction]:
        if size == "neck":
            continue
        key, name, table = _KEYS[size]
        row = dict(hand[size])
        share = pattern.drawn_mm[size] / _whole(size)
        if share != 1:
            row["default"] = f"{length_mm(row['default'], size) * share:.1f} mm"
        if size in handle.table:
            own = handle.sub(size)
            own.only(_SIZE)
            row |= own.table
        both = ["full", "one-piece"] if construction != "hidden" else ["hidden"]
        scope = {} if size == "length" else {"constructions": both}
        out.append({"size": size, "key": key, "name": name, **known[table][key.split(".")[1]], **scope, **row})
    return out


def _in_order(dimensions: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Return dimensions without doubles: the length of the handle is one for all constructions."""
    out: list[dict[str, Any]] = []
    for d in dimensions:
        if all((d["name"], d.get("constructions")) != (o["name"], o.get("constructions")) for o in out):
            out.append(d)
    return out


def _notch(top: Fields, construction: str) -> dict[str, Any]:
    notch = top.sub("notch")
    points = notch.table.get("hidden" if construction == "hidden" else "full")
    return {
        "name": "notch",
        "region": "heel",
        "frame": "notch",
        "joint": notch.text("joint", "sharp"),
        "points": points,
    }


def _shouldered(top: Fields) -> dict[str, Any]:
    """Return the spine of a blade on a hidden tang: it ends at the shoulder, where the handle begins."""
    spine = next(c for c in top.table["curve"] if c.get("name") == "spine")
    return {**spine, "joint": "sharp", "points": top.sub("spine").table["hidden"]}
