"""Sums, overrides and refusals of the allowance."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from blankwright.base.errors import RequestError
from blankwright.base.said import STATUSES
from blankwright.shop.allowance import GIVEN, REGIONS, STEP_MM, Allowance, Part, allowance
from blankwright.shop.tables import process, processes
from rooms.every import cases

STEEL = [entry.name for entry in processes() if "steel" in entry.materials]


def at_3_mm(name, **overrides):
    return allowance(name, thickness_mm=3, size_mm=330, material_kind="steel", overrides=overrides)


@cases(
    ("name", "low_mm", "high_mm"),
    [
        ("water-jet", 0.5, 0.7),
        ("laser", 0.5, 1.0),
        ("plasma-table", 2.0, 2.5),
        ("plasma-hand", 2.0, 3.2),
        ("oxy-fuel", 2.0, 3.2),
        ("saw", 1.0, 1.5),
        ("trace", 1.0, 1.5),
    ],
)
def test_totals_are_what_the_trade_leaves(name, low_mm, high_mm):
    # Common practice per side; the cuts by hand and flame lean to the upper end on purpose.
    for region, total_mm in at_3_mm(name).regions_mm.items():
        assert low_mm <= total_mm <= high_mm, region


def test_a_water_jet_sum_by_hand():
    found = at_3_mm("water-jet")
    # half of 0.25, taper 0.25, clean-up 0.3 / 0.25 / 0.2, rounded up to 0.05
    assert found.regions_mm == {"edge": 0.7, "spine": 0.65, "heel": 0.6, "tang": 0.65, "butt": 0.65}
    assert found.loss_mm == dict.fromkeys(REGIONS, 0.375)
    assert found.process == "water-jet"
    assert "burnt layer" not in [part.name for part in found.parts]


def test_a_plasma_sum_by_hand():
    found = at_3_mm("plasma-table")
    # half of 0.9 (class 2, 315 to 1000 mm), 0.4 + 0.01 x 3, burnt 0.75
    assert found.loss_mm["heel"] == pytest.approx(0.45 + 0.43 + 0.75)
    assert found.regions_mm["spine"] == pytest.approx(2.15)
    statuses = {part.name: part.status for part in found.parts}
    assert statuses["half the limit deviation"] == "computed"
    assert statuses["burnt layer"] == "common practice"


def test_kerf_is_no_part_of_the_sum():
    for name in STEEL:
        assert not any("kerf" in part.name for part in at_3_mm(name).parts)


def test_a_larger_blank_gets_no_smaller_allowance():
    for name in ("laser", "plasma-table"):
        sums = [
            allowance(name, thickness_mm=3, size_mm=s, material_kind="steel", overrides={}).loss_mm["edge"]
            for s in (20, 80, 200, 330, 1200)
        ]
        assert sums == sorted(sums)
        assert sums[0] < sums[-1]


def test_an_override_replaces_the_sum_of_its_region_only():
    plain, given_one = at_3_mm("trace"), at_3_mm("trace", heel=0.4)
    assert given_one.regions_mm == plain.regions_mm | {"heel": 0.4}
    assert given_one.loss_mm == plain.loss_mm
    own = [part for part in given_one.parts if "heel" in part.regions]
    assert [(part.name, part.status, part.mm) for part in own] == [(GIVEN, GIVEN, 0.4)]


def test_all_regions_given():
    found = at_3_mm("trace", **dict.fromkeys(REGIONS, 0.0))
    assert found.regions_mm == dict.fromkeys(REGIONS, 0.0)
    assert {part.name for part in found.parts} == {GIVEN}
    assert found.loss_mm["edge"] == pytest.approx(0.7)


def test_the_edge_follows_a_spine_that_is_given_more():
    found = at_3_mm("water-jet", spine=2.0)
    assert found.regions_mm["edge"] == 2.0
    assert "edge as much as the spine" in [part.name for part in found.parts]


def test_the_edge_keeps_its_own_figure_when_the_design_gives_one():
    assert at_3_mm("water-jet", spine=2.0, edge=0.5).regions_mm["edge"] == 0.5


@cases("bad", [-0.01, math.nan, math.inf, 25.01, "1 mm", None, True])
def test_a_bad_override_is_refused(bad):
    with pytest.raises(RequestError, match=r"\[allowance\] edge: must be 0 to 25 mm per side"):
        at_3_mm("trace", edge=bad)


def test_an_unknown_region_is_refused():
    with pytest.raises(RequestError, match=r"\[allowance\]: unknown region 'egde'.*'edge'"):
        at_3_mm("trace", egde=1.0)


def test_the_wrong_material_is_refused_and_others_are_named():
    with pytest.raises(RequestError, match=r"plasma-table cuts steel and stainless, not wood.*water-jet, saw, trace"):
        allowance("plasma-table", thickness_mm=8, size_mm=250, material_kind="wood", overrides={})
    with pytest.raises(RequestError, match="No process in the table would do"):
        allowance("saw", thickness_mm=8, size_mm=250, material_kind="laminate", overrides={})
    with pytest.raises(RequestError, match="unknown material kind 'stone'"):
        allowance("saw", thickness_mm=8, size_mm=250, material_kind="stone", overrides={})


def test_the_wrong_thickness_is_refused_and_others_are_named():
    with pytest.raises(RequestError, match=r"oxy-fuel has figures for 3 to 10 mm, not 2 mm.*plasma-table.*water-jet"):
        allowance("oxy-fuel", thickness_mm=2, size_mm=250, material_kind="steel", overrides={})
    with pytest.raises(RequestError, match=r"not 12 mm\. These would do: plasma-hand, water-jet, saw, trace "):
        allowance("laser", thickness_mm=12, size_mm=250, material_kind="steel", overrides={})


@cases("bad", [0, -1, math.nan, math.inf])
def test_lengths_that_cannot_be_are_refused(bad):
    with pytest.raises(RequestError, match="above 0 mm"):
        allowance("trace", thickness_mm=bad, size_mm=250, material_kind="steel", overrides={})
    with pytest.raises(RequestError, match="above 0 mm"):
        allowance("trace", thickness_mm=3, size_mm=bad, material_kind="steel", overrides={})


def test_a_size_outside_the_standard_is_refused():
    with pytest.raises(RequestError, match="below 2000 mm"):
        allowance("laser", thickness_mm=3, size_mm=2000, material_kind="steel", overrides={})


def test_a_wooden_blade_is_traced():
    found = allowance("trace", thickness_mm=8, size_mm=250, material_kind="wood", overrides={})
    assert found.regions_mm["edge"] == pytest.approx(1.2)


@given(
    name=st.sampled_from(STEEL),
    thickness_mm=st.floats(3, 10),
    size_mm=st.floats(40, 1999),
    overrides=st.dictionaries(st.sampled_from(REGIONS), st.floats(0, 25)),
)
def test_parts_always_add_up(name, thickness_mm, size_mm, overrides):
    found = allowance(name, thickness_mm=thickness_mm, size_mm=size_mm, material_kind="steel", overrides=overrides)
    for region in REGIONS:
        total_mm = found.regions_mm[region]
        parts_mm = sum(part.mm for part in found.parts if region in part.regions)
        assert total_mm == pytest.approx(parts_mm, abs=1e-9)
        if region in overrides:
            assert total_mm == pytest.approx(overrides[region], abs=1e-9)
            continue
        wanted_mm = found.loss_mm[region] + process(name).clean_up_mm[region].value
        assert total_mm >= wanted_mm - 1e-9
        lifted = any(part.name == "edge as much as the spine" and region == "edge" for part in found.parts)
        if not lifted:
            assert total_mm < wanted_mm + STEP_MM
            assert total_mm / STEP_MM == pytest.approx(round(total_mm / STEP_MM), abs=1e-6)
    if "edge" not in overrides:
        assert found.regions_mm["edge"] >= found.regions_mm["spine"] - 1e-9
    assert all(part.status in STATUSES and part.source for part in found.parts)


def test_a_part_cannot_be_half_built():
    good = {"name": "clean-up", "mm": 0.3, "source": "bench", "status": "computed", "regions": ("edge",)}
    Part(**good)
    for change in (
        {"mm": -0.1},
        {"mm": math.nan},
        {"status": "x"},
        {"regions": ()},
        {"regions": ("top",)},
        {"name": ""},
    ):
        with pytest.raises(RequestError):
            Part(**(good | change))


def test_an_allowance_whose_parts_do_not_add_up_cannot_be_built():
    part = Part("clean-up", 0.3, "bench", "computed", REGIONS)
    zero = dict.fromkeys(REGIONS, 0.0)
    Allowance("saw", dict.fromkeys(REGIONS, 0.3), zero, (part,), zero)
    with pytest.raises(RequestError, match="do not add up"):
        Allowance("saw", dict.fromkeys(REGIONS, 0.4), zero, (part,), zero)
    with pytest.raises(RequestError, match="needs each of"):
        Allowance("saw", {"edge": 0.3}, zero, (part,), zero)


def test_stainless_burns_deeper_and_is_not_cut_by_a_flame():
    """Common practice: 0.8 to 2.5 mm in stainless against 0.5 to 1.5 mm in carbon steel."""
    losses = {
        kind: allowance("plasma-table", thickness_mm=3, size_mm=300, material_kind=kind, overrides={}).loss_mm["edge"]
        for kind in ("steel", "stainless")
    }
    assert losses["stainless"] - losses["steel"] == pytest.approx(1.6 - 0.75)
    with pytest.raises(RequestError, match=r"oxy-fuel cuts steel, not stainless.*plasma-table"):
        allowance("oxy-fuel", thickness_mm=3, size_mm=300, material_kind="stainless", overrides={})


def test_a_notch_finished_after_hardening_gets_what_the_edge_gets() -> None:
    """Common practice: what is ground hard is ground through the skin, so more is left on."""
    common = {"thickness_mm": 3.0, "size_mm": 330.0, "material_kind": "steel", "overrides": {}}
    before, after = (
        allowance("water-jet", **common, notch_after_hardening=late)  # type: ignore[arg-type]
        for late in (False, True)
    )
    assert after.regions_mm["heel"] == after.regions_mm["edge"] > before.regions_mm["heel"]
    assert {r: after.regions_mm[r] for r in ("edge", "spine", "tang", "butt")} == {
        r: before.regions_mm[r] for r in ("edge", "spine", "tang", "butt")
    }


def test_an_allowance_that_is_kept_for_many_knives_cannot_be_changed() -> None:
    kept = at_3_mm("saw")
    for table in (kept.regions_mm, kept.loss_mm, kept.needed_mm):
        with pytest.raises(TypeError, match=r"dict\(table\)"):
            table["edge"] = 0.0
    mine = dict.fromkeys(REGIONS, 1.0)
    own = Allowance("saw", mine, dict.fromkeys(REGIONS, 0.0), (Part("x", 1.0, "s", GIVEN, REGIONS),), mine)
    mine["edge"] = 9.0
    assert own.regions_mm["edge"] == 1.0
