"""Asked tolerances over many decades, against closed forms and dense sampling: the error stays below each."""

from __future__ import annotations

import numpy as np
import pytest

from blankwright.geometry.arcfit import fit_arcs
from blankwright.geometry.distance import points_to_pieces, ways_to_pieces
from blankwright.geometry.outline import Outline
from blankwright.geometry.spline import Spline
from rooms.every import cases
from rooms.geometry.test_figures import chef, closed_by_support, ellipse, fitted, slot

SOURCE = "Distances sampled at 20,000 places from both sides."
FIT_TOLERANCES_MM = [10.0**-k for k in range(1, 7)]
TOLERANCE_RAD = 1e-6
ROUNDING_MM = 2e-12
REASON = "The tolerance itself is the limit; lengths near 100 mm carry rounding of about 1e-13 mm per sum."
PLACES = 20_000


CURVES = {
    "chef edge": lambda: chef().splines[0],
    "chef back": lambda: chef().splines[1],
    "ellipse": lambda: fitted(ellipse, 5, 80),
    "s-bend": lambda: Spline(np.array([[0, 0], [20, 0], [40, 15], [60, -25], [90, 5], [120, 5.0]]), 3),
}


def both_ways(spline, chain, places=PLACES):
    """Return the largest distance from curve to chain and from chain to curve, against near pieces."""
    t = np.linspace(0, spline.spans, places)
    curve = spline.at(t)
    starts, ends = chain.points[:-1], chain.points[1:]
    # only the pieces whose parameters surround a place can be its nearest: two to each side
    at = np.clip(np.searchsorted(chain.params, t) - 1, 0, len(starts) - 1)
    forward = np.full(places, np.inf)
    for step in range(-2, 3):
        near = np.clip(at + step, 0, len(starts) - 1)
        d = ways_to_pieces(curve[:, None], starts[near], ends[near], chain.bulges[near])
        forward = np.minimum(forward, d[:, 0])
    outline = Outline(np.column_stack([chain.points, np.append(chain.bulges, 0.0)]))
    on, piece = outline.sampled(outline.perimeter_mm / places)
    on = on[piece < len(starts)]
    return float(forward.max()), float(_to_curve(on, spline, curve, t).max())


def _to_curve(points, spline, curve, t):
    """Return distances of points from a spline: nearest sample, then Newton's steps on its parameter."""
    from scipy.spatial import cKDTree

    u = t[cKDTree(curve).query(points)[1]]
    for _ in range(4):
        p, d1, d2 = spline.at(u), spline.at(u, 1), spline.at(u, 2)
        slope = ((p - points) * d1).sum(axis=1)
        bend = (d1 * d1).sum(axis=1) + ((p - points) * d2).sum(axis=1)
        u = np.clip(u - slope / bend, 0, spline.spans)
    return np.hypot(*(spline.at(u) - points).T)


@pytest.mark.parametrize("tol", FIT_TOLERANCES_MM)
@pytest.mark.parametrize("name", CURVES)
def test_the_fit_keeps_its_tolerance_both_ways(name, tol):
    spline = CURVES[name]()
    chain = fit_arcs(spline, (0.0, float(spline.spans)), tol)
    assert chain.max_error_mm <= tol
    forward, back = both_ways(spline, chain)
    say = f"{name} at {tol}: to chain {forward:.3e}, to curve {back:.3e}, said {chain.max_error_mm:.3e}"
    assert max(forward, back) <= chain.max_error_mm + 1e-11, say


@cases("tol", FIT_TOLERANCES_MM)
@cases("name", CURVES)
def test_the_fit_is_tangent_at_every_joint(name, tol):
    spline = CURVES[name]()
    chain = fit_arcs(spline, (0.0, float(spline.spans)), tol)
    d = np.diff(chain.points, axis=0)
    heading = np.arctan2(d[:, 1], d[:, 0])
    half = 2 * np.arctan(chain.bulges)  # between chord and tangent, at either end
    turn = (heading + half)[:-1] - (heading - half)[1:]
    turn = np.abs((turn + np.pi) % (2 * np.pi) - np.pi)
    # a direction over a chord of length c is known to rounding of the coordinates / c
    assert turn.max(initial=0) < TOLERANCE_RAD
    ends = spline.tangents(np.array([0.0, float(spline.spans)]))
    assert np.arctan2(*ends[0][::-1]) == pytest.approx((heading - half)[0], abs=TOLERANCE_RAD)


@cases("tol", [1e-1, 1e-3, 1e-5])
def test_flattening_keeps_its_tolerance(tol):
    outline, _ = closed_by_support(np.random.default_rng(8), 1e-2)
    for o in (outline, slot()):
        p = o.flattened(tol)
        middle = (p + np.roll(p, -1, axis=0)) / 2
        gap = points_to_pieces(middle, o.starts, o.ends, o.bulges).min(axis=1)
        assert gap.max() <= tol * 1.000001
        assert gap.max() > tol / 5  # and no finer than it needs to be
        assert points_to_pieces(p, o.starts, o.ends, o.bulges).min(axis=1).max() < 1e-10
