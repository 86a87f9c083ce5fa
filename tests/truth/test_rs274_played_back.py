"""Programs for one's own table, played back by an own interpreter: the slot takes the kerf and nothing else."""

from __future__ import annotations

import io
import math
import re
from dataclasses import dataclass
from functools import cache, cached_property
from itertools import pairwise
from typing import Any

import ezdxf
import numpy as np
import pyclipr
import pytest
import shapely
from ezdxf.math import bulge_to_arc
from shapely.geometry import LineString, Point, Polygon

from blankwright.cutting.delivery import Delivery, deliver
from blankwright.cutting.dxf import dxf_text
from blankwright.cutting.layout import column, file_of, program
from blankwright.design.request import read_design
from blankwright.knife.knife import Knife, finish
from blankwright.shop.dialects import dialect_names
from blankwright.shop.services import service_from
from rooms.design.cases import SOME_KINDS
from rooms.every import cases, every
from rooms.near import apart, clear_of, within
from rooms.often import repeated, share
from truth.rs274 import Move, Played, RefusedError, play
from truth.services_by_hand import changed

pytestmark = repeated

SOURCE = (
    '"The NIST RS274NGC Interpreter, version 3", NISTIR 6556, 2000, by an '
    "interpreter written from it (rs274.py); the slot by a polygon library (Clipper2, by pyclipr), what is left by "
    "GEOS (shapely). Plasma: the square side lies right of travel, so outside clockwise, holes the other way (training "
    "sheet); where to enter: common practice"
)
TOLERANCE_MM = 0.01
TOLERANCE_AREA = 1e-4
REASON = (
    "Words have four decimals, the path follows the outline to 0.001 mm, chords and round caps lie within 0.001 mm. A "
    "tenth of what a careful hand can file is asked; every bridge as wide as asked to 0.05 mm."
)
FLAT_MM = 0.0005
BRIDGE_MM = 0.05
SCALE = 100_000

SLOTS = {"plasma-table": {}, "water-jet": {"table.kerf": "0.9 mm", "table.lead": "3 mm"},
         "laser": {"table.kerf": "0.2 mm", "table.lead": "2 mm"}}  # fmt: skip
"""Every process that a table runs, with a slot and a lead of its own kind."""
Case = tuple[str, str, str, str, str, int]
WAYS = (("butt", "clockwise"), ("spine", "counter-clockwise"), ("butt", "counter-clockwise"), ("spine", "clockwise"))
ALL: list[Case] = [
    (process, *kind, enter, outside, tabs)
    for process in SLOTS
    for kind in SOME_KINDS
    for enter, outside in (WAYS if kind in (("chef", "full"), ("utility", "hidden")) else WAYS[:2])
    for tabs in (0, 3)
]
CASES = share(ALL, 12)


@dataclass(frozen=True, eq=False)
class Run:
    """A program, played back, and what it should leave."""

    work: Knife
    sent: Delivery
    text: str
    dxf: str

    @cached_property
    def played(self) -> Played:
        return play(self.text)

    @cached_property
    def drawn(self) -> list[np.ndarray]:
        """The cuts of the drawing, as a DXF library finds them: open lines on layer CUT in their order [mm]."""
        doc = ezdxf.read(io.StringIO(self.dxf))
        mm = 25.4 if doc.header["$INSUNITS"] == 1 else 1.0
        lines = doc.modelspace().query('LWPOLYLINE[layer=="CUT"]')
        assert not any(line.closed for line in lines)
        assert not doc.modelspace().query('*[layer=="CUT"]').query("CIRCLE LINE ARC POINT")
        return [mm * bulges_flattened(np.array(line.get_points("xyb")), FLAT_MM / mm) for line in lines]

    @cached_property
    def zero(self) -> np.ndarray:
        assert self.sent.path is not None
        return np.array(self.sent.path.run.zero_mm)

    def line(self, moves: list[Move]) -> np.ndarray:
        """Return the way of the cutter's middle in the drawing's own coordinates."""
        return np.vstack([[moves[0].start], *(m.points(FLAT_MM) for m in moves)]) + self.zero

    @cached_property
    def slots(self) -> list[Polygon]:
        """The swept slot of every cut."""
        return [slot(self.line(cut), self.table.kerf_mm) for cut in self.played.cuts]

    @property
    def table(self):  # type: ignore[no-untyped-def]
        assert self.sent.service is not None
        assert self.sent.service.table is not None
        return self.sent.service.table

    @cached_property
    def wanted(self) -> Polygon:
        """The part as it should be left: the cut outline with its holes."""
        holes = [
            Point(h.hole.x_mm, h.hole.y_mm).buffer(h.made.cut_diameter_mm / 2, quad_segs=256)
            for h in self.sent.knife.holes
            if h.made.cut_diameter_mm is not None
        ]
        return Polygon(self.work.cut.flattened(FLAT_MM)).difference(shapely.union_all(holes))


