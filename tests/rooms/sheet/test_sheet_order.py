"""Which stages a knife has and in which order; what a sheet must never say."""

from __future__ import annotations

import re

import pytest

from blankwright.base.errors import RequestError
from blankwright.design.request import read_design
from blankwright.knife.knife import finish
from blankwright.sheet.model import Stage
from blankwright.sheet.stages import check_order, in_order
from blankwright.shop.rough import pieces
from rooms.every import cases
from rooms.sheet.sheet_cases import CASES, codes, page, sheet, stage, words, work

COLD = ("spreader", "wooden-chef", "wooden-scales", "hardened", "hardened-hidden")
"""Boards of wood, and blanks that are hard already."""
HEATED = [n for n in CASES if n not in COLD]


@cases("name", CASES)
def test_what_is_hardened_is_hardened_on_its_sheet(name: str) -> None:
    assert ("harden" in codes(name)) == (name in HEATED)


def test_the_whole_order_of_a_knife_cut_from_sheet() -> None:
    assert codes("chef") == [
        "head", "list", "stock", "cut", "profile", "drill", "normalise", "grind", "harden",
        "temper", "thin", "finish", "handle",
        "shape", "edge", "care",
    ]  # fmt: skip


@cases("name", HEATED)
def test_nothing_is_hardened_before_it_is_drilled(name: str) -> None:
    found = codes(name)
    assert found.index("harden") < found.index("temper") < found.index("thin")
    if work(name).start.bought:
        assert not {"cut", "profile", "drill"} & set(found), "its outline and holes are there already"
        return
    if work(name).holes:
        assert found.index("drill") < found.index("grind") < found.index("harden")
    assert found.index("profile") < found.index("harden")


def test_an_order_that_hardens_first_is_refused() -> None:
    with pytest.raises(RequestError, match="before its holes are drilled"):
        check_order((Stage("harden", "Harden"), Stage("drill", "Drill")))
    check_order((Stage("drill", "Drill"), Stage("harden", "Harden")))


@cases(
    ("name", "start"),
    [("chef", "sheet"), ("file", "found"), ("spring", "found"), ("plasma", "bar"), ("spreader", "board"),
     ("hardened", "hardened-blank"), ("forged", "forged"), ("soft-blank", "blank")],
)  # fmt: skip
def test_how_the_work_starts(name: str, start: str) -> None:
    assert work(name).start.name == start


@cases("name", ["spreader", "wooden-scales", "wooden-chef"])
def test_a_wooden_sheet_has_no_steel_in_it(name: str) -> None:
    assert not {"coupon", "harden", "temper", "forge", "grind"} & set(codes(name))
    if name != "wooden-scales":
        assert not re.search(r"\b(steel|harden|quench|temper|tang|spark|rust|burr)", words(sheet(name)).lower())
        assert "oil" in words(sheet(name)).lower()
        assert "handle" not in codes(name)


@pytest.mark.parametrize("name", ["hardened", "hardened-hidden"])
def test_a_hardened_blank_is_neither_drilled_nor_heated(name: str) -> None:
    assert not {"coupon", "harden", "temper", "forge", "grind", "drill", "cut", "profile"} & set(codes(name))
    said = words(sheet(name)).lower()
    assert not re.search(r"\bdrill|quench|\bheat (it|the)|normalis|oven|anneal", said)
    assert "cool enough to hold" in said


def test_the_notes_and_the_page_keep_to_it_too() -> None:
    assert not re.search(r"\bsteel|harden|quench|temper|\btang\b", page("spreader").split("</style>")[1].lower())
    for name in ("hardened", "hardened-hidden"):
        assert not re.search(
            r"\bdrill (it|before|the)|, drill|quench|(before|after) hardening|ream<", page(name).lower()
        )
    assert "after hardening" in page("chef")


@cases("name", ["file", "spring", "found-named"])
def test_found_steel_gets_a_coupon_and_no_figure_of_heat(name: str) -> None:
    found = codes(name)
    assert found.index("stock") < found.index("coupon") < found.index("cut") < found.index("harden")
    for code in ("coupon", "harden", "temper"):
        one = stage(name, code)
        assert not one.tables
        assert not [row for row in one.rows if "°C" in str(row.values)]
        assert "HRC" not in words(one)
        assert "Soak" not in words(one)
    assert "snap it" in words(stage(name, "coupon"))


@cases("name", ["file", "spring", "found-named"])
def test_plating_is_asked_about_before_any_heat(name: str) -> None:
    first = stage(name, "stock").steps[0].text()
    assert first.startswith("First ask: is it plated")
    assert codes(name).index("stock") < min(codes(name).index(c) for c in ("coupon", "cut", "harden"))


@cases("name", [n for n in HEATED if n not in ("file", "spring", "found-named")])
def test_known_steel_has_an_oven_and_a_temper_and_promises_nothing(name: str) -> None:
    oven, wrap = stage(name, "harden").tables[0], work(name).heat.entry.protect.by
    assert oven.title.startswith("Oven")
    assert oven.rows[-2].label == "that is, after the oven is back"
    assert oven.rows[-1].label == (
        "then soak, at least" if oven.rows[-1].note.startswith("not covered") else "then soak"
    )
    wrapped = {"none": "bare blade", "coat": "coated blade", "foil": "blade in its foil"}[wrap]
    assert oven.rows[-2].note == f"for the {wrapped}"
    assert stage(name, "temper").tables
    assert "No hardness is promised" in words(stage(name, "temper"))
    assert ("torch or forge heats unevenly" in words(stage(name, "harden"))) == (wrap != "foil")


