"""What the suite takes of a long list of cases passes through every row of what the list was made of."""

from __future__ import annotations

import itertools

import pytest

from rooms import often


@pytest.mark.parametrize("most", [7, 20, 31])
@pytest.mark.parametrize("sizes", [(12, 3, 3), (4, 3, 2), (5, 12), (54, 3, 3), (19, 2)])
def test_a_share_is_no_larger_than_asked_and_passes_through_every_row(
    sizes: tuple[int, ...], most: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(often, "EVERY_CASE", False)
    cases = list(itertools.product(*map(range, sizes)))
    met = set()
    for turn in range(-(-len(cases) // most)):
        taken = often.share(cases, most, turn)
        assert len(set(taken)) == min(most, len(cases))
        assert taken == sorted(taken)
        met |= set(taken)
        for row, size in enumerate(sizes):
            if size * 3 <= len(taken):
                assert {case[row] for case in taken} == set(range(size))
    assert met == set(cases), "turns together are the whole list"


def test_every_case_is_every_case(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(often, "EVERY_CASE", True)
    assert often.share(range(100), 7) == list(range(100))
    assert often.often(100, 7) == 100
