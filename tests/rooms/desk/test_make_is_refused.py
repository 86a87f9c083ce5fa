"""Whatever goes wrong between the finished knife and the file: make says so, exits 1 and leaves no file.

One fault at a time, in what is written, in what is delivered and in the tables: the proof is told nothing of them.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from dataclasses import replace
from itertools import product
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import blankwright.desk.make as making
import blankwright.knife.rules as rules
import blankwright.shop.holes as shop_holes
from blankwright.base.errors import ProofError
from blankwright.base.finding import finding
from blankwright.base.said import said
from blankwright.cutting.delivery import Delivery, deliver
from blankwright.cutting.dxf import CutFile, CutHole, dxf_text
from blankwright.design.request import read_design
from blankwright.desk.proving import expected_of
from blankwright.desk.several import cut_together
from blankwright.geometry.chain import Chain
from blankwright.geometry.offset import parallel
from blankwright.geometry.outline import Outline
from blankwright.knife.knife import Knife, finish
from blankwright.shop.holes import HoleCut
from blankwright.shop.services import service, service_from
from rooms.design.cases import toml_text
from rooms.every import cases
from rooms.often import repeated, share
from truth.services_by_hand import changed, plain_table

WISHES = ("--set", "tang.lightening_count=1", "--set", "tang.lightening_diameter=8mm")
"""A hole that every way of cutting makes; pins are reamed by some and drilled by others."""

STYLES: dict[str, dict[str, Any] | None] = {
    "plain": None,
    "inches": changed("jet", {"file.unit": "in"}),
    "exploded R12": changed("plasma", {"holes.policy": "cut and mark"}),
    "exploded inches": changed("jet", {"file.unit": "in", "file.contours": "exploded"}),
    "chords": changed("jet", {"file.curves": "chords", "file.deviation": "0.02 mm"}),
    "own table": changed(
        "own-table",
        {
            "process": "water-jet",
            "table.kerf": "0.9 mm",
            "table.lead": "3 mm",
            "table.tabs": 2,
            "limits": [plain_table("own-table")["limits"][0] | {"smallest_hole": "1 mm"}],
        },
    ),
}


def grown_hole(content: CutFile) -> CutFile:
    if content.strokes:
        return _first_stroke(content, lambda v: np.column_stack([v[0, :2] + (v[:, :2] - v[0, :2]) * 1.08, v[:, 2]]))
    return _first_circle(content, lambda h: replace(h, cut_diameter_mm=(h.cut_diameter_mm or 0.0) + 0.25))


def shifted_hole(content: CutFile) -> CutFile:
    if content.strokes:
        return _first_stroke(content, lambda v: v + np.array([0.0, 0.2, 0.0]))
    return _first_circle(content, lambda h: replace(h, y_mm=h.y_mm + 0.2))


def _first_circle(content: CutFile, change: Callable[[CutHole], CutHole]) -> CutFile:
    at = next(i for i, h in enumerate(content.holes) if h.cut_diameter_mm is not None)
    return replace(content, holes=(*content.holes[:at], change(content.holes[at]), *content.holes[at + 1 :]))


def _first_stroke(content: CutFile, change: Callable[[Any], Any]) -> CutFile:
    """Change the path in the first hole; it begins at the hole's middle."""
    return replace(content, strokes=(Chain(change(content.strokes[0].vertices)), *content.strokes[1:]))


def dropped_hole(content: CutFile) -> CutFile:
    return replace(content, holes=content.holes[1:], strokes=content.strokes[1:])


def added_hole(content: CutFile) -> CutFile:
    if content.strokes:
        x, y = content.strokes[0].vertices[0, :2]
        return replace(content, strokes=(content.strokes[0].moved(60.0 - x, 25.0 - y), *content.strokes))
    return replace(content, holes=(*content.holes, CutHole(60.0, 25.0, 5.0)))


def other_unit(content: CutFile) -> CutFile:
    """Numbers and header in inches where mm are wanted, or the other way round."""
    return replace(content, style=replace(content.style, unit="in" if content.style.unit == "mm" else "mm"))


def scaled(content: CutFile) -> CutFile:
    return _bent(content, lambda v: v * [1.001, 1.001, 1.0])


def edge_inward(content: CutFile) -> CutFile:
    """The cutting edge lies lowest ahead of the heel; 0.05 mm is less than anyone sees."""

    def inward(vertices: Any) -> Any:
        v = vertices.copy()
        v[(v[:, 0] > 10) & (v[:, 0] < 150) & (v[:, 1] < 6), 1] += 0.05
        return v

    return _bent(content, inward)


def _bent(content: CutFile, change: Callable[[Any], Any]) -> CutFile:
    """Change every outline, or every cut of a path."""
    return replace(
        content,
        contours=tuple(Outline(change(one.vertices), one.regions) for one in content.contours),
        strokes=tuple(Chain(change(one.vertices)) for one in content.strokes),
    )


