"""How much work is done, counted in calls: no clock, the same on every machine."""

from __future__ import annotations

import pytest

from rooms.counted import WORKS, Counted


@pytest.mark.parametrize("work", WORKS, ids=lambda work: work.name)
def test_no_more_calls_than_allowed(work: Counted) -> None:
    assert work.calls() <= work.most
