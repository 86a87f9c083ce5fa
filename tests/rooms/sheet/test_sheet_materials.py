"""The sheet speaks of the material at hand: no grain in a laminate, no pins where none are, no punch on wood."""

from __future__ import annotations

from blankwright.design.request import read_design
from blankwright.ink.papers import paper
from blankwright.knife.knife import finish
from blankwright.sheet.files import SheetWishes, sheet_data
from blankwright.sheet.model import sheet_table
from blankwright.template.scenes import template_svg


def words(family: str, **settings: object) -> str:
    knife = finish(read_design(family, {key.replace("__", "."): value for key, value in settings.items()}))
    assert template_svg(knife)
    return str(sheet_table(sheet_data(knife, SheetWishes(paper("A4")))))


def test_a_laminate_has_no_grain_and_its_own_papers() -> None:
    laminate, wood = words("chef", scales__material="G10"), words("chef", scales__material="beech")
    assert "grain along the handle" in wood
    assert "Paper for wood" in wood
    assert "grain along" not in laminate
    assert "Paper for laminate" in laminate
    assert "Paper for wood" not in laminate
    assert "oil the handle" not in laminate


def test_a_hidden_tang_without_pins_is_not_put_together_with_pins() -> None:
    assert "with pins and clamps" in words("chef")
    assert "with pins" not in words("chef", handle__construction="hidden", pins__count=0)


def test_wood_is_pricked_and_steel_is_punched() -> None:
    board = words("paring", material__grade="beech", material__thickness="4 mm", cutting__process="saw")
    assert "Prick the holes with an awl" in board
    assert "unch the" not in board
    assert "Centre-punch" in words("chef", cutting__process="saw")


def test_bone_and_horn_are_kept_cool_and_dry_and_never_soaked_in_oil() -> None:
    """Makers' practice: their dust harms the lungs, heat cracks bone and warps horn, water swells both."""
    for name in ("bone", "antler", "horn"):
        of = words("chef", scales__material=name)
        for said in (
            "Bone, antler and horn: respirator",
            "hot horn warps",
            "never dip it",
            "not soaked in oil",
            "Paper for bone",
        ):
            assert of.count(said) >= 1, (name, said)
        for wrong in ("grain along", "Wet the wood", "Sand wet", "flood the wood", "oil the handle", "Oak and beech"):
            assert wrong not in of, (name, wrong)
    block = words("chef", handle__construction="hidden", block__material="horn")
    assert "hot horn warps" in block
    assert "hot horn warps" not in words("chef", scales__material="G10")


def test_a_wooden_tang_is_not_degreased() -> None:
    for construction in ("full", "hidden"):
        wood = words("spreader", material__grade="beech", handle__construction=construction)
        assert "degrease" not in wood
        assert "Sand both faces fresh" in wood
    steel = words("spreader", material__grade="1075")
    assert "degrease" in steel
    assert "Sand both faces fresh" not in steel
