"""A blade's file (format 2) and a handle's, put together as one family.

The blade says its points, its ranges, which hand it is made for and where the handle begins; the handle brings its own
points; what neither says comes from `conventions.toml`. The result is a table of format 1, in which everything is
written out, so that a family made of two files and one written whole are read alike.
"""

from __future__ import annotations

import math
from functools import cache
from pathlib import Path
from typing import Any

from blankwright.base.errors import RequestError, unknown
from blankwright.base.fields import Fields, read_toml
from blankwright.base.units import length_mm
from blankwright.design.lines import DrawnBlade, lines_of
from blankwright.design.parts import LEAST_STEP_MM
from blankwright.design.pattern import SIZES, Pattern, check_construction, fitted, pattern_from_table

FORMAT = 2
"""A blade without its handle; format 1 is a family written whole."""

_TOP = (
    "format", "name", "title", "use", "constructions", "edge", "nose", "nose_corner", "spine", "blade", "heel",
    "handle", "defaults", "construction",
)  # fmt: skip
_HANDLE = ("pattern", "block", "hand", "drop", "gap", *dict.fromkeys(k for keys in SIZES.values() for k in keys))
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
    handle = _handle(top)
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
    handle = _handle(top)
    handle.only(_HANDLE)
    lines = lines_of(top)
    hand = _hand(handle, lines.spine[-1][1])
    gap = length_mm(_gap(handle).text("default"), f"{handle.where} gap default")
    up = lines.spine[-1][1] - length_mm(handle.text("drop", "0.3 mm"), f"{handle.where} drop")
    high = length_mm(hand["front"]["default"], where)
    front = (-gap, up - high / 2)
    out: dict[str, Any] = {"format": 1, "construction": {}, "step": {}, "top": up}
    name = top.text("name")
    out |= {"name": name, "title": top.text("title", name.capitalize()), "use": top.text("use", "a blade of one's own")}
    out["defaults"] = _merged(conventions()["defaults"], hand["defaults"], blade.get("defaults", {}))
    sized: list[dict[str, Any]] = []
    drawn: DrawnBlade | None = None
    for construction in sorted(handles, key=_CONSTRUCTIONS.index):  # what is drawn does not depend on what is asked
        table = handles[construction]
        pattern = pattern_from_table(table, f"handle {table.get('name')}")
        check_construction(pattern, construction, f"{handle.where} pattern")
        own = _handle_dimensions(handle, hand, pattern, construction)
        mm = {d.pop("size"): length_mm(d["default"], where) for d in own}
        mm["neck"] = high * pattern.drawn_mm.get("neck", 0.0) / _whole("front")
        curves, butt = fitted(pattern, mm, front)
        hidden = construction == "hidden"
        joined = lines.joined([] if hidden else curves[0]["points"], (-gap, up) if hidden else None)
        if drawn is None:
            drawn, out["curve"] = joined, joined.curves
        neck = curves[-1]["points"][-1][1]
        out["step"][construction] = neck
        for d in own:
            if d["name"] == "tang_front" and not hidden:  # no higher than the blade allows as drawn
                most = math.floor(10 * (mm["front"] + neck - LEAST_STEP_MM)) / 10
                d["greatest"] = f"{min(length_mm(d['greatest'], where), most):g} mm"
        if construction == "one-piece" and "full" in out["construction"]:
            part: dict[str, Any] = {"same_as": "full"}
        else:
            part = {"blade": joined.curves} if joined is not drawn else {}
            part["curve"] = [*curves, *lines.heel(gap, neck, hidden)]
            sized += own
        part["defaults"] = _merged(
            conventions()["construction"].get(construction, {}), _of_hand(hand, pattern, construction),
            pattern.defaults, blade.get("construction", {}).get(construction, {}),
        )  # fmt: skip
        out["construction"][construction] = part
        out.setdefault("points", {"front": list(front), "butt": list(butt)})
    assert drawn is not None
    out["construction"] = {c: out["construction"][c] for c in handles}
    out["dimension"] = _in_order([*_blade_dimensions(top, drawn.measures, min(out["step"].values())), *sized])
    return out


def _handle(top: Fields) -> Fields:
    return top.sub("handle") if "handle" in top.table else Fields({}, f"{top.where} [handle]")


def _gap(handle: Fields) -> Fields:
    if "gap" not in handle.table:
        return Fields(conventions()["gap"], "conventions.toml [gap]")
    return Fields(conventions()["gap"] | dict(handle.sub("gap").table), f"{handle.where} [gap]")


def _hand(handle: Fields, heel_mm: float) -> dict[str, Any]:
    """Return the hand that a blade names, or the one that suits a blade of its height."""
    if "hand" in handle.table:
        hand = hands().get(handle.text("hand"))
        if hand is None:
            raise unknown("hand", handle.text("hand"), hands(), handle.where)
        return hand
    return hand_for(heel_mm)


