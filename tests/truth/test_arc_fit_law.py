"""The law of the biarc, measured here on clothoids, and the number of arcs that it asks for."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from scipy.integrate import quad

from blankwright.geometry.arcfit import BIARC_LAW, biarcs, fit_arcs
from blankwright.geometry.distance import points_to_pieces
from rooms.every import cases
from rooms.geometry.test_figures import chef, ellipse, fitted, slot

SOURCE = (
    "Arc-spline literature: over a length h of a curve with curvature slope k' a biarc misses by "
    "|k'| h^3 / 324. "
    "Measured below on clothoids, integrated independently of the project (scipy's quad)."
)
TOLERANCE = 0.01
POOR = 1.5
REASON = (
    "The law is the first term of a series in h, so it holds to 1 % on short pieces. A fit that "
    "needs more than 1.5 "
    "times the law's number of biarcs is poor; a biarc is two arcs, and each stretch of rising or "
    "falling curvature "
    "may round up by one biarc."
)


def law_count(spline, t0, t1, tol):
    """Return how many biarcs the law asks for between two parameters: (|k'| / (324 tol))^(1/3) along the curve."""
    t = np.linspace(t0, t1, 4001)
    step = np.hypot(*np.diff(spline.at(t), axis=0).T)
    return float(np.cbrt(np.abs(np.diff(spline.curvature(t))) * step * step / (324.0 * tol)).sum())


def clothoid(curvature, slope, s):
    """Return a point and unit tangent of the clothoid with heading curvature s + slope s^2 / 2."""

    def heading(u):
        return curvature * u + slope * u * u / 2

    x = quad(lambda u: np.cos(heading(u)), 0, s, epsabs=1e-14)[0]
    y = quad(lambda u: np.sin(heading(u)), 0, s, epsabs=1e-14)[0]
    return np.array([x, y]), np.array([np.cos(heading(s)), np.sin(heading(s))])


@cases(
    ("curvature", "slope", "h"),
    [(0.0, 1e-4, 10.0), (0.01, 5e-5, 12.0), (-0.004, 2e-4, 6.0), (0.02, -1e-4, 8.0)],
)
def test_a_biarc_on_a_clothoid_misses_by_the_law(curvature, slope, h):
    (a, ta), (b, tb) = clothoid(curvature, slope, 0.0), clothoid(curvature, slope, h)
    joint, first, second = biarcs(a[None], ta[None], b[None], tb[None])
    starts, ends = np.vstack([a, joint]), np.vstack([joint, b])
    on = np.array([clothoid(curvature, slope, s)[0] for s in np.linspace(0, h, 201)])
    miss = points_to_pieces(on, starts, ends, np.concatenate([first, second])).min(axis=1).max()
    assert abs(slope) * h**3 / miss == pytest.approx(BIARC_LAW, rel=TOLERANCE)
    assert pytest.approx(324.0) == BIARC_LAW


def clothoid_spline():
    """Return a spline that follows a clothoid of 120 mm from straight to 10 mm radius."""
    length, slope = 120.0, 1 / (10.0 * 120.0)
    places = np.linspace(0, length, 801)
    steps = [
        [
            quad(lambda u: np.cos(slope * u * u / 2), p, q, epsabs=1e-14)[0],
            quad(lambda u: np.sin(slope * u * u / 2), p, q, epsabs=1e-14)[0],
        ]
        for p, q in itertools.pairwise(places)
    ]
    path = np.vstack([[0, 0], np.cumsum(steps, axis=0)])

    def curve(share):
        return path[np.rint(share * 800).astype(int)]

    return fitted(curve, 5, 20)  # 40 points in each span: exactly the 801 places


def stretches(spline, t0, t1):
    """Count the stretches on which the curvature only rises or only falls."""
    k = spline.curvature(np.linspace(t0, t1, 4001))
    rising = np.sign(np.diff(k))[np.abs(np.diff(k)) > 1e-9]
    return 1 + int((rising[1:] != rising[:-1]).sum())


def allowed(spline, t0, t1, tol):
    return POOR * 2 * law_count(spline, t0, t1, tol) + 2 * stretches(spline, t0, t1)


@cases("tol", [1e-1, 1e-2, 1e-3, 1e-4, 1e-5])
def test_the_clothoid_takes_no_more_arcs_than_the_law(tol):
    s = clothoid_spline()
    chain = fit_arcs(s, (0.0, float(s.spans)), tol)
    # the whole clothoid's law in closed form, beside the kernel's own count: h = (324 tol / k')^(1/3)
    by_hand = 120.0 / (BIARC_LAW * tol * 1200.0) ** (1 / 3)
    assert law_count(s, 0, s.spans, tol) == pytest.approx(by_hand, rel=2e-3)
    assert len(chain.bulges) <= POOR * 2 * by_hand + 2
    # no fit by biarcs can beat the law by much either: fewer would mean that the error is not measured
    assert len(chain.bulges) >= 2 * by_hand * 0.9


@cases("tol", [1e-1, 1e-2, 5e-3, 1e-3, 1e-4])
@cases("number", [0, 1])
def test_the_chefs_splines_take_no_more_arcs_than_the_law(number, tol):
    splines = chef().splines
    assert [len(s.points) > 2 for s in splines] == [True, True, False]  # edge, all behind it, and the straight heel
    s = splines[number]
    chain = fit_arcs(s, (0.0, float(s.spans)), tol)
    straight = int(s.straight_spans.any())
    assert len(chain.bulges) <= allowed(s, 0, s.spans, tol) + straight


def test_the_ellipse_takes_no_more_arcs_than_the_law():
    s = fitted(ellipse, 5, 80)
    for tol in (1e-2, 1e-3, 1e-4, 1e-6):
        chain = fit_arcs(s, (0.0, 20.0, 40.0, 60.0, 80.0), tol)
        assert len(chain.bulges) <= POOR * 2 * law_count(s, 0, 80, tol) + 2 * 4


def test_a_slot_given_by_its_arcs_stays_four_pieces():
    assert len(slot()) == 4


def test_a_circle_spline_becomes_few_arcs():
    # curvature slope zero: the law asks for none, so one biarc (or one arc) between two stops must do
    s = fitted(lambda share: ellipse(share, 30.0, 30.0), 5, 120)
    chain = fit_arcs(s, (0.0, 40.0, 80.0, 120.0), 1e-5)
    assert len(chain.bulges) <= 6


def test_a_true_flat_becomes_one_line():
    from blankwright.geometry.spline import Spline

    points = np.array([[0, 0], [10, 0], [20, 0], [30, 0], [40, 0], [55, 3], [68, 9], [80, 20]], dtype=float)
    s = Spline(points, 3)
    chain = fit_arcs(s, (0.0, float(s.spans)), 1e-3)
    assert (chain.bulges == 0).sum() == 1
    flat = int(np.flatnonzero(chain.bulges == 0)[0])
    assert chain.points[flat : flat + 2, 1] == pytest.approx([0, 0], abs=1e-12)
    assert chain.points[flat + 1, 0] == pytest.approx(s.at(np.array([2.0]))[0, 0], abs=1e-9)
