"""Refusals and order of the ISO 9013 functions; their values are checked in tests/truth."""

import math

import pytest

from blankwright.base.errors import RequestError
from blankwright.shop.iso9013 import limit_deviation_mm, squareness_mm
from rooms.every import cases

THICKNESSES_MM = (0.5, 1.0, 2.0, 3.15, 4.0, 6.3, 10.0)
SIZES_MM = (3.0, 10.0, 35.0, 125.0, 315.0, 1000.0, 1999.0)


@pytest.mark.parametrize("tolerance_class", [1, 2])
def test_deviation_never_falls_with_thickness_or_size(tolerance_class):
    table = [
        [limit_deviation_mm(tolerance_class, thickness_mm=a, nominal_mm=s) for s in SIZES_MM] for a in THICKNESSES_MM
    ]
    for row in table:
        assert row == sorted(row)
    for column in zip(*table, strict=True):
        assert list(column) == sorted(column)


def test_class_2_is_wider_than_class_1():
    for a in THICKNESSES_MM:
        for s in SIZES_MM:
            fine_mm = limit_deviation_mm(1, thickness_mm=a, nominal_mm=s)
            assert limit_deviation_mm(2, thickness_mm=a, nominal_mm=s) > fine_mm


def test_each_range_is_wider_than_the_one_before():
    values = [squareness_mm(k, 3.0) for k in range(1, 6)]
    assert values == sorted(values)
    assert len(set(values)) == 5


@cases("bad", [0, 6, -1])
def test_unknown_range_is_refused(bad):
    with pytest.raises(RequestError, match="ranges 1 to 5"):
        squareness_mm(bad, 3.0)


@pytest.mark.parametrize("bad", [0, 3])
def test_unknown_class_is_refused(bad):
    with pytest.raises(RequestError, match="class 1 and class 2"):
        limit_deviation_mm(bad, thickness_mm=3, nominal_mm=200)


@cases("bad", [0.0, -3.0, math.nan, math.inf])
def test_lengths_that_cannot_be_are_refused(bad):
    with pytest.raises(RequestError, match="thickness must be"):
        squareness_mm(1, bad)
    with pytest.raises(RequestError, match="thickness must be"):
        limit_deviation_mm(1, thickness_mm=bad, nominal_mm=200)
    with pytest.raises(RequestError, match="size must be"):
        limit_deviation_mm(1, thickness_mm=3, nominal_mm=bad)


def test_outside_the_table_says_where_it_ends():
    with pytest.raises(RequestError, match="ends at 10 mm"):
        limit_deviation_mm(2, thickness_mm=10.1, nominal_mm=200)
    with pytest.raises(RequestError, match=r"ends below 2000 mm\. Check the unit"):
        limit_deviation_mm(2, thickness_mm=3, nominal_mm=2000)
