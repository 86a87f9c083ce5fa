"""Where on a face is there room for a mark? Inside the outline, off its edge and its holes, and not on the grind."""

from __future__ import annotations

from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from blankwright.base.arrays import Array
from blankwright.base.frozen import dataclass
from blankwright.geometry.distance import points_to_pieces
from blankwright.geometry.outline import Outline
from blankwright.ink.strokes import Stroked

_GRID_MM, _PLACES = 0.5, 90
"""Places for a mark are tried this far apart, and in a long room no more than so many along it."""
_FLAT_MM = 0.01
_ROUGH_MM = 0.1
"""Inside or not is asked of a polygon this rough: what lies nearer to the outline is too near anyway."""
_SMALL = 1e-9


@dataclass(frozen=True, eq=False)
class Room:
    """The part of a face that a mark may stand on.

    Args:
        outline: The finished outline.
        from_mm: Where it begins along x [mm].
        to_mm: Where it ends [mm].
        wall_mm: How far inside the outline it ends [mm].
        holes: (n, 3) x, y and diameter of holes [mm].
        clear_mm: How far a mark keeps from a hole [mm].
        ground: (n, 2) upper border of what is ground, from where the grind begins to the tip; None for none [mm].
    """

    outline: Outline
    from_mm: float
    to_mm: float
    wall_mm: float
    holes: Array
    clear_mm: float
    ground: Array | None

    @property
    def reach_mm(self) -> tuple[float, float]:
        """Where it begins and ends along x [mm]."""
        return self.from_mm, self.to_mm

    @cached_property
    def _polygon(self) -> Array:
        return self.outline.flattened(min(_ROUGH_MM, self.wall_mm / 4) if self.wall_mm > 0 else _FLAT_MM)

    def free(self, points: Array) -> NDArray[np.bool_]:
        """Return which of (m, 2) points may be marked [mm]."""
        good = (points[:, 0] >= self.from_mm - _SMALL) & (points[:, 0] <= self.to_mm + _SMALL)
        for x, y, d in self.holes:
            good &= np.hypot(points[:, 0] - x, points[:, 1] - y) >= d / 2 + self.clear_mm - _SMALL
        good &= ~self._on_grind(points)
        good[good] &= self._inside(points[good])
        good[good] &= self._wall(points[good]) >= self.wall_mm - _SMALL  # the dearest comes last
        return good

    def fault(self, placed: Stroked) -> str | None:
        """Return what is wrong with a mark where it stands, or None: a clause and a full stop."""
        points = np.concatenate([chain.flattened(_FLAT_MM) for chain in placed.chains])
        if not self._inside(points).all():
            return "does not lie on the blank."
        wall = self._wall(points)
        if wall.min() < self.wall_mm - _SMALL:
            return f"comes to {wall.min():.2f} mm from the edge; it must keep {self.wall_mm:g} mm."
        for x, y, d in self.holes:
            away = float((np.hypot(points[:, 0] - x, points[:, 1] - y) - d / 2).min())
            if away < self.clear_mm - _SMALL:
                near = f"comes to {max(away, 0.0):.2f} mm from the hole at x = {x:.1f} mm"
                return f"{near}; it must keep {self.clear_mm:g} mm."
        if self._on_grind(points).any():
            return "stands where the bevel is ground and would be ground away."
        return None

    def place(self, wide_mm: float, high_mm: float) -> tuple[float, float] | None:
        """Return the middle of a place for a box, as near the middle of the room as there is; None without one."""
        x0, y0, x1, y1 = self.outline.bounds_mm
        x0, x1 = max(x0, self.from_mm), min(x1, self.to_mm)
        if x1 - x0 < wide_mm or y1 - y0 < high_mm:
            return None
        apart = max(_GRID_MM, (x1 - x0) / _PLACES)
        xs = np.linspace(x0, x1, max(2, int(np.ceil((x1 - x0) / apart)) + 1))
        ys = np.arange(y0, y1 + apart, apart)
        grid = np.stack(np.meshgrid(xs, ys, indexing="ij"), axis=-1)
        good = self.free(grid.reshape(-1, 2)).reshape(grid.shape[:2])
        if not good.any():
            return None
        step = xs[1] - xs[0]
        nx, ny = int(np.ceil(wide_mm / step - 1e-6)), int(np.ceil(high_mm / apart - 1e-6))
        if nx >= len(xs) or ny >= len(ys):
            return None
        total = np.zeros((len(xs) + 1, len(ys) + 1))
        total[1:, 1:] = np.cumsum(np.cumsum(good, axis=0), axis=1)
        filled = (
            total[nx + 1 :, ny + 1 :]
            - total[: -nx - 1, ny + 1 :]
            - total[nx + 1 :, : -ny - 1]
            + total[: -nx - 1, : -ny - 1]
        )
        found = np.argwhere(filled == (nx + 1) * (ny + 1))
        if not len(found):
            return None
        middles = np.column_stack(
            [(xs[found[:, 0]] + xs[found[:, 0] + nx]) / 2, (ys[found[:, 1]] + ys[found[:, 1] + ny]) / 2]
        )
        centre = grid[good].mean(axis=0)
        away = np.round(np.hypot(*(middles - centre).T), 6)  # of those alike the first, whatever the processor
        x, y = middles[int(np.argmin(away))]
        return round(float(x), 3), round(float(y), 3)

    def _wall(self, points: Array) -> Array:
        o = self.outline
        return np.asarray(points_to_pieces(points, o.starts, o.ends, o.bulges).min(axis=1))

    def _inside(self, points: Array) -> NDArray[np.bool_]:
        """Return which points lie inside: an upright line from each crosses the outline an odd number of times."""
        a, b = self._polygon, np.roll(self._polygon, -1, axis=0)
        x, y = points[:, :1], points[:, 1:]
        spans = (a[:, 0] > x) != (b[:, 0] > x)
        run = np.where(b[:, 0] == a[:, 0], 1.0, b[:, 0] - a[:, 0])
        at = a[:, 1] + (x - a[:, 0]) * (b[:, 1] - a[:, 1]) / run
        odd: NDArray[np.bool_] = (spans & (at > y)).sum(axis=1) % 2 == 1
        return odd

    def _on_grind(self, points: Array) -> NDArray[np.bool_]:
        if self.ground is None:
            return np.zeros(len(points), dtype=bool)
        x, tops = self.ground.T
        top = np.where(np.isfinite(tops), tops, 1e6)
        inside = (points[:, 0] >= x[0]) & (points[:, 0] <= x[-1])
        below: NDArray[np.bool_] = points[:, 1] < np.interp(points[:, 0], x, top)
        return np.asarray(inside & below)
