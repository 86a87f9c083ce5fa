"""Heating a thin blade, and the plan of the oven."""

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from blankwright.base.errors import RequestError
from blankwright.shop import heating
from blankwright.shop.hardening import hardening, hardenings
from blankwright.shop.ovenplan import SHORT_C, OvenPlan, oven_plan

BLADE = {"thickness_mm": 2.5, "emissivity": 0.8, "oven_c": 850.0, "start_c": 20.0, "density_kg_m3": 7850.0}
PLAN = {"thickness_mm": 2.5, "emissivity": heating.surface("oxidised"), "start_c": 20.0, "density_kg_m3": 7850.0}


@pytest.mark.parametrize("to_c", [300, 600, 700, 735, 736, 820, 845])
def test_the_quadrature_is_the_differential_equation(to_c):
    ours = heating.heat_time_s(**BLADE, to_c=to_c)

    def rate(_, t):
        k4 = (BLADE["oven_c"] + 273.15) ** 4 - (t[0] + 273.15) ** 4
        return [2 * 0.8 * heating.SIGMA * k4 / (7850 * 0.0025 * heating.specific_heat_j_kgk(min(t[0], 1200)))]

    def arrived(_, t):
        return t[0] - to_c

    arrived.terminal = True
    found = solve_ivp(rate, (0, 3 * ours), [20.0], events=arrived, rtol=1e-9, atol=1e-9, max_step=0.02)
    assert found.t_events[0][0] == pytest.approx(ours, rel=1e-5)


@given(st.floats(20, 1199), st.floats(0.001, 1))
def test_the_enthalpy_is_the_integral_of_the_specific_heat(start_c, share):
    # Gauss-Legendre on each piece between the formula's joints: smooth there, its nearest pole 3 degrees off, so that
    # 64 points are exact to rounding; an adaptive rule warns now and then about a piece of no width
    end_c = start_c + share * (1200 - start_c)
    nodes, weights = np.polynomial.legendre.leggauss(64)
    numeric = 0.0
    for low, high in pairwise([start_c, *(k for k in (600, 735, 900) if start_c < k < end_c), end_c]):
        places = (low + high) / 2 + (high - low) / 2 * nodes
        numeric += (
            (high - low)
            / 2
            * sum(w * heating.specific_heat_j_kgk(t) for w, t in zip(weights.tolist(), places.tolist(), strict=True))
        )
    assert heating.enthalpy_j_kg(start_c, end_c) == pytest.approx(numeric, rel=1e-9, abs=1e-6)


def test_the_time_is_in_proportion_to_thickness_and_against_emissivity():
    once = heating.heat_time_s(**BLADE, to_c=820)
    assert heating.heat_time_s(**BLADE | {"thickness_mm": 5.0}, to_c=820) == pytest.approx(2 * once)
    assert heating.heat_time_s(**BLADE | {"emissivity": 0.4}, to_c=820) == pytest.approx(2 * once)
    assert heating.heat_time_s(**BLADE, to_c=20) == 0


def test_a_constant_heat_gives_the_closed_form(monkeypatch):
    monkeypatch.setattr(heating, "specific_heat_j_kgk", lambda _: 650.0)
    closed = heating.heat_time_lumped_s(**BLADE, to_c=820, heat_j_kgk=650)
    assert heating.heat_time_s(**BLADE, to_c=820) == pytest.approx(closed, rel=1e-9)


@pytest.mark.parametrize(
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


def test_convection_needs_a_target_between():
    body = {"coefficient_w_m2k": 20, "length_mm": 2, "density_kg_m3": 7800, "heat_j_kgk": 600}
    for start_c, to_c in ((877, 40), (877, 900), (40, 30)):
        with pytest.raises(RequestError, match="does not lie between"):
            heating.convection_time_s(**body, around_c=52, start_c=start_c, to_c=to_c)


@pytest.mark.parametrize("entry", hardenings(), ids=lambda entry: entry.steel)
def test_every_steel_has_a_plan(entry):
    plan = oven_plan(entry, **PLAN)
    assert entry.harden.low - SHORT_C <= plan.at_heat_c <= plan.target_c <= plan.set_c
    assert 60 < plan.heat_s.low <= plan.heat_s.high < 300
    assert plan.biot < heating.BIOT_LIMIT
    assert len(plan.words) == len(entry.preheat) + 3
    assert any("foil" in rule.text for rule in plan.assumptions) == (plan.target_c > 870)


def test_1095_is_set_at_the_top_of_its_band():
    plan = oven_plan(hardening("1095"), **PLAN)
    assert (plan.set_c, plan.target_c, plan.at_heat_c) == (815, 800, 800)
    assert plan.soak.words() == "5 to 10 min"
    assert "55 °C (100 °F)" in plan.rules[0].text
    assert plan.words[0] == "Set the oven to 815 °C (1499 °F); the blade is to reach 800 °C (1472 °F)."


def test_the_soak_begins_short_of_an_oven_that_stands_at_the_target():
    plan = oven_plan(hardening("5160"), **PLAN)
    assert plan.set_c == plan.target_c
    assert plan.at_heat_c == plan.set_c - SHORT_C


def test_a_duller_surface_is_quicker():
    slow = oven_plan(hardening("O1"), **PLAN | {"emissivity": heating.surface("polished")})
    assert slow.heat_s.low > oven_plan(hardening("O1"), **PLAN).heat_s.high


@pytest.mark.parametrize(
    ("ask", "words"),
    [
        ({"target_c": 1000.0}, "hardened from 790 to 815 °C by every source together"),
        ({"target_c": 810.0, "set_c": 805.0}, "must be at least the target"),
        ({"set_c": 1250.0}, "at most 1200"),
    ],
)
def test_a_plan_that_cannot_be_is_refused(ask, words):
    with pytest.raises(RequestError, match=words):
        oven_plan(hardening("1095"), **PLAN, **ask)


def test_a_plan_cannot_be_half_built():
    good = oven_plan(hardening("1095"), **PLAN)
    fields = {name: getattr(good, name) for name in good.__dataclass_fields__}
    for change in ({"at_heat_c": 900.0}, {"assumptions": ()}, {"rules": ()}):
        with pytest.raises(RequestError):
            OvenPlan(**fields | change)