def bulges_flattened(rows: np.ndarray, flat: float) -> np.ndarray:
    """Return points on an open polyline with bulges, arcs by the DXF library's own reckoning."""
    out = [rows[:1, :2]]
    for (x0, y0, bulge), (x1, y1, _) in pairwise(rows):
        if bulge == 0:
            out.append(np.array([[x1, y1]]))
            continue
        centre, first, last, radius = bulge_to_arc((x0, y0), (x1, y1), bulge)
        sweep = (last - first) % math.tau
        n = max(1, math.ceil(sweep / (2 * math.acos(max(1 - flat / radius, 0.0)))))
        at = first + sweep * np.arange(n + 1) / n
        arc = np.column_stack([centre.x + radius * np.cos(at), centre.y + radius * np.sin(at)])
        out.append((arc if bulge > 0 else arc[::-1])[1:])
    return np.vstack(out)


def slot(points: np.ndarray, kerf: float) -> Polygon:
    """Return what a round cutter takes on its way."""
    offset = pyclipr.ClipperOffset()
    offset.scaleFactor = SCALE
    offset.arcTolerance = FLAT_MM * SCALE  # the library takes it in its own whole numbers
    offset.addPaths([points], pyclipr.JoinType.Round, pyclipr.EndType.Round)
    rings = sorted((Polygon(r) for r in offset.execute(kerf / 2)), key=lambda p: -p.area)
    return rings[0].difference(shapely.union_all(rings[1:]))


@cache
def run(case: Case) -> Run:
    process, family, construction, enter, outside, tabs = case
    changes = {"process": process, "table.enter": enter, "table.outside": outside, "table.tabs": tabs}
    return made(family, construction, changes | SLOTS[process])


def made(family: str, construction: str, changes: dict[str, object]) -> Run:
    table = changed("own-table", changes)
    for row in table["limits"]:
        row["smallest_hole"] = "1 mm"
    shop = service_from(table, "test.toml")
    wishes: dict[str, object] = {"handle.construction": construction}
    if construction == "one-piece":
        wishes |= {"material.grade": "80CrV2", "material.thickness": "3 mm"}
    work = finish(read_design(family, wishes), service=shop)
    sent = deliver(work)
    parts = column([sent], 1)
    return Run(work, sent, program(parts), dxf_text(file_of(parts)))


@every(CASES, build=run)
def test_what_is_left_is_the_part_and_the_bridges_are_the_only_difference(one: Run) -> None:
    """Nothing of the part is taken; what is left over is a bridge, or an inner corner no round cutter reaches."""
    gone = shapely.union_all(one.slots)
    x0, y0, x1, y1 = gone.bounds
    sheet = shapely.box(x0 - 20, y0 - 20, x1 + 20, y1 + 20)
    left = sheet.difference(gone)
    inside = one.wanted.representative_point()
    (part,) = [p for p in getattr(left, "geoms", [left]) if p.contains(inside)]
    assert one.wanted.difference(part).area <= TOLERANCE_AREA * one.wanted.area
    assert one.wanted.buffer(-TOLERANCE_MM).difference(part).area == 0, "nothing of the part is taken"
    reached = reachable(one.wanted, one.table.kerf_mm / 2)
    if one.table.tabs == 0:
        assert within(part.exterior, reached.exterior, TOLERANCE_MM)
        assert len(part.interiors) == len(one.wanted.interiors)
        assert part.symmetric_difference(reached).area <= TOLERANCE_AREA * one.wanted.area
        if one.work.design.construction != "hidden":  # whose shoulders stand in a sharp inner corner
            assert reached.symmetric_difference(one.wanted).area <= TOLERANCE_AREA * one.wanted.area
        return
    assert part.distance(sheet.exterior) == 0, "the sheet holds the part"
    middle = grown(reached, one.table.kerf_mm / 2).exterior
    uncut = [m for m in getattr(middle.difference(gone), "geoms", [middle]) if m.length > TOLERANCE_MM]
    beside = [min(m.distance(Point(t)) for t in one.sent.path.tabs_mm) for m in uncut]
    assert max(beside) <= TOLERANCE_MM, "what is not cut is a bridge"
    assert len(uncut) - one.table.tabs in (0, 1), "one of them may hold the start of the ring"


