"""What lies in what? Outer contour, holes, and contours where none may be."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from blankwright.base.arrays import Array, Place
from blankwright.base.errors import GeometryError
from blankwright.base.frozen import dataclass
from blankwright.geometry.moments import of_chain
from blankwright.inspection.budget import Budget, TooMuchWorkError
from blankwright.proof import distance
from blankwright.proof.chains import Run

FLAT_MM = 0.01
MAX_POINTS = 20_000
MAX_CONTOURS = 2_000
SAMPLES = 7
"""So many contours are looked at as areas, and so many points of each are looked for in the others."""
TEST, A_SIDE = 60, 40
"""Steps of work for one such look; so many sides of a contour against a point are one step."""
CLOSES_BELOW = 0.5
"""An open run counts as an area when its gap is a smaller share of its length than this."""


@dataclass(frozen=True, eq=False)
class RunArea:
    """A run as an area.

    Args:
        run: The run.
        low: Least x and y [mm].
        high: Greatest x and y [mm].
        length_mm: Along the run [mm].
        area_mm2: Enclosed area, 0 for an open run [mm2].
        clockwise: Whether it runs clockwise.
        depth: How many other areas it lies in; None for an open run that encloses nothing.
        ring: (m, 2) points on it [mm], empty when it encloses nothing.
        inside: Which of the areas holds it, the smallest that does; None for none.
        unplaced: There were too many to say what lies in what.
    """

    run: Run
    low: Array
    high: Array
    length_mm: float
    area_mm2: float
    clockwise: bool
    depth: int | None
    ring: Array
    inside: int | None = None
    unplaced: bool = False

    @property
    def size_mm(self) -> Place:
        """Width and height [mm]."""
        return float(self.high[0] - self.low[0]), float(self.high[1] - self.low[1])

    @property
    def centre_mm(self) -> Place:
        """Middle of the box [mm]."""
        return float(self.high[0] + self.low[0]) / 2, float(self.high[1] + self.low[1]) / 2


def areas_of(runs: Sequence[Run], budget: Budget | None = None) -> list[RunArea]:
    """Return every run as an area with its depth, the largest first; of very many only the largest."""
    if len(runs) > MAX_CONTOURS:
        runs = sorted(runs, key=lambda r: -float(np.ptp(r.vertices[:, :2], axis=0).prod()))[:MAX_CONTOURS]
    made = sorted((_shape(run) for run in runs), key=lambda s: -float(np.prod(np.maximum(s.high - s.low, 1e-9))))
    low, high = (np.array([getattr(s, side) for s in made]).reshape(-1, 2) for side in ("low", "high"))
    closing = np.array([len(s.ring) > 0 for s in made], dtype=bool)
    out: list[RunArea] = []
    work = budget or Budget()
    for k, shape in enumerate(made):
        if not len(shape.ring):
            out.append(shape)
            continue
        around = closing[:k] & (low[:k] <= shape.low + 1e-9).all(axis=1) & (high[:k] >= shape.high - 1e-9).all(axis=1)
        inside = None
        for i in np.flatnonzero(around)[::-1]:  # the smallest first: what holds that one holds this one as well
            try:
                work.spend(TEST + SAMPLES * len(made[i].ring) / A_SIDE, "what lies in what")
            except TooMuchWorkError:
                return [*out, *(replace(s, unplaced=True) for s in made[k:])]
            if _inside(shape, made[i]):
                inside = int(i)
                break
        depth = 0 if inside is None else (out[inside].depth or 0) + 1
        out.append(replace(shape, depth=depth, inside=inside))
    return out


def is_hole(shape: RunArea) -> bool:
    """Say whether an area is a hole: it lies in a part, or in an island of one."""
    return shape.depth is not None and shape.depth % 2 == 1


def _shape(run: Run) -> RunArea:
    v = run.vertices
    if v[:, 2].any():
        pieces = distance.pieces_of(v, run.closed)
        (low, high), length = distance.boxes(pieces), float(pieces.length.sum())
    else:
        low = high = v[:, :2]
        length = float(np.hypot(*np.diff(v[:, :2], axis=0, append=v[: int(run.closed), :2]).T).sum())
    gap = float(np.hypot(*(v[0, :2] - v[-1, :2])))
    area, ring = 0.0, np.zeros((0, 2))
    if run.closed or gap < CLOSES_BELOW * length:
        ring, _ = distance.flatten(v, FLAT_MM, np.inf, MAX_POINTS)
        area = _area(v)
    return RunArea(
        run, low.min(axis=0), high.max(axis=0), length, abs(area) if run.closed else 0.0, area < 0, None, ring
    )


def _area(v: Array) -> float:
    ends = np.roll(v[:, :2], -1, axis=0)
    apart = np.hypot(*(ends - v[:, :2]).T) > 0
    try:
        return of_chain(v[apart, :2], ends[apart], v[apart, 2]).area_mm2
    except (GeometryError, ValueError):
        return 0.0


def contains(ring: Array, points: Array) -> NDArray[np.bool_]:
    """Say which points lie in a polygon, by counting crossings of a level ray.

    Args:
        ring: (m, 2) corners [mm].
        points: (n, 2) [mm].
    """
    a, b = ring, np.roll(ring, -1, axis=0)
    inside = np.zeros(len(points), dtype=bool)
    for low in range(0, len(points), 200):
        p = points[low : low + 200, None]
        spans = (a[:, 1] > p[..., 1]) != (b[:, 1] > p[..., 1])
        rise = np.where(b[:, 1] == a[:, 1], 1.0, b[:, 1] - a[:, 1])
        with np.errstate(over="ignore"):  # hardly rising lines reach the ray infinitely far away, on the right side
            x = a[:, 0] + (p[..., 1] - a[:, 1]) * (b[:, 0] - a[:, 0]) / rise
        inside[low : low + 200] = (spans & (x > p[..., 0])).sum(axis=1) % 2 == 1
    return inside


def _inside(inner: RunArea, outer: RunArea) -> bool:
    """Say whether most of an area's outline lies in another one; crossing ones lie in neither for sure."""
    sample = inner.ring[:: max(1, len(inner.ring) // (SAMPLES - 1))]
    return bool(contains(outer.ring, sample).mean() > 0.5)
