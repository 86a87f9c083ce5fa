"""The stock file: what it may say, how it is refused, and that a written one is read as it was."""

from __future__ import annotations

import json
import re
import tomllib
from pathlib import Path

import numpy as np
import pytest

from blankwright.base.errors import RequestError
from blankwright.base.library import shipped_names
from blankwright.design.lifted import Lifted, LiftedHole, lifted_text
from blankwright.geometry.outline import Outline
from blankwright.stock.piece import Piece, Zone, box, round_zone
from blankwright.stock.stockfile import read_stock, stock_from_table
from blankwright.stock.stocktext import stock_text
from rooms.every import cases

BAR = {"name": "bar", "kind": "bar", "length": "24 in", "width": "2 in", "thickness": "3 mm"}
FOUND = {"name": "file", "kind": "found", "length": "250 mm", "width": "28 mm", "thickness": "5 mm"}


CROSSING = [["0 mm", "0 mm"], ["9 mm", "9 mm"], ["9 mm", "0 mm"], ["0 mm", "9 mm"]]


def one(**keys: object) -> Piece:
    return stock_from_table({"format": 1, "piece": [FOUND | keys]}, "stock.toml")[0]


def zoned(**keys: object) -> Zone:
    return one(zone=[keys]).zones[0]


def test_a_bar_is_as_long_as_it_is_said() -> None:
    piece = stock_from_table({"format": 1, "piece": [BAR]}, "stock.toml")[0]
    assert piece.outline.bounds_mm == pytest.approx((0.0, 0.0, 609.6, 50.8))
    assert (piece.margin_mm, piece.grain_deg, piece.quantity, piece.own_kerf_mm, piece.faces) == (
        0.0,
        None,
        1,
        None,
        "unsaid",
    )


def test_widths_along_the_piece() -> None:
    both = one(width=[["0 mm", "28 mm"], ["250 mm", "22 mm"]])
    assert both.outline.area_mm2 == pytest.approx(250 * 25)
    assert both.outline.bounds_mm == (0.0, 0.0, 250.0, 28.0)
    lower = one(width=["28 mm", "22 mm"], tapers="lower")
    assert {(x, y) for x, y, _ in lower.outline.vertices.tolist()} == {(0, 0), (250, 6), (250, 28), (0, 28)}
    assert one(thickness=["5 mm", "3 mm"]).thickness == ((0.0, 5.0), (250.0, 3.0))


def test_points_holes_and_directions() -> None:
    clockwise = [["0 mm", "0 mm"], ["0 mm", "20 mm"], ["100 mm", "20 mm"], ["100 mm", "0 mm"], ["0 mm", "0 mm"]]
    piece = stock_from_table(
        {"piece": [{"kind": "found", "thickness": "3 mm", "outline": clockwise, "grain": "across"}]}, "s.toml"
    )[0]
    assert piece.outline.area_mm2 == pytest.approx(2000.0)
    assert piece.grain_deg == 90.0
    hole = zoned(kind="avoid", circle=["40 mm", "10 mm", "8 mm"])
    assert hole.circle == pytest.approx((40.0, 10.0, 8.0))
    assert hole.outline.area_mm2 == pytest.approx(3.141592653589793 * 16)


def test_a_lifted_outline_begins_at_its_lower_left_corner(tmp_path: Path) -> None:
    lifted = {
        "outline": {"vertices": [[-10, 5, 0], [90, 5, 0.1], [90, 35, 0], [-10, 35, 0]], "area_mm2": 1},
        "holes": [{"x_mm": 0, "y_mm": 20, "diameter_mm": 6}],
    }
    (tmp_path / "bar.json").write_text(json.dumps(lifted), encoding="utf-8")
    text = (
        'format = 1\n[[piece]]\nname = "a"\nkind = "found"\nthickness = "4 mm"\nmargin = "1 mm"\noutline = "bar.json"\n'
    )
    (tmp_path / "s.toml").write_text(text, encoding="utf-8")
    piece = read_stock(tmp_path / "s.toml")[0]
    assert piece.outline.bounds_mm[:2] == pytest.approx((0.0, 0.0))
    assert piece.outline.bulges.max() == pytest.approx(0.1)
    assert piece.zones[0].circle == pytest.approx((10.0, 15.0, 6.0))
    assert piece.zones[0].margin_mm == 1.0


def test_the_file_that_lift_writes_is_an_outline(tmp_path: Path) -> None:
    square = Outline(
        np.array([[-10, 0, 0], [90, 0, 0.1], [90, 30, 0], [-10, 30, 0]]), ("edge", "tang", "spine", "butt")
    )
    lifted = Lifted("old", "scan.png", square, (LiftedHole(0.0, 15.0, 6.0),))
    (tmp_path / "old_lifted.toml").write_text(lifted_text(lifted), encoding="utf-8")
    row = {"kind": "found", "thickness": "4 mm", "outline": "old_lifted.toml"}
    piece = stock_from_table({"piece": [row]}, "s.toml", tmp_path)[0]
    assert piece.outline.area_mm2 == pytest.approx(square.area_mm2)
    assert piece.zones[0].circle == pytest.approx((10.0, 15.0, 6.0))


