"""What the work begins with: a found piece after its losses, a bar that holds the steel of its forging."""

from __future__ import annotations

import math
import re
from itertools import pairwise

import pytest
import shapely

from blankwright.base.errors import RequestError
from blankwright.base.said import joined
from blankwright.design.keys import PIECES
from blankwright.design.request import read_design
from blankwright.knife.knife import Knife, finish
from blankwright.knife.start import idle_words
from blankwright.sheet.files import SheetWishes, sheet_data, sheet_paper
from blankwright.sheet.model import Stage
from blankwright.sheet.shopping import items
from blankwright.shop.rough import forging_loss, piece, pieces
from rooms.every import cases

FOUND = {"material.grade": "unknown", "material.thickness": "4 mm"}


def knife(family: str, **changes: object) -> Knife:
    return finish(read_design(family, {key.replace("__", "."): value for key, value in changes.items()}))


def stage(one: Knife, code: str) -> Stage:
    return next(s for s in sheet_data(one, SheetWishes(sheet_paper("A4"))).stages if s.code == code)


def test_the_words_of_the_design_are_rows_of_the_table() -> None:
    assert tuple(pieces()) == PIECES


@cases("name", PIECES)
@cases(("over", "level"), [(0.01, None), (-0.01, "error")])
def test_a_found_piece_is_judged_by_what_is_left_of_it(name: str, over: float, level: str | None) -> None:
    thick = 4.0 + 2 * piece(name).loss_mm.value + over
    one = knife("chef", **FOUND, start__piece=name, start__thickness=f"{thick} mm")
    assert [f.level for f in one.findings if f.code == "START"] == ([level] if level else [])
    rows = {row.label: joined(row.values, "mm", "") for row in stage(one, "stock").rows}
    assert rows["As found it must be, at least"] == f"{4 + 2 * piece(name).loss_mm.value:.2f} mm"
    assert rows["Then are left"] == f"{4 + over:.2f} mm"


def test_ones_own_loss_goes_before_the_tables_and_unmeasured_pieces_are_not_judged() -> None:
    one = knife("chef", **FOUND, start__piece="rasp", start__thickness="5 mm", start__loss="0.5 mm")
    assert not [f for f in one.findings if f.code == "START"]
    one = knife("chef", **FOUND, start__piece="rasp")
    assert one.found is not None
    assert (one.found.left_mm, one.found.least_mm) == (None, 6.0)
    words = " ".join(line.text() for line in stage(one, "stock").steps)
    assert "no pit of a punched tooth" in words


