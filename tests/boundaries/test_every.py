"""A test over many cases hides none that fails."""

from __future__ import annotations

import pytest

from rooms.every import MOST_TOLD, every


def test_all_that_fail_are_told_with_line_and_reason(request: pytest.FixtureRequest) -> None:
    tried = []

    @every([("chef", 1), ("paring", 2), ("utility", 3), ("spreader", 4)])
    def check(name: str, number: int) -> None:
        """One case."""
        tried.append(name)
        assert number != 2, "two"
        if number == 3:
            pytest.fail("three")
        if number == 4:
            pytest.skip("four")

    with pytest.raises(pytest.fail.Exception) as caught:
        check(request)
    text = str(caught.value)
    assert tried == ["chef", "paring", "utility", "spreader"]
    assert text.startswith("3 of 4 cases fail\n")
    assert "chef" not in text
    for name, line, why in (
        ("paring-2", "assert number != 2", "two"),
        ("utility-3", 'pytest.fail("three")', "three"),
        ("spreader-4", 'pytest.skip("four")', "four"),
    ):
        told = text.partition(f"case {name}\n")[2].partition("\n\n")[0]
        assert line in told
        assert why in told
    assert (check.__name__, check.__doc__) == ("check", "One case.")


def test_of_very_many_that_fail_the_names_are_told(request: pytest.FixtureRequest) -> None:
    @every(range(MOST_TOLD + 30), build=lambda n: n + 100)
    def check(number: int) -> None:
        assert number < 100

    with pytest.raises(pytest.fail.Exception) as caught:
        check(request)
    assert all(f"\ncase {n}" in str(caught.value) for n in range(MOST_TOLD + 30))


def test_when_none_fails_nothing_is_told_and_no_cases_are_no_test(request: pytest.FixtureRequest) -> None:
    @every("abc")
    def check(letter: str) -> None:
        assert letter in "abc"

    check(request)
    with pytest.raises(AssertionError, match="no cases"):
        every([])
