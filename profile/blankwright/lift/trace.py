"""From places of a border to an outline of tangent arcs and lines with sharp corners."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from blankwright.base.arrays import Array
from blankwright.base.errors import GeometryError, RequestError, ToleranceNotMetError
from blankwright.base.frozen import dataclass
from blankwright.design.lifted import MOST_PIECES
from blankwright.geometry.arcfit import ArcChain, fit_arcs
from blankwright.geometry.distance import crossing_place
from blankwright.geometry.outline import Outline
from blankwright.lift.corners import MOST_HIDDEN, Corner, Sight, corners_of, mask_of, runs_of
from blankwright.lift.sides import jumps_of
from blankwright.lift.smooth import Fitted, smooth

ARCS_MM = 0.01
"""Arcs follow the smooth curve within this, or within an eighth of a pixel where that is more."""
_ARCS_PX, _SOFT_PX, _SOFT_MM = 0.125, 20.0, 1.5
_LIMIT_SHARE, _TIP_DEG = 0.4, 110.0
_NO_KNIFE = (
    f"The border that is seen makes more than {MOST_PIECES} pieces, and a knife has some 40. Scan it again, on white "
    "paper."
)
_WRAP_MM = 12.0
_MOST_ROUNDED = 4
"""So many corners are rounded one by one before all are."""
_WEAK = 0.02


@dataclass(frozen=True, eq=False)
class Border:
    """A closed border in mm.

    Args:
        points: (n, 2) places, evenly spaced, counter-clockwise [mm].
        weak: (n,) whether the place can hardly be seen.
        step_mm: About the distance of neighbouring places: the size of a pixel [mm].
        blur_mm: Standard deviation of the blur [mm]; half the breadth of a drawn line, whose middle it is.
        blurred: Whether blur cuts its corners off: not those of a drawing, nor as much of a drawn line's.
    """

    points: Array
    weak: NDArray[np.bool_]
    step_mm: float
    blur_mm: float
    blurred: bool = True


@dataclass(frozen=True, eq=False)
class Traced:
    """An outline along a border.

    Args:
        outline: Arcs and lines, counter-clockwise; its max_error_mm is to the smooth curve.
        corners: Corners that were continued to where their sides cross.
        rough_mm: What single places jump about the curve, root of the mean square [mm].
        rounded_mm: How far from the outline a corner lies that was rounded [mm]; 0 where none was.
    """

    outline: Outline
    corners: tuple[Corner, ...]
    rough_mm: float
    rounded_mm: float = 0.0


def border(points: Array, weak: NDArray[np.bool_], blur_mm: float, *, blurred: bool = True) -> Border:
    """Return places as an evenly spaced counter-clockwise border.

    Args:
        points: (n, 2) closed, any way round [mm].
        weak: (n,) whether the place can hardly be seen.
        blur_mm: Standard deviation of the blur [mm].
        blurred: Whether blur cuts its corners off.
    """
    x, y = points.T
    if float((x * np.roll(y, -1) - np.roll(x, -1) * y).sum()) < 0:
        points, weak = points[::-1], weak[::-1]
    closed = np.vstack([points, points[:1]])
    way = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(closed, axis=0).T))])
    s = np.linspace(0.0, way[-1], len(points), endpoint=False)
    even = np.column_stack([np.interp(s, way, closed[:, a]) for a in (0, 1)])
    near = np.minimum(np.searchsorted(way, s), len(points) - 1)
    return Border(_bridged(even, weak[near]), weak[near], float(way[-1] / len(points)), blur_mm, blurred)


def _bridged(points: Array, weak: NDArray[np.bool_]) -> Array:
    """Return places with few that can hardly be seen on straight ways between the others: they make no corner."""
    short = [(first, count) for first, count in runs_of(weak) if count <= MOST_HIDDEN]
    n, bridged = len(points), points.copy()
    for first, count in short:
        a, b = points[first - 1], points[(first + count) % n]
        share = np.arange(1, count + 1)[:, None] / (count + 1)
        bridged[(first + np.arange(count)) % n] = a + share * (b - a)
    return bridged


def traced(seen: Border) -> Traced:
    """Return an outline of arcs and lines along a border.

    Raises:
        RequestError: The border makes no outline.
    """
    corners = corners_of(seen.points, seen.weak, Sight(seen.blur_mm, seen.step_mm, seen.blurred))
    found, rounded = _along(seen, corners), list[Corner]()
    place = crossing_place(found.outline)
    for _ in range(_MOST_ROUNDED):  # a corner beside a tight bend may lie wrong: round the one where it crosses itself
        blunt = [c for c in found.corners if abs(c.turn_deg) <= _TIP_DEG]
        if place is None or not blunt:
            break
        away = [float(np.hypot(*(c.point - place))) for c in blunt]
        rounded.append(blunt[int(np.argmin(away))])
        found = _along(seen, [c for c in found.corners if c is not rounded[-1]])
        place = crossing_place(found.outline)
    if place is not None and rounded:
        rounded += [c for c in found.corners if abs(c.turn_deg) <= _TIP_DEG]
        found = _along(seen, [c for c in found.corners if abs(c.turn_deg) > _TIP_DEG])
    return replace(found, rounded_mm=_moved(found.outline, rounded)) if rounded else found


def _moved(outline: Outline, rounded: list[Corner]) -> float:
    """Return how far the furthest of some corners lies from an outline [mm]."""
    ring = outline.flattened(0.002)
    return max(float(np.hypot(*(ring - c.point).T).min()) for c in rounded)


def _along(seen: Border, corners: list[Corner]) -> Traced:
    soft = max(_SOFT_MM, _SOFT_PX * seen.step_mm)
    tol = max(ARCS_MM, _ARCS_PX * seen.step_mm)
    jumps = jumps_of(seen.points)
    try:
        if not corners:
            chains, fits = _round(seen, soft, tol, jumps)
        else:
            chains, fits = _sides(seen, corners, soft, tol, jumps)
        rows = [np.column_stack([c.points[:-1], c.bulges]) for c in chains]
        error = max(c.max_error_mm for c in chains)
        pieces = _whole(np.concatenate(rows))
        if len(pieces) > MOST_PIECES:
            raise RequestError(_NO_KNIFE)
        outline = Outline(pieces, max_error_mm=error)
    except (GeometryError, ToleranceNotMetError, np.linalg.LinAlgError, ValueError) as error_:
        raise RequestError(
            f"The border that is seen makes no outline ({error_}). Scan it again, on white paper."
        ) from None
    rest = np.concatenate([f.rest for f in fits])
    return Traced(outline, tuple(corners), float(np.sqrt((rest**2).mean())))


def _whole(rows: Array) -> Array:
    """Leave out pieces of no length."""
    long = np.hypot(*(np.roll(rows[:, :2], -1, axis=0) - rows[:, :2]).T) > 1e-7
    kept: Array = rows[long]
    return kept


def _weights(seen: Border, corners: list[Corner]) -> Array:
    good = mask_of(corners, len(seen.points))
    weights: Array = np.where(seen.weak, _WEAK, 1.0) * good
    return weights


def _sides(
    seen: Border, corners: list[Corner], soft: float, tol: float, jumps: float
) -> tuple[list[ArcChain], list[Fitted]]:
    n = len(seen.points)
    weights = _weights(seen, corners)
    chains, fits = [], []
    for k, c in enumerate(corners):
        nxt = corners[(k + 1) % len(corners)]
        count = (nxt.at - c.at) % n or n
        index = (c.at + np.arange(count + 1)) % n
        index = index[weights[index] > 0]
        ends = (c.point, nxt.point)
        if len(index) < 8:
            chains.append(ArcChain(np.stack(ends), np.zeros(1), np.arange(2.0), 0.0))
            continue
        fitted = smooth(seen.points[index], weights[index], ends, soft, _LIMIT_SHARE * tol, jumps)
        fits.append(fitted)
        chains.append(fit_arcs(fitted.spline, (0.0, float(fitted.spline.spans)), tol))
        if sum(len(c.bulges) for c in chains) > MOST_PIECES:
            raise RequestError(_NO_KNIFE)
    return chains, fits


def _round(seen: Border, soft: float, tol: float, jumps: float) -> tuple[list[ArcChain], list[Fitted]]:
    """Fit a border without a corner: more than once round, and the round in the middle is kept."""
    n = len(seen.points)
    more = min(int(_WRAP_MM / seen.step_mm), n // 2)
    index = np.arange(-more, n + more + 1) % n
    weights = np.where(seen.weak, _WEAK, 1.0)
    fitted = smooth(seen.points[index], weights[index], (None, None), soft, _LIMIT_SHARE * tol, jumps)
    spline = fitted.spline
    first = more * seen.step_mm / fitted.length * spline.spans
    last = (more + n) * seen.step_mm / fitted.length * spline.spans
    chain = fit_arcs(spline, (float(first), float(last)), tol)
    points = chain.points.copy()
    points[-1] = points[0]
    return [ArcChain(points, chain.bulges, chain.params, chain.max_error_mm)], [fitted]
