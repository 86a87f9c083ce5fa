"""Parallel outlines against two polygon libraries, on up to 2,500 random outlines of lines and arcs.

Clipper2 (through pyclipr) judges area and the number of loops. GEOS (through shapely) judges again, on a
coarser polygon: its buffer of a polygon with very many short sides beside an inner corner loses whole strips.
Both work on polygons; the allowances below are what flattening may do to them.
"""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from blankwright.geometry.offset import parallel
from rooms.every import cases
from rooms.geometry.test_figures import comb, drawn, notched, pocketed, star
from rooms.near import clear_of
from rooms.often import often, repeated

SOURCE = "Clipper2 (pyclipr) and GEOS (shapely), both from the package index."
TOLERANCE_MM = 1e-4
TOLERANCE_GEOS_MM = 2e-2
TOLERANCE_DISTANCE_MM = 1.1e-4
REASON = (
    "Area may differ by the tolerance times the length of both outlines: Clipper2 gets polygons of the outline's own "
    "area whose chords rise by 1e-3 mm, so that only the length of an arc is a third of that too short per radius of "
    "distance, and rounds to 1e-5 mm with arcs to 2e-4 mm; GEOS gets the source flattened to 1e-2 mm. Distances are "
    "measured to the flattened source."
)
CLIPPER_UNITS_PER_MM = 100_000
RISE_MM, LINE_MM = 1e-3, 1e-5  # an arc over its chords; one that rises less is taken as a line
LEAST_AREA_MM2 = 0.05  # smaller loops come and go with flattening
BATCH = often(250, 10)


def distance_for(seed):
    rng = np.random.default_rng([seed, 7])
    return float(rng.choice([-1, 1]) * rng.uniform(0.2, 12))


def of_equal_area(outline):
    """Return a polygon of the outline's own area: on every arc its corners lie as far outside as its chords inside."""
    corners = []
    for (x, y, bulge), end in zip(outline.vertices, outline.ends, strict=True):
        start = np.array([x, y])
        corners.append(start)
        chord, angle = end - start, 4 * np.arctan(abs(bulge))
        radius = np.hypot(*chord) / 2 / np.sin(angle / 2) if angle else 0.0
        if radius * angle**2 / 8 < LINE_MM:
            continue
        count = int(np.ceil(angle / np.sqrt(8 * RISE_MM / radius)))
        step, square = angle / count, (count - 1) * np.sin(angle / count)
        # half a step lies before the first and behind the last corner, at r from the middle, the joints at R:
        # (n - 1) r^2 sin(s) / 2 + R r sin(s / 2) = R^2 angle / 2
        once, whole = radius * np.sin(step / 2), radius**2 * angle
        out = (np.sqrt(once**2 + square * whole) - once) / square if square else whole / 2 / once
        left = np.array([-chord[1], chord[0]]) / np.hypot(*chord)
        middle = (start + end) / 2 + np.sign(bulge) * left * radius * np.cos(angle / 2)
        turns = np.arctan2(*(start - middle)[::-1]) + np.sign(bulge) * step * (np.arange(count) + 0.5)
        corners.extend(middle + out * np.column_stack([np.cos(turns), np.sin(turns)]))
    return np.array(corners)


def clipper_areas(outline, d):
    import pyclipr

    offset = pyclipr.ClipperOffset()
    offset.scaleFactor = CLIPPER_UNITS_PER_MM
    offset.arcTolerance = 20  # of its units: 2e-4 mm
    offset.addPath(of_equal_area(outline), pyclipr.JoinType.Round, pyclipr.EndType.Polygon)
    rings = [shapely.LinearRing(path) for path in offset.execute(d) if len(path) > 2]
    areas = [shapely.Polygon(ring).area * (1 if ring.is_ccw else -1) for ring in rings]
    return sorted(a for a in areas if abs(a) > LEAST_AREA_MM2)


def ours(outline, d):
    """Return the loops, or none when the outline is used up."""
    from blankwright.base.errors import GeometryError

    try:
        result = parallel(outline, d)
    except GeometryError as error:
        if "nothing is left" not in str(error):
            raise
        return []
    return [result.outline, *result.others]


