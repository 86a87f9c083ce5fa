"""How high the spine is held over a stone, against a section drawn here from its corners and laid on the stone."""

from __future__ import annotations

import math
from collections.abc import Sequence

import pytest

from blankwright.design.request import read_design
from blankwright.knife.knife import Knife, finish
from rooms.every import cases

SOURCE = "plane geometry: the corners of a flat-ground section, turned until an edge bevel lies on the stone"
TOLERANCE_MM = 0.05
TOLERANCE_DEG = 0.1
REASON = "A maker stacks coins to a few hundredths, and holds an angle to a degree at best."

Point = tuple[float, float]
CASES = {
    "double": ({"grind.bevel": "double"}, 0.5, (15.0, 15.0)),
    "single, right": ({"grind.bevel": "single"}, 1.0, (15.0, None)),
    "single, left": ({"grind.bevel": "single", "grind.right_share": "0 %", "grind.edge_angle": "12 deg"}, 0.0,
                     (None, 12.0)),
    "uneven, 70 %": ({"grind.bevel": "uneven", "grind.right_share": "70 %"}, 0.7, (15.0, 15.0)),
    "uneven, two angles": (
        {"grind.bevel": "uneven", "grind.right_share": "70 %", "grind.edge_angle": "16 deg",
         "grind.edge_angle_left": "11 deg"}, 0.7, (16.0, 11.0),
    ),
}  # fmt: skip


def knife_of(changes: dict[str, str]) -> Knife:
    return finish(read_design("chef", {"grind.behind_edge": "0.3 mm", "material.thickness": "3 mm", **changes}))


def corners(height: float, spine: float, share: float, side: int, angle_deg: float) -> list[Point]:
    """Return one side's corners, (out, up): edge, foot of the primary bevel, spine, middle of the spine."""
    part = share if side == 0 else 1 - share
    foot = part * 0.3 / math.tan(math.radians(angle_deg))
    return [(0.0, 0.0), (part * 0.3, foot), (part * spine, height), ((part - 0.5) * spine, height)]


def laid(points: Sequence[Point]) -> list[Point]:
    """Turn the points about the edge until the edge bevel lies along the stone, out of which the steel stands up."""
    (x, y) = points[1]
    turn = -math.atan2(y, x)
    c, s = math.cos(turn), math.sin(turn)
    return [(c * u - s * v, s * u + c * v) for u, v in points]


def tilt_deg(points: Sequence[Point], raise_mm: float) -> float:
    """Return the angle between stone and plane of the edge when the middle of the spine is held that high."""
    (x, y), low, high = points[3], 0.0, 89.0
    for _ in range(60):
        middle = (low + high) / 2
        at = y * math.sin(math.radians(middle)) - x * math.cos(math.radians(middle))
        low, high = (middle, high) if at < raise_mm else (low, middle)
    return low


@cases("name", CASES)
def test_raise_and_gap_are_those_of_the_section_on_the_stone(name: str) -> None:
    changes, share, angles = CASES[name]
    stations = knife_of(changes).stations
    assert len(stations) == 3
    for s in stations:
        for side, angle in enumerate(angles):
            if angle is None:
                assert (s.raise_mm[side], s.gap_mm[side]) == (None, None)
                continue
            points = corners(s.height_mm, s.spine_mm, share, side, angle)
            flat = laid(points)
            assert flat[1][1] == pytest.approx(0.0, abs=1e-9)
            assert s.raise_mm[side] == pytest.approx(flat[3][1], abs=TOLERANCE_MM)
            assert s.gap_mm[side] == pytest.approx(flat[2][1], abs=TOLERANCE_MM)
            assert tilt_deg(points, s.raise_mm[side] or 0.0) == pytest.approx(angle, abs=TOLERANCE_DEG)


def test_the_rule_for_a_double_bevel_would_miss_the_angle_of_a_single_one() -> None:
    """What was told before, height times sine, sharpens a single bevel nearly two degrees too steep."""
    s = knife_of({"grind.bevel": "single"}).stations[0]
    points = corners(s.height_mm, s.spine_mm, 1.0, 0, 15.0)
    assert tilt_deg(points, s.height_mm * math.sin(math.radians(15))) > 16.5
