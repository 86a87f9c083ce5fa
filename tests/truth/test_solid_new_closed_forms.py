"""Uneven grinds, plunge lines, tapered tangs, swelling handles and blocks against closed forms and other integrals."""

from __future__ import annotations

import itertools
import math

import mpmath
import numpy as np
import pytest
from scipy.integrate import quad

from blankwright.geometry.outline import Outline
from blankwright.solid.blade import Plunge, Taper, ground_blade
from blankwright.solid.handlebodies import Swell, block, scales
from blankwright.solid.section import Bevels, integrals
from blankwright.solid.steel import steel, tang_behind
from rooms.every import cases
from truth.ground_by_hand import halves, step_out

SOURCE = (
    "Any handbook of mechanics: triangle, trapezoid, frustum of a prism, parabolic segment 2/3 of its rectangle, "
    "ellipse pi a b, circular segment; integral of sqrt(r^2 - s^2) from a table of integrals; mpmath and scipy quad"
)
TOLERANCE = 1e-9
PLUNGED = 1e-8
REASON = (
    "Closed forms differ by rounding only. A plunge line under a taper: our strips end where the step would cross "
    "the bevel's ends without the taper, a hair beside; 1e-9 was reached on straight bars."
)

SHARP = Bevels("flat", None, 0.0, 15.0, None)


def bar(length: float, height: float, rear: float = -30.0) -> Outline:
    return Outline(np.array([[rear, 0, 0], [length, 0, 0], [length, height, 0], [rear, height, 0]]))


def level(thick: float) -> Taper:
    return Taper((0.0, 500.0), (thick, thick))


# ---------------------------------------------------------------- sections that are not alike on both sides


@cases("share", [0.0, 0.3, 0.5, 0.7, 1.0])
def test_an_uneven_wedge(share: float) -> None:
    """A triangle: base t at the spine, point at the edge, which lies t (1/2 - share) from the middle of the stock.

    Its centroid lies 2/3 up and two thirds of the way from the edge's plane to the middle of the spine's corners.
    """
    t, h = 2.4, 45.0
    area, about, across = (float(m[0]) for m in integrals(np.array([h]), np.array([t]), Bevels(
        "flat", None, 0.0, 15.0, None, share)))  # fmt: skip
    assert area == pytest.approx(t * h / 2, rel=TOLERANCE)
    assert about / area == pytest.approx(2 * h / 3, rel=TOLERANCE)
    edge = t * (0.5 - share)
    assert across / area == pytest.approx(edge / 3, rel=TOLERANCE, abs=1e-12)


def test_the_centre_of_a_single_bevel_bar() -> None:
    """Flat left face at -t/2: a right triangle's centroid lies a third of its base from it, -t/6 from the middle."""
    solid = ground_blade(bar(100.0, 40.0), level(3.0), Bevels("flat", None, 0.0, 15.0, None, 1.0))
    assert solid.volume_mm3 == pytest.approx(100 * 40 * 1.5, rel=TOLERANCE)
    assert solid.centre_mm == pytest.approx((50.0, 80 / 3, -3.0 / 6), rel=TOLERANCE)
    other = ground_blade(bar(100.0, 40.0), level(3.0), Bevels("flat", None, 0.0, 15.0, None, 0.0))
    assert other.centre_mm == pytest.approx((50.0, 80 / 3, 3.0 / 6), rel=TOLERANCE)


def test_wedge_with_a_blunt_edge() -> None:
    """Spine t to edge e: area h (t + e) / 2, centroid h (2 t + e) / (3 (t + e)) up; an edge left before hardening."""
    t, e, h = 2.5, 0.6, 44.0
    for share in (0.5, 0.7, 1.0):
        before = Bevels("flat", None, 0.3, 15.0, None, share).unsharpened(e)
        area, about, _ = (float(m[0]) for m in integrals(np.array([h]), np.array([t]), before))
        assert area == pytest.approx(h * (t + e) / 2, rel=TOLERANCE)
        assert about / area == pytest.approx(h * (2 * t + e) / (3 * (t + e)), rel=TOLERANCE)


def test_a_single_convex_and_a_single_hollow() -> None:
    """A box less a parabolic spandrel b h / 3; a triangle less the segment of chord 16, radius 10: 44.729522."""
    convex = integrals(np.array([30.0]), np.array([3.0]), Bevels("convex", None, 0.0, 15.0, None, 1.0))[0]
    assert float(convex[0]) == pytest.approx(90.0 - 30.0, rel=TOLERANCE)
    run = math.sqrt(256.0 - 4.0)
    hollow = integrals(np.array([run]), np.array([2.0]), Bevels("hollow", None, 0.0, 15.0, 20.0, 1.0))[0]
    assert run - float(hollow[0]) == pytest.approx(44.729522, rel=1e-7)


