"""What the note tells a shop, measured again by others on the file that it goes with."""

from __future__ import annotations

import json
import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache, cached_property
from pathlib import Path
from typing import Any

import ezdxf
import numpy as np
import pytest
import shapely
from ezdxf import path as ezpath
from ezdxf.math import bulge_radius

from blankwright.base.library import templates_dir
from blankwright.cutting.covernote import cover_note
from blankwright.cutting.delivery import deliver
from blankwright.cutting.order import SentFile
from blankwright.design.request import read_design
from blankwright.desk.make import make
from blankwright.knife.knife import finish
from blankwright.shop.services import Service, service, service_from
from rooms.every import cases, every
from rooms.often import repeated, share
from truth.services_by_hand import changed, demo_design
from truth.test_service_files import areas

pytestmark = repeated

SOURCE = (
    "The written DXF, read by ezdxf: layers, lengths, radii of bulges; areas by GEOS (shapely). Limit deviations: "
    "ISO 9013:2017, tables 6 and 7, as reprinted by cutting services. 453.59237 g is a pound (international "
    "yard and pound agreement, 1959)."
)
TOLERANCE = 1e-4
REASON = "Chords of 0.0004 mm stand for arcs: 1e-5 of a length, and of an area."
FLAT_MM = 0.0004

DESIGNS = sorted(p.stem for p in (templates_dir() / "designs").glob("*.toml"))
INCHES = service_from(changed("jet", {"file.unit": "in"}), "inches.toml")
SHOPS: dict[str, Service] = {name: service(name) for name in ("jet", "laser", "plasma", "own-table")} | {"in": INCHES}
MM = {"mm": 1.0, "in": 25.4}
EXTRAS = ("finished", "notes")

Case = tuple[str, str]
CASES: list[Case] = share([(d, s) for d in DESIGNS for s in SHOPS], 8)


@dataclass(frozen=True, eq=False)
class Ordered:
    """A file with its note and its figures."""

    shop: Service
    dxf: Path
    note: str
    report: dict[str, Any]

    @property
    def told(self) -> dict[str, Any]:
        table: dict[str, Any] = self.report["shop"]
        return table

    @property
    def mm(self) -> float:
        return MM[self.shop.unit]

    @property
    def plain(self) -> str:
        return " ".join(self.note.split())

    @cached_property
    def space(self) -> list[Any]:
        return list(ezdxf.readfile(self.dxf).modelspace())

    def on_cut(self) -> list[Any]:
        return [e for e in self.space if e.dxf.layer == self.shop.cut_layer]

    def polygons(self) -> list[shapely.Polygon]:
        """What is enclosed by what is cut [mm], the part first."""
        return areas([np.array(line.coords) for line in self.lines()], 1.0)

    def lines(self) -> list[shapely.LineString]:
        """Everything that is cut, flattened [mm]."""
        flat = [ezpath.make_path(e).flattening(FLAT_MM / self.mm) for e in self.on_cut()]
        return [shapely.LineString([(p.x * self.mm, p.y * self.mm) for p in line]) for line in flat]


@pytest.fixture(scope="module")
def ordered(tmp_path_factory: pytest.TempPathFactory) -> Callable[[Case], Ordered]:
    """A demonstration design sent to a shop by a way of cutting that cuts its stock, once for all tests of it."""

    @cache
    def one(case: Case) -> Ordered:
        design, name = case
        shop = SHOPS[name]
        asked = demo_design(design, shop)
        folder = tmp_path_factory.mktemp("ordered")
        made = make(asked, folder, EXTRAS, True, None, shop, 3)
        (dxf,), (note,) = made.folder.glob("*.dxf"), made.folder.glob("*_note.txt")
        return Ordered(shop, dxf, note.read_text(encoding="ascii"), json.loads(json.dumps(made.report)))

    return one


@every(CASES, "ordered")
def test_the_layers_are_those_of_this_file(one: Ordered) -> None:
    told = {layer["name"]: layer["use"] for layer in one.told["layers"]}
    assert set(told) == {e.dxf.layer for e in one.space}
    assert told.pop(one.shop.cut_layer) == "cut"
    if one.shop.mark_layer in told:
        assert told.pop(one.shop.mark_layer) == "mark"
    if "LEAD" in told:
        assert told.pop("LEAD") == "lead"
    assert set(told) <= {"FINISHED", "NOTES", "TAB"}
    assert set(told.values()) == {"do not cut"}
    for layer in one.told["layers"]:
        (row,) = [line for line in one.note.splitlines() if line[12:].startswith(f"{layer['name']} ")]
        assert layer["use"] in row


