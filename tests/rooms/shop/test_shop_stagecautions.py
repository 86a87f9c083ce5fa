"""Cautions by stage, finishes, care and glue."""

import pytest

from blankwright.base.errors import RequestError
from blankwright.shop.bands import Band, Rule
from blankwright.shop.finishes import LABEL_FIRST, Advice, Glue, advice, advice_names, blade_care, glue, glues
from blankwright.shop.stagecautions import FIRST, StageCautions, cutting_stage, stage, stage_names, stages_for
from blankwright.shop.tables import processes

RULE = Rule("x", "s", "published")


def names(**asked):
    base = {"process_name": "laser", "material_kind": "steel", "found": False, "holes": True, "handle_kinds": ["wood"]}
    return [found.name for found in stages_for(**base | asked)]


def test_every_process_has_cautions():
    for entry in processes():
        assert cutting_stage(entry.name).rules
    with pytest.raises(RequestError, match=r"unknown stage 'cut-lazer'.*'cut-laser'"):
        cutting_stage("lazer")


def test_cutting_with_heat_brings_fire_watch_and_fume():
    for name in ("plasma-table", "plasma-hand", "oxy-fuel"):
        text = " ".join(cutting_stage(name).words)
        assert "fire watch" in text
        assert "galvanised" in text
    assert "fire watch" not in " ".join(cutting_stage("water-jet").words)


@pytest.mark.parametrize("name", stage_names())
def test_every_list_ends_with_what_comes_first(name):
    words = stage(name).words
    assert words[-1] == FIRST
    assert len(words) >= 2
    for rule in stage(name).rules:
        assert rule.text.endswith(".")
        # What is called published names a regulation or a body that published it.
        if rule.status == "published":
            assert any(sign in rule.source for sign in ("CFR", "NIOSH", "HSE", "ACGIH", "OSHA", "guide")), rule.source


def test_a_steel_knife_goes_through_all_stages_in_order():
    assert names() == [
        "cut-laser", "grinding", "drilling", "heat", "quench", "temper", "wood-dust", "epoxy",
        "finishing-oil", "sharpening",
    ]  # fmt: skip
    assert names(found=True)[0] == "found-steel"
    assert "drilling" not in names(holes=False)
    assert "laminate-dust" in names(handle_kinds=["laminate"])
    assert "wood-dust" not in names(handle_kinds=["laminate"])


def test_a_wooden_knife_meets_no_fire():
    assert names(process_name="saw", material_kind="wood", holes=False, handle_kinds=[]) == [
        "cut-saw", "wood-dust", "finishing-oil", "sharpening",
    ]  # fmt: skip


def test_a_stage_cannot_be_empty():
    for arguments in (("x", "", (RULE,)), ("x", "y", ())):
        with pytest.raises(RequestError):
            StageCautions(*arguments)
        with pytest.raises(RequestError):
            Advice(*arguments)


def test_advice_by_name_and_by_blade():
    assert advice("food-oil").rules[0].source.startswith("21 CFR 178.3620")
    assert [found.name for found in blade_care("stainless")] == ["care-stainless", "care-edge"]
    assert [found.name for found in blade_care("wood")] == ["food-oil"]
    assert {"care-carbon", "handle-finish"} <= set(advice_names())
    with pytest.raises(RequestError, match="unknown advice 'food-oils'"):
        advice("food-oils")
    with pytest.raises(RequestError, match="unknown kind of blade 'metal'"):
        blade_care("metal")


def test_every_glue_defers_to_its_label():
    for entry in glues():
        assert entry.words.endswith(LABEL_FIRST)
        assert entry.clamp.low <= entry.full.low
    assert glue("slow-epoxy").clamp.high == 24
    with pytest.raises(RequestError, match="unknown glue 'hide'"):
        glue("hide")


def test_a_glue_cannot_be_half_built():
    long, short = (Band(h, h, "h", "x", "s", "published") for h in (24, 1))
    work = Band(20, 25, "C", "20 to 25 C", "s", "published")
    with pytest.raises(RequestError, match="no shorter than clamp"):
        Glue("x", "y", "z", long, short, work, (RULE,))
    with pytest.raises(RequestError, match="title, a use and rules"):
        Glue("x", "y", "z", short, long, work, ())
