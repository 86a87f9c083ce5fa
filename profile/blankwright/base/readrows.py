"""The one reader of every table: a row of a text file becomes a dataclass, by what the class says of its own fields.

A class derives from `TableRow` and says all there is to say in its annotations: kinds, closed sets (`Literal`), ranges
and units (`In`), what may be left out (a default, or `None`). The same annotations judge a row read from a file and
one built in a script. What two fields say together stands in the class's `check`.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable, Collection, Mapping
from pathlib import Path
from types import NoneType, UnionType
from typing import Annotated, Any, Literal, TypeVar, Union, get_args, get_origin, get_type_hints

from blankwright.base.errors import RequestError, told, unknown
from blankwright.base.fields import Fields, read_toml
from blankwright.base.fixed import FixedTable
from blankwright.base.frozen import dataclass
from blankwright.base.said import STATUSES, TABLED
from blankwright.base.units import apart

Found = TypeVar("Found")
R = TypeVar("R", bound="TableRow")

_SUFFIXES = {"_mm": "mm", "_kg_m3": "kg/m3", "_mm_min": "mm/min", "_s": "s"}
"""Ends of a field's name that say its unit; the key in a file goes without."""


_FAR = 1e15
"""Numbers nearer to 0 are all finite, and whole ones are exact as floats."""


@dataclass(frozen=True)
class In:
    """What a number must be.

    Args:
        least: Smallest value.
        greatest: Largest value.
        unit: Its unit, for a figure or a range that carries one.
        read: Reads a text with a unit, such as units.length_mm; None for a bare number.
    """

    least: float = -math.inf
    greatest: float = math.inf
    unit: str = ""
    read: Callable[[object, str], float] | None = None


@dataclass(frozen=True)
class TableRow:
    """A row of a table; none can be half-built.

    Raises:
        RequestError: A field is not what its annotation says, or fields contradict each other.
    """

    def __post_init__(self) -> None:
        for part in _parts(type(self)):
            value = getattr(self, part.name)
            if not (value is None and part.optional):
                _judge(value, part.hint, part.mark, part.key, empty=value == part.default)
        self.check()

    def check(self) -> None:
        """Refuse fields that do not go together."""


@dataclass(frozen=True)
class _Part:
    """One field: its name, its key in a file, what it holds, and what stands for it when it is left out."""

    name: str
    key: str
    hint: Any
    mark: In
    optional: bool
    default: Any

    @property
    def must(self) -> bool:
        return not self.optional and self.default is dataclasses.MISSING


def need(condition: bool, message: str) -> None:
    """Refuse a row.

    Raises:
        RequestError: The condition does not hold.
    """
    if not condition:
        raise RequestError(message)


def built(where: str, make: Callable[[], Found], keys: Collection[str] = ()) -> Found:
    """Make a record; a complaint without a place gets the place in front.

    Args:
        where: File and table, or option.
        make: Makes it.
        keys: Keys of the table: a complaint that begins with one is about that key.

    Raises:
        RequestError: The record is not valid.
    """
    try:
        return make()
    except RequestError as error:
        text = str(error)
        of_key = text.split(":", maxsplit=1)[0] in keys or text.startswith("[")
        raise RequestError(f"{where} {text}" if of_key else f"{where}: {text}") from None


def read_rows(path: Path, row: type[R], leave: tuple[str, ...] = (), **given: Any) -> dict[str, R]:
    """Read a file that holds one table for each row.

    Args:
        path: The file.
        row: What a row is; a field `name` gets the name of the table.
        leave: Tables of the file that are something else.
        given: Fields that the caller knows.

    Returns:
        The rows by the names of their tables, in the order of the file.

    Raises:
        RequestError: Unreadable, or a row is wrong; the message names file, table, key, value and what is allowed.
    """
    return read_table(Fields(read_toml(path), path.name), row, leave, **given)


def read_table(top: Fields, row: type[R], leave: tuple[str, ...] = (), **given: Any) -> dict[str, R]:
    """Read a table whose keys name rows; arguments and errors are those of read_rows."""
    named = {"name": ...} if any(part.name == "name" for part in _parts(row)) else {}
    found = {}
    for name in top.table:
        if name not in leave:
            found[name] = read_row(row, top.sub(name), **given | dict.fromkeys(named, name))
    return found


