"""Whatever a script hands in, the answer is a knife or the words of a wrong request, never a fault from within."""

from __future__ import annotations

import math
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import blankwright as bw
from blankwright.base.errors import RequestError, told
from blankwright.design.request import read_design
from blankwright.desk.script import Knife, row
from blankwright.knife.aimed import aimed_text
from rooms.every import every

NOTHING: Any = None
HUGE = 10**5000


def knife() -> Knife:
    return bw.solve("chef")


class Loose:
    """An executor that gives answers instead of futures."""

    def submit(self, fn: Any, *args: Any) -> Any:
        return fn(*args)


WRONG: dict[str, Callable[[], object]] = {
    f"settings={told(value)}": lambda value=value: bw.solve("chef", settings=value)  # type: ignore[misc]
    for value in (5, ["a"], "pins.count", {5: "x"}, {NOTHING: "x"}, {"pins.count": object()}, {"pins.count": True},
                  {"pins.count": HUGE}, {"material.thickness": HUGE}, {"material.thickness": math.inf},
                  {"material.thickness": math.nan}, {"pins.positions": [object()]}, {"scales.material": ["beech"]},
                  {"scales.section": ["slab"]}, {"name": "a\nb"}, {"name": 5}, {"name": "a\u202eb"},
                  {"mark.text": "a\x1b[1m"})
}  # fmt: skip
WRONG |= {
    f"what={told(value)}": lambda value=value: bw.solve(value)  # type: ignore[misc]
    for value in (5, NOTHING, b"chef", "a\0.toml", "", object(), "x" * 5000, "x" * 5000 + ".toml")
}
WRONG |= {
    f"blade_length_mm={told(value)}": lambda value=value: bw.solve("chef", blade_length_mm=value)  # type: ignore[misc]
    for value in (HUGE, 10**400, math.inf, math.nan, "210 mm", True, NOTHING, 1j, np.array([1.0, 2.0]))
}
WRONG |= {
    f"overall_length_mm={value}": lambda value=value: bw.solve("chef", overall_length_mm=value)  # type: ignore[misc]
    for value in (math.nan, 1e300, -1, 0)
}
WRONG |= {
    f"aim weight {told(value)}": lambda value=value: knife().aim(["heel_height"], weight_g=value)  # type: ignore[misc]
    for value in (math.inf, math.nan, True, "180 g", 10**400, -5, 0)
}
WRONG |= {
    f"aim let {told(value)}": lambda value=value: knife().aim(value, weight_g=180)  # type: ignore[misc]
    for value in (NOTHING, 5, [5], [], [NOTHING], ["no_such"])
}
WRONG |= {
    f"sweep {told(value)}": lambda value=value: list(bw.sweep(value))  # type: ignore[misc]
    for value in (NOTHING, 5, "chef", [NOTHING], [5], ["chef"])
}
WRONG |= {
    "sweep by no executor": lambda: list(bw.sweep([read_design("chef")], 5)),  # type: ignore[arg-type]
    "row": lambda: row(NOTHING),
    "construction": lambda: bw.solve("chef", construction=5),  # type: ignore[arg-type]
    "cut": lambda: knife().cut(5),  # type: ignore[arg-type]
    "cut by a list": lambda: knife().cut(["water-jet"]),  # type: ignore[arg-type]
    "Knife": lambda: Knife(NOTHING),
    "load_family": lambda: bw.load_family(NOTHING),
    "load_family 5": lambda: bw.load_family(5),  # type: ignore[arg-type]
    "read_design": lambda: read_design("chef", 5),  # type: ignore[arg-type]
    "replace": lambda: read_design("chef").replace(settings=5),  # type: ignore[arg-type]
    "another family": lambda: read_design("chef").replace({"family": "paring"}),
    "another family of a family": lambda: bw.solve(bw.load_family("chef"), settings={"family": "paring"}),
    "no name": lambda: read_design("chef").replace(name=""),
    "a name that is none": lambda: bw.request("chef", name=5),  # type: ignore[arg-type]
    "two constructions": lambda: bw.request("chef", construction="full", settings={"handle.construction": "hidden"}),
    "a key given twice": lambda: bw.request("chef", settings={"material.thickness": 2, "material.thickness_mm": 3}),
    "another construction's dimension": lambda: bw.request("chef", tang_length_mm=100),
    "a construction of no family": lambda: bw.load_family("chef").dimension("blade_length", "ful"),
    "curvature of nothing": lambda: knife().curvature(NOTHING),
    **{
        f"curvature by {told(n)}": lambda n=n: knife().curvature("edge", n)  # type: ignore[misc]
        for n in (1, 2.5, "x", NOTHING, True, 10**12)
    },
    **{
        f"flattened by {told(mm)}": lambda mm=mm: knife().finished.flattened(mm)  # type: ignore[misc]
        for mm in ("a", NOTHING, [1], True, np.array([1.0, 2.0]))
    },
    "moved by words": lambda: knife().finished.moved("a", 0),  # type: ignore[arg-type]
    "turned by nothing": lambda: knife().finished.placed(math.nan, 0, 0),
    "a family of a number": lambda: bw.family_from_table(5, "own"),  # type: ignore[arg-type]
    "a family without a name": lambda: bw.family_from_table({}, NOTHING),
    "sweep by a kind of executor": lambda: list(bw.sweep([read_design("chef")], ThreadPoolExecutor)),  # type: ignore[arg-type]
    "sweep by what gives no future": lambda: list(bw.sweep([read_design("chef")], Loose())),
    "replace by no number": lambda: read_design("chef").replace(blade_length_mm=math.nan),
}
WRONG |= {
    f"place {told(words)}": lambda words=words: bw.place("paring", **({"stock": "mill_file"} | words))  # type: ignore[misc]
    for words in ({"stock": 5}, {"stock": "mill_fil"}, {"piece": "x"}, {"piece": 5}, {"largest": "blade.lenght"},
                  {"largest": 5}, {"grain_deg": 91}, {"grain_deg": "10 deg"}, {"grain_deg": math.nan})
}  # fmt: skip
WRONG |= {
    f"nest {told(words)}": lambda words=words: bw.nest(**({"job": "galley_set"} | words))  # type: ignore[misc]
    for words in ({"job": 5}, {"job": "galley"}, {"seconds": 0}, {"seconds": math.inf}, {"seconds": "1 s"},
                  {"seed": -1}, {"seed": 1.5}, {"workers": 0})
}  # fmt: skip


