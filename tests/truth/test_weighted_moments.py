"""Integrals of a polynomial over arcs and lines against closed forms and many digits."""

from __future__ import annotations

import itertools
import math
from functools import cache

import mpmath
import numpy as np
import pytest

from blankwright.geometry.moments import boundary, weighted
from rooms.every import cases
from rooms.often import often, repeated, share

SOURCE = (
    "mpmath quad with 30 digits along the pieces (Green's theorem); moments of a disc and a rectangle "
    "about any point from any handbook of mechanics"
)
TOLERANCE = 1e-12
REASON = (
    "As a share of the largest weight times the box round the ends, 50 mm wider: 1e-16 to 270 degrees, 3e-14 at 350, "
    "where twenty nodes begin to leave something out. Far from the origin the powers of x take digits with them."
)


def exactly(rows: list[tuple[float, float, float]], polynomial: tuple[float, ...]) -> tuple[float, float, float]:
    """Return the three integrals by mpmath: x-antiderivative along dy, and -y^2/2 along dx."""
    with mpmath.workdps(30):
        sums = [mpmath.mpf(0)] * 3
        c = [mpmath.mpf(v) for v in polynomial]

        def weight(x: mpmath.mpf, up: int) -> mpmath.mpf:
            return sum(v * x ** (k + up) / (k + up) for k, v in enumerate(c)) if up else sum(
                v * x**k for k, v in enumerate(c))  # fmt: skip

        def first(x: mpmath.mpf) -> mpmath.mpf:
            return sum(v * x ** (k + 2) / (k + 2) for k, v in enumerate(c))

        for i, (x0, y0, b) in enumerate(rows):
            x1, y1, _ = rows[(i + 1) % len(rows)]
            p, q = mpmath.mpc(x0, y0), mpmath.mpc(x1, y1)
            turn = 4 * mpmath.atan(mpmath.mpf(b))
            if b:
                centre = (p + q) / 2 + 1j * (q - p) / 2 / mpmath.tan(turn / 2)

                @cache  # the same places serve all three integrals
                def at(s: mpmath.mpf, c=centre, p=p, t=turn) -> tuple[mpmath.mpc, mpmath.mpc]:
                    ray = (p - c) * mpmath.expj(s * t)
                    return c + ray, 1j * t * ray
            else:

                @cache  # the same places serve all three integrals
                def at(s: mpmath.mpf, p=p, q=q) -> tuple[mpmath.mpc, mpmath.mpc]:
                    return p + s * (q - p), q - p

            def along(s: mpmath.mpf, which: int, at=at) -> mpmath.mpf:
                z, d = at(s)
                if which == 0:
                    return weight(z.real, 1) * d.imag
                if which == 1:
                    return first(z.real) * d.imag
                return -weight(z.real, 0) * z.imag**2 / 2 * d.real

            stops = [0, mpmath.mpf(1) / 3, mpmath.mpf(2) / 3, 1]
            sums = [total + mpmath.quad(lambda s, w=w: along(s, w), stops) for w, total in enumerate(sums)]
        return tuple(float(s) for s in sums)  # type: ignore[return-value]


def held(rows: list[tuple[float, float, float]], polynomial: tuple[float, ...]) -> float:
    """Hold `weighted` against mpmath; return the largest miss as a share of what the box could hold."""
    v = np.array(rows)
    got = weighted(boundary(v[:, :2], np.roll(v[:, :2], -1, axis=0), v[:, 2]), polynomial)
    wanted = exactly(rows, polynomial)
    low, high = v[:, :2].min(axis=0) - 50, v[:, :2].max(axis=0) + 50
    far = float(np.abs([low, high]).max())
    size = max(abs(c) * far**k for k, c in enumerate(polynomial))
    box = float(np.prod(high - low)) * size
    return max(abs(g - w) / s for g, w, s in zip(got, wanted, (box, box * far, box * far), strict=True))


DEGREES = (0.001, 1, 30, 90, 179, 180, 181, 270, 330, 350)
POLYNOMIALS = ((2.0,), (3.0, -0.02), (7.0, 0.05, -0.001))


@repeated
@pytest.mark.parametrize(("degrees", "polynomial"), share(itertools.product(DEGREES, POLYNOMIALS), 8))
def test_arcs_of_all_angles(degrees: float, polynomial: tuple[float, ...]) -> None:
    """A segment under an arc on a chord of 20 mm, leaning."""
    b = math.tan(math.radians(degrees) / 4)
    miss = held([(-15.0, 3.0, b), (-32.0, -7.0, 0.0)], polynomial)
    print(f"{degrees} degrees: {miss:.1e}")
    assert miss < TOLERANCE


@repeated
@pytest.mark.parametrize("seed", range(often(12, 3)))
def test_random_chains(seed: int) -> None:
    rng = np.random.default_rng(seed)
    n = int(rng.integers(3, 9))
    angle = np.sort(rng.uniform(0, 2 * np.pi, n))
    radius = rng.uniform(10, 60, n)
    bulges = np.where(rng.random(n) < 0.3, 0.0, rng.uniform(-0.6, 1.5, n))
    rows = [
        (float(r * np.cos(a)), float(r * np.sin(a)), float(b)) for r, a, b in zip(radius, angle, bulges, strict=True)
    ]
    polynomial = tuple(float(v) for v in rng.normal(size=3) * [1, 0.05, 0.002])
    miss = held(rows, polynomial[: int(rng.integers(1, 4))])
    print(f"seed {seed}: {miss:.1e}")
    assert miss < TOLERANCE


@cases("far", [0.0, 100.0, -1e3, 1e5])
def test_a_disc_far_from_the_origin(far: float) -> None:
    """Two half circles of radius r about (a, b): integral of x is A a, of x^2 is A (a^2 + r^2 / 4), of x^3 A (a^3 +
    3 a r^2 / 4)."""
    r, a, b = 7.0, far + 3.0, 4.0 - far
    rows = np.array([[a - r, b, 1.0], [a + r, b, 1.0]])
    area = math.pi * r * r
    got = weighted(boundary(rows[:, :2], rows[::-1, :2], rows[:, 2]), (1.0, 0.5, 0.25))
    squares, cubes = area * (a * a + r * r / 4), area * (a**3 + 3 * a * r * r / 4)
    whole, x = area + area * a / 2 + squares / 4, area * a + squares / 2 + cubes / 4
    misses = [got[0] / whole - 1, got[1] / x - 1, got[2] / (whole * b) - 1]
    print(f"{far:g} mm away: {max(map(abs, misses)):.1e}")
    assert max(map(abs, misses)) < (1e-12 if abs(far) <= 1e3 else 1e-9)


def test_a_rectangle() -> None:
    """x from a to b, y from c to d: (b^(k+1) - a^(k+1)) / (k + 1) times the height."""
    rows = np.array([[-110.0, 2], [-5, 2], [-5, 27], [-110, 27]])
    got = weighted(boundary(rows, np.roll(rows, -1, axis=0), np.zeros(4)), (5.0, 0.1, -0.002))
    m = [25 * ((-5.0) ** (k + 1) - (-110.0) ** (k + 1)) / (k + 1) for k in range(4)]
    whole, x = 5 * m[0] + 0.1 * m[1] - 0.002 * m[2], 5 * m[1] + 0.1 * m[2] - 0.002 * m[3]
    assert got == pytest.approx((whole, x, whole * 14.5), rel=1e-13)
    turned = weighted(boundary(np.roll(rows, -1, axis=0)[::-1], rows[::-1], np.zeros(4)), (5.0, 0.1, -0.002))
    assert turned == pytest.approx(tuple(-g for g in got), rel=1e-13)
