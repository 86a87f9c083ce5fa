"""ISO 9013 against reprints, two of which the code was not written from, and the trade's own sum for plasma."""

import pytest

from blankwright.base.errors import RequestError
from blankwright.shop.allowance import allowance
from blankwright.shop.iso9013 import limit_deviation_mm, squareness_mm
from rooms.every import cases

SOURCE = (
    "Chart of the perpendicularity tolerance u in inches, in a copy of DIN EN ISO 9013 (ranges 1 to 5); "
    "worked example of a cutting guide to ISO 9013 (a = 10 mm, u = 0.08 mm); a cutting service's summary of "
    "the limit deviations for 1 to 3 mm plate; a cutting service's reprint of tables 6 and 7 in full; a guide's "
    "reprint of table 4."
)
TOLERANCE_IN = 0.00005
TOLERANCE_MM = 1e-9
REASON = "The chart prints four decimals of an inch; the other values are printed in full."

INCH_CHART = {  # thickness mm: u in inches for ranges 1 to 5
    1.5: (0.0021, 0.0063, 0.0163, 0.0327, 0.0493),
    12.7: (0.0035, 0.0094, 0.0207, 0.0415, 0.0647),
    25.4: (0.0050, 0.0129, 0.0257, 0.0515, 0.0822),
    50.8: (0.0080, 0.0199, 0.0357, 0.0715, 0.1172),
}


@cases("thickness_mm", INCH_CHART)
@cases("squareness_range", [1, 2, 3, 4, 5])
def test_squareness_agrees_with_the_inch_chart(thickness_mm, squareness_range):
    printed_in = INCH_CHART[thickness_mm][squareness_range - 1]
    u_in = squareness_mm(squareness_range, thickness_mm) / 25.4
    assert u_in == pytest.approx(printed_in, abs=TOLERANCE_IN * 1.0001)


def test_squareness_agrees_with_the_guides_worked_example():
    assert squareness_mm(1, 10.0) == pytest.approx(0.08, abs=TOLERANCE_MM)


@cases(
    ("tolerance_class", "nominal_mm", "printed_mm"),
    [(1, 124.9, 0.25), (1, 999.0, 0.35), (2, 100.0, 0.7), (2, 200.0, 0.8), (2, 400.0, 0.9)],
)
def test_limit_deviations_of_3_mm_plate_agree_with_a_second_summary(tolerance_class, nominal_mm, printed_mm):
    found_mm = limit_deviation_mm(tolerance_class, thickness_mm=3.0, nominal_mm=nominal_mm)
    assert found_mm == pytest.approx(printed_mm, abs=TOLERANCE_MM)


@cases(
    ("tolerance_class", "thickness_mm", "nominal_mm", "printed_mm"),
    [
        (1, 1.0, 2.0, 0.075),
        (1, 6.0, 50.0, 0.25),
        (1, 8.0, 1500.0, 0.55),
        (2, 5.0, 200.0, 1.1),
        (2, 10.0, 5.0, 1.0),
        (2, 0.8, 1500.0, 0.9),
    ],
)
def test_single_cells_of_the_deviation_tables(tolerance_class, thickness_mm, nominal_mm, printed_mm):
    # Read one by one in a cutting service's reprint of tables 6 and 7.
    found_mm = limit_deviation_mm(tolerance_class, thickness_mm=thickness_mm, nominal_mm=nominal_mm)
    assert found_mm == pytest.approx(printed_mm, abs=TOLERANCE_MM)


SIZES_MM = ((0.5, 2.99), (3.0, 9.99), (10.0, 34.9), (35.0, 124.9), (125.0, 314.9), (315.0, 999.9), (1000.0, 1999.9))
"""Both ends of each column of tables 6 and 7: >0 to <3, 3 to <10, 10 to <35 and so on."""
ROWS_MM = ((0.3, 1.0), (1.01, 3.15), (3.16, 6.3), (6.31, 10.0))
"""Both ends of each row: up to 1, above 1 to 3.15, above 3.15 to 6.3, above 6.3 to 10."""
REPRINT = {  # class: rows of the reprint, from the project's list of facts; a dash where none is given
    1: """.075 .10 .10 .20 .20 .30 .40
          .10  .15 .20 .25 .25 .35 .40
          .20  .20 .25 .25 .30 .40 .45
          -    .25 .30 .30 .35 .45 .55""",
    2: """.5 .6  .6  .7  .7  .8  .9
          .6 .6  .7  .7  .8  .9  1.0
          .7 .8  .9  .9  1.1 1.2 1.3
          -  1.0 1.1 1.3 1.4 1.5 1.6""",
}


@pytest.mark.parametrize("tolerance_class", [1, 2])
def test_every_cell_of_the_deviation_tables_at_all_its_corners(tolerance_class):
    rows = [line.split() for line in REPRINT[tolerance_class].splitlines()]
    assert [len(row) for row in rows] == [7] * 4
    for thicknesses_mm, row in zip(ROWS_MM, rows, strict=True):
        for sizes_mm, printed in zip(SIZES_MM, row, strict=True):
            for thickness_mm in thicknesses_mm:
                for nominal_mm in sizes_mm:
                    if printed == "-":
                        with pytest.raises(RequestError, match="sizes from 3 mm up"):
                            limit_deviation_mm(tolerance_class, thickness_mm=thickness_mm, nominal_mm=nominal_mm)
                        continue
                    found_mm = limit_deviation_mm(tolerance_class, thickness_mm=thickness_mm, nominal_mm=nominal_mm)
                    assert found_mm == pytest.approx(float(printed), abs=TOLERANCE_MM)


@cases(
    ("thickness_mm", "u_mm"),
    [
        (3.0, (0.059, 0.171, 0.43, 0.86, 1.305)),
        (4.0, (0.062, 0.178, 0.44, 0.88, 1.34)),
        (5.0, (0.065, 0.185, 0.45, 0.90, 1.375)),
    ],
)
def test_squareness_of_knife_stock_by_hand_from_the_guides_formulas(thickness_mm, u_mm):
    # 0.05 + 0.003 a, 0.15 + 0.007 a, 0.4 + 0.01 a, 0.8 + 0.02 a; range 5, 1.2 + 0.035 a, from the chart's values
    assert [squareness_mm(k, thickness_mm) for k in range(1, 6)] == pytest.approx(list(u_mm), abs=TOLERANCE_MM)


def test_the_thin_end_of_each_column_belongs_to_the_next_size():
    # The standard writes "from 3 to below 10", "above 1 to 3.15 inclusive".
    assert limit_deviation_mm(1, thickness_mm=3.15, nominal_mm=125.0) == 0.25
    assert limit_deviation_mm(1, thickness_mm=3.16, nominal_mm=125.0) == 0.30
    assert limit_deviation_mm(1, thickness_mm=3.0, nominal_mm=2.99) == 0.10
    assert limit_deviation_mm(1, thickness_mm=3.0, nominal_mm=3.0) == 0.15


def test_the_cell_that_the_standard_leaves_empty_is_an_error():
    with pytest.raises(RequestError, match="sizes from 3 mm up"):
        limit_deviation_mm(2, thickness_mm=8.0, nominal_mm=2.0)


def test_what_plasma_takes_from_3_mm_stock():
    # Common practice: 0.43 lean + 0.75 burnt + 0.4 half deviation, about 1.6 mm per side.
    found = allowance("plasma-table", thickness_mm=3, size_mm=200, material_kind="steel", overrides={})
    assert found.loss_mm["spine"] == pytest.approx(0.43 + 0.75 + 0.4, abs=TOLERANCE_MM)
