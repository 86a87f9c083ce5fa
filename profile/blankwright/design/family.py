"""Reading a blade family: a text file of control points, the joints between them and the dimensions it offers.

The words used in the file are explained in parts.py.
"""

from __future__ import annotations

import copyreg
import json
from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path
from typing import Any

from blankwright.base.doors import a_path, a_table
from blankwright.base.errors import RequestError, told, unknown
from blankwright.base.fields import Fields, as_point, read_toml
from blankwright.base.library import families_dir
from blankwright.base.reading import is_plain_file, why_no_file
from blankwright.base.units import length_mm, show_mm
from blankwright.design import blade
from blankwright.design.parts import (
    CONSTRUCTIONS,
    FRAMES,
    MEASURES,
    NAMED_POINTS,
    NEEDED_DIMENSIONS,
    OUTLINE_KEY,
    REGIONS,
    SHAPE,
    Curve,
    Default,
    Dimension,
    Family,
    Measure,
    Station,
)
from blankwright.design.pattern import handle_name, load_handle_table, pattern_from_table


def family_names() -> list[str]:
    """Return the names of the shipped families.

    >>> len(family_names()), family_names()[:3]
    (15, ['boning', 'bread', 'chef'])
    """
    folder = families_dir()
    return list(_names(folder, folder.stat().st_mtime_ns))


@lru_cache(maxsize=4)
def _names(folder: Path, _changed: int) -> tuple[str, ...]:
    return tuple(sorted(path.stem for path in folder.glob("*.toml")))


def load_family(name_or_path: str | Path, beside: Path | None = None, handle: str | None = None) -> Family:
    """Load a shipped family by name, or a family file by path.

    Args:
        name_or_path: "chef", or a path that ends in .toml.
        beside: Folder that a relative path is looked for in first, such as the design file's own.
        handle: Name or file of the handle instead of the family's own; None for that.

    Raises:
        RequestError: Unknown name, missing file, a file that is not a family, or one whose handle cannot be changed.
    """
    a_path(name_or_path, "a family's name or file")
    name_or_path = str(name_or_path)
    if not name_or_path.endswith(".toml"):
        if name_or_path not in family_names():
            raise unknown("family", name_or_path, family_names())
        path = families_dir() / f"{name_or_path}.toml"
    else:
        path = Path(name_or_path)
        if beside is not None and not path.is_absolute() and is_plain_file(beside / path):
            path = beside / path
        if not is_plain_file(path):
            why = why_no_file(path, "family file")
            raise RequestError(f"{str(path)[:200]}: {why}. Shipped families: {', '.join(family_names())}.")
    family = _load(str(path), path.stat().st_mtime_ns)
    return family if handle is None else with_handle(family, handle, beside)


@lru_cache(maxsize=64)
def _load(path: str, _changed: int) -> Family:
    return family_from_table(read_toml(Path(path)), path)


def with_handle(family: Family, handle: str, beside: Path | None = None) -> Family:
    """Return a family with another handle.

    Args:
        family: The family.
        handle: A shipped handle's name, or a handle file ending in .toml.
        beside: Folder that a relative path is looked for in first.

    Raises:
        RequestError: No such handle, or the family is written whole and has the handle that is drawn in it.
    """
    if "handles" not in json.loads(family.source):
        raise RequestError(
            f"handle.pattern: the family {family.name} is written whole (format = 1) and has the handle that is "
            f"drawn in {Path(family.path).name}. Leave pattern out, or write the blade alone (format = {blade.FORMAT})."
        )
    table, name = load_handle_table(handle, "handle.pattern", beside), handle_name(handle, "handle.pattern", beside)
    return _with_table(family, json.dumps(table), name, Path(handle).name)


@lru_cache(maxsize=16)
def _with_table(family: Family, table_text: str, name: str, file: str) -> Family:
    """Return a family with another handle, by its table: who moves a point asks for the same one at every step."""
    source, table = json.loads(family.source), json.loads(table_text)
    pattern = pattern_from_table(table, file)
    fitting = [c for c in pattern.constructions if c in source["handles"]]
    if not fitting:
        raise RequestError(
            f"handle.pattern: {pattern.name} is for {', '.join(pattern.constructions)}; the family {family.name} "
            f"offers {', '.join(source['handles'])}."
        )
    # the construction that is meant by asking for this handle comes first
    handles = dict.fromkeys(fitting, table) | {c: t for c, t in source["handles"].items() if c not in fitting}
    return _joined(source["blade"], handles, source["names"] | dict.fromkeys(fitting, name), family.path)