# ---------------------------------------------------------------- plunge lines


def squares(f: float, r: float) -> float:
    """Return the integral of (f - step)^2 over the step's length, step = r - sqrt(r^2 - s^2), from a table."""
    c = f - r
    s = r if r <= f else math.sqrt(r**2 - c**2)
    root = math.sqrt(max(r**2 - s**2, 0.0))
    return c**2 * s + c * (s * root + r**2 * math.asin(s / r)) + r**2 * s - s**3 / 3


@cases("share", [0.5, 1.0])
@cases(("at", "radius"), [(0.0, 0.4), (5.0, 1.0), (5.0, 20.0), (0.0, 60.0), (12.0, 3.0)])
def test_a_plunge_into_a_sharp_wedge(at: float, radius: float, share: float) -> None:
    """A bar L x h x t. Where the ground lies o out, each side lacks h (f - o)^2 / 2 f of its face's rectangle."""
    length, h, t = 100.0, 40.0, 3.0
    f = t * share
    deep = min(radius, f)
    full = at + math.sqrt(2 * radius * deep - deep**2)
    lost = h / (2 * f) * (squares(f, radius) + (length - full) * f**2)
    solid = ground_blade(bar(length, h), level(t), Bevels("flat", None, 0.0, 15.0, None, share), Plunge(at, radius))
    assert solid.volume_mm3 == pytest.approx(length * h * t - lost * (2 if share == 0.5 else 1), rel=TOLERANCE)


def test_a_sharp_plunge_line_leaves_a_box() -> None:
    """Ricasso 20 x 40 x 3 as it was, a wedge 80 long ahead of it."""
    solid = ground_blade(bar(100.0, 40.0), level(3.0), SHARP, Plunge(20.0, 0.0))
    assert solid.volume_mm3 == pytest.approx(20 * 40 * 3 + 80 * 40 * 1.5, rel=TOLERANCE)
    x = (20 * 40 * 3 * 10 + 80 * 40 * 1.5 * 60) / (20 * 40 * 3 + 80 * 40 * 1.5)
    y = (20 * 40 * 3 * 20 + 80 * 40 * 1.5 * 80 / 3) / (20 * 40 * 3 + 80 * 40 * 1.5)
    assert solid.centre_mm == pytest.approx((x, y, 0.0), rel=TOLERANCE)
    all_box = ground_blade(bar(50.0, 40.0), level(3.0), SHARP, Plunge(60.0, 5.0))
    assert all_box.volume_mm3 == pytest.approx(50 * 40 * 3, rel=TOLERANCE)


def by_mpmath(taper: tuple[float, float], length: float, h: float, plunge: Plunge) -> tuple[float, float]:
    """Return volume and centre x of a sharp wedge with a plunge, by mpmath with 25 digits."""
    with mpmath.workdps(25):
        r, at = mpmath.mpf(plunge.radius_mm), mpmath.mpf(plunge.at_mm)

        def t(x: mpmath.mpf) -> mpmath.mpf:
            return mpmath.mpf(taper[0]) + (mpmath.mpf(taper[1]) - mpmath.mpf(taper[0])) * x / length

        f = t(at) / 2
        deep = min(f, r)
        full = at + mpmath.sqrt(2 * r * deep - deep**2)

        def area(x: mpmath.mpf) -> mpmath.mpf:
            face, o = t(x) / 2, r - mpmath.sqrt(r**2 - (full - x) ** 2) if x < full else mpmath.mpf(0)
            return 2 * (h * face - h / (2 * face) * max(face - o, 0) ** 2)

        # the face thins along the step: its top stands out of it a little further on than the line
        meet = at
        if r > f:
            meet = mpmath.findroot(
                lambda x: t(x) / 2 - r + mpmath.sqrt(r**2 - (full - x) ** 2), at + mpmath.mpf(1) / 99
            )
        stops = sorted({mpmath.mpf(0), at, meet, full, mpmath.mpf(length)})
        ground = [s for s in stops if s >= at]
        whole = mpmath.quad(area, ground) + mpmath.quad(lambda x: h * t(x), [0, at])
        first = mpmath.quad(lambda x: area(x) * x, ground) + mpmath.quad(lambda x: h * t(x) * x, [0, at])
    return float(whole), float(first / whole)


