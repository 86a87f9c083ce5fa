"""The parts of an inspection by themselves: curves as arcs, joining, doubles, contacts, what lies in what."""

from __future__ import annotations

import ast
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
import shapely
from scipy.interpolate import BSpline

import blankwright
from blankwright.base.errors import GeometryError
from blankwright.geometry.outline import Outline
from blankwright.inspection import curves, nesting
from blankwright.inspection.entities import read_drawing
from blankwright.inspection.verdict import Wanted, judge
from blankwright.inspection.walls import wall_findings
from blankwright.proof import chains, contacts, distance
from blankwright.shop.tables import process
from rooms.every import cases
from truth import spoiled as s

SOURCE = "scipy's BSpline (de Boor) for splines; GEOS by shapely for distances and containment"
PACKAGE = Path(blankwright.__file__).parent


def strand(rows: list[tuple[float, float, float]], *, closed: bool = False) -> chains.Strand:
    return chains.Strand("LINE", "0", 1, np.array(rows, dtype=float), closed)


def points_of(rows: np.ndarray, step_mm: float = 0.02) -> np.ndarray:
    """Return points along an open chain."""
    out = []
    for a, b in pairwise(rows):
        pair = distance.pieces_of(np.array([a, b]), closed=False)
        n = max(2, int(pair.length[0] / step_mm))
        out.append(distance.along_pieces(pair.take(np.zeros(n, dtype=np.intp)), np.linspace(0, 1, n)))
    return np.concatenate(out)


def apart_mm(one: np.ndarray, other: np.ndarray) -> float:
    """Return the largest distance from a point of either chain to the other chain, by GEOS's tree of segments [mm]."""
    far = 0.0
    for chain, points in ((one, other), (other, one)):
        sides = shapely.STRtree(shapely.linestrings(np.stack([chain[:-1], chain[1:]], axis=1)))
        _, away = sides.query_nearest(shapely.points(points), return_distance=True, all_matches=False)
        far = max(far, float(away.max()))
    return far


@pytest.mark.parametrize("degree", [1, 2, 3, 5])
def test_a_spline_with_uneven_knots_is_followed(degree: int) -> None:
    print("seed", degree)
    rng = np.random.default_rng(degree)
    n = 12
    points = np.cumsum(rng.uniform(2, 20, (n, 2)), axis=0)
    inner = np.sort(rng.uniform(0.3, 8.7, n - degree - 1))
    knots = np.concatenate([np.zeros(degree + 1), inner, np.full(degree + 1, 9.0)])
    curve = curves.of_spline(points, np.ones(n), knots, degree)
    rows, deviation = curves.to_arcs(curve, 0.005)
    truth = BSpline(knots, points, degree)(np.linspace(0, 9, 30_001))
    assert deviation <= 0.005
    assert apart_mm(truth, points_of(rows)) <= deviation + 0.003  # the samples of the truth miss its corners by as much
    assert rows[[0, -1], :2] == pytest.approx(truth[[0, -1]], abs=1e-9)


def test_a_rational_spline_is_a_circle() -> None:
    w = np.array([1, np.sqrt(0.5), 1, np.sqrt(0.5), 1])
    points = np.array([[10, 0], [10, 10], [0, 10], [-10, 10], [-10, 0]], dtype=float)
    curve = curves.of_spline(points, w, np.array([0, 0, 0, 1, 1, 2, 2, 2], dtype=float), 2)
    rows, deviation = curves.to_arcs(curve, 0.005)
    assert np.hypot(*points_of(rows).T) == pytest.approx(10, abs=max(deviation, 1e-9))
    assert len(rows) <= 4, "one circle stays a few arcs"


@cases(
    ("knots", "degree"), [([0, 0, 1, 1], 1), ([0, 0, 0, 2, 1, 1, 1], 3), ([0] * 8, 3), ([0, 1, 2, 3, 4, 5, 6, 7], 0)]
)
def test_numbers_that_make_no_spline_are_refused(knots: list[float], degree: int) -> None:
    with pytest.raises(GeometryError):
        curves.of_spline(np.zeros((4, 2)), np.ones(4), np.array(knots, dtype=float), degree)


def test_an_arc_stretched_unevenly_is_the_ellipse() -> None:
    circle = np.array([[3.0, 0.0, 1.0], [-3.0, 0.0, 1.0]])
    curve = curves.of_chain(circle, closed=True).moved(np.diag([2.0, 1.0]), np.array([10.0, 5.0]))
    rows, deviation = curves.to_arcs(curve, 0.002)
    p = points_of(rows) - [10, 5]
    t = np.linspace(0, 2 * np.pi, 40_001)
    ring = shapely.LinearRing(np.stack([6 * np.cos(t), 3 * np.sin(t)], axis=1))
    assert shapely.distance(shapely.points(p), ring).max() <= deviation + 1e-5