FAULTS: dict[str, tuple[Callable[[CutFile], CutFile], set[str]]] = {
    "hole 0.25 wider": (grown_hole, {"HOLE-DIAMETER"}),
    "hole shifted by 0.2": (shifted_hole, {"HOLE-PLACE"}),
    "hole dropped": (dropped_hole, {"HOLE-MISSING"}),
    "hole added": (added_hole, {"HOLE-EXTRA"}),
    "wrong unit": (other_unit, {"UNIT"}),
    "outline scaled by 1.001": (scaled, {"OVERSIZE"}),
    "edge 0.05 inward": (edge_inward, {"CLEARANCE"}),
}


def shop_of(style: str, folder: Path) -> tuple[object, ...]:
    """Return the words of the command line for a style."""
    table = STYLES[style]
    if table is None:
        return WISHES
    folder.mkdir(exist_ok=True)
    (folder / "shop.toml").write_text(toml_text(table), encoding="utf-8")
    return (*WISHES, "--service", folder / "shop.toml")


@pytest.mark.parametrize("style", STYLES)
def test_what_is_not_broken_is_made(tmp_path: Path, command: Any, style: str) -> None:
    word = "make" if style == "plain" else "cut"  # what is proven is the same, and the other papers take their time
    ran = command(word, "chef", "--out", tmp_path / "out", *shop_of(style, tmp_path / "shop"))
    assert (ran.code, ran.err) == (0, "")
    assert " 0 wrong" in ran.out
    assert len(list((tmp_path / "out").rglob("*.dxf"))) == 1


@repeated
@pytest.mark.parametrize(("fault", "style"), share(product(FAULTS, STYLES), 14))
def test_a_fault_of_the_writer_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, command: Any, fault: str, style: str
) -> None:
    spoil, codes = FAULTS[fault]
    monkeypatch.setattr(making, "dxf_text", lambda content: dxf_text(spoil(content)))
    words = shop_of(style, tmp_path / "shop")
    ran = command("make", "chef", "--out", tmp_path / "out", *words)
    assert ran.code == 1
    assert not (tmp_path / "out").exists()
    assert "does not prove right" in ran.err
    assert all(f"{code}: " in ran.err for code in codes)
    assert re.search(r"checks   \d+ ok, \d+ to look at, [1-9]\d* wrong", ran.out)
    assert "wrote" not in ran.out


def test_a_header_that_names_another_unit_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, command: Any
) -> None:
    renamed = re.compile(r"(\$INSUNITS\n *70\n) *4")
    monkeypatch.setattr(making, "dxf_text", lambda content: renamed.sub(r"\g<1>     1", dxf_text(content)))
    ran = command("make", "chef", "--out", tmp_path / "out", "--json")
    assert ran.code == 1
    assert not (tmp_path / "out").exists()
    assert "UNIT: " in ran.err
    report = json.loads(ran.out)
    assert report["files"] == []
    assert "UNIT" in {c["code"] for c in report["checks"] if c["level"] == "error"}


def told(change: Callable[[float, float, float | None], tuple[float, float, float | None]]) -> property:
    """Return drawn holes that are wrong in the delivery itself, before any file is written."""
    right = Delivery.drawn_holes.fget  # type: ignore[attr-defined]
    return property(lambda sent: tuple(change(*hole) for hole in right(sent)))


TOLD: dict[str, tuple[Callable[[float, float, float | None], tuple[float, float, float | None]], str]] = {
    "0.25 wider": (lambda x, y, d: (x, y, None if d is None else d + 0.25), "HOLE-DIAMETER"),
    "0.5 narrower": (lambda x, y, d: (x, y, None if d is None else d - 0.5), "HOLE-DIAMETER"),
    "3 mm off": (lambda x, y, d: (x + 3.0, y, d), "HOLE-PLACE"),
    "marks for holes": (lambda x, y, _: (x, y, None), "HOLE-MISSING"),
}


CIRCLES = [style for style in STYLES if style != "own table"]
"""The holes of the other are cuts of a path."""


@repeated
@pytest.mark.parametrize(("fault", "style"), share(product(TOLD, CIRCLES), 7))
def test_holes_that_are_delivered_wrong_are_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, command: Any, fault: str, style: str
) -> None:
    change, code = TOLD[fault]
    monkeypatch.setattr(Delivery, "drawn_holes", told(change))
    ran = command("make", "chef", "--out", tmp_path / "out", *shop_of(style, tmp_path / "shop"))
    assert ran.code == 1
    assert f"{code}: " in ran.err
    assert not (tmp_path / "out").exists()


