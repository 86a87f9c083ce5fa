"""The path of a cutter's middle is known as one, ours or another's, and what only looks like one is not."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import ezdxf
import pytest

import blankwright.inspection.verdict as verdict
from blankwright.base.errors import GeometryError
from blankwright.design.request import read_design
from blankwright.desk.make import make
from blankwright.inspection.entities import read_drawing
from blankwright.inspection.mend import hindrances
from blankwright.inspection.verdict import Verdict, Wanted, judge
from blankwright.shop.services import service_from
from rooms.every import cases
from truth.services_by_hand import changed


def verdict_on(path: Path, parts: int = 1) -> Verdict:
    return judge(read_drawing(path.read_bytes(), path.name), Wanted(None, None, None, parts))


def lines(tmp_path: Path, *chains: list[tuple[float, float]]) -> Path:
    doc = ezdxf.new("R2000", setup=False)
    doc.header["$INSUNITS"], doc.header["$MEASUREMENT"] = 4, 1
    for chain in chains:
        doc.modelspace().add_lwpolyline(chain, dxfattribs={"layer": "0"})
    path = tmp_path / "chains_mm.dxf"
    doc.saveas(path)
    return path


@pytest.mark.parametrize("unit", ["mm", "in"])
@pytest.mark.parametrize("tabs", [0, 3])
def test_our_own_path_is_no_spoiled_contour(tmp_path: Path, tabs: int, unit: str) -> None:
    """A drawing of open cuts was seven faults; it is a path with its bridges, and one thing to look at."""
    limits = [row | {"smallest_hole": "1 mm"} for row in changed("own-table", {})["limits"]]
    wishes = {"process": "water-jet", "table.kerf": "0.9 mm", "table.lead": "3 mm", "file.unit": unit}
    shop = service_from(changed("own-table", wishes | {"table.tabs": tabs, "limits": limits}), "x.toml")
    made = make(read_design("chef"), tmp_path, ("program",), True, None, shop, 2)
    (dxf,) = made.folder.glob("*.dxf")
    seen = verdict_on(dxf, parts=2)
    assert seen.of("error") == []
    assert seen.path is not None
    assert seen.path.cuts == 2 * (3 + tabs)
    assert seen.path.bridges_mm == pytest.approx([3.9] * (2 * tabs), abs=0.02)
    assert [f.code for f in seen.of("warning")] == ["PATH"]
    assert len(seen.shapes) == 6
    assert "do not compensate" in seen.of("warning")[0].message
    assert any("lose its order" in line.text() for line in hindrances(seen))


SQUARE = [(0.0, 0.0), (60.0, 0.0), (60.0, 60.0), (0.0, 60.0)]


def test_a_path_of_another_is_one_too(tmp_path: Path) -> None:
    """Begun in the middle of a side: in, round, out."""
    way = [(30.0, -5.0), (30.0, 0.0), *SQUARE[1:], (0.0, 0.0), (30.0, 0.0), (35.0, -5.0)]
    assert verdict_on(lines(tmp_path, way)).path is not None


@cases(
    "chain",
    [
        [*SQUARE, (0.0, 0.5)],  # a contour that is nearly closed
        [(30.0, 0.0), (60.0, 0.0), (60.0, 60.0), (0.0, 60.0), (0.0, 2.0), (28.0, 2.0)],  # a spiral
        [(0.0, 0.0), (60.0, 0.0), (60.0, 60.0)],  # too short for a way in, a cut and a way out
    ],
)
def test_an_open_contour_stays_a_fault(tmp_path: Path, chain: list[tuple[float, float]]) -> None:
    seen = verdict_on(lines(tmp_path, chain))
    assert seen.path is None
    assert "CONTOUR-CLOSED" in {f.code for f in seen.of("error")}


def test_a_tangle_with_loose_ends_is_told_and_no_crash(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Joined lines are given up in a tangle, and with them what is known of their ends."""

    def tangle(*_: object) -> None:
        raise GeometryError("more pairs of pieces than can be looked at")

    monkeypatch.setattr(verdict, "_crossings", tangle)
    corners = [(0.0, 0.0), (60.0, 0.0), (60.0, 40.0), (0.0, 40.0), (0.0, 3.0)]
    sides = [list(pair) for pair in pairwise(corners)]
    found = verdict_on(lines(tmp_path, [(200.0, 0.0), (210.0, 0.0)], *sides))
    assert "CROSSING" in {f.code for f in found.of("error")}
    assert found.gaps == ()