def hand_for(heel_mm: float) -> dict[str, Any]:
    """Return the hand that suits a blade by its height at the heel [mm]."""
    suiting = [h for h in conventions()["hand"] if "heel_from" in h]
    return next(h for h in suiting if heel_mm >= length_mm(h["heel_from"], "conventions.toml heel_from"))


def usual_settings(hand: dict[str, Any], pattern: Pattern, construction: str) -> dict[str, Any]:
    """Return the settings, with their sources, of a knife that says nothing of its own but hand and handle."""
    return _merged(
        conventions()["defaults"], hand["defaults"], conventions()["construction"].get(construction, {}),
        _of_hand(hand, pattern, construction), pattern.defaults,
    )  # fmt: skip


def _whole(key: str) -> float:
    return length_mm(hands()["whole"][key]["default"], "conventions.toml")


def _of_hand(hand: dict[str, Any], pattern: Pattern, construction: str) -> dict[str, Any]:
    """Return the settings of a hand for a construction; a block that the pattern draws is made to the hand."""
    own: dict[str, Any] = hand.get(construction, {})
    if not pattern.block_mm:
        return own
    share = length_mm(hand["front"]["default"], "front") / _whole("front")
    sizes = {
        key: {**own["block"][key], "value": f"{round(2 * mm * share) / 2:g} mm", "source": "the pattern, for this hand"}
        for key, mm in pattern.block_mm.items()
    }
    return _merged(own, {"block": sizes})


def _merged(*tables: dict[str, Any]) -> dict[str, Any]:
    """Return tables of tables of settings as one; a later one wins, key by key."""
    out: dict[str, Any] = {}
    for table in tables:
        for group, settings in table.items():
            out[group] = out.get(group, {}) | settings
    return out


def _blade_dimensions(top: Fields, measures: dict[str, float], step_mm: float) -> list[dict[str, Any]]:
    """Return the blade's own dimensions, with the gap before the handle; what is drawn is the default."""
    known = conventions()["dimension"]
    blade = top.sub("blade") if "blade" in top.table else Fields({}, f"{top.where} [blade]")
    keys = dict.fromkeys(
        k for k in known["blade"] if k in blade.table or (k in measures and k not in _IF_NAMED)
    ) | dict.fromkeys(blade.table)
    rows = [("blade", key, blade.sub(key) if key in blade.table else Fields({}, blade.where)) for key in keys]
    if "radius" not in top.table.get("heel", {}) and "choil_radius" not in blade.table:
        rows.append(("blade", "choil_radius", Fields(_usual_choil(step_mm), blade.where)))
    rows.append(("handle", "gap", _gap(_handle(top))))
    out = []
    for group, key, row in rows:
        row.only(_OWN)
        usual = dict(known[group].get(key, {}))
        shares, rounded, _ = (usual.pop(word, None) for word in ("shares", "round", "usual"))
        if "nose" in top.table and "nose_corner" not in top.table and rounded:
            usual["measure"] = rounded
        for needed in ("meaning", "measure"):
            if needed not in usual and needed not in row.table:
                raise unknown("dimension", key, known[group], row.where)
        usual["name"] = "handle_gap" if group == "handle" else f"blade_{key}" if key == "length" else key
        if key in measures:
            if "default" in row.table:
                raise RequestError(f"{row.where} default: leave it out; the points measure {measures[key]:g} mm.")
            usual |= {"default": f"{measures[key]:g} mm", "source": "our drawing"}
            ends = zip(("least", "greatest"), shares or (), strict=bool(shares))
            usual |= {end: f"{measures[key] * s:.3g} mm" for end, s in ends}
        out.append({"key": f"{group}.{key}", **usual, **row.table})
    return out


def _usual_choil(step_mm: float) -> dict[str, Any]:
    """Return the inner corner of a blade that says nothing of it: as round as there is room for, up to the usual."""
    usual: dict[str, Any] = conventions()["dimension"]["blade"]["choil_radius"]["usual"]
    most = min(length_mm(usual["default"], "usual"), math.floor(10 * _CHOIL_SHARE * step_mm) / 10)
    return usual | {"default": f"{most:g} mm", "greatest": f"{most:g} mm"}


_CHOIL_SHARE = 0.6
_IF_NAMED = ("heel_lean",)
"""What points measure and yet only a blade offers that names it."""

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
            own_mm = round(length_mm(row["default"], size) * share, 1)
            row["default"] = f"{own_mm:g} mm"
            row["least"] = f"{min(length_mm(row['least'], size), math.floor(0.8 * own_mm)):g} mm"
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
