"""How the control points of a family follow the asked dimensions, before the fine solve.

Six frames say how a point moves, so that a blade is scaled while a handle keeps the size of a hand:
    edge     x with the blade length, y with the tip height: points on the board line stay on it
    spine    x with the blade length (behind the heel with the handle gap), y between tip height and heel height
    handle   x with the handle (or hidden tang) length behind the handle front, y moved with the heel height
             and spread with the tang heights
    neck     moved with handle front and heel height, whatever the height of the tang (shoulders of a hidden tang)
    notch    between heel corner and handle: the far half moves with the handle, the near half is stretched
    choil    the inner corner between heel line and handle: as high as the handle's underside, on the line of the heel
"""

from __future__ import annotations

from collections.abc import Sequence, Set
from functools import cached_property, lru_cache
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from blankwright.base.arrays import Array, within
from blankwright.base.errors import RequestError
from blankwright.base.frozen import dataclass
from blankwright.design.lines import LEAN_UP_MM
from blankwright.design.parts import FRAMES, LEAST_STEP_MM, Curve, Family, Station
from blankwright.geometry.spline import Spline, greville
from blankwright.geometry.steady import inverse, product

HOLD = 4e-3
"""Weight of "stay where you are" against "move your neighbours alike" in the fine solve: a correction fades
over about four control points. Ours, chosen by eye on the curvature of the shipped families."""

_FALLING, _RISING = 1.495, 1.8
"""How late along the blade a spine takes part that is asked lower, or higher, than by itself. By eye and by hollows."""


@dataclass(frozen=True, eq=False)
class SplinePlan:
    """One smooth stretch of the outline, from corner to corner.

    Args:
        curves: The curves merged into it.
        points: (n, 2) control points at the default dimensions [mm]; two of them are a straight line.
        frames: (n,) frame of each point.
        ranges: For each curve, the first and last spline parameter that belong to it.
        joint: How its last corner is kept: "sharp" or a radius [mm].
        loosening: (2, n, n) inverse metric of the fine solve for x and y; zero where a coordinate is held.
        notch_weights: (n,) share of the handle's movement that a notch point takes [unitless].
    """

    curves: tuple[Curve, ...]
    points: Array
    frames: tuple[str, ...]
    ranges: tuple[tuple[float, float], ...]
    joint: str | float
    loosening: Array
    notch_weights: Array


@dataclass(frozen=True, eq=False)
class Sink:
    """How the placed points of a spine move as a whole, so that it is as high as was asked where that is measured.

    Args:
        name: The dimension that is asked for.
        falling: For each stretch (n,) the rise of its points for each mm that the spine shall be lower [unitless].
        rising: The same of a spine that shall be higher.
    """

    name: str
    falling: tuple[Array, ...]
    rising: tuple[Array, ...]


def spline_of(points: Array, family: Family) -> Spline:
    """Return the curve of a stretch's control points: of the family's degree where there are enough of them."""
    return Spline(points, min(family.degree, len(points) - 1))


@lru_cache(maxsize=64)
def plan(family: Family, construction: str) -> tuple[SplinePlan, ...]:
    """Return the smooth stretches of a family's outline, in order from the heel corner."""
    stretches: list[list[Curve]] = [[]]
    for curve in family.curves[construction]:
        stretches[-1].append(curve)
        if curve.joint != "smooth":
            stretches.append([])
    plans = []
    before: Curve | None = None
    for stretch in stretches[:-1]:
        plans.append(_stretch(stretch, before, family))
        before = stretch[-1]
    return tuple(plans)


