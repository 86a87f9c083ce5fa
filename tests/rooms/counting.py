"""How much work something is, without a clock."""

from __future__ import annotations

import sys
from collections.abc import Callable


def calls_in(work: Callable[[], object]) -> int:
    """Return how many calls a piece of work makes, ours and the libraries'.

    The count is the same on a busy machine, and a loop that grows with the square of its input calls something in it.
    """
    count = 0

    def one_more(_frame: object, event: str, _arg: object) -> None:
        nonlocal count
        count += event in {"call", "c_call"}

    before = sys.getprofile()
    sys.setprofile(one_more)
    try:
        work()
    finally:
        sys.setprofile(before)
    return count
