"""A placing as it is drawn: the blank along the sheet, the piece around it, and how far it is to the real edges."""

from __future__ import annotations

from functools import cached_property

import numpy as np
import shapely

from blankwright.base.arrays import Array, Place
from blankwright.base.frozen import dataclass
from blankwright.geometry.chain import Chain
from blankwright.geometry.outline import Outline
from blankwright.geometry.pose import Pose
from blankwright.stock.place import Placed

AROUND_MM = (90.0, 45.0, 20.0)
"""So much of the piece is drawn around the blank, the first where it costs no further sheet."""

FLAT_MM = 0.01


@dataclass(frozen=True)
class Distance:
    """How far it is from a place of the blank to the piece's edge, along or across the blank.

    Args:
        name: Which place.
        at: The place [mm].
        to: Where the edge is met [mm].
        mm: How far [mm].
    """

    name: str
    at: Place
    to: Place
    mm: float


@dataclass(frozen=True, eq=False)
class Laid:
    """A placing turned back so that the blank lies along x; seen on the piece as it lies, never mirrored.

    Args:
        placed: The placing.
        around_mm: How much of the piece around the blank is drawn [mm].
    """

    placed: Placed
    around_mm: float

    @property
    def pose(self) -> Pose:
        """How the design lies in these coordinates: turned over or not, neither turned nor shifted."""
        return Pose(0.0, 0.0, 0.0, self.placed.pose.flipped)

    @cached_property
    def cut(self) -> Outline:
        """The cut outline."""
        return self.pose.outline(self.placed.wanted.cut)

    @cached_property
    def finished(self) -> Outline:
        """The finished outline."""
        return self.pose.outline(self.placed.wanted.knife.finished)

    def point(self, x_mm: float, y_mm: float) -> Place:
        """Return a place of the design."""
        x, y = self.pose.points(np.array([[x_mm, y_mm]]))[0].tolist()
        return x, y

    def from_piece(self, outline: Outline) -> Outline:
        """Return an outline of the piece in these coordinates."""
        pose = self.placed.pose
        return outline.moved(-pose.x_mm, -pose.y_mm).placed(-pose.turn_deg, 0.0, 0.0)

    @cached_property
    def edge(self) -> Outline:
        """The edge of the piece."""
        return self.from_piece(self.placed.piece.outline)

    @cached_property
    def window(self) -> tuple[float, float, float, float]:
        """Least x and y, greatest x and y of what is drawn."""
        x0, y0, x1, y1 = self.cut.bounds_mm
        return x0 - self.around_mm, y0 - self.around_mm, x1 + self.around_mm, y1 + self.around_mm

    def seen(self, outline: Outline) -> list[Chain]:
        """Return what of an outline lies in the window, as straight pieces within FLAT_MM."""
        points = outline.flattened(FLAT_MM)
        ring = shapely.LineString([*points, points[0]])
        found = ring.intersection(shapely.box(*self.window))
        lines = [g for g in getattr(found, "geoms", [found]) if g.geom_type == "LineString" and g.length > 0.1]
        merged = shapely.line_merge(shapely.MultiLineString(lines)) if lines else shapely.MultiLineString()
        return [_chain(np.array(g.coords)) for g in getattr(merged, "geoms", [merged]) if not g.is_empty]

    def distances(self) -> list[Distance]:
        """Return how far it is to the edge from the ends of the blank, and from its highest and lowest places."""
        points = self.cut.flattened(FLAT_MM)
        x = points[:, 0]
        low, high = float(x.min()), float(x.max())
        third = (high - low) / 3
        left, right = ("tip", "butt") if self.pose.flipped else ("butt", "tip")
        wanted = [
            (left, points[x.argmin()], (-1.0, 0.0)),
            (right, points[x.argmax()], (1.0, 0.0)),
        ]
        for part, name in ((x < low + third, left), (x > high - third, right)):
            some = points[part]
            wanted += [
                (f"above the {name}", some[some[:, 1].argmax()], (0.0, 1.0)),
                (f"below the {name}", some[some[:, 1].argmin()], (0.0, -1.0)),
            ]
        found = [self._to_edge(name, at, way) for name, at, way in wanted]
        return [one for one in found if one is not None]

    def _to_edge(self, name: str, at: Array, way: tuple[float, float]) -> Distance | None:
        far = at + np.array(way) * 1e5
        ray = shapely.LineString([at, far])
        points = self.edge.flattened(FLAT_MM)
        met = ray.intersection(shapely.LinearRing(points))
        if met.is_empty:
            return None
        spots = [c for g in getattr(met, "geoms", [met]) for c in g.coords]
        to = min(spots, key=lambda c: float(np.hypot(c[0] - at[0], c[1] - at[1])))
        mm = float(np.hypot(to[0] - at[0], to[1] - at[1]))
        return Distance(name, (float(at[0]), float(at[1])), (float(to[0]), float(to[1])), mm)


def _chain(points: Array) -> Chain:
    return Chain(np.column_stack([points, np.zeros(len(points))]))
