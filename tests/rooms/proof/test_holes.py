"""Every hole of the finished knife, inside its finished circle and concentric, by the rule of how it is made."""

from __future__ import annotations

import math

import numpy as np

from blankwright.proof.findings import CODES
from blankwright.proof.holes import ExpectedHole, hole_findings
from rooms.every import cases

SAME_MM = 0.001
"""A tenth of the finest cutting tolerance in the trade (common practice)."""
REAM_MM = (0.1, 0.4)
"""Left on the diameter for a reamer below 12 mm: 0.1 to 0.4 mm, 1/64 inch at most (workshop tables, from memory)."""

CUT = ExpectedHole(-40.0, 12.0, 8.0, "cut")
REAM = ExpectedHole(-60.0, 12.0, 5.1, "ream")
DRILL = ExpectedHole(-80.0, 12.0, 5.1, "drill")


def codes(
    *circles: tuple[float, float, float],
    spots: tuple[tuple[float, float], ...] = (),
    wanted: tuple[ExpectedHole, ...],
    marks: bool = True,
    kerf_mm: float = 0.0,
) -> list[str]:
    found = hole_findings(
        np.array(circles).reshape(-1, 3), np.array(spots).reshape(-1, 2), wanted, marks=marks, kerf_mm=kerf_mm
    )
    assert all(f.code in CODES for f in found)
    assert all(f.at_mm is not None for f in found if f.level == "error")
    return [f.code for f in found if f.level == "error"]


@cases("kerf_mm", [0.0, 0.2, 1.5])
@cases("off_mm", [0.0, 0.9 * SAME_MM, -0.9 * SAME_MM, 1.1 * SAME_MM, -1.1 * SAME_MM, 0.25, -0.25])
def test_a_hole_that_is_cut_has_its_finished_size(off_mm: float, kerf_mm: float) -> None:
    right = abs(off_mm) < SAME_MM
    found = codes((-40.0, 12.0, 8.0 - kerf_mm + off_mm), wanted=(CUT,), kerf_mm=kerf_mm)
    assert found == ([] if right else ["HOLE-DIAMETER"])


@cases("kerf_mm", [0.0, 0.2, 1.5])
@cases(
    ("under_mm", "right"),
    [(0.25, True), (REAM_MM[0], True), (REAM_MM[0] - 0.002, False), (REAM_MM[1], True), (REAM_MM[1] + 0.002, False),
     (0.0, False), (-0.25, False), (3.0, False)],
)  # fmt: skip
def test_a_hole_that_is_reamed_leaves_what_a_reamer_wants(under_mm: float, right: bool, kerf_mm: float) -> None:
    found = codes((-60.0, 12.0, 5.1 - under_mm - kerf_mm), wanted=(REAM,), kerf_mm=kerf_mm)
    assert found == ([] if right else ["HOLE-DIAMETER"])


def test_a_hole_that_is_drilled_is_marked_or_is_not_there() -> None:
    at = (DRILL.x_mm, DRILL.y_mm)
    assert codes(spots=(at,), wanted=(DRILL,)) == []
    assert codes(wanted=(DRILL,)) == ["HOLE-MISSING"]
    assert codes(wanted=(DRILL,), marks=False) == []
    assert codes(spots=(at,), wanted=(DRILL,), marks=False) == ["HOLE-EXTRA"]
    assert codes((*at, 4.85), wanted=(DRILL,), marks=False) == ["HOLE-EXTRA"]
    assert codes((*at, 4.85), spots=(at,), wanted=(DRILL,)) == ["HOLE-EXTRA"]


@cases("way", [0.0, 45.0, 90.0, 200.0])
@cases(("off_mm", "right"), [(0.9 * SAME_MM, True), (1.1 * SAME_MM, False), (0.2, False), (3.0, False)])
@cases("hole", [CUT, REAM, DRILL], ids=lambda hole: hole.made_by)
def test_a_hole_is_concentric(hole: ExpectedHole, off_mm: float, right: bool, way: float) -> None:
    x = hole.x_mm + off_mm * math.cos(math.radians(way))
    y = hole.y_mm + off_mm * math.sin(math.radians(way))
    if hole.made_by == "drill":
        found = codes(spots=((x, y),), wanted=(hole,))
    else:
        found = codes((x, y, hole.diameter_mm - (0.25 if hole.made_by == "ream" else 0.0)), wanted=(hole,))
    assert found == ([] if right else ["HOLE-PLACE"])


def test_missing_added_and_moved_away() -> None:
    both = ((-40.0, 12.0, 8.0), (-60.0, 12.0, 4.85))
    assert codes(*both, wanted=(CUT, REAM)) == []
    assert codes(both[0], wanted=(CUT, REAM)) == ["HOLE-MISSING"]
    assert codes(*both, (30.0, 15.0, 5.0), wanted=(CUT, REAM)) == ["HOLE-EXTRA"]
    assert codes(both[0], (-60.0, 24.0, 4.85), wanted=(CUT, REAM)) == ["HOLE-MISSING", "HOLE-EXTRA"]
    assert codes(wanted=()) == []


def test_a_diameter_that_is_no_number_is_never_right() -> None:
    """Places are numbers: the reader refuses others."""
    assert codes((-40.0, 12.0, math.nan), wanted=(CUT,)) == ["HOLE-DIAMETER"]
