"""Random sections of every grind: closed integrals against quadrature over faces drawn by the judge's own hand."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from scipy.integrate import quad

from blankwright.solid.section import Bevels, cuts_through, faces, integrals
from rooms.every import cases
from truth.ground_by_hand import Half, halves

SOURCE = "scipy quad (adaptive quadrature, a library of its own) over faces written anew in ground_by_hand.py."
TOLERANCE = 1e-9
REASON = (
    "Of the rectangle round the section. quad is asked for 1e-12; a shallow hollow costs our closed form some digits."
)

ROUNDS = range(20)
EACH = 20


def draw(rng: np.random.Generator) -> tuple[float, float, Bevels, float]:
    """Return height, spine, grind and how much further out the ground lies; every kind, share and extreme in turn."""
    height, spine = float(rng.uniform(1.0, 60.0)), float(rng.uniform(0.4, 5.0))
    kind = ("flat", "hollow", "convex")[int(rng.integers(3))]
    share = (0.5, 1.0, 0.0, 0.7, float(rng.uniform(0.01, 0.99)))[int(rng.integers(5))]
    angle, left = float(rng.uniform(5, 45)), float(rng.uniform(5, 45)) if rng.random() < 0.4 else None
    behind = float(rng.choice([0.0, rng.uniform(0.03, 0.5), rng.uniform(0.3, 3.0)]))
    if rng.random() < 0.25:
        angle, left = 90.0, None
    line = float(rng.uniform(0.1, 1.3)) * height if rng.random() < 0.6 else None
    wheel = float(rng.uniform(150, 1000)) if kind == "hollow" else None
    out = float(rng.choice([0.0, rng.uniform(0, 1.2) * spine, rng.uniform(0, 0.1) * spine, 1000.0]))
    return height, spine, Bevels(kind, line, behind, angle, wheel, share, left), out


def drawn(seed: int) -> list[tuple[float, float, Bevels, float]]:
    """Return cases of a seed that leave steel."""
    rng = np.random.default_rng(seed)
    found: list[tuple[float, float, Bevels, float]] = []
    while len(found) < EACH:
        height, spine, bevels, out = draw(rng)
        if bevels.height_mm is not None and bevels.height_mm <= bevels.edge_bevel_mm:
            continue  # a grind line inside the edge bevel: refused where designs are read
        if not cuts_through(np.array([height]), np.array([spine]), bevels).any():
            found.append((height, spine, bevels, out))
    return found


def bends(side: Half, height: float, out: float) -> list[float]:
    """Return where one side bends: its bevels' ends, and where what lies further out meets the face."""
    ends = sorted({0.0, float(side.foot), float(side.top), height})
    found = list(ends)
    for a, b in itertools.pairwise(ends):
        grid = a + (b - a) * np.linspace(1e-12, 1 - 1e-12, 201)
        free = [side.out_at(float(u), out) < float(side.face) for u in grid]
        for i in range(200):
            if free[i] != free[i + 1]:
                low, high = grid[i], grid[i + 1]
                for _ in range(60):
                    half = (low + high) / 2
                    low, high = (half, high) if (side.out_at(half, out) < float(side.face)) == free[i] else (low, half)
                found.append(float(low))
    return sorted(found)


def sums(height: float, spine: float, bevels: Bevels, out: float) -> tuple[float, float, float]:
    """Return area, moment about the edge and moment about the middle of the stock, by quadrature."""
    area = about = across = 0.0
    for side, sign in zip(halves(np.array(height), np.array(spine), bevels), (1.0, -1.0), strict=True):
        plane = spine * (0.5 - bevels.right_share)
        for a, b in itertools.pairwise(bends(side, height, out)):
            if b - a < 1e-12:
                continue

            def z(u: float, side: Half = side) -> float:
                return side.out_at(u, out)

            one = quad(z, a, b, epsabs=1e-13, epsrel=1e-12)[0]
            area += one
            about += quad(lambda u: z(u) * u, a, b, epsabs=1e-13, epsrel=1e-12)[0]
            across += plane * one + sign * quad(lambda u: z(u) ** 2 / 2, a, b, epsabs=1e-13, epsrel=1e-12)[0]
    return area, about, across


