"""The figures that the geometry tests share, and that they are what their formulas say."""

from __future__ import annotations

import math
from functools import cache

import numpy as np
import pytest

from blankwright.base.errors import GeometryError
from blankwright.geometry.arcfit import fit_arcs
from blankwright.geometry.outline import Outline
from blankwright.geometry.spline import Spline

SHARPEST_DEG = 170.0
"""Random outlines with sharper corners are passed over: arcs so close together often cross."""


def fitted(curve, degree, spans):
    """Return the spline nearest to curve(share) -> (m, 2), by least squares on 40 points a span."""
    t, inverse = nearest_points(degree, spans)
    return Spline(inverse @ curve(t / spans), degree)


@cache
def nearest_points(degree, spans):
    """Return places along a spline, and the matrix that makes the points of the nearest spline of what is there."""
    count = spans + degree
    blank = Spline(np.zeros((count, 2)), degree)
    t = np.linspace(0, spans, 40 * spans + 1)
    system = np.zeros((len(t), count))
    for i, at in enumerate(t):
        first, weights = blank.row(float(at))
        system[i, first : first + degree + 1] = weights
    return t, np.linalg.solve(system.T @ system, system.T)  # its condition is 13: nothing is lost by the square


def ellipse(share, a=100.0, b=20.0):
    angle = 2 * np.pi * share
    return np.stack([a * np.cos(angle), b * np.sin(angle)], axis=1)


def closed_by_arcs(spline, tol_mm, parts=4):
    """Return a closed spline as an outline of arcs."""
    chain = fit_arcs(spline, tuple(np.linspace(0, spline.spans, parts + 1)), tol_mm)
    return Outline(np.column_stack([chain.points[:-1], chain.bulges]), max_error_mm=chain.max_error_mm)


def closed_by_support(rng, tol_mm):
    """Return a smooth convex outline from a random support function, and its smallest radius [mm].

    With h the distance of the tangent from the origin, h + h'' is the radius of curvature; it stays positive.
    """
    waves = np.arange(2, 5)
    size = rng.uniform(20, 60)
    swing = rng.uniform(-1, 1, 3) * 0.8 * size / (3 * (waves**2 - 1))
    phase = rng.uniform(0, 2 * np.pi, 3)

    def curve(share):
        angle = 2 * np.pi * share
        turn = np.multiply.outer(angle, waves) + phase
        h = size + np.cos(turn) @ swing
        slope = -np.sin(turn) @ (swing * waves)
        c, s = np.cos(angle), np.sin(angle)
        return np.stack([h * c - slope * s, h * s + slope * c], axis=1)

    angle = np.linspace(0, 2 * np.pi, 2001)
    radius = size - np.cos(np.multiply.outer(angle, waves) + phase) @ (swing * (waves**2 - 1))
    return closed_by_arcs(fitted(curve, 5, 60), tol_mm), float(radius.min())


def slot(length=160.0, radius=20.0):
    x = length / 2
    return Outline(np.array([[-x, -radius, 0], [x, -radius, 1], [x, radius, 0], [-x, radius, 1]]))


def box(width, height):
    return Outline(np.array([[0, 0, 0], [width, 0, 0], [width, height, 0], [0, height, 0]], dtype=float))


def notched(width, depth, bulge=0.0):
    """Return a bar 60 x 20 with a notch in the middle of its top; bulge -1 rounds the bottom."""
    r, l_ = 30 + width / 2, 30 - width / 2
    return Outline(
        np.array([
            [0, 0, 0], [60, 0, 0], [60, 20, 0], [r, 20, 0], [r, 20 - depth, bulge], [l_, 20 - depth, 0],
            [l_, 20, 0], [0, 20, 0],
        ])
    )  # fmt: skip


def pocketed(radius=6.0, mouth=3.0):
    """Return a bar 60 x 20 with a round pocket in its top that is wider inside than at its mouth."""
    angle = 2 * math.pi - 2 * math.asin(mouth / 2 / radius)
    r, l_ = 30 + mouth / 2, 30 - mouth / 2
    return Outline(
        np.array([
            [0, 0, 0], [60, 0, 0], [60, 20, 0], [r, 20, -math.tan(angle / 4)], [l_, 20, 0], [0, 20, 0],
        ])
    )  # fmt: skip


