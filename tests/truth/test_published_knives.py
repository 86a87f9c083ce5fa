"""Whole knives against figures of the trade: weights, balance, and one knife published with its thicknesses."""

from __future__ import annotations

import numpy as np
import pytest

from blankwright.desk.script import solve
from blankwright.geometry.outline import Outline
from blankwright.solid.blade import Taper, ground_blade
from blankwright.solid.section import Bevels
from rooms.every import cases

SOURCE = (
    "Common practice, no single source: usual weights with handle, where a chef's knife balances, how much of its "
    "rectangle a blade fills; and one chef's knife of 240 mm edge given with its thicknesses and weight."
)
TOLERANCE = 0.15
REASON = (
    "The published knife leaves its heel height, its handle and the shape of its outline open; 15 % is what such open "
    "figures can tell. The ranges are as wide as the trade gives them."
)

PUBLISHED_G = 225.0
PUBLISHED_MM = {
    "material.thickness": "3.4 mm",  # at the handle
    "grind.spine_heel": "3.25 mm",
    "grind.spine_middle": "2.25 mm",
    "grind.spine_near_tip": "1.85 mm",  # 50 mm before the tip
    "grind.behind_edge": "0.127 mm",
}


def test_a_published_chefs_knife_from_its_numbers() -> None:
    """240 mm edge; spine 3.4 mm at the handle, 3.25 over the heel, 2.25 mid, 1.85 at 50 mm before the tip; 0.127 mm
    behind the edge; about 225 g with its handle (common practice: one maker's own figures).

    Assumed: heel 50 mm high, walnut scales of 8 mm, two brass pins of 5 mm, a point of 1 mm.
    """
    assumed = {"scales.material": "black-walnut", "scales.thickness": "8 mm", "grind.tip_thickness": "1 mm"}
    knife = solve("chef", blade_length_mm=240, heel_height_mm=50, settings=PUBLISHED_MM | assumed)
    finished = knife.mass()["finished_knife"]
    print(f"{finished} g, balance {knife.balance_mm} mm")
    assert finished == pytest.approx(PUBLISHED_G, rel=TOLERANCE)


@cases(("name", "length", "heel", "stock", "least", "most"), [
    ("paring", 80, 22, "2 mm", 40, 80), ("paring", 90, 24, "2 mm", 40, 80), ("utility", 150, 30, "2.5 mm", 70, 130),
    ("utility", 150, 28, "2 mm", 70, 130), ("chef", 200, 45, "3 mm", 150, 260), ("chef", 210, 48, "3 mm", 150, 260),
    ("chef", 240, 50, "3 mm", 150, 260),
])  # fmt: skip
def test_weights_with_handle(name: str, length: float, heel: float, stock: str, least: float, most: float) -> None:
    """Common practice: paring 40 to 80 g, utility 70 to 130 g, chef's 150 to 260 g."""
    knife = solve(name, blade_length_mm=length, heel_height_mm=heel, settings={"material.thickness": stock})
    finished = knife.mass()["finished_knife"]
    print(name, length, finished)
    assert finished is not None
    assert least <= finished <= most


@cases("length", [200, 210, 240, 270])
def test_a_chefs_knife_balances_near_its_heel(length: float) -> None:
    """Common practice: a pinch grip wants the balance between 15 mm behind the heel and 30 mm ahead of it."""
    balance = solve("chef", blade_length_mm=length).balance_mm
    print(length, balance)
    assert balance is not None
    assert -15 <= balance <= 30


def test_a_longer_blade_balances_further_forward() -> None:
    places = [solve("chef", blade_length_mm=length).balance_mm for length in (180, 210, 240, 270)]
    assert places == sorted(places)


def test_a_paring_knife_balances_in_its_handle() -> None:
    """Common practice: at the front of the handle or inside it."""
    balance = solve("paring").balance_mm
    assert balance is not None
    assert -60 <= balance <= -5


def bare_chef(taper: Taper, fill: float) -> float:
    """Return grams of a rectangle 200 x 45 mm with a rounded nose that fills a share of it, full flat to 0.3 mm."""
    nose = 200 - (1 - fill) * 200 * 2  # a triangle at the nose takes half its length
    outline = Outline(
        np.array([[-20.0, 0, 0], [0, 0, 0], [nose, 0, 0], [200, 0.5, 0], [200, 1.0, 0], [nose, 45, 0], [-20.0, 45, 0]])
    )
    return ground_blade(outline, taper, Bevels("flat", None, 0.3, 15.0, None)).volume_mm3 * 7850e-6


def test_the_bare_blade_by_rule_of_thumb() -> None:
    """200 x 45 x 2.5 mm = 176.6 g; fill 0.65 to 0.75, full flat 0.56: 64 to 74 g; a taper takes some off."""
    straight = Taper((0.0, 200.0), (2.5, 2.5))
    assert 64 * 0.97 <= bare_chef(straight, 0.65) <= bare_chef(straight, 0.75) <= 74 * 1.03
    drawn = solve("chef", blade_length_mm=200, heel_height_mm=45).finished
    bevels = Bevels("flat", None, 0.3, 15.0, None)
    grams = ground_blade(drawn, straight, bevels).volume_mm3 * 7850e-6
    thinner = ground_blade(drawn, Taper((0.0, 200.0), (2.5, 1.0)), bevels).volume_mm3 * 7850e-6
    print(f"drawn {grams:.1f} g, tapered {thinner:.1f} g")
    assert 64 <= grams <= 74 * 1.1  # our outline fills up to 0.8 of its rectangle
    assert 0.65 * grams < thinner < grams


def test_a_hidden_tang_is_lighter_behind_and_balances_further_forward() -> None:
    hidden, full = (solve("chef", construction=c).core.weights for c in ("hidden", "full"))
    assert hidden.finished_knife is not None and full.finished_knife is not None
    assert hidden.finished_knife.mass_g < full.finished_knife.mass_g
    assert hidden.finished_knife.centre_mm[0] > full.finished_knife.centre_mm[0]
    board = solve("spreader", construction="one-piece").core.weights
    assert board.finished_knife == board.ground_blade
    assert board.why_not == ""


def test_a_hollow_that_leaves_no_steel_has_no_weight() -> None:
    settings = {"grind.kind": "hollow", "grind.wheel": "60 mm", "grind.height": "20 mm"}
    weights = solve("chef", settings=settings).core.weights
    assert weights.ground_blade is None
    assert "larger wheel" in weights.why_not
