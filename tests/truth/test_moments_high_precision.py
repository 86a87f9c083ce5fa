"""The closed forms of area and moments against mpmath: the series, and whole chains at 25 digits."""

from __future__ import annotations

import mpmath as mp
import numpy as np
import pytest

from blankwright.geometry import moments
from blankwright.geometry.outline import Outline
from rooms.every import cases
from rooms.geometry.test_figures import chef, drawn, slot, star

SOURCE = "Green's theorem, integrated numerically along every piece with mpmath at 25 to 50 digits."
TOLERANCE = 1e-13
TOLERANCE_COEFFICIENT = 1e-15
REASON = (
    "Relative to the size of the sums (area, perimeter and reach), double precision over some 80 pieces; a "
    "coefficient is written with 18 digits and read with 16."
)


def closed_forms(t):
    """Return area, first and second moments of a segment of half angle t, in units of the half chord."""
    s, c = mp.sin(t), mp.cos(t)
    flat = t - s * c
    return (
        flat / s**2,
        (mp.mpf(2) / 3 * s**3 - c * flat) / s**3,
        (3 * t - 3 * s * c - 2 * s**3 * c) / (12 * s**4),
        ((flat + 2 * s**3 * c) / 4 - mp.mpf(4) / 3 * c * s**3 + c * c * flat) / s**4,
    )


def integrals(t):
    """Return the same four by integrating over the segment itself: x along the chord, y from chord to arc."""
    r = 1 / mp.sin(t)
    down = mp.cos(t) * r

    def height(x):
        return mp.sqrt(r * r - x * x) - down

    def over(f):
        return mp.quad(f, [-1, -0.5, 0, 0.5, 1])

    return (
        over(height),
        over(lambda x: height(x) ** 2 / 2),
        over(lambda x: x * x * height(x)),
        over(lambda x: height(x) ** 3 / 3),
    )


@cases("t", ["0.3", "0.7", "1.2"])
def test_the_closed_forms_are_the_integrals(t):
    with mp.workdps(30):
        for closed, whole in zip(closed_forms(mp.mpf(t)), integrals(mp.mpf(t)), strict=True):
            assert abs(closed - whole) < mp.mpf(10) ** -14


@pytest.mark.parametrize(
    ("which", "table", "first_power"),
    [(0, moments._AREA, 1), (1, moments._FIRST, 2), (2, moments._ALONG, 1), (3, moments._ACROSS, 1)],
)
def test_the_series_coefficients(which, table, first_power):
    # Cauchy's formula on a circle of radius 1 about 0; the closed forms are analytic up to pi
    with mp.workdps(40):
        n = 256
        ring = [mp.expjpi(mp.mpf(2) * k / n) for k in range(n)]
        values = [closed_forms(z)[which] for z in ring]
        for i, written in enumerate(table):
            power = first_power + 2 * i
            exact = mp.re(sum(v * z ** (-power) for v, z in zip(values, ring, strict=True)) / n)
            assert abs(written - exact) <= TOLERANCE_COEFFICIENT * max(abs(exact), mp.mpf(10) ** -25), power


@cases("alpha", [1e-9, 1e-4, 0.1, 0.3, 0.499999, 0.500001, 0.8, 1.5, 1.5707, 2.5, 3.0, -0.4, -2.0])
def test_segments_on_both_sides_of_the_series(alpha):
    ours = moments._segments(np.array([1.0]), np.array([alpha]))
    with mp.workdps(50):
        exact = [float(v) for v in closed_forms(mp.mpf(alpha))]
    # below the switch the series is good to rounding; above it the closed forms lose a few digits
    assert [float(v[0]) for v in ours] == pytest.approx(exact, rel=3e-12)


def exact_moments(outline):
    """Return area, centroid, ixx, iyy, ixy of a chain, by centre, radius and angle of every arc."""
    total = [mp.mpf(0)] * 6
    for a, b, g in zip(outline.starts, outline.ends, outline.bulges, strict=True):
        for i, part in enumerate(_piece(tuple(map(mp.mpf, a)), tuple(map(mp.mpf, b)), mp.mpf(g))):
            total[i] += part
    area, mx, my, sxx, syy, sxy = total
    gx, gy = mx / area, my / area
    return [float(v) for v in (area, gx, gy, syy - area * gy**2, sxx - area * gx**2, sxy - area * gx * gy)]


