"""The start decides what is still to be made, for every paper."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from blankwright.base.errors import RequestError
from blankwright.design.request import read_design
from blankwright.knife.knife import Knife, finish
from blankwright.knife.knobs import knob_of
from blankwright.knife.moves import what_moves_it
from rooms.every import cases
from rooms.written import in_folder

Command = Callable[..., Any]
BOUGHT = ("blank", "hardened-blank")


def started(start: str, **more: str) -> Knife:
    return finish(read_design("utility", {"start.from": start, **{k.replace("__", "."): v for k, v in more.items()}}))


@pytest.mark.parametrize("start", BOUGHT)
def test_a_bought_blank_has_no_oversize_and_its_holes(start: str) -> None:
    knife = started(start)
    assert (knife.process, knife.allowance, knife.outward) == (None, None, None)
    assert knife.cut is knife.finished
    assert {h.made.made_by for h in knife.holes} == {"there"}
    assert knife.cut_blank.mass_g == knife.finished_blank.mass_g
    with pytest.raises(RequestError, match="its outline is cut already, so there is no cutting file"):
        _ = knife.oversize


@cases("start", ["bar", "found", "forged"])
def test_every_other_start_is_cut_with_oversize(start: str) -> None:
    knife = started(start)
    assert knife.allowance is not None
    assert knife.cut.area_mm2 > knife.finished.area_mm2
    assert "there" not in {h.made.made_by for h in knife.holes}


def test_only_what_is_not_hard_yet_is_left_thick_before_hardening() -> None:
    assert started("hardened-blank").ground.before is None
    assert started("hardened-blank").weights.before_hardening is None
    assert started("blank").ground.before is not None


@pytest.mark.parametrize("start", BOUGHT)
def test_what_moves_a_bought_blank_is_its_grind_and_its_handle(start: str) -> None:
    """Steel that is cut, drilled and bought cannot be made thicker, longer or bored once more (common practice)."""
    changes = [move.change.text() for move in what_moves_it(started(start))]
    assert changes
    assert all(change.startswith(("tip", "scales")) for change in changes)


@cases("key", ["blade.length", "pins.diameter", "tang.butt_thickness", "material.thickness"])
def test_aiming_leaves_a_bought_blank_s_outline_holes_and_stock(key: str) -> None:
    with pytest.raises(RequestError, match=r"the blank is bought.*\[grind\] or \[scales\] or \[block\]"):
        knob_of(started("blank"), key)
    assert knob_of(started("blank"), "scales.thickness").key == "scales.thickness"


def test_found_steel_has_no_grade_that_nobody_named() -> None:
    assert started("found").material.name == "unknown"
    assert started("found", material__grade="1095").material.name == "1095"
    assert started("bar").material.name == "80CrV2"


@pytest.mark.parametrize("start", BOUGHT)
def test_make_writes_what_is_laid_on_a_bought_blank(start: str, tmp_path: Path, command: Command) -> None:
    assert command("make", "utility", "--set", f"start.from={start}", "--out", tmp_path).code == 0
    names = {path.name for path in in_folder(tmp_path / "utility")}
    assert names == {
        "utility_drawing_mm.svg", "utility_template_a4.pdf", "utility_sheet.html", "utility_card_a4.pdf",
        "utility.json",
    }  # fmt: skip
    report = json.loads((tmp_path / "utility" / "utility.json").read_text(encoding="utf-8"))
    assert report["outlines"]["cut"]["vertices"] == report["outlines"]["finished"]["vertices"]
    assert report["allowance"]["process"] is None
    assert not any(report["allowance"]["regions_mm"].values())


@cases("words", [["cut"], ["make", "--service", "jet"], ["make", "--with", "finished"]])
def test_a_cutting_file_of_a_bought_blank_is_refused(words: list[str], tmp_path: Path, command: Command) -> None:
    ran = command(words[0], "utility", "--set", "start.from=blank", *words[1:], "--out", tmp_path)
    assert ran.code == 2
    assert "no cutting file" in ran.err
    assert list(tmp_path.iterdir()) == []


def test_a_notch_left_for_later_is_left_on_the_sheet_too(tmp_path: Path, command: Command) -> None:
    for when, there, never in (
        ("after hardening", "ground to the line after hardening", "notch finished"),
        ("before hardening", "notch finished", "ground to the line after hardening"),
    ):
        ran = command("sheet", "chef", "--set", f"cutting.heel_notch={when}", "--json", "--out", tmp_path / when[:3])
        assert there in ran.out
        assert never not in ran.out