def read_row(row: type[R], fields: Fields, leave: tuple[str, ...] | None = (), **given: Any) -> R:
    """Read one row.

    Args:
        row: What a row is.
        fields: The table.
        leave: Keys that others read; None to leave all that the row does not know.
        given: Fields that the caller knows; they have no key.

    Raises:
        RequestError: A key is missing, unknown or not what its field wants, or the row contradicts itself.
    """
    parts = [part for part in _parts(row) if part.name not in given]
    if leave is not None:
        fields.only([part.key for part in parts] + list(leave))
    values = dict(given)
    for part in parts:
        if part.key in fields.table:
            values[part.name] = _read(fields.table[part.key], part.hint, part.mark, fields.where, part.key)
        elif part.must:
            raise RequestError(f"{fields.where}: the key '{part.key}' is missing.")
        elif part.default is dataclasses.MISSING:
            values[part.name] = None
    return built(fields.where, lambda: row(**values), [part.key for part in parts])


_PARTS: dict[Any, tuple[_Part, ...]] = {}


def _parts(row: Any) -> tuple[_Part, ...]:
    """Return the fields of a class; worked out once."""
    if row not in _PARTS:
        hints = get_type_hints(row, include_extras=True)
        _PARTS[row] = tuple(_part(field, hints[field.name]) for field in dataclasses.fields(row) if field.init)
    return _PARTS[row]


def _part(field: dataclasses.Field[Any], hint: Any) -> _Part:
    mark = In()
    if get_origin(hint) is Annotated:
        hint, mark = get_args(hint)[0], get_args(hint)[1]
    kinds = get_args(hint) if get_origin(hint) in (Union, UnionType) else (hint,)
    bare, mark = _told(next(kind for kind in kinds if kind is not NoneType), mark)
    end = max((e for e in _SUFFIXES if field.name.endswith(e)), key=len, default="")
    measured = end and (mark.read is not None or bare is not float)
    key = field.metadata.get("key", field.name[: -len(end)] if measured else field.name)
    if measured and not mark.unit:
        mark = dataclasses.replace(mark, unit=_SUFFIXES[end])
    default = field.default
    if field.default_factory is not dataclasses.MISSING:
        default = field.default_factory()
    return _Part(field.name, key, bare, mark, NoneType in kinds, default)


# From a file ----------------------------------------------------------------------------------------------


def _read(value: Any, hint: Any, mark: In, where: str, key: str) -> Any:
    """Turn what a file holds into what a field holds."""
    if mark.read is None and _sound(value, hint, mark):
        return value.strip() if hint is str else float(value) if hint is float else value
    place, origin = f"{where} {key}", get_origin(hint)
    if origin is tuple:
        return _read_items(value, get_args(hint), mark, where, key)
    if origin is not None and issubclass(_class(origin), Mapping):
        table = Fields({key: value}, where).sub(key)
        return FixedTable({k: _read(v, get_args(hint)[1], mark, table.where, k) for k, v in table.table.items()})
    if dataclasses.is_dataclass(hint) and isinstance(hint, type):
        table = Fields({key: value}, where).sub(key)
        return _read_one(hint, table, mark)
    if isinstance(value, str):
        value = value.strip()
    if mark.read is not None and hint is float:
        _judge(value, str, mark, key, where)
        value = mark.read(value, place)
    _judge(value, hint, mark, key, where)
    return float(value) if hint is float else value


def _class(origin: Any) -> type:
    return origin if isinstance(origin, type) else NoneType


def _read_one(hint: type, table: Fields, mark: In) -> Any:
    """Read a table inside a row; a class may read itself, knowing what its holder says of its numbers."""
    own = getattr(hint, "read", None)
    found = own(table, mark) if own is not None else read_row(hint, table)
    unit = getattr(found, "unit", mark.unit)
    if mark.unit and unit != mark.unit:
        raise RequestError(f"{table.where}: unit '{unit}' must be {_unit(mark.unit)}.")
    return found


def _unit(unit: str) -> str:
    return f"'{unit}'" if " " in unit else unit


