"""Ground bars and blades against handbook forms, and against integrals taken by other libraries."""

from __future__ import annotations

import itertools
import math

import mpmath
import numpy as np
import pytest
from scipy.integrate import quad

from blankwright.geometry.outline import Outline
from blankwright.solid.blade import Taper, ground_blade
from blankwright.solid.section import Bevels, integrals
from rooms.every import cases

SOURCE = (
    "Machinery's Handbook, 31st ed., p. 79 (circular segments: chord 16, height 6, radius 8 1/3; radius 60, height 8, "
    "chord 59.86) and its table of areas; circular segment, parabolic spandrel and semi-parabola in the public list of "
    "centroids (radius 10, height 4: area 44.729522; chord 21, height 6: area 89.254148); scipy quad and mpmath quad"
)
TOLERANCE = 1e-6
FINE = 1e-8
REASON = (
    "Closed forms differ by rounding only; printed areas carry eight digits, so 1e-6. Blades against quad: 1e-8, far "
    "above rounding and far below a hundredth of a gram."
)


def section(height: float, spine: float, bevels: Bevels) -> tuple[float, float]:
    area, moment, _ = integrals(np.array([height]), np.array([spine]), bevels)
    return float(area[0]), float(moment[0]) / float(area[0])


def bar(length: float, height: float) -> Outline:
    corners = [[-30.0, 0, 0], [length, 0, 0], [length, height, 0], [-30.0, height, 0]]
    return Outline(np.array(corners))


def trapezoid(a: float, b: float, length: float) -> tuple[float, float]:
    """Return area and centroid (from side a) of a trapezoid."""
    return length * (a + b) / 2, length * (a + 2 * b) / (3 * (a + b))


# ---------------------------------------------------------------- sections


@cases(("spine", "behind", "height"), [(2.5, 0.0, 45.0), (3.0, 0.3, 48.0), (1.2, 1.2, 20.0)])
def test_full_flat_is_a_trapezoid_on_a_triangle(spine: float, behind: float, height: float) -> None:
    """t 2.5, e 0, h 45: 56.25 mm2, 30 mm above the edge."""
    angle = 20.0
    b = behind / (2 * math.tan(math.radians(angle)))
    upper, above = trapezoid(behind, spine, height - b)
    expected = upper + behind * b / 2
    centre = (upper * (b + above) + behind * b / 2 * 2 * b / 3) / expected
    assert section(height, spine, Bevels("flat", None, behind, angle, None)) == pytest.approx(
        (expected, centre), rel=TOLERANCE
    )
    if behind == 0.0:
        assert (expected, centre) == pytest.approx((56.25, 30.0))


@cases(("chord", "height", "radius", "area"), [
    (16.0, 4.0, 10.0, 44.729522), (21.0, 6.0, 12.1875, 89.254148), (16.0, 6.0, 25 / 3, None),
    (59.8665, 8.0, 60.0, None),
])  # fmt: skip
def test_a_hollow_takes_the_printed_segment_off_each_side(
    chord: float, height: float, radius: float, area: float | None
) -> None:
    """The segment's centroid lies 4 r sin^3 a / 3 (2 a - sin 2 a) from the wheel's centre (list of centroids)."""
    rise = 2.0
    run = math.sqrt(chord**2 - rise**2)
    alpha = math.asin(chord / 2 / radius)
    assert radius * (1 - math.cos(alpha)) == pytest.approx(height, rel=1e-5)
    exact = radius**2 / 2 * (2 * alpha - math.sin(2 * alpha))
    flat, flat_at = section(run, 2 * rise, Bevels("flat", None, 0.0, 15.0, None))
    ground, ground_at = section(run, 2 * rise, Bevels("hollow", None, 0.0, 15.0, 2 * radius))
    assert (flat - ground) / 2 == pytest.approx(area or exact, rel=TOLERANCE)
    from_centre = 4 * radius * math.sin(alpha) ** 3 / (3 * (2 * alpha - math.sin(2 * alpha)))
    # the middle of the chord is run / 2 up; the segment's centroid lies off the chord, along its normal (-rise, run)
    up = run / 2 + (from_centre - radius * math.cos(alpha)) * rise / chord
    assert (flat * flat_at - ground * ground_at) / (flat - ground) == pytest.approx(up, rel=TOLERANCE)


