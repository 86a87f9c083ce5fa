"""Heating a thin blade, and the plan of the oven."""

import dataclasses
import math

import pytest
from scipy.integrate import solve_ivp

from blankwright.base.errors import RequestError
from blankwright.shop import heating
from blankwright.shop.bands import Band
from blankwright.shop.hardening import Protection, hardening, hardenings
from blankwright.shop.ovenplan import SHORT_C, OvenPlan, oven_plan
from rooms.every import cases

BLADE = {"thickness_mm": 2.5, "emissivity": 0.8, "oven_c": 850.0, "start_c": 20.0, "density_kg_m3": 7850.0}
PLAN = {"thickness_mm": 2.5, "emissivity": heating.surface("oxidised"), "start_c": 20.0, "density_kg_m3": 7850.0}


def test_the_quadrature_is_the_differential_equation():
    """One run of the equation to the hottest, timed on its way past the others."""
    to_c = (300, 600, 700, 735, 736, 820, 845)
    ours = [heating.heat_time_s(**BLADE, to_c=each) for each in to_c]

    def rate(_, t):
        k4 = (BLADE["oven_c"] + 273.15) ** 4 - (t[0] + 273.15) ** 4
        return [2 * 0.8 * heating.SIGMA * k4 / (7850 * 0.0025 * heating.specific_heat_j_kgk(min(t[0], 1200)))]

    def passing(each):
        return lambda _, t: t[0] - each

    events = [passing(each) for each in to_c]
    events[-1].terminal = True
    found = solve_ivp(rate, (0, 3 * ours[-1]), [20.0], events=events, rtol=1e-9, atol=1e-9, max_step=0.02)
    assert [times[0] for times in found.t_events] == pytest.approx(ours, rel=1e-5)


def test_the_time_is_in_proportion_to_thickness_and_against_emissivity():
    once = heating.heat_time_s(**BLADE, to_c=820)
    assert heating.heat_time_s(**BLADE | {"thickness_mm": 5.0}, to_c=820) == pytest.approx(2 * once)
    assert heating.heat_time_s(**BLADE | {"emissivity": 0.4}, to_c=820) == pytest.approx(2 * once)
    assert heating.heat_time_s(**BLADE, to_c=20) == 0


@cases(
    ("change", "words"),
    [
        ({"oven_c": 820.0}, "hotter than the blade"),
        ({"oven_c": 1300.0}, "oven: 1300 °C is outside 20 to 1200"),
        ({"emissivity": 0.0}, "emissivity: must be 0.05 to 1"),
        ({"emissivity": math.nan}, "emissivity: must be 0.05 to 1"),
        ({"thickness_mm": 0.0}, "0.1 to 25 mm thick"),
        ({"start_c": -5.0}, "start: -5 °C"),
        ({"start_c": 830.0}, "from 830 to 820"),
    ],
)
def test_a_body_that_cannot_be_heated_is_refused(change, words):
    with pytest.raises(RequestError, match=words):
        heating.heat_time_s(**BLADE | change, to_c=820)


def test_an_unknown_surface_is_refused():
    with pytest.raises(RequestError, match="unknown surface 'matt'"):
        heating.surface("matt")


@cases("entry", hardenings().values(), ids=lambda entry: entry.name)
def test_every_steel_has_a_plan(entry):
    plan = oven_plan(entry, **PLAN)
    assert plan.at_heat_c == plan.set_c - SHORT_C
    assert 60 < plan.heat_s.low <= plan.heat_s.high < (600 if plan.wrap == "foil" else 300)
    assert plan.biot < heating.BIOT_LIMIT
    assert any("foil" in rule.text for rule in plan.assumptions) == (plan.wrap == "foil")


def test_foil_makes_the_time_longer_as_one_shield_more_does():
    """By the resistances of radiation: oven to foil 1/e, foil to blade 1/e + 1/e - 1, against 1/e bare."""
    entry = hardening("AEB-L")
    bare = dataclasses.replace(entry, protect=Protection("coat", "s", "computed"))
    for emissivity in (0.55, 0.61, 0.8):
        alike = Band(emissivity, emissivity, "of 1", "x", "s", "computed")
        times = [oven_plan(each, **PLAN | {"emissivity": alike}).heat_s.low for each in (entry, bare)]
        shielded, open_ = 1 / emissivity + (1 / emissivity + 1 / emissivity - 1), 1 / emissivity
        assert times[0] / times[1] == pytest.approx(shielded / open_, rel=1e-9)
        assert 2.0 <= times[0] / times[1] <= 2.5


def test_1095_is_set_at_the_top_of_its_band():
    plan = oven_plan(hardening("1095"), **PLAN)
    assert (plan.set_c, plan.at_heat_c) == (815, 805)
    assert plan.soak.time.words() == "5 to 10 min"


def test_a_duller_surface_is_quicker():
    slow = oven_plan(hardening("O1"), **PLAN | {"emissivity": heating.surface("polished")})
    assert slow.heat_s.low > oven_plan(hardening("O1"), **PLAN).heat_s.high


def test_a_plan_cannot_be_half_built():
    good = oven_plan(hardening("1095"), **PLAN)
    fields = {name: getattr(good, name) for name in good.__dataclass_fields__}
    for change in ({"at_heat_c": 900.0}, {"assumptions": ()}):
        with pytest.raises(RequestError):
            OvenPlan(**fields | change)
