"""Hardening and tempering: the shipped table, one steel more, and what a wrong row is told."""

import itertools
import tomllib
from importlib.resources import files

import pytest

from blankwright.base.errors import RequestError
from blankwright.base.readrows import read_rows
from blankwright.shop.bands import Band, Rule
from blankwright.shop.hardening import Hardening, found_steel, hardening, hardenings, soak_for
from blankwright.shop.stagecautions import stage
from blankwright.shop.tables import materials

TEXT = (files("blankwright.shop") / "data" / "hardening.toml").read_text(encoding="utf-8")

OWN = """
[my-steel]
title = "My steel"
normalise = { low = 871, high = 871, printed = "1600 F", source = "mill sheet", status = "published" }
harden = { low = 802, high = 816, printed = "1475 to 1500 F", source = "mill sheet", status = "published" }
soak = { low = 5, high = 10, printed = "5 to 10 min", source = "mill sheet", status = "published" }
quench = { text = "Oil.", source = "mill sheet", status = "published" }
quench_in = ["fast oil"]
as_quenched = { low = 64, high = 65, printed = "64 to 65", source = "mill sheet", status = "published" }
tempers = { low = 2, high = 2, printed = "twice", source = "mill sheet", status = "published" }
temper_length = { low = 2, high = 2, printed = "2 h", source = "mill sheet", status = "published" }

[[my-steel.temper]]
name = "mill chart"
chosen = true
points = [["300 F", 64, 65], ["400 F", 61, 62]]
source = "mill sheet"
status = "published"
"""


def test_every_blade_steel_of_the_tables_has_a_hardening_but_found_steel():
    steels = [entry.name for entry in materials() if entry.kind in ("steel", "stainless")]
    assert list(hardenings()) == [name for name in steels if name != "unknown"]
    assert hardening("unknown") is None
    assert hardening("sugar maple") is None


def test_an_alias_finds_the_steel():
    assert hardening("AEB-L") is hardening("13C26")
    assert hardening("75Ni8").name == "15N20"
    with pytest.raises(RequestError, match="unknown material '1805'"):
        hardening("1805")


def test_found_steel_has_steps_and_no_figure_of_a_furnace():
    found = found_steel()
    assert len(found.steps) >= 5
    assert "plated" in stage("found-steel").rules[0].text
    assert not any("°" in step.text or "HRC" in step.text for step in found.steps)


@pytest.mark.parametrize("entry", hardenings().values(), ids=lambda entry: entry.name)
def test_the_shipped_figures_are_sane(entry):
    hardest = 1100 if entry.name in ("13C26", "14C28N", "440C", "1.4116") else 1030 if entry.name == "D2" else 990
    assert 780 <= entry.harden.low <= entry.harden.high <= hardest
    assert 55 <= entry.as_quenched.low <= entry.as_quenched.high <= 67
    for table in entry.temper:
        middles = [(point.hrc_low + point.hrc_high) / 2 for point in table.points]
        # A second rise is printed in one chart (54 to 55); more than that is a slip.
        assert all(b <= a + 1.0 for a, b in itertools.pairwise(middles)), table.name
    for band in entry.preheat:
        assert band.high < entry.harden.low


@pytest.mark.parametrize("entry", hardenings().values(), ids=lambda entry: entry.name)
def test_every_disagreement_is_named(entry):
    if entry.harden_others or len(entry.temper) > 1:
        assert entry.choices


def test_a_temperature_is_shown_in_both_scales():
    assert hardening("1095").harden.words() == "802 °C (1475 °F)"  # the printed 1475 F, not 1472
    assert hardening("O1").harden.words() == "788 to 816 °C (1450 to 1500 °F)"
    assert hardening("O1").harden.printed == "1450 to 1500 F"


def test_1095_in_thick_stock_goes_into_water_and_its_sheet_says_nothing_else():
    steel = hardening("1095")
    assert steel.quench_for(3.0) == ("fast oil",)
    assert steel.quench_for(6.0) == ("water",)


