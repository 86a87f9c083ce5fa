"""A test over many cases hides none that fails."""

from __future__ import annotations

import inspect
from pathlib import Path

import pytest

from rooms.every import MOST_TOLD, cases, every
from rooms.often import repeated


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


def test_lists_above_each_other_are_tried_together_and_each_case_has_its_own_folder(tmp_path: Path) -> None:
    tried: list[tuple[str, int, bool]] = []

    @cases("number", [1, 2, 3], ids=lambda n: f"no{n}")
    @cases("name, long", [("chef", True), ("paring", False)])
    def check(name: str, long: bool, number: int, tmp_path: Path) -> None:
        """One case."""
        tried.append((name, number, long))
        assert list(tmp_path.iterdir()) == [], "empty"
        (tmp_path / "file").touch()
        assert (name, number) != ("paring", 2), "two"

    assert list(inspect.signature(check).parameters) == ["tmp_path"], "what pytest has to give it"
    with pytest.raises(pytest.fail.Exception) as caught:
        check(tmp_path=tmp_path)
    text = str(caught.value)
    assert sorted(tried) == [(n, i, n == "chef") for n in ("chef", "paring") for i in (1, 2, 3)]
    assert text.startswith("1 of 6 cases fail\ncase paring-False-no2\n")
    assert 'assert (name, number) != ("paring", 2), "two"' in text
    assert (check.__name__, check.__doc__) == ("check", "One case.")


def test_a_mark_below_is_the_tests_and_a_test_without_any_case_to_try_is_skipped() -> None:
    @cases("letter", "abc")
    @repeated
    def check(letter: str) -> None:
        if letter != told:
            pytest.skip("no tool")

    assert check.pytestmark == [repeated.mark]  # type: ignore[attr-defined]
    told = ""
    with pytest.raises(pytest.skip.Exception, match="no tool"):
        check()
    told = "b"
    with pytest.raises(pytest.fail.Exception, match="2 of 3 cases fail\ncase a\n"):
        check()
    with pytest.raises(AssertionError, match="no cases"):
        cases("letter", [])
    with pytest.raises(AssertionError, match="as many values"):
        cases("letter, number", [("a",)])