@cases("seed", range(5))
def test_pieces_in_any_order_and_direction_make_the_outline(seed: int) -> None:
    print("seed", seed)
    rng = np.random.default_rng(seed)
    rows = np.array(s.BLADE)
    parts = []
    for a, b in zip(rows, np.roll(rows, -1, axis=0), strict=True):
        piece = np.array([a, [b[0], b[1], 0.0]])
        parts.append(chains.reversed_rows(piece) if rng.random() < 0.5 else piece)
    order = rng.permutation(len(parts))
    runs, joints = chains.joined([chains.Strand("LINE", "0", 1, parts[k], False) for k in order])
    assert joints == []
    (run,) = runs
    assert run.closed
    assert abs(Outline(run.vertices).area_mm2) == pytest.approx(Outline(rows).area_mm2, rel=1e-12)


def test_gaps_are_matched_nearest_first() -> None:
    runs, _ = chains.joined([strand([(0, 0, 0), (10, 0, 0)]), strand([(10.05, 0, 0), (10, 10, 0)])])
    near, far = chains.gaps(runs)
    assert near.size_mm == pytest.approx(0.05)
    assert near.at_mm == pytest.approx((10.025, 0))
    assert far.size_mm == pytest.approx(np.hypot(10, 10))
    closed, done = chains.bridged(runs, 0.1)
    assert len(done) == 1
    assert len(closed) == 1
    assert closed[0].vertices[1, :2] == pytest.approx((10.025, 0))


@cases(
    ("one", "two", "left"),
    [
        ([(0, 0, 0), (10, 0, 0)], [(10, 0, 0), (0, 0, 0)], 1),
        ([(0, 0, 0), (10, 0, 0)], [(2, 0, 0), (5, 0, 0)], 1),
        ([(0, 0, 0), (10, 0, 0)], [(6, 0, 0), (15, 0, 0)], 1),
        ([(0, 0, 0), (10, 0, 0)], [(10, 0, 0), (15, 0, 0)], 2),
        ([(0, 0, 0), (10, 0, 0)], [(0, 0.1, 0), (10, 0.1, 0)], 2),
        ([(0, 0, 0.2), (10, 0, 0)], [(10, 0, -0.2), (0, 0, 0)], 1),
        ([(0, 0, 0.2), (10, 0, 0)], [(10, 0, 0.2), (0, 0, 0)], 2),
    ],
)  # fmt: skip
def test_what_is_drawn_twice_is_left_out_or_joined(one: list, two: list, left: int) -> None:  # type: ignore[type-arg]
    kept, found = chains.without_doubles([strand(one), strand(two)])
    assert (len(kept), len(found)) == (left, 2 - left)


def test_arcs_that_run_over_each_other_become_one() -> None:
    def part(first: float, last: float) -> chains.Strand:
        a, b = np.radians([first, last])
        bulge = np.tan((b - a) / 4)
        return strand([(20 * np.cos(a), 20 * np.sin(a), bulge), (20 * np.cos(b), 20 * np.sin(b), 0)])

    (whole,), (found,) = chains.without_doubles([part(0, 60), part(40, 110)])
    assert found.removed
    assert distance.pieces_of(whole.vertices, closed=False).length[0] == pytest.approx(20 * np.radians(110))


def test_near_pairs_are_those_of_every_pair_looked_at() -> None:
    print("seed 3")
    rng = np.random.default_rng(3)
    rows = np.zeros((400, 3))
    rows[:, :2] = rng.uniform(0, 100, (400, 2))
    rows[1::2, :2] = rows[::2, :2] + rng.normal(0, 6, (200, 2))
    rows[::2, 2] = rng.uniform(-1, 1, 200)
    pieces = distance.pieces_of(rows, closed=False).take(2 * np.arange(200))
    low, high = distance.boxes(pieces)
    meet = (low[:, None] <= high[None] + 0.01).all(axis=2) & (low[None] <= high[:, None] + 0.01).all(axis=2)
    wanted = {(i, j) for i, j in np.argwhere(meet) if i < j}
    i, j = contacts.near_pairs(pieces, 0.01)
    assert {(int(a), int(b)) for a, b in zip(i, j, strict=True)} == wanted


def test_a_point_is_inside_where_geos_says_so() -> None:
    print("seed 5")
    rng = np.random.default_rng(5)
    angles = np.sort(rng.uniform(0, 2 * np.pi, 60))
    ring = (rng.uniform(5, 20, 60) * np.stack([np.cos(angles), np.sin(angles)])).T
    points = rng.uniform(-20, 20, (1000, 2))
    assert (nesting.contains(ring, points) == shapely.contains_xy(shapely.Polygon(ring), *points.T)).all()


