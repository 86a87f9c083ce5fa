"""A file that a maker edited by hand is never lost: it is kept beside, and that is said."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from blankwright.base.library import templates_dir
from rooms.often import repeated, share
from rooms.written import in_folder

EDITED = "999\nmoved by hand\n"
WOODEN = ("--set", "handle.construction=one-piece")
"""A board of wood, whose papers are short."""
LINES = {
    "make": (["make", "chef", *WOODEN], "chef_cut_mm.dxf"),
    "cut": (["cut", "chef"], "chef_cut_mm.dxf"),
    "cut --part": (["cut", "chef", "--part", "template"], "chef_template_mm.dxf"),
    "template": (["template", "chef"], "chef_template_mm.svg"),
    "sheet": (["sheet", "chef", *WOODEN], "chef_sheet.html"),
    "weigh": (["weigh", "chef", "--with", "sections"], "chef_drawing_mm.svg"),
}


@repeated
@pytest.mark.parametrize("what", share(LINES, 3))
def test_an_edited_file_is_kept_and_told(what: str, tmp_path: Path, command: Callable[..., Any]) -> None:
    line, name = LINES[what]
    for length in ("200 mm", "210 mm"):  # written twice by us: nothing to keep
        first = command(*line, "--set", f"blade.length={length}", "--out", tmp_path)
        assert first.code == 0, first.err
        assert "note: " + name not in first.out + first.err
    folder = tmp_path / "chef"
    (folder / name).write_text(EDITED, encoding="utf-8")
    again = command(*line, "--out", tmp_path)
    said = f"{name} was not as it was last written here; what was in it is kept as {name}.kept"
    assert f"  note: {said}\n" in again.out
    assert (folder / f"{name}.kept").read_text(encoding="utf-8") == EDITED
    assert (folder / name).read_text(encoding="utf-8") != EDITED
    (folder / name).write_text(EDITED + "0\n", encoding="utf-8")
    as_data = command(*line, "--out", tmp_path, "--json")
    assert f"blankwright: note: {said}-2\n" in as_data.err
    assert json.loads(as_data.out)
    assert sorted(p.name for p in in_folder(folder) if ".kept" in p.name) == [f"{name}.kept", f"{name}.kept-2"]


def test_several_parts_in_one_file_are_kept_as_well(tmp_path: Path, command: Callable[..., Any]) -> None:
    service = tmp_path / "shop.toml"
    text = (templates_dir() / "services" / "jet.toml").read_text(encoding="utf-8")
    service.write_text(text.replace('parts = "one"', 'parts = "together"'), encoding="utf-8")
    line = ["cut", "chef", "paring", "--set", "material.thickness=3mm", "--service", service, "--out", tmp_path]
    assert command(*line).code == 0
    (dxf,) = (tmp_path / "together").glob("*.dxf")
    dxf.write_text(EDITED, encoding="utf-8")
    assert f"kept as {dxf.name}.kept" in command(*line).out
    assert (dxf.parent / f"{dxf.name}.kept").read_text(encoding="utf-8") == EDITED
