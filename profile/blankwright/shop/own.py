"""A maker's own steel, wood, laminate, metal or way of cutting: one row of a table in a file of its own.

A design names the file where it would name a row, `grade = "my_steel.toml"`. The file holds the keys of one row of the
shipped table; that of a material says its `kind` as well, and a steel may have a table [hardening].
"""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path
from typing import Any, get_args

from blankwright.base.errors import RequestError
from blankwright.base.fields import Fields, read_toml
from blankwright.base.reading import is_plain_file, why_no_file
from blankwright.base.readrows import read_row
from blankwright.shop.records import Kind, Material, Process

SUFFIX = ".toml"
HARDENING = "hardening"
"""Table of a steel's file that says how it is hardened."""

_KEYS_OF_PROCESS = ("machine_cut", "kerf", "clean_up")
_STEELS = ("steel", "stainless")


def is_own(name: object) -> bool:
    """Whether a name is that of a file of one's own."""
    return isinstance(name, str) and name.endswith(SUFFIX)


def own_fields(name: str, where: str) -> Fields:
    """Return the file of one's own row.

    Args:
        name: Its path.
        where: Setting that names it, for the message.

    Raises:
        RequestError: There is no such file, or it cannot be read.
    """
    path = Path(name)
    if not is_plain_file(path):
        before = f"{where}: " if where else ""
        raise RequestError(f"{before}{name[:200]}: {why_no_file(path, 'table file')}.")
    state = path.stat()
    return Fields(_read(name, state.st_mtime_ns, state.st_size), path.name)


@lru_cache(maxsize=64)
def _read(name: str, _changed_ns: int, _size: int) -> dict[str, Any]:
    """Read a file; one that was changed is read anew."""
    return read_toml(Path(name))


def own_material(name: str, where: str = "") -> Material:
    """Return a material of one's own; its name is its path, by which it is found again.

    Raises:
        RequestError: No such file, or a key of it is missing, unknown or out of range; the message says which.
    """
    fields = own_fields(name, where)
    if any(key in fields.table for key in _KEYS_OF_PROCESS):
        raise RequestError(f"{fields.where}: this is a way of cutting. It goes where [cutting] process is said.")
    kind = fields.choice("kind", get_args(Kind))
    if HARDENING in fields.table and kind not in _STEELS:
        raise RequestError(f"{fields.where} [{HARDENING}]: only steel is hardened, and its kind is '{kind}'.")
    return read_row(Material, fields, ("kind", HARDENING), name=name, kind=kind)


def own_process(name: str, where: str = "") -> Process:
    """Return a way of cutting of one's own; its name is its path, by which it is found again.

    Raises:
        RequestError: As own_material.
    """
    fields = own_fields(name, where)
    if "kind" in fields.table:
        raise RequestError(f"{fields.where}: this is a material. It goes where [material] grade is said.")
    return read_row(Process, fields, name=name)


def own_row(name: str) -> Material | Process:
    """Return the row of a file of one's own, whatever it is.

    Raises:
        RequestError: As own_material.
    """
    fields = own_fields(name, "tables")
    if "kind" in fields.table:
        return own_material(name)
    if any(key in fields.table for key in _KEYS_OF_PROCESS):
        return own_process(name)
    raise RequestError(
        f"{fields.where}: neither a material, which says its kind ({', '.join(get_args(Kind))}), nor a way of cutting, "
        "which says its kerf."
    )