@cases(("at", "radius"), [(5.0, 1.0), (8.0, 20.0), (3.0, 50.0)])
def test_a_plunge_into_a_tapering_wedge(at: float, radius: float) -> None:
    volume, x = by_mpmath((3.0, 1.0), 120.0, 40.0, Plunge(at, radius))
    solid = ground_blade(bar(120.0, 40.0), Taper((0.0, 120.0), (3.0, 1.0)), SHARP, Plunge(at, radius))
    print(f"{at} {radius}: {solid.volume_mm3 / volume - 1:+.1e} {solid.centre_mm[0] / x - 1:+.1e}")
    assert solid.volume_mm3 == pytest.approx(volume, rel=PLUNGED)
    assert solid.centre_mm[0] == pytest.approx(x, rel=PLUNGED)


def by_quad(h: float, t: float, length: float, bevels: Bevels, plunge: Plunge) -> tuple[float, float]:
    """Return volume and first moment along x of a bar, integrated point by point over faces drawn by hand."""
    sides = halves(np.array(h), np.array(t), bevels)
    deepest = t * max(bevels.right_share, 1 - bevels.right_share)
    _, full = step_out(np.array([plunge.at_mm]), plunge.at_mm, plunge.radius_mm, deepest)

    nodes, weights = np.polynomial.legendre.leggauss(40)

    def area(x: float) -> float:
        out = float(step_out(np.array([x]), plunge.at_mm, plunge.radius_mm, deepest)[0][0])
        total = 0.0
        for side in sides:
            stops = [0.0, float(side.foot), float(side.top), h]
            for a, b in itertools.pairwise(stops):
                if b - a < 1e-12:
                    continue
                met = [a, b]
                free = side.out_at(a + 1e-12, out) < float(side.face), side.out_at(b - 1e-12, out) < float(side.face)
                if free[0] != free[1]:
                    low, high = a, b
                    for _ in range(60):
                        half = (low + high) / 2
                        low, high = (
                            (half, high) if (side.out_at(half, out) < float(side.face)) == free[0] else (low, half)
                        )
                    met = [a, low, b]
                for p, q in itertools.pairwise(met):
                    total += sum(w * side.out_at((p + q) / 2 + (q - p) / 2 * s, out) for s, w in zip(
                        nodes.tolist(), weights.tolist(), strict=True)) * (q - p) / 2  # fmt: skip
        return total

    steps = [plunge.at_mm, full]
    for side in sides:
        step = float(side.face - side.behind)
        kinks = [one for one in (step, float(side.face)) if one < plunge.radius_mm]
        steps += [full - math.sqrt(2 * plunge.radius_mm * one - one**2) for one in kinks]
    steps = sorted({s for s in steps if plunge.at_mm <= s <= full})
    flat = area(full + 1)
    volume = plunge.at_mm * h * t + (length - full) * flat
    moment = plunge.at_mm**2 / 2 * h * t + (length**2 - full**2) / 2 * flat
    for a, b in itertools.pairwise(steps):
        # x = a + (b - a) (1 - cos) / 2: the step stands upright at one end
        def inner(angle: float, power: int, a: float = a, b: float = b) -> float:
            x = a + (b - a) * (1 - math.cos(angle)) / 2
            return area(x) * x**power * (b - a) * math.sin(angle) / 2

        volume += quad(inner, 0, math.pi, args=(0,), epsrel=1e-9, limit=40)[0]
        moment += quad(inner, 0, math.pi, args=(1,), epsrel=1e-9, limit=40)[0]
    return volume, moment / volume


@cases("bevels", [
    Bevels("flat", None, 0.3, 15.0, None), Bevels("flat", 14.0, 0.25, 12.0, None, 0.7),
    Bevels("convex", None, 0.4, 20.0, None), Bevels("convex", 20.0, 0.3, 18.0, None, 1.0),
    Bevels("hollow", 12.0, 0.3, 15.0, 300.0), Bevels("hollow", 12.0, 0.3, 15.0, 400.0, 0.6, 20.0),
])  # fmt: skip
@cases("radius", [0.8, 8.0])
def test_a_plunge_into_every_grind(bevels: Bevels, radius: float) -> None:
    volume, x = by_quad(35.0, 2.6, 90.0, bevels, Plunge(4.0, radius))
    solid = ground_blade(bar(90.0, 35.0), level(2.6), bevels, Plunge(4.0, radius))
    print(f"{bevels.kind} {radius}: {solid.volume_mm3 / volume - 1:+.1e} {solid.centre_mm[0] / x - 1:+.1e}")
    assert solid.volume_mm3 == pytest.approx(volume, rel=PLUNGED)
    assert solid.centre_mm[0] == pytest.approx(x, rel=PLUNGED)


