"""Distances that differ by region: never nearer than asked, smooth ramps, no more metal than they need."""

from __future__ import annotations

import numpy as np
import pytest

from blankwright.geometry.distance import points_to_pieces
from blankwright.geometry.offset import parallel
from blankwright.geometry.outline import Outline, points_on
from blankwright.geometry.ramps import RAMP_PER_MM, lanes
from rooms.geometry.test_figures import box, chef, drawn, slot, star
from rooms.often import often, repeated

STEP_MM = 0.05
STEADY_MM = 1e-9  # rounding: steady parts are concentric arcs
STEADY_MORE_MM = 0.01
RAMP_MM = 0.002  # biarcs follow the ramp's envelope to 0.001 mm by the law; the rest is sampling
TANGENT_RAD = 1e-6

USUAL = {"edge": 1.2, "spine": 0.6, "heel": 0.8, "tang": 0.5, "butt": 0.7}
CASES = [
    USUAL,
    {"edge": 3.5, "spine": 0.4, "heel": 2.0, "tang": 0.4, "butt": 3.0},
    {"edge": 0.4, "spine": 3.0, "heel": 0.4, "tang": 3.0, "butt": 0.4},
    {"edge": 0.5, "spine": 0.5, "heel": 4.0, "tang": 0.5, "butt": 0.5},
    {"edge": 1.0, "spine": 1.01, "heel": 1.0, "tang": 1.02, "butt": 1.0},
]


def asked(outline, by_region):
    return np.array([by_region[r] for r in outline.regions])


def on_ramps(lane, each=300):
    """Return places on a lane's ramps with the distance there, by the ramp's own cubic."""
    v = np.flatnonzero(lane.varying)
    i, t = np.repeat(v, each), np.tile(np.linspace(0, 1, each), len(v))
    chord = np.hypot(*(lane.ends[i] - lane.starts[i]).T)
    b = np.abs(lane.bulges[i])
    length = chord * np.where(b > 1e-9, np.arctan(b) * (1 + b * b) / np.maximum(b, 1e-12), 1.0)
    (d0, d1), (s0, s1) = lane.near[i].T, lane.slope[i].T * length
    there = d0 * (1 + 2 * t) * (1 - t) ** 2 + s0 * t * (1 - t) ** 2 + d1 * t * t * (3 - 2 * t) + s1 * t * t * (t - 1)
    return points_on(lane.starts[i], lane.ends[i], lane.bulges[i], t), there


def beyond_ramps(points, lane):
    """Return how much further each point lies from the ramps than they ask (inf without ramps)."""
    places, there = on_ramps(lane)
    found = np.full(len(points), np.inf)
    if not len(places):
        return found
    for k in range(0, len(points), 1000):
        p = points[k : k + 1000]
        dx, dy = p[:, None, 0] - places[:, 0], p[:, None, 1] - places[:, 1]
        found[k : k + 1000] = (np.sqrt(dx * dx + dy * dy) - there).min(axis=1)
    return found


@pytest.fixture(scope="module")
def finished():
    return chef().smooth


@pytest.mark.parametrize("case", CASES, ids=range(len(CASES)))
def test_never_nearer_than_asked(finished, case):
    want = asked(finished, case)
    points, _ = parallel(finished, want).outline.sampled(STEP_MM)
    gap = points_to_pieces(points, finished.starts, finished.ends, finished.bulges) - want
    worst = np.unravel_index(int(gap.argmin()), gap.shape)
    say = f"{gap.min()} at {points[worst[0]]} from {finished.regions[worst[1]]}"
    assert gap.min() >= -STEADY_MM, say


@repeated
@pytest.mark.parametrize("case", CASES[: often(3, 1)], ids=range(often(3, 1)))
def test_steady_parts_are_exact_and_ramps_keep_their_own_distance(finished, case):
    want = asked(finished, case)
    lane = lanes(finished, want)
    points, _ = parallel(finished, want).outline.sampled(4 * STEP_MM)
    steady = ~lane.varying
    from_steady = points_to_pieces(points, lane.starts[steady], lane.ends[steady], lane.bulges[steady])
    from_steady = (from_steady - lane.near[steady, 0]).min(axis=1)
    from_ramps = beyond_ramps(points, lane)
    assert from_steady.min() >= -STEADY_MM
    assert from_ramps.min() >= -RAMP_MM
    # every place belongs to one or the other and lies no further out than that asks
    on_steady = from_steady <= from_ramps
    assert from_steady[on_steady].max() <= min(RAMP_MM, STEADY_MORE_MM)
    assert from_ramps[~on_steady].max() <= RAMP_MM


@pytest.mark.parametrize("case", CASES, ids=range(len(CASES)))
def test_joints_are_tangent(finished, case):
    result = parallel(finished, asked(finished, case))
    assert not result.collapsed  # so no corner was trimmed
    assert np.abs(np.radians(result.outline.corner_angles_deg)).max() < TANGENT_RAD