def _joined(own: dict[str, Any], handles: dict[str, dict[str, Any]], names: dict[str, str], path: str) -> Family:
    """Build a family from a blade, and the handle of each construction with its name or file."""
    source = json.dumps({"blade": own, "handles": handles, "names": names}, default=str)
    table = blade.together(own, handles, Path(path).name)
    return _whole(table, path, source, names, table.pop("step"), table.pop("top"))


def is_family(table: Mapping[str, Any]) -> bool:
    """Whether a table is a family's file: a design names its family, and a lifted outline has a key of its own."""
    apart = "family" in table or OUTLINE_KEY in table
    points = isinstance(table.get("edge"), list)  # a design's [edge] is a table
    return not apart and (points or any(key in table for key in ("format", "curve", "construction")))


def family_from_table(table: dict[str, Any], path: str) -> Family:
    """Build a family from a parsed table; scripts that make a family in Python use this too.

    Args:
        table: The table, laid out like the shipped family files (format 2), or with its handle (format 1).
        path: Name for messages and the report.

    Raises:
        RequestError: Something is missing, misspelt or out of range; the message names table and key.
    """
    table, path = a_table(table, "a family's table"), str(a_path(path, "a family's name for messages"))
    if isinstance(table.get("outline"), list):
        raise RequestError(
            f"{path}: this is the outline of a blank, no family. Make a design of it: "
            f"blankwright new {Path(path).name} my_blank.toml"
        )
    if table.get("format") != blade.FORMAT:
        return _whole(table, path, json.dumps(table, default=str))
    where, beside = f"{Path(path).name} [handle]", Path(path).parent
    own = blade.patterns_of(table, Path(path).name)
    handles = {c: load_handle_table(name, where, beside) for c, name in own.items()}
    return _joined(table, handles, {c: handle_name(name, where, beside) for c, name in own.items()}, path)


def _whole(
    table: dict[str, Any], path: str, text: str, patterns: dict[str, str] | None = None,
    step_mm: dict[str, float] | None = None, top_mm: float = 0.0,
) -> Family:  # fmt: skip
    """Build a family from a table in which everything is written out (format 1)."""
    top = Fields(table, Path(path).name)
    top.only(
        (
            "format",
            "name",
            "title",
            "use",
            "degree",
            "points",
            "defaults",
            "dimension",
            "curve",
            "construction",
        )
    )
    top.whole("format", 1, 1)
    points = top.sub("points")
    points.only(("front", "butt"))
    radii = [str(row.table.get("name")) for row in top.rows("dimension")]
    shared = [_curve(row, radii) for row in top.rows("curve")]
    constructions = top.sub("construction")
    constructions.only(CONSTRUCTIONS)
    if not constructions.table:
        raise RequestError(f"{constructions.where}: name at least one of {', '.join(CONSTRUCTIONS)}.")
    base = defaults_of(top.sub("defaults"))
    curves, defaults = {}, {}
    for name in constructions.table:
        part = constructions.sub(name)
        part.only(("same_as", "curve", "defaults", "spine", "blade"))
        source = constructions.sub(part.text("same_as")) if "same_as" in part.table else part
        own = [_curve(row, radii) for row in source.rows("blade")] if "blade" in source.table else shared
        loop = [*_with_own_spine(own, source, radii), *(_curve(row, radii) for row in source.rows("curve"))]
        _check_loop(loop, source.where)
        curves[name] = tuple(loop)
        defaults[name] = base | (defaults_of(part.sub("defaults")) if "defaults" in part.table else {})
    dimensions = tuple(_dimension(row, tuple(curves)) for row in top.rows("dimension"))
    _check_dimensions(dimensions, curves, top.where)
    front, butt = points.point("front"), points.point("butt")
    if not butt[0] + 20 <= front[0] <= 0:
        raise RequestError(
            f"{points.where}: 'butt' must lie at least 20 mm behind 'front', and 'front' behind the heel."
        )
    return Family(
        name=top.text("name"), title=top.text("title"), use=top.text("use"), degree=top.whole("degree", 3, 5, 3),
        front_mm=front, butt_mm=butt, dimensions=dimensions, curves=curves, defaults=defaults, path=path,
        source=text, patterns=patterns or {}, step_mm=step_mm, top_mm=top_mm,
    )  # fmt: skip


