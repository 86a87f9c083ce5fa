"""Blankwright in a script: solve, change, weigh, cut, write, sweep."""

from __future__ import annotations

import math
import subprocess
import sys
import xml.etree.ElementTree as ElementTree
from concurrent.futures import Executor, ProcessPoolExecutor, ThreadPoolExecutor
from multiprocessing import get_context
from pathlib import Path

import pytest

import blankwright as bw
from blankwright.base.errors import BlankwrightError
from blankwright.design.family import family_from_table, load_family
from blankwright.desk.script import request, solve, sweep
from rooms.design.cases import FAMILIES, KINDS, family_table
from rooms.every import cases


@cases(("name", "construction"), KINDS)
def test_a_solved_knife_says_what_it_is(name: str, construction: str) -> None:
    knife = solve(name, construction=construction)
    v = knife.dimensions_mm
    assert f"{v['blade_length']:.2f}" in repr(knife)
    assert name in repr(knife)
    assert v["overall_length"] == pytest.approx(v["blade_length"] + v["handle_gap"] + v["handle_length"])
    assert knife.cut().area_mm2 > knife.finished.area_mm2 > 0
    mass = knife.mass()
    assert mass["cut_blank"] > mass["finished_blank"] * 0.98
    assert knife.design.construction == construction


def test_the_readme_lines() -> None:
    knife = bw.solve("chef", blade_length_mm=210, heel_height_mm=48)
    assert knife.dimensions_mm["blade_length"] == pytest.approx(210, abs=1e-6)
    assert knife.dimensions_mm["heel_height"] == pytest.approx(48, abs=1e-6)
    assert len(knife.cut("water-jet").vertices) > 10


@cases("process", ["water-jet", "plasma-table", "laser", "trace", "saw"])
def test_another_process_gives_another_cut_outline(process: str) -> None:
    knife = solve("chef")
    assert knife.cut(process).area_mm2 == pytest.approx(
        solve("chef", settings={"cutting.process": process}).cut().area_mm2, rel=1e-9
    )


def test_own_allowances_hold_for_any_process() -> None:
    knife = solve("chef", settings={f"allowance.{r}": "3 mm" for r in ("edge", "spine", "heel", "tang", "butt")})
    assert knife.cut("plasma-table").area_mm2 == pytest.approx(knife.cut().area_mm2, rel=1e-9)


def test_an_overall_length_is_a_dimension_too() -> None:
    assert solve("chef", overall_length_mm=350).dimensions_mm["overall_length"] == pytest.approx(350, abs=1e-6)


@cases(
    ("wrong", "word"),
    [
        ({"blade_lenght_mm": 210}, "blade_length_mm"),
        ({"blade_length": 210}, "blade_length_mm"),
        ({"construction": "half"}, "full"),
        ({"settings": {"pins.cuont": 2}}, "count"),
        (
            {"blade_length_mm": math.nan},
            "blade_length_mm, a length in mm such as blade_length_mm=210: expected a number",
        ),
        ({"blade_length_mm": math.inf}, "expected a number, got inf"),
        ({"overall_length_mm": math.nan}, "overall"),
        ({"overall_length_mm": -math.inf}, "overall"),
        ({"blade_length_mm": "210 mm"}, "blade_length_mm"),
        ({"blade_length_mm": None}, "blade_length_mm"),
        ({"overall_length_mm": [344]}, "overall_length_mm"),
    ],
)
def test_a_wrong_call_is_a_clear_error(wrong: dict[str, object], word: str) -> None:
    with pytest.raises(BlankwrightError) as caught:
        solve("chef", **wrong)  # type: ignore[arg-type]
    assert word in str(caught.value)


def test_a_changed_design_leaves_the_first_as_it_was() -> None:
    base = request("chef", blade_length_mm=210)
    changed = request(base, heel_height_mm=50)
    assert changed.dimensions_mm == {"blade_length": 210.0, "heel_height": 50.0}
    assert base.dimensions_mm == {"blade_length": 210.0}
    assert request(base, settings={"pins.count": 1}).settings["pins.count"] == 1
    assert base.settings["pins.count"] != 1


def test_a_family_made_in_python() -> None:
    own = family_from_table(family_table("chef") | {"name": "own"}, "own")
    assert solve(own).finished.area_mm2 == solve("chef").finished.area_mm2
    assert solve(own).design.name == "own"


def test_writing_from_a_script(tmp_path: Path) -> None:
    paths = solve("chef").write(tmp_path)
    assert sorted(p.name for p in paths) == [
        "chef.json",
        "chef_card_a4.pdf",
        "chef_check_mm.pdf",
        "chef_cut_mm.dxf",
        "chef_drawing_mm.svg",
        "chef_note.txt",
        "chef_sheet.html",
        "chef_template_a4.pdf",
    ]
    assert all(p.is_file() for p in paths)