def test_a_ramp_lies_in_the_side_with_the_smaller_distance():
    o = Outline(slot(160, 20).vertices, ("edge", "butt", "spine", "tip"))
    lane = lanes(o, np.array([2.0, 1.0, 1.0, 1.0]))
    on = {o.regions[i] for i in lane.source[lane.varying]}
    assert on == {"butt", "tip"}
    edge = lane.source == 0
    assert (lane.near[edge] == 2.0).all()
    # 12 mm of ramp for each mm of difference, at either end
    start, end = lane.starts[lane.varying], lane.ends[lane.varying]
    assert np.hypot(*(end - start).T).sum() == pytest.approx(2 * RAMP_PER_MM * 1.0, rel=0.01)


def test_far_from_ramps_each_side_has_its_own_distance():
    o = slot(160, 20)
    points, _ = parallel(o, np.array([2.0, 2.0, 0.5, 2.0])).outline.sampled(STEP_MM)
    top = points[(np.abs(points[:, 0]) < 50) & (points[:, 1] > 0)]
    low = points[(np.abs(points[:, 0]) < 80) & (points[:, 1] < 0)]
    assert top[:, 1] == pytest.approx(np.full(len(top), 20.5))
    assert low[:, 1] == pytest.approx(np.full(len(low), -22.0))


def test_a_stretch_too_short_for_its_ramps_takes_the_larger_distance():
    o = box(40, 1.0)
    lane = lanes(o, np.array([3.0, 0.2, 3.0, 3.0]))
    assert not lane.varying.any()
    assert (lane.near == 3.0).all()
    flat = parallel(o, np.array([3.0, 0.2, 3.0, 3.0])).outline
    assert flat.area_mm2 == pytest.approx(parallel(o, 3.0).outline.area_mm2, abs=1e-6)


def test_regions_of_one_distance_leave_no_ramp(finished):
    lane = lanes(finished, np.full(len(finished), 1.3))
    assert not lane.varying.any()
    one = parallel(finished, np.full(len(finished), 1.3)).outline
    assert one.vertices == pytest.approx(parallel(finished, 1.3).outline.vertices)


def test_where_the_chain_begins_does_not_matter(finished):
    want = asked(finished, USUAL)
    whole = parallel(finished, want).outline
    for shift in (7, 31, 60):
        turned = Outline(np.roll(finished.vertices, shift, axis=0))
        again = parallel(turned, np.roll(want, shift)).outline
        assert again.area_mm2 == pytest.approx(whole.area_mm2, abs=1e-3), shift


def test_between_the_least_and_the_largest_distance(finished):
    area = parallel(finished, asked(finished, USUAL)).outline.area_mm2
    assert parallel(finished, 0.5).outline.area_mm2 < area < parallel(finished, 1.2).outline.area_mm2
    # and near the sum of its strips: length times distance, region by region
    strips = float((finished.lengths * asked(finished, USUAL)).sum())
    assert area - finished.area_mm2 == pytest.approx(strips, rel=0.05)


def test_random_outlines_keep_the_distance_of_their_nearest_piece():
    from blankwright.base.errors import GeometryError

    refused = 0
    cases = drawn(star, 0, 150)
    for seed, o in cases:
        want = np.random.default_rng(seed).uniform(0.3, 3, len(o))
        try:
            result = parallel(o, want).outline
        except GeometryError:
            refused += 1  # thin walls whose sides ask for very different distances; said, not hidden
            continue
        points, _ = result.sampled(0.5)
        gap = points_to_pieces(points, o.starts, o.ends, o.bulges)
        nearest = gap.argmin(axis=1)
        # 1e-7: where two moved pieces cross at a shallow angle the place is known no better
        assert (gap.min(axis=1) - want[nearest]).min() >= -1e-7, f"seed {seed}"
        assert gap.min(axis=1).max() <= want.max() + 1e-6, f"seed {seed}"
    assert refused <= 0.03 * len(cases)


@pytest.mark.parametrize(("more", "kept"), [(2.6, True), (2.75, False)])
def test_a_ramp_steeper_than_two_in_five_is_dropped(more, kept):
    # a side of 20 mm with a ramp at each end: 10 mm of room, and a cubic ramp is 1.5 rise / room at its steepest,
    # 0.39 and 0.4125 here; the limit stands as a figure, so that moving it is seen
    bar = box(100, 20)
    want = np.array([1.0 + more, 1.0, 1.0 + more, 1.0 + more])
    assert bool(lanes(bar, want).varying.any()) is kept
    everywhere = parallel(bar, 1.0 + more).outline.area_mm2
    area = parallel(bar, want).outline.area_mm2
    assert (area < everywhere - 1.0) if kept else (area == pytest.approx(everywhere, abs=1e-9))
