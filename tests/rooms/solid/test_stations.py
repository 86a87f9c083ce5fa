"""What the grinder sets at places along the blade, by the trade's own rules."""

from __future__ import annotations

import math

import numpy as np
import pytest

from blankwright.base.errors import GeometryError
from blankwright.base.said import said
from blankwright.geometry.outline import Outline
from blankwright.solid.blade import Taper
from blankwright.solid.section import Bevels
from blankwright.solid.stations import BenchStation, places, station, stations
from rooms.every import cases


def one(height: float, spine: float, bevels: Bevels, before: Bevels | None = None, stock: float = 3.0) -> BenchStation:
    bar = Outline(np.array([[-30.0, 1, 0], [100.0, 1, 0], [100.0, 1 + height, 0], [-30.0, 1 + height, 0]]))
    return station(said("middle"), 50.0, bar, Taper((0.0, 100.0), (spine, spine)), bevels, before, stock)


def test_bevel_angle_of_a_full_flat_grind() -> None:
    """Geometry of the trade: atan((spine - edge) / 2 / height); 2.5 mm, 0.3 mm, 44 mm: 1.43 degrees."""
    before = Bevels("flat", None, 0.1, 15.0, None).unsharpened(0.3)
    got = one(44.0, 2.5, Bevels("flat", None, 0.3, 15.0, None), before, 2.5)
    assert got.platen_deg == pytest.approx((1.43, 1.43), abs=0.005)
    assert got.platen_deg == pytest.approx((math.degrees(math.atan(1.1 / 44)),) * 2)
    run = 44 - 0.15 / math.tan(math.radians(15))  # sharpened, the bevel begins above the edge bevel
    assert got.bevel_deg == pytest.approx((math.degrees(math.atan(1.1 / run)),) * 2)
    assert got.bevel_deg[0] == pytest.approx(1.43, abs=0.03)
    assert (got.low_mm, got.height_mm, got.spine_mm, got.grind_height_mm) == pytest.approx((1.0, 44.0, 2.5, 44.0))


@cases(("width", "angle", "lift"), [
    (45, 15, 11.65), (45, 12, 9.36), (45, 20, 15.39), (28, 15, 7.25), (20, 15, 5.18),
])  # fmt: skip
def test_raise_on_a_whetstone(width: float, angle: float, lift: float) -> None:
    """Geometry of the trade: width times the sine."""
    got = one(width, 2.0, Bevels("flat", None, 0.2, angle, None))
    assert got.raise_mm == pytest.approx((lift, lift), abs=0.005)
    lower = lift - math.cos(math.radians(angle)) * 1.0  # the spine's lower corner hangs half its thickness below
    assert got.gap_mm == pytest.approx((lower, lower), abs=0.005)


def test_scribe_distances() -> None:
    """From each face: (stock - gap) / 2 for two alike; all of it from one face for a single bevel."""
    for share, wanted in ((0.5, (1.2, 1.2)), (1.0, (2.4, 0.0)), (0.7, (1.68, 0.72))):
        before = Bevels("flat", None, 0.2, 15.0, None, share).unsharpened(0.6)
        got = one(40.0, 2.0, Bevels("flat", None, 0.2, 15.0, None, share), before).scribe_mm
        assert got == pytest.approx(wanted)
    thick = Bevels("flat", None, 0.2, 15.0, None).unsharpened(4.0)
    assert one(40.0, 2.0, Bevels("flat", None, 0.2, 15.0, None), thick).scribe_mm == (0.0, 0.0)


def test_uneven_angles_and_no_hardening() -> None:
    got = one(40.0, 2.0, Bevels("flat", 20.0, 0.0, 15.0, None, 0.7, 10.0))
    assert got.bevel_deg == pytest.approx((math.degrees(math.atan(1.4 / 20)), math.degrees(math.atan(0.6 / 20))))
    assert got.platen_deg is None
    assert got.scribe_mm is None
    assert got.grind_height_mm == 20.0
    single = one(40.0, 2.0, Bevels("flat", 20.0, 0.0, 15.0, None, 1.0))
    assert single.bevel_deg == pytest.approx((math.degrees(math.atan(2.0 / 20)), 0.0))
    assert one(12.0, 2.0, Bevels("flat", 20.0, 0.0, 15.0, None)).grind_height_mm == pytest.approx(12.0)


def test_a_flat_side_and_a_blunt_edge_are_not_raised_over_a_stone() -> None:
    right = one(40.0, 2.0, Bevels("flat", 20.0, 0.2, 15.0, None, 1.0))
    assert (right.raise_mm[1], right.gap_mm[1]) == (None, None)
    assert right.raise_mm[0] is not None
    left = one(40.0, 2.0, Bevels("flat", 20.0, 0.2, 15.0, None, 0.0))
    assert (left.raise_mm[0], left.raise_mm[1]) == (None, right.raise_mm[0])
    blunt = one(40.0, 2.0, Bevels("flat", 20.0, 1.0, 45.0, None, blunt=True))
    assert (blunt.raise_mm, blunt.gap_mm) == ((None, None), (None, None))


def named(length_mm: float) -> tuple[tuple[str, float], ...]:
    return tuple((place.text(), x) for place, x in places(length_mm))


def test_places_on_a_long_and_a_short_blade() -> None:
    assert named(210.0) == (("heel", 0.0), ("middle", 105.0), ("50 mm before the tip", 160.0))
    assert named(80.0) == (("heel", 0.0), ("middle", 40.0), ("20 mm before the tip", 60.0))
    assert places(210.0)[2][0].text("in") == "1.97 in before the tip"
    bar = Outline(np.array([[-30.0, 0, 0], [210.0, 0, 0], [210.0, 40, 0], [-30.0, 40, 0]]))
    flat = Bevels("flat", None, 0.2, 15.0, None)
    got = stations(bar, Taper((0.0, 210.0), (3.0, 0.9)), flat, None, 3.0, 210.0)
    assert [s.spine_mm for s in got] == pytest.approx([3.0, 1.95, 1.4])
    with pytest.raises(GeometryError, match="does not reach"):
        station(said("far"), 300.0, bar, Taper((0.0, 210.0), (3.0, 0.9)), flat, None, 3.0)
