"""A set of files is whole or not there; older states are named; names never fall on each other."""

from __future__ import annotations

from pathlib import Path

import pytest

from blankwright.base.errors import DesignError, RequestError
from blankwright.design.request import build_design, read_design
from blankwright.desk.make import make
from blankwright.desk.script import solve
from rooms.desk.test_make import contents
from rooms.every import cases


def test_a_set_that_cannot_be_completed_leaves_the_folder_as_it_was(tmp_path: Path) -> None:
    folder = tmp_path / "chef"
    make(read_design("chef"), tmp_path)
    (folder / "chef.json").unlink()
    (folder / "chef.json").mkdir()  # the last file of the set cannot be put in its place
    before = contents(tmp_path)
    with pytest.raises(RequestError, match="cannot be written"):
        make(read_design("chef", {"blade.length": "200 mm"}), tmp_path)
    assert contents(tmp_path) == before
    assert not list(folder.glob(".writing-*"))


def test_files_of_another_state_are_named(tmp_path: Path) -> None:
    assert make(read_design("chef"), tmp_path).older == ()
    again = make(read_design("chef"), tmp_path, (), True)
    assert again.older == ()  # the report in the folder is of this very design
    other = make(read_design("chef", {"blade.length": "240 mm"}), tmp_path, (), True)
    assert set(other.older) == {
        "chef_drawing_mm.svg", "chef_template_a4.pdf", "chef_sheet.html", "chef_card_a4.pdf", "chef_note.txt",
        "chef_check_mm.pdf",
        "chef.json",
    }  # fmt: skip


@cases(("one", "two"), [("厚刃", "薄刃"), ("Нож", "Меч"), ("刃 1", "刀 1")])
def test_names_that_lose_their_letters_stay_apart(one: str, two: str) -> None:
    slugs = [build_design({"name": name, "family": "chef"}, {}, "x", None).slug for name in (one, two)]
    assert slugs[0] != slugs[1]
    assert all(s.isascii() and s for s in slugs)


@cases(("name", "slug"), [("Ägäis Küche", "agais-kuche"), ("CON", "con-knife"), ("!!!", "knife")])
def test_names_become_plain(name: str, slug: str) -> None:
    assert build_design({"name": name, "family": "chef"}, {}, "x", None).slug == slug


def test_a_flame_does_not_cut_stainless() -> None:
    """Common practice."""
    with pytest.raises(RequestError, match="oxy-fuel cuts steel, not stainless"):
        solve("chef", settings={"material.grade": "14C28N", "cutting.process": "oxy-fuel"})
    carbon, stainless = (
        solve("chef", settings={"material.grade": grade, "cutting.process": "plasma-table"}).core.allowance.loss_mm
        for grade in ("80CrV2", "440C")
    )
    assert stainless["edge"] > carbon["edge"] + 0.5


def test_the_notch_never_undercuts_the_heel() -> None:
    for gap in (10.0, 14.0, 24.0):
        for height in (40.0, 58.0):
            knife = solve("chef", construction="hidden", handle_gap_mm=gap, heel_height_mm=height)
            notch = [
                x
                for (x, _, _), region in zip(knife.finished.vertices, knife.finished.regions, strict=True)
                if region == "heel"
            ]
            assert max(notch) <= 0.1


def test_a_hidden_tang_stays_in_its_handle() -> None:
    with pytest.raises(DesignError, match=r"at most 102\.00 mm works"):
        solve("chef", construction="hidden", tang_length_mm=110, handle_length_mm=105)


@cases(
    ("key", "value", "words"),
    [
        ("pins.material", "cheese", "unknown material"),
        ("scales.material", "cheese", "unknown material"),
        ("grind.behind_edge", "3 mm", "more than the stock"),
    ],
)
def test_settings_that_cannot_be_are_refused(key: str, value: str, words: str) -> None:
    with pytest.raises(RequestError, match=words):
        solve("chef", settings={"material.thickness": "2 mm", key: value})


def test_notes_are_plain_ascii_whatever_the_name(tmp_path: Path) -> None:
    design = build_design({"name": "Köchin 刀", "family": "chef"}, {}, "x", None)
    made = make(design, tmp_path, ("notes",), True)
    text = (made.folder / made.report["files"][0]).read_bytes()
    assert text.isascii()
    assert b"K\\U+00F6chin \\U+5200" in text