@lru_cache(maxsize=32)
def from_json(source: str, path: str) -> Family:
    """Build a family from its table as JSON text, once per process."""
    table = json.loads(source)
    if "handles" not in table:
        return family_from_table(table, path)
    return _joined(table["blade"], table["handles"], table["names"], path)


def _as_text(family: Family) -> tuple[Any, ...]:
    """Send a family as text, so that a worker process builds it once however many designs name it."""
    return from_json, (family.source, family.path)


copyreg.pickle(Family, _as_text)


def _with_own_spine(shared: list[Curve], construction: Fields, radii: list[str]) -> list[Curve]:
    """Return the blade's curves; a construction may end the spine in its own way (a shoulder)."""
    if "spine" not in construction.table:
        return shared
    own = _curve(construction.sub("spine"), radii)
    if all(c.name != own.name for c in shared):
        raise unknown("curve", own.name, [c.name for c in shared], construction.where)
    return [own if c.name == own.name else c for c in shared]


def _curve(row: Fields, dimensions: list[str]) -> Curve:
    row.only(("name", "region", "frame", "points", "joint"))
    raw = row.table.get("points")
    if not isinstance(raw, list) or not 1 <= len(raw) <= 200:
        raise RequestError(f"{row.where}: 'points' must be a list of 1 to 200 points, each [x, y] in mm.")
    joint = row.table.get("joint")
    if isinstance(joint, str) and joint in ("sharp", "smooth"):
        how: str | float = joint
    elif isinstance(joint, str) and joint[:1].isdigit():
        how = length_mm(joint, f"{row.where} joint")
        if not 0.05 <= how <= 100:
            raise RequestError(f"{row.where} joint: a radius must be 0.05 mm to 100 mm, got {joint}.")
    else:
        how = _joint_dimension(joint, row.where, dimensions)
    return Curve(
        name=row.text("name"),
        region=row.choice("region", REGIONS),
        frame=row.choice("frame", FRAMES),
        points=tuple(as_point(p, f"{row.where} point {i + 1}") for i, p in enumerate(raw)),
        joint=how,
    )


def _joint_dimension(joint: object, where: str, dimensions: list[str]) -> str:
    """Return the name of the dimension that is the radius of a joint."""
    if isinstance(joint, str) and joint in dimensions and joint.endswith("_radius"):
        return joint
    raise RequestError(f'{where} joint: expected "sharp", "smooth" or a radius such as "2 mm", got {told(joint)}.')


def _check_loop(loop: list[Curve], where: str) -> None:
    names = [c.name for c in loop]
    for name in names:
        if names.count(name) > 1:
            raise RequestError(f"{where}: two curves are called '{name}'; give each its own name.")
    if loop[0].points[0] != (0.0, 0.0):
        raise RequestError(f"{where}: the first curve must start at the heel corner [0, 0].")
    end = loop[-1].points[-1]
    if loop[-1].joint == "smooth" or loop[-1].points[-1] != (0.0, 0.0):
        raise RequestError(
            f"{where}: the outline is not closed. The last curve, '{loop[-1].name}', must end at the heel "
            f"corner [0, 0] with a sharp or rounded joint; it ends at [{end[0]:g}, {end[1]:g}]."
        )


def _station(value: object, where: str) -> Station:
    if isinstance(value, str) and value in NAMED_POINTS:
        return Station(value, value, 0.0, None)
    if not isinstance(value, dict):
        raise RequestError(
            f"{where}: expected a named point ({', '.join(NAMED_POINTS)}) or a table from/toward/share or mm."
        )
    part = Fields(value, where)
    part.only(("from", "toward", "share", "mm"))
    share, mm = value.get("share"), value.get("mm")
    if (share is None) == (mm is None) or not isinstance(share if mm is None else mm, (int, float)):
        raise RequestError(f"{where}: give either 'share' (0 to 1) or 'mm', as a number.")
    return Station(
        part.choice("from", NAMED_POINTS), part.choice("toward", NAMED_POINTS),
        None if share is None else float(share), None if mm is None else float(mm),
    )  # fmt: skip


