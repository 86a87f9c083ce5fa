"""What shops and makers tripped over when they read all papers of one knife side by side."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import ezdxf
import numpy as np
import pytest

import blankwright.desk.make as making
from blankwright.cutting.dxf import dxf_text
from blankwright.design.request import read_design
from blankwright.desk.make import make
from blankwright.shop.services import service, service_from, service_names
from rooms.desk.test_all_papers import plain
from truth.services_by_hand import changed

TABLE = {"process": "water-jet", "table.kerf": "0.9 mm", "table.lead": "3 mm", "table.tabs": 3, "file.unit": "in"}


@pytest.mark.parametrize("shop", [None, *(name for name in service_names() if name != "own-table")])
def test_a_contour_begins_at_the_butt(tmp_path: Path, shop: str | None) -> None:
    """A controller that pierces where a contour begins must not pierce at the heel corner."""
    made = make(read_design("chef"), tmp_path, (), True, None, service(shop) if shop else None)
    (dxf,) = made.folder.glob("*.dxf")
    space = ezdxf.readfile(dxf).modelspace()
    first = next(e for e in space if e.dxftype() in ("LWPOLYLINE", "LINE", "ARC"))
    every = [e.start_point if e.dxftype() == "ARC" else e.dxf.start for e in space.query("LINE ARC")]
    rows = np.array([p for e in space.query("LWPOLYLINE") for p in e.get_points("xy")] or [(p.x, p.y) for p in every])
    if first.dxftype() == "LWPOLYLINE":
        ends = [first.get_points("xy")[0]]
    else:  # an arc stands in the file either way round: one of its ends is where the contour begins
        ends = [(p.x, p.y) for p in ((first.start_point, first.end_point) if first.dxftype() == "ARC" else
                                     (first.dxf.start, first.dxf.end))]  # fmt: skip
    assert min(x for x, _ in ends) == pytest.approx(rows[:, 0].min(), abs=1e-6)


def sheet_of(folder: Path) -> str:
    (page,) = folder.glob("*_sheet.html")
    return " ".join(plain(page.read_text(encoding="utf-8")).split())


@pytest.mark.parametrize(("way", "punched", "reamed"), [("water-jet", False, True), ("plasma-table", True, False)])
def test_nobody_punches_a_hole_that_is_cut(tmp_path: Path, way: str, punched: bool, reamed: bool) -> None:
    words = sheet_of(make(read_design("chef", {"cutting.process": way}), tmp_path).folder)
    assert ("Centre-punch the centres" in words) == punched
    assert ("Ream what was cut under size" in words) == reamed
    assert "Drill the two outermost pins first" not in words, "there are two"


def test_on_ones_own_table_nothing_is_sent(tmp_path: Path) -> None:
    limits = [row | {"smallest_hole": "1 mm"} for row in changed("own-table", {})["limits"]]
    shop = service_from(changed("own-table", TABLE | {"limits": limits}), "x.toml")
    folder = make(read_design("chef"), tmp_path, ("program",), service=shop).folder
    words, note = sheet_of(folder), " ".join((folder / "chef_note.txt").read_text(encoding="ascii").split())
    assert "Send the cutting file" not in words
    assert "3 bridges hold the part" in words
    assert "98.4 in/min (2500 mm/min)" in note
    assert "kerf of 0.035 in (0.90 mm)" in note
    assert "What is only marked stands in the drawing alone" in note


def test_an_older_set_is_named_when_a_new_one_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, command: Any
) -> None:
    assert command("make", "chef", "--out", tmp_path / "out").code == 0
    monkeypatch.setattr(making, "dxf_text", lambda content: dxf_text(content).replace("CIRCLE", "POINT"))
    ran = command("make", "chef", "--set", "blade.length=200mm", "--out", tmp_path / "out")
    assert ran.code == 1
    assert "left in" in ran.err
    assert "is unchanged and shows another state: chef_cut_mm.dxf, chef.json" in ran.err
    ran = command("make", "chef", "--set", "blade.length=200mm", "--out", tmp_path / "new")
    assert "an earlier run" not in ran.err
