"""The closed-form distance, judged by GEOS on dense polylines and by distances known from the drawing."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely

from blankwright.base.errors import GeometryError
from blankwright.geometry.outline import Outline
from blankwright.proof import distance, selfcontact
from blankwright.proof.selfcontact import self_contacts
from rooms.counting import calls_in
from rooms.every import cases, every

DENSE_MM = 1e-4
TOLERANCE_MM = 3 * DENSE_MM  # both polylines may be off by DENSE_MM from their arcs, and a place by one more


def chain(rng: np.random.Generator, centre: tuple[float, float], reach: float) -> np.ndarray:
    count = int(rng.integers(2, 10))
    angle, radius = np.sort(rng.uniform(0, 2 * np.pi, count)), rng.uniform(5, reach, count)
    bulge = rng.uniform(-1, 1, count) * rng.choice([0.0, 1e-9, 1e-5, 0.2, 1.0, 4.0])
    return np.column_stack([centre[0] + radius * np.cos(angle), centre[1] + radius * np.sin(angle), bulge])


def dense(vertices: np.ndarray) -> list[shapely.LineString]:
    """Polylines of each piece, from the circle's centre and angles: not the package's own sampling."""
    lines = []
    for i, (x0, y0, b) in enumerate(vertices):
        x1, y1, _ = vertices[(i + 1) % len(vertices)]
        chord = complex(x1 - x0, y1 - y0)
        if abs(b) * abs(chord) / 2 < 1e-7:  # the sagitta: a line for every purpose of this test
            lines.append(shapely.LineString([(x0, y0), (x1, y1)]))
            continue
        centre = complex(x0, y0) + chord * (0.5 + 1j * (1 - b * b) / (4 * b))
        spoke, sweep = complex(x0, y0) - centre, 4 * math.atan(b)
        count = max(2, math.ceil(abs(sweep) / (2 * math.sqrt(2 * DENSE_MM / abs(spoke)))) + 1)
        z = centre + spoke * np.exp(1j * np.linspace(0, sweep, count))
        lines.append(shapely.LineString(np.column_stack([z.real, z.imag])))
    return lines


@every(range(300))
def test_random_chains_against_geos(seed: int) -> None:
    rng = np.random.default_rng(seed)
    ours = chain(rng, (0, 0), 30)
    far = 100.0 if seed % 3 == 0 else 0.0
    other = chain(rng, (float(rng.uniform(-40, 40)) + far, float(rng.uniform(-40, 40))), 60)
    least, place = distance.clearance(Outline(ours), other)
    whole = shapely.MultiLineString(dense(other))
    for i, line in enumerate(dense(ours)):
        assert abs(line.distance(whole) - least[i]) < TOLERANCE_MM
        spot = shapely.Point(place[i])
        assert spot.distance(line) < TOLERANCE_MM
        assert abs(spot.distance(whole) - least[i]) < TOLERANCE_MM


def rounded(x: float, y: float, w: float, h: float, r: float) -> np.ndarray:
    """A rectangle with round corners, counter-clockwise from the lower left."""
    b = math.tan(math.pi / 8)
    return np.array(
        [
            [x + r, y, 0], [x + w - r, y, b], [x + w, y + r, 0], [x + w, y + h - r, b],
            [x + w - r, y + h, 0], [x + r, y + h, b], [x, y + h - r, 0], [x, y + r, b],
        ],
    )  # fmt: skip


@cases("gap", [1e-7, 0.001, 0.25, 1.0, 7.5])
def test_concentric_outlines_keep_their_distance_everywhere(gap: float) -> None:
    inner = rounded(0, 0, 80, 20, 4)
    outer = rounded(-gap, -gap, 80 + 2 * gap, 20 + 2 * gap, 4 + gap)
    least, _ = distance.clearance(Outline(inner), outer)
    assert np.abs(least - gap).max() < 1e-12


def test_circles_of_two_pieces() -> None:
    """Distance of two circles is the distance of the centres less both radii (school geometry)."""
    ring = np.array([[-3.0, 0, 1.0], [3.0, 0, 1.0]])
    apart = np.array([[6.0, 8.0, 1.0], [8.0, 8.0, 1.0]])  # centre (7, 8), radius 1
    least, place = distance.clearance(Outline(ring), apart)
    assert least.min() == pytest.approx(math.hypot(7, 8) - 4, abs=1e-12)
    assert place[least.argmin()] == pytest.approx(3 * np.array([7, 8]) / math.hypot(7, 8), abs=1e-9)
    around = np.array([[-9.0, 1.0, 1.0], [11.0, 1.0, 1.0]])  # centre (1, 1), radius 10
    least, _ = distance.clearance(Outline(ring), around)
    assert least.min() == pytest.approx(10 - 3 - math.sqrt(2), abs=1e-12)


def test_crossing_and_touching_are_exactly_zero() -> None:
    box = rounded(0, 0, 10, 10, 2)
    assert distance.clearance(Outline(box), rounded(5, 3, 10, 4, 1))[0].min() == 0.0
    assert distance.clearance(Outline(box), rounded(10, 0, 10, 10, 2))[0].min() == 0.0
    assert distance.clearance(Outline(box), box)[0].max() == 0.0
    for turn in np.linspace(0.1, 1.4, 40):  # crossings at places that are no round numbers
        c, s = math.cos(turn), math.sin(turn)
        turned = np.column_stack([3 + c * box[:, 0] - s * box[:, 1], 3 + s * box[:, 0] + c * box[:, 1], box[:, 2]])
        assert distance.clearance(Outline(box), turned)[0].min() == 0.0


@cases("radius", [1e3, 1e6, 1e9, 1e12])
def test_an_arc_that_is_nearly_a_line_keeps_its_digits(radius: float) -> None:
    """Sagitta of a 100 mm chord: r - sqrt(r^2 - 50^2) = 2500 / (r + sqrt(r^2 - 2500)), no cancellation."""
    sagitta = 2500 / (radius + math.sqrt(radius**2 - 2500))
    arc = np.array([[0.0, 0.0, 0.0], [100.0, 0.0, 0.0], [100.0, 20.0, sagitta / 50], [0.0, 20.0, 0.0]])
    above = np.array([[-50.0, 30.0, 0.0], [150.0, 30.0, 0.0], [150.0, 50.0, 0.0], [-50.0, 50.0, 0.0]])
    least, place = distance.clearance(Outline(arc), above)
    assert least[2] == pytest.approx(10 - sagitta, abs=1e-12)
    assert place[2] == pytest.approx([50, 20 + sagitta], abs=1e-3)


def test_boxes_are_those_of_a_dense_polyline() -> None:
    for seed in range(100):
        vertices = chain(np.random.default_rng(seed), (3, -2), 30)
        low, high = distance.boxes(distance.pieces_of(vertices, closed=True))
        bounds = np.array([line.bounds for line in dense(vertices)])
        assert np.abs(np.hstack([low, high]) - bounds).max() < TOLERANCE_MM, seed


def test_sound_contours_have_no_contacts() -> None:
    assert self_contacts(rounded(0, 0, 80, 20, 4)) == ()
    assert self_contacts(np.array([[-3.0, 0, 1.0], [3.0, 0, 1.0]])) == ()
    assert self_contacts(np.array([[0.0, 0, 0], [9, 0, 0], [0, 9, 0]])) == ()


@cases(
    "vertices",
    [
        [[0, 0, 0], [10, 10, 0], [10, 0, 0], [0, 10, 0]],  # a bow tie
        [[0, 0, 0], [10, 0, 0], [4, 0, 0], [5, 8, 0]],  # runs back over itself
        [[0, 0, 0], [10, 0, 0], [10, 5, 0], [5, 0, 0], [0, 5, 0]],  # a corner touches the far side
        [[0, 0, 0], [10, 0, 0]],  # there and back
        [[0, 0, 0.5], [10, 0, -0.5]],  # there and back on the same arc
        [[0, 0, 0], [10, 0, 0], [10, 6, -1.5], [0, 6, 0]],  # an arc that dips through the opposite side
    ],
)
def test_contacts_are_found(vertices: list[list[float]]) -> None:
    assert self_contacts(np.array(vertices, dtype=float))


@every(range(60))
def test_contacts_agree_with_geos_on_polygons(seed: int) -> None:
    rng = np.random.default_rng(seed)
    points = rng.uniform(0, 10, (int(rng.integers(3, 8)), 2))
    vertices = np.column_stack([points, np.zeros(len(points))])
    assert bool(self_contacts(vertices)) == (not shapely.LinearRing(points).is_simple)


def test_a_tangle_is_refused_before_its_pairs_are_measured(monkeypatch: pytest.MonkeyPatch) -> None:
    rng = np.random.default_rng(7)
    vertices = np.column_stack([rng.uniform(0, 10, (3000, 2)), np.zeros(3000)])
    measured: list[object] = []
    monkeypatch.setattr(selfcontact, "pair_distances", lambda *pieces: measured.append(pieces))
    with pytest.raises(GeometryError, match="lie over each other"):
        self_contacts(vertices)
    assert measured == []


def test_a_usual_proof_is_one_round_of_arrays() -> None:
    """60 finished pieces against 80: 4,800 pairs are measured together, not one by one."""
    angle = np.linspace(0, 2 * np.pi, 81)[:-1]
    outer = np.column_stack([40 * np.cos(angle), 40 * np.sin(angle), np.full(80, 0.02)])
    inner = np.column_stack([30 * np.cos(angle[:60]), 30 * np.sin(angle[:60]), np.full(60, 0.02)])
    finished = Outline(inner)
    assert calls_in(lambda: distance.clearance(finished, outer)) < 4800


def test_flatten_keeps_its_promise_and_its_limit() -> None:
    vertices = np.array([[-50.0, 0, 1.0], [50.0, 0, 1.0]])
    points, piece = distance.flatten(vertices, 0.0005, math.inf, 10_000)
    closed = np.vstack([points, points[:1]])
    middle = np.hypot(*((closed[1:] + closed[:-1]) / 2).T)
    assert 50 - middle.min() <= 0.0005 + 1e-12
    assert np.abs(np.hypot(*points.T) - 50).max() < 1e-12
    assert set(piece) == {0, 1}
    assert len(distance.flatten(vertices, 0.0005, math.inf, 10)[0]) == 0


def test_ties_are_broken_by_place_not_by_last_digits() -> None:
    places = np.array([[3.0, 1.0], [1.0, 5.0], [1.0, 2.0], [0.0, 0.0]])
    for noise in (-1e-9, 0.0, 1e-9):
        least = np.array([0.6, 0.6 + noise, 0.6 - noise, 0.6 + 5e-6])  # the last is further off: no tie
        assert distance.first_of_least(least, places) == 2
    assert distance.first_of_least(np.array([0.6, 0.6, 0.6, 0.6 + 5e-7]), places) == 3
    assert distance.first_of_least(np.array([[0.6, 0.5, 0.7, 0.9]] * 2), np.stack([places] * 2)).tolist() == [1, 1]


def test_of_parallel_pieces_the_place_is_the_same_whatever_the_last_digits() -> None:
    inner = np.array([[0.0, 0, 0], [50, 0, 0], [50, 20, 0], [0, 20, 0]])
    outer = inner + np.array([[-1.0, -1, 0], [1, -1, 0], [1, 1, 0], [-1, 1, 0]])
    rng = np.random.default_rng(5)
    least, place = distance.between_pieces(inner, outer)
    assert least == pytest.approx(1.0)
    for _ in range(20):
        shaken = outer + rng.uniform(-1e-12, 1e-12, outer.shape)
        assert np.array_equal(np.round(distance.between_pieces(inner, shaken)[1], 6), np.round(place, 6))