def test_a_forging_is_bought_by_volume() -> None:
    """GEOS: the cut outline with its skin all round, times the thickness with both skins, and what burns off."""
    one = knife("chef", start__from="forged", material__grade="1095")
    forging, loss = one.forging, forging_loss()
    assert forging is not None
    skin, layer = loss.skin_mm.value, loss.layer_mm.value
    around = shapely.Polygon(one.cut.flattened(0.001)).buffer(skin, quad_segs=64)
    net = around.area * (one.stock_mm + 2 * skin)
    assert forging.net_mm3 == pytest.approx(net, rel=2e-4)
    density = one.material.density_kg_m3.value
    flat = (net / forging.length_mm / forging.thickness_mm, forging.thickness_mm)
    for bar in reversed(forging.bars):
        held = bar.width_mm * bar.thickness_mm * (bar.length_mm - loss.kerf_mm.value - loss.handling_mm.value)
        left = held
        for wide, thick in ((bar.width_mm, bar.thickness_mm), flat) * (forging.heats // 2):
            left *= (wide - 2 * layer) * (thick - 2 * layer) / (wide * thick)
        assert left == pytest.approx(net, rel=3e-4), "each heat burns a layer off every face"
        assert bar.least_mm < bar.length_mm < bar.most_mm
        assert bar.length_mm < forging.length_mm, "it is drawn out"
    assert held * density * 1e-6 == pytest.approx(forging.mass_g, rel=1e-9)
    bought = next(item for item in items(one) if item.key == "stock")
    assert bought.size_mm == (math.ceil(bar.length_mm), bar.width_mm, bar.thickness_mm), "never too short"
    assert bought.mass_g > forging.mass_g > one.cut_blank.mass_g > one.finished_blank.mass_g
    x0, y0, x1, y1 = around.bounds
    assert (forging.length_mm, forging.height_mm) == pytest.approx((x1 - x0, y1 - y0), abs=0.01)


def test_a_piece_cut_off_too_short_fails_the_check_of_its_weight() -> None:
    """25 mm for the tongs were left out: a piece of 174 mm passed where 200 mm are to be cut off. By arithmetic."""
    one = knife("paring", start__from="forged", material__grade="1095", start__handling="25 mm")
    (check,) = [line.text() for line in stage(one, "stock").checks if "weighs" in line.text()]
    assert one.forging is not None
    bar = one.forging.bars[0]
    section_g = bar.width_mm * bar.thickness_mm * one.material.density_kg_m3.value * 1e-6
    least_g = float(re.search(r"([\d.]+) g", check)[1])  # type: ignore[index]
    assert least_g == pytest.approx(one.forging.mass_g + 25.0 * section_g, abs=0.51)
    assert (bar.cut_off_mm - 25.0) * section_g < least_g - 5.0 < least_g <= bar.cut_off_mm * section_g
    none = knife("paring", start__from="forged", material__grade="1095", start__handling="0 mm")
    assert "as the figure above" in " ".join(line.text() for line in stage(none, "stock").checks)


def test_a_forging_is_checked_and_not_the_bar() -> None:
    one = knife("paring", start__from="forged", material__grade="1095")
    bar, forge = stage(one, "stock"), stage(one, "forge")
    words = " ".join(line.text() for line in (*bar.steps, *bar.checks))
    assert "template covers" not in words
    assert "weighs at least as much" in words
    assert "thick as the figure above wherever the template lies" in " ".join(x.text() for x in forge.checks)
    rows = {row.label: joined(row.values, "mm", row.sign) for row in forge.rows}
    assert rows["Drawn out to, at least"].endswith(f" x {one.stock_mm + 1:.1f} mm")
    titles = [s.code for s in sheet_data(one, SheetWishes(sheet_paper("A4"))).stages]
    assert all(a in titles for a in ("stock", "forge", "cut"))
    assert all(titles.index(a) < titles.index(b) for a, b in pairwise(("stock", "forge", "cut", "harden")))


@cases(
    ("bar", "level", "says"),
    [
        ("30 mm, 3 mm", "error", "not made thicker"),
        ("8 mm, 4.2 mm", "warning", "upset"),
        ("28 mm, 6.4 mm", "warning", "larger bar, such as 30.00 mm x 8.00 mm"),
        ("30 mm, 8 mm", None, ""),
    ],
)
def test_ones_own_bar(bar: str, level: str | None, says: str) -> None:
    one = knife("chef", start__from="forged", material__grade="1095", start__bar=bar)
    found = [f for f in one.findings if f.code == "START"]
    assert [f.level for f in found] == ([level] if level else [])
    assert all(says in f.message for f in found)


@cases("family", ["chef", "paring", "utility"])
@cases("construction", ["full", "hidden"])
def test_the_first_bar_that_is_offered_has_steel_to_spare(family: str, construction: str) -> None:
    """Common practice: a bar nearly as long as its forging has nothing for an end that is lost."""
    one = knife(family, start__from="forged", material__grade="1095", handle__construction=construction)
    assert one.forging is not None
    assert one.forging.bars
    for bar in one.forging.bars:
        assert one.forging.length_mm >= 1.25 * bar.length_mm
        section = one.forging.height_mm * one.forging.thickness_mm
        assert bar.width_mm * bar.thickness_mm > 0.6 * section, "nobody draws a thin bar out into a higher blade"
    assert [f for f in one.findings if f.code == "START"] == []


def test_a_forging_is_cut_by_hand_unless_its_maker_asks_otherwise() -> None:
    one = knife("paring", start__from="forged", material__grade="1095")
    assert one.process is not None
    assert not one.process.machine_cut
    asked = knife("paring", start__from="forged", material__grade="1095", cutting__process="water-jet")
    assert asked.process is not None
    assert asked.process.name == "water-jet"
    assert "cutting file" not in " ".join(line.text() for line in stage(one, "cut").steps)


def test_what_is_told_in_vain_is_said() -> None:
    told = read_design("chef", {"start.piece": "rasp", "start.bar": "25 mm, 6 mm", "cutting.nozzle_radius": "8 mm"})
    words = " ".join(idle_words(told))
    assert "not used: start.piece, start.bar" in words
    assert "cutting.nozzle_radius" in words
    assert not idle_words(read_design("chef", {**FOUND, "start.piece": "rasp", "start.loss": "1 mm"}))
    with pytest.raises(RequestError, match=r"\[start\] piece"):
        read_design("chef", {"start.piece": "anvil"})
