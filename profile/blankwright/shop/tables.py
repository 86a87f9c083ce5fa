"""Which materials, processes and fits are known, and what is known of each: reads data/*.toml once."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cache, lru_cache
from pathlib import Path
from typing import Protocol, TypeVar

from blankwright.base.errors import RequestError, told, unknown
from blankwright.base.fields import Fields, read_one_table, read_toml
from blankwright.base.readrows import read_row, read_rows
from blankwright.shop.own import is_own, own_material, own_process
from blankwright.shop.records import Fit, Kind, Material, Process

DATA = Path(__file__).parent / "data"
"""Where the tables lie."""

MATERIALS: dict[str, Kind] = {
    "steels": "steel", "woods": "wood", "laminates": "laminate", "metals": "metal", "bones": "bone",
}  # fmt: skip
"""Tables of materials, and the kind of what stands in them; a steel's row says when it is stainless."""


LISTED = f"All are listed by: blankwright tables NAME, with one of {', '.join(MATERIALS)}."
"""Where the names of materials can be read."""


class _Named(Protocol):
    @property
    def name(self) -> str: ...


Entry = TypeVar("Entry", bound=_Named)


def read_material(name: str, fields: Fields, kind: Kind) -> Material:
    """Read one material; keys other than the common ones are left to whoever knows them.

    Raises:
        RequestError: A key is missing or of the wrong type, or the material is not valid.
    """
    stainless = fields.table.get("stainless", False)
    if not isinstance(stainless, bool):
        raise RequestError(f"{fields.where} stainless: must be true or false, got {told(stainless)}.")
    return read_row(Material, fields, None, name=name, kind="stainless" if stainless else kind)


@cache
def materials(table: str = "") -> tuple[Material, ...]:
    """Return every material of a table, or of all: steels, woods, laminates, metals, bones, in the order of the tables.

    Args:
        table: One of MATERIALS, or nothing for all.
    """
    found = []
    for stem in [table] if table else MATERIALS:
        top = Fields(read_toml(DATA / f"{stem}.toml"), f"{stem}.toml")
        found += [read_material(name, top.sub(name), MATERIALS[stem]) for name in top.table]
    return tuple(found)


@cache
def processes() -> tuple[Process, ...]:
    """Return every cutting process in the order of the table."""
    return tuple(read_rows(DATA / "processes.toml", Process).values())


@cache
def fits() -> tuple[Fit, ...]:
    """Return every pin fit in the order of the table."""
    return tuple(read_rows(DATA / "fits.toml", Fit).values())


@cache
def _materials() -> dict[str, Material]:
    return _by_key((name, entry) for entry in materials() for name in (entry.name, *entry.aliases))


@cache
def _processes() -> dict[str, Process]:
    return _by_key((entry.name, entry) for entry in processes())


@cache
def _fits() -> dict[str, Fit]:
    return _by_key((entry.name, entry) for entry in fits())


def material(name: str, where: str = "") -> Material:
    """Look up a material by name or alias, capitals, blanks and hyphens do not matter; or read one's own from its file.

    Args:
        name: Such as "80CrV2" or "sugar maple".
        where: File, table and key for the message.

    Raises:
        RequestError: The name is not in the tables; the message suggests the nearest ones.

    >>> material("80crv2").density_kg_m3.value
    7850.0
    """
    if is_own(name):
        return own_material(name, where)
    if isinstance(name, str) and (found := _material(name)):
        return found
    other = _find("material", name, _materials(), where, LISTED)
    return _material(other.name) or other


@cache
def _material(name: str) -> Material | None:
    """Return one material by the name it has in its table, or None: a knife is of three out of eighty."""
    for stem, kind in MATERIALS.items():
        table = read_one_table(DATA / f"{stem}.toml", name)
        if name in table:
            return read_material(name, Fields(table, f"{stem}.toml").sub(name), kind)
    return None


def process(name: str, where: str = "") -> Process:
    """Look up a cutting process by name, or read one's own from its file.

    Raises:
        RequestError: The name is not in the table; the message suggests the nearest one.

    >>> process("water-jet").kerf_mm.unit
    'mm'
    """
    if is_own(name):
        return own_process(name, where)
    return (isinstance(name, str) and _process(_key(name))) or _find("process", name, _processes(), where)


@cache
def _process(name: str) -> Process | None:
    """Return one process of the shipped table, or None: the whole of it is long, and a blank is cut in one way."""
    path = DATA / "processes.toml"
    table = read_one_table(path, name)
    return read_row(Process, Fields(table, path.name).sub(name), name=name) if name in table else None


def fit(name: str, where: str = "") -> Fit:
    """Look up a pin fit by name.

    Raises:
        RequestError: The name is not in the table.
    """
    return _find("fit", name, _fits(), where)


@lru_cache(maxsize=1024)
def _key(name: str) -> str:
    return "-".join(name.strip().lower().replace("_", " ").replace("-", " ").split())


def _by_key(pairs: Iterable[tuple[str, Entry]]) -> dict[str, Entry]:
    found: dict[str, Entry] = {}
    for name, entry in pairs:
        if _key(name) in found:
            raise RequestError(f"the name '{name}' is in the tables twice.")
        found[_key(name)] = entry
    return found


def _find(kind: str, name: object, known: Mapping[str, Entry], where: str, listed: str = "") -> Entry:
    if not isinstance(name, str):
        place = f"{where}: " if where else ""
        raise RequestError(f"{place}the {kind} must be a name in quotes, got {told(name)}.")
    entry = known.get(_key(name))
    if entry is None:
        raise unknown(kind, name, {other.name for other in known.values()}, where, listed)
    return entry
