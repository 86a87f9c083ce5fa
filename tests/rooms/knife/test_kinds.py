"""Material decides, not construction: what a blade of wood, of soft steel, and a one-piece knife of steel get."""

from __future__ import annotations

import pytest

from blankwright.base.errors import RequestError
from blankwright.design.request import read_design
from blankwright.knife.knife import Knife, finish
from blankwright.knife.words import knife_words
from rooms.every import every

FAMILIES = ("chef", "utility", "paring", "spreader")
BUILDS = ("full", "hidden", "one-piece")


def knife(family: str, **changes: object) -> Knife:
    return finish(read_design(family, {key.replace("__", "."): value for key, value in changes.items()}))


@every([(family, build) for family in FAMILIES for build in BUILDS])
def test_wood_has_a_wooden_edge_tip_and_saw_whatever_its_construction(family: str, build: str) -> None:
    made = knife(family, handle__construction=build, material__grade="sugar-maple")
    grind = made.design.grind
    assert grind.behind_edge_mm >= 0.8
    assert grind.tip_thickness_mm == 3.0
    assert made.design.cutting.process == "trace"
    assert made.stock_mm >= 5.0
    assert made.ground.before is None
    assert made.ground.bevels.blunt
    assert not [f for f in made.findings if f.code == "GRIND" and f.level != "ok"]


def test_one_piece_of_steel_is_ground_as_steel() -> None:
    made, full = (knife("chef", handle__construction=c, material__grade="80CrV2") for c in ("one-piece", "full"))
    assert made.design.grind == full.design.grind
    assert made.stock_mm == full.stock_mm
    assert made.design.cutting.process == "water-jet"


def test_what_is_asked_for_stands_and_a_thin_wooden_edge_is_told() -> None:
    made = knife("chef", material__grade="sugar-maple", grind__behind_edge="0.4 mm", material__thickness="5 mm")
    assert (made.design.grind.behind_edge_mm, made.stock_mm) == (0.4, 5.0)
    (told,) = [f for f in made.findings if f.code == "GRIND"]
    assert told.level == "warning"
    assert "below 0.8 mm it breaks out" in told.message
    sharp = knife("chef", material__grade="sugar-maple", grind__edge_angle="20 deg")
    assert not sharp.ground.bevels.blunt
    assert sharp.ground.bevels.edge_angle_deg == 20


def test_a_spreader_is_blunt_unless_an_angle_is_asked_for() -> None:
    blunt = knife("spreader").ground.bevels
    assert (blunt.blunt, blunt.edge_radius_mm) == (True, 0.5)
    assert not knife("spreader", grind__edge_angle="20 deg").ground.bevels.blunt
    assert knife("chef", grind__edge="blunt").ground.bevels.blunt
    with pytest.raises(RequestError, match="a blunt edge has no angle"):
        knife("chef", grind__edge="blunt", grind__edge_angle="15 deg")


def test_soft_is_a_wish_and_contradictions_are_refused() -> None:
    soft = knife("spreader", material__hardened="no", material__grade="1075")
    assert not soft.start.heated
    assert soft.ground.before is None
    assert soft.start.words.endswith("left soft")
    assert "hardening" not in soft.cautions
    assert "left soft" in knife_words(soft)
    for process in ("saw", "trace"):  # what a cut throws up depends on what is cut
        of_steel, of_wood = (knife("spreader", cutting__process=process, material__grade=g) for g in ("1075", "beech"))
        assert "ood dust" not in of_steel.cautions
        assert of_wood.cautions.count("ood dust harms the lungs") == 1
    for words, changes in (
        ("contradicts a blank that is bought hardened", {"start__from": "hardened-blank", "material__hardened": "no"}),
        ("has none to wish for", {"material__hardened": "no", "material__hardness": "60 HRC"}),
        ("is not hardened", {"material__grade": "beech", "material__hardness": "60 HRC"}),
        ("needs a blade that is hardened", {"material__hardened": "no", "cutting__heel_notch": "after hardening"}),
        ("60 HRC", {"material__hardness": "60"}),
    ):
        with pytest.raises(RequestError, match=words):
            knife("chef", **changes)
