"""Shares, weighed pieces, blocks and the pinch grip: how settings become numbers, and what is said when they cannot."""

from __future__ import annotations

import pytest

from blankwright.base.errors import RequestError
from blankwright.design.request import Design
from blankwright.desk.script import request, solve
from blankwright.knife.handle import density_of
from blankwright.knife.weights import N_PER_KG, PINCH_AHEAD_MM, Weights
from blankwright.shop.tables import material
from blankwright.solid.ground import bevels_of
from rooms.every import cases


def design(construction: str = "full", **settings: str) -> Design:
    return request("chef", construction=construction, settings={k.replace("__", "."): v for k, v in settings.items()})


@cases(("settings", "share"), [
    ({}, 0.5), ({"grind__right_share": "50 %"}, 0.5), ({"grind__bevel": "single"}, 1.0),
    ({"grind__bevel": "single", "grind__right_share": "0 %"}, 0.0),
    ({"grind__bevel": "uneven", "grind__right_share": "72.5 %"}, 0.725),
])  # fmt: skip
def test_shares(settings: dict[str, str], share: float) -> None:
    assert bevels_of(design(**settings)).right_share == share


@cases(("settings", "words"), [
    ({"grind__bevel": "uneven"}, "such as 70 %"),
    ({"grind__bevel": "uneven", "grind__right_share": "0.5 %"}, "0.5 % does not go with an uneven bevel. Allowed: 1 %"),
    ({"grind__bevel": "single", "grind__right_share": "70 %"}, "a single bevel. Allowed: 0 % or 100 %"),
    ({"grind__right_share": "70 %"}, "a double bevel. Allowed: 50 %"),
    ({"grind__kind": "hollow"}, "wheel is missing"),
    ({"grind__height": "2 mm", "grind__behind_edge": "2 mm"}, "inside the edge bevel, which alone is 3.73 mm"),
])  # fmt: skip
def test_grinds_that_are_not_said_whole(settings: dict[str, str], words: str) -> None:
    with pytest.raises(RequestError, match=words):
        bevels_of(design(**settings))


def density(settings: dict[str, str]) -> float:
    wish = design(**settings).scales
    return density_of(wish, material(wish.material), "scales")


def test_the_density_of_a_weighed_piece() -> None:
    """96 g in 130 x 40 x 30 mm: 96 / 156 cm3."""
    sizes = {"scales__weighed": "96 g", "scales__weighed_size": "130 mm, 40 mm, 30 mm"}
    assert density(sizes) == pytest.approx(96 / 156 * 1000)
    ounces = {"scales__weighed": "1 oz", "scales__weighed_size": "2 in, 1 in, 1 in"}
    assert density(ounces) == pytest.approx(28.349523125 / (2 * 25.4**3) * 1e6)
    plain = solve("chef").core.weights.handle
    own = solve("chef", settings={k.replace("__", "."): v for k, v in sizes.items()} | {"pins.count": "0"}).core.weights
    assert plain is not None
    assert own.handle is not None
    assert own.parts[1].density_kg_m3 == pytest.approx(96 / 156 * 1000)
    assert own.parts[1].volume_mm3 * 96 / 156 * 1e-3 == pytest.approx(own.handle.mass_g)


@cases(("settings", "words"), [
    ({"scales__weighed": "96 g"}, "give both weighed and weighed_size"),
    ({"scales__weighed_size": "130 mm, 40 mm, 30 mm"}, "give both weighed and weighed_size"),
    ({"scales__weighed": "9 g", "scales__weighed_size": "130 mm, 40 mm, 30 mm"}, "58 kg/m3, which no handle"),
    ({"scales__weighed": "4 kg", "scales__weighed_size": "130 mm, 40 mm, 30 mm"}, "25641 kg/m3, which no handle"),
])  # fmt: skip
def test_a_piece_that_cannot_be(settings: dict[str, str], words: str) -> None:
    with pytest.raises(RequestError, match=words):
        density(settings)


@cases(("settings", "words"), [
    ({"scales__weighed_size": "130 mm, 40 mm"}, "expected 3 lengths, got 2"),
    ({"scales__weighed_size": "130 mm"}, "expected 3 lengths, got 1"),
    ({"scales__weighed_size": "130, 40, 30"}, "no unit"),
    ({"scales__weighed": "96 mm"}, "g, kg, oz, lb"),
    ({"scales__weighed": "0.5 g"}, "Allowed: 1 g to 5000 g"),
    ({"grind__right_share": "101 %"}, "Allowed: 0 % to 100 %"),
    ({"grind__right_share": "0.7"}, "such as"),
])  # fmt: skip
def test_settings_are_read_with_their_units(settings: dict[str, str], words: str) -> None:
    with pytest.raises(RequestError, match=words):
        design(**settings)


def test_settings_as_they_are_kept() -> None:
    kept = design(scales__weighed="0.096 kg", scales__weighed_size="13 cm, 40 mm, 30 mm", grind__bevel="uneven",
                  grind__right_share="70 %").settings  # fmt: skip
    assert kept["scales.weighed"] == pytest.approx(96.0)
    assert kept["scales.weighed_size"] == pytest.approx((130.0, 40.0, 30.0))
    assert kept["grind.right_share"] == 70.0


@pytest.mark.parametrize(("settings", "words"), [
    ({"material.thickness": "8 mm", "block.width": "8 mm"}, "leaves no wood beside a tang of 8 mm"),
    ({"block.front_height": "11 mm", "block.butt_height": "11 mm"}, "stands .* out of the block. Make the block"),
])  # fmt: skip
def test_a_block_too_small_for_its_tang(settings: dict[str, str], words: str) -> None:
    with pytest.raises(RequestError, match=words):
        _ = solve("chef", construction="hidden", settings=settings).core.weights


def test_the_moment_about_a_pinch_grip() -> None:
    """Mass times standard gravity times the arm from 10 mm ahead of the heel to the balance."""
    for family in ("chef", "paring"):
        one = solve(family).core.weights
        assert one.finished_knife is not None
        assert one.balance_mm is not None
        arm = one.balance_mm - PINCH_AHEAD_MM
        assert one.pinch_nmm == pytest.approx(one.finished_knife.mass_g * 1e-3 * 9.80665 * arm)
        assert (one.pinch_nmm > 0) == (one.balance_mm > 10.0)
    assert N_PER_KG == 9.80665
    assert Weights(None, None, None, None, (), "not weighed").pinch_nmm is None
