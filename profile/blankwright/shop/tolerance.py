"""How far off a cut size may be: what a way of cutting holds, and what it holds in a hole."""

from __future__ import annotations

from blankwright.base.errors import RequestError
from blankwright.base.frozen import dataclass
from blankwright.base.said import Status
from blankwright.shop import iso9013
from blankwright.shop.records import Figure, Process


@dataclass(frozen=True)
class Tolerance:
    """A limit deviation.

    Args:
        plus_minus_mm: How far off a size may be, plus or minus [mm].
        source: Where it comes from, in words.
        status: How far it can be trusted.
    """

    plus_minus_mm: float
    source: str
    status: Status


def size_tolerance(way: Process, *, thickness_mm: float, size_mm: float) -> Tolerance:
    """Return how far off a size may be that is cut one way.

    Args:
        way: The way of cutting.
        thickness_mm: Thickness of the stock [mm].
        size_mm: The size [mm].

    Raises:
        RequestError: The tables have no figure for this thickness or size.
    """
    if way.deviation_class is not None:
        return _by_class(way.deviation_class, thickness_mm, size_mm)
    assert way.deviation_mm is not None  # Process holds exactly one of the two
    return _by_figure(way.deviation_mm)


def hole_tolerance(way: Process, *, thickness_mm: float, diameter_mm: float) -> Tolerance | None:
    """Return how far off the diameter of a hole may be, None where no table says so.

    Args:
        way: The way of cutting.
        thickness_mm: Thickness of the stock [mm].
        diameter_mm: Diameter as cut [mm].
    """
    if way.hole_deviation_mm is not None:
        return _by_figure(way.hole_deviation_mm)
    if way.deviation_class is None:
        return None
    try:
        return _by_class(way.deviation_class, thickness_mm, diameter_mm)
    except RequestError:
        return None  # the standard's table has no cell for it


def _by_figure(figure: Figure) -> Tolerance:
    return Tolerance(figure.value, figure.source, figure.status)


def _by_class(number: int, thickness_mm: float, size_mm: float) -> Tolerance:
    value = iso9013.limit_deviation_mm(number, thickness_mm=thickness_mm, nominal_mm=size_mm)
    return Tolerance(value, f"{iso9013.SOURCE}, class {number}", "computed")
