"""The figures of a sheet: they are those of the knife, and each has its standing."""

from __future__ import annotations

from pathlib import Path

import pytest
from shapely import LineString, Polygon
from shapely import box as shape_box

from blankwright.base.errors import RequestError
from blankwright.base.said import NUMBER_WITH_UNIT, Line, Quantity, Size, Standing, joined
from blankwright.design.request import read_design
from blankwright.drawing.content import part_drawing
from blankwright.drawing.svg import part_marks
from blankwright.knife.knife import finish
from blankwright.sheet.drillbits import bit_rows, bits_for
from blankwright.sheet.handfit import hand_breadth
from blankwright.sheet.handlestages import fit_handle, pin_lengths_mm, sawn
from blankwright.sheet.model import Row, Table, sheet_table
from blankwright.sheet.picture import scaled
from blankwright.sheet.prices import read_prices
from blankwright.sheet.shopping import items, shopping
from blankwright.shop.holes import finished_hole_mm, scale_hole_mm, widest_hole_mm
from blankwright.template.handlescenes import scales_scene
from rooms.every import cases
from rooms.sheet.sheet_cases import CASES, sheet, stage, work

PRACTICE = Standing("rule of the trade", "common practice")


@cases("name", CASES)
def test_no_number_with_a_unit_stands_without_its_standing(name: str) -> None:
    seen = 0
    for one in sheet(name).stages:
        assert not NUMBER_WITH_UNIT.search(one.title)
        for line in one.lines:
            seen += line.standing is not None
            assert line.standing is not None or not NUMBER_WITH_UNIT.search(line.text())
    assert seen > 3


def test_the_model_refuses_a_number_without_standing() -> None:
    for words in ("hold at 815 °C", "leave 0.6 mm", "wait 24 h", "off by 10 %", "60 HRC", "limit 5 µg/m3"):
        with pytest.raises(RequestError, match="does not say where it comes from"):
            Line(words)
        assert Line(words, (), PRACTICE).text() == words
    assert Line("after 29 CFR 1910.133, P120 paper").standing is None
    with pytest.raises(RequestError, match="values for its places"):
        Line("{} thick", (), PRACTICE)
    with pytest.raises(RequestError, match="2 values for 1 columns"):
        Table("t", ("a",), (Row("r", ("1", "2"), PRACTICE),))
    with pytest.raises(RequestError, match="status"):
        Standing("somewhere", "rumour")
    with pytest.raises(RequestError, match="source"):
        Standing(" ", "published")
    with pytest.raises(RequestError, match="finite"):
        Quantity(float("nan"), "mm")


def test_quantities_in_both_units() -> None:
    assert Quantity(210, "mm").shown("in") == "8.268 in"
    assert Quantity(28.349523125, "g").shown("in") == "1.00 oz"
    assert Quantity(800, "°C", 0, 830).shown("in") == "800 to 830 °C (1472 to 1526 °F)"
    assert Quantity(-0.01, "mm").shown() == "0.0 mm"
    assert Size((25.4, 50.8)).shown("in") == "1.000 x 2.000 in"


def test_weights_and_sizes_are_those_of_the_knife() -> None:
    part, weights = work("chef"), work("chef").weights
    rows = {r.label: r.values for r in stage("chef", "head").tables[0].rows}
    assert weights.before_hardening is not None
    assert weights.ground_blade is not None
    found = [v[3] for v in rows.values()]
    assert [round(q.value, 6) for q in found if isinstance(q, Quantity)] == [
        round(m, 6)
        for m in (part.cut_blank.mass_g, part.finished_blank.mass_g, weights.before_hardening.mass_g,
                  weights.ground_blade.mass_g)
    ]  # fmt: skip
    off = next(r for r in stage("chef", "grind").rows if r.label == "Steel to take off").values[0]
    assert isinstance(off, Quantity)
    assert off.value == pytest.approx(part.finished_blank.mass_g - weights.before_hardening.mass_g)


