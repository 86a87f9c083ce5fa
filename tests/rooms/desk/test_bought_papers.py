"""A blank that exists, from a drawing to all papers: none tells to cut, drill or heat what is cut, drilled or hard.

The drawing is one of ours, written by the DXF library and lifted by the command; then soft and hardened, ground on one
face and on both, with scales and with a block, every paper is read as its reader gets it.
"""

from __future__ import annotations

import itertools
import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import ezdxf
import pytest

from blankwright.base.errors import RequestError
from blankwright.design.request import read_design
from blankwright.desk.partfiles import cut_parts
from blankwright.knife.knife import Knife, finish
from blankwright.knife.knobs import knob_of
from blankwright.sheet.stages import sheet_of
from rooms.blanks import blank_file, knife_of, row_of_holes
from rooms.desk.test_all_papers import HARDENED, judged, papers, sentences, sheet_faults
from rooms.every import cases
from rooms.often import repeated, share

Command = Callable[..., Any]

BEVELS: dict[str, dict[str, str]] = {
    "double": {},
    "single": {"grind.bevel": "single", "grind.right_share": "100 %"},
}
STEEL = {"material.grade": "80CrV2", "material.thickness": "3 mm"}


def drawing_of(knife: Knife, path: Path) -> None:
    """Write a knife's finished outline and holes as a drawing, turned and shifted as a drawing may be."""
    turned = knife.finished.placed(17.0, 40.0, 25.0)
    document = ezdxf.new("R2000")
    document.header["$INSUNITS"] = 4
    space = document.modelspace()
    space.add_lwpolyline([tuple(row) for row in turned.vertices.tolist()], format="xyb", close=True)
    for made in knife.holes:
        x, y, diameter = made.circle
        at = complex(x, y) * complex(0.9563047559630355, 0.29237170472273677) + complex(40, 25)
        space.add_circle((at.real, at.imag), diameter / 2)
    document.saveas(path)


@pytest.fixture(scope="module")
def chef() -> Knife:
    return knife_of("chef", {"pins.count": "3", "start.from": "hardened-blank", "grind.bevel": "single",
                             "grind.right_share": "100 %"})  # fmt: skip


def test_from_a_drawing_to_all_papers(chef: Knife, tmp_path: Path, command: Command) -> None:
    """A hardened blank ground on one face, with three holes: lift, new, make, sheet, card, and nothing else."""
    drawing_of(chef, tmp_path / "bought.dxf")
    assert command("lift", tmp_path / "bought.dxf", "--out", tmp_path).code == 0
    outline, design = tmp_path / "bought" / "bought_lifted.toml", tmp_path / "bought" / "galley.toml"
    ran = command("new", outline, design)
    assert ran.code == 0, ran.err
    assert "Write the blank's thickness in it, then: blankwright make" in ran.out
    ran = command("make", design, "--out", tmp_path / "out")
    assert (ran.code, "thickness is missing" in ran.err) == (2, True)
    changes = STEEL | BEVELS["single"] | {"handle.gap": "14 mm"}
    words = papers(command, tmp_path / "made", str(design), changes, printed=True)
    assert set(words) == {
        "terminal",
        "template",
        "sheet",
        "sheet, printed",
        "svg",
        "report",
    }
    knife = finish(read_design(design, changes))
    assert not judged(knife, words), "\n".join(judged(knife, words))
    assert len(knife.pins) == 3
    assert "measured    210.00 mm" in words["terminal"]
    assert "5 mm, the largest usual rod through a hole of 5.10 mm" in words["terminal"]
    assert "Outline and holes are those of bought.dxf" in words["terminal"]
    same = chef.weights.finished_knife
    found = finish(read_design(design, changes | {"grind.behind_edge": "0.25 mm", "grind.tip_thickness": "1 mm"}))
    assert same is not None
    assert found.weights.finished_knife is not None
    assert found.weights.finished_knife.mass_g == pytest.approx(same.mass_g, abs=0.05)


@repeated
@pytest.mark.parametrize("start", ["blank", "hardened-blank"])
def test_no_paper_of_a_blank_speaks_against_its_start_or_its_bevel(
    start: str, tmp_path: Path, command: Command
) -> None:
    wrong = []
    kinds = share(enumerate(itertools.product(("full", "hidden"), BEVELS)), 2, start == "blank")
    for number, (construction, bevel) in kinds:
        made = knife_of("utility", {"handle.construction": construction})
        (folder := tmp_path / str(number)).mkdir()
        path = blank_file(folder, made, row_of_holes(made, *((4.1, 4.1, 6.0) if construction == "full" else (3.1,))))
        changes = STEEL | BEVELS[bevel] | {"start.from": start}
        words = papers(command, folder / "out", str(path), changes, printed=number == kinds[0][0])
        knife = finish(read_design(path, changes))
        assert knife.construction == construction
        wrong += [f"{construction}, {bevel}: {fault}" for fault in (*judged(knife, words), *sheet_faults(knife))]
        wrong += [
            f"{construction}: {paper}: no measured size" for paper in ("terminal",) if "measured" not in words[paper]
        ]
    assert not wrong, "\n".join(wrong)


