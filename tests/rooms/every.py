"""One test over many cases: each case is tried, and all that fail are told by name."""

from __future__ import annotations

import traceback
from collections.abc import Callable, Iterable
from typing import Any

import pytest

MOST_TOLD = 12
"""As many failures are told in full; of the others the name."""


def named(case: object) -> str:
    """Return the name of a case: its words, joined by a dash."""
    return "-".join(map(str, case)) if isinstance(case, tuple) else str(case)


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
            wrong: list[tuple[str, str]] = []
            for case in known:
                try:
                    if make is not None:
                        check(make(case))
                    elif isinstance(case, tuple):
                        check(*case)
                    else:
                        check(case)
                except (Exception, pytest.fail.Exception, pytest.skip.Exception) as error:  # a skip would skip the rest
                    frames = traceback.extract_tb(error.__traceback__)
                    at = next(f for f in reversed(frames) if f.filename == check.__code__.co_filename or f is frames[0])
                    wrong.append((named(case), f"  line {at.lineno}: {at.line}\n  {type(error).__name__}: {error}"))
            if wrong:
                told = "\n\n".join(f"case {name}\n{why}" for name, why in wrong[:MOST_TOLD])
                others = "".join(f"\ncase {name}" for name, _ in wrong[MOST_TOLD:])
                pytest.fail(f"{len(wrong)} of {len(known)} cases fail\n{told}{others}", pytrace=False)

        test.place_as = check  # type: ignore[attr-defined]  # reports then name the check's own file and line
        test.__name__, test.__doc__, test.__module__ = check.__name__, check.__doc__, check.__module__
        return test

    return turn