def test_a_sign_slip_in_the_table_of_holes_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, command: Any
) -> None:
    """0.25 mm over instead of under: nothing is left to ream."""

    def over(chosen: Any, _thickness_mm: float, diameter_mm: float) -> HoleCut:
        return HoleCut("ream", diameter_mm + chosen.pin_undersize_mm.value, said("Cut over and ream."))

    monkeypatch.setattr(shop_holes, "_pin_hole", over)
    ran = command("make", "chef", "--out", tmp_path / "out")
    assert ran.code == 1
    assert "HOLE-DIAMETER: " in ran.err
    assert "finished it is 5.100 mm" in ran.err
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize(
    ("more_mm", "code"), [(0.05, "OVERSIZE"), (-0.05, "CLEARANCE"), (0.005, "OVERSIZE"), (-0.005, "CLEARANCE")]
)
@pytest.mark.parametrize("style", ["plain", "chords"])
def test_a_delivery_that_lies_too_far_out_or_in_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, command: Any, style: str, more_mm: float, code: str
) -> None:
    """Its own size is what it says: only the finished knife tells that it is wrong."""

    def off(*words: Any, **more: Any) -> Delivery:
        sent = deliver(*words, **more)
        return replace(sent, outline=parallel(sent.outline, more_mm).outline)

    monkeypatch.setattr(making, "deliver", off)
    ran = command("make", "chef", "--out", tmp_path / "out", *shop_of(style, tmp_path / "shop"))
    assert ran.code == 1
    assert f"{code}: " in ran.err
    assert not (tmp_path / "out").exists()


def test_the_slot_of_the_table_is_the_services_own(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, command: Any
) -> None:
    """A path laid with half the slot is a path for another table."""

    def narrow(knife: Knife, *more: Any) -> Delivery:
        shop = knife.service
        assert shop is not None
        assert shop.table is not None
        other = replace(shop, table=replace(shop.table, kerf_mm=shop.table.kerf_mm / 2))
        return replace(deliver(finish(knife.design, service=other), *more), knife=knife)

    monkeypatch.setattr(making, "deliver", narrow)
    ran = command("make", "chef", "--out", tmp_path / "out", *shop_of("own table", tmp_path / "shop"))
    assert ran.code == 1
    assert "CLEARANCE: " in ran.err
    assert "HOLE-DIAMETER: " in ran.err
    assert not (tmp_path / "out").exists()


COMMANDS = (("make",), ("cut",), ("template",), ("sheet",), ("weigh",), ("weigh", "--with", "sections"))


@pytest.mark.parametrize("words", COMMANDS, ids=" ".join)
def test_an_error_of_the_design_rules_is_refused_too(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, command: Any, words: tuple[str, ...]
) -> None:
    wrong = finding("REACH", "The blade does not reach the board.", (1.0, 2.0))
    kept = rules._edge
    monkeypatch.setattr(rules, "_edge", lambda shape: [*kept(shape), wrong])
    name, *more = words
    ran = command(name, "chef", *more, "--out", tmp_path / "out")
    assert ran.code == 1
    assert "does not pass its checks: REACH: The blade does not reach the board. Change the design" in ran.err
    assert list(tmp_path.rglob("*.*")) == []
    if name in ("make", "cut"):
        assert "1 wrong" in ran.out
        assert "x REACH" in ran.out


def test_several_parts_are_refused_for_an_error_of_one_design(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    shop = service_from(changed("jet", {"file.parts": "together"}), "shop.toml")
    kept = rules._edge

    def only_paring(shape: Any) -> list[object]:
        wrong = [finding("REACH", "Too short.")] if shape.family.name == "paring" else []
        return [*kept(shape), *wrong]

    monkeypatch.setattr(rules, "_edge", only_paring)
    same = {"material.thickness": "3 mm", "material.grade": "80CrV2", "cutting.process": "water-jet"}
    with pytest.raises(ProofError, match="REACH: Too short") as caught:
        cut_together([read_design("chef", dict(same)), read_design("paring", dict(same))], tmp_path, shop, 1)
    assert len(caught.value.reports) == 2
    assert list(tmp_path.iterdir()) == []


@cases("name", ["jet", "laser", "plasma", "own-table"])
def test_what_is_expected_is_the_finished_knife_whoever_cuts(name: str) -> None:
    design = read_design("chef", {"tang.lightening_count": "1", "tang.lightening_diameter": "8 mm"})
    knife = finish(design, service=service(name))
    expected = expected_of(deliver(knife))
    assert expected.finished is knife.finished
    assert [(h.x_mm, h.y_mm, h.diameter_mm) for h in expected.holes] == [
        (h.hole.x_mm, h.hole.y_mm, h.hole.diameter_mm) for h in knife.holes
    ]
    assert np.array_equal(expected.asked_mm, knife.per_piece(knife.oversize.regions_mm))


@pytest.mark.parametrize("key", ["cut_layer", "mark_layer"])
def test_a_layer_that_the_shop_does_not_know_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, command: Any, key: str
) -> None:
    """What is cut and marked is looked for on the shop's layers, not on those that were written."""

    def elsewhere(*words: Any) -> Delivery:
        sent = deliver(*words)
        return replace(sent, style=replace(sent.style, **{key: "SPARE"}))

    monkeypatch.setattr(making, "deliver", elsewhere)
    ran = command("make", "chef", "--out", tmp_path / "out", "--service", "plasma")
    assert ran.code == 1
    assert "does not prove right" in ran.err
    assert not (tmp_path / "out").exists()