def areas(loops):
    return sorted(a for a in (loop.area_mm2 for loop in loops) if abs(a) > LEAST_AREA_MM2)


def length(outline, loops):
    return outline.perimeter_mm + sum(loop.perimeter_mm for loop in loops)


def separated(outline, d):
    """Return whether the loops stay apart when the distance changes a little, as the count presumes."""
    step = 2e-3
    return len(clipper_areas(outline, d - step)) == len(clipper_areas(outline, d + step))


@repeated
@pytest.mark.parametrize("batch", range(5))
@pytest.mark.parametrize("make", [star, comb])
def test_area_and_loops_agree_with_clipper(make, batch):
    for seed, outline in drawn(make, 100_000 * batch, BATCH):
        d = distance_for(seed)
        say = f"{make.__name__} seed {seed}, d {d:.6f}"
        loops = ours(outline, d)
        theirs = clipper_areas(outline, d)
        found = areas(loops)
        allowed = TOLERANCE_MM * length(outline, loops) + LEAST_AREA_MM2 * (len(found) != len(theirs))
        assert sum(found) == pytest.approx(sum(theirs), abs=allowed), f"{say}: {found} against {theirs}"
        if len(found) != len(theirs):
            assert not separated(outline, d), f"{say}: {found} against {theirs}"


@repeated
@pytest.mark.parametrize("make", [star, comb])
def test_area_agrees_with_geos(make):
    for seed, outline in drawn(make, 700_000, often(200, 40)):
        d = distance_for(seed)
        loops = ours(outline, d)
        theirs = shapely.Polygon(outline.flattened(1e-2)).buffer(d, quad_segs=64).area
        allowed = TOLERANCE_GEOS_MM * length(outline, loops)
        say = f"{make.__name__} seed {seed}, d {d:.6f}"
        assert sum(loop.area_mm2 for loop in loops) == pytest.approx(theirs, abs=allowed), say


@repeated
@pytest.mark.parametrize("make", [star, comb])
def test_every_place_keeps_its_distance_measured_by_geos(make):
    for seed, outline in drawn(make, 800_000, often(100, 28)):
        d = distance_for(seed)
        ring = shapely.LinearRing(outline.flattened(1e-4))
        shapely.prepare(ring)
        for loop in ours(outline, d):
            points, _ = loop.sampled(0.5)
            say = f"{make.__name__} seed {seed}, d {d:.6f}"
            places = shapely.points(points)
            assert shapely.dwithin(ring, places, abs(d) + TOLERANCE_DISTANCE_MM).all(), say
            assert clear_of(ring, points, abs(d) - TOLERANCE_DISTANCE_MM), say


@repeated
@pytest.mark.parametrize("make", [star, comb])
def test_results_do_not_cross_themselves(make):
    for seed, outline in drawn(make, 900_000, often(100, 28)):
        d = distance_for(seed)
        for loop in ours(outline, d):
            if abs(loop.area_mm2) > LEAST_AREA_MM2:
                ring = shapely.Polygon(loop.flattened(1e-4))
                assert ring.is_valid, f"{make.__name__} seed {seed}, d {d:.6f}: {shapely.is_valid_reason(ring)}"


@cases("d", [0.5, 1.4, 1.6, 2.0, 5.0, 6.5])
def test_a_pocket_with_a_narrow_mouth(d):
    loops = ours(pocketed(), d)
    theirs = clipper_areas(pocketed(), d)
    assert areas(loops) == pytest.approx(theirs, abs=TOLERANCE_MM * length(pocketed(), loops))


@cases("bulge", [0.0, -1.0])
@cases("width", [1.0, 3.9999, 4.0, 4.0001, 6.0])
def test_notches_about_as_wide_as_two_distances(width, bulge):
    outline = notched(width, 10, bulge)
    loops = ours(outline, 2.0)
    assert areas(loops) == pytest.approx(clipper_areas(outline, 2.0), abs=TOLERANCE_MM * length(outline, loops))
