"""Files: the same bytes every time, whole or not at all, and nothing left behind when the proof fails."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import blankwright.desk.make as making
from blankwright.base.errors import DesignError, ProofError, RequestError
from blankwright.base.onefile import write_new
from blankwright.cutting.dxf import CutFile, dxf_text
from blankwright.cutting.style import PLAIN
from blankwright.design.request import read_design
from blankwright.desk.make import make
from blankwright.geometry.outline import Outline
from rooms.design.cases import SOME_KINDS
from rooms.often import repeated, share
from rooms.written import in_folder, under

pytestmark = repeated

NAMES = ("chef_cut_mm.dxf", "chef_drawing_mm.svg", "chef.json")


def contents(folder: Path) -> dict[str, bytes]:
    """Return every file under a folder with its bytes, hidden ones too, but the record of what was written."""
    return {str(p.relative_to(folder)): p.read_bytes() for p in sorted(under(folder))}


@repeated
@pytest.mark.parametrize(("name", "construction"), share(SOME_KINDS, 2))
def test_the_same_design_gives_the_same_bytes(tmp_path: Path, name: str, construction: str) -> None:
    design = read_design(name, {"handle.construction": construction})
    make(design, tmp_path / "a", ("finished", "notes"))
    make(design, tmp_path / "b", ("finished", "notes"))
    assert contents(tmp_path / "a") == contents(tmp_path / "b")
    assert len(contents(tmp_path / "a")) == 8


def test_two_processes_give_the_same_bytes(tmp_path: Path) -> None:
    """This one and one with another seed of hashes."""
    seed = "1" if os.environ.get("PYTHONHASHSEED") != "1" else "2"
    line = [sys.executable, "-m", "blankwright", "make", "chef", "--out", "there"]
    subprocess.run(line, cwd=tmp_path, env=os.environ | {"PYTHONHASHSEED": seed}, check=True, capture_output=True)
    make(read_design("chef"), tmp_path / "here")
    assert contents(tmp_path / "here") == contents(tmp_path / "there")


def test_the_files_are_those_of_the_contract(tmp_path: Path) -> None:
    made = make(read_design("chef", {"name": "Galley Chef"}), tmp_path)
    assert sorted(p.name for p in in_folder(tmp_path / "galley-chef")) == sorted(
        [
            "galley-chef_cut_mm.dxf",
            "galley-chef_drawing_mm.svg",
            "galley-chef_template_a4.pdf",
            "galley-chef_sheet.html",
            "galley-chef_card_a4.pdf",
            "galley-chef_note.txt",
            "galley-chef_check_mm.pdf",
            "galley-chef.json",
        ]
    )
    assert made.folder == tmp_path / "galley-chef"
    assert json.loads((made.folder / "galley-chef.json").read_text(encoding="utf-8")) == made.report


def test_only_the_cutting_file_when_only_that_is_asked_for(tmp_path: Path) -> None:
    made = make(read_design("chef"), tmp_path, (), True)
    assert list(contents(tmp_path)) == [str(Path("chef") / NAMES[0])]
    assert made.report["files"] == [NAMES[0]]


def test_the_drawing_is_true_to_size(tmp_path: Path) -> None:
    make(read_design("chef"), tmp_path)
    head = (tmp_path / "chef" / NAMES[1]).read_text(encoding="utf-8")[:600]
    width, height = (re.search(rf'{side}="([\d.]+)mm"', head) for side in ("width", "height"))
    box = re.search(r'viewBox="0 0 ([\d.]+) ([\d.]+)"', head)
    assert width is not None
    assert height is not None
    assert box is not None
    assert (width[1], height[1]) == (box[1], box[2])


def shifted(content: CutFile) -> CutFile:
    return replace(content, contours=(content.contours[0].moved(0.4, -0.3),))


def scaled(content: CutFile) -> CutFile:
    v = content.contours[0].vertices * np.array([25.4, 25.4, 1])
    return replace(content, contours=(Outline(v, content.contours[0].regions),))


def shrunk(content: CutFile) -> CutFile:
    v = content.contours[0].vertices * np.array([0.97, 0.97, 1])
    return replace(content, contours=(Outline(v, content.contours[0].regions),))


def holed(content: CutFile) -> CutFile:
    return replace(content, holes=content.holes[1:])


def moved_hole(content: CutFile) -> CutFile:
    first = replace(content.holes[0], x_mm=content.holes[0].x_mm + 0.2)
    return replace(content, holes=(first, *content.holes[1:]))


def straightened(content: CutFile) -> CutFile:
    v = content.contours[0].vertices.copy()
    v[np.abs(v[:, 2]) > 1e-9, 2] = 0.0  # all arcs cut short to their chords
    return replace(content, contours=(Outline(v, content.contours[0].regions),))


def opened(text: str) -> str:
    lines = text.splitlines()
    at = lines.index("AcDbPolyline")
    flag = next(i for i in range(at, len(lines)) if lines[i].strip() == "70" and lines[i + 1].strip() == "1")
    lines[flag + 1] = "     0"
    return "\n".join(lines) + "\n"


def renamed_unit(text: str) -> str:
    return re.sub(r"(\$INSUNITS\n *70\n) *4", r"\g<1>     1", text)


def without_contour(text: str) -> str:
    return text.replace("\nLWPOLYLINE\n", "\nSPLINE\n")


def doubled(text: str) -> str:
    piece = re.search(r"  0\nLWPOLYLINE\n.*?(?=  0\nCIRCLE\n|  0\nENDSEC\n)", text, re.S)
    assert piece is not None
    again = re.sub(r"(  5\n)([0-9A-F]+)", r"\g<1>FF0", piece[0], count=1)
    return text.replace(piece[0], piece[0] + again)


def cut_short(text: str) -> str:
    return text[: len(text) // 2]


WRITERS: dict[str, Callable[[CutFile], str]] = {
    "shifted": lambda c: dxf_text(shifted(c)),
    "97 per cent": lambda c: dxf_text(shrunk(c)),
    "scaled by 25.4": lambda c: dxf_text(scaled(c)),
    "arcs lost": lambda c: dxf_text(straightened(c)),
    "hole dropped": lambda c: dxf_text(holed(c)),
    "hole moved": lambda c: dxf_text(moved_hole(c)),
    "another unit named": lambda c: renamed_unit(dxf_text(c)),
    "inches": lambda c: dxf_text(replace(c, style=replace(PLAIN, unit="in"))),
    "contour open": lambda c: opened(dxf_text(c)),
    "contour lost": lambda c: without_contour(dxf_text(c)),
    "contour doubled": lambda c: doubled(dxf_text(c)),
    "half a file": lambda c: cut_short(dxf_text(c)),
    "empty file": lambda _: "",
}


@pytest.mark.parametrize("fault", WRITERS)
def test_a_fault_of_the_writer_leaves_no_file_behind(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, fault: str
) -> None:
    content = making.cut_file(making.column([making.deliver(making.finish(read_design("chef")))], 1))
    good, spoiled = dxf_text(content), WRITERS[fault](content)
    assert spoiled != good
    monkeypatch.setattr(making, "dxf_text", WRITERS[fault])
    with pytest.raises((ProofError, RequestError)):
        make(read_design("chef"), tmp_path / "new" / "deeper")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("fault", ["shifted", "hole dropped", "contour open"])
def test_a_failed_proof_keeps_the_older_files(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, command: Callable[..., object], fault: str
) -> None:
    make(read_design("chef"), tmp_path)
    before = contents(tmp_path)
    monkeypatch.setattr(making, "dxf_text", WRITERS[fault])
    ran = command("make", "chef", "--set", "blade.length=200mm", "--out", tmp_path)
    assert ran.code == 1  # type: ignore[attr-defined]
    assert " 0 wrong" not in ran.out  # type: ignore[attr-defined]
    assert "wrong" in ran.out  # type: ignore[attr-defined] - the report is printed all the same, with every finding
    assert "wrote" not in ran.out  # type: ignore[attr-defined]
    assert "does not prove right" in ran.err  # type: ignore[attr-defined]
    assert contents(tmp_path) == before


def test_an_unread_file_is_a_failed_proof_too(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, command: Callable[..., object]
) -> None:
    monkeypatch.setattr(making, "dxf_text", WRITERS["half a file"])
    assert command("make", "chef", "--out", tmp_path / "o").code == 1  # type: ignore[attr-defined]
    assert list(tmp_path.iterdir()) == []


def test_a_design_that_fails_leaves_nothing(tmp_path: Path) -> None:
    with pytest.raises(DesignError):
        make(read_design("chef", {"pins.count": "4", "pins.spacing": "100 mm"}), tmp_path / "o")
    assert list(tmp_path.iterdir()) == []


def test_a_file_in_the_way_of_the_folder(tmp_path: Path) -> None:
    (tmp_path / "out").write_text("mine", encoding="utf-8")
    with pytest.raises(RequestError, match="cannot be written"):
        make(read_design("chef"), tmp_path / "out")
    assert contents(tmp_path) == {"out": b"mine"}


def test_a_folder_in_the_way_of_a_file(tmp_path: Path) -> None:
    (tmp_path / "chef" / NAMES[2]).mkdir(parents=True)
    with pytest.raises(RequestError, match="cannot be written"):
        make(read_design("chef"), tmp_path)
    assert not list(tmp_path.rglob(".*"))


@pytest.mark.skipif(not Path("/proc/self").exists(), reason="needs a folder that nobody can write")
def test_a_folder_that_nobody_can_write() -> None:
    with pytest.raises(RequestError, match="cannot be written"):
        make(read_design("chef"), Path("/proc/knives"))


def test_a_full_disk_leaves_the_older_files(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    make(read_design("chef"), tmp_path)
    before = contents(tmp_path)

    def no_space(*_: object) -> str:
        raise RequestError("out: cannot be written (No space left on device).")

    monkeypatch.setattr("blankwright.drawing.svg.drawing_svg", no_space)
    with pytest.raises(RequestError, match="No space"):
        make(read_design("chef", {"blade.length": "200 mm"}), tmp_path)
    assert contents(tmp_path) == before


def test_an_unknown_layer_names_the_known_ones(tmp_path: Path) -> None:
    with pytest.raises(RequestError, match="finished"):
        make(read_design("chef"), tmp_path, ("finishd",))
    assert list(tmp_path.iterdir()) == []


def test_a_new_file_is_never_overwritten_unless_forced(tmp_path: Path) -> None:
    path = tmp_path / "mine.toml"
    write_new(path, "one\n", force=False)
    with pytest.raises(RequestError, match="--force"):
        write_new(path, "two\n", force=False)
    assert contents(tmp_path) == {"mine.toml": b"one\n"}
    write_new(path, "two\n", force=True)
    assert contents(tmp_path) == {"mine.toml": b"two\n"}
    with pytest.raises(RequestError, match=r"\.toml"):
        write_new(tmp_path / "mine.txt", "x", force=False)
    with pytest.raises(RequestError, match="cannot be written"):
        write_new(tmp_path / "no" / "folder.toml", "x", force=False)
    assert contents(tmp_path) == {"mine.toml": b"two\n"}
