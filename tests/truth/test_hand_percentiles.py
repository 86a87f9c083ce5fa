"""Percentiles of hands against the survey's own rows, and against an older table."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from blankwright.shop.hand import percentile_hand
from rooms.every import cases

SOURCE = "ANSUR II, US Army survey of 2012, public release, its rows; an older table of British hands, rounded to 5 mm"
TOLERANCE_MM = 0.006
TOLERANCE_OTHER_MM = 6.0
REASON = "Rows are whole millimetres and percentiles linear between them; another population differs by several mm."

ROWS = Path(__file__).resolve().parents[3] / "shared" / "data" / "hands" / "ansur2_hands_only_mm.csv"
COLUMNS = {"breadth": "handbreadth", "length": "handlength", "palm": "palmlength", "circumference": "handcircumference"}
SEX = {"women": "female", "men": "male"}


@pytest.mark.skipif(not ROWS.is_file(), reason="the survey's rows are not here")
@pytest.mark.parametrize("sex", SEX)
@pytest.mark.parametrize("measure", COLUMNS)
def test_every_percentile_follows_from_the_rows(sex: str, measure: str) -> None:
    with ROWS.open(encoding="utf-8") as stream:
        rows = [r for r in csv.DictReader(line for line in stream if not line.startswith("#")) if r["sex"] == SEX[sex]]
    values = np.array([float(row[COLUMNS[measure]]) for row in rows])
    assert len(values) == {"women": 1986, "men": 4082}[sex]
    for percent in (1, 5, 10, 50, 90, 95, 99):
        assert getattr(percentile_hand(f"{sex} {percent}"), f"{measure}_mm") == pytest.approx(
            np.percentile(values, percent), abs=TOLERANCE_MM
        )


@cases(
    ("name", "printed"),
    [("men 5", 81), ("men 50", 88), ("men 95", 96), ("women 5", 72), ("women 50", 78), ("women 95", 85)],
)
def test_hand_breadth_is_the_surveys(name: str, printed: float) -> None:
    assert percentile_hand(name).breadth_mm == printed


@cases(
    ("name", "british"),
    [("men 5", 80), ("men 50", 85), ("men 95", 95), ("women 5", 70), ("women 50", 75), ("women 95", 85)],
)
def test_an_older_table_is_near(name: str, british: float) -> None:
    assert percentile_hand(name).breadth_mm == pytest.approx(british, abs=TOLERANCE_OTHER_MM)