@every(CASES, "ordered")
def test_length_of_cut_and_pierces_are_those_of_the_file(one: Ordered) -> None:
    cut = sum(line.length for line in one.lines())
    if one.shop.table is None:
        assert one.told["cut_mm"] == pytest.approx(cut, rel=TOLERANCE)
        assert one.told["pierces"] == len(one.polygons())
    else:  # the file holds all three, every cut with its leads
        assert one.told["cut_all_mm"] == pytest.approx(cut, rel=TOLERANCE)
        assert one.told["pierces_all"] == len(one.lines())
    assert one.told["cut_all_mm"] == pytest.approx(3 * one.told["cut_mm"])
    assert one.told["pierces_all"] == 3 * one.told["pierces"]
    assert f"{one.told['cut_mm'] / 1000:.2f} m" in one.plain
    assert f"{one.told['pierces_all']} pierces" in one.plain


@every(CASES, "ordered")
def test_weight_is_area_times_thickness_times_density(one: Ordered) -> None:
    if one.shop.table is not None:
        return  # the path is larger than the part
    outer = one.polygons()[0]
    density = one.report["material"]["density_kg_m3"]["value"]
    grams = outer.area * one.told["part_size_mm"][2] * density * 1e-6
    assert one.told["mass_g"] == pytest.approx(grams, rel=TOLERANCE)
    assert one.told["mass_all_g"] == pytest.approx(3 * grams, rel=TOLERANCE)
    assert (f"{grams:.0f} g" if one.shop.unit == "mm" else f"{grams / 453.59237:.2f} lb") in one.plain


def turn_deg(before: list[float], at: list[float], after: list[float]) -> float:
    """Return how far an outline turns at a vertex, to the left [degrees]; tangents by the angle of chord and arc."""
    arrives = math.atan2(at[1] - before[1], at[0] - before[0]) + 2 * math.atan(before[2])
    leaves = math.atan2(after[1] - at[1], after[0] - at[0]) - 2 * math.atan(at[2])
    return math.degrees((leaves - arrives + math.pi) % (2 * math.pi) - math.pi)


@every(CASES, "ordered")
def test_the_tightest_inside_corner_is_the_tightest_bulge_that_turns_right(one: Ordered) -> None:
    cut = one.report["outlines"]["cut"]["vertices"]
    after = [*cut[1:], cut[0]]
    hollow = [bulge_radius((a[0], a[1]), (b[0], b[1]), a[2]) for a, b in zip(cut, after, strict=True) if a[2] < -1e-9]
    told = one.told["tightest_inside_mm"]
    if min(map(turn_deg, [cut[-1], *cut[:-1]], cut, after)) < -5:  # an allowance wider than the notch's radius
        assert told == 0
        return
    assert told == (pytest.approx(min(hollow), rel=1e-6) if hollow else None)


@every(CASES, "ordered")
def test_the_size_is_that_of_all_that_is_cut(one: Ordered) -> None:
    drawn = [e for e in one.space if e.dxf.layer in (one.shop.cut_layer, "LEAD")]
    box = ezpath.bbox([ezpath.make_path(e) for e in drawn], fast=False)
    size = (box.size.x * one.mm, box.size.y * one.mm)
    assert one.told["file_size_mm"] == pytest.approx(size, abs=3e-3)
    assert "{:.1f} x {:.1f} mm".format(*one.told["file_size_mm"]) in one.plain


@pytest.mark.parametrize(
    ("name", "part", "hole"),
    [("jet", 0.25, 0.25), ("laser", 0.35, 0.15), ("plasma", 0.9, None), ("own-table", 0.9, None), ("in", 0.25, 0.25)],
)
def test_tolerances_of_the_chef_in_3_mm(
    ordered: Callable[[Case], Ordered], name: str, part: float, hole: float | None
) -> None:
    """345 mm by ISO 9013: class 1, 1 to 3.15 mm, 315 to 1000 mm; a hole of 4.85 mm: 3 to 10 mm; class 2 likewise."""
    one = ordered(("galley_chef", name))
    for key, value, words in (("part_tolerance", part, "on any size"), ("hole_tolerance", hole, "on the diameter")):
        told = one.told[key]
        assert (told["plus_minus_mm"] if told else None) == value
        assert (words in one.plain) == (value is not None)
        if told:
            assert told["source"]
            assert told["status"] in ("common practice", "computed")
            assert f"+/- {value:.2f} mm {words}" in one.plain or f"({value:.2f} mm) {words}" in one.plain