def _stretch(curves: list[Curve], before: Curve | None, family: Family) -> SplinePlan:
    """Merge curves between two corners; the first corner is the end of the curve before and moves as that does."""
    lead = [] if before is None else [before.points[-1]]
    points = np.array([*lead, *(p for c in curves for p in c.points)])
    frames = [
        *(before.frame for _ in lead if before is not None),
        *(c.frame for c in curves for _ in c.points),
    ]
    counts = [len(lead) + len(curves[0].points), *(len(c.points) for c in curves[1:])]
    if len(points) == 2 and (points[0] != points[1]).any():
        span = ((0.0, 1.0),)
        return SplinePlan(tuple(curves), points, tuple(frames), span, curves[-1].joint, np.zeros((2, 2, 2)), np.ones(2))
    if len(points) < family.degree + 1:
        raise RequestError(
            f"{family.path} curve '{curves[0].name}': {len(points)} points between two corners; "
            f"a line needs 2 and a curve at least {family.degree + 1}. A point is missing."
        )
    if (np.hypot(*np.diff(points, axis=0).T) < 1e-6).any():
        raise RequestError(f"{family.path} curve '{curves[0].name}': two neighbouring points are the same.")
    pull = greville(family.degree, len(points))
    last = np.cumsum(counts)[:-1]
    limits = [0.0, *((pull[i - 1] + pull[i]) / 2 for i in last), float(len(points) - family.degree)]
    ranges = tuple((float(a), float(b)) for a, b in pairwise(limits))
    return SplinePlan(
        tuple(curves),
        points,
        tuple(frames),
        ranges,
        curves[-1].joint,
        _loosening(points, frames),
        _notch_weights(points, frames),
    )


def _loosening(points: Array, frames: list[str]) -> Array:
    """Invert the metric HOLD |d|^2 + |second differences of d|^2 over the coordinates that may move."""
    n = len(points)
    second = np.diff(np.eye(n), 2, axis=0)
    metric = HOLD * np.eye(n) + product(second.T, second)
    out = np.zeros((2, n, n))
    for axis in (0, 1):
        free = np.ones(n, dtype=bool)
        free[[0, -1]] = False  # corners are placed exactly
        if axis == 1:
            free &= ~((points[:, 1] == 0) & (np.array(frames) == "edge"))  # the flat stays on the board line
        rows = free.nonzero()[0]
        if len(rows):
            out[axis][np.ix_(rows, rows)] = inverse(metric[np.ix_(rows, rows)])
    return out


def _notch_weights(points: Array, frames: list[str]) -> Array:
    weights = np.ones(len(points))
    rows = [i for i, f in enumerate(frames) if f == "notch"]
    if rows:
        run = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points[rows[::-1]], axis=0).T))])[::-1]
        weights[rows] = within(2 * run / max(run.max(), 1e-9), 0, 1)
    return weights


@lru_cache(maxsize=64)
def _masks(frames: tuple[str, ...]) -> dict[str, NDArray[np.bool_]]:
    """Return for each frame which points it moves."""
    return {name: np.array([f == name for f in frames]) for name in FRAMES}