def _read_items(value: Any, kinds: tuple[Any, ...], mark: In, where: str, key: str) -> tuple[Any, ...]:
    """Read a list: of values, of tables, or of lists that stand for tables, one value for each field."""
    place, (hint, own) = f"{where} {key}", _told(kinds[0], mark)
    rows = dataclasses.is_dataclass(hint) and isinstance(hint, type)
    if not isinstance(value, list):
        what = f" of tables, each headed [[{key}]]" if rows else ""
        raise RequestError(f"{where}: '{key}' must be a list{what}, got {told(value)}.")
    if kinds[-1] is not Ellipsis:
        if len(value) != len(kinds):
            raise RequestError(f"{place}: must be a list of {len(kinds)} values, got {len(value)}.")
        each = [_told(kind, mark) for kind in kinds]
        return tuple(_read(item, *each[i], place, f"number {i + 1}") for i, item in enumerate(value))
    if not rows:
        return tuple(_read(item, hint, own, where, f"{key} number {i}") for i, item in enumerate(value, 1))
    if value and all(isinstance(item, list) for item in value):
        tables = [_by_place(hint, item, f"{place} number {i}") for i, item in enumerate(value, 1)]
    else:
        tables = Fields({key: value}, where).rows(key)
    return tuple(_read_one(hint, table, own) for table in tables)


def _by_place(hint: type, values: list[Any], place: str) -> Fields:
    """Return a list as the table it stands for."""
    keys = [part.key for part in _parts(hint)]
    if len(values) != len(keys):
        raise RequestError(f"{place}: must be a list of {', '.join(keys)}, got {len(values)} values.")
    return Fields(dict(zip(keys, values, strict=True)), place)


def _told(hint: Any, mark: In) -> tuple[Any, In]:
    """Return what an item is, with its own mark where it has one."""
    return get_args(hint)[:2] if get_origin(hint) is Annotated else (hint, mark)


# From anywhere --------------------------------------------------------------------------------------------


def _sound(value: Any, hint: Any, mark: In) -> bool:
    """Say whether a value is plainly what its field holds, as nearly all are; others are looked at closely."""
    kind = type(value)
    if hint is float or hint is int:
        known = kind is int or (kind is float and hint is float)
        return known and max(mark.least, -_FAR) <= value <= min(mark.greatest, _FAR)
    if hint is str:
        return kind is str and len(value) <= 2000 and not value.isspace() and value != ""
    return hint is bool and kind is bool


def _judge(value: Any, hint: Any, mark: In, key: str, where: str = "", *, empty: bool = False) -> None:
    """Refuse a value that its field cannot hold.

    Args:
        value: The value.
        hint: What the field holds.
        mark: The range of a number.
        key: Its key, for the message.
        where: File and table when it comes from a file: there a standing is one that a source can have.
        empty: Whether it is the field's default, which may be empty.
    """
    if _sound(value, hint, mark):
        return
    place = f"{where} {key}".strip()
    if hint is str or get_origin(hint) is Literal:
        if not isinstance(value, str) or not (value.strip() or empty) or len(value) > 2000:
            raise RequestError(f"{place}: expected a text, got {told(value)}.")
        allowed = get_args(hint)
        if allowed and value not in (TABLED if where and allowed == STATUSES else allowed):
            raise unknown(key.split(" number ", 1)[0], value, TABLED if allowed == STATUSES else allowed, where)
    elif hint is bool:
        need(isinstance(value, bool), f"{place}: must be true or false, got {told(value)}.")
    elif hint in (int, float):
        kinds = int if hint is int else (int, float)
        if isinstance(value, bool) or not isinstance(value, kinds) or not mark.least <= value <= mark.greatest:
            what = "a whole number" if hint is int else "a number"
            ends = f" of {mark.least:g} or more" if math.isfinite(mark.least) else ""
            ends = f" {mark.least:g} to {mark.greatest:g}" if math.isfinite(mark.greatest) else ends
            if mark.read is not None and isinstance(value, float):
                shown = apart(value, mark.least, mark.greatest)
                raise RequestError(f"{place}: {shown} {mark.unit} is out of range. Allowed:{ends} {mark.unit}.")
            raise RequestError(f"{place}: expected {what}{ends}, got {told(value)}.")
        need(math.isfinite(value), f"{place}: expected a finite number, got {told(value)}.")
    elif get_origin(hint) is tuple and get_args(hint)[-1] is Ellipsis:
        for item in value:
            _judge(item, *_told(get_args(hint)[0], mark), key)
