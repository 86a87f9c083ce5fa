"""Tip, edge, heel and regions by rule: every shipped knife, lying anyhow, comes back into its own coordinates."""

import numpy as np
import pytest

from blankwright.geometry.outline import Outline
from blankwright.lift.naming import named
from rooms.design.cases import CASES, solved
from rooms.often import repeated, seldom

ORDER = ["edge", "spine", "tang", "butt", "tang", "heel"]


def runs(outline):
    return [r for k, r in enumerate(outline.regions) if k == 0 or r != outline.regions[k - 1]]


def on_its_heel(truth):
    """Return a knife as it rests on the board at its heel, and whether it rocks there: an edge without a flat."""
    x, y = truth.start_tangents[0]
    return truth.placed(-float(np.degrees(np.arctan2(y, x))), 0, 0), bool(abs(y) > 1e-6)


@repeated
def test_every_knife_comes_back(seed=3):
    rng = np.random.default_rng(seed)
    wrong = []
    cases = [CASES[int(k)] for k in rng.permutation(len(CASES))[: seldom(len(CASES), 40, 24)]]
    for case in cases:
        truth, rocks = on_its_heel(solved(*case).finished)
        lying = truth.placed(float(rng.uniform(-180, 180)), 40, -30)
        mirrored = bool(rng.random() < 0.5)
        found = named(lying.mirrored() if mirrored else lying)
        off = np.abs(np.subtract(found.outline.bounds_mm, truth.bounds_mm)).max()
        told = 0.25 if rocks else 0.03  # a line at the heel of a bend is known to a tenth of a degree
        if off > told or runs(found.outline) != ORDER or found.placing.mirrored != mirrored:
            wrong.append((case, off, runs(found.outline)))
        assert found.outline.area_mm2 == pytest.approx(truth.area_mm2, rel=1e-9)
    assert not wrong


@pytest.mark.parametrize("family", ["round-slicer", "slicer", "chef"])
def test_a_rounded_tip_and_a_bare_tang(family):
    """The corners of the tang are sharper than such a tip; the heel says which end is which."""
    truth = solved(family, "hidden", "all greatest").finished
    found = named(truth.placed(200, 5, 6))
    assert np.abs(np.subtract(found.outline.bounds_mm, truth.bounds_mm)).max() < 0.03
    assert not found.doubts


def test_the_lean_and_a_rounded_heel_are_in_the_budget():
    truth = solved("spreader", "full", "default").finished
    rows = {row.what: row.mm for row in named(Outline(truth.vertices, truth.regions, 0.01)).budget}
    assert rows["the lean of the board line"] > 0
    assert "the origin at a rounded heel" in rows


def test_places_go_there_and_back():
    truth = solved("chef", "full", "default").finished
    found = named(truth.placed(100, 5, 6))
    places = np.array([[0.0, 0.0], [-40.0, 20.0]])
    there = found.placing.back(places)
    assert found.placing.of(there) == pytest.approx(places, abs=1e-9)
    tip = found.outline.starts[found.outline.regions.index("spine")]
    assert tip == pytest.approx((210, 18), abs=0.01)


def test_what_is_said_wins():
    truth = solved("chef", "full", "default").finished
    found = named(truth, tip="left", edge="up")
    assert found.placing.matrix[0, 0] < -0.99  # what lies on the left is ahead
    assert not found.placing.mirrored
    assert named(truth, tip="left").placing.mirrored or named(truth, tip="left", edge="down").placing.mirrored


def test_a_shape_without_a_heel_is_doubted():
    slot = Outline(np.array([[-80, -20, 0], [80, -20, 1], [80, 20, 0], [-80, 20, 1.0]]))
    found = named(slot)
    assert "No heel is seen" in found.doubts[0].text()
    assert set(found.outline.regions) <= {"edge", "spine", "heel", "tang", "butt"}
    assert found.outline.area_mm2 == pytest.approx(slot.area_mm2)
