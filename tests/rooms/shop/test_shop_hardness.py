"""Hardness on another scale."""

import math

import pytest

from blankwright.base.errors import RequestError
from blankwright.shop.hardness import SCALES, Conversion, convert, hardness_table


@pytest.mark.parametrize("there", SCALES)
@pytest.mark.parametrize("back", SCALES)
def test_there_and_back_again(there, back):
    pairs = hardness_table().pairs(there, back)
    for share in (0.0, 0.31, 0.77, 1.0):
        value = pairs[0][0] + share * (pairs[-1][0] - pairs[0][0])
        assert convert(convert(value, there, back), back, there) == pytest.approx(value)


def test_between_two_rows_lies_the_middle():
    assert convert(59.5, "HRC", "HV") == (674 + 697) / 2


@pytest.mark.parametrize("value", [44.9, 68.1, math.nan])
def test_nothing_is_continued_beyond_the_table(value):
    with pytest.raises(RequestError, match="from 45 to 68 HRC"):
        convert(value, "HRC", "HV")


def test_brinell_ends_where_a_ball_would_flatten():
    with pytest.raises(RequestError, match="from 45 to 65 HRC"):
        convert(66, "HRC", "HB")


def test_an_unknown_scale_is_refused():
    with pytest.raises(RequestError, match="unknown scale of hardness 'HRB'"):
        convert(60, "HRB", "HV")


def test_a_conversion_must_rise():
    with pytest.raises(RequestError, match="HV must rise"):
        Conversion(((50.0, 500.0, 480.0), (51.0, 499.0, 490.0)), "s", "published", "n")
    with pytest.raises(RequestError, match="known status"):
        Conversion(((50.0, 500.0, 480.0), (51.0, 510.0, 490.0)), "s", "sure", "n")