# ---------------------------------------------------------------- behind the heel


def test_a_tapered_tang_is_a_frustum_less_its_holes() -> None:
    """Plate 100 x 20, 3 mm at the front to 1 mm at the butt; a bore of diameter d takes pi d^2 / 4 times t at its
    middle, and its centre lies slope d^2 / 16 t further toward the thick end."""
    taper = Taper((-100.0, 0.0, 50.0), (1.0, 3.0, 3.0))
    outline = bar(50.0, 20.0, -100.0)
    holes = [(-20.0, 8.0, 6.0), (-70.0, 12.0, 4.0)]
    one = steel(outline, holes, taper, SHARP, density_kg_m3=1000.0)
    volume, mx, my = 100 * 20 * 2.0, 100 * 20 * 2.0 * (-100 * (3 + 2 * 1) / (3 * (3 + 1))), 100 * 20 * 2.0 * 10
    for x, y, d in holes:
        t, area = 3 + 2 * x / 100, math.pi * d**2 / 4
        volume, mx, my = volume - area * t, mx - area * (t * x + 0.02 * d**2 / 16), my - area * t * y
    wedge = 50 * 20 * 1.5
    total = volume + wedge
    assert one.mass_g == pytest.approx(total * 1e-3, rel=TOLERANCE)
    assert one.centre_mm[0] == pytest.approx((mx + wedge * 25) / total, rel=TOLERANCE)
    assert one.centre_mm[1] == pytest.approx((my + wedge * 40 / 3) / total, rel=TOLERANCE)


def test_a_heel_thinner_than_the_stock() -> None:
    """Stock 3 mm behind x = -10, straight to 2 mm at the heel: a box and a frustum of a plate."""
    taper = Taper((-10.0, 0.0, 60.0), (3.0, 2.0, 2.0))
    one = steel(bar(60.0, 20.0, -80.0), [], taper, SHARP, density_kg_m3=1000.0)
    assert one.mass_g == pytest.approx((70 * 20 * 3 + 10 * 20 * 2.5 + 60 * 20 * 1.0) * 1e-3, rel=TOLERANCE)


def test_a_tang_behind_a_line_with_a_round_end() -> None:
    """A half disc of radius 10 at the butt of a plate; slope in thickness: moments from the list of centroids."""
    outline = Outline(np.array([[-80.0, 0, 0], [40, 0, 0], [40, 20, 0], [-80.0, 20, 1.0]]))
    taper = Taper((-90.0, 0.0), (1.2, 3.0))
    volume, mx, my = tang_behind(outline, taper, -15.0)
    k = 1.8 / 90
    box, at, spread = 65 * 20.0, -47.5, 65**2 / 12
    disc = math.pi * 50
    d = -80 - 4 * 10 / (3 * math.pi)
    second = math.pi * 10**4 / 8 - disc * (4 * 10 / (3 * math.pi)) ** 2  # about its own centroid
    expected = 3.0 * (box + disc) + k * (box * at + disc * d)
    moment = 3.0 * (box * at + disc * d) + k * (box * (at**2 + spread) + disc * d**2 + second)
    assert volume == pytest.approx(expected, rel=TOLERANCE)
    assert mx == pytest.approx(moment, rel=TOLERANCE)
    assert my == pytest.approx(expected * 10, rel=TOLERANCE)


# ---------------------------------------------------------------- handles


def test_a_palm_swell_is_a_parabola() -> None:
    """Slabs 110 x 20, 7 mm and 3 mm more in the middle: 2/3 of the rectangle over it; the centre stays."""
    plan = Outline(np.array([[-115.0, 0, 0], [-5, 0, 0], [-5, 20, 0], [-115, 20, 0]]))
    one = scales(plan, [], section="slab", swell=Swell(7.0, 3.0, -5.0, -115.0), density_kg_m3=1000.0)
    assert one.mass_g == pytest.approx(2 * 110 * 20 * (7 + 2 / 3 * 3) * 1e-3, rel=TOLERANCE)
    assert one.centre_mm == pytest.approx((-60.0, 10.0, 0.0), rel=TOLERANCE)
    # a bore of diameter d off the middle: mean of x^2 over a disc is x^2 + d^2 / 16
    bored = scales(plan, [(-20.0, 9.0, 6.0)], section="slab", swell=Swell(7.0, 3.0, -5.0, -115.0), density_kg_m3=1000.0)
    deep = 10.0 - 3.0 / 55**2 * (40.0**2 + 36 / 16)
    assert one.mass_g - bored.mass_g == pytest.approx(2 * math.pi * 9 * deep * 1e-3, rel=TOLERANCE)
    assert bored.mass_g * bored.centre_mm[0] == pytest.approx(
        one.mass_g * -60.0 - 2e-3 * math.pi * 9 * (deep * -20 - 2 * 3.0 / 55**2 * 40 * 36 / 16), rel=TOLERANCE
    )