def test_a_wide_wheel_grinds_flat_in_the_end() -> None:
    flat = section(40.0, 3.0, Bevels("flat", None, 0.3, 15.0, None))
    nearly = section(40.0, 3.0, Bevels("hollow", None, 0.3, 15.0, 2e10))
    assert nearly == pytest.approx(flat, rel=TOLERANCE)
    # sagitta law for shallow arcs: segment area = 2/3 chord * chord^2 / 8 r
    shallow = section(20.0, 4.0, Bevels("hollow", None, 0.0, 15.0, 2000.0))[0]
    assert 40.0 - shallow == pytest.approx(2 * 2 / 3 * (20**2 + 2**2) ** 1.5 / 8000, rel=1e-4)


def test_series_and_exact_segment_meet() -> None:
    """The two ways of reckoning a shallow segment must agree where one takes over from the other."""
    chord = math.hypot(30.0, 1.5)
    for half in (0.0199999, 0.0200001):
        wheel = chord / math.sin(half)
        got = 45.0 - section(30.0, 3.0, Bevels("hollow", None, 0.0, 15.0, wheel))[0]
        with mpmath.workdps(40):
            r, a = mpmath.mpf(wheel) / 2, mpmath.asin(mpmath.mpf(chord) / mpmath.mpf(wheel))
            exact = 2 * r**2 * (a - mpmath.sin(a) * mpmath.cos(a))
        assert got == pytest.approx(float(exact), rel=TOLERANCE)


def test_convex_is_a_semi_parabola_on_each_side() -> None:
    """Between y = h (x / b)^2, its axis and y = h: area 2 b h / 3, 3/8 of b from the axis.

    The axis of each flank lies at the spine, where the bevel runs out parallel to the blade.
    """
    area, centre = section(30.0, 3.0, Bevels("convex", None, 0.0, 15.0, None))
    assert area == pytest.approx(2 * 2 * 30.0 * 1.5 / 3, rel=TOLERANCE)
    assert centre == pytest.approx(30.0 - 3 / 8 * 30.0, rel=TOLERANCE)
    # the same as a box less two parabolic spandrels: b h / 3 each, 3/4 of b from their points
    assert area == pytest.approx(30.0 * 3.0 - 2 * 30.0 * 1.5 / 3, rel=TOLERANCE)
    assert area * centre == pytest.approx(90.0 * 15.0 - 30.0 * (30.0 - 3 / 4 * 30.0), rel=TOLERANCE)


def test_ground_to_a_line() -> None:
    """Wedge 12 high under a box 28 high."""
    area, centre = section(40.0, 3.0, Bevels("flat", 12.0, 0.0, 15.0, None))
    assert area == pytest.approx(18.0 + 84.0, rel=TOLERANCE)
    assert centre == pytest.approx((18.0 * 8.0 + 84.0 * 26.0) / 102.0, rel=TOLERANCE)


def test_a_grind_line_above_the_spine_is_full_height() -> None:
    for kind, wheel in (("flat", None), ("convex", None), ("hollow", 900.0)):
        full = section(25.0, 2.0, Bevels(kind, None, 0.2, 15.0, wheel))
        assert section(25.0, 2.0, Bevels(kind, 60.0, 0.2, 15.0, wheel)) == full


def test_lower_than_the_edge_bevel_only_a_triangle_is_left() -> None:
    bevels = Bevels("flat", None, 0.6, 15.0, None)
    area, centre = section(0.5, 1.0, bevels)
    assert area == pytest.approx(0.5**2 * math.tan(math.radians(15.0)), rel=TOLERANCE)
    assert centre == pytest.approx(1 / 3, rel=TOLERANCE)


# ---------------------------------------------------------------- bars along their length


