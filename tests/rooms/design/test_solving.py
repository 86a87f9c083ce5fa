"""Asked dimensions: what gives way, what contradicts, and that the values a message proposes do work."""

from __future__ import annotations

import re
from itertools import combinations

import pytest

from blankwright.base.errors import DesignError, RequestError
from blankwright.design.family import load_family
from blankwright.design.nearest import solve_sound
from blankwright.design.parts import Family
from blankwright.design.request import build_design, read_design
from blankwright.design.sizes import resolve
from blankwright.design.solve import solve_shape
from blankwright.design.sound import check_sound
from rooms.design.cases import FAMILIES, SOME_KINDS
from rooms.every import cases
from rooms.often import LONG, repeated, share

pytestmark = repeated

PROMISE_MM = 1e-6
PAIRS = 60
"""So many pairs of ends of a family are looked at for those that do not go together; all of them before a release."""
every_kind = cases(("name", "construction"), SOME_KINDS)
every_family = cases("name", FAMILIES)


@every_kind
def test_the_defaults_are_the_drawing(name: str, construction: str) -> None:
    family = load_family(name)
    shape = solve_shape(family, construction, {})
    for one in shape.solved:
        assert one.value_mm == pytest.approx(one.dimension.default_mm, abs=PROMISE_MM), one.dimension.key
        assert one.asked_mm is None


@every_kind
def test_a_followed_dimension_follows_its_leader_within_its_range(name: str, construction: str) -> None:
    family = load_family(name)
    for d in family.offered(construction):
        if d.follows is None or d.free:
            continue
        leader = family.dimension(d.follows[0], construction)
        for asked in (leader.least_mm, leader.greatest_mm):
            got = resolve(family, construction, {leader.name: asked}, None)[d.name]
            free = d.default_mm * (asked / leader.default_mm) ** d.follows[1]
            assert got == pytest.approx(min(max(free, d.least_mm), d.greatest_mm))


@every_kind
def test_an_asked_overall_length_is_kept_and_the_blade_gives_way(name: str, construction: str) -> None:
    family = load_family(name)
    drawn = solve_sound(family, construction, {})
    longer = solve_sound(family, construction, {}, drawn.overall_length_mm + 7)
    assert longer.overall_length_mm == pytest.approx(drawn.overall_length_mm + 7, abs=PROMISE_MM)
    assert longer.values_mm["handle_length"] == pytest.approx(drawn.values_mm["handle_length"], abs=PROMISE_MM)
    assert longer.values_mm["blade_length"] == pytest.approx(drawn.values_mm["blade_length"] + 7, abs=PROMISE_MM)


@every_kind
def test_with_the_blade_asked_too_the_handle_gives_way(name: str, construction: str) -> None:
    family = load_family(name)
    drawn = solve_sound(family, construction, {})
    blade = drawn.values_mm["blade_length"]
    longer = solve_sound(family, construction, {"blade_length": blade}, drawn.overall_length_mm + 3)
    assert longer.values_mm["handle_length"] == pytest.approx(drawn.values_mm["handle_length"] + 3, abs=PROMISE_MM)


@every_family
def test_overall_against_blade_and_handle_names_all_three_and_the_sum_that_works(name: str) -> None:
    family = load_family(name)
    drawn = solve_shape(family, "full", {})
    asked = {k: drawn.values_mm[k] for k in ("blade_length", "handle_length")}
    with pytest.raises(DesignError) as caught:
        solve_sound(family, "full", asked, drawn.overall_length_mm + 20)
    text = str(caught.value)
    for word in ("overall", "blade.length", "handle.length", f"{drawn.overall_length_mm:.2f} mm"):
        assert word in text
    assert solve_sound(family, "full", asked, drawn.overall_length_mm).overall_length_mm == pytest.approx(
        drawn.overall_length_mm, abs=PROMISE_MM
    )


@every_family
def test_an_overall_length_out_of_reach_names_the_span_that_works(name: str) -> None:
    family = load_family(name)
    with pytest.raises(DesignError) as caught:
        solve_sound(family, "full", {}, 1500.0)
    low, high = (float(n) for n in re.findall(r"of (\d+\.\d+) mm to (\d+\.\d+) mm works", str(caught.value))[0])
    for overall in (low, high):
        assert solve_shape(family, "full", {}, overall).overall_length_mm == pytest.approx(overall, abs=PROMISE_MM)


def fighting(name: str) -> list[dict[str, float]]:
    """Return requests of a family whose dimensions are each in range, but do not go together."""
    family = load_family(name)
    ends = [[(d.name, d.least_mm), (d.name, d.greatest_mm)] for d in family.offered("full")]
    requests = [{**dict([one]), **dict([other])} for a, b in combinations(ends, 2) for one in b for other in a]
    out = []
    for asked in share(requests, PAIRS, whole=LONG):
        try:
            check_sound(solve_shape(family, "full", asked))
        except DesignError:
            out.append(asked)
    return out


def proposals(text: str, family: Family) -> list[tuple[str, float]]:
    by_key = {d.key: d.name for d in family.offered("full")}
    found = re.findall(r"([a-z]+\.[a-z_]+) (-?\d+\.\d+) mm instead of", text)
    return [(by_key[key], float(value)) for key, value in found]