@every(CASES, "ordered")
def test_the_note_is_one_page_for_the_shop_alone(one: Ordered) -> None:
    lines = one.note.splitlines()
    assert max(map(len, lines)) <= 80
    assert len(lines) <= 60
    for word in ("Quantity", "Material", "Grain", "Weight", "Edges", "Kerf", "Tolerance", "Layers", "Inside", "Holes"):
        assert any(line.startswith(word) for line in lines), word
    assert "Call before changing anything." in one.plain
    assert one.shop.note not in one.plain
    for own in ("before hardening", "Finish the heel notch", "the allowance is for"):
        assert own not in one.plain
    assert one.told["if_it_does_not_fit"] in one.plain


@every(CASES, "ordered")
def test_inches_stand_first_where_the_shop_works_in_them(one: Ordered) -> None:
    if one.shop.unit != "in":
        return
    long, high, thick = one.told["part_size_mm"]
    assert f"{long / 25.4:.2f} in long, {high / 25.4:.2f} in high" in one.plain
    assert f"({long:.1f} x {high:.1f} x {thick:g} mm)" in one.plain
    for row in ("Weight", "Cut", "Inside"):
        (line,) = [text for text in one.note.splitlines() if text.startswith(row)]
        assert " in " in line or " lb " in line or "No inside" in line
        assert " mm)" in line or " g)" in line or " m)" in line or "No inside" in line
    assert f"{thick / 25.4:.3f} in ({thick:g} mm)" in one.plain


@every(CASES, "ordered")
def test_layers_that_are_not_cut_are_a_warning(one: Ordered) -> None:
    (told,) = [c for c in one.report["checks"] if c["code"] == "SERVICE-LAYERS"]
    assert told["level"] == "warning"
    least = one.report["clearance"]["least_mm"]
    assert f"FINISHED is a closed contour {least:.2f} mm inside the cut" in told["message"]


def test_a_file_of_what_is_cut_warns_of_no_layer(tmp_path: Path) -> None:
    shop = service("jet")
    report = make(read_design("chef", {"cutting.process": "water-jet"}), tmp_path, (), True, None, shop).report
    assert not [c for c in report["checks"] if c["code"] == "SERVICE-LAYERS"]
    assert [layer["name"] for layer in report["shop"]["layers"]] == ["CUT"]
    assert math.isfinite(report["shop"]["mass_g"])


def test_grain_runs_along_steel_of_which_it_is_known_and_along_wood(tmp_path: Path) -> None:
    words = {
        "80CrV2": "Rolling direction along the length of the part",
        "unknown": "Its direction is not known here",
    }
    for grade, said in words.items():
        changes = {"cutting.process": "water-jet", "material.grade": grade}
        made = make(read_design("chef", changes), tmp_path / grade, (), True, None, service("jet"))
        assert said in (made.folder / "chef_note.txt").read_text(encoding="ascii")
        assert (made.report["shop"]["grain"] is None) == (grade == "unknown")
    wooden = {"cutting.process": "water-jet", "handle.construction": "one-piece"}
    made = make(read_design("spreader", wooden), tmp_path, (), True, None, service("jet"))
    note = (made.folder / "spreader_note.txt").read_text(encoding="ascii")
    assert "Grain along the length of the part" in note
    assert "Leave them as cut" in note


def test_a_hand_does_not_pierce(tmp_path: Path) -> None:
    made = make(read_design("spreader", {"cutting.process": "trace", "handle.construction": "one-piece"}), tmp_path)
    note = (made.folder / "spreader_note.txt").read_text(encoding="ascii")
    assert "pierce" not in note
    assert "cut outside the line" in note
    assert (made.report["shop"]["pierces"], made.report["shop"]["pierces_all"]) == (None, None)


@cases(("own", "level"), [("0.25 mm", None), ("0.5 mm", "warning"), ("1.5 mm", "error")])
def test_a_shop_that_holds_less_than_the_allowance_counts_with(own: str, level: str | None) -> None:
    """0.65 mm at the spine less 0.375 mm of loss leaves 0.275 mm; half of 0.5 - 0.25 is 0.125, of 1.5 - 0.25 0.625."""
    table = changed("jet", {})
    table["limits"][0]["part_tolerance"] = own
    shop = service_from(table, "mine.toml")
    sent = deliver(finish(read_design("chef", {"cutting.process": "water-jet"}), service=shop))
    found = [f for f in sent.findings if f.code == "SERVICE-TOLERANCE"]
    assert [f.level for f in found] == ([level] if level else [])
    if level == "error":
        assert "is missing in the worst case" in found[0].message
    file = SentFile("chef.dxf", "chef.dxf", (), (345.4, 49.5))
    note = " ".join(cover_note([sent], file).split())
    assert f"+/- {float(own.split(maxsplit=1)[0]):.2f} mm on any size" in note
    assert "worst case" not in note, "that is the maker's own matter"
