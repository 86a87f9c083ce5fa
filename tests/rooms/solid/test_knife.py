"""The finished knife as a sum of bodies."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.special import gamma

from blankwright.geometry.outline import Outline
from blankwright.solid.blade import Taper
from blankwright.solid.bodies import Body, together
from blankwright.solid.handlebodies import SECTIONS, Swell, pin, scales, section_share
from blankwright.solid.mass import flat_blank
from blankwright.solid.section import Bevels
from blankwright.solid.steel import steel
from rooms.design.cases import KINDS, solved
from rooms.every import cases

EVEN = Swell(8.0, 0.0, 0.0, -100.0)
BOX = Outline(np.array([[-100.0, 0, 0], [0.0, 0, 0], [0.0, 20, 0], [-100.0, 20, 0]]))


def test_bodies_add_up_about_their_common_centre() -> None:
    whole = together([Body(30.0, (0.0, 0.0, 0.0)), Body(10.0, (40.0, 8.0, -4.0))])
    assert whole == Body(40.0, (10.0, 2.0, -1.0))
    one = Body(12.5, (1.0, 2.0, 3.0))
    assert together([one]) == one
    assert together([one, Body(0.0, (900.0, 900.0, 900.0))]) == one


def test_the_order_of_bodies_does_not_matter() -> None:
    parts = [Body(3.0, (1.0, 5.0, 0.0)), Body(7.0, (-60.0, 20.0, 0.0)), Body(110.0, (80.0, 25.0, 0.0))]
    a, b = together(parts), together(parts[::-1])
    nested = together([together(parts[:2]), parts[2]])
    for other in (b, nested):
        assert other.mass_g == pytest.approx(a.mass_g)
        assert other.centre_mm == pytest.approx(a.centre_mm)


@cases("section", SECTIONS)
def test_the_share_of_a_section(section: str) -> None:
    """Quarter of a superellipse, integrated as it is written."""
    n = SECTIONS[section]
    share = 1.0 if math.isinf(n) else quad(lambda y: (1 - y**n) ** (1 / n), 0, 1, epsabs=1e-12)[0]
    assert section_share(section) == pytest.approx(share, rel=1e-8)


def test_shares_by_other_means() -> None:
    assert section_share("slab") == 1.0
    assert section_share("oval") == pytest.approx(math.pi / 4, rel=1e-12)
    # any table of plane curves: squircle of half axis 1 encloses Gamma(1/4)^2 / (2 sqrt(pi)), about 3.708149
    assert 4 * section_share("rounded") == pytest.approx(gamma(0.25) ** 2 / (2 * math.sqrt(math.pi)), rel=1e-12)
    assert 4 * section_share("rounded") == pytest.approx(3.708149, rel=1e-6)


def test_a_pair_of_slabs_less_their_holes() -> None:
    whole = scales(BOX, [], section="slab", swell=EVEN, density_kg_m3=600.0)
    assert whole.mass_g == pytest.approx(100 * 20 * 8 * 2 * 600e-6)
    assert whole.centre_mm == pytest.approx((-50.0, 10.0, 0.0))
    bored = scales(BOX, [(-20.0, 10.0, 6.0)], section="slab", swell=EVEN, density_kg_m3=600.0)
    bore = math.pi * 9
    assert bored.mass_g == pytest.approx((2000 - bore) * 16 * 600e-6)
    assert bored.centre_mm[0] == pytest.approx((2000 * -50 - bore * -20) / (2000 - bore))
    # hole through an oval scale: the wood left is the oval's share less the whole bore, to first order in the bore
    oval = scales(BOX, [(-20.0, 10.0, 6.0)], section="oval", swell=EVEN, density_kg_m3=600.0)
    assert oval.mass_g == pytest.approx((2000 * math.pi / 4 - bore) * 16 * 600e-6)


def test_a_bore_through_an_oval_scale_by_integration() -> None:
    """Depth at the bore is not the whole thickness; what that is worth must stay under a hundredth of a gram."""

    def depth(y: float) -> float:
        return 8.0 * math.sqrt(1 - (y / 10.0) ** 2)

    exact = quad(lambda y: 2 * math.sqrt(9 - y * y) * depth(y), -3, 3)[0]
    assert (math.pi * 9 * 8 - exact) * 2 * 700e-6 < 0.01


def test_a_brass_rod() -> None:
    """1 m of 5 mm at 8530 kg/m3 by kg/m = d^2 x 0.7854e-6 x density (common practice: any bar table)."""
    rod = pin(-30.0, 20.0, diameter_mm=5.0, length_mm=1000.0, density_kg_m3=8530.0)
    assert rod.mass_g == pytest.approx(25 * 0.785398 * 8.53, rel=1e-6)
    assert rod.centre_mm == (-30.0, 20.0, 0.0)


@cases(("diameter", "kg_m"), [(6, 0.222), (8, 0.395), (10, 0.616), (12, 0.888), (16, 1.579)])
def test_round_bars_of_steel(diameter: float, kg_m: float) -> None:
    """Published table of round bars, d^2 x 0.006165 kg/m, printed to three places."""
    rod = pin(0.0, 0.0, diameter_mm=diameter, length_mm=1000.0, density_kg_m3=7850.0)
    assert rod.mass_g / 1000 == pytest.approx(kg_m, abs=0.001)


@cases(("name", "construction"), KINDS)
def test_nothing_ground_is_the_plate(name: str, construction: str) -> None:
    """In the limit: no primary bevel, no taper, no edge bevel; blade and tang weigh what the flat blank weighs."""
    outline = solved(name, construction, "default").finished
    holes = [(-40.0, float(np.mean(outline.bounds_mm[1::2])), 5.0)]
    end = outline.bounds_mm[2]
    flat = flat_blank(outline, holes, thickness_mm=3.0, density_kg_m3=7850.0)
    taper = Taper((0.0, end), (3.0, 3.0))
    for bevels, allowed in (
        (Bevels("flat", 1e-9, 0.0, 15.0, None), 1e-8),
        (Bevels("flat", None, 3.0, 60.0, None), 0.05),
    ):
        one = steel(outline, holes, taper, bevels, density_kg_m3=7850.0)
        assert one.mass_g == pytest.approx(flat.mass_g, rel=allowed)
        assert one.mass_g <= flat.mass_g * (1 + 1e-9)
        assert one.centre_mm[2] == 0.0
        if allowed < 1e-3:
            assert one.centre_mm[:2] == pytest.approx(flat.centre_mm, rel=1e-7)


def test_the_edge_bevel_alone_is_a_prism_of_two_triangles() -> None:
    """A straight bar 100 long left 3 mm behind the edge, 60 degrees a side: off come 2 x 1.5 x 0.866 / 2 mm2."""
    bar = Outline(np.array([[-50.0, 0, 0], [100.0, 0, 0], [100.0, 30, 0], [-50.0, 30, 0]]))
    taper = Taper((0.0, 100.0), (3.0, 3.0))
    one = steel(bar, [], taper, Bevels("flat", None, 3.0, 60.0, None), density_kg_m3=1000.0)
    lost = 1.5 * (1.5 / math.tan(math.radians(60))) * 100
    assert one.mass_g == pytest.approx((150 * 30 * 3 - lost) * 1e-3, rel=1e-9)


def test_mass_follows_density_and_the_balance_does_not() -> None:
    outline = solved("chef", "full", "default").finished
    taper, bevels = Taper((0.0, 210.0), (3.0, 1.0)), Bevels("flat", None, 0.25, 15.0, None)
    one, two = (steel(outline, [(-50.0, 33.0, 5.0)], taper, bevels, density_kg_m3=d) for d in (4000.0, 8000.0))
    assert two.mass_g == pytest.approx(2 * one.mass_g)
    assert two.centre_mm == pytest.approx(one.centre_mm)
    a, b = (scales(BOX, [], section="oval", swell=EVEN, density_kg_m3=d) for d in (500.0, 1000.0))
    assert b.mass_g == pytest.approx(2 * a.mass_g)
    assert b.centre_mm == a.centre_mm


def test_a_hole_in_the_tang_takes_its_disc_away() -> None:
    outline = solved("chef", "full", "default").finished
    taper, bevels = Taper((0.0, 210.0), (3.0, 1.0)), Bevels("flat", None, 0.25, 15.0, None)
    holes = [[], [(-60.0, 33.0, 6.0)]]
    whole, bored = (steel(outline, h, taper, bevels, density_kg_m3=7850.0) for h in holes)
    disc = math.pi * 9 * 3 * 7850e-6
    assert bored.mass_g == pytest.approx(whole.mass_g - disc)
    back = together([bored, Body(disc, (-60.0, 33.0, 0.0))])
    assert back.centre_mm == pytest.approx(whole.centre_mm)


def test_a_moved_outline_moves_its_scales() -> None:
    shifted = Outline(BOX.vertices + np.array([-7.0, 11.0, 0.0]))
    here, there = (scales(o, [], section="rounded", swell=EVEN, density_kg_m3=600.0) for o in (BOX, shifted))
    assert there.mass_g == pytest.approx(here.mass_g)
    assert there.centre_mm == pytest.approx((here.centre_mm[0] - 7.0, here.centre_mm[1] + 11.0, 0.0))