def test_a_forging_has_no_figure_the_design_does_not_hold() -> None:
    one = stage("forged", "forge")
    assert [row.label for row in one.rows] == ["Drawn out to, at least", "Normalise at", "Both faces ground to"]
    assert codes("forged").index("forge") < codes("forged").index("cut")


def test_no_step_contradicts_its_own_stage_or_the_next() -> None:
    """The order of the hands, seen with all papers side by side (common practice, no source)."""

    def steps(name: str, code: str) -> list[str]:
        return [line.text() for line in stage(name, code).steps]

    def at(found: list[str], words: str) -> int:
        return next(n for n, text in enumerate(found) if words in text)

    hot = steps("preheated", "harden")
    assert at(hot, "at each preheat") < at(hot, "settled there"), "heated through before it goes to the set point"
    assert not any("settle at its set point, load quickly" in text for text in hot)
    assert any("settle at its set point, load quickly" in text for text in steps("chef", "harden"))
    forged = steps("forged", "forge")
    assert at(forged, "anneal") < at(forged, "grind both faces flat"), "a file bites before the faces are ground"
    torch = steps("torch", "cut")
    order = ("On scrap first", "scribe or soapstone", "Take every bit of paper", "Clamp the guide", "Begin at", "cool")
    assert [at(torch, words) for words in order] == sorted(at(torch, words) for words in order)
    assert "carbon steel the same day" not in words(sheet("stainless"))
    assert "Tape the edge until" not in words(sheet("hardened")), "it is ground at the next stage"
    assert "Cut 1 pin to" in words(sheet("hidden"))


def test_hands_never_meet_a_step_twice_or_too_late() -> None:
    """Each was met at the vice, with the papers read line by line (common practice, no source)."""

    def steps(name: str, code: str) -> list[str]:
        return [line.text() for line in stage(name, code).steps]

    assert steps("wooden-chef", "thin")[0].startswith("Plane both faces alike toward the tip"), "its spine is tapered"
    single = steps("single", "edge")
    assert "burr runs from heel to tip" in single[1]
    assert "take the burr off" in single[2], "a burr comes before it is taken off"
    assert any("stop after the first temper" in text for text in steps("preheated", "temper")), "D2 is frozen between"
    assert not any("stop after the first temper" in text for text in steps("stainless", "temper"))
    assert any("Centre-punch the holes" in text for text in steps("torch", "cut"))
    assert not any("entre-punch" in text for text in steps("torch", "drill")), "punched before it is cut"
    assert any("Centre-punch the centres" in text for text in steps("plasma", "drill")), "a machine punches nothing"
    assert "finer than a carbon blade" in words(stage("stainless", "finish")), "too late when the handle is on"
    assert "finer than a carbon blade" not in words(stage("stainless", "care"))
    assert "handle first" not in words(stage("spreader", "care"))
    rod = next(row for row in stage("spring", "list").tables[0].rows if row.label.startswith("rod"))
    cut = next(row for row in stage("spring", "handle").rows if "pins to" in row.label)
    assert "80.40 mm" in " ".join(value.shown() for value in rod.values if not isinstance(value, str)), rod
    assert "26.8" in " ".join(value.shown() for value in cut.values if not isinstance(value, str)), "three of them"


def test_what_comes_off_found_steel_is_taken_off_by_a_step() -> None:
    for name, found in pieces().items():
        taken = [rule.text for rule in found.rules if rule.kind == "do"]
        assert any(re.search(r"[Gg]rind|away", text) for text in taken), name
    rasp = [rule.text for rule in pieces()["rasp"].rules]
    assert "before it is softened" in rasp[0]


def test_single_bevel_raises_one_face_only() -> None:
    for name, side in (("single", "right"), ("left-single", "left")):
        one = stage(name, "edge")
        assert one.rows[0].label == f"Edge angle, {side} face only"
        assert len(one.tables[0].rows) == 2
        assert "other face flat on the stone, just to take the burr off" in words(one)
        assert len({row.label for row in stage(name, "grind").tables[0].rows}) == len(
            stage(name, "grind").tables[0].rows
        )


def test_stainless_and_carbon_are_kept_differently() -> None:
    assert stage("stainless", "care").steps != stage("chef", "care").steps
    assert "chromium" in words(stage("stainless", "profile"))


def test_a_start_that_does_not_go_with_wood_is_refused() -> None:
    with pytest.raises(RequestError, match=r"hardened-blank.*does not go with a blade of.*Allowed: bar, blank"):
        finish(read_design("spreader", {"handle.construction": "one-piece", "start.from": "hardened-blank"}))
    bought = finish(read_design("spreader", {"handle.construction": "one-piece", "start.from": "blank"}))
    assert "cut" not in [s.code for s in in_order(bought, None, None)]


def test_an_unknown_start_is_told_with_what_is_allowed() -> None:
    with pytest.raises(RequestError, match="bar, blank, forged, found, hardened-blank"):
        read_design("chef", {"start.from": "kit"})
