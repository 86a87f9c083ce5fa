"""From a spline to a tangent chain of arcs and lines within a stated tolerance.

A biarc (two arcs, tangent where they meet) joins two points with their tangents; over a length h of a
curve with curvature slope k' it misses the curve by |k'| h^3 / 324 (arc-spline literature; the tests measure
it on clothoids). The breaks are spread so that every biarc gets the same share of that error, measured, and
spread again until all hold.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from blankwright.base.arrays import Array, dot, evenly, pairs, steps, within
from blankwright.base.errors import ToleranceNotMetError
from blankwright.base.frozen import dataclass
from blankwright.geometry.outline import points_on
from blankwright.geometry.spline import Spline
from blankwright.geometry.steady import cube_roots

BIARC_LAW = 324.0
_SAMPLES = 14  # per biarc; the error curve of a biarc has one hump in each arc
_SHARES = (np.arange(_SAMPLES) + 0.5) / _SAMPLES
_MARGIN = 1.03  # between two of those samples the error rises by less than 3 % of the hump
_ROUNDS = 40
_MOST_BIARCS = 20_000  # a chef's knife needs some 500 at 1e-6 mm; more means a tolerance near rounding
_FIRST_GUESS = 1.2  # the law leaves out what curvature extremes need; by trial on the shipped families
_ROUNDING = 1e-9  # of a sum of shares
_ALIKE = 0.5  # so much more of a biarc as another curve needed is left: a hair more would be a jump in every measure
_AIM = 0.8  # share of the tolerance aimed at; nearer to 1 saves 2 % of the pieces and costs twice the rounds
_LEAST_LAW = 1e-9  # cube of a share: a step that needs less than a thousandth of a biarc counts as that much
_SPREADING_ROUNDS = 4  # afterwards shares only grow, so that the rounds must end
_HALVINGS = 6  # a first arc of a sixty-fourth needs no more
_LOOKS = 9  # places at which the curve's bend is looked at in a biarc
_ONE_WAY = 1e-6  # share of its greatest bend by which a curve may seem to bend back, by rounding where it is straight
_SAME_CURVATURE = 1e-9  # 1/mm: two arcs this alike differ by less than 1e-6 mm over a whole knife


Fit = tuple[Array, Array, Array, Array]
"""Joints [mm], both bulges and errors [mm] of biarcs."""


@dataclass(frozen=True)
class ArcChain:
    """An open chain of arcs and lines that follows a spline.

    Args:
        points: (n + 1, 2) joints [mm].
        bulges: (n,) bulge of each piece [unitless].
        params: (n + 1,) spline parameter nearest to each joint [unitless].
        max_error_mm: Largest distance between chain and spline, measured [mm].
    """

    points: Array
    bulges: Array
    params: Array
    max_error_mm: float


def biarcs(a: Array, ta: Array, b: Array, tb: Array) -> tuple[Array, Array, Array]:
    """Join points with tangents by biarcs whose two control lengths are equal.

    Args:
        a: (n, 2) start points [mm].
        ta: (n, 2) unit tangents there.
        b: (n, 2) end points [mm].
        tb: (n, 2) unit tangents there.

    Returns:
        (n, 2) joints [mm], (n,) bulges of the first arcs and (n,) of the second.
    """
    v = b - a
    vv = dot(v, v)
    t = ta + tb
    vt = dot(v, t)
    spread = 2 * (1 - dot(ta, tb))
    # the positive root of spread d^2 + 2 vt d - vv = 0, in the form that stays exact as spread goes to 0
    d = vv / (vt + np.sqrt(vt * vt + spread * vv))
    joint = (a + b + d[:, None] * (ta - tb)) / 2
    c1, c2 = joint - a, b - joint
    first = (ta[:, 0] * c1[:, 1] - ta[:, 1] * c1[:, 0]) / (np.hypot(c1[:, 0], c1[:, 1]) + dot(ta, c1))
    second = (c2[:, 0] * tb[:, 1] - c2[:, 1] * tb[:, 0]) / (np.hypot(c2[:, 0], c2[:, 1]) + dot(tb, c2))
    return joint, first, second


def _deviation(q: Array, tangent: Array, curvature: Array) -> Array:
    """Distance of points from circles through the origin, by start tangent and curvature; exact for lines.

    Args:
        q: (n, m, 2) points relative to each circle's start [mm].
        tangent: (n, 2) unit tangent of each circle at its start.
        curvature: (n,) signed curvature [1/mm].
    """
    across = -q[..., 0] * tangent[:, None, 1] + q[..., 1] * tangent[:, None, 0]
    k = curvature[:, None]
    w = k * dot(q, q) - 2 * across
    distance: Array = np.abs(w / (1 + np.sqrt(np.maximum(1 + k * w, 0.0))))
    return distance


def _biarc_errors(spline: Spline, breaks: Array) -> Fit:
    """Fit a biarc between each two breaks; return joints, both bulges and the (n,) measured errors [mm]."""
    t = breaks[:-1, None] + steps(breaks)[:, None] * _SHARES
    every = spline.at(np.concatenate([breaks, t.ravel()]))
    p, q = every[: len(breaks)], every[len(breaks) :].reshape(*t.shape, 2)
    tan = spline.tangents(breaks)
    joint, b1, b2 = biarcs(p[:-1], tan[:-1], p[1:], tan[1:])
    c1, c2 = joint - p[:-1], p[1:] - joint
    k1 = 4 * b1 / ((1 + b1 * b1) * np.hypot(c1[:, 0], c1[:, 1]))
    k2 = 4 * b2 / ((1 + b2 * b2) * np.hypot(c2[:, 0], c2[:, 1]))
    # both circles are written from their outer end, where the tangent is the spline's own
    first = _deviation(q - p[:-1, None], tan[:-1], k1)
    second = _deviation(q - p[1:, None], -tan[1:], -k2)
    # half the arc's angle, 2 atan(b1), without trigonometry: numpy's differs by processor, and breaks hang on it
    cos, sin = (1 - b1 * b1) / (1 + b1 * b1), 2 * b1 / (1 + b1 * b1)
    chord = c1 / np.hypot(c1[:, 0], c1[:, 1])[:, None]
    joint_tan = pairs(chord[:, 0] * cos - chord[:, 1] * sin, chord[:, 0] * sin + chord[:, 1] * cos)
    before = dot(q - joint[:, None], joint_tan[:, None]) < 0
    error = np.where(before, first, second).max(axis=1) * _MARGIN
    return joint, b1, b2, error


def _density(spline: Spline, t0: float, t1: float, tol_mm: float) -> tuple[Array, Array]:
    """Return parameters and the share of a biarc that each step between them needs by the law."""
    t = evenly(t0, t1, max(9, int(np.ceil((t1 - t0) * 10)) + 1))
    p, k = spline.at(t), spline.curvature(t)
    step = np.hypot(*steps(p).T)
    # below the floor the slope of the root carries rounding of the curvature, 1e-17, to 1e-10 mm in the joints
    need = cube_roots(np.maximum(np.abs(steps(k)) * step * step / (BIARC_LAW * tol_mm), _LEAST_LAW))
    return t, need + 0.02 * need.mean() + 1e-9


def _as_in(like: ArcChain, spline: Spline, t0: float, t1: float) -> tuple[Array, Array]:
    """Return parameters and the share of a biarc that each step needs where a curve much like this one was followed.

    The same shape s times as large is missed by s times as much, so it needs the cube root of s times as many.
    """
    inside = ((like.params >= t0) & (like.params <= t1)).nonzero()[0]
    t = like.params[inside]
    now, then = steps(spline.at(t)), steps(like.points[inside])
    grown = cube_roots(np.hypot(now[:, 0], now[:, 1]) / np.hypot(then[:, 0], then[:, 1]))
    return t, 0.5 * grown


def _fit_curved(spline: Spline, t0: float, t1: float, tol_mm: float, like: ArcChain | None) -> ArcChain:
    if like is None:
        t, need = _density(spline, t0, t1, tol_mm)
        need, spare = need * _FIRST_GUESS, _ROUNDING
    else:
        (t, need), spare = _as_in(like, spline, t0, t1), _ALIKE
    worst = np.inf
    for turn in range(_ROUNDS):
        total = np.concatenate([[0.0], np.cumsum(need)])
        if total[-1] > _MOST_BIARCS:
            break
        count, spare = max(1, int(np.ceil(total[-1] - spare))), _ROUNDING
        breaks = np.interp(evenly(0, total[-1], count + 1), total, t)
        joint, b1, b2, error = _biarc_errors(spline, breaks)
        worst = float(error.max())
        if worst <= tol_mm:
            if _odd(b1, b2):
                breaks, joint, b1, b2, error = _bending_as_drawn(spline, breaks, tol_mm, (joint, b1, b2, error))
                worst = float(error.max())
            return _interleave(spline, breaks, joint, b1, b2, worst)
        if len(need) < 4 * count:  # several steps to each biarc, or their shares cannot be told apart
            finer = evenly(t0, t1, 8 * count + 1)
            total = np.interp(finer, t, total)
            t, need = finer, steps(total)
        share = cube_roots(error / (_AIM * tol_mm))
        of_step = np.minimum(np.maximum(breaks.searchsorted((t[1:] + t[:-1]) / 2) - 1, 0), count - 1)
        need = need * within(share[of_step], 0.95 if turn < _SPREADING_ROUNDS else 1.01, 2.0)
    raise ToleranceNotMetError(f"the curve was not reached within {tol_mm} mm by arcs", worst)


def _bending_as_drawn(spline: Spline, breaks: Array, tol_mm: float, fit: Fit) -> tuple[Array, *Fit]:
    """Halve biarcs of which one arc bends against a curve that bends one way only, until none does.

    Where curvature grows faster than its square, as behind a long flat, a biarc begins with an arc to the other side:
    its first arc bends as 4 Y / h^2 - turn / h, Y being how far the curve has left its first tangent. Where the curve
    itself changes sides a biarc may too.
    """
    for _ in range(_HALVINGS):
        at = [i for i in _odd(fit[1], fit[2]) if _one_way(spline, float(breaks[i]), float(breaks[i + 1]))]
        if not at:
            break
        finer = np.sort(np.concatenate([breaks, [(breaks[i] + breaks[i + 1]) / 2 for i in at]]))
        found = _biarc_errors(spline, finer)
        if float(found[3].max()) > tol_mm:
            break
        breaks, fit = finer, found
    return breaks, *fit


def _odd(b1: Array, b2: Array) -> list[int]:
    """Return the biarcs that bend both ways, save those that go over from their neighbours' one way to the other's."""
    last = len(b1) - 1
    return [
        i for i in (b1 * b2 < 0).nonzero()[0].tolist()
        if i in (0, last) or b2[i - 1] * b1[i] < 0 or b1[i + 1] * b2[i] < 0
    ]  # fmt: skip


def _one_way(spline: Spline, t0: float, t1: float) -> bool:
    """Return whether a curve bends one way between two parameters."""
    k = spline.curvature(evenly(t0, t1, _LOOKS))
    least = _ONE_WAY * float(np.abs(k).max())
    return bool(k.min() >= -least or k.max() <= least)


def _interleave(spline: Spline, breaks: Array, joint: Array, b1: Array, b2: Array, error: float) -> ArcChain:
    p = spline.at(breaks)
    n = len(joint)
    points = np.empty((2 * n + 1, 2))
    points[0::2], points[1::2] = p, joint
    bulges = np.empty(2 * n)
    bulges[0::2], bulges[1::2] = b1, b2
    params = np.empty(2 * n + 1)
    params[0::2], params[1::2] = breaks, (breaks[:-1] + breaks[1:]) / 2
    return _merge_alike(ArcChain(points, bulges, params, error))


def _merge_alike(chain: ArcChain) -> ArcChain:
    """Join the two arcs of a biarc where they are one circle or one line."""
    d = steps(chain.points)
    k = 4 * chain.bulges / ((1 + chain.bulges**2) * np.hypot(d[:, 0], d[:, 1]))
    alike = (np.abs(steps(k)) < _SAME_CURVATURE) & (np.arange(len(k) - 1) % 2 == 0)
    if not alike.any():
        return chain
    angle = 4 * np.arctan(chain.bulges)
    keep = np.concatenate([[True], ~alike])  # the start of each piece that stays
    group = np.cumsum(keep) - 1
    merged = np.zeros(group[-1] + 1)
    np.add.at(merged, group, angle)
    joints = np.concatenate([keep, [True]])
    return ArcChain(chain.points[joints], np.tan(merged / 4), chain.params[joints], chain.max_error_mm)


def fit_arcs(spline: Spline, breaks: tuple[float, ...], tol_mm: float, like: ArcChain | None = None) -> ArcChain:
    """Follow a spline by tangent arcs and lines.

    Args:
        spline: The curve.
        breaks: Rising parameters that must be joints; the first and last bound the part to follow.
        tol_mm: Largest distance allowed between chain and curve [mm].
        like: The chain of a curve of as many spans and of much the same shape, such as the same knife in another size,
            found with the same breaks and tolerance: its spread is tried first, and most often it holds.

    Returns:
        The chain with its measured error. Neighbouring pieces are tangent to rounding.

    Raises:
        ToleranceNotMetError: The tolerance could not be reached.
    """
    stops = _with_straight_ends(spline, breaks)
    chains = []
    for t0, t1 in pairwise(stops):
        if spline.straight_spans[min(int((t0 + t1) / 2), spline.spans - 1)]:
            ends = np.array([t0, t1])
            chains.append(ArcChain(spline.at(ends), np.zeros(1), ends, 0.0))
        else:
            known = like is not None and bool((like.params == t0).any() and (like.params == t1).any())
            chains.append(_fit_curved(spline, t0, t1, tol_mm, like if known else None))
    return ArcChain(
        points=np.concatenate([chains[0].points[:1], *[c.points[1:] for c in chains]]),
        bulges=np.concatenate([c.bulges for c in chains]),
        params=np.concatenate([chains[0].params[:1], *[c.params[1:] for c in chains]]),
        max_error_mm=max(c.max_error_mm for c in chains),
    )


def _with_straight_ends(spline: Spline, breaks: tuple[float, ...]) -> list[float]:
    """Add the ends of straight runs to the breaks, so that a true flat becomes one true line."""
    straight = spline.straight_spans
    change = (straight[1:] != straight[:-1]).nonzero()[0] + 1
    inner = [float(t) for t in change if breaks[0] < t < breaks[-1]]
    return sorted({*breaks, *inner})


def split_at(chain: ArcChain, params: list[float]) -> ArcChain:
    """Cut pieces of a chain in two at spline parameters, so that a region can begin there.

    The halves lie on the same circle or line; nothing moves.
    """
    points, bulges, t = chain.points, chain.bulges, chain.params
    for at in params:
        i = min(max(int(t.searchsorted(at)) - 1, 0), len(bulges) - 1)
        share = (at - t[i]) / (t[i + 1] - t[i])
        if not 0.05 < share < 0.95:
            continue  # a sliver helps nobody; the joint nearby is the boundary
        cut = points_on(points[i : i + 1], points[i + 1 : i + 2], bulges[i : i + 1], np.array([share]))
        quarter = np.arctan(bulges[i])
        points = np.concatenate([points[: i + 1], cut, points[i + 1 :]])
        halves = np.tan(quarter * np.array([share, 1 - share]))
        bulges = np.concatenate([bulges[:i], halves, bulges[i + 1 :]])
        t = np.concatenate([t[: i + 1], [at], t[i + 1 :]])
    return ArcChain(points, bulges, t, chain.max_error_mm)