@cases("start", ["blank", "hardened-blank"])
@cases("bevel", BEVELS)
def test_the_stages_are_those_that_are_left(start: str, bevel: str, chef: Knife, tmp_path: Path) -> None:
    changes = STEEL | BEVELS[bevel] | {"start.from": start}
    knife = finish(read_design(blank_file(tmp_path, chef), changes))
    codes = [stage.code for stage in sheet_of(knife).stages]
    assert not {"cut", "profile", "drill"} & set(codes)
    assert ({"grind", "harden", "temper"} <= set(codes)) == (start == "blank")
    assert codes.index("stock") < codes.index("thin") < codes.index("handle") < codes.index("edge")
    assert knife.single == (bevel == "single")


def test_a_blank_of_unknown_steel_is_never_told_a_temperature(chef: Knife, tmp_path: Path) -> None:
    for start in ("blank", "hardened-blank"):
        knife = finish(read_design(blank_file(tmp_path, chef), {"material.thickness": "3 mm", "start.from": start}))
        assert knife.material.name == "unknown"
        told = " ".join(line.text() for stage in sheet_of(knife).stages for line in stage.steps)
        assert not re.search(r"(?:harden|quench|temper|soak)[^.]*\d °C", told, re.IGNORECASE)
        assert not sheet_faults(knife)


def test_a_wooden_blank_is_neither_steel_nor_cut(tmp_path: Path, command: Command) -> None:
    made = knife_of("spreader", {"handle.construction": "one-piece"})
    path = blank_file(tmp_path, made, [])
    changes = {"handle.construction": "one-piece", "material.grade": "sugar-maple", "material.thickness": "8 mm"}
    words = papers(command, tmp_path / "out", str(path), changes)
    knife = finish(read_design(path, changes))
    assert knife.start.name == "wooden-blank"
    assert not judged(knife, words), "\n".join(judged(knife, words))


def test_nothing_is_cut_and_no_cutting_file_is_written(chef: Knife, tmp_path: Path, command: Command) -> None:
    path = blank_file(tmp_path, chef)
    sets = [word for key, value in STEEL.items() for word in ("--set", f"{key}={value}")]
    ran = command("cut", path, *sets, "--out", tmp_path / "cut")
    assert ran.code == 2
    assert "its outline is cut already" in ran.err
    ran = command("make", path, *sets, "--json", "--out", tmp_path / "made")
    report = json.loads(ran.out)
    assert not [name for name in report["files"] if name.endswith(".dxf")]
    assert set(report["allowance"]["regions_mm"].values()) == {0.0}
    assert {hole["made_by"] for hole in report["holes"]} == {"there"}
    assert {row["how"] for row in report["dimensions"]} == {"measured", "followed"}


def test_scales_are_cut_along_the_real_tang(chef: Knife, tmp_path: Path) -> None:
    """GEOS: the cut scale holds the finished one, which is the tang behind the front, by the oversize asked for."""
    path = blank_file(tmp_path, chef)
    made = cut_parts(read_design(path, STEEL | {"handle.gap": "14 mm"}), tmp_path / "out", ["scales"], None)
    assert all(proof.ok for proof in made.proofs)


def test_the_check_can_fail(chef: Knife, tmp_path: Path) -> None:
    knife = finish(read_design(blank_file(tmp_path, chef), STEEL))
    assert any(re.search("|".join(HARDENED), s, re.IGNORECASE) for s in sentences("Drill the holes. Harden it."))
    assert judged(knife, dict.fromkeys(("terminal", "template", "report", "svg"), "Drill 5.1 mm, harden at 830 °C."))


@pytest.mark.parametrize("bevel", BEVELS)
def test_a_blank_that_is_ground_already_keeps_its_bevels(
    bevel: str, chef: Knife, tmp_path: Path, command: Command
) -> None:
    """Nothing is taken off but the edge: no paper says to grind, and what it weighs as bought is what it weighs."""
    path = blank_file(tmp_path, chef)
    changes = STEEL | BEVELS[bevel] | {"start.ground": "yes"}
    words = papers(command, tmp_path / "out", str(path), changes, printed=True)
    knife = finish(read_design(path, changes))
    assert not judged(knife, words), "\n".join(judged(knife, words))
    assert not sheet_faults(knife)
    (stage,) = [stage for stage in sheet_of(knife).stages if stage.code == "thin"]
    assert stage.title == "Measure the bevels"
    told = " ".join(line.text() for stage in sheet_of(knife).stages for line in stage.steps)
    assert not re.search(r"\bbelt\b|bring the bevel|thin the spine", told, re.IGNORECASE)
    assert knife.weights.ground_blade is not None
    assert knife.blank_mass_g == knife.weights.ground_blade.mass_g
    assert f"{knife.blank_mass_g:.1f} g" in words["sheet"]
    assert f"{knife.finished_blank.mass_g:.1f} g" not in words["sheet"]  # the flat plate that nobody has
    with pytest.raises(RequestError, match="holes, bevels and stock stand"):
        knob_of(knife, "grind.behind_edge")


@pytest.mark.parametrize("start", ["blank", "bar"])
def test_only_a_hardened_blank_has_its_bevels(start: str) -> None:
    with pytest.raises(RequestError, match=r"\[start\] ground: only a blank that is bought hardened"):
        _ = finish(read_design("chef", {"start.from": start, "start.ground": "yes"})).start
