"""How near outlines of lines and arcs come: against GEOS on fine chords, and inside or outside."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from blankwright.geometry.inside import inside
from blankwright.geometry.outline import Outline
from blankwright.stock.distance import nearness
from blankwright.stock.piece import box, round_zone

CHORD_MM = 1e-5


def blob(rng: np.random.Generator, x: float, y: float, size: float) -> Outline:
    """Return a wild outline of lines and arcs."""
    count = int(rng.integers(5, 14))
    turn = np.sort(rng.uniform(0, 2 * np.pi, count))
    out = size * rng.uniform(0.6, 1, count)
    bulges = rng.uniform(-0.4, 0.4, count) * (rng.random(count) < 0.7)
    return Outline(np.column_stack([x + out * np.cos(turn), y + out * np.sin(turn), bulges]))


def test_the_least_distance_is_that_of_fine_chords() -> None:
    rng = np.random.default_rng(1)
    for number in range(60):
        one, other = blob(rng, 0, 0, 20), blob(rng, rng.uniform(0, 60), rng.uniform(-40, 40), 25)
        told = nearness(one, other)
        a, b = (shapely.LinearRing(o.flattened(CHORD_MM)) for o in (one, other))
        assert told.mm == pytest.approx(a.distance(b), abs=3 * CHORD_MM), number
        assert told.crosses == a.intersects(b), number
        assert a.distance(shapely.Point(told.at_mm)) < 1e-4, number


def test_square_places_of_arcs_are_found() -> None:
    """Two circles, and a circle beside a line: the nearest places lie between the ends of their pieces."""
    left, right = round_zone(0, 0, 10).placed(37, 0, 0), round_zone(20, 3, 8).moved(0, 0)
    assert nearness(left, right).mm == pytest.approx(np.hypot(20, 3) - 9, abs=1e-9)
    assert nearness(round_zone(50, 25, 10), box(100, 60)).mm == pytest.approx(20.0, abs=1e-9)
    assert nearness(box(100, 60), round_zone(50, 25, 10)).mm == pytest.approx(20.0, abs=1e-9)


def test_inside_and_outside() -> None:
    rng = np.random.default_rng(2)
    tried = 0
    for _ in range(60):
        outline = blob(rng, 0, 0, 20)
        area = shapely.Polygon(outline.flattened(CHORD_MM))
        if not area.is_valid:
            continue
        tried += 1
        places = rng.uniform(-25, 25, (100, 2))
        assert (inside(outline, places) == shapely.contains_xy(area, places[:, 0], places[:, 1])).all()
    assert tried > 30