@every(CASES, build=run)
def test_drawing_and_program_take_the_same_away(one: Run) -> None:
    """Read by a DXF library, and by an interpreter: as many cuts, in the same order and direction, the same area."""
    assert len(one.drawn) == len(one.slots)
    for points, cut, kerf in zip(one.drawn, one.played.cuts, one.slots, strict=True):
        by_program = one.line(cut)
        assert points[[0, -1]] == pytest.approx(by_program[[0, -1]], abs=2e-4)
        ways = LineString(points), LineString(by_program)
        assert within(*ways, 0.002)
        assert ways[0].length == pytest.approx(ways[1].length, abs=TOLERANCE_MM)
        taken = slot(points, one.table.kerf_mm)
        assert taken.area == pytest.approx(kerf.area, rel=TOLERANCE_AREA)


@every([c for c in CASES if c[-1]], build=run)
def test_bridges_of_the_drawing_are_as_wide_as_asked(one: Run) -> None:
    """What was cut through before: the drawing was one closed line, with points where bridges should stand."""
    holes = sum(kind == "hole" for kind in kinds(one))
    around = [slot(points, one.table.kerf_mm) for points in one.drawn[holes:]]
    wide = [apart(a, b) for a, b in pairwise(around)]
    assert wide == pytest.approx([one.table.tab_width_mm] * one.table.tabs, abs=BRIDGE_MM)


DIALECTS: dict[str, dict[str, Any]] = {
    "rs274": {}, "centres-from-zero": {}, "plain-words": {"semicolons": True, "end": 30, "few_words": True},
}  # fmt: skip


@cases("unit", ["mm", "in"])
@cases("dialect", DIALECTS)
def test_every_dialect_and_unit_runs_the_same_way(dialect: str, unit: str) -> None:
    changes = {"table.dialect": dialect, "file.unit": unit, "table.tabs": 2, "process": "water-jet"}
    one = made("chef", "full", changes | SLOTS["water-jet"])
    assert sorted(DIALECTS) == dialect_names()
    played = play(one.text, **DIALECTS[dialect])
    assert ("G20" in one.text, "G21" in one.text) == (unit == "in", unit == "mm")
    assert len(played.cuts) == len(one.drawn) == 5
    for points, cut in zip(one.drawn, played.cuts, strict=True):
        way = one.line(cut)
        assert within(LineString(points), LineString(way), 0.002)
    waits = 1000.0 if dialect == "plain-words" else 1.0
    assert set(played.waits_s) == {one.table.pierce_s * waits}
    assert all(";" not in text and "(" not in text for text in played.comments)
    feeds = [m.feed_mm_min for m in played.moves if m.cutting]
    assert feeds == pytest.approx([one.table.feed_mm_min] * len(feeds), rel=1e-4)


