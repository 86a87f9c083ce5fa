"""A writer is one function and one line of a list; everything else that a file needs follows from the list."""

from __future__ import annotations

import ast
import json
from pathlib import Path

import pytest

import blankwright
from blankwright.base.errors import RequestError
from blankwright.design.request import read_design
from blankwright.desk import writers
from blankwright.desk.make import make
from blankwright.knife.rules import DESIGN_CODES

PACKAGE = Path(blankwright.__file__).parent


def label(job: writers.Job) -> writers.Files:
    """A line to stick on the blank."""
    return {f"{job.knife.design.slug}_label.txt": f"{job.knife.design.title} {job.knife.code}\n"}


def test_one_line_adds_a_file_to_the_set_the_report_and_what_is_noticed_as_older(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    plain = make(read_design("paring"), tmp_path / "plain")
    monkeypatch.setattr(writers, "WRITERS", (*writers.WRITERS, writers.Writer(label, ("_label.txt",))))
    made = make(read_design("paring"), tmp_path)
    text = (tmp_path / "paring" / "paring_label.txt").read_text(encoding="utf-8")
    assert text == f"Paring knife {made.knife.code}\n"
    assert set(made.report["files"]) - set(plain.report["files"]) == {"paring_label.txt"}
    assert (
        json.loads((tmp_path / "paring" / "paring.json").read_text(encoding="utf-8"))["files"] == made.report["files"]
    )
    longer = make(read_design("paring", {"blade.length": "95 mm"}), tmp_path, only_cut=True)
    assert "paring_label.txt" in longer.older
    assert any("paring_label.txt" in note for note in longer.notes)


def test_a_writer_that_is_asked_for_by_a_word_brings_the_word_along(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    writer = writers.Writer(label, ("_label.txt",), "label", with_cut=True)
    with pytest.raises(RequestError, match="unknown word 'label'"):
        make(read_design("paring"), tmp_path, ("label",))
    monkeypatch.setattr(writers, "WRITERS", (*writers.WRITERS, writer))
    assert "paring_label.txt" not in make(read_design("paring"), tmp_path).report["files"]
    cut = make(read_design("paring"), tmp_path, ("label",), only_cut=True)
    assert cut.report["files"] == ["paring_cut_mm.dxf", "paring_label.txt"]


def test_every_file_of_a_whole_set_is_known_by_its_ending(tmp_path: Path) -> None:
    lasered = read_design("chef", {"cutting.process": "laser"})  # a water jet cannot mark
    made = make(lasered, tmp_path, writers.words(only_cut=False)[:-1])  # all but the table's program
    for name in made.report["files"]:
        assert any(Path(name).match(f"chef{pattern}") for pattern in writers.patterns()), name


def test_every_code_of_a_rule_stands_in_the_table() -> None:
    """A finding is its function and one line of DESIGN_CODES, which says what it is about."""
    used: set[str] = set()
    for name in (
        "knife/rules.py",
        "knife/grind_rules.py",
        "knife/heat.py",
        "knife/rough.py",
        "knife/blankholes.py",
        "desk/make.py",
    ):
        for node in ast.walk(ast.parse((PACKAGE / name).read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id.lower() == "finding":
                assert isinstance(node.args[0], ast.Constant)
                used.add(str(node.args[0].value))
    assert used == set(DESIGN_CODES)
