"""What ISO 9013 says of a thermally cut edge: how far it may lean, and how far a size may be off.

The standard itself is sold; the figures here were read in reprints by cutting services and checked
against an inch chart of the same standard (see tests/truth/test_iso_9013.py). They end at 10 mm of
thickness and below 2 m of size, which covers every kitchen knife.
"""

from __future__ import annotations

import math

from blankwright.base.errors import RequestError

SOURCE = "ISO 9013:2017, as reprinted by cutting services"

MAX_THICKNESS_MM = 10.0
"""The deviation tables here stop at this thickness."""

NOMINAL_END_MM = 2000.0
"""The deviation tables here stop below this size."""

# Perpendicularity or angularity tolerance u = constant + slope * thickness (table 4), by range.
_SQUARENESS = {
    1: (0.05, 0.003),
    2: (0.15, 0.007),
    3: (0.40, 0.010),
    4: (0.80, 0.020),
    5: (1.20, 0.035),
}


# Columns of tables 6 and 7: a nominal size from 0, 3, 10, ... mm up to but not including the next.
_NOMINAL_END_MM = (3.0, 10.0, 35.0, 125.0, 315.0, 1000.0, NOMINAL_END_MM)

# Rows: thickness up to and including the first figure; None where the standard leaves the cell empty.
_Row = tuple[float, tuple[float | None, ...]]
_DEVIATION: dict[int, tuple[_Row, ...]] = {
    1: (
        (1.0, (0.075, 0.10, 0.10, 0.20, 0.20, 0.30, 0.40)),
        (3.15, (0.10, 0.15, 0.20, 0.25, 0.25, 0.35, 0.40)),
        (6.3, (0.20, 0.20, 0.25, 0.25, 0.30, 0.40, 0.45)),
        (10.0, (None, 0.25, 0.30, 0.30, 0.35, 0.45, 0.55)),
    ),
    2: (
        (1.0, (0.5, 0.6, 0.6, 0.7, 0.7, 0.8, 0.9)),
        (3.15, (0.6, 0.6, 0.7, 0.7, 0.8, 0.9, 1.0)),
        (6.3, (0.7, 0.8, 0.9, 0.9, 1.1, 1.2, 1.3)),
        (10.0, (None, 1.0, 1.1, 1.3, 1.4, 1.5, 1.6)),
    ),
}


def squareness_mm(squareness_range: int, thickness_mm: float) -> float:
    """Return the perpendicularity or angularity tolerance u of a cut face [mm].

    Args:
        squareness_range: Range 1 (best) to 5 of ISO 9013, table 4.
        thickness_mm: Thickness of the stock, a in the standard [mm].

    Raises:
        RequestError: The range is not 1 to 5, or the thickness is no positive number.

    >>> round(squareness_mm(3, 3.0), 3)
    0.43
    """
    if squareness_range not in _SQUARENESS:
        raise RequestError(f"ISO 9013 has squareness ranges 1 to 5, not {squareness_range}.")
    _positive("thickness", thickness_mm)
    constant, slope = _SQUARENESS[squareness_range]
    return round(constant + slope * thickness_mm, 9)  # 0.43, not 0.43000000000000005, on the sheet


def limit_deviation_mm(tolerance_class: int, *, thickness_mm: float, nominal_mm: float) -> float:
    """Return how far a cut size may be off, plus or minus [mm].

    Args:
        tolerance_class: Class 1 (table 6) or class 2 (table 7) of ISO 9013.
        thickness_mm: Thickness of the stock [mm], up to 10.
        nominal_mm: The size that is toleranced [mm], below 2000.

    Raises:
        RequestError: Unknown class, or a thickness or size outside the table.

    >>> limit_deviation_mm(2, thickness_mm=3.0, nominal_mm=200.0)
    0.8
    """
    if tolerance_class not in _DEVIATION:
        raise RequestError(f"ISO 9013 deviations are known for class 1 and class 2, not {tolerance_class}.")
    _positive("thickness", thickness_mm)
    _positive("size", nominal_mm)
    if thickness_mm > MAX_THICKNESS_MM:
        raise RequestError(
            f"thickness {thickness_mm:g} mm is outside the ISO 9013 deviation table here, "
            f"which ends at {MAX_THICKNESS_MM:g} mm. Ask the shop for its own tolerance."
        )
    if nominal_mm >= NOMINAL_END_MM:
        raise RequestError(
            f"size {nominal_mm:g} mm is outside the ISO 9013 deviation table here, "
            f"which ends below {NOMINAL_END_MM:g} mm. Check the unit."
        )
    row = next(cells for end, cells in _DEVIATION[tolerance_class] if thickness_mm <= end)
    found = row[next(i for i, end in enumerate(_NOMINAL_END_MM) if nominal_mm < end)]
    if found is None:
        raise RequestError(
            f"ISO 9013 gives no deviation for a size of {nominal_mm:g} mm in {thickness_mm:g} mm stock; "
            f"sizes from 3 mm up are given."
        )
    return found


def _positive(what: str, value_mm: float) -> None:
    if not (math.isfinite(value_mm) and value_mm > 0):
        raise RequestError(f"{what} must be a length above 0 mm, got {value_mm:g}.")