def test_no_arc_has_an_endless_radius() -> None:
    """Of an arc of 70 m a controller with four decimals cannot tell the centre."""
    for case in CASES[:: len(CASES) // 7]:
        arcs = [m for m in run(case).played.moves if m.centre is not None]
        assert max(math.dist(m.start, m.centre) for m in arcs if m.centre) <= 10_000


def grown(shape: Polygon, by: float) -> Polygon:
    """Return the outline of a shape, moved out (or in) with round corners."""
    offset = pyclipr.ClipperOffset()
    offset.scaleFactor = SCALE
    offset.arcTolerance = FLAT_MM * SCALE  # the library takes it in its own whole numbers
    offset.addPaths([np.array(shape.exterior.coords[:-1])], pyclipr.JoinType.Round, pyclipr.EndType.Polygon)
    return max((Polygon(r) for r in offset.execute(by)), key=lambda p: p.area)


def reachable(wanted: Polygon, half: float) -> Polygon:
    """Return what a round cutter leaves of a sheet when it comes as near to a part as it can."""
    around = grown(grown(wanted, half), -half)
    return around.difference(shapely.union_all([Polygon(r) for r in wanted.interiors]))


@every(CASES, build=run)
def test_every_bridge_is_as_wide_as_asked(one: Run) -> None:
    """A bridge is as wide as the two slots beside it are apart; the slots of one cut follow each other."""
    around = [s for s, kind in zip(one.slots, kinds(one), strict=True) if kind == "outline"]
    assert len(around) == 1 + one.table.tabs
    wide = [apart(a, b) for a, b in pairwise(around)]
    assert wide == pytest.approx([one.table.tab_width_mm] * one.table.tabs, abs=BRIDGE_MM)


def kinds(one: Run) -> list[str]:
    return [c.split()[0] for c in one.played.comments if re.fullmatch(r"(hole|outline) \d+ of \d+", c)]


@every(CASES, build=run)
def test_bridges_stand_on_spine_or_tang(one: Run) -> None:
    assert one.sent.path is not None
    assert len(one.sent.path.tabs_mm) == one.table.tabs
    for at in one.sent.path.tabs_mm:
        assert region_at(one, at) in ("spine", "tang")
    places = sorted(one.sent.path.tabs_mm)
    assert all(math.dist(a, b) > 2 * one.table.tab_width_mm for a, b in pairwise(places))


def region_at(one: Run, at: tuple[float, float]) -> str:
    """Return the region of the finished outline that is nearest to a place."""
    points, piece = one.work.finished.sampled(0.2)
    return one.work.finished.regions[int(piece[np.argmin(np.hypot(*(points - at).T))])]


@every(CASES, build=run)
def test_leads_lie_in_the_waste_and_never_at_tip_heel_corner_or_edge(one: Run) -> None:
    assert one.sent.path is not None
    half = one.table.kerf_mm / 2
    solid = Polygon(one.wanted.exterior)
    heel, tip = (0.0, 0.0), max(map(tuple, one.work.finished.starts), key=lambda p: p[0])
    asked = one.table.enter
    outline = [c for c, kind in zip(one.played.cuts, kinds(one), strict=True) if kind == "outline"]
    for i, cut in enumerate(outline):
        ends = [(cut[0], cut[0].end), (cut[-1], cut[-1].start)]
        for j, (lead, on_cut) in enumerate(ends):
            way = LineString(one.line([lead]))
            assert way.length >= 0.8
            assert not solid.intersects(way)
            assert solid.distance(way) >= half - TOLERANCE_MM, "the slot of a lead does not touch the part"
            touches = (on_cut[0] + one.zero[0], on_cut[1] + one.zero[1])
            region = region_at(one, touches)
            assert region in ((asked,) if (i, j) in ((0, 0), (len(outline) - 1, 1)) else ("spine", "tang"))
            assert way.distance(Point(heel)) > 2 * one.table.kerf_mm
            assert way.distance(Point(tip)) > 2 * one.table.kerf_mm
    holes = [c for c, kind in zip(one.played.cuts, kinds(one), strict=True) if kind == "hole"]
    for cut in holes:
        assert solid.contains(LineString(one.line(cut))), "holes are cut from inside"
        assert clear_of(one.wanted, one.line(cut), half - TOLERANCE_MM)


@every(CASES, build=run)
def test_holes_come_first_and_every_cut_runs_the_way_it_should(one: Run) -> None:
    found = kinds(one)
    assert found == sorted(found)
    assert found.count("hole") == sum(h[2] is not None for h in one.sent.drawn_holes)
    clockwise = one.table.outside == "clockwise"
    around = np.vstack([one.line(c[1:-1]) for c, k in zip(one.played.cuts, found, strict=True) if k == "outline"])
    assert (signed(around) < 0) == clockwise
    for cut, kind in zip(one.played.cuts, found, strict=True):
        if kind == "hole":
            assert (signed(one.line(cut)) > 0) == clockwise


def signed(points: np.ndarray) -> float:
    x, y = points.T
    return float((x * np.roll(y, -1) - np.roll(x, -1) * y).sum()) / 2


@every(CASES, build=run)
def test_holes_are_cut_where_the_table_can(one: Run) -> None:
    """So that the tests above do see holes: water-jet cuts those of a chef's knife."""
    if one.work.oversize.process == "water-jet" and one.work.design.slug == "chef" and one.work.pins:
        assert kinds(one).count("hole") == len(one.work.pins)


@every(CASES, build=run)
def test_size_zero_point_length_and_time_are_as_stated(one: Run) -> None:
    said = " / ".join(one.played.comments)
    size = re.search(r"path ([\d.]+) x ([\d.]+) mm with leads, X0 Y0 is its lower left corner", said)
    cut = re.search(r"([\d.]+) mm of cut, about (\d+) s", said)
    assert size is not None
    assert cut is not None
    points = np.vstack([one.line(c) for c in one.played.cuts]) - one.zero
    low, high = points.min(axis=0), points.max(axis=0)
    assert low == pytest.approx([0, 0], abs=0.01)
    assert high - low == pytest.approx([float(size[1]), float(size[2])], abs=0.06)
    cutting = sum(m.length_mm for m in one.played.moves if m.cutting)
    travel = sum(m.length_mm for m in one.played.moves if not m.cutting)
    assert cutting == pytest.approx(float(cut[1]), abs=0.51)
    assert {m.feed_mm_min for m in one.played.moves if m.cutting} == {one.table.feed_mm_min}
    assert one.played.waits_s == [one.table.pierce_s] * len(one.played.cuts)
    seconds = 60 * (cutting / one.table.feed_mm_min + travel / one.table.travel_mm_min) + sum(one.played.waits_s)
    assert seconds == pytest.approx(float(cut[2]), abs=0.51)
    assert one.played.moves[-1].end == (0.0, 0.0)
    assert f"kerf {one.table.kerf_mm:g} mm is in the path" in said


@every(CASES, build=run)
def test_the_comments_name_the_knife_and_the_design(one: Run) -> None:
    assert one.played.comments[0].startswith(f"{one.work.design.name}, design {one.work.code}")


@cases(
    ("spoil", "why"),
    [
        (lambda t: t.replace("M3\n", "", 1), "cutter off"),
        (lambda t: t.replace("M5\n(", "(").replace("M5\nG0", "G0"), "rapid with the cutter on|cutter is left on"),
        (lambda t: re.sub(r"I(-?\d+)\.", lambda m: f"I{int(m[1]) + 1}.", t, count=1), "radii"),
        (lambda t: t.replace("G21 ", ""), "moves before"),
        (lambda t: t.replace("G17", "G18"), "unknown"),
        (lambda t: t.replace("G40", "G41"), "unknown"),
        (lambda t: t.replace("M2", "M30"), "M30"),
        (lambda t: t.replace("M2\n", ""), "no M2"),
        (lambda t: t.replace("G0 X", "G0 Z5 X", 1), "line"),
        (lambda t: t.replace("(hole", "((hole").replace("(outline", "((outline"), "line"),
        (lambda t: t.replace(" F2500", ""), "no feed"),
        (lambda t: t + "G0 X1\n", "after the end"),
    ],
)
def test_the_interpreter_refuses_what_a_machine_would_do_wrong(spoil, why: str) -> None:  # type: ignore[no-untyped-def]
    text = run(("plasma-table", "chef", "full", "butt", "clockwise", 0)).text
    assert play(text).ended
    spoiled = spoil(text)
    assert spoiled != text
    with pytest.raises(RefusedError, match=why):
        play(spoiled)


def test_the_interpreter_plays_by_hand() -> None:
    """A line, half a circle counter-clockwise and a quarter clockwise, by modal words, in inches and in mm."""
    for unit, factor in (("G21", 1.0), ("G20", 25.4)):
        text = f"G17 {unit} G40 G90 (a)\nM5\nG0 X1 Y0\nM3\nG4 P0.5\nG1 X3 F100\nG3 Y2 I0 J1\nG2 X2 Y3 I0 J1\nM5\nM2\n"
        played = play(text)
        lengths = [m.length_mm / factor for m in played.moves]
        assert lengths == pytest.approx([1, 2, math.pi, math.pi / 2], abs=1e-12)
        assert played.moves[-1].angle == pytest.approx(-math.pi / 2)
        assert played.moves[1].feed_mm_min == 100 * factor