def test_a_steel_reaches_what_its_oven_is_set_to():
    for entry in hardenings().values():
        low = min(band.low for band in (entry.harden, *entry.harden_others))
        high = max(band.high for band in (entry.harden, *entry.harden_others))
        assert low <= entry.set_c <= high, entry.name
    assert hardening("1095").set_c == 815
    assert hardening("5160").set_c == hardening("5160").harden.high


def test_a_soak_goes_by_thickness_where_the_steel_maker_says_so():
    steel = hardening("14C28N")
    assert soak_for(steel, 2.5).low == 5
    assert soak_for(steel, 3.6).low == pytest.approx(8.8)
    for beyond_mm in (2.0, 5.0):  # outside the law: the general range, never extrapolated
        assert soak_for(steel, beyond_mm) is steel.soak
    assert soak_for(hardening("1084"), 2.5) is hardening("1084").soak


def test_what_was_not_checked_is_said():
    assert hardening("15N20").weak == ("hardening range", "soak", "hardness as quenched", "temper chart")
    assert hardening("O1").weak == ()


def test_a_table_more_is_a_steel_more(tmp_path):
    path = tmp_path / "own.toml"
    path.write_text(OWN, encoding="utf-8")
    entry = read_rows(path, Hardening)["my-steel"]
    assert entry.title == "My steel"
    assert [(point.hrc_low + point.hrc_high) / 2 for point in entry.chosen_temper.points] == [64.5, 61.5]


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("low = 802", "low = 1475", r"own.toml \[my-steel\] \[harden\] low: expected a number 100 to 1300, got 1475"),
        ("low = 802", "low = 780", r"\[harden\]: low 780 .* printed says 802 to 816 C"),
        ('printed = "1475 to 1500 F"', 'printed = "hot"', r"\[harden\] printed: 'hot' must begin like"),
        ('quench_in = ["fast oil"]', 'quench_in = ["brine"]', "unknown quench_in 'brine'.*water"),
        ('quench_in = ["fast oil"]', "quench_in = 3", "'quench_in' must be a list"),
        ("low = 64, high = 65", "low = 65, high = 64", r"\[as_quenched\]: low and high must be numbers in that order"),
        ("low = 64, high = 65", "low = 64, high = 97", r"\[as_quenched\] high: expected a number 20 to 70"),
        ("chosen = true", "chosen = false", "exactly one table must be chosen"),
        ('["300 F", 64, 65]', '["500 F", 64, 65]', "rising temperature"),
        ('["300 F", 64, 65]', '["300", 64, 65]', "points number 1: temper: '300' must begin like"),
        (
            '["300 F", 64, 65]',
            '["300 F", 64]',
            "points number 1: must be a list of printed, hrc_low, hrc_high, got 2 values",
        ),
        ('title = "My steel"', 'titel = "My steel"', "unknown key 'titel'.*'title'"),
        ("normalise = {", "no_normalise = {", r"\[no_normalise\]: unknown key"),
        ('status = "published" }\nsoak', 'status = "sure" }\nsoak', r"unknown status 'sure'"),
        ("soak = {", "soaks = {", "unknown key 'soaks'.*'soak'"),
    ],
)
def test_a_wrong_file_is_told_what_and_where(tmp_path, old, new, words):
    assert old in OWN
    path = tmp_path / "own.toml"
    path.write_text(OWN.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(RequestError, match=f"(?s){words}"):
        read_rows(path, Hardening)


def test_the_table_names_no_address():
    for forbidden in ("http", "www.", ".com", ".org", "TODO"):
        assert forbidden not in TEXT
    assert len(tomllib.loads(TEXT)) == 16


def test_a_band_and_a_rule_cannot_be_half_built():
    for low, high, unit, printed, source, status in [
        (2, 1, "C", "x", "s", "published"),
        (1, 2, "", "x", "s", "published"),
        (1, 2, "C", " ", "s", "published"),
        (1, 2, "C", "x", "", "published"),
        (1, 2, "C", "x", "s", "sure"),
        (float("nan"), 2, "C", "x", "s", "published"),
    ]:
        with pytest.raises(RequestError):
            Band(low, high, unit, printed, source, status)
    with pytest.raises(RequestError):
        Rule("", "s", "published")
