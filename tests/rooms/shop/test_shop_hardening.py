"""Hardening and tempering: the shipped table, one steel more, and what a wrong row is told."""

import itertools
import tomllib
from importlib.resources import files

import pytest

from blankwright.base.errors import RequestError
from blankwright.base.readrows import read_rows
from blankwright.shop.bands import Band, Rule
from blankwright.shop.hardening import Hardening, found_steel, hardening, hardenings, soak_for, temper_for
from blankwright.shop.quenches import media
from blankwright.shop.stagecautions import stage
from blankwright.shop.tables import materials
from rooms.every import cases

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
protect = { by = "none", source = "mill sheet", status = "published" }
temper_from = "hand-warm"

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
    assert hardening("AEBL") is hardening("AEB-L")
    assert hardening("AEB-L") is not hardening("13C26")  # each by its own name and its own figures
    assert hardening("75Ni8").name == "15N20"
    with pytest.raises(RequestError, match="unknown material '1805'"):
        hardening("1805")


def test_found_steel_has_steps_and_no_figure_of_a_furnace():
    found = found_steel()
    assert len(found.steps) >= 5
    assert "plated" in stage("found-steel").rules[0].text
    assert not any("°" in step.text or "HRC" in step.text for step in found.steps)


@cases("entry", hardenings().values(), ids=lambda entry: entry.name)
def test_the_shipped_figures_are_sane(entry):
    hardest = (
        1100 if entry.name in ("13C26", "AEB-L", "14C28N", "440C", "1.4116") else 1030 if entry.name == "D2" else 990
    )
    assert 780 <= entry.harden.low <= entry.harden.high <= hardest
    assert 55 <= entry.as_quenched.low <= entry.as_quenched.high <= 67
    for table in entry.temper:
        middles = [(point.hrc_low + point.hrc_high) / 2 for point in table.points]
        # A second rise is printed in one chart (54 to 55); more than that is a slip.
        assert all(b <= a + 1.0 for a, b in itertools.pairwise(middles)), table.name
    for band in entry.preheat:
        assert band.high < entry.harden.low


@cases("entry", hardenings().values(), ids=lambda entry: entry.name)
def test_every_disagreement_is_named(entry):
    if entry.harden_others or len(entry.temper) > 1:
        assert entry.choices


def test_a_temperature_is_shown_in_both_scales():
    assert hardening("1095").harden.words() == "802 °C (1475 °F)"  # the printed 1475 F, not 1472
    assert hardening("O1").harden.words() == "788 to 816 °C (1450 to 1500 °F)"
    assert hardening("O1").harden.printed == "1450 to 1500 F"


def test_1095_in_thick_stock_goes_into_water_and_its_sheet_says_nothing_else():
    steel = hardening("1095")
    thin, thick = steel.quench_for(3.0), steel.quench_for(6.0)
    assert thin[0] == ("fast oil",)
    assert "water" not in thin[1].text
    assert thick[0] == ("water",)
    assert "oil is not covered" in thick[1].text


def test_a_steel_reaches_what_its_oven_is_set_to():
    for entry in hardenings().values():
        low = min(band.low for band in (entry.harden, *entry.harden_others))
        high = max(band.high for band in (entry.harden, *entry.harden_others))
        assert low <= entry.set_c <= high, entry.name
    assert hardening("1095").set_c == 815
    assert hardening("5160").set_c == hardening("5160").harden.high


def test_a_soak_goes_by_thickness_where_the_steel_maker_says_so():
    steel = hardening("14C28N")
    assert soak_for(steel, 2.5).time.low == 5
    assert soak_for(steel, 3.6).time.low == pytest.approx(8.8)
    assert soak_for(steel, 4.0) == soak_for(steel, 4.0)
    assert not soak_for(steel, 4.0).uncovered
    assert soak_for(hardening("1084"), 2.5).time is hardening("1084").soak


def test_outside_a_makers_rule_nothing_less_than_its_nearest_time_is_told():
    """Before, 4 mm of 14C28N had 12 min and 6 mm fell back to 5 to 12."""
    for entry in hardenings().values():
        law = entry.soak_law
        if law is None:
            continue
        last = 0.0
        for thickness in (0.8, 1.0, 1.5, 2.0, 2.5, 3.0, 3.3, 3.9, 4.0, 4.1, 5.0, 6.0, 8.0):
            soak = soak_for(entry, thickness)
            assert soak.time.low >= last, entry.name
            last = soak.time.low
            inside = law.points[0].thickness <= thickness <= law.points[-1].thickness
            assert bool(soak.uncovered) is not inside
    assert soak_for(hardening("14C28N"), 6.0).uncovered == "not covered: the rule ends at 4 mm"
    assert soak_for(hardening("13C26"), 2.5).time.low == 3


def test_a_wish_picks_the_rows_of_the_chart_and_never_reckons_on():
    chart = hardening("1095").chosen_temper
    assert [p.printed for p in temper_for(chart, 63, 63).points] == ["350 F", "400 F"]
    assert [p.printed for p in temper_for(chart, 64.5, 64.5).points] == ["300 F", "350 F"]
    assert temper_for(chart, 64.5, 64.5).words == "the rows around it"
    out = temper_for(chart, 67, 67)
    assert out.points == ()
    assert out.words == "the chart goes from 53 to 65 HRC"


def test_what_a_steel_is_wrapped_and_quenched_in_goes_together():
    for entry in hardenings().values():
        wet = {"water", "fast oil", "medium oil"} & set(entry.quench_in[:1])
        assert not (entry.protect.by == "foil" and wet), entry.name
        if entry.cold is not None and entry.cold.when == "before the first temper":
            assert entry.temper_from == "room temperature"
        assert {*entry.quench_in} <= set(media())
        assert (entry.set_c > 870) == (entry.protect.by == "foil"), entry.name


def test_what_was_not_checked_is_said():
    assert hardening("15N20").weak == ("hardening range", "soak", "hardness as quenched", "temper chart")
    assert hardening("O1").weak == ()


def test_a_table_more_is_a_steel_more(tmp_path):
    path = tmp_path / "own.toml"
    path.write_text(OWN, encoding="utf-8")
    entry = read_rows(path, Hardening)["my-steel"]
    assert entry.title == "My steel"
    assert [(point.hrc_low + point.hrc_high) / 2 for point in entry.chosen_temper.points] == [64.5, 61.5]


@cases(
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
        ('by = "none"', 'by = "paper"', "unknown by 'paper'.*foil"),
        ('by = "none"', 'by = "foil"', "a foil packet is not quenched in fast oil"),
        ('temper_from = "hand-warm"', 'temper_from = "cold"', "unknown temper_from 'cold'"),
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
    assert len(tomllib.loads(TEXT)) == 17


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
