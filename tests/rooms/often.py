"""How often a random check is repeated: fewer times in the suite, which has to end soon, and all in a run of its own.

`EVERY_CASE=1 pytest -m repeated` runs each check that uses this as often as its file says; the continuous check does so
after the suite. The cases of the suite are the first of the same list, so that what is seen in one is seen in both.
"""

from __future__ import annotations

import os

import pytest

EVERY_CASE = os.environ.get("EVERY_CASE") == "1"
"""Whether all cases are asked for."""

repeated = pytest.mark.repeated
"""Marks the checks that have more cases than the suite runs."""


def often(all_of_them: int, in_the_suite: int) -> int:
    """Return how many cases this run takes."""
    return all_of_them if EVERY_CASE else in_the_suite