def test_sawn_pieces_hold_the_finished_handle_with_room() -> None:
    knife = work("chef")
    piece = sawn(knife)
    assert piece is not None
    assert piece.count == 2
    thickness = work("chef").design.scales.thickness_mm
    assert piece.size_mm[2] == pytest.approx(thickness + 1.0)
    assert piece.size_mm[0] == pytest.approx(120.0 + 6.0, abs=0.2)
    lengths = pin_lengths_mm(knife)
    assert lengths == pytest.approx([2 * thickness + 3.0 + 4.0] * 2)
    assert sawn(work("steel-board")) is None


def test_every_bit_lies_within_its_fit() -> None:
    for hundredth in range(150, 1200, 7):
        pin = hundredth / 100
        for fit in ("glued", "peened", "bolted"):
            for hole, most in (
                (finished_hole_mm(pin, fit)[0], widest_hole_mm(pin, fit, "tang")),
                (scale_hole_mm(pin, fit)[0], widest_hole_mm(pin, fit, "scale")),
            ):
                found = bits_for(hole, most)
                assert all(hole - 0.02 <= drill.diameter_mm <= most + 1e-9 for drill in found)
                assert len({drill.series for drill in found}) == len(found)
                assert found or most > 10, "below 10 mm the metric drills, a tenth apart, always have one"


INCH_MM = 25.4


@cases(
    ("pin_mm", "has", "has_not"),
    [
        # SOURCE: number drills of ANSI B94.11M by any drill chart: #20 is 0.1610 in, #19 0.1660 in, 11/64 in 0.1719 in.
        (4.0, {"4.1 mm": 4.1, "#20": 0.1610 * INCH_MM}, {"11/64 in", "#19"}),
        # the same chart: #30 is 0.1285 in, an eighth of an inch with room to slip; 9/64 in is 0.1406 in
        (INCH_MM / 8, {"3.3 mm": 3.3, "#30": 0.1285 * INCH_MM}, {"9/64 in"}),
        # F is 0.257 in
        (INCH_MM / 4, {"6.5 mm": 6.5, "F": 0.257 * INCH_MM}, {"17/64 in"}),
    ],
)
def test_drills_that_charts_give_for_a_glued_pin(pin_mm: float, has: dict[str, float], has_not: set[str]) -> None:
    found = {
        d.name: d.diameter_mm
        for d in bits_for(finished_hole_mm(pin_mm, "glued")[0], widest_hole_mm(pin_mm, "glued", "tang"))
    }
    assert {name: found[name] for name in has} == pytest.approx(has, abs=1e-9)
    assert not has_not & set(found)
    assert all(0.08 <= size - pin_mm <= 0.2 + 1e-9 for size in found.values())


def test_a_hole_that_no_drill_fits_is_reamed() -> None:
    (row,) = bit_rows("Drill", 13.2, 13.3)
    assert joined(row.values, "mm", row.sign) == "ream to 13.20 mm"


def test_a_peened_pins_scale_is_not_bored_through_the_wider_tang() -> None:
    knife = finish(read_design("chef", {"pins.fit": "peened"}))
    steps = "\n".join(line.text() for line in fit_handle(knife, None).steps)
    assert "through the tang's holes" not in steps
    assert "fills the tang's hole, 6.50 mm" in steps
    assert "guide no bit of 5.10 mm" in steps
    assert "bore it through the tang's holes" in "\n".join(x.text() for x in stage("chef", "handle").steps)
    assert "then bore 5.1 mm" in scales_scene(knife).facts[1]


@pytest.mark.parametrize(
    ("name", "after", "before"), [("spreader", "thin", "edge"), ("steel-board", "drill", "harden")]
)
def test_one_piece_has_a_handle_to_shape(name: str, after: str, before: str) -> None:
    found, codes = stage(name, "grip"), [s.code for s in sheet(name).stages]
    assert codes.index("grip") < codes.index(before)
    assert after not in codes or codes.index(after) < codes.index("grip")
    assert any(row.label.startswith("Breadth of a hand (men 50)") for row in found.rows), "--hand is used"
    (table,) = found.tables
    knife = work(name)
    (high, thick, rounded) = table.rows
    whole = Polygon(knife.finished.flattened(0.001))
    for x, shown in zip((-12.0, None, 12.0), high.values, strict=True):
        front, butt = knife.shape.front_x_mm, knife.shape.butt_x_mm
        at = (front + butt) / 2 if x is None else (front if x < 0 else butt) + x
        assert shown.value == pytest.approx(whole.intersection(LineString([(at, -200), (at, 200)])).length, abs=0.01)
    for across, radius in zip(thick.values, rounded.values, strict=True):
        assert 2 * radius.value <= across.value


