"""Heat of steel against the standard's own points, and small bodies against worked examples of textbooks."""

import math

import pytest

from blankwright.shop import heating

SOURCE = (
    "EN 1993-1-2, 3.4.1.2 and 3.4.1.3: specific heat and conductivity of steel. Heat Transfer Handbook, equation "
    "3.283: radiation to a small body, closed form. Textbook examples of lumped cooling: steel balls of 8, 10 and 12 mm"
)
TOLERANCE = 6e-5
TOLERANCE_S = 0.5
REASON = "The standard's formulae are exact, their values printed to four or five digits; examples to whole seconds."


@pytest.mark.parametrize(
    ("temperature_c", "printed"),
    [(20, 439.8), (200, 529.8), (400, 605.9), (600, 760.2), (700, 1008.2), (735, 5000), (800, 803.3), (850, 694.8)],
)
def test_specific_heat(temperature_c, printed):
    assert heating.specific_heat_j_kgk(temperature_c) == pytest.approx(printed, rel=2 * TOLERANCE)


@pytest.mark.parametrize(("temperature_c", "printed"), [(20, 53.3), (600, 34.0), (800, 27.3)])
def test_conductivity(temperature_c, printed):
    assert heating.conductivity_w_mk(temperature_c) == pytest.approx(printed, abs=0.05)


def test_the_pieces_of_the_specific_heat_meet_as_the_standard_prints_them():
    for kink in (600, 735, 900):
        below, above = (heating.specific_heat_j_kgk(kink + d) for d in (-1e-9, 1e-9))
        assert below == pytest.approx(above, rel=2e-3)


@pytest.mark.parametrize(("to_c", "printed_kj"), [(800, 561.6), (820, 577.0)])
def test_heat_to_harden(to_c, printed_kj):
    assert heating.enthalpy_j_kg(20, to_c) / 1000 == pytest.approx(printed_kj, abs=0.05)


@pytest.mark.parametrize(
    ("thickness_mm", "to_c", "printed_s"),
    [
        (2, 820, 95),
        (2.5, 820, 119),
        (3, 820, 143),
        (5, 820, 238),
        (2, 840, 118),
        (2.5, 840, 147),
        (3, 840, 177),
        (5, 840, 294),
    ],
)
def test_a_plate_in_a_furnace_by_the_handbooks_closed_form(thickness_mm, to_c, printed_s):
    found = heating.heat_time_lumped_s(
        thickness_mm=thickness_mm, emissivity=0.8, oven_c=850, start_c=20, to_c=to_c, density_kg_m3=7850, heat_j_kgk=650
    )
    assert found == pytest.approx(printed_s, abs=1.1 * TOLERANCE_S)


def test_the_closed_form_solves_its_equation():
    # dT/dt from the closed form, by a small step, against 2 eps sigma (Ts^4 - T^4) / (rho a c)
    body = {"thickness_mm": 2.5, "emissivity": 0.8, "oven_c": 850, "density_kg_m3": 7850, "heat_j_kgk": 650}
    step_s = heating.heat_time_lumped_s(**body, start_c=20, to_c=500.01) - heating.heat_time_lumped_s(
        **body, start_c=20, to_c=499.99
    )
    rate = 2 * 0.8 * 5.670374e-8 * (1123.15**4 - 773.15**4) / (7850 * 0.0025 * 650)
    assert 0.02 / step_s == pytest.approx(rate, rel=1e-6)


def test_a_ball_of_8_mm_cools_in_air():
    # Textbook: h 75, k 54, rho 7833, c 465, 900 to 100 °C in 35 °C; Lc 0.0013 m, Bi 0.0018; unrounded 167.6 s
    length_mm = 8 / 6
    lump = heating.biot(coefficient_w_m2k=75, length_mm=length_mm, conductivity=54)
    assert lump == pytest.approx(0.0018, abs=0.6e-4)
    found = heating.convection_time_s(
        coefficient_w_m2k=75,
        length_mm=length_mm,
        density_kg_m3=7833,
        heat_j_kgk=465,
        around_c=35,
        start_c=900,
        to_c=100,
    )
    assert found == pytest.approx(167.6, abs=0.05)


def test_a_ball_whose_time_constant_is_16_s():
    # Textbook: 1000 to 350 K in 300 K, tau = rho L c / h = 16 s: 42.2 s
    found = heating.convection_time_s(
        coefficient_w_m2k=1000,
        length_mm=16,
        density_kg_m3=1000,
        heat_j_kgk=1000,
        around_c=26.85,
        start_c=726.85,
        to_c=76.85,
    )
    assert found == pytest.approx(42.2, abs=0.05)
    assert found == pytest.approx(16 * math.log(14))


def test_a_ball_of_12_mm_is_annealed():
    # Textbook: 1150 to 400 K in 325 K, h 20, k 40, rho 7800, c 600; Bi 0.001; time recomputed, 1122.2 s
    assert heating.biot(coefficient_w_m2k=20, length_mm=2, conductivity=40) == pytest.approx(0.001)
    found = heating.convection_time_s(
        coefficient_w_m2k=20, length_mm=2, density_kg_m3=7800, heat_j_kgk=600, around_c=325, start_c=1150, to_c=400
    )
    assert found == pytest.approx(1122.2, abs=0.05)
