"""An open chain of arcs and lines, such as a line drawn on a surface."""

from __future__ import annotations

import numpy as np

from blankwright.base.arrays import Array, within
from blankwright.base.errors import GeometryError
from blankwright.base.frozen import dataclass
from blankwright.geometry.outline import Outline, circles, points_on

_FLAT_BULGE = 1e-12
_GRID_DIGITS, _BULGE_DIGITS = 6, 8


@dataclass(frozen=True, eq=False)
class Chain:
    """An open chain of arcs and lines.

    Args:
        vertices: (n, 3) array of x [mm], y [mm] and bulge [unitless] to the next vertex; the last bulge has no use.

    Raises:
        GeometryError: Wrong shape, fewer than two vertices, or a number that is not finite.
    """

    vertices: Array

    def __post_init__(self) -> None:
        v = np.array(self.vertices, dtype=np.float64)
        if v.ndim != 2 or v.shape[1] != 3 or len(v) < 2 or not np.isfinite(v).all():
            raise GeometryError("a chain needs at least two vertices of x, y and bulge, all finite")
        v.setflags(write=False)
        object.__setattr__(self, "vertices", v)

    @property
    def starts(self) -> Array:
        """(n - 1, 2) start of each piece [mm]."""
        return self.vertices[:-1, :2]

    @property
    def ends(self) -> Array:
        """(n - 1, 2) end of each piece [mm]."""
        return self.vertices[1:, :2]

    @property
    def bulges(self) -> Array:
        """(n - 1,) bulge of each piece [unitless]."""
        return self.vertices[:-1, 2]

    def moved(self, dx_mm: float, dy_mm: float) -> Chain:
        """Return the same chain elsewhere."""
        return Chain(self.vertices + np.array([dx_mm, dy_mm, 0.0]))

    def on_grid(self) -> Chain:
        """Return the chain with its coordinates and bulges on the grid that outlines have in a file."""
        xy, bulges = np.round(self.vertices[:, :2], _GRID_DIGITS), np.round(self.vertices[:, 2], _BULGE_DIGITS)
        return Chain(np.column_stack([xy, bulges]) + 0.0)

    def flattened(self, tol_mm: float) -> Array:
        """Return (m, 2) points on the chain, both ends among them, no arc further than tol_mm from its chord [mm]."""
        count = np.ones(len(self.bulges), dtype=int)
        arcs = (np.abs(self.bulges) > _FLAT_BULGE).nonzero()[0]
        if len(arcs):
            _, radius = circles(self.starts[arcs], self.ends[arcs], self.bulges[arcs])
            step = 2 * np.arccos(within(1 - tol_mm / radius, -1.0, 1.0))
            count[arcs] = np.maximum(1, np.ceil(4 * np.arctan(np.abs(self.bulges[arcs])) / step)).astype(int)
        piece = np.repeat(np.arange(len(count)), count)
        share = (np.arange(len(piece)) - np.repeat(np.cumsum(count) - count, count)) / count[piece]
        points = points_on(self.starts[piece], self.ends[piece], self.bulges[piece], share)
        return np.concatenate([points, self.vertices[-1:, :2]])


def straight(*points: tuple[float, float]) -> Chain:
    """Return straight pieces from point to point [mm]."""
    return Chain(np.array([[x, y, 0.0] for x, y in points]))


def around(outline: Outline) -> Chain:
    """Return a closed outline as a chain that ends where it began."""
    return Chain(np.concatenate([outline.vertices, outline.vertices[:1]]))