def test_an_oval_block_is_an_elliptic_cylinder_less_its_slot() -> None:
    """Ellipse 30 x 22 over 100 mm; a tang 60 x 12 x 3 sits in it from the front, bored 4 mm through."""
    plan = Outline(np.array([[-105.0, 0, 0], [-5, 0, 0], [-5, 30, 0], [-105, 30, 0]]))
    tang = tang_behind(Outline(np.array([[-65.0, 9, 0], [40, 9, 0], [40, 21, 0], [-65, 21, 0]])), level(3.0), -5.0)
    assert tang == pytest.approx((2160.0, 2160.0 * -35, 2160.0 * 15), rel=TOLERANCE)
    even, through = Swell(22.0, 0.0, -5.0, -105.0), Swell(3.0, 0.0, 0.0, -1.0)
    whole = math.pi * 15 * 11 * 100
    bare = block(plan, tang, [], section="oval", swell=even, through=through, density_kg_m3=1000.0)
    assert bare.mass_g == pytest.approx((whole - 2160) * 1e-3, rel=TOLERANCE)
    assert bare.centre_mm == pytest.approx(((whole * -55 - 2160 * -35) / (whole - 2160), 15.0, 0.0), rel=TOLERANCE)
    bored = block(plan, tang, [(-30.0, 15.0, 4.0)], section="oval", swell=even, through=through, density_kg_m3=1000.0)
    assert bare.mass_g - bored.mass_g == pytest.approx(math.pi * 4 * (22 - 3) * 1e-3, rel=TOLERANCE)


def test_a_block_that_tapers_in_height_and_swells() -> None:
    """Height h(x) and width w(x) along the block: pi / 4 of the integral of their product, by mpmath."""
    plan = Outline(np.array([[-105.0, 0, 0], [-5, 3, 0], [-5, 28, 0], [-105, 31, 0]]))
    one = block(plan, (0.0, 0.0, 0.0), [], section="oval", swell=Swell(20.0, 6.0, -5.0, -105.0),
                through=Swell(3.0, 0.0, 0.0, -1.0), density_kg_m3=1000.0)  # fmt: skip

    def slice_of(x: mpmath.mpf) -> mpmath.mpf:
        v = (x + 55) / 50
        return mpmath.pi / 4 * (31 - 6 * (x + 105) / 100) * (20 + 6 * (1 - v**2))

    whole = mpmath.quad(slice_of, [-105, -5])
    assert one.mass_g == pytest.approx(float(whole) * 1e-3, rel=TOLERANCE)
    assert one.centre_mm[0] == pytest.approx(
        float(mpmath.quad(lambda x: slice_of(x) * x, [-105, -5]) / whole), rel=TOLERANCE
    )


def test_a_tang_that_bends_three_times() -> None:
    """Four frustums of plates one behind the other: 1, 1.5, 3.2, 2.5 and 2 mm at x = -100, -70, -40, -15 and 0."""
    x, t = (-100.0, -70.0, -40.0, -15.0, 0.0, 50.0), (1.0, 1.5, 3.2, 2.5, 2.0, 2.0)
    one = steel(bar(50.0, 20.0, -100.0), [], Taper(x, t), SHARP, density_kg_m3=1000.0)
    volume, mx = 50 * 20 * 1.0, 50 * 20 * 1.0 * 25
    for (a, b), (p, q) in zip(itertools.pairwise(x[:-1]), itertools.pairwise(t[:-1]), strict=True):
        area, at = trapezoid(p, q, b - a)
        volume, mx = volume + area * 20, mx + area * 20 * (a + at)
    assert one.mass_g == pytest.approx(volume * 1e-3, rel=TOLERANCE)
    assert one.centre_mm[0] == pytest.approx(mx / volume, rel=TOLERANCE)


def trapezoid(a: float, b: float, length: float) -> tuple[float, float]:
    """Return area and centroid (from side a) of a trapezoid."""
    return length * (a + b) / 2, length * (a + 2 * b) / (3 * (a + b))