@cases(
    ("keys", "said"),
    [
        ({"length": "250"}, "has no unit"),
        ({"kind": "fund"}, "Did you mean 'found'"),
        ({"lenght": "1 mm"}, "Did you mean 'length'"),
        ({"thickness": "0 mm"}, "out of range"),
        (
            {"thickness": [["0 mm", "8 mm"], ["150 mm", "6.5 mm"]]},
            "thickness: its places must run from 0 mm to the length, 250 mm; they run from 0 mm to 150 mm",
        ),
        ({"thickness": [["9 mm", "8 mm"], ["250 mm", "6 mm"]]}, "they run from 9 mm to 250 mm"),
        ({"width": [["0 mm", "28 mm"], ["200 mm", "22 mm"]]}, "must run from 0 mm to the length"),
        ({"width": [["0 mm", "28 mm"], ["0 mm", "22 mm"]]}, "must grow"),
        ({"tapers": "upper"}, "as wide everywhere"),
        ({"outline": [["0 mm", "0 mm"], ["1 mm", "1 mm"], ["2 mm", "0 mm"]]}, "the outline says it already"),
        ({"quantity": 0}, "whole number 1 to"),
        ({"margin": "-1 mm"}, "out of range"),
        ({"grain": "long"}, "not a quantity"),
        ({"faces": "back"}, "unknown faces"),
        ({"zone": [{"kind": "avoid"}]}, "give circle"),
        ({"zone": [{"kind": "avoid", "circle": ["1 mm", "1 mm"]}]}, "expected x, y and diameter"),
        ({"zone": [{"kind": "avoid", "circle": ["900 mm", "1 mm", "5 mm"]}]}, "lies beside the piece"),
        ({"zone": [{"kind": "avoid", "on": "blade", "circle": ["9 mm", "9 mm", "5 mm"]}]}, "is for a zone to keep"),
        ({"zone": [{"kind": "keep", "on": "tip", "circle": ["9 mm", "9 mm", "5 mm"]}]}, "unknown on"),
        ({"zone": [{"kind": "keep", "share": "120 %", "circle": ["9 mm", "9 mm", "5 mm"]}]}, "out of range"),
        (
            {
                "zone": [
                    {
                        "kind": "avoid",
                        "points": [["0 mm", "0 mm"], ["9 mm", "9 mm"], ["9 mm", "0 mm"], ["0 mm", "9 mm"]],
                    }
                ]
            },
            "crosses itself",
        ),
    ],
)
def test_what_cannot_be_is_said_with_file_and_piece(keys: dict[str, object], said: str) -> None:
    with pytest.raises(RequestError, match=re.escape(said)) as told:
        one(**keys)
    assert "stock.toml" in str(told.value)
    assert "[[piece]]" in str(told.value)


def test_a_piece_of_no_kind_is_told_the_kinds() -> None:
    nameless = {key: value for key, value in BAR.items() if key != "kind"}
    with pytest.raises(RequestError, match=r"the key 'kind' is missing. Allowed: .*sheet"):
        stock_from_table({"format": 1, "piece": [nameless]}, "s.toml")


def test_two_of_one_name_and_a_file_of_another_format() -> None:
    with pytest.raises(RequestError, match="two pieces are called"):
        stock_from_table({"format": 1, "piece": [BAR, BAR]}, "s.toml")
    with pytest.raises(RequestError, match="format"):
        stock_from_table({"format": 2, "piece": [BAR]}, "s.toml")


def test_what_is_written_is_read_again() -> None:
    pieces = [*(p for name in shipped_names("stocks") for p in read_stock(name))]
    zones = (
        Zone("avoid", round_zone(30, 10, 8), 2.0, 'a "quoted" \\ name'),
        Zone("keep", box(9, 5), part="flat", share=0.5),
    )
    pieces.append(
        Piece("left over", "found", box(200, 40), ((0.0, 5.0), (200.0, 4.0)), zones, 1.5, 30.0, 3, 0.8, "alike")
    )
    text = stock_text(pieces, ["what was left"])
    again = stock_from_table(tomllib.loads(text), "left.toml")
    assert stock_text(again, ["what was left"]) == text
    for one_piece, other in zip(pieces, again, strict=True):
        assert other.outline.area_mm2 == pytest.approx(one_piece.outline.area_mm2, abs=0.01)
        assert (other.name, other.thickness, other.margin_mm, other.grain_deg, other.quantity, other.own_kerf_mm) == (
            one_piece.name, one_piece.thickness, one_piece.margin_mm, one_piece.grain_deg, one_piece.quantity,
            one_piece.own_kerf_mm,
        )  # fmt: skip
        assert [z.circle for z in other.zones] == [z.circle for z in one_piece.zones]
        assert [(z.kind, z.words, z.part, z.share) for z in other.zones] == [
            (z.kind, z.words, z.part, z.share) for z in one_piece.zones
        ]