def test_a_bar_without_bevel() -> None:
    """Flat bar 40 x 5 mm weighs 1.57 kg for a metre (published bar table; 0.00785 kg per mm2 and m)."""
    solid = ground_blade(bar(1000.0, 40.0), Taper((0.0, 1000.0), (5.0, 5.0)), Bevels("flat", 1e-9, 5.0, 60.0, None))
    lost = 2 * (2.5 / math.tan(math.radians(60.0))) * 2.5 / 2 * 1000.0  # edge bevel: a triangle off each side
    assert solid.volume_mm3 == pytest.approx(200_000.0 - lost, rel=TOLERANCE)
    blunt = ground_blade(bar(1000.0, 40.0), Taper((0.0, 1000.0), (5.0, 5.0)), Bevels("flat", 1e-9, 0.0, 15.0, None))
    assert blunt.volume_mm3 * 7850e-6 == pytest.approx(1570.0, rel=TOLERANCE)
    assert blunt.centre_mm == pytest.approx((500.0, 20.0, 0.0), rel=TOLERANCE)


def test_a_wedge_tapering_along_its_length() -> None:
    """Full flat to a sharp edge, spine 3 to 1 mm over 120 mm: sections are triangles, t(x) h / 2."""
    solid = ground_blade(bar(120.0, 45.0), Taper((0.0, 120.0), (3.0, 1.0)), Bevels("flat", None, 0.0, 15.0, None))
    plan, from_heel = trapezoid(3.0, 1.0, 120.0)
    assert solid.volume_mm3 == pytest.approx(plan * 45.0 / 2, rel=TOLERANCE)
    assert solid.centre_mm == pytest.approx((from_heel, 30.0, 0.0), rel=TOLERANCE)


def test_a_taper_with_a_break() -> None:
    solid = ground_blade(
        bar(120.0, 40.0), Taper((0.0, 70.0, 120.0), (3.25, 2.5, 1.0)), Bevels("flat", None, 0.0, 15.0, None)
    )
    (first, at), (second, then) = trapezoid(3.25, 2.5, 70.0), trapezoid(2.5, 1.0, 50.0)
    assert solid.volume_mm3 == pytest.approx((first + second) * 20.0, rel=TOLERANCE)
    assert solid.centre_mm[0] == pytest.approx((first * at + second * (70 + then)) / (first + second), rel=TOLERANCE)


def test_the_spine_stays_as_it_is_beyond_a_taper_that_ends_early() -> None:
    solid = ground_blade(bar(120.0, 40.0), Taper((20.0, 70.0), (3.0, 2.0)), Bevels("flat", None, 0.0, 15.0, None))
    assert solid.volume_mm3 == pytest.approx((20 * 3.0 + 50 * 2.5 + 50 * 2.0) * 20.0, rel=TOLERANCE)


def test_a_triangular_blade_is_a_prismoid() -> None:
    """Height falls from 40 to 0 and the wedge's spine from 3 to 1: quadratic sections, exact by the prismoidal rule."""
    outline = Outline(np.array([[-30.0, 0, 0], [0.0, 0, 0], [100.0, 0, 0], [0.0, 40.0, 0], [-30.0, 40.0, 0]]))
    solid = ground_blade(outline, Taper((0.0, 100.0), (3.0, 1.0)), Bevels("flat", None, 0.0, 15.0, None))
    assert solid.volume_mm3 == pytest.approx(100 / 6 * (40 * 3 / 2 + 4 * 20 * 2 / 2 + 0), rel=TOLERANCE)


# ---------------------------------------------------------------- round tips by other libraries' integrals

ROUND = Outline(np.array([[-20.0, 0, 0], [100.0, 0, 1.0], [100.0, 30.0, 0], [-20.0, 30.0, 0]]))
SPINE_MM = (2.5, 1.0)
CASES = {
    "flat": Bevels("flat", None, 0.0, 15.0, None),
    "flat to a line": Bevels("flat", 12.0, 0.3, 15.0, None),
    "convex to a line": Bevels("convex", 12.0, 0.3, 18.0, None),
    "hollow to a line": Bevels("hollow", 8.0, 0.3, 15.0, 300.0),
}