def test_bolts_are_told_apart_from_pins() -> None:
    rows = [row.label for row in stage("utility", "handle").rows]
    assert "Through the handle at the bolts" in rows
    assert any("Counterbore" in line.text() for line in stage("utility", "handle").steps)


@cases(("words", "breadth"), [("men 50", 88), ("women 5", 72), ("88 mm", 88), ("3.5 in", 88.9)])
def test_hands(words: str, breadth: float) -> None:
    assert hand_breadth(words)[0] == pytest.approx(breadth)


@cases("words", ["men", "men 51", "giant", "", "300 mm", "88", "-5 mm"])
def test_hands_that_are_none(words: str) -> None:
    with pytest.raises(RequestError, match="hand"):
        hand_breadth(words)


def _prices(folder: Path, text: str) -> Path:
    path = folder / "prices.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_prices_times_the_list(tmp_path: Path) -> None:
    knife = work("chef")
    prices = read_prices(
        _prices(tmp_path, 'currency = "EUR"\nstock = "10 per kg"\npins = "4 per m"\nglue = "1.50 per piece"\n')
    )
    stock, _, pins = items(knife)
    costs = shopping(knife, prices).tables[1].rows
    amounts = [row.values[0].value for row in costs if isinstance(row.values[0], Quantity)]
    expected = [stock.mass_g / 100, pins.size_mm[1] / 250, 1.5]
    assert amounts == pytest.approx([*expected, sum(expected)])
    assert costs[0].standing.source.startswith("your prices in prices.toml")
    assert len(shopping(knife, None).tables) == 1


@cases(
    ("text", "says"),
    [
        ('stock = "10 per kg"', "currency"),
        ('currency = "<b>"\nstock = "1 per kg"', "currency"),
        ('currency = "EUR"', "no price"),
        ('currency = "EUR"\nsteel = "1 per kg"', "unknown key 'steel'"),
        ('currency = "EUR"\nstock = "10"', "with its unit"),
        ('currency = "EUR"\nstock = 10', "with its unit"),
        ('currency = "EUR"\nstock = "10 per m"', "Allowed: kg, piece"),
        ('currency = "EUR"\nstock = "-3 per kg"', "with its unit"),
        ("currency = ", "TOML"),
    ],
)
def test_prices_that_are_none(tmp_path: Path, text: str, says: str) -> None:
    with pytest.raises(RequestError, match=says):
        read_prices(_prices(tmp_path, text))


def test_the_data_can_be_written_as_json() -> None:
    table = sheet_table(sheet("chef"))
    assert [s["code"] for s in table["stages"]] == [s.code for s in sheet("chef").stages]
    for one in table["stages"]:
        for row in (*one["rows"], *(r for t in one["tables"] for r in t["rows"])):
            assert row["source"]
            assert row["status"]


def test_the_height_of_the_heel_stands_clear_of_the_outlines() -> None:
    """Shapely is the judge of what the figure would lie on, in the picture of the sheet, drawn small."""
    for name in ("chef", "spring"):
        knife = work(name)
        drawing = scaled(part_drawing(knife), 0.45)  # as small as the sheet has a chef's knife
        marks = part_marks(drawing)
        high = f"{knife.shape.values_mm['heel_height']:.1f}"
        box = next(text.box for text in marks.texts if text.words == high)
        for outline in (drawing.finished, drawing.cut):
            assert outline is not None
            assert not LineString(outline.flattened(0.01)).intersects(shape_box(box.x0, box.y0, box.x1, box.y1))