def test_a_report_without_a_file_has_no_clearance() -> None:
    report = solve("chef").report()
    assert report["clearance"] == {"least_mm": None, "at_mm": None, "worst_case_part_mm": None}
    assert report["files"] == []


@cases("name", FAMILIES)
def test_the_picture_is_well_formed_and_true_to_size(name: str) -> None:
    knife = solve(name)
    root = ElementTree.fromstring(knife._repr_svg_())
    assert root.tag.endswith("svg")
    _, _, wide, high = map(float, root.attrib["viewBox"].split())
    assert wide >= knife.cut().size_mm[0]
    assert high >= knife.cut().size_mm[1]
    assert len([e for e in root.iter() if e.tag.endswith("path")]) >= 2


def variants() -> list[bw.Design]:
    chef = load_family("chef")
    span = chef.dimension("blade_length", "full")
    out = [request("chef", blade_length_mm=span.least_mm + i * 5.0) for i in range(20)]
    out.insert(7, request("chef", blade_length_mm=5000.0))
    return [*out, *(request(name) for name in FAMILIES)]


@pytest.fixture(scope="module")
def rows() -> list[dict[str, object]]:
    return list(sweep(variants()))


def test_a_sweep_gives_plain_rows_in_order(rows: list[dict[str, object]]) -> None:
    assert len(rows) == len(variants())
    for one, row in zip(variants(), rows, strict=True):
        assert all(v is None or isinstance(v, (str, float)) for v in row.values())
        if row["error"] is None and "blade_length" in one.dimensions_mm:
            assert row["blade_length_mm"] == pytest.approx(one.dimensions_mm["blade_length"], abs=1e-6)


def test_a_design_that_fails_is_a_row_with_its_error(rows: list[dict[str, object]]) -> None:
    (bad,) = [r for r in rows if r["error"] is not None]
    assert "blade.length" in str(bad["error"])
    assert rows.index(bad) == 7


def test_a_row_agrees_with_the_knife(rows: list[dict[str, object]]) -> None:
    for one, row in list(zip(variants(), rows, strict=True))[-len(FAMILIES) :]:
        knife = solve(one)
        assert row["finished_area_mm2"] == knife.finished.area_mm2
        assert row["cut_area_mm2"] == knife.cut().area_mm2
        assert row["overall_length_mm"] == knife.dimensions_mm["overall_length"]


@pytest.mark.parametrize("kind", ["threads", "processes"])
def test_any_executor_gives_the_same_rows(rows: list[dict[str, object]], kind: str) -> None:
    pool: Executor
    pool = ThreadPoolExecutor(2) if kind == "threads" else ProcessPoolExecutor(2, mp_context=get_context("spawn"))
    with pool:
        assert list(sweep(variants(), pool)) == rows


def test_a_sweep_of_nothing() -> None:
    assert list(sweep([])) == []


def test_every_public_name_is_what_it_says_in_any_order_of_imports() -> None:
    ok = "assert callable(bw.request)"  # a room of the same name would take its place
    lines = [
        f"import blankwright as bw; bw.solve('chef'); {ok}",
        f"import blankwright as bw; {ok}; bw.solve('chef'); {ok}",
        f"from blankwright.design.family import load_family; import blankwright as bw; {ok}",
        "import blankwright as bw; [getattr(bw, n) for n in bw.__all__]; assert callable(bw.sweep)",
    ]
    for line in lines:
        done = subprocess.run([sys.executable, "-c", line], capture_output=True, text=True, check=False)
        assert done.returncode == 0, done.stderr[-300:]


def test_an_unknown_public_name_is_an_attribute_error() -> None:
    with pytest.raises(AttributeError, match="nothing"):
        _ = bw.nothing
    assert set(bw.__all__) == set(dir(bw))


def test_a_sweep_weighs_when_asked() -> None:
    designs = [request("chef", blade_length_mm=length) for length in (200, 220)]
    plain, weighed = list(sweep(designs)), list(sweep(designs, weights=True))
    assert all("balance_mm" not in one for one in plain)
    knives = [solve(design) for design in designs]
    grams = [k.mass()["finished_knife"] for k in knives]
    assert [one["finished_knife_g"] for one in weighed] == pytest.approx(grams, abs=1e-8)  # a report has nine decimals
    assert [one["balance_mm"] for one in weighed] == [k.balance_mm for k in knives]
    with ProcessPoolExecutor(1) as workers:
        assert list(sweep(designs, workers, weights=True)) == weighed
