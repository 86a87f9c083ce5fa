"""The shipped knives against what the trade makes, and their handles against measured hands."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from blankwright.desk.script import solve
from blankwright.shop.hand import grip_over_breadth, percentile_hand
from rooms.design.cases import FAMILIES, KINDS
from rooms.every import cases

SOURCE = (
    "Common practice of the trade for lengths and heel heights (no source); encyclopedia articles on the "
    "chef's, utility and paring knife for lengths; ANSUR II, US Army survey of 2012, public release, for "
    "hand breadth"
)
TOLERANCE_MM = 0.05
REASON = "Ranges are compared as they are given; percentiles are printed to 0.1 mm: within half of that."

COMMON_PRACTICE_LENGTH_MM = {"chef": (150.0, 360.0), "utility": (100.0, 180.0), "paring": (60.0, 102.0)}
"""Encyclopedia: chef 150 to 360, utility 100 to 180, paring 60 to 100 (another 2.5 to 4 in)."""
COMMON_PRACTICE_HEEL_MM = {"chef": (42.0, 52.0), "utility": (24.0, 32.0), "paring": (18.0, 24.0)}
"""Common practice, no source."""
COMMON_PRACTICE_HANDLE_MM = {"chef": (115.0, 130.0), "utility": (95.0, 130.0), "paring": (95.0, 115.0)}
"""Common practice: chef 115 to 130, paring 95 to 110 and a little; tool handles at least 100."""
COMMON_PRACTICE_CHEF_HEIGHT_MM = (22.0, 28.0)
"""Common practice: height of a chef's handle at the swell."""
COMMON_PRACTICE_STEEL_MM = {"chef": (2.0, 3.5), "utility": (1.8, 3.0), "paring": (1.5, 3.0)}
"""Common practice, spine at the heel; up to 3 mm where a set is cut from one sheet."""

HAND_BREADTH_MM = {  # ANSUR II (2012), public release: 5th, 50th and 95th percentile
    "male": (81.0, 88.0, 96.0),
    "female": (72.0, 78.0, 85.0),
}
HAND_COUNT = {"male": 4082, "female": 1986}
TABLE = Path(__file__).resolve().parents[3] / "shared" / "data" / "hands" / "ansur2_hands_only_mm.csv"

trade = cases("name", [n for n in FAMILIES if n in COMMON_PRACTICE_LENGTH_MM])


@trade
def test_a_default_blade_is_as_long_as_the_trade_makes_it(name: str) -> None:
    low, high = COMMON_PRACTICE_LENGTH_MM[name]
    assert low <= solve(name).dimensions_mm["blade_length"] <= high


@trade
def test_a_default_heel_is_as_high_as_the_trade_makes_it(name: str) -> None:
    low, high = COMMON_PRACTICE_HEEL_MM[name]
    assert low <= solve(name).dimensions_mm["heel_height"] <= high


@trade
def test_a_default_handle_is_as_long_as_the_trade_makes_it(name: str) -> None:
    low, high = COMMON_PRACTICE_HANDLE_MM[name]
    assert low <= solve(name).dimensions_mm["handle_length"] <= high


@trade
def test_the_stock_is_as_thick_as_the_trade_uses_it(name: str) -> None:
    low, high = COMMON_PRACTICE_STEEL_MM[name]
    assert low <= solve(name).design.stock.thickness_mm <= high


def test_a_chefs_handle_fills_the_hand() -> None:
    low, high = COMMON_PRACTICE_CHEF_HEIGHT_MM
    d = solve("chef").dimensions_mm
    assert all(low <= d[k] <= high for k in ("tang_front", "tang_middle", "tang_butt"))


def test_knuckles_clear_the_board_under_a_chefs_handle() -> None:
    # common practice: 20 to 25 mm between the underside of the handle and the board
    knife = solve("chef")
    points, _ = knife.finished.sampled(0.5)
    under = points[(points[:, 0] < -30) & (points[:, 0] > -90), 1].min()
    assert 18.0 <= under <= 30.0


@cases(("name", "construction"), [(n, c) for n, c in KINDS if n == "chef"])
def test_a_chefs_handle_is_longer_than_a_broad_hand_is_broad(name: str, construction: str) -> None:
    length = solve(name, construction=construction).dimensions_mm["handle_length"]
    assert length >= HAND_BREADTH_MM["male"][2] + grip_over_breadth().low


@cases("name", FAMILIES)
def test_every_handle_is_longer_than_most_hands_are_broad(name: str) -> None:
    assert solve(name).dimensions_mm["handle_length"] > HAND_BREADTH_MM["male"][2]


def test_the_rule_quotes_the_surveys_medians() -> None:
    medians = (percentile_hand("men 50").breadth_mm, percentile_hand("women 50").breadth_mm)
    assert (HAND_BREADTH_MM["male"][1], HAND_BREADTH_MM["female"][1]) == medians


@pytest.mark.skipif(not TABLE.is_file(), reason="the survey's table is not here")
@pytest.mark.parametrize("sex", ["male", "female"])
def test_the_percentiles_follow_from_the_surveys_own_rows(sex: str) -> None:
    with TABLE.open(encoding="utf-8") as stream:
        rows = [r for r in csv.DictReader(line for line in stream if not line.startswith("#")) if r["sex"] == sex]
    breadth = np.array([float(r["handbreadth"]) for r in rows])
    assert len(breadth) == HAND_COUNT[sex]
    assert np.percentile(breadth, [5, 50, 95]) == pytest.approx(HAND_BREADTH_MM[sex], abs=TOLERANCE_MM)