def _piece(a, b, g):
    """Return a piece's share of area, first and second moments, as integrals of x^m y^n (x dy - y dx)."""
    if g == 0:

        def at(t):
            return a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1]), b[0] - a[0], b[1] - a[1]

        stops = [0, 1]
    else:
        chord = (b[0] - a[0], b[1] - a[1])
        h = (1 - g * g) / (4 * g)
        cx, cy = (a[0] + b[0]) / 2 - chord[1] * h, (a[1] + b[1]) / 2 + chord[0] * h
        r, first, turn = mp.hypot(a[0] - cx, a[1] - cy), mp.atan2(a[1] - cy, a[0] - cx), 4 * mp.atan(g)

        def at(t):
            c, s = r * mp.cos(first + t * turn), r * mp.sin(first + t * turn)
            return cx + c, cy + s, -s * turn, c * turn

        stops = [0, 0.5, 1]

    def green(m, n):
        # div(x^(m+1) y^n, x^m y^(n+1)) = (m + n + 2) x^m y^n
        def rate(t):
            x, y, dx, dy = at(t)
            return x**m * y**n * (x * dy - y * dx)

        return mp.quad(rate, stops, maxdegree=5) / (m + n + 2)

    return [green(0, 0), green(1, 0), green(0, 1), green(2, 0), green(0, 2), green(1, 1)]


@pytest.mark.parametrize(
    "outline",
    [slot(), *(o for _, o in drawn(star, 40, 2))],
    ids=["slot", "first star", "second star"],
)
def test_chains_at_high_precision(outline):
    with mp.workdps(25):
        area, gx, gy, ixx, iyy, ixy = exact_moments(outline)
    m = outline.moments
    reach = float(np.abs(outline.starts).max()) + 50
    size = outline.perimeter_mm * reach
    assert m.area_mm2 == pytest.approx(area, abs=TOLERANCE * size)
    assert m.centroid_mm == pytest.approx((gx, gy), abs=TOLERANCE * size * reach / area)
    assert (m.ixx_mm4, m.iyy_mm4, m.ixy_mm4) == pytest.approx((ixx, iyy, ixy), abs=10 * TOLERANCE * size * reach**2)


@cases(("dx", "dy"), [(1e3, 0.0), (1e6, 1e6)])
@cases("name", ["chef", "slot"])
def test_a_part_far_from_the_origin_keeps_its_digits(name, dx, dy):
    outline = chef().finished if name == "chef" else slot()
    here, there = outline.moments, outline.moved(dx, dy).moments
    assert there.area_mm2 == pytest.approx(here.area_mm2, rel=1e-9)
    assert there.centroid_mm == pytest.approx((here.centroid_mm[0] + dx, here.centroid_mm[1] + dy), rel=1e-12)
    for key in ("ixx_mm4", "iyy_mm4"):
        assert getattr(there, key) == pytest.approx(getattr(here, key), rel=1e-9)
    assert there.ixy_mm4 == pytest.approx(here.ixy_mm4, abs=1e-9 * here.iyy_mm4)


def test_the_reversed_outline_is_negative():
    m, back = chef().finished.moments, chef().finished.reversed().moments
    assert back.area_mm2 == pytest.approx(-m.area_mm2, rel=1e-12)
    assert back.centroid_mm == pytest.approx(m.centroid_mm, rel=1e-10)
    assert (back.ixx_mm4, back.iyy_mm4) == pytest.approx((-m.ixx_mm4, -m.iyy_mm4), rel=1e-11)


def test_nothing_enclosed_is_refused():
    from blankwright.base.errors import GeometryError

    flat = Outline(np.array([[0.0, 0, 0], [1, 0, 0]]))
    with pytest.raises(GeometryError, match="no area"):
        _ = flat.moments