def _measure(part: Fields) -> Measure:
    part.only(("kind", "curve", "other", "at", "to"))
    kind = part.choice("kind", MEASURES)
    needs = {
        "height": ("curve", "at"), "drop": ("curve", "at", "to"), "thickness": ("curve", "other", "at"),
        "flat": ("curve",), "foremost": ("curve",), "foremost-height": ("curve",), "rearmost": ("curve",),
        "ahead": ("curve",), "above": ("curve",), "behind": ("curve",), "apart": ("curve", "other"), "lean": ("curve",),
        "corner": ("curve",), "given": (),
    }[kind]  # fmt: skip
    return Measure(
        kind,
        curve=part.text("curve") if "curve" in needs else None,
        other=part.text("other") if "other" in needs else None,
        station=_station(part._get("at"), f"{part.where} at") if "at" in needs else None,
        second=_station(part._get("to"), f"{part.where} to") if "to" in needs else None,
    )


def _dimension(row: Fields, constructions: tuple[str, ...]) -> Dimension:
    row.only(
        (
            "key",
            "name",
            "default",
            "least",
            "greatest",
            "meaning",
            "source",
            "measure",
            "follows",
            "constructions",
        )
    )
    follows = None
    if row.table.get("follows") == SHAPE:
        follows = (SHAPE, 0.0)
    elif "follows" in row.table:
        part = row.sub("follows")
        part.only(("of", "power"))
        power = part._get("power")
        if not isinstance(power, (int, float)) or not -5 <= power <= 5:
            raise RequestError(f"{part.where} power: expected a number -5 to 5, got {told(power)}.")
        follows = (part.text("of"), float(power))
    least, default, greatest = (length_mm(row._get(k), f"{row.where} {k}") for k in ("least", "default", "greatest"))
    if not least <= default <= greatest:
        raise RequestError(
            f"{row.where}: least {show_mm(least)} <= default {show_mm(default)} <= greatest "
            f"{show_mm(greatest)} is not so."
        )
    own = row.table.get("constructions", list(constructions))
    if not isinstance(own, list) or not all(c in CONSTRUCTIONS for c in own):
        raise RequestError(f"{row.where} constructions: expected a list of {', '.join(CONSTRUCTIONS)}.")
    key = row.text("key")
    if key.count(".") != 1 or key.split(".")[0] not in ("blade", "handle", "tang"):
        raise RequestError(f"{row.where} key: expected blade.NAME, handle.NAME or tang.NAME, got '{key}'.")
    return Dimension(
        key=key, name=row.text("name"), default_mm=default, least_mm=least, greatest_mm=greatest,
        meaning=row.text("meaning"), source=row.text("source"), measure=_measure(row.sub("measure")),
        follows=follows, constructions=tuple(own),
    )  # fmt: skip


def _check_dimensions(dimensions: tuple[Dimension, ...], curves: dict[str, tuple[Curve, ...]], where: str) -> None:
    names = [d.name for d in dimensions]
    for needed in NEEDED_DIMENSIONS:
        if needed not in names:
            raise RequestError(f"{where}: the dimension '{needed}' is missing; every family has it.")
    known = {c.name for loop in curves.values() for c in loop}
    for i, d in enumerate(dimensions):
        for other in dimensions[:i]:
            if d.name == other.name and set(d.constructions) & set(other.constructions):
                raise RequestError(f"{where}: two dimensions of one construction are called '{d.name}'.")
        if d.follows is not None and not d.free and d.follows[0] not in names[:i]:
            raise unknown("dimension", d.follows[0], names[:i], f"{where} {d.key} follows")
        for used in (d.measure.curve, d.measure.other):
            if used is not None and used not in known:
                raise unknown("curve", used, known, f"{where} {d.key} measure")


def defaults_of(part: Fields) -> dict[str, Default]:
    """Flatten [defaults.material] grade = {value, source} into {"material.grade": Default}.

    Raises:
        RequestError: A row without value or source.
    """
    out: dict[str, Default] = {}
    for table in part.table:
        for key in part.sub(table).table:
            entry = part.sub(table).sub(key)
            entry.only(("value", "source", "least", "greatest"))
            value = entry._get("value")
            if isinstance(value, bool) or not isinstance(value, (str, int)):
                raise RequestError(f"{entry.where} value: expected a text or a whole number, got {told(value)}.")
            span = tuple(entry.text(k) if k in entry.table else None for k in ("least", "greatest"))
            out[f"{table}.{key}"] = Default(value, entry.text("source"), span[0], span[1])
    return out
