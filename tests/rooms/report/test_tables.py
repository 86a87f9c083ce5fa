"""`blankwright tables`: every row can be read, with source and standing."""

from __future__ import annotations

import json
from typing import Any

from blankwright.base.said import TABLED
from blankwright.report.tables import table_data, table_text, tables_data
from blankwright.shop.tables import materials
from rooms.every import cases

NAMES = [each["name"] for each in tables_data()["tables"]]


def test_the_list_names_every_table(command: Any) -> None:
    ran = command("tables")
    assert ran.code == 0
    assert all(name in ran.out for name in NAMES)
    listed = json.loads(command("tables", "--json").out)["tables"]
    assert [row["name"] for row in listed] == NAMES
    assert next(row["rows"] for row in listed if row["name"] == "steels") == 17


@cases("name", NAMES)
def test_every_figure_of_every_row_has_source_and_standing(name: str) -> None:
    rows = table_data(name)["rows"]
    text = table_text(name)
    for row in rows:
        assert row["name"] in text
        assert row["figures"], row["name"]
        for figure in row["figures"]:
            assert figure["value"].strip(), row["name"]
            assert len(figure["source"]) >= 5, row["name"]
            # a service's limits say their standing in the source itself
            assert figure["standing"] in (*TABLED, *([""] if name == "services" else [])), row["name"]
            assert figure["source"] in text


def test_a_table_is_aligned(command: Any) -> None:
    chosen, _, figures = command("tables", "steels").out.partition("\n\n")
    lines = figures.splitlines()
    assert len(lines) == len(chosen.splitlines()) - 1 == len(materials("steels"))
    assert len({line.index(" kg/m3") for line in lines}) == 1


def test_an_unknown_table_names_the_nearest(command: Any) -> None:
    ran = command("tables", "steel")
    assert ran.code == 2
    assert "unknown table 'steel'. Did you mean 'steels'?" in ran.err


def test_what_a_choice_needs_stands_side_by_side(command: Any) -> None:
    """The figures are those of the rows; a steel's, those of its table of hardening."""
    steels = {row["name"]: row["choice"] for row in table_data("steels")["rows"]}
    assert steels["1095"]["quench in"] == "fast oil"
    assert steels["AEB-L"]["against air"] == "foil"
    assert steels["AEB-L"]["kind"] == "stainless"
    assert steels["unknown"]["harden at"].startswith("not known")
    ways = {row["name"]: row["choice"] for row in table_data("processes")["rows"]}
    assert ways["water-jet"]["left at edge / spine, 3 mm"] == "0.70 / 0.65"
    assert ways["trace"]["holes, 3 mm"] == "drill all"
    fits = {row["name"]: row["choice"] for row in table_data("fits")["rows"]}
    assert (fits["glued"]["tang hole, 5 mm pin"], fits["peened"]["tang hole, 5 mm pin"]) == ("5.10", "6.50")
    starts = {row["name"]: row["choice"]["what it means"] for row in table_data("starts")["rows"]}
    assert "no cutting file" in starts["hardened-blank"]
    assert "coupons first" in starts["found"]
    assert command("tables", "services").out.splitlines()[0].split()[:2] == ["cuts", "by"]


def test_one_row_with_all_that_is_known_of_it(command: Any) -> None:
    ran = command("tables", "steels", "aebl")
    assert ran.code == 0
    assert "AEB-L" in ran.out
    assert "1095" not in ran.out
    assert "cold" in ran.out, "how it is hardened stands there as well"
    wrong = command("tables", "steels", "1096")
    assert wrong.code == 2
    assert "unknown row '1096'. Did you mean '1095'?" in wrong.err
