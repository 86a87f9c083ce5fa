"""`new` writes a commented design file, never over another one, and the file makes the family's own knife."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Callable
from pathlib import Path

import pytest

from blankwright.design.designfile import design_file
from blankwright.design.family import load_family
from blankwright.design.keys import SETTINGS
from blankwright.design.request import read_design
from blankwright.desk.script import Knife, solve
from blankwright.knife.code import design_table
from rooms.design.cases import FAMILIES, KINDS, family_table, toml_text, write_family
from rooms.every import cases
from rooms.often import repeated, share

Command = Callable[..., "object"]


@repeated
@pytest.mark.parametrize("name", share(FAMILIES, 4))
def test_a_new_file_makes_the_familys_own_knife(tmp_path: Path, command: Command, name: str) -> None:
    path = tmp_path / "Mein Messer 1.toml"
    assert command("new", name, path).code == 0
    ran = command("make", path, "--json", "--out", tmp_path / "out")
    assert ran.code == 0, ran.err
    report = json.loads(ran.out)
    assert report["design"]["name"] == "Mein Messer 1"
    assert (tmp_path / "out" / "mein-messer-1" / "mein-messer-1_cut_mm.dxf").is_file()
    vertices = report["outlines"]["finished"]["vertices"]
    assert vertices == solve(name).finished.vertices.tolist()


@cases("name", FAMILIES)
def test_every_dimension_and_setting_is_in_the_file_with_its_comment(name: str) -> None:
    family = load_family(name)
    text = design_file(family, "x")
    for d in family.offered(next(iter(family.curves))):
        (line,) = [
            row for row in text.splitlines() if d.meaning in row and row.lstrip("# ").startswith(d.key.split(".")[1])
        ]
        assert f"{d.default_mm:g} mm" in line
    for setting in SETTINGS:
        assert setting.meaning in text


@cases("name", FAMILIES)
def test_every_line_that_is_commented_out_can_be_taken_in(name: str) -> None:
    lines = design_file(load_family(name), "x").splitlines()
    commented = [line for line in lines if line.startswith("#") and " = " in line]
    assert len(commented) >= 8
    for line in commented:
        assert line.startswith("# ")
        assert tomllib.loads(line[2:])


def test_an_older_file_is_kept_without_force(tmp_path: Path, command: Command) -> None:
    path = tmp_path / "mine.toml"
    path.write_text("mine", encoding="utf-8")
    ran = command("new", "chef", path)
    assert ran.code == 2
    assert "--force" in ran.err
    assert path.read_text(encoding="utf-8") == "mine"
    assert command("new", "chef", path, "--force").code == 0
    assert tomllib.loads(path.read_text(encoding="utf-8"))["family"] == "chef"
    assert [p.name for p in tmp_path.iterdir()] == ["mine.toml"]


def test_json_output_names_the_file_whatever_its_letters(tmp_path: Path, command: Command) -> None:
    path = tmp_path / 'a "quoted" name.toml'
    ran = command("new", "chef", path, "--json")
    assert json.loads(ran.out)["files"] == [path.name]


def test_a_design_from_a_family_file_still_finds_it(
    tmp_path: Path, command: Command, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    write_family(tmp_path, family_table("chef") | {"name": "mine"}, "mine.toml")
    assert command("new", "mine.toml", "knife.toml").code == 0
    (tmp_path / "elsewhere").mkdir()
    monkeypatch.chdir(tmp_path / "elsewhere")
    assert command("make", tmp_path / "knife.toml").code == 0


@cases(("name", "construction"), KINDS)
def test_the_design_in_the_report_can_be_read_back(tmp_path: Path, name: str, construction: str) -> None:
    asked = {"handle.construction": construction, "allowance.spine": "1.25 mm", "name": 'The "one"'}
    d = load_family(name).dimension("blade_length", construction)
    first = Knife(read_design(name, {**asked, "blade.length": f"{(d.default_mm + d.greatest_mm) / 2} mm"}))
    path = tmp_path / "again.toml"
    path.write_text(toml_text(design_table(first.design)), encoding="utf-8")
    again = Knife(read_design(path))
    assert again.finished.vertices.tolist() == first.finished.vertices.tolist()
    assert again.cut().vertices.tolist() == first.cut().vertices.tolist()
    assert again.holes == first.holes
    assert again.design.name == 'The "one"'
    assert design_table(again.design) == design_table(first.design)
