"""From the smooth stretches of an outline to its arcs, with its corners rounded."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from functools import lru_cache

import numpy as np

from blankwright.base.arrays import Array
from blankwright.base.errors import GeometryError, ToleranceNotMetError
from blankwright.design.layout import SplinePlan
from blankwright.geometry.arcfit import ArcChain, fit_arcs, split_at
from blankwright.geometry.fillet import round_corner
from blankwright.geometry.outline import Outline
from blankwright.geometry.spline import Spline

_ROUNDING_MM = 2e-6
"""Kept of a tolerance for rounding to the grid."""
_SAME_PLACE_MM = 1e-6
"""Two vertices nearer than this are one: ten thousand times the rounding of coordinates."""

Stretch = tuple[Array, list[str], float]
"""(n, 3) start of each piece [mm] with its bulge, the regions, and how far the pieces are from the curve [mm]."""


class Arcs:
    """Stretches that follow one another, each followed by arcs when it is first asked for.

    Args:
        splines: The stretches, counter-clockwise.
        plans: Their plans.
        tolerance_mm: How far the finished outline may be from them [mm]; some of it is kept for rounding to the grid.
    """

    def __init__(self, splines: tuple[Spline, ...], plans: Sequence[SplinePlan], tolerance_mm: float) -> None:
        # a tolerance finer than the grid is not lost in it; max_error_mm says what came out
        self.tolerance_mm = max(tolerance_mm - _ROUNDING_MM, tolerance_mm / 2)
        self.splines, self.plans = splines, plans
        self._known: dict[int, Stretch] = {}

    def outline(self, joints: Sequence[str | float], only: Collection[int] | None = None) -> Outline:
        """Return the outline, its corners as the joints at the end of each stretch say: "sharp" or a radius [mm].

        Args:
            joints: One for each stretch.
            only: Numbers of the stretches that matter; the others are drawn as straight lines. None for all.

        Raises:
            GeometryError: A round does not fit at its corner.
            ToleranceNotMetError: The tolerance could not be reached.
        """
        rows: list[Array] = []
        regions: list[str] = []
        corners, error = [], 0.0
        for number in range(len(joints)):
            part = self._stretch(number) if only is None or number in only else self._line(number)
            rows.append(part[0])
            regions += part[1]
            corners.append(len(regions))
            error = max(error, part[2])
        return _rounded(Outline(np.concatenate(rows), tuple(regions), error), corners, joints)

    def _line(self, number: int) -> Stretch:
        first, region = self.splines[number].points[0], self.plans[number].curves[-1].region
        return np.array([[*first, 0.0]]), [region], 0.0

    def _stretch(self, number: int) -> Stretch:
        if number in self._known:
            return self._known[number]
        spline, stretch = self.splines[number], self.plans[number]
        if len(spline.points) == 2:  # a line is one piece
            return self._line(number)
        like = _as_drawn(stretch, spline.degree, self.tolerance_mm)
        if like is not None and np.array_equal(spline.points, stretch.points):
            chain = like
        else:
            chain = fit_arcs(spline, (0.0, float(spline.spans)), self.tolerance_mm, like)
        error = chain.max_error_mm
        limits = [r[1] for r in stretch.ranges[:-1]]
        changes = [t for j, t in enumerate(limits) if stretch.curves[j].region != stretch.curves[j + 1].region]
        chain = split_at(chain, changes)
        part = np.searchsorted(limits, (chain.params[1:] + chain.params[:-1]) / 2)
        rows = np.concatenate([chain.points[:-1], chain.bulges[:, None]], axis=1)
        self._known[number] = found = rows, [stretch.curves[j].region for j in part], error
        return found


@lru_cache(maxsize=64)
def _as_drawn(stretch: SplinePlan, degree: int, tolerance_mm: float) -> ArcChain | None:
    """Return the arcs of a stretch as its family draws it, which those of every size are like; None if none hold."""
    spline = Spline(stretch.points, degree)
    try:
        return fit_arcs(spline, (0.0, float(spline.spans)), tolerance_mm)
    except ToleranceNotMetError:
        return None


def _rounded(outline: Outline, corners: list[int], joints: Sequence[str | float]) -> Outline:
    """Round the joints that ask for it; corners are found again by their place after each round."""
    standing = [outline.starts[c % len(outline)] for c in corners]  # and the ends of rounds already made
    asked = zip(standing, joints, strict=True)
    rounds = [(place, joint) for place, joint in asked if isinstance(joint, float) and joint > 0]
    for number, (place, joint) in enumerate(rounds, start=1):
        corner = int((((outline.starts - place) ** 2).sum(axis=1)).argmin())
        before, outline = outline, round_corner(outline, corner, joint)
        standing = [p for p in standing if p is not place]
        _check_standing(outline, standing, place, joint)
        if number < len(rounds):
            standing += list(outline.starts[_apart_mm(before, outline.starts) > _SAME_PLACE_MM])
    return outline


def _apart_mm(outline: Outline, places: Array) -> Array:
    """Return how far each place is from the nearest vertex of an outline [mm]."""
    away = places[:, None] - outline.starts[None]
    nearest: Array = np.hypot(away[..., 0], away[..., 1]).min(axis=1)
    return nearest


def _check_standing(outline: Outline, places: list[Array], at: Array, radius_mm: float) -> None:
    """Refuse a round so large that it swallowed another corner or another round."""
    if places and (_apart_mm(outline, np.array(places)) > _SAME_PLACE_MM).any():
        x, y = at
        raise GeometryError(f"a radius of {radius_mm:.2f} mm does not fit at the corner ({x:.2f}, {y:.2f})")
