"""Every shipped family is a sound, fair knife at its defaults and at both ends of every dimension."""

from __future__ import annotations

import numpy as np
import pytest
from shapely import distance
from shapely import points as as_points
from shapely.geometry import LineString, MultiPoint, Polygon

from blankwright.design.family import load_family
from blankwright.design.solve import SolvedShape, solve_shape
from blankwright.design.tang import Hole, place_holes
from blankwright.geometry.outline import Outline
from rooms.design.cases import CASES, KINDS, sizes, solved
from rooms.every import cases, every
from rooms.often import repeated, share

pytestmark = repeated

PROMISE_MM = 1e-6
"""Asked dimensions hold to this."""
TANGENT_RAD = 1e-6
"""Largest kink at a joint that is no corner."""
ARC_TOLERANCE_MM = 0.005
"""Arcs follow the solved curves this closely."""

SCALLOPED = [(n, c, label) for n, c, label in CASES if n in ("bread", "curved-bread")]
"""Knives whose edge is a row of scallops, judged by the rules of their own below; their plain line by those of all."""

LOOKED_AT = share(CASES, 80)
every_case = every(LOOKED_AT)


@every_case
def test_asked_dimensions_hold_and_the_others_stay_in_range(name: str, construction: str, label: str) -> None:
    shape = solved(name, construction, label)
    asked = sizes(load_family(name), construction)[label]
    assert {s.dimension.name for s in shape.solved if s.asked_mm is not None} == set(asked)
    for one in shape.solved:
        d = one.dimension
        if d.name in asked:
            assert abs(one.value_mm - asked[d.name]) <= PROMISE_MM, d.key
        assert d.least_mm - PROMISE_MM <= one.value_mm <= d.greatest_mm + PROMISE_MM, d.key


@every_case
def test_the_outline_is_closed_simple_and_counter_clockwise(name: str, construction: str, label: str) -> None:
    outline = solved(name, construction, label).finished
    polygon = Polygon(outline.flattened(0.001))
    assert polygon.is_valid
    assert polygon.exterior.is_ccw
    assert outline.area_mm2 == pytest.approx(polygon.area, rel=1e-4)
    assert outline.max_error_mm <= ARC_TOLERANCE_MM
    assert 12 <= len(outline) <= 120, "a knife is tens of arcs, not hundreds"


@every_case
def test_joints_are_tangent_except_at_the_sharp_corners(name: str, construction: str, label: str) -> None:
    shape = solved(name, construction, label)
    joints = zip(shape.splines, shape.plans, strict=True)
    corners = [s.points[-1] for s, p in joints if p.joint in ("sharp", 0.0)]
    corners += list(cusps(shape))
    kinks = np.radians(np.abs(shape.smooth.corner_angles_deg))
    for place, kink in zip(shape.smooth.starts, kinks, strict=True):
        if min((float(np.hypot(*(place - c))) for c in corners), default=1.0) > 1e-6:
            assert kink < TANGENT_RAD, f"a kink of {kink:.2e} rad at {place}"


@every_case
def test_the_edge_rests_on_the_board_and_has_neither_hollow_nor_bump(name: str, construction: str, label: str) -> None:
    shape = solved(name, construction, label)
    outline = shape.finished
    edge = np.array(outline.regions) == "edge"
    points, piece = outline.sampled(0.2)
    assert points[edge[piece], 1].min() >= -ARC_TOLERANCE_MM
    health = shape.edge_health
    assert health.hollows_mm == ()
    assert health.bumps_mm == ()
    # the arcs tell the same without the spline: none of the edge bends the other way
    plain = shape.plain.on_grid()  # where there are scallops the line that their points stand on, else the same
    bends = plain.curvatures[np.array(plain.regions) == "edge"]
    assert bends.min() >= -1e-7 * bends.max()


LONG_FLATS_MM = (
    ("paring", 43.66), ("slicer", 196.26), ("santoku", 115.35), ("petty", 72.4), ("boning", 57.69), ("chef", 134.78),
    ("bread", 203.43),
)  # fmt: skip
"""Flats inside the families' ranges behind which a biarc began with an arc to the other side."""


@cases(("name", "flat_mm"), LONG_FLATS_MM)
def test_no_arc_of_the_edge_bends_back_behind_a_long_flat(name: str, flat_mm: float) -> None:
    shape = solve_shape(load_family(name), "full", {"flat_length": flat_mm})
    bends = shape.plain.curvatures[np.array(shape.plain.regions) == "edge"]
    assert bends.min() >= -1e-7 * bends.max()


def is_scallop(outline: Outline) -> np.ndarray:
    """Return which pieces are scallops: arcs of the edge that bend into the blade."""
    return (np.array(outline.regions) == "edge") & (outline.curvatures < -1e-3)


def cusps(shape: SolvedShape) -> np.ndarray:
    """Return the places where scallops begin and end; none where the family has none."""
    if "scallop_pitch" not in shape.values_mm:
        return np.zeros((0, 2))
    hollow = is_scallop(shape.smooth)
    return np.concatenate([shape.smooth.starts[hollow], shape.smooth.ends[hollow]])