def thickness_of(u: float, height: float, spine: float, bevels: Bevels) -> float:
    """Return the thickness u above the edge, written anew from the words of the trade."""
    e, slope = bevels.behind_edge_mm, math.tan(math.radians(bevels.edge_angle_deg))
    foot = min(e / 2 / slope, height)
    top = height if bevels.height_mm is None else min(max(bevels.height_mm, foot), height)
    if u <= foot and e > 0:
        return 2 * u * slope
    if u >= top:
        return spine
    share = (u - foot) / (top - foot)
    if bevels.kind == "convex":
        return spine - (spine - e) * (1 - share) ** 2
    if bevels.kind == "flat":
        return e + (spine - e) * share
    assert bevels.wheel_mm is not None
    p, q = complex(foot, e / 2), complex(top, spine / 2)
    r = bevels.wheel_mm / 2
    # the wheel's centre: off the chord's middle along its left normal, outside the steel
    centre = (p + q) / 2 + 1j * (q - p) / abs(q - p) * math.sqrt(r**2 - abs(q - p) ** 2 / 4)
    return 2 * (centre.imag - math.sqrt(r**2 - (u - centre.real) ** 2))


def area_of(height: float, spine: float, bevels: Bevels) -> float:
    foot = min(bevels.behind_edge_mm / 2 / math.tan(math.radians(bevels.edge_angle_deg)), height)
    top = height if bevels.height_mm is None else min(bevels.height_mm, height)
    stops = sorted({0.0, foot, top, height})
    return sum(
        quad(lambda u: thickness_of(u, height, spine, bevels), a, b, epsabs=1e-13, epsrel=1e-12)[0]
        for a, b in itertools.pairwise(stops)
        if b - a > 1e-12
    )


@cases("name", CASES)
def test_a_blade_with_a_round_tip(name: str) -> None:
    """A rectangle 100 long and a half disc of radius 15 at its end; quad over both, split where the grind runs out."""
    bevels = CASES[name]
    solid = ground_blade(ROUND, Taper((0.0, 115.0), SPINE_MM), bevels)

    def spine(x: float) -> float:
        return SPINE_MM[0] + (SPINE_MM[1] - SPINE_MM[0]) * x / 115.0

    def at(angle: float, power: int) -> float:
        x = 100 + 15 * math.sin(angle)
        return area_of(30 * math.cos(angle), spine(x), bevels) * 15 * math.cos(angle) * x**power

    foot = bevels.behind_edge_mm / 2 / math.tan(math.radians(bevels.edge_angle_deg))
    turns = [math.acos(h / 30) for h in (bevels.height_mm, foot) if h]
    stops = [0.0, *turns, math.pi / 2]
    sums = []
    for power in (0, 1):
        total = quad(lambda x, p=power: area_of(30.0, spine(x), bevels) * x**p, 0, 100, epsrel=1e-11)[0]
        for a, b in itertools.pairwise(stops):
            total += quad(lambda s, p=power: at(s, p), a, b, epsrel=1e-10, epsabs=1e-10)[0]
        sums.append(total)
    assert solid.volume_mm3 == pytest.approx(sums[0], rel=FINE)
    assert solid.centre_mm[0] == pytest.approx(sums[1] / sums[0], rel=FINE)


def test_a_sharp_half_disc_to_many_digits() -> None:
    """Flat to no thickness: the volume is the integral of t(x) h(x) / 2, by mpmath with 30 digits."""
    solid = ground_blade(ROUND, Taper((0.0, 115.0), SPINE_MM), CASES["flat"])
    with mpmath.workdps(30):

        def spine(x: mpmath.mpf) -> mpmath.mpf:
            return mpmath.mpf("2.5") - mpmath.mpf("1.5") * x / 115

        tip = mpmath.quad(lambda s: spine(100 + 15 * mpmath.sin(s)) * 225 * mpmath.cos(s) ** 2, [0, mpmath.pi / 2])
        whole = mpmath.quad(lambda x: spine(x) * 15, [0, 100]) + tip
    assert solid.volume_mm3 == pytest.approx(float(whole), rel=1e-11)
