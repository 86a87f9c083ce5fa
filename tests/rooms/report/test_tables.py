"""`blankwright tables`: every row can be read, with source and standing."""

from __future__ import annotations

import json
from typing import Any

import pytest

from blankwright.base.said import TABLED
from blankwright.report.tables import table_data, table_text, tables_data
from blankwright.shop.tables import materials

NAMES = [each["name"] for each in tables_data()["tables"]]


def test_the_list_names_every_table(command: Any) -> None:
    ran = command("tables")
    assert ran.code == 0
    assert all(name in ran.out for name in NAMES)
    listed = json.loads(command("tables", "--json").out)["tables"]
    assert [row["name"] for row in listed] == NAMES
    assert next(row["rows"] for row in listed if row["name"] == "steels") == 17


@pytest.mark.parametrize("name", NAMES)
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
    lines = command("tables", "steels").out.splitlines()
    assert len(lines) == len(materials("steels"))
    assert len({line.index(" kg/m3") for line in lines}) == 1


def test_an_unknown_table_names_the_nearest(command: Any) -> None:
    ran = command("tables", "steel")
    assert ran.code == 2
    assert "unknown table 'steel'. Did you mean 'steels'?" in ran.err
