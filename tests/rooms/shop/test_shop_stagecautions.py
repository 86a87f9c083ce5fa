"""Cautions by stage, finishes, care and glue."""

from dataclasses import replace

import pytest

from blankwright.base.errors import RequestError
from blankwright.design.request import read_design
from blankwright.knife.knife import finish
from blankwright.sheet.tablelines import cautions_of
from blankwright.shop.bands import Advice, Band, Rule
from blankwright.shop.finishes import Glue, advice, blade_care, finishes, glue, glues
from blankwright.shop.stagecautions import cutting_cautions, stage, stages
from blankwright.shop.tables import process, processes

RULE = Rule("x", "s", "published")
COOL = "Keep a hardened blade cool enough to hold: blue"


def test_every_process_has_cautions():
    for entry in processes():
        assert cutting_cautions(entry)
    with pytest.raises(RequestError, match=r"unknown stage 'quensch'.*'quench'"):
        stage("quensch")


def test_cutting_with_heat_brings_fire_watch_and_fume():
    for name in ("plasma-table", "plasma-hand", "oxy-fuel"):
        text = " ".join(rule.text for rule in cutting_cautions(process(name)))
        assert "fire watch" in text
        assert "galvanised" in text
    assert "fire watch" not in " ".join(rule.text for rule in cutting_cautions(process("water-jet")))


def test_what_is_called_published_names_who_published_it():
    rules = [rule for found in stages().values() for rule in found.rules]
    rules += [rule for entry in processes() for rule in cutting_cautions(entry)]
    for rule in rules:
        assert rule.text.endswith(".")
        if rule.status == "published":
            assert any(sign in rule.source for sign in ("CFR", "NIOSH", "HSE", "ACGIH", "OSHA", "guide")), rule.source


def test_a_stage_cannot_be_empty():
    for arguments in (("x", "", (RULE,)), ("x", "y", ())):
        with pytest.raises(RequestError):
            Advice(*arguments)


def test_advice_by_name_and_by_blade():
    assert advice("food-oil").rules[0].source.startswith("21 CFR 178.3620")
    assert [found.name for found in blade_care("stainless")] == ["care-stainless", "care-edge"]
    assert [found.name for found in blade_care("wood")] == ["food-oil"]
    assert {"care-carbon", "handle-finish"} <= set(finishes())
    with pytest.raises(RequestError, match="unknown advice 'food-oils'"):
        advice("food-oils")
    with pytest.raises(RequestError, match="unknown kind of blade 'metal'"):
        blade_care("metal")


def test_every_glue_is_clamped_no_longer_than_it_takes_to_cure():
    for entry in glues().values():
        assert entry.clamp.low <= entry.full.low
    assert glue("slow-epoxy").clamp.high == 24
    with pytest.raises(RequestError, match="unknown glue 'hide'"):
        glue("hide")


def test_a_glue_cannot_be_half_built():
    long, short = (Band(h, h, "h", "x", "s", "published") for h in (24, 1))
    work = Band(20, 25, "C", "20 to 25 C", "s", "published")
    with pytest.raises(RequestError, match="no shorter than clamp"):
        Glue("x", "y", "z", long, short, work, (RULE,))
    with pytest.raises(RequestError, match="needs rules"):
        Glue("x", "y", "z", short, long, work, ())


def test_only_steel_rich_in_chromium_is_warned_of_chromium_in_its_fume():
    """29 CFR 1910.1026 limits hexavalent chromium; D2 with 12 % of it is no stainless, and found steel may be one."""
    told = {}
    for grade, start in (("1084", "bar"), ("AEB-L", "bar"), ("D2", "bar"), ("unknown", "found"), ("1084", "found")):
        changes = {"material.grade": grade, "cutting.process": "plasma-hand", "start.from": start}
        knife = finish(read_design("chef", changes))
        way = knife.process
        assert way is not None
        rules = cutting_cautions(way, chromium=knife.chromium)
        texts = [" ".join(rule.text for rule in rules), knife.cautions]
        told[grade, start] = ["hexavalent" in text for text in texts]
        assert all("Draw off the fume" in text and "alvanised" in text for text in texts)
    assert told.pop(("1084", "bar")) == [False, False]
    assert set(map(tuple, told.values())) == {(True, True)}


def test_a_caution_is_picked_by_its_name_and_never_by_its_place():
    picked = cautions_of("grinding", "guards", "cool")
    assert [line.words.split(",")[0] for line in picked] == ["Safety glasses and face shield", COOL]
    assert len(cautions_of("grinding")) == len(stage("grinding").rules)
    with pytest.raises(RequestError, match=r"unknown caution of 'grinding' 'guard'.*'guards'"):
        cautions_of("grinding", "guard")
    with pytest.raises(RequestError, match="two rules have one name"):
        Advice("x", "y", (replace(RULE, name="z"), replace(RULE, name="z")))
