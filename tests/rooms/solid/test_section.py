"""Sections of a ground blade: thickness and integrals agree, join without steps, and refuse what cannot be."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import quad

from blankwright.base.errors import RequestError
from blankwright.solid.section import Bevels, cuts_through, integrals, thickness
from rooms.every import cases

GRINDS = {
    "flat": Bevels("flat", None, 0.25, 15.0, None),
    "flat to a line": Bevels("flat", 14.0, 0.25, 15.0, None),
    "convex": Bevels("convex", None, 0.4, 20.0, None),
    "convex to a line": Bevels("convex", 14.0, 0.4, 20.0, None),
    "hollow": Bevels("hollow", None, 0.3, 17.0, 900.0),
    "hollow to a line": Bevels("hollow", 14.0, 0.3, 17.0, 300.0),
    "sharp": Bevels("flat", None, 0.0, 15.0, None),
}


def thick(u: float, height: float, spine: float, bevels: Bevels) -> float:
    return float(thickness(np.array([u]), np.array([height]), np.array([spine]), bevels)[0])


@cases("name", GRINDS)
@cases(("height", "spine"), [(45.0, 2.5), (20.0, 1.2), (6.0, 1.0), (0.4, 0.8)])
def test_integrals_are_those_of_the_thickness(name: str, height: float, spine: float) -> None:
    bevels = GRINDS[name]
    line = bevels.height_mm if bevels.height_mm is not None else height
    stops = [s for s in (bevels.edge_bevel_mm, line) if 0 < s < height]
    area, moment = (
        quad(lambda u, p=p: thick(u, height, spine, bevels) * u**p, 0, height, points=stops or None, epsabs=1e-12)[0]
        for p in (0, 1)
    )
    got = integrals(np.array([height]), np.array([spine]), bevels)
    assert float(got[0][0]) == pytest.approx(area, rel=1e-8)
    assert float(got[1][0]) == pytest.approx(moment, rel=1e-8)


@cases("name", GRINDS)
def test_the_thickness_has_no_step(name: str) -> None:
    bevels = GRINDS[name]
    for at in (bevels.edge_bevel_mm, bevels.height_mm or 40.0):
        if at > 0:
            assert thick(at - 1e-9, 40.0, 2.5, bevels) == pytest.approx(thick(at + 1e-9, 40.0, 2.5, bevels), abs=1e-6)
    assert thick(bevels.edge_bevel_mm, 40.0, 2.5, bevels) == pytest.approx(bevels.behind_edge_mm, abs=1e-9)
    assert thick(40.0, 40.0, 2.5, bevels) == pytest.approx(2.5)


def test_hollow_lies_under_flat_and_convex_over_it() -> None:
    u = np.linspace(1.0, 39.0, 50)
    full = [np.full_like(u, 40.0), np.full_like(u, 2.5)]
    hollow, flat, convex = (
        thickness(u, *full, Bevels(kind, None, 0.3, 15.0, wheel))
        for kind, wheel in (("hollow", 900.0), ("flat", None), ("convex", None))
    )
    assert (hollow < flat).all()
    assert (flat < convex).all()


def test_a_hollow_is_a_part_of_its_wheel() -> None:
    """Three points of the ground face lie on a circle of the wheel's radius (common geometry of three points)."""
    u = np.array([2.0, 8.0, 13.0])
    z = thickness(u, np.full(3, 40.0), np.full(3, 2.5), GRINDS["hollow to a line"]) / 2
    p = np.column_stack([u, z])
    a, b, c = (np.hypot(*(p[i] - p[j])) for i, j in ((0, 1), (1, 2), (2, 0)))
    cross = (p[1] - p[0])[0] * (p[2] - p[0])[1] - (p[1] - p[0])[1] * (p[2] - p[0])[0]
    assert a * b * c / (2 * abs(cross)) == pytest.approx(150.0, rel=1e-6)


def test_a_hollow_that_meets_the_other_face_is_found() -> None:
    """Sagitta of a shallow arc: chord^2 / 8 r; at the middle the flat bevel is (t + e) / 2 thick."""
    height, spine = np.array([40.0]), np.array([2.4])
    least = []
    for wheel in np.arange(100.0, 1500.0, 5.0):
        bevels = Bevels("hollow", 20.0, 0.4, 45.0, float(wheel))
        u = np.linspace(0.2, 20.0, 4001)
        least.append(float(thickness(u, np.full_like(u, 40.0), np.full_like(u, 2.4), bevels).min()))
        assert bool(cuts_through(height, spine, bevels)[0]) == (least[-1] < 0)
    assert min(least) < 0 < max(least)


def test_only_a_hollow_can_cut_through() -> None:
    for kind in ("flat", "convex"):
        assert not cuts_through(np.array([40.0]), np.array([1.0]), Bevels(kind, None, 0.3, 15.0, None)).any()


def test_a_wheel_smaller_than_its_bevel_cuts_through() -> None:
    assert cuts_through(np.array([60.0]), np.array([9.0]), Bevels("hollow", None, 3.0, 15.0, 40.0)).all()


@cases(("arguments", "names"), [
    (("round", None, 0.2, 15.0, None), "Allowed: flat, hollow, convex"),
    (("flat", None, -0.1, 15.0, None), "behind the edge"),
    (("flat", None, 0.2, 0.5, None), "1 to 60"),
    (("flat", None, 0.2, 61.0, None), "1 to 60"),
    (("flat", None, float("nan"), 15.0, None), "behind the edge"),
    (("hollow", None, 0.2, 15.0, None), "wheel"),
    (("flat", None, 0.2, 15.0, 200.0), "wheel"),
])  # fmt: skip
def test_what_cannot_be_ground_is_refused(
    arguments: tuple[str, float | None, float, float, float | None], names: str
) -> None:
    with pytest.raises(RequestError, match=names):
        Bevels(*arguments)
