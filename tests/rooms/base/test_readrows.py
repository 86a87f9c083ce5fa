"""The one reader of tables: what a class says of its fields judges a file's row and a script's row alike."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from pathlib import Path
from typing import Annotated, Any, Literal

import pytest

from blankwright.base.errors import RequestError
from blankwright.base.fields import Fields
from blankwright.base.frozen import dataclass
from blankwright.base.readrows import In, TableRow, need, read_row, read_rows
from blankwright.base.said import Status
from blankwright.base.units import length_mm
from rooms.every import cases


@dataclass(frozen=True)
class Part(TableRow):
    """A part of a row."""

    size: Annotated[float, In(1, 9)]
    source: str
    status: Status


@dataclass(frozen=True)
class Galley(TableRow):
    """A row with a field of every kind."""

    name: str
    long_mm: Annotated[float, In(1, 100, "mm", length_mm)]
    way: Literal["left", "right"]
    count: Annotated[int, In(0, 4)]
    on: bool
    part: Part
    parts: tuple[Part, ...]
    pairs: tuple[tuple[str, float], ...]
    by_name: Mapping[str, Part] = field(hash=False)
    purpose: str = field(default="", metadata={"key": "for"})
    other: Part | None = None
    words: tuple[str, ...] = ()

    def check(self) -> None:
        """Refuse what contradicts itself."""
        need(self.count > 0 or not self.on, "count must be above 0 when on.")


PART = {"size": 2, "source": "s", "status": "published"}
GOOD: dict[str, Any] = {
    "long": "12 mm", "way": "left", "count": 2, "on": True, "part": PART, "parts": [PART, [3.5, "t", "computed"]][:1],
    "pairs": [["a", 1], ["b", 2.5]], "by_name": {"x": PART}, "for": "a galley", "words": ["one"],
}  # fmt: skip


def read(**changes: Any) -> Galley:
    row = {k: v for k, v in (GOOD | changes).items() if v is not ...}
    return read_row(Galley, Fields(row, "x.toml [a]"), name="a")


def test_a_row_is_read_by_its_annotations() -> None:
    found = read()
    assert (found.name, found.long_mm, found.purpose, found.other) == ("a", 12.0, "a galley", None)
    assert found.pairs == (("a", 1.0), ("b", 2.5))
    assert found.by_name["x"] == found.part == found.parts[0]
    with pytest.raises(TypeError):
        found.by_name["y"] = found.part  # type: ignore[index]


def test_lists_may_stand_for_tables() -> None:
    assert read(parts=[[3.5, "t", "computed"]]).parts == (Part(3.5, "t", "computed"),)


@cases(
    ("change", "said"),
    [
        ({"long": ...}, "x.toml [a]: the key 'long' is missing."),
        ({"long": 12}, "x.toml [a] long: expected a text, got 12."),
        ({"long": "12"}, "x.toml [a] long: '12' has no unit"),
        ({"long": "2 m"}, "x.toml [a] long: 2000 mm is out of range. Allowed: 1 to 100 mm."),
        ({"way": "lefft"}, "x.toml [a]: unknown way 'lefft'. Did you mean 'left'? Allowed: left, right."),
        ({"count": 5}, "x.toml [a] count: expected a whole number 0 to 4, got 5."),
        ({"count": True}, "x.toml [a] count: expected a whole number 0 to 4, got True."),
        ({"count": 1.0}, "x.toml [a] count: expected a whole number 0 to 4, got 1.0."),
        ({"count": 0}, "x.toml [a]: count must be above 0 when on."),
        ({"on": 1}, "x.toml [a] on: must be true or false, got 1."),
        ({"part": 3}, "x.toml [a]: 'part' must be a table."),
        ({"part": PART | {"size": 10}}, "x.toml [a] [part] size: expected a number 1 to 9, got 10."),
        ({"part": PART | {"size": float("nan")}}, "x.toml [a] [part] size: expected a number 1 to 9, got nan."),
        ({"part": PART | {"status": "asked"}}, "x.toml [a] [part]: unknown status 'asked'."),
        ({"part": PART | {"sauce": "s"}}, "x.toml [a] [part]: unknown key 'sauce'. Did you mean 'source'?"),
        ({"parts": PART}, "x.toml [a]: 'parts' must be a list of tables, each headed [[parts]]"),
        ({"parts": [PART, {"size": 1}]}, "x.toml [a] [[parts]] number 2: the key 'source' is missing."),
        ({"parts": [[1, "s"]]}, "x.toml [a] parts number 1: must be a list of size, source, status, got 2 values."),
        ({"pairs": [["a"]]}, "x.toml [a] pairs number 1: must be a list of 2 values, got 1."),
        ({"pairs": [[1, 1]]}, "x.toml [a] pairs number 1 number 1: expected a text, got 1."),
        ({"by_name": {"x": {}}}, "x.toml [a] [by_name] [x]: the key 'size' is missing."),
        ({"words": "one"}, "x.toml [a]: 'words' must be a list"),
        ({"words": [1]}, "x.toml [a] words number 1: expected a text, got 1."),
        ({"fore": "x"}, "x.toml [a]: unknown key 'fore'. Did you mean 'for'?"),
    ],
)
def test_what_is_wrong_is_told_with_its_place(change: dict[str, Any], said: str) -> None:
    with pytest.raises(RequestError) as caught:
        read(**change)
    assert said in str(caught.value)


def test_a_row_made_in_a_script_is_judged_alike_and_may_say_what_the_maker_said() -> None:
    assert Part(2.0, "s", "asked").status == "asked"
    for bad in ((0.5, "s", "published"), (2.0, " ", "published"), (2.0, "s", "sure"), (float("inf"), "s", "published")):
        with pytest.raises(RequestError):
            Part(*bad)


def test_a_file_of_rows_names_them_by_their_tables(tmp_path: Path) -> None:
    path = tmp_path / "parts.toml"
    path.write_text('[a]\nsize = 1\nsource = "s"\nstatus = "computed"\n[b]\nfree = true\n', encoding="utf-8")
    assert list(read_rows(path, Part, ("b",))) == ["a"]
    with pytest.raises(RequestError, match=r"parts\.toml \[b\]: unknown key 'free'"):
        read_rows(path, Part)
