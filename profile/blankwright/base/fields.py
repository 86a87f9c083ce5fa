"""Reading tables of a text file with messages that name file, table and key."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

from blankwright.base.errors import RequestError, told, unknown
from blankwright.base.frozen import dataclass
from blankwright.base.reading import MAX_BYTES, parse_toml, read_text


def read_toml(path: Path) -> dict[str, Any]:
    """Read a TOML file.

    Raises:
        RequestError: Missing, unreadable, no plain file, too large, not text, not TOML (with the line), or a text in it
            holds what cannot be shown.
    """
    return parse_toml(read_text(path, MAX_BYTES, "a design or family file"), str(path))


def read_one_table(path: Path, name: str) -> dict[str, Any]:
    """Read one table out of a long file, without the time that the others take.

    It is for the files that are shipped: the text is cut at its heads, so no other line of it begins with a bracket.

    Args:
        path: The file.
        name: The table, headed `[name]`, with what is headed `[name.more]` or `[[name.more]]`.

    Returns:
        What read_toml gives, with this table alone, or none.

    Raises:
        RequestError: As read_toml.
    """
    pieces = f"\n{read_text(path, MAX_BYTES, 'a table')}".split("\n[")[1:]
    heads = tuple(f"{bracket}{key}{end}" for bracket in ("", "[") for key in (name, f'"{name}"') for end in "].")
    return parse_toml("\n".join(f"[{piece}" for piece in pieces if piece.startswith(heads)), str(path))


@dataclass(frozen=True)
class Fields:
    """One table of a file, read key by key.

    Args:
        table: The table as parsed.
        where: File and table for messages, such as "chef.toml [points]".
    """

    table: Mapping[str, Any]
    where: str

    def only(self, allowed: Iterable[str]) -> None:
        """Refuse keys that are not in a list, naming the nearest."""
        names = list(allowed)
        for key in self.table:
            if key not in names:
                raise unknown("key", key, names, self.where)

    def _get(self, key: str) -> Any:
        if key not in self.table:
            raise RequestError(f"{self.where}: the key '{key}' is missing.")
        return self.table[key]

    def text(self, key: str, default: str | None = None) -> str:
        """Return a non-empty text of at most 2000 characters."""
        value = self.table.get(key, default) if default is not None else self._get(key)
        if not isinstance(value, str) or not value.strip() or len(value) > 2000:
            raise RequestError(f"{self.where} {key}: expected a text, got {told(value)}.")
        return value.strip()

    def whole(self, key: str, least: int, greatest: int, default: int | None = None) -> int:
        """Return a whole number within a range."""
        value = self.table.get(key, default) if default is not None else self._get(key)
        if isinstance(value, bool) or not isinstance(value, int) or not least <= value <= greatest:
            raise RequestError(f"{self.where} {key}: expected a whole number {least} to {greatest}, got {told(value)}.")
        return value

    def choice(self, key: str, allowed: Iterable[str], default: str | None = None) -> str:
        """Return one of a list of words."""
        names = list(allowed)
        if default is None and key not in self.table:
            raise RequestError(f"{self.where}: the key '{key}' is missing. Allowed: {', '.join(names)}.")
        value = self.text(key, default)
        if value not in names:
            raise unknown(key, value, names, self.where)
        return value

    def sub(self, key: str) -> Fields:
        """Return a table inside this one."""
        value = self._get(key)
        if not isinstance(value, dict):
            raise RequestError(f"{self.where}: '{key}' must be a table.")
        return Fields(value, f"{self.where} [{key}]")

    def rows(self, key: str) -> list[Fields]:
        """Return an array of tables, such as [[curve]], each with its number and name in its place."""
        value = self._get(key)
        if not isinstance(value, list) or not all(isinstance(row, dict) for row in value) or not value:
            raise RequestError(f"{self.where}: '{key}' must be a list of tables, each headed [[{key}]].")
        return [Fields(row, f"{self.where} [[{key}]] {_row_name(row, i)}") for i, row in enumerate(value, start=1)]

    def point(self, key: str) -> tuple[float, float]:
        """Return a point written as [x, y] in mm."""
        return as_point(self._get(key), f"{self.where} {key}")


def _row_name(row: Mapping[str, Any], number: int) -> str:
    """Return what one of several tables is called in a message: by its name, its key or its number."""
    name = row.get("name", row.get("key"))
    return name[:60] if isinstance(name, str) else f"number {number}"


def as_point(value: object, where: str) -> tuple[float, float]:
    """Read a point written as [x, y] in mm, within 2 m of the heel."""
    good = (
        isinstance(value, list)
        and len(value) == 2
        and all(isinstance(v, (int, float)) and not isinstance(v, bool) for v in value)
        and all(math.isfinite(v) and abs(v) <= 2000 for v in value)
    )
    if not good or not isinstance(value, list):
        raise RequestError(f"{where}: expected a point as [x, y] in mm, got {told(value)}.")
    return float(value[0]), float(value[1])