@every(SCALLOPED)
def test_scallops_are_alike_and_their_points_stand_on_a_fair_edge(name: str, construction: str, label: str) -> None:
    """Pitch, depth and radius of every arc (circular segment, any handbook of mechanics), their row, and its ends."""
    shape = solved(name, construction, label)
    outline, values = shape.smooth, shape.values_mm
    pitch, depth = values["scallop_pitch"], values["scallop_depth"]
    rows = np.flatnonzero(is_scallop(outline))
    assert len(rows) >= 10
    assert list(rows) == list(range(rows[0], rows[-1] + 1)), "one unbroken row"
    chords = np.hypot(*(outline.ends - outline.starts)[rows].T)
    assert chords == pytest.approx(pitch, abs=1e-6)
    assert chords / 2 * np.abs(outline.bulges[rows]) == pytest.approx(depth, abs=1e-6)
    assert -1 / outline.curvatures[rows] == pytest.approx(pitch**2 / (8 * depth) + depth / 2, rel=1e-6)
    line = Polygon(shape.plain.flattened(0.001)).exterior
    assert distance(line, as_points(cusps(shape))).max() <= 0.002
    ahead_of_row, behind_row = outline.ends[rows[-1]], outline.starts[rows[0]]
    assert 2.0 <= behind_row[0] <= pitch + 6.0, "plain edge at the heel, less than a scallop more than it needs"
    left = values["blade_length"] - ahead_of_row[0]
    assert 2.0 <= left <= pitch + 6.0, "plain edge at the tip, less than a scallop more than it needs"


POINTED = [
    case for case in LOOKED_AT if load_family(case[0]).dimension("blade_length", case[1]).measure.kind == "ahead"
]
"""Knives that end in a point; a round-nosed spreader is broadest ahead of the heel."""


@pytest.mark.parametrize("label", ["default", "belly_height greatest", "handle_gap greatest", "all least"])
def test_the_spine_of_a_spreader_turns_up_at_no_shoulder(label: str) -> None:
    """It falls toward the heel, and on to where the block of a hidden tang begins: no hook stands there."""
    shape = solved("spreader", "hidden", label)
    points, piece = shape.smooth.sampled(0.05)
    spine = points[[shape.smooth.regions[i] == "spine" for i in piece.tolist()]]
    height = spine[spine[:, 0] < 15, 1]  # from ahead of the heel to the shoulder
    assert (height - np.minimum.accumulate(height)).max() < 0.02


@every(POINTED)
def test_the_spine_falls_in_one_sweep_ahead_of_the_heel(name: str, construction: str, label: str) -> None:
    shape = solved(name, construction, label)
    spine = next(c.name for c in load_family(name).curves[construction] if c.region == "spine")
    spline, t0, t1 = shape.stretch_of(spine)
    points = spline.at(np.linspace(t0, t1, 400))
    points = points[points[:, 0] > 0]
    hull = MultiPoint(points).convex_hull.exterior
    hollow_mm = distance(hull, as_points(points)).max()
    assert hollow_mm <= 0.02, "light would show under a straight edge laid on the spine"
    highest = int(np.argmax(points[:, 1]))
    assert (np.diff(points[: highest + 1, 1]) >= -1e-9).all(), "the spine rises and falls more than once"
    assert (np.diff(points[highest:, 1]) <= 1e-9).all(), "the spine rises and falls more than once"
    heel_mm = shape.values_mm["heel_height"]
    assert points[highest, 1] - heel_mm <= 0.03 * heel_mm, "the spine climbs ahead of the heel"


def tang_holes(shape: SolvedShape) -> tuple[Hole, ...]:
    """Return one small pin for a hidden tang, two for a full one, none for one board."""
    return place_holes(
        shape, pin_count={"full": 2, "hidden": 1, "one-piece": 0}[shape.construction], pin_hole_mm=2.0,
        pin_positions_mm=(), pin_spacing_mm=None, lightening_count=0, lightening_mm=None, lanyard_mm=None,
        thickness_mm=2.0,
    )  # fmt: skip


@every((*kind, end) for kind in KINDS for end in ("least", "greatest"))
def test_handle_and_pins_keep_the_size_of_a_hand_when_the_blade_grows(name: str, construction: str, end: str) -> None:
    drawn, grown = solved(name, construction, "default"), solved(name, construction, f"blade_length {end}")
    assert grown.values_mm["blade_length"] != drawn.values_mm["blade_length"]
    for key in drawn.values_mm:
        if key.startswith(("handle", "tang")):
            assert grown.values_mm[key] == pytest.approx(drawn.values_mm[key], abs=PROMISE_MM), key
    assert [h.x_mm for h in tang_holes(grown)] == pytest.approx([h.x_mm for h in tang_holes(drawn)], abs=1e-6)
    front, end_x = drawn.front_x_mm, drawn.tang_end_x_mm
    for part in (0.3, 0.5, 0.7, 0.85):
        x = front + part * (end_x - front)
        assert chord_mm(grown, x) == pytest.approx(chord_mm(drawn, x), abs=0.6), f"handle height at x = {x:.0f} mm"


def chord_mm(shape: SolvedShape, x_mm: float) -> float:
    """Return the height of the knife at a station, measured by GEOS [mm]."""
    polygon = Polygon(shape.finished.flattened(0.001))
    return float(polygon.intersection(LineString([(x_mm, -200), (x_mm, 300)])).length)
