"""Steel between holes, and from each hole to the edge of the part that holds it: every one measured."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely

from blankwright.inspection import walls
from blankwright.inspection.entities import read_drawing
from blankwright.inspection.verdict import Verdict, Wanted, judge
from blankwright.shop.tables import process
from rooms.every import cases
from truth import spoiled as s

SOURCE = "GEOS by shapely for distances; washers by hand: (outer - inner) / 2"


def verdict_on(data: str, parts: int = 1) -> Verdict:
    return judge(read_drawing(data.encode(), "x.dxf"), Wanted(None, process("water-jet"), 3.0, parts))


def box(x: float, y: float, wide: float, high: float) -> str:
    return s.light([(x, y, 0.0), (x + wide, y, 0.0), (x + wide, y + high, 0.0), (x, y + high, 0.0)])


def walls_of(verdict: Verdict) -> list[str]:
    return [f.message for f in verdict.findings if f.code == "WALL" and f.level != "ok"]


def test_the_thin_wall_of_the_seventh_part_is_found() -> None:
    parts = "".join(box(0, 60 * k, 200, 50) + s.circle(20, 60 * k + 25, 6) for k in range(6))
    thin = box(0, 360, 200, 50) + s.circle(100, 363.5, 6)  # 0.5 mm of steel
    (told,) = walls_of(verdict_on(s.document(parts + thin), parts=7))
    assert told.startswith("Only 0.50 mm of steel between the hole at x 100.00 mm, y 363.50 mm and the edge")


def test_the_thin_wall_of_the_last_of_many_holes_is_found() -> None:
    holes = "".join(s.circle(10 + 10 * (k % 30), 10 + 10 * (k // 30), 5) for k in range(150))
    (told,) = walls_of(verdict_on(s.document(box(0, 0, 310, 100) + holes + s.circle(300, 97, 5))))
    assert told.startswith("Only 0.50 mm of steel between the hole at x 300.00 mm, y 97.00 mm and the edge")


@cases(("outer", "inner", "off"), [(120.0, 10.0, 0.0), (25.0, 23.0, 0.0), (60.0, 40.0, 9.5)])
def test_a_washer_is_as_wide_as_its_ring(outer: float, inner: float, off: float) -> None:
    verdict = verdict_on(s.document(s.circle(0, 0, outer) + s.circle(off, 0, inner)))
    (told,) = [f for f in verdict.findings if f.code == "WALL"]
    assert f"{(outer - inner) / 2 - off:.2f} mm" in told.message
    assert (told.level == "ok") == ((outer - inner) / 2 - off >= 1.5)
    assert "-" not in told.message.split("mm")[0]


def test_the_least_wall_is_that_of_geos() -> None:
    print("seed 11")
    rng = np.random.default_rng(11)
    t = np.linspace(0, 2 * math.pi, 240, endpoint=False)
    edge = np.stack([(150 + 8 * np.cos(7 * t)) * np.cos(t), (60 + 5 * np.sin(9 * t)) * np.sin(t)], axis=1)
    holes = []
    for x, y in ((-80, 0), (-20, 12), (30, -10), (85, 3)):
        turns = np.sort(rng.uniform(0, 2 * math.pi, 9))
        holes.append(np.stack([x + 14 * np.cos(turns), y + 14 * np.sin(turns)], axis=1))
    rings = "".join(s.light([(float(x), float(y), 0.0) for x, y in ring]) for ring in (edge, *holes))
    (told,) = [f for f in verdict_on(s.document(rings)).findings if f.code == "WALL"]
    steel = [shapely.LinearRing(r) for r in (edge, *holes)]
    least = min(a.distance(b) for k, a in enumerate(steel) for b in steel[:k])
    assert f"at least {least:.2f} mm" in told.message


def test_what_is_not_measured_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(walls, "TEST", 2_000_000)
    holes = "".join(s.circle(10 + 10 * k, 20, 5) for k in range(8))
    (told,) = walls_of(verdict_on(s.document(box(0, 0, 100, 40) + holes)))
    assert "of 8 holes were not measured" in told
