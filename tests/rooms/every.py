"""One test over many cases: each case is tried, and all that fail are told by name."""

from __future__ import annotations

import traceback
from collections.abc import Callable, Iterable
from functools import partial
from inspect import signature
from typing import Any

import pytest

MOST_TOLD = 12
"""As many failures are told in full; of the others the name."""


def named(case: object) -> str:
    """Return the name of a case: its words, joined by a dash."""
    return "-".join(map(str, case)) if isinstance(case, tuple) else str(case)


def told(tries: Iterable[tuple[str, Callable[[], object]]], check: Callable[..., object]) -> None:
    """Try each case, and fail with the names of those that do, with line and reason.

    Where none can be tried the test is skipped; one that is skipped among others is told, or nobody would see it.
    """
    wrong: list[tuple[str, str]] = []
    tried = skipped = 0
    for name, attempt in tries:
        tried += 1
        try:
            attempt()
        except (Exception, pytest.fail.Exception, pytest.skip.Exception) as error:  # a skip would skip the rest
            skipped += isinstance(error, pytest.skip.Exception)
            frames = traceback.extract_tb(error.__traceback__)
            at = next(f for f in reversed(frames) if f.filename == check.__code__.co_filename or f is frames[0])
            wrong.append((name, f"  line {at.lineno}: {at.line}\n  {type(error).__name__}: {error}"))
    if wrong and skipped == tried:
        pytest.skip(wrong[0][1].strip())
    if wrong:
        first = "\n\n".join(f"case {name}\n{why}" for name, why in wrong[:MOST_TOLD])
        others = "".join(f"\ncase {name}" for name, _ in wrong[MOST_TOLD:])
        pytest.fail(f"{len(wrong)} of {tried} cases fail\n{first}{others}", pytrace=False)


def shown(test: Callable[..., None], check: Callable[..., object]) -> Callable[..., None]:
    """Let reports of a test name the check's own file, line and words, and marks below this one be the test's."""
    test.place_as = check  # type: ignore[attr-defined]
    test.__name__, test.__doc__, test.__module__ = check.__name__, check.__doc__, check.__module__
    test.pytestmark = [*getattr(check, "pytestmark", [])]  # type: ignore[attr-defined]
    return test


def every(
    cases: Iterable[Any], fixture: str | None = None, build: Callable[..., Any] | None = None
) -> Callable[[Callable[..., object]], Callable[..., None]]:
    """Turn a check of one case into a test of all of them.

    Hundreds of asserts over the same costly things are a handful of tests that share them; collecting and reporting
    each pair apart costs more than the asserts do.

    Args:
        cases: What to try. A case that is a tuple is also its own name.
        fixture: Name of a fixture that holds a function from a case to what is checked.
        build: The same as a plain function. Without either, a tuple is handed on as several arguments.
    """
    known = list(cases)
    assert known, "no cases: the test would always pass"

    def turn(check: Callable[..., object]) -> Callable[..., None]:
        def test(request: pytest.FixtureRequest) -> None:
            make = request.getfixturevalue(fixture) if fixture else build

            def attempt(case: Any) -> object:
                if make is not None:
                    return check(make(case))
                return check(*case) if isinstance(case, tuple) else check(case)

            told(((named(case), partial(attempt, case)) for case in known), check)

        return shown(test, check)

    return turn


def cases(
    names: str | Iterable[str], values: Iterable[Any], ids: Callable[[Any], object] | Iterable[object] | None = None
) -> Callable[[Callable[..., object]], Callable[..., None]]:
    """Do what pytest's own list of parameters does, in one test: for checks so short that a test costs more.

    Several stand above each other as pytest's own do: each case of one is tried with each of the others. What else the
    check takes are fixtures; `tmp_path` is an empty folder in each case.

    Args:
        names: Of the arguments, one, or several with commas.
        values: What they are in each case: a value, or as many as there are names.
        ids: What a case is called: a function of a value, or one name for each case; None for the value itself.
    """
    words = [word.strip() for word in names.split(",")] if isinstance(names, str) else list(names)
    known = [tuple(value) if len(words) > 1 else (value,) for value in values]
    assert known, "no cases: the test would always pass"
    assert all(len(value) == len(words) for value in known), "as many values as names"
    if ids is None or callable(ids):
        call = ids or named
        called = ["-".join(str(call(one)) for one in value) for value in known]
    else:
        called = [str(name) for name in ids]
    rows = [(name, dict(zip(words, value, strict=True))) for name, value in zip(called, known, strict=True)]

    def turn(below: Callable[..., object]) -> Callable[..., None]:
        check, lower = getattr(below, "tried", (below, [("", {})]))
        both = [(f"{b}-{a}" if b else a, {**some, **more}) for a, more in rows for b, some in lower]
        takes = signature(check)
        given = [one for name, one in takes.parameters.items() if name not in both[0][1]]

        def test(**fixtures: Any) -> None:
            def attempt(number: int, case: dict[str, Any]) -> object:
                mine = dict(fixtures)
                if "tmp_path" in mine:
                    mine["tmp_path"] = fixtures["tmp_path"] / str(number)
                    mine["tmp_path"].mkdir()
                return check(**case, **mine)

            told(((name, partial(attempt, number, case)) for number, (name, case) in enumerate(both)), check)

        test.__signature__ = takes.replace(parameters=given)  # type: ignore[attr-defined]  # what pytest asks for fixtures
        test.tried = check, both  # type: ignore[attr-defined]
        return shown(test, below)

    return turn
