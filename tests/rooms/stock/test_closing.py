"""A layout closed up: to where plates can be pushed by hand, turned where that helps, and legal all the same."""

from __future__ import annotations

import math

import numpy as np
import pytest

from blankwright.geometry.pose import Pose
from blankwright.stock import closing
from blankwright.stock.blank import Blank, Job
from blankwright.stock.closing import closed_up
from blankwright.stock.layout import Laid, Layout, Sheet, proven
from blankwright.stock.piece import Piece, Zone, box, round_zone
from rooms.every import every
from rooms.often import often, repeated
from rooms.stock.jobs import faults_by_clipper, faults_by_geos, random_outline

NEVER = math.inf
SHEET = Piece("sheet", "sheet", box(400.0, 100.0), ((0.0, 3.0),))


def closed(job: Job, *poses: Pose) -> Layout:
    laid = tuple(Laid(min(k, len(job.blanks) - 1), pose) for k, pose in enumerate(poses))
    return Layout(job, (Sheet(0, 1, closed_up(job, 0, laid, NEVER)),))


def test_plates_are_pushed_together_to_their_gap() -> None:
    plate = Blank("plate", box(60.0, 90.0), 2, 1.0, 0.0, False, (0.0,))
    layout = closed(Job("j", (SHEET,), (plate,), 4.0, 2.0), Pose(30, 6, 0, False), Pose(200, 7, 0, False))
    assert proven(layout, layout.sheets[0]).faults == ()
    assert layout.used_mm(layout.sheets[0]) == pytest.approx(2 + 60 + 4 + 60, abs=0.05)


def test_a_plate_that_may_turn_lies_flat() -> None:
    """Leaning by 8 degrees it reaches further than flat: its length and the rim are what is left."""
    plate = Blank("plate", box(150.0, 40.0), 1, 1.0, 0.0, False, "any")
    layout = closed(Job("j", (SHEET,), (plate,), 4.0, 2.0), Pose(40, 20, 8, False))
    assert proven(layout, layout.sheets[0]).faults == ()
    upright = 2 + 40.0  # or it would stand, were the sheet high enough: it is not
    assert upright < layout.used_mm(layout.sheets[0]) == pytest.approx(2 + 150, abs=0.1)


def test_a_zone_holds_a_plate_back() -> None:
    zone = Zone("avoid", round_zone(50.0, 50.0, 20.0), 3.0, "hole")
    piece = Piece("sheet", "sheet", box(400.0, 100.0), ((0.0, 3.0),), (zone,))
    plate = Blank("plate", box(60.0, 95.0), 1, 1.0, 0.0, False, (0.0,))
    layout = closed(Job("j", (piece,), (plate,), 4.0, 2.0), Pose(150, 2, 0, False))
    assert proven(layout, layout.sheets[0]).faults == ()
    assert layout.used_mm(layout.sheets[0]) == pytest.approx(60 + 3 + 60, abs=0.05)


@repeated
@every(range(often(12, 2)))
def test_what_is_closed_up_is_legal_and_not_longer(seed: int) -> None:
    rng = np.random.default_rng([seed, 33])
    blanks = tuple(Blank(f"b{k}", random_outline(rng), 1, 1.0, 0.5) for k in range(3))
    reach = [float(np.hypot(*b.outline.vertices[:, :2].T).max()) * 1.3 for b in blanks]
    job = Job("j", (Piece("sheet", "sheet", box(900.0, 2.4 * max(reach)), ((0.0, 3.0),)),), blanks, 3.0)
    at = np.cumsum([2 * r + 5 for r in reach]) - reach
    poses = [Pose(float(x), 1.2 * max(reach), float(rng.uniform(-180, 180)), bool(rng.integers(2))) for x in at]
    before = Layout(job, (Sheet(0, 1, tuple(Laid(k, p) for k, p in enumerate(poses))),))
    after = closed(job, *poses)
    assert proven(before, before.sheets[0]).faults == ()
    assert faults_by_geos(after) == []
    assert faults_by_clipper(after) == []
    assert after.used_mm(after.sheets[0]) < 0.95 * before.used_mm(before.sheets[0])


def test_a_step_that_goes_wrong_is_not_taken(monkeypatch: pytest.MonkeyPatch) -> None:
    """Whatever the programs say: bars that cross between their corners are seen, and the last sound places are kept."""
    bar = Blank("bar", box(80.0, 10.0), 2, 1.0, 0.0, False, "any")
    job = Job("j", (SHEET,), (bar,), 4.0, 2.0)
    apart = (Pose(10, 10, 0, False), Pose(200, 10, 90, False))
    crossed = [Pose(10, 40, 0, False), Pose(55, 5, 90, False)]

    def wrong(bench: closing._Bench, poses: list[Pose], _: float) -> tuple[bool, list[Pose]]:
        return bench.held(poses, bench.rows(poses, 1.0)), crossed

    monkeypatch.setattr(closing._Bench, "step", wrong)
    layout = closed(job, *apart)
    assert tuple(one.pose for one in layout.sheets[0].laid) == apart
    assert proven(layout, layout.sheets[0]).faults == ()
