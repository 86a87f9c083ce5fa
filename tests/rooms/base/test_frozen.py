"""Our frozen dataclass beside the standard library's: the same class, made without compiling."""

from __future__ import annotations

import copy
import dataclasses
import inspect
import re
import subprocess
import sys
from collections.abc import Callable
from dataclasses import FrozenInstanceError, dataclass, field
from pathlib import Path
from typing import Any

import pytest

from blankwright.base import frozen
from rooms.every import cases

Decorator = Callable[..., Any]
FROM_LIBRARY = re.compile(r"^from dataclasses import .*\bdataclass\b", re.MULTILINE)
SOURCE = "dataclasses of the standard library, class by class"


def classes(decorator: Decorator) -> tuple[type, ...]:
    """Return classes of every sort that we have, made by a decorator."""

    @decorator(frozen=True)
    class Plain:
        """A place."""

        x: float
        y: float = 2.0
        names: list[str] = field(default_factory=list, hash=False)
        unseen: int = field(default=3, repr=False, compare=False)

        def __post_init__(self) -> None:
            if self.x < 0:
                raise ValueError("x")

    @decorator(frozen=True)
    class Heir(Plain):
        z: float = field(kw_only=True)

    @decorator(frozen=True, eq=False)
    class ByItself:
        x: float

    @decorator(frozen=True, eq=False, repr=False)
    class Named:
        x: float

        def __repr__(self) -> str:
            return "named"

    @decorator(frozen=True)
    class One:
        x: tuple[int, ...]

    @decorator(frozen=True)
    class Nothing:
        pass

    @decorator(frozen=True)
    class Told:
        x: int

        def __eq__(self, other: object) -> bool:
            return True

        def __hash__(self) -> int:
            return 7

    return Plain, Heir, ByItself, Named, One, Nothing, Told


def seen(cls: type, *values: Any, **named: Any) -> tuple[Any, ...]:
    """Return everything that can be seen of a class and one of it."""
    try:
        one, other = cls(*values, **named), cls(*values, **named)
    except (TypeError, ValueError) as error:
        return str(error), list(inspect.signature(cls).parameters)
    with pytest.raises(FrozenInstanceError, match="cannot assign to field 'x'"):
        one.x = 1
    with pytest.raises(FrozenInstanceError, match="cannot delete field 'x'"):
        del one.x
    try:
        hashed = (hash(one) == hash(other), {one: 1}.get(other), hash(one) if one == other else None)
    except TypeError as error:
        hashed = (str(error),)
    names = [f.name for f in dataclasses.fields(one)]
    shown = str(one) if type(one).__repr__ is not object.__repr__ else None
    equal = (one == other, one != other, one == 3, one == copy.copy(one), one == copy.deepcopy(one))
    changed = [str(dataclasses.replace(one, **{n: getattr(one, n)})) == str(one) for n in names]
    parameters = [(p.name, p.kind, p.annotation) for p in inspect.signature(cls).parameters.values()]
    return (
        names,
        shown,
        hashed,
        equal,
        changed,
        vars(one),
        dataclasses.asdict(one),
        cls.__match_args__,
        parameters,
    )


GIVEN: tuple[tuple[tuple[Any, ...], dict[str, Any]], ...] = (
    ((), {}), ((1,), {}), ((1, 5), {}), ((1,), {"names": ["a"]}), ((1, 2), {"z": 3}), ((-1,), {}), ((-1,), {"z": 1}),
    ((1, 2, [], 4, 5), {}),
    (((1, 2),), {}), ((1,), {"nothing": 1}),
)  # fmt: skip


@cases("number", range(7))
def test_a_class_is_as_the_standard_library_makes_it(number: int) -> None:
    for values, named in GIVEN:
        ours, theirs = (seen(classes(made)[number], *values, **named) for made in (frozen.dataclass, dataclass))
        assert ours == theirs


def test_equality_of_two_classes_and_of_different_values() -> None:
    plain, heir, by_itself, *_ = classes(frozen.dataclass)
    assert plain(1) != plain(2)
    assert plain(1, unseen=5) == plain(1)
    assert plain(1) != heir(1, z=2)
    assert by_itself(1) != by_itself(1)


def test_nothing_is_compiled_before_it_is_used() -> None:
    code = (
        "import builtins\nkept, made = builtins.exec, []\n"
        "def exec(text, *names):\n    made.append(isinstance(text, str))\n    return kept(text, *names)\n"
        "builtins.exec = exec\nimport blankwright.knife.knife as k, sys\nbefore = sum(made)\n"
        "classes = [c for m, v in sys.modules.items() if m.startswith('blankwright') for c in vars(v).values()]\n"
        "print(before, sum(hasattr(c, '__dataclass_fields__') for c in classes if isinstance(c, type)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    compiled, classes_there = map(int, done.stdout.split())
    print(f"{compiled} compiled for {classes_there} classes")
    assert compiled < classes_there / 4


def test_every_frozen_class_of_ours_is_made_so() -> None:
    modules = [p for p in Path(frozen.__file__).parents[1].rglob("*.py") if p.stem != "frozen"]
    texts = {p.name: p.read_text(encoding="utf-8") for p in modules}
    taken = [name for name, text in texts.items() if "dataclass(frozen=True" in text and FROM_LIBRARY.search(text)]
    assert taken == [], "from blankwright.base.frozen import dataclass"
