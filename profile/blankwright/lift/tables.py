"""A family's table as the text of its file (TOML 1.0): one key a line, points in rows, each section under its head."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from blankwright.base.plain import quoted

_ROW = 6
"""So many points stand on one line."""


def table_text(table: Mapping[str, Any], head: Sequence[str] = ()) -> str:
    """Return a table as text: what is no section first, then the sections.

    Args:
        table: Texts, numbers, lists and tables of them.
        head: Lines of comment at the top, without their sign.
    """
    lines = [f"# {line}" for line in head]
    lines += _section(table, ())
    return "\n".join(lines) + "\n"


def _section(table: Mapping[str, Any], path: tuple[str, ...]) -> list[str]:
    plain = {k: v for k, v in table.items() if not _is_section(v)}
    out = [f"{k} = {_value(v)}" for k, v in plain.items()]
    if path and plain:
        out = ["", f"[{'.'.join(path)}]", *out]
    for key, value in table.items():
        if _is_section(value):
            out += _section(value, (*path, key))
    return out


def _is_section(value: Any) -> bool:
    """Return whether a value gets a head of its own: a table, unless it is one dimension or default."""
    return isinstance(value, Mapping) and not {"value", "default", "least", "greatest", "source"} & set(value)


def _value(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return quoted(value)
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{k} = {_value(v)}" for k, v in value.items()) + " }"
    if isinstance(value, Sequence):
        items = [_value(v) for v in value]
        if len(items) <= _ROW:
            return "[" + ", ".join(items) + "]"
        rows = [", ".join(items[i : i + _ROW]) for i in range(0, len(items), _ROW)]
        return "[\n  " + ",\n  ".join(rows) + ",\n]"
    return f"{value:.12g}"
