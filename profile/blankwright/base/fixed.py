"""A table that nobody changes by accident: several answers are computed from it."""

from __future__ import annotations

from typing import Any, NoReturn, TypeVar

from blankwright.base.errors import nearest_name

K = TypeVar("K")
V = TypeVar("V")


class FixedTable(dict[K, V]):
    """A dict that cannot be changed; `dict(table)` is a copy that can.

    >>> table = FixedTable(thickness_mm=3.0)
    >>> table | {"thickness_mm": 2.5}, dict(table) == table
    ({'thickness_mm': 2.5}, True)
    """

    def _fixed(self, *_: Any, **__: Any) -> NoReturn:
        msg = "this table is fixed: design.replace(...) returns a changed design, dict(table) a copy of the table."
        raise TypeError(msg)

    __setitem__ = __delitem__ = __ior__ = clear = pop = popitem = setdefault = update = _fixed

    def __missing__(self, key: K) -> NoReturn:
        names = [str(known) for known in self]
        near = nearest_name(str(key), names)
        raise KeyError(f"{key}: {f'did you mean {near}?' if near else 'not here.'} There are: {', '.join(names)}")

    def __reduce__(self) -> tuple[type[FixedTable[K, V]], tuple[dict[K, V]]]:
        return FixedTable, (dict(self),)