def test_no_part_of_the_inspection_shares_code_with_a_writer() -> None:
    drawn = {"inspected", "faults", "mended", "run", "__init__"}  # they write what was found
    judging = [
        path for room in ("inspection", "proof") for path in (PACKAGE / room).glob("*.py") if path.stem not in drawn
    ]
    assert len(judging) > 15
    for path in judging:
        tree = ast.parse(path.read_text(encoding="utf-8"))
        modules = {n.module or "" for n in ast.walk(tree) if isinstance(n, ast.ImportFrom)}
        modules |= {a.name for n in ast.walk(tree) if isinstance(n, ast.Import) for a in n.names}
        forbidden = ("cutting", "ink", "drawing", "template")
        assert not any(m.split(".")[1:2] == [room] for m in modules for room in forbidden), path.name
        assert not any(m.split(".")[0] in {"ezdxf", "svgwrite", "scipy"} for m in modules), path.name


def test_inches_under_the_name_of_metres_are_told_apart_from_a_plain_slip(tmp_path):
    """A writer's default may say metres whatever was drawn: 13.6 x 1.95 as metres are 39.37 times a knife of inches."""
    file = tmp_path / "named.dxf"
    lines = ["0", "SECTION", "2", "HEADER", "9", "$INSUNITS", "70", "6", "0", "ENDSEC", "0", "SECTION", "2", "ENTITIES"]
    lines += ["0", "LWPOLYLINE", "8", "CUT", "90", "4", "70", "1"]
    for x, y in ((0, 0), (13.6, 0), (13.6, 1.95), (0, 1.95)):
        lines += ["10", str(x), "20", str(y)]
    file.write_text("\n".join([*lines, "0", "ENDSEC", "0", "EOF", ""]), encoding="ascii")
    from blankwright.inspection.run import inspect, request

    asked = request(file, expect=None, process=None, stock=None, picture=None, mended=None, gap="0.1mm", force=False)
    (unit,) = [f for f in inspect(asked)["findings"] if f["code"] == "UNIT" and f["level"] == "error"]
    assert "39.37 times too large" in unit["message"]
    assert "its numbers are inches, though it says metres" in unit["message"]
    assert "345.4 mm long" in unit["message"]


@cases(("name", "mm", "said"), [("x_cut_in.dxf", 25.4, "inches"), ("x_cut_mm.dxf", 1.0, "mm"), ("x.dxf", None, None)])
def test_a_release_without_units_is_read_in_the_unit_of_its_name(name: str, mm: float | None, said: str | None) -> None:
    factor = 1 / (mm or 1)
    outline = s.heavy(s.scaled(s.BLADE, factor))
    data = s.document(outline, insunits=None, measurement=None, release="AC1009").encode()
    sheet = read_drawing(data, name)
    assert sheet.name_unit_mm == mm
    found = judge(sheet, Wanted(None, None, None)).findings
    (unit,) = [f for f in found if f.code == "UNIT"]
    assert unit.level == "warning"
    assert said is None or f"its name says {said}" in unit.message


def test_the_unit_of_a_name_says_nothing_against_the_header() -> None:
    assert read_drawing(s.sound().encode(), "x_cut_in.dxf").name_unit_mm is None


def test_walls_that_no_row_knows_are_said_not_skipped() -> None:
    """A process that cuts holes, but whose row has no wall; one that cuts none is told so by HOLE-SIZE alone."""
    hole = SimpleNamespace(depth=1)
    wanting = replace(process("laser"), wall_mm=None, wall_per_thickness=None)
    assert wanting.wall_for_mm(3.0) is None
    (told,) = wall_findings([hole], wanting, 3.0)  # type: ignore[list-item]
    assert (told.code, told.level) == ("WALL", "warning")
    assert "No least wall is known for laser" in told.message
    assert wall_findings([], wanting, 3.0) == []
    assert process("saw").wall_for_mm(3.0) is None
    assert wall_findings([hole], process("saw"), 3.0) == []  # type: ignore[list-item]


@cases(
    ("name", "thickness_mm", "wall_mm"),
    [("plasma-table", 3.0, 4.5), ("laser", 3.0, 3.0), ("water-jet", 3.0, 1.5), ("water-jet", 10.0, 1.5)],
)
def test_the_wall_of_a_process(name: str, thickness_mm: float, wall_mm: float) -> None:
    """Cutting services' guides, common practice: 1.5 thicknesses for plasma, one for laser, 1.5 mm for a jet."""
    assert process(name).wall_for_mm(thickness_mm) == pytest.approx(wall_mm)
