"""Which materials, processes and fits are known, and what is known of each: reads data/*.toml once."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Iterable, Mapping
from functools import cache
from pathlib import Path
from typing import Any, Protocol, TypeVar

from blankwright.base.errors import RequestError, unknown
from blankwright.base.said import STATUSES
from blankwright.shop.records import KINDS, REGIONS, Figure, Fit, Material, Process

__all__ = [
    "KINDS", "REGIONS", "STATUSES", "Figure", "Fit", "Material", "Process",
    "fit", "fits", "material", "materials", "process", "processes",
    "read_figure", "read_fit", "read_material", "read_process",
]  # fmt: skip

_DATA = Path(__file__).parent / "data"
_MATERIAL_FILES = {"steels": "steel", "woods": "wood", "laminates": "laminate", "metals": "metal"}

Row = Mapping[str, Any]


class _Named(Protocol):
    @property
    def name(self) -> str: ...


Entry = TypeVar("Entry", bound=_Named)


# Reading one row ------------------------------------------------------------------------------------------


def read_figure(row: object, where: str) -> Figure:
    """Read `{ value, unit, source, status }`.

    Args:
        row: The table as read from TOML.
        where: File, table and key for the message.

    Raises:
        RequestError: A key is missing, unknown or of the wrong type, or the figure is not valid.
    """
    keys = ("value", "unit", "source", "status")
    if not isinstance(row, Mapping) or set(row) != set(keys):
        raise RequestError(f"{where}: must be a table with exactly {', '.join(keys)}.")
    value = row["value"]
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        raise RequestError(f"{where}.value: must be a number, got {value!r}.")
    texts = {key: _text(row, key, where) for key in keys[1:]}
    return _built(where, lambda: Figure(float(value), texts["unit"], texts["source"], texts["status"]))


def read_material(name: str, row: Row, kind: str, where: str) -> Material:
    """Read one material; keys other than the common ones are left to whoever knows them.

    Raises:
        RequestError: A key is missing or of the wrong type, or the material is not valid.
    """
    aliases = _texts(row, "aliases", where) if "aliases" in row else ()
    note = _text(row, "note", where) if "note" in row else ""
    title = _text(row, "title", where)
    density = read_figure(row.get("density"), f"{where}.density")
    if "stainless" in row and _flag(row, "stainless", where):
        kind = "stainless"
    return _built(where, lambda: Material(name, title, kind, density, aliases, note))


def read_process(name: str, row: Row, where: str) -> Process:
    """Read one cutting process.

    Raises:
        RequestError: A key is missing, unknown or of the wrong type, or the process is not valid.
    """
    _refuse_unknown(row, _PROCESS_KEYS, where)
    clean_up = row.get("clean_up")
    if not isinstance(clean_up, Mapping):
        raise RequestError(f"{where}.clean_up: must be a table with {', '.join(REGIONS)}.")
    needed = ("thickness_min", "thickness_max", "kerf", "burnt_layer")
    figures = {key: read_figure(row.get(key), f"{where}.{key}") for key in needed}
    maybe = (
        "deviation",
        "squareness",
        "burnt_layer_stainless",
        "smallest_hole_per_thickness",
        "smallest_hole",
        "pin_undersize",
    )
    optional = {key: read_figure(row[key], f"{where}.{key}") if key in row else None for key in maybe}
    return _built(
        where,
        lambda: Process(
            name=name,
            title=_text(row, "title", where),
            materials=_texts(row, "materials", where),
            machine_cut=_flag(row, "machine_cut", where),
            thickness_min_mm=figures["thickness_min"],
            thickness_max_mm=figures["thickness_max"],
            kerf_mm=figures["kerf"],
            deviation_class=_whole(row, "deviation_class", where),
            deviation_mm=optional["deviation"],
            squareness_range=_whole(row, "squareness_range", where),
            squareness_mm=optional["squareness"],
            burnt_layer_mm=figures["burnt_layer"],
            burnt_layer_stainless_mm=optional["burnt_layer_stainless"],
            clean_up_mm={key: read_figure(clean_up[key], f"{where}.clean_up.{key}") for key in clean_up},
            smallest_hole_per_thickness=optional["smallest_hole_per_thickness"],
            smallest_hole_mm=optional["smallest_hole"],
            pin_holes=_text(row, "pin_holes", where),
            pin_undersize_mm=optional["pin_undersize"],
            hole_note=_text(row, "hole_note", where),
            note=_text(row, "note", where),
            caution=_text(row, "caution", where),
        ),
    )


def read_fit(name: str, row: Row, where: str) -> Fit:
    """Read one pin fit.

    Raises:
        RequestError: A key is missing, unknown or of the wrong type, or the fit is not valid.
    """
    _refuse_unknown(row, ("title", "tang", "scale", "note"), where)
    title = _text(row, "title", where)
    note = _text(row, "note", where) if "note" in row else ""
    tang, scale = (read_figure(row.get(key), f"{where}.{key}") for key in ("tang", "scale"))
    return _built(where, lambda: Fit(name, title, tang, scale, note))


_PROCESS_KEYS = (
    "title", "materials", "machine_cut", "thickness_min", "thickness_max", "kerf", "deviation",
    "deviation_class", "squareness", "squareness_range", "burnt_layer", "burnt_layer_stainless",
    "smallest_hole_per_thickness", "smallest_hole", "pin_holes", "pin_undersize", "hole_note", "note", "caution",
    "clean_up",
)  # fmt: skip

Built = TypeVar("Built")


def _built(where: str, make: Callable[[], Built]) -> Built:
    """Make a record; a complaint without a place gets the place in front."""
    try:
        return make()
    except RequestError as error:
        text = str(error)
        raise RequestError(text if text.startswith(where) else f"{where}: {text}") from None


def _text(row: Row, key: str, where: str) -> str:
    value = row.get(key)
    if not isinstance(value, str):
        raise RequestError(f"{where}.{key}: must be a text, got {value!r}.")
    return value


def _texts(row: Row, key: str, where: str) -> tuple[str, ...]:
    value = row.get(key)
    if not isinstance(value, list) or not all(isinstance(item, str) for item in value):
        raise RequestError(f"{where}.{key}: must be a list of texts, got {value!r}.")
    return tuple(value)


def _flag(row: Row, key: str, where: str) -> bool:
    value = row.get(key)
    if not isinstance(value, bool):
        raise RequestError(f"{where}.{key}: must be true or false, got {value!r}.")
    return value


def _whole(row: Row, key: str, where: str) -> int | None:
    value = row.get(key)
    if value is not None and (isinstance(value, bool) or not isinstance(value, int)):
        raise RequestError(f"{where}.{key}: must be a whole number, got {value!r}.")
    return value


def _refuse_unknown(row: Row, allowed: Iterable[str], where: str) -> None:
    names = tuple(allowed)
    for key in row:
        if key not in names:
            raise unknown("key", key, names, where)


# The shipped tables ---------------------------------------------------------------------------------------


def _file(stem: str) -> dict[str, Row]:
    with (_DATA / f"{stem}.toml").open("rb") as handle:
        return tomllib.load(handle)


def materials() -> tuple[Material, ...]:
    """Return every material: steels, woods, laminates, metals, in the order of the tables."""
    return tuple(dict.fromkeys(_materials().values()))


def processes() -> tuple[Process, ...]:
    """Return every cutting process in the order of the table."""
    return tuple(_processes().values())


def fits() -> tuple[Fit, ...]:
    """Return every pin fit in the order of the table."""
    return tuple(_fits().values())


@cache
def _materials() -> dict[str, Material]:
    found = [
        read_material(name, row, kind, f"{stem}.toml [{name}]")
        for stem, kind in _MATERIAL_FILES.items()
        for name, row in _file(stem).items()
    ]
    return _by_key((name, entry) for entry in found for name in (entry.name, *entry.aliases))


@cache
def _processes() -> dict[str, Process]:
    rows = _file("processes").items()
    return _by_key((name, read_process(name, row, f"processes.toml [{name}]")) for name, row in rows)


@cache
def _fits() -> dict[str, Fit]:
    rows = _file("fits").items()
    return _by_key((name, read_fit(name, row, f"fits.toml [{name}]")) for name, row in rows)


def material(name: str, where: str = "") -> Material:
    """Look up a material by name or alias; capitals, blanks and hyphens do not matter.

    Args:
        name: Such as "80CrV2" or "sugar maple".
        where: File, table and key for the message.

    Raises:
        RequestError: The name is not in the tables; the message suggests the nearest one.

    >>> material("80crv2").density_kg_m3.value
    7850.0
    """
    return _find("material", name, _materials(), where)


def process(name: str, where: str = "") -> Process:
    """Look up a cutting process by name.

    Raises:
        RequestError: The name is not in the table; the message suggests the nearest one.

    >>> process("water-jet").kerf_mm.unit
    'mm'
    """
    return _find("process", name, _processes(), where)


def fit(name: str, where: str = "") -> Fit:
    """Look up a pin fit by name.

    Raises:
        RequestError: The name is not in the table.
    """
    return _find("fit", name, _fits(), where)


def _key(name: str) -> str:
    return "-".join(name.strip().lower().replace("_", " ").replace("-", " ").split())


def _by_key(pairs: Iterable[tuple[str, Entry]]) -> dict[str, Entry]:
    found: dict[str, Entry] = {}
    for name, entry in pairs:
        if _key(name) in found:
            raise RequestError(f"the name '{name}' is in the tables twice.")
        found[_key(name)] = entry
    return found


def _find(kind: str, name: object, known: Mapping[str, Entry], where: str) -> Entry:
    if not isinstance(name, str):
        place = f"{where}: " if where else ""
        raise RequestError(f"{place}the {kind} must be a name in quotes, got {name!r}.")
    entry = known.get(_key(name))
    if entry is None:
        raise unknown(kind, name, {other.name for other in known.values()}, where)
    return entry
