"""How far places are from a line, with sign and direction: of many places at once, near enough to search with.

Outlines are followed by chords to CHORD_MM, and the nearest chord is found among points no further apart than STEP_MM.
What is found with these is judged by exact distances afterwards (`judge.py`).
"""

from __future__ import annotations

from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from blankwright.base.arrays import Array
from blankwright.geometry.outline import Outline

CHORD_MM, STEP_MM = 0.004, 1.2
MOST_CELLS = 80_000
"""So many cells has a raster, whatever it covers."""


class Line:
    """An outline as chords, to be asked for signed distances: positive on the good side.

    Args:
        outline: The outline, counter-clockwise.
        good: 1 when its inside is good, as of a piece of steel; -1 for a hole in it.
        need_mm: How far away is far enough [mm].
    """

    def __init__(self, outline: Outline, good: float, need_mm: float = 0.0) -> None:
        self.outline, self.good, self.need_mm = outline, good, need_mm
        self.corners = outline.flattened(CHORD_MM)
        self._after = np.roll(self.corners, -1, axis=0)
        d = self._after - self.corners
        self._length = np.maximum(np.hypot(d[:, 0], d[:, 1]), 1e-12)
        self._along = d / self._length[:, None]
        self._normal = np.column_stack([-self._along[:, 1], self._along[:, 0]])  # inward
        count = np.maximum(1, np.ceil(self._length / STEP_MM)).astype(int)
        self._chord = np.repeat(np.arange(len(d)), count)
        t = (np.arange(len(self._chord)) - np.repeat(np.cumsum(count) - count, count)) / count[self._chord]
        self.samples: Array = self.corners[self._chord] + d[self._chord] * t[:, None]

    @cached_property
    def _tree(self) -> Any:
        from scipy.spatial import cKDTree  # noqa: PLC0415 - heavy, needed only here

        return cKDTree(self.samples)

    def near(self, points: Array, mm: float) -> NDArray[np.intp]:
        """Return the numbers of the places that lie within a distance of the line, and of a few further ones."""
        found: NDArray[np.intp] = np.nonzero(self._tree.query(points, distance_upper_bound=mm + STEP_MM)[0] < np.inf)[0]
        return found

    def signed(self, points: Array) -> tuple[Array, Array]:
        """Return (n,) signed distances [mm], positive inside, and (n, 2) directions in which they grow."""
        away, mm, inward, side = self._nearest(points)
        size = np.maximum(np.hypot(inward[:, 0], inward[:, 1]), 1e-12)
        way = np.where((mm > 1e-9)[:, None], away * (side / np.maximum(mm, 1e-12))[:, None], inward / size[:, None])
        return mm * side, way

    def distances(self, points: Array) -> Array:
        """Return (n,) signed distances alone [mm], positive inside."""
        _, mm, _, side = self._nearest(points)
        return mm * side

    def _nearest(self, points: Array) -> tuple[Array, Array, Array, Array]:
        """Return the way from the nearest place, how long it is [mm], which way is inward there, and the side."""
        n = len(self.corners)
        nearest = self._chord[self._tree.query(points)[1]]
        chords = np.stack([(nearest - 1) % n, nearest, (nearest + 1) % n], axis=1)
        w = points[:, None] - self.corners[chords]
        t = np.clip((w * self._along[chords]).sum(axis=2), 0.0, self._length[chords])
        away = w - self._along[chords] * t[..., None]
        apart = np.hypot(away[..., 0], away[..., 1])
        rows, pick = np.arange(len(points)), apart.argmin(axis=1)
        chord, t, away, mm = chords[rows, pick], t[rows, pick], away[rows, pick], apart[rows, pick]
        inward = self._normal[chord]
        first, last = t <= 0, t >= self._length[chord]
        inward = np.where(first[:, None], inward + self._normal[(chord - 1) % n], inward)
        inward = np.where(last[:, None], inward + self._normal[(chord + 1) % n], inward)
        side = np.where((away * inward).sum(axis=1) >= 0, 1.0, -1.0)
        return away, mm, inward, side


class Raster:
    """The least of several signed distances, less what each needs, on a grid: for looking up many places quickly.

    Args:
        lines: Outlines with their good sides.
        reach_mm: How far around their box the grid goes on [mm].
    """

    def __init__(self, lines: list[Line], reach_mm: float) -> None:
        boxes = np.array([line.outline.bounds_mm for line in lines])
        low, high = boxes[:, :2].min(axis=0) - reach_mm, boxes[:, 2:].max(axis=0) + reach_mm
        self.step_mm = max(0.5, float(np.sqrt((high - low).prod() / MOST_CELLS)))
        self._low = low
        self._count = np.ceil((high - low) / self.step_mm).astype(int) + 1
        x, y = (low[a] + np.arange(self._count[a]) * self.step_mm for a in (0, 1))
        places = np.stack(np.meshgrid(x, y, indexing="ij"), axis=-1).reshape(-1, 2)
        self._values = np.min([line.good * line.distances(places) - line.need_mm for line in lines], axis=0)

    def at(self, x: Array, y: Array) -> Array:
        """Return the value at places [mm], to half a cell; beyond the grid it falls with the distance."""
        u, v = (x - self._low[0]) / self.step_mm, (y - self._low[1]) / self.step_mm
        i = np.clip((u + 0.5).astype(np.int32), 0, self._count[0] - 1)
        j = np.clip((v + 0.5).astype(np.int32), 0, self._count[1] - 1)
        beyond = np.maximum(np.abs(u - i), np.abs(v - j)) - 0.5
        found: Array = self._values[i * self._count[1] + j] - np.maximum(beyond, 0.0) * self.step_mm
        return found