@pytest.mark.parametrize("name", share(FAMILIES, 2))
def test_the_nearest_values_proposed_do_work_when_asked(name: str) -> None:
    family = load_family(name)
    for asked in fighting(name):
        with pytest.raises(DesignError) as caught:
            solve_sound(family, "full", asked)
        text = str(caught.value)
        ways = proposals(text, family)
        if not ways:
            assert "No single change helps" in text
        for key, value in ways:
            assert key in asked
            shape = solve_sound(family, "full", {**asked, key: value})
            assert shape.values_mm[key] == pytest.approx(value, abs=PROMISE_MM)


def test_a_proposal_that_fits_by_a_hair_is_tried_as_it_is_printed() -> None:
    """A round as high as its radius: the board's tolerance takes 3.99 mm and 4.01 mm, and 4.00 mm fails."""
    family = load_family("santoku")
    with pytest.raises(DesignError) as caught:
        solve_sound(family, "full", {"tip_radius": 4.0, "tip_height": 2.0})
    ways = dict(proposals(str(caught.value), family))
    assert set(ways) == {"tip_radius", "tip_height"}
    for key, value in ways.items():
        assert solve_sound(family, "full", {"tip_radius": 4.0, "tip_height": 2.0, key: value})


@every_kind
def test_a_value_out_of_range_is_refused_with_the_range(name: str, construction: str) -> None:
    family = load_family(name)
    for d in family.offered(construction):
        for value in (d.least_mm - 0.5, d.greatest_mm + 0.5, -50.0, 1e9, float("nan"), float("inf")):
            with pytest.raises(RequestError) as caught:
                solve_sound(family, construction, {d.name: value})
            text = str(caught.value)
            assert d.key in text
            assert f"{d.least_mm:.2f} mm to {d.greatest_mm:.2f} mm" in text


def test_an_unknown_dimension_or_construction_names_the_nearest() -> None:
    family = load_family(FAMILIES[0])
    with pytest.raises(RequestError, match="heel_height"):
        solve_sound(family, "full", {"heel_hight": 48.0})
    with pytest.raises(RequestError, match="one-piece"):
        solve_sound(family, "onepiece", {})


@cases(
    ("changes", "words"),
    [
        ({"blade.lenght": "210 mm"}, ["lenght", "length", "[blade]"]),
        ({"blades.length": "210 mm"}, ["blades.length", "blade.length"]),
        ({"blade.length": "210"}, ["[blade] length", "unit", "210 mm"]),
        ({"blade.length": 210}, ["[blade] length", "unit", "210 mm"]),
        ({"blade.length": "210 parsec"}, ["[blade] length", "parsec", "mm"]),
        ({"blade.length": "long"}, ["[blade] length", "long"]),
        ({"blade.length": True}, ["[blade] length"]),
        ({"blade.overall_length": "-3 mm"}, ["overall_length", "2000"]),
        ({"handle.construction": "ful"}, ["ful", "full"]),
        ({"pins.fit": "glue"}, ["[pins] fit", "glued"]),
        ({"pins.count": "two"}, ["[pins] count", "0 to 4"]),
        ({"pins.count": "9"}, ["[pins] count", "0 to 4"]),
        ({"pins.diameter": "60 mm"}, ["[pins] diameter", "12 mm"]),
        ({"pins.positions": "-1 mm,-2 mm,-3 mm,-4 mm,-5 mm"}, ["[pins] positions", "1 to 4"]),
        ({"material.thickness": "0 mm"}, ["[material] thickness", "25 mm"]),
        ({"grind.height": "half"}, ["[grind] height"]),
        ({"grind.edge_angle": "15 mm"}, ["[grind] edge_angle", "deg"]),
        ({"scales.material": ""}, ["[scales] material"]),
        ({"allowance.point": "1 mm"}, ["point", "[allowance]"]),
        ({"family": ""}, ["family"]),
        ({"name": " "}, ["name"]),
        ({"name": "x" * 101}, ["name"]),
        ({"nothing": "1"}, ["nothing"]),
    ],
)
def test_a_wrong_request_names_its_key_and_what_is_allowed(changes: dict[str, object], words: list[str]) -> None:
    with pytest.raises(RequestError) as caught:
        read_design("chef", changes)
    for word in words:
        assert word in str(caught.value)


def test_a_design_file_names_its_tables() -> None:
    for table, word in (
        ({"family": "chef", "balde": {}}, "blade"),
        ({"family": "chef", "blade": 3}, "[blade]"),
        ({}, "family"),
    ):
        with pytest.raises(RequestError, match=re.escape(word)) as caught:
            build_design(table, {}, "mine.toml", None)
        assert "mine.toml" in str(caught.value)


def test_the_slug_is_safe_as_a_file_name() -> None:
    for name, slug in (
        ("Galley Chef 210", "galley-chef-210"),
        ("../../etc", "etc"),
        ("///", "knife"),
        ("Öl & Brot", "ol-brot"),
    ):
        assert read_design("chef", {"name": name}).slug == slug


def test_a_spine_that_would_be_hollow_is_refused_with_what_works() -> None:
    """Half of the fall at half of the way is a straight line; the nearest fall that works is told, and does."""
    family = load_family("chef")
    asked = {"heel_height": 40.0, "tip_height": 24.0, "spine_drop": 12.0}
    with pytest.raises(DesignError, match="would make the spine hollow") as caught:
        solve_sound(family, "full", asked)
    ways = dict(proposals(str(caught.value), family))
    assert ways["spine_drop"] == pytest.approx(0.45 * 16.0, abs=0.02)
    for key, value in ways.items():
        assert solve_sound(family, "full", {**asked, key: value}).values_mm[key] == pytest.approx(value)
