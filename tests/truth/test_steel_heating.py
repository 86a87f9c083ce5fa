"""Heat of steel against the standard's own points, and small bodies against worked examples of textbooks."""

import math

import pytest

from blankwright.shop import heating
from rooms.every import cases

SOURCE = (
    "EN 1993-1-2, 3.4.1.2 and 3.4.1.3: specific heat and conductivity of steel. Heat Transfer Handbook, equation "
    "3.283: radiation to a small body, closed form. Textbook examples of lumped cooling: steel balls of 8, 10 and 12 mm"
)
TOLERANCE = 6e-5
TOLERANCE_S = 0.5
REASON = "The standard's formulae are exact, their values printed to four or five digits; examples to whole seconds."


@cases(
    ("temperature_c", "printed"),
    [(20, 439.8), (200, 529.8), (400, 605.9), (600, 760.2), (700, 1008.2), (735, 5000), (800, 803.3), (850, 694.8)],
)
def test_specific_heat(temperature_c, printed):
    assert heating.specific_heat_j_kgk(temperature_c) == pytest.approx(printed, rel=2 * TOLERANCE)


@cases(("temperature_c", "printed"), [(20, 53.3), (600, 34.0), (800, 27.3)])
def test_conductivity(temperature_c, printed):
    assert heating.conductivity_w_mk(temperature_c) == pytest.approx(printed, abs=0.05)


def test_the_pieces_of_the_specific_heat_meet_as_the_standard_prints_them():
    for kink in (600, 735, 900):
        below, above = (heating.specific_heat_j_kgk(kink + d) for d in (-1e-9, 1e-9))
        assert below == pytest.approx(above, rel=2e-3)


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
def test_a_plate_in_a_furnace_by_the_handbooks_closed_form(monkeypatch, thickness_mm, to_c, printed_s):
    """Radiation to a plate of constant specific heat: our integral, the handbook's closed form, its printed time."""
    monkeypatch.setattr(heating, "specific_heat_j_kgk", lambda _: 650.0)
    found = heating.heat_time_s(
        thickness_mm=thickness_mm, emissivity=0.8, oven_c=850, start_c=20, to_c=to_c, density_kg_m3=7850
    )
    s, t, t0 = 850 + 273.15, to_c + 273.15, 20 + 273.15
    left = math.log((s + t) / (s - t)) - math.log((s + t0) / (s - t0)) + 2 * (math.atan(t / s) - math.atan(t0 / s))
    closed = left * 7850 * thickness_mm / 1000 * 650 / (8 * 0.8 * heating.SIGMA * s**3)
    assert found == pytest.approx(closed, rel=1e-9)
    assert found == pytest.approx(printed_s, abs=1.1 * TOLERANCE_S)


@pytest.mark.parametrize(
    ("coefficient", "length_mm", "conductivity", "printed"), [(75, 8 / 6, 54, 0.0018), (20, 2, 40, 0.001)]
)
def test_the_biot_number_of_textbook_balls(coefficient, length_mm, conductivity, printed):
    """Balls of 8 and 12 mm, a third of the radius as length."""
    found = heating.biot(coefficient_w_m2k=coefficient, length_mm=length_mm, conductivity=conductivity)
    assert found == pytest.approx(printed, abs=0.6e-4)
