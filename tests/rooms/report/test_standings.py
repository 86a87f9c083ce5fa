"""What is called published can be looked up: its source names a number, an edition, a year or a page."""

from __future__ import annotations

import re

from blankwright.report.tables import table_data, tables_data

LOOK_UP = re.compile(
    r"\b(?:19|20)\d\d\b|\bCFR \d|\bISO \d|\bEN \d|\bBS \d|\bANSI[ /][A-Z]|\bDIN \d|\bASTM [A-Z]\d|GTR-\d"
    r"|\bRR\d|HETA \d|\bpage \d|\d+ pages|Pocket Guide \d"
)
"""A year, a regulation, a standard, a report's number or a page."""


def test_every_published_row_can_be_looked_up() -> None:
    told = [
        (table["name"], row["name"], figure["source"])
        for table in tables_data()["tables"]
        for row in table_data(table["name"])["rows"]
        for figure in row["figures"]
        if figure["standing"] == "published"
    ]
    wrong = [f"{table} {row}: {source}" for table, row, source in told if not LOOK_UP.search(source)]
    assert len(told) > 100
    assert not wrong, "\n".join(dict.fromkeys(wrong))


def test_the_check_itself_can_fail() -> None:
    assert not LOOK_UP.search("stockholder's sheet, 0.284 lb/in3")
    assert LOOK_UP.search("29 CFR 1910.1027(c)")
    assert LOOK_UP.search("steel maker's data sheet D2, issue 8, May 2003, page 2")