@dataclass(frozen=True)
class Frame:
    """The named places of one knife and how far its points move from the family's drawing.

    Args:
        values_mm: Every dimension, asked or followed [mm].
        construction: full, hidden or one-piece.
    """

    family: Family
    construction: str
    values_mm: dict[str, float]

    @property
    def reach_name(self) -> str:
        """Name of the dimension that says how far the tang runs behind the front."""
        return "tang_length" if "tang_length" in self.values_mm else "handle_length"

    @property
    def places_mm(self) -> dict[str, float]:
        """Station x of the named points [mm]."""
        v = self.values_mm
        front = -v["handle_gap"]
        return {"heel": 0.0, "tip": v["blade_length"], "front": front, "butt": front - v[self.reach_name]}

    def place(self, points: Array, frames: tuple[str, ...], notch_weights: Array) -> Array:
        """Return (n, 2) control points moved from the drawing to this knife's dimensions [mm]."""
        masks = _masks(frames)
        out = points.copy()
        v, d = self.values_mm, self._defaults
        long, tip, tip0 = v["blade_length"] / d["blade_length"], v["tip_height"], d["tip_height"]
        gap = v["handle_gap"] / d["handle_gap"] if d["handle_gap"] else 1.0
        lift = v["heel_height"] - d["heel_height"]
        grown = 0.0 if self.construction == "hidden" else self._growth_knots[1][0]  # of the tang at its front
        if "edge" in frames:
            m = masks["edge"]
            out[m, 0] = self._along_edge(points[m, 0])
            out[m, 1] *= tip / tip0 if tip0 else 1.0
        if "spine" in frames:
            m = masks["spine"]
            out[m, 0] *= np.where(points[m, 0] > 0, long, gap)
            out[m, 1] = tip + (points[m, 1] - tip0) * (v["heel_height"] - tip) / (d["heel_height"] - tip0)
        if "handle" in frames:
            m = masks["handle"]
            stretch = v[self.reach_name] / d[self.reach_name]
            out[m, 0] = -v["handle_gap"] + (points[m, 0] - self.family.front_mm[0]) * stretch
            out[m, 1] += lift + self._spread(points[m]) + self._raise / 2
        if "neck" in frames:
            m = masks["neck"]
            out[m, 0] += d["handle_gap"] - v["handle_gap"]
            out[m, 1] += lift + self._raise
        if "choil" in frames:
            self._place_choil(points, out, masks["choil"], lift + self._raise - grown, gap)
        if "notch" in frames:
            m = masks["notch"]
            out[m, 1] += notch_weights[m] * (lift - grown)
            # along x the notch is scaled with the gap, so that nothing of it ever comes ahead of the heel
            out[m, 0] *= 1 + notch_weights[m] * (gap - 1)
            out[m, 0] += _kept_lean(points[m], out[m, 1], notch_weights[m])
        return out

    def _place_choil(self, points: Array, out: Array, mask: NDArray[np.bool_], up: float, gap: float) -> None:
        """Move the inner corner and the underside ahead of the handle up, and keep them on their lines."""
        out[mask, 1] += up
        for i in mask.nonzero()[0].tolist():
            if i + 1 < len(points) and points[i, 1] == points[i + 1, 1]:
                out[i, 0] *= gap  # on the underside, ahead of the handle
            elif points[i, 1] > 0:
                out[i, 0] *= out[i, 1] / points[i, 1]  # on the line of the heel, whatever its height
                lean = self.values_mm.get("heel_lean")
                corner = i in (0, len(points) - 1)  # as drawn the file's own angle holds
                if corner and lean is not None and lean != self._defaults["heel_lean"]:
                    out[i, 0] = -out[i, 1] * lean / LEAN_UP_MM
            else:
                out[i] = points[i]  # the heel corner

    def sinks(self, plans: Sequence[SplinePlan], placed: Sequence[Array], asked: Set[str]) -> tuple[Sink, ...]:
        """Return how the spine sinks where a free dimension of it is asked for.

        The whole spine takes part: what falls in one place only would be a hollow or a hump. It neither turns at the
        heel, from which the handle runs back, nor moves the tip.
        """
        out = []
        for one in self.family.offered(self.construction):
            station = one.measure.second if one.measure.kind == "drop" else one.measure.station
            if one.name not in ("spine_drop", "belly_height") or not one.free or one.name not in asked:
                continue
            if station is None or station.share is None or not 0 < station.share < 1:
                continue
            ways: list[tuple[Array, ...]] = []
            for power in (_FALLING, _RISING):
                full = station.share**power * (1 - station.share)
                along = [within(p[:, 0] / self.values_mm["blade_length"], 0, 1) for p in placed]
                ways.append(
                    tuple(
                        np.where(_masks(p.frames)["spine"], -(x**power) * (1 - x) / full, 0.0)
                        for p, x in zip(plans, along, strict=True)
                    )
                )
            out.append(Sink(one.name, *ways))
        return tuple(out)

    def _along_edge(self, x: Array) -> Array:
        """Return moved x of edge points: with the flat as far as it goes, with the rest of the blade ahead of it."""
        v, d = self.values_mm, self._defaults
        if "flat_length" not in v:
            return x * (v["blade_length"] / d["blade_length"])
        moved: Array = np.interp(
            x, [0.0, d["flat_length"], d["blade_length"]], [0.0, v["flat_length"], v["blade_length"]]
        )
        beyond = x > d["blade_length"]  # a round tip has control points ahead of the foremost point
        return np.where(beyond, x * (v["blade_length"] / d["blade_length"]), moved)

    @cached_property
    def _raise(self) -> float:
        """How much higher than drawn the shoulder of a hidden tang stands, so that a low blade keeps its heel [mm]."""
        lift = self.values_mm["heel_height"] - self._defaults["heel_height"]
        if self.construction != "hidden" or self.family.step_mm is None:
            return 0.0
        return max(0.0, LEAST_STEP_MM - (self.family.step_mm["hidden"] + lift))

    @cached_property
    def _defaults(self) -> dict[str, float]:
        return {d.name: d.default_mm for d in self.family.offered(self.construction)}

    def _growth(self, share: Array) -> Array:
        """Growth of the tang's height over the drawing, at a share of the way from front to butt [mm].

        It is what was asked where the heights are measured, the same beyond the first and the last of these places, and
        passes smoothly from one to the next without going further than either (a monotone cubic).
        """
        at, grown, slope = self._growth_knots
        if len(at) == 1:
            return np.full(np.shape(share), grown[0])
        x = within(share, at[0], at[-1])
        i = np.searchsorted(at[1:-1], x, side="right")
        long = at[i + 1] - at[i]
        t = (x - at[i]) / long
        rise = grown[i + 1] - grown[i]
        out: Array = (
            grown[i]
            + rise * t * t * (3 - 2 * t)
            + long * (slope[i] * t * (1 - t) ** 2 - slope[i + 1] * t * t * (1 - t))
        )
        return out

    @cached_property
    def _growth_knots(self) -> tuple[Array, Array, Array]:
        """Where the tang's height is measured, as shares from front to butt, its growth there [mm], and slopes."""
        v, d = self.values_mm, self._defaults
        known = [
            (self._share_of(one.measure.station), v[one.name] - d[one.name])
            for one in self.family.offered(self.construction)
            if one.name in ("tang_front", "tang_middle", "tang_butt") and one.measure.station is not None
        ]
        if not known and "tang_front" in v:
            known = [(0.0, v["tang_front"] - d["tang_front"])]
        if {growth for _, growth in known} <= {0.0}:
            return np.zeros(1), np.zeros(1), np.zeros(1)
        at, grow = np.array(sorted(known)).T
        slope = np.zeros(len(at))  # nothing beyond the ends, so it begins and ends level
        steep = np.diff(grow) / np.diff(at)
        for i in range(1, len(at) - 1):
            if steep[i - 1] * steep[i] > 0:
                slope[i] = 2 / (1 / steep[i - 1] + 1 / steep[i])
        return at, grow, slope

    def _share_of(self, station: Station) -> float:
        """Return where a station is on the way from the handle's front to its butt."""
        reach = self.values_mm[self.reach_name]
        share = station.share if station.mm is None else station.mm / reach
        return (share or 0.0) if station.start == "front" else 1 - (share or 0.0)

    def _spread(self, points: Array) -> Array:
        """Movement of handle points up or down from the growth of the tang's height [mm]."""
        _, known, _ = self._growth_knots
        if len(known) == 1 and not known[0]:
            return np.zeros(len(points))
        front, butt = np.array(self.family.front_mm), np.array(self.family.butt_mm)
        reach = self._defaults[self.reach_name]
        share = (front[0] - points[:, 0]) / reach
        middle = front[1] + (butt[1] - front[1]) * share
        d = self._defaults
        heights = [d.get(n, d["heel_height"] / 2) for n in ("tang_front", "tang_middle", "tang_butt")]
        height = np.interp(share, [0, 0.5, 1], heights)
        above = within(0.5 + (points[:, 1] - middle) / height, 0, 1)  # 0 underside, 1 top
        if self.construction == "hidden":  # a stick between two lines has no inside: it grows as it is drawn
            grown: Array = self._growth(np.zeros(1))[0] / d["tang_front"] * (points[:, 1] - middle)
            return grown
        # the top of a full handle runs on from the spine, so as far as its middle all growth goes down
        down = np.interp(share, [0, 0.5, 1], [1, 1, 0.5])
        spread: Array = self._growth(share) * ((1 - down) * above - down * (1 - above))
        return spread


def _kept_lean(drawn: Array, moved_y: Array, weights: Array) -> Array:
    """Return the shift along x that keeps the lean of the heel line when the notch becomes higher or lower [mm].

    Points on the stretched half keep the direction from the heel corner; beyond it the shift fades to nothing at
    the handle.
    """
    if not len(drawn):
        return np.zeros(0)
    ratio = np.where(drawn[:, 1] > 0, moved_y / np.where(drawn[:, 1] > 0, drawn[:, 1], 1.0), 1.0)
    shift: Array = drawn[:, 0] * (within(ratio, 0.6, 1.6) - 1)
    full = (weights >= 1).nonzero()[0]
    if not len(full):
        return shift
    last = int(full[-1])  # the points run from the handle to the heel
    fade = np.linspace(0, 1, last + 1)
    shift[: last + 1] = shift[last] * fade
    return shift
