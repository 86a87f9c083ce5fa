"""A blunt edge in section: a half circle on a strip, against the handbook's area and centroid."""

from __future__ import annotations

import math

import numpy as np
import pytest

from blankwright.solid.section import BLUNT_DEG, Bevels, faces, integrals
from rooms.every import cases

SOURCE = "handbook table of plane areas: half circle, area pi r^2 / 2, centroid 4 r / (3 pi) from its diameter"
TOLERANCE = 1e-12
REASON = "Closed forms on both sides."


@cases("thick", [0.5, 1.0, 1.5])
def test_a_strip_with_a_rounded_edge_has_a_half_circle_below(thick: float) -> None:
    high, r = 20.0, thick / 2
    blunt = Bevels("flat", None, thick, BLUNT_DEG, None, blunt=True)
    area, about, across = integrals(np.array([high]), np.array([thick]), blunt)
    circle, strip = math.pi * r * r / 2, (high - r) * thick
    assert area[0] == pytest.approx(circle + strip, rel=TOLERANCE)
    assert about[0] == pytest.approx(circle * (r - 4 * r / (3 * math.pi)) + strip * (high + r) / 2, rel=TOLERANCE)
    assert across[0] == pytest.approx(0.0, abs=TOLERANCE)
    u = np.linspace(0.01, r, 20)
    right, left = faces(u, np.full(20, high), np.full(20, thick), blunt)
    assert right == pytest.approx(np.sqrt(r * r - (r - u) ** 2), abs=TOLERANCE)
    assert left == pytest.approx(-right, abs=TOLERANCE)


def test_a_blade_lower_than_its_round_keeps_the_arc_it_has() -> None:
    """Near a tip: the segment of a circle, area r^2 (a - sin a cos a)."""
    r, high = 0.5, 0.2
    area, _, _ = integrals(np.array([high]), np.array([1.0]), Bevels("flat", None, 1.0, BLUNT_DEG, None, blunt=True))
    half = math.acos(1 - high / r)
    assert area[0] == pytest.approx(r * r * (half - math.sin(half) * math.cos(half)), rel=1e-9)