@every(WRONG)
def test_a_wrong_request_in_a_script_is_said_in_words(what: str) -> None:
    with pytest.raises(RequestError) as error:
        WRONG[what]()
    assert 10 <= len(str(error.value)) < 1500
    assert str(error.value).isprintable()


@every([("extras", 1.0), ("extras", None), ("extras", [5]), ("extras", {"stl": 1}), ("paper", 5), ("paper", None),
        ("out", None), ("out", 5), ("out", "a\0b"), ("out", b"out")])  # fmt: skip
def test_what_cannot_be_written_is_said_in_words(key: str, value: object) -> None:
    given: dict[str, Any] = {"out": Path("never-made"), key: value}
    with pytest.raises(RequestError):
        knife().write(**given)
    assert not Path("never-made").exists()


def test_an_outline_of_anything_is_refused() -> None:
    for rows in ("abc", NOTHING, [[1, 2]], [["a", "b", "c"]]):
        with pytest.raises(bw.BlankwrightError, match="an outline"):
            bw.Outline(rows)


def test_what_a_script_may_hand_in() -> None:
    assert [row["family"] for row in bw.sweep([knife(), read_design("paring")])] == ["chef", "paring"]
    assert read_design("chef", {"family": "paring"}).name == "paring"
    assert bw.solve("chef", blade_length_mm=np.float32(210.0)).dimensions_mm["blade_length"] == pytest.approx(210)
    assert knife().aim("heel_height", weight_g=180).reached == knife().aim(["heel_height"], weight_g=180).reached
    assert bw.solve(Path("chef")).design.name == "chef"


def test_an_aimed_design_of_a_long_name_can_be_read_again(tmp_path: Path) -> None:
    long = read_design("chef", {"name": "x" * 100})
    file = tmp_path / "long.toml"
    file.write_text(aimed_text(Knife(long).aim(["heel_height"], weight_g=180)), encoding="utf-8")
    assert read_design(file).name == "x" * 94 + " aimed"


def test_a_dimension_is_asked_once() -> None:
    with pytest.raises(bw.RequestError, match=r"blade\.length is asked beside blade_length_mm"):
        bw.request("chef", settings={"blade.length": 210}, blade_length_mm=220)


def test_a_row_that_failed_says_what_was_asked() -> None:
    one = bw.request("chef", blade_length_mm=5000, heel_height_mm=49)
    (row,) = bw.sweep([one])
    assert (row["blade_length_mm"], row["heel_height_mm"], row["tip_height_mm"]) == (5000, 49, None)
    assert row["error"]


def test_a_knife_keeps_its_design_and_a_slip_in_a_name_is_told() -> None:
    knife = bw.solve("chef")
    with pytest.raises(AttributeError):
        knife.design = bw.request("paring")  # type: ignore[misc]
    with pytest.raises(KeyError, match="did you mean blade_length"):
        knife.dimensions_mm["blade_lenght"]
