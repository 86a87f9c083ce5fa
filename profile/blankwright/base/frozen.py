"""The frozen dataclass of every module of ours: as the standard one, but made at import without compiling anything.

The standard library writes and compiles six functions for each class as it is defined, 0.6 ms of it; the 220 classes
that weighing a knife imports took a quarter of its time so, though most are never built and hardly one is compared.
Here a class gets its `__init__` when it has been built a few times, and shares the rest with all others: of the classes
that a make uses, two in five are built so seldom that writing their own would take longer than it saves.
"""

from __future__ import annotations

import dataclasses
import sys
from collections.abc import Callable, Set
from dataclasses import MISSING, FrozenInstanceError, fields
from functools import cache, partial
from operator import attrgetter
from typing import TYPE_CHECKING, Any, NoReturn


def _decorator(cls: type | None = None, /, *, frozen: bool = False, eq: bool = True, repr: bool = True) -> Any:  # noqa: A002 - the standard name
    """Make a class a dataclass, as `dataclasses.dataclass` does with the same words."""
    if not frozen:
        return dataclasses.dataclass(cls, eq=eq, repr=repr)

    def made(cls: type) -> type:
        cls.__doc__ = cls.__doc__ or cls.__name__
        own: dict[str, Any] = {"__init__": _Init(cls), "__setattr__": _refuse_to_set, "__delattr__": _refuse_to_delete}
        if repr:
            own["__repr__"] = _shown
        if eq:
            own |= {"__eq__": _same, "__hash__": _hashed}
        explicit = set(vars(cls))
        dataclasses.dataclass(init=False, repr=False, eq=False)(cls)
        for name in own.keys() - explicit:
            setattr(cls, name, own[name])
        return cls

    return made if cls is None else made(cls)


if TYPE_CHECKING:
    from dataclasses import dataclass as dataclass  # noqa: PLC0414 - told to be taken from here
else:
    dataclass = _decorator


_SELDOM = 2
"""A class built no more often gets no `__init__` of its own: filling in one by its fields takes 3 us, writing and
compiling its own 130 us."""


class _Init:
    """Stands for `__init__` until a class is built often, or it is asked what it takes."""

    def __init__(self, cls: type) -> None:
        self._cls, self._built = cls, 0

    def __get__(self, instance: object, owner: type) -> Any:
        if instance is not None and self._built < _SELDOM:
            self._built += 1
            return partial(self._fill, instance)
        written = _written_init(self._cls)
        self._cls.__init__ = written  # type: ignore[misc]
        return written.__get__(instance, owner)

    def _fill(self, one: Any, /, *values: object, **named: object) -> None:
        """Fill in one by the fields; a call that does not fit them is left to the written `__init__` to refuse."""
        places, needed, defaults, factories = _fields(self._cls)
        given = dict(zip(places, values, strict=False)) | named
        if len(given) != len(values) + len(named) or not needed <= given.keys() <= defaults.keys():
            _written_init(self._cls)(one, *values, **named)
            return
        made = {name: make() for name, make in factories if name not in given}
        one.__dict__.update(defaults | given | made)
        if hasattr(one, "__post_init__"):
            one.__post_init__()


@cache
def _fields(cls: type) -> tuple[list[str], Set[str], dict[str, Any], list[tuple[str, Callable[[], Any]]]]:
    """Return what a class takes by place, what it must be given, every field's default, and what makes a default."""
    every = fields(cls)
    factories: list[tuple[str, Any]] = [(f.name, f.default_factory) for f in every if f.default_factory is not MISSING]
    needed = {f.name for f in every if f.default is MISSING} - dict(factories).keys()
    return [f.name for f in every if not f.kw_only], needed, {f.name: f.default for f in every}, factories


def _written_init(cls: type) -> Callable[..., None]:
    """Return a class's `__init__`, written and compiled; a factory stands as its own default."""
    given, body, values = ["self"], ["_own = self.__dict__"], {}
    for f in sorted(fields(cls), key=lambda f: f.kw_only is True):
        made = f.default_factory is not MISSING
        default = f.default_factory if made else f.default
        values[f"_of_{f.name}"] = default
        if f.kw_only is True and "*" not in given:
            given.append("*")
        if f.init:
            given.append(f.name if default is MISSING else f"{f.name}=_of_{f.name}")
        value = f"_of_{f.name}() if {f.name} is _of_{f.name} else {f.name}" if made else f.name
        body.append(f"_own[{f.name!r}] = {value}")
    if hasattr(cls, "__post_init__"):
        body.append("self.__post_init__()")
    lines = [f"def made({', '.join(values)}):", f"  def __init__({', '.join(given)}):", *(f"    {b}" for b in body)]
    out: dict[str, Any] = {}
    exec("\n".join([*lines, "  return __init__"]), vars(sys.modules[cls.__module__]), out)
    init: Any = out["made"](**values)
    init.__qualname__ = f"{cls.__qualname__}.__init__"
    init.__annotations__ = {f.name: f.type for f in fields(cls) if f.init} | {"return": None}
    return init  # type: ignore[no-any-return]


@cache
def _values(cls: type, hashed: bool) -> Callable[[object], object]:
    """Return what gets the values of a class that are compared, or hashed."""
    names = [f.name for f in fields(cls) if (f.compare if f.hash is None or not hashed else f.hash)]
    return attrgetter(*names) if len(names) > 1 else lambda one: tuple(getattr(one, name) for name in names)


def _same(self: object, other: object) -> Any:
    cls: Any = type(self)
    values = _values(cls, False)
    return values(self) == values(other) if other.__class__ is cls else NotImplemented


def _hashed(self: object) -> int:
    cls: Any = type(self)
    return hash(_values(cls, True)(self))


def _shown(self: Any) -> str:
    values = ", ".join(f"{f.name}={getattr(self, f.name)!r}" for f in fields(self) if f.repr)
    return f"{self.__class__.__qualname__}({values})"


def _refuse_to_set(self: object, name: str, value: object) -> NoReturn:
    raise FrozenInstanceError(f"cannot assign to field {name!r}")


def _refuse_to_delete(self: object, name: str) -> NoReturn:
    raise FrozenInstanceError(f"cannot delete field {name!r}")
