"""Files of an earlier run lie beside those of a later one no more: a shop would cut by them."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from blankwright.base.errors import RequestError
from blankwright.base.files import write_files

SHEET = """format = 1
[[piece]]
name = "sheet"
kind = "sheet"
length = "400 mm"
width = "60 mm"
thickness = "3 mm"
quantity = 3
"""
JOB = 'name = "Set"\nstock = "sheet.toml"\ngap = "4 mm"\n[[part]]\ndesign = "chef"\nquantity = {}\n'


def names(folder: Path) -> set[str]:
    return {path.name for path in folder.iterdir() if not path.name.startswith(".")}


def test_a_smaller_job_of_the_same_name_leaves_no_sheet_of_the_larger(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, command: Callable[..., Any]
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "sheet.toml").write_text(SHEET)
    (tmp_path / "job.toml").write_text(JOB.format(2))
    assert command("nest", "job.toml", "--seconds", "0.5").code == 0
    out = tmp_path / "out" / "set"
    assert {"set_2_cut_mm.dxf", "set_2_note.txt", "set_2_layout_mm.svg"} <= names(out)
    (out / "set_2_note.txt").write_text("what the maker wrote")
    (out / "mine_2_cut_mm.dxf").write_text("of the maker's own")
    (out / "set_3_cut_mm.dxf").write_text("of the maker's own, of a name of ours")
    (tmp_path / "job.toml").write_text(JOB.format(1))
    ran = command("nest", "job.toml", "--seconds", "0.5")
    assert ran.code == 0
    left = names(out)
    assert not {name for name in left if name.startswith("set_2")} - {"set_2_note.txt.kept"}
    assert (out / "set_2_note.txt.kept").read_text() == "what the maker wrote"
    assert {"set_1_cut_mm.dxf", "mine_2_cut_mm.dxf", "set_3_cut_mm.dxf"} <= left
    assert "note: set_2_cut_mm.dxf was of an earlier run and is taken away: this one does not make it" in ran.out


def test_a_knife_that_no_longer_fits_leaves_no_template(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, command: Callable[..., Any]
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "sheet.toml").write_text(SHEET)
    assert command("place", "chef", "sheet.toml").code == 0
    out = tmp_path / "out" / "chef"
    pages = {name for name in names(out) if name.endswith(".pdf")}
    assert pages
    ran = command("place", "chef", "sheet.toml", "--set", "blade.length=300mm")
    assert ran.code == 1
    assert not pages & names(out)
    assert "chef_placing_mm.svg" in names(out)
    assert "is taken away" in ran.out


def test_what_is_taken_away_comes_back_where_the_set_cannot_be_moved_in(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    write_files(tmp_path, {"a_1": "one", "a_2": "two"})
    before = {path.name: path.read_bytes() for path in tmp_path.iterdir() if path.is_file()}
    replace = Path.replace

    def full(source: Path, target: Path) -> Path:
        if source.name == "a_1" and source.parent.name == "new":
            raise OSError(28, "no space left")
        return replace(source, target)

    monkeypatch.setattr(Path, "replace", full)
    with pytest.raises(RequestError):
        write_files(tmp_path, {"a_1": "new"}, re.compile("a_.+"))
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir() if path.is_file()} == before