def star(seed):
    """Return a random outline of lines and arcs about the origin, or None when the draw crosses itself."""
    import shapely

    rng = np.random.default_rng(seed)
    n = int(rng.integers(3, 14))
    angle = np.sort(rng.uniform(0, 2 * np.pi, n))
    radius = rng.uniform(8, 60, n)
    bulge = rng.uniform(-0.5, 0.9, n) * (rng.random(n) < 0.6)
    if np.diff(np.append(angle, angle[0] + 2 * np.pi)).max() > 2.8:
        return None
    outline = Outline(np.column_stack([2 * radius * np.cos(angle), radius * np.sin(angle), bulge]))
    return outline if _sound(outline, shapely) else None


def comb(seed):
    """Return a random bar with teeth and gaps at a random angle, or None when it crosses itself."""
    import shapely

    rng = np.random.default_rng(seed)
    teeth = int(rng.integers(2, 6))
    width, gap, height, base = rng.uniform(3, 20), rng.uniform(2, 15), rng.uniform(5, 40), rng.uniform(5, 20)
    rows = []
    x = 0.0
    for i in range(teeth):
        rows += [[x, base + height, (0.0, -1.0, -0.3)[rng.integers(3)]], [x + width, base + height, 0.0]]
        x += width
        if i < teeth - 1:
            rows += [[x, base, (0.0, 1.0, 0.4)[rng.integers(3)]], [x + gap, base, 0.0]]
            x += gap
    rows += [[x, 0.0, 0.0], [0.0, 0.0, 0.0]]
    turn = rng.choice([0.0, rng.uniform(0, 2 * np.pi)])
    v = np.array(rows)
    c, s = np.cos(turn), np.sin(turn)
    v[:, :2] = v[:, :2] @ np.array([[c, s], [-s, c]])
    outline = Outline(v).reversed()
    return outline if _sound(outline, shapely) else None


def _sound(outline, shapely):
    blunt = np.abs(outline.corner_angles_deg).max() < SHARPEST_DEG
    return outline.area_mm2 > 0 and blunt and shapely.Polygon(outline.flattened(1e-4)).is_valid


def drawn(make, first, count):
    """Return `count` outlines with their seeds, from a seed upward."""
    found = []
    seed = first
    while len(found) < count:
        outline = make(seed)
        if outline is not None:
            found.append((seed, outline))
        seed += 1
    return found


def chef():
    """Return the shipped chef family, solved for its own proportions."""
    from blankwright.design.family import load_family
    from blankwright.design.solve import solve_shape

    return solve_shape(load_family("chef"), "full", {})


def test_the_fitted_ellipse_is_the_ellipse():
    s = fitted(ellipse, 5, 80)
    p = s.at(np.linspace(0, 80, 3001))
    # |F| / |grad F| is the distance to first order; the least-squares fit leaves 1e-9 mm
    f = (p[:, 0] / 100) ** 2 + (p[:, 1] / 20) ** 2 - 1
    gradient = 2 * np.hypot(p[:, 0] / 100**2, p[:, 1] / 20**2)
    assert np.abs(f / gradient).max() < 1e-8


def test_shared_outlines_have_the_sizes_in_their_names():
    assert slot().size_mm == pytest.approx((200, 40))
    assert box(40, 10).area_mm2 == pytest.approx(400)
    assert notched(4, 10).area_mm2 == pytest.approx(1200 - 40)
    assert notched(4, 10, -1.0).area_mm2 == pytest.approx(1200 - 40 - math.pi * 2**2 / 2)
    # the disc less the segment that the mouth cuts off: r^2/2 (2 a - sin 2 a), sin a = mouth / 2 r
    a = math.asin(1.5 / 6)
    assert pocketed().area_mm2 == pytest.approx(1200 - (36 * math.pi - 18 * (2 * a - math.sin(2 * a))))


def test_support_outlines_are_convex():
    outline, least_radius = closed_by_support(np.random.default_rng(3), 1e-3)
    assert (outline.bulges > 0).all()
    assert least_radius > 0
    assert 1 / outline.curvatures.max() == pytest.approx(least_radius, rel=0.03)


@pytest.mark.parametrize("make", [star, comb])
def test_random_outlines_run_counter_clockwise(make):
    found = drawn(make, 0, 30)
    assert all(outline.area_mm2 > 0 for _, outline in found)


def test_a_bad_outline_is_refused():
    with pytest.raises(GeometryError, match="no length"):
        Outline(np.array([[0.0, 0, 0], [0, 0, 0], [1, 1, 0]]))
