"""How often a check is repeated: fewer times in the suite, which has to end soon, and all in a run of its own.

`EVERY_CASE=1 pytest -m repeated` runs each check that uses this as often as its file says; the continuous check does so
after the suite. The cases of the suite are some of the same list, so that what is seen in one is seen in both, and they
are the same ones in every run.
"""

from __future__ import annotations

import math
import os
from collections.abc import Iterable
from typing import TypeVar

import pytest

Case = TypeVar("Case")

EVERY_CASE = os.environ.get("EVERY_CASE") in ("1", "long")
"""Whether all cases are asked for."""

LONG = os.environ.get("EVERY_CASE") == "long"
"""Whether those are asked for too that take hours together: before a release."""

repeated = pytest.mark.repeated
"""Marks the checks that have more cases than the suite runs."""


elsewhere = pytest.mark.skipif(not EVERY_CASE, reason="run with every case; the suite looks at its parts")
"""Marks checks that take many seconds and have one case only: they are left to the run of every case."""


def often(all_of_them: int, in_the_suite: int) -> int:
    """Return how many cases this run takes."""
    return all_of_them if EVERY_CASE else in_the_suite


def seldom(before_a_release: int, all_of_them: int, in_the_suite: int) -> int:
    """Return how many cases a check takes of which one takes seconds: all only with EVERY_CASE=long."""
    return before_a_release if LONG else often(all_of_them, in_the_suite)


GOLDEN = (math.sqrt(5) - 1) / 2
"""Steps of this part of a circle fall everywhere alike (the golden section)."""


def share(cases: Iterable[Case], at_most: int, turn: int = 0, *, whole: bool | None = None) -> list[Case]:
    """Return all cases, or in the suite at most so many of them, spread over the list, in their order.

    The step from one to the next is the golden part of the list's length, and shares no factor with it: of cases that
    are every row of one table with every row of another it soon meets all rows of both. However many rows are added,
    the suite takes no longer.

    Args:
        cases: All of them, in a steady order.
        at_most: How many the suite takes.
        whole: Whether all are taken; None for whether all cases are asked for.
        turn: The next turn takes the next so many: tests that share a list look at all of it in a few turns.
    """
    known = list(cases)
    n = len(known)
    if (EVERY_CASE if whole is None else whole) or n <= at_most:
        return known
    step = next(s for s in range(round(n * GOLDEN), 2 * n) if math.gcd(s, n) == 1)
    return [known[i] for i in sorted(k * step % n for k in range(turn * at_most, (turn + 1) * at_most))]