@cases("seed", ROUNDS)
def test_integrals_are_those_of_faces_drawn_by_hand(seed: int) -> None:
    worst = 0.0
    for height, spine, bevels, out in drawn(seed):
        got = [float(g[0]) for g in integrals(np.array([height]), np.array([spine]), bevels, np.array([out]))]
        wanted = sums(height, spine, bevels, out)
        sizes = (height * spine, height**2 * spine, height * spine**2)
        misses = [abs(g - w) / s for g, w, s in zip(got, wanted, sizes, strict=True)]
        worst = max(worst, *misses)
        assert max(misses) < TOLERANCE, f"seed {seed}: {height} {spine} {bevels} out {out}: {got} not {wanted}"
    print(f"seed {seed}: worst {worst:.1e} of the rectangle")


@cases("seed", ROUNDS)
def test_faces_are_those_drawn_by_hand(seed: int) -> None:
    rng = np.random.default_rng(1000 + seed)
    for height, spine, bevels, out in drawn(seed):
        u = rng.uniform(0, height, 60)
        full = [np.full_like(u, v) for v in (height, spine)]
        right, left = faces(u, *full, bevels, np.full_like(u, out))
        plane = spine * (0.5 - bevels.right_share)
        one, other = halves(np.array(height), np.array(spine), bevels)
        assert right == pytest.approx([plane + one.out_at(v, out) for v in u], abs=1e-9), (seed, bevels, out)
        assert left == pytest.approx([plane - other.out_at(v, out) for v in u], abs=1e-9), (seed, bevels, out)


@cases("seed", ROUNDS)
def test_faces_have_no_step_and_stay_in_the_stock(seed: int) -> None:
    """A face never moves across faster than its steepest bevel: half steps halve the largest jump."""
    for height, spine, bevels, out in drawn(seed):
        if bevels.edge_angle_deg == 90:  # an edge left thick is a step of its own, at the edge
            continue
        jumps = []
        for n in (4001, 32001):
            u = np.linspace(0, height, n)[:-1]  # the spine's own flat is a step
            right, left = faces(u, *(np.full_like(u, v) for v in (height, spine)), bevels, np.full_like(u, out))
            assert right.max() <= spine / 2 + 1e-9
            assert left.min() >= -spine / 2 - 1e-9
            assert (right - left).min() >= -1e-9
            jumps.append(max(np.abs(np.diff(right)).max(), np.abs(np.diff(left)).max()))
        assert jumps[1] <= jumps[0] / 3 + 1e-12, (seed, bevels, out)


def test_a_hollow_cuts_through_where_a_side_passes_the_plane_of_the_edge() -> None:
    seed = 77
    rng = np.random.default_rng(seed)
    found = {True: 0, False: 0}
    for _ in range(400):
        height, spine = float(rng.uniform(5, 60)), float(rng.uniform(0.5, 4))
        share = (0.5, 1.0, 0.0, float(rng.uniform(0.05, 0.95)))[int(rng.integers(4))]
        line = float(rng.uniform(0.2, 1.0)) * height
        wheel = float(rng.uniform(60, 1000))
        bevels = Bevels("hollow", line, float(rng.uniform(0, 0.6)), float(rng.uniform(8, 30)), wheel, share)
        got = bool(cuts_through(np.array([height]), np.array([spine]), bevels)[0])
        least = np.inf
        for side in halves(np.array([height]), np.array([spine]), bevels):
            if side.face[0] > 0:
                chord = np.hypot(side.top - side.foot, side.face - side.behind)[0]
                least = min(least, -1.0 if chord > wheel else side.primary(np.linspace(0, 1, 4001))[1].min())
        if abs(least) > 1e-5:  # a wheel that just touches may go either way
            assert got == (least < 0), f"seed {seed}: {height} {spine} {bevels}: {least}"
            found[got] += 1
    print(f"seed {seed}: {found}")
    assert min(found.values()) > 50
