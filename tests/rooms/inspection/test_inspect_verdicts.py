"""A verdict for each part: what it measures, how it is cut, how many are alike, and what is told of it."""

from __future__ import annotations

import json
import math
from collections.abc import Callable
from pathlib import Path

import pytest
import shapely

from truth import spoiled as s

SOURCE = "GEOS by shapely for area and length of polygons; circles in closed form"


def turned(rows: list[s.Row], deg: float, x: float, y: float) -> list[s.Row]:
    c, k = math.cos(math.radians(deg)), math.sin(math.radians(deg))
    return [(x + c * a - k * b, y + k * a + c * b, g) for a, b, g in rows]


PLATE: list[s.Row] = [(0, 0, 0), (80, 0, 0), (80, 30, 0), (30, 30, 0), (0, 20, 0)]


@pytest.fixture
def report(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, command: Callable) -> Callable[[str], dict]:  # type: ignore[type-arg]
    monkeypatch.chdir(tmp_path)

    def of(data: str, *options: str) -> dict:  # type: ignore[type-arg]
        Path("x.dxf").write_text(data)
        return json.loads(command("inspect", "x.dxf", "--json", *options).out)  # type: ignore[no-any-return]

    return of


def test_each_part_has_its_figures_and_alike_ones_are_counted(report: Callable) -> None:  # type: ignore[type-arg]
    plates = [turned(PLATE, deg, x, 0) for deg, x in ((0, 0), (25, 120), (90, 260))]
    mirrored = [(-x, y, 0.0) for x, y, _ in PLATE]
    hole = [(20.0, 10.0, 0.0)]
    holes = "".join(s.circle(*turned(hole, deg, x, 0)[0][:2], 6) for deg, x in ((0, 0), (25, 120), (90, 260)))
    other = s.light(turned(mirrored, 0, 400, 0))
    found = report(s.document("".join(map(s.light, plates)) + holes + other), "--parts", "4")
    assert found["verdict"] in {"ok", "warning"}
    flat = shapely.Polygon([(x, y) for x, y, _ in PLATE])
    assert len(found["parts"]) == 4
    with_hole = [p for p in found["parts"] if p["holes"]]
    for part in with_hole:
        assert part["area_mm2"] == pytest.approx(flat.area - math.pi * 9, rel=1e-9)
        assert part["cut_length_mm"] == pytest.approx(flat.length + math.pi * 6, rel=1e-9)
        assert (part["pierces"], part["quantity"]) == (2, 3)
    (plain,) = [p for p in found["parts"] if not p["holes"]]
    assert (plain["quantity"], plain["pierces"]) == (1, 1)
    assert found["counts"]["pierces"] == 7
    assert found["counts"]["cut_length_mm"] == pytest.approx(sum(p["cut_length_mm"] for p in found["parts"]), rel=1e-9)


def test_what_is_wrong_with_one_part_is_not_told_of_another(report: Callable) -> None:  # type: ignore[type-arg]
    good, bad = turned(PLATE, 0, 0, 0), turned(PLATE, 0, 100, 0)
    data = s.document(s.light(good) + s.light(bad) + s.circle(110, 10, 1) + s.circle(10, 10, 8))
    found = report(data, "--parts", "2", "--process", "water-jet", "--thickness", "3mm")
    verdicts = {p["centre_mm"][0]: p["verdict"] for p in found["parts"]}
    assert verdicts == {40.0: "ok", 140.0: "error"}
    (wrong,) = [p for p in found["parts"] if p["findings"]]
    codes = [f["code"] for f in found["findings"] if f["number"] in wrong["findings"]]
    assert codes == ["HOLE-SIZE"]


def test_small_parts_may_lie_beside_and_in_large_ones_where_several_are_expected(report: Callable) -> None:  # type: ignore[type-arg]
    ring = s.circle(0, 0, 100) + s.circle(0, 0, 80) + s.circle(0, 0, 20) + s.circle(0, 0, 8) + s.circle(70, 0, 12)
    found = report(s.document(ring), "--parts", "3")
    assert (found["verdict"], [p["holes"] for p in found["parts"]]) == ("ok", [1, 1, 0])
    told = [f["message"] for f in report(s.document(ring))["findings"] if f["level"] == "error"]
    assert any("lies in a hole" in m for m in told)
    assert any("lies outside the part" in m for m in told)


def test_the_report_lists_sorts_of_parts(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, command: Callable) -> None:  # type: ignore[type-arg]
    monkeypatch.chdir(tmp_path)
    Path("x.dxf").write_text(s.document("".join(s.light(turned(PLATE, 0, 100 * k, 0)) for k in range(3))))
    text = command("inspect", "x.dxf", "--parts", "3").out
    length = shapely.Polygon([(x, y) for x, y, _ in PLATE]).length
    assert "  3 parts\n" in text
    assert f"3 x 80.0 x 30.0 mm, 0 holes: cut {length:.0f} mm, 1 pierce; nothing on it" in text
