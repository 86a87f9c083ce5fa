"""What a drawing says beside its lines: the holes' heights, and how long a knife with a hidden tang is."""

from __future__ import annotations

import re

import pytest

from blankwright.design.request import read_design
from blankwright.drawing.content import part_drawing
from blankwright.knife.knife import Knife, finish
from blankwright.shop.sheets import sheet_stocks


def made(family: str, **changes: object) -> Knife:
    return finish(read_design(family, {key.replace("__", "."): value for key, value in changes.items()}))


def test_every_hole_has_its_height_from_the_front_back() -> None:
    knife = made("chef", tang__lanyard_diameter="5 mm", pins__count=3)
    (line,) = [words for words in part_drawing(knife).lines if words.startswith("Holes above the board line")]
    pins, lanyard = line.rsplit(": ", 1)[1].split("; ")
    said = [float(word) for word in re.findall(r"\d+\.\d", pins)]
    holes = sorted((h.hole for h in knife.pins), key=lambda hole: hole.x_mm, reverse=True)
    assert said == pytest.approx([hole.y_mm for hole in holes], abs=0.051)
    (cord,) = [h.hole.y_mm for h in knife.holes if h.hole.purpose == "lanyard"]
    assert float(lanyard.removeprefix("lanyard ")) == pytest.approx(cord, abs=0.051)


def test_a_hidden_tang_is_dimensioned_with_its_handle() -> None:
    knife = made("chef", handle__construction="hidden")
    labels = [m.label for m in part_drawing(knife).measures]
    block = knife.block
    assert block is not None
    whole = knife.finished.bounds_mm[2] - block.bounds_mm[0]
    assert f"{whole:.1f} (with handle)" in labels
    assert not any("with handle" in m.label for m in part_drawing(made("chef")).measures)


def test_a_laser_is_spoken_of_only_where_one_may_cut() -> None:
    rows = sheet_stocks().values()
    for row in rows:
        assert "laser" not in row.cautions("water-jet")
        assert row.cautions("laser").startswith(row.caution)
        assert row.cautions("laser") == row.cautions(None)
    assert sum("laser" in row.cautions("laser") for row in rows) >= 7
