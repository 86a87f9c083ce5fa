"""A walk along an outline: where it turns, by how much, and the outline with a vertex where one is wanted."""

from __future__ import annotations

from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from blankwright.base.arrays import Array
from blankwright.base.frozen import dataclass
from blankwright.geometry.outline import Outline, points_on

STEPS = 3_000
"""So many places of an outline are looked at: a tenth of a millimetre of a long knife."""

_SLIVER_MM = 0.02
"""No piece this short is cut off: its neighbour's end is as good a place."""


@dataclass(frozen=True, eq=False)
class Walk:
    """An outline by the way that was gone along it.

    Args:
        outline: Counter-clockwise.
    """

    outline: Outline

    @cached_property
    def length_mm(self) -> float:
        """The whole way [mm]."""
        return self.outline.perimeter_mm

    @cached_property
    def vertices_mm(self) -> Array:
        """(n + 1,) way to each vertex, and the whole [mm]."""
        return np.concatenate([[0.0], np.cumsum(self.outline.lengths)])

    @cached_property
    def ways_mm(self) -> Array:
        """(STEPS,) places that are looked at, as ways from the first vertex [mm]."""
        return np.linspace(0.0, self.length_mm, STEPS, endpoint=False)

    @cached_property
    def points(self) -> Array:
        """(STEPS, 2) the places themselves [mm]."""
        return self.at(self.ways_mm)

    def _pieces(self, ways_mm: Array) -> tuple[NDArray[np.intp], Array]:
        ways_mm = np.mod(ways_mm, self.length_mm)
        piece = np.clip(np.searchsorted(self.vertices_mm, ways_mm, side="right") - 1, 0, len(self.outline) - 1)
        return piece, np.clip((ways_mm - self.vertices_mm[piece]) / self.outline.lengths[piece], 0.0, 1.0)

    def at(self, ways_mm: Array) -> Array:
        """Return (m, 2) points [mm] at (m,) ways [mm]."""
        piece, share = self._pieces(ways_mm)
        o = self.outline
        return points_on(o.starts[piece], o.ends[piece], o.bulges[piece], share)

    def within(self, ways_mm: Array, region: str) -> NDArray[np.bool_]:
        """Say which places lie on a piece of a region."""
        of_region = np.array([name == region for name in self.outline.regions])
        return of_region[self._pieces(ways_mm)[0]]

    def turned_deg(self, ways_mm: Array) -> Array:
        """Return how far the outline has turned left since its first vertex, the corner there left out [degrees].

        Ways may lie beyond either end; a whole round turns by 360 degrees.
        """
        o = self.outline
        arcs = np.degrees(4 * np.arctan(o.bulges))
        corners = np.concatenate([[0.0], o.corner_angles_deg[1:]])
        before = np.cumsum(corners) + np.concatenate([[0.0], np.cumsum(arcs)[:-1]])
        piece, share = self._pieces(ways_mm)
        rounds = np.floor(np.asarray(ways_mm) / self.length_mm)
        turned: Array = before[piece] + arcs[piece] * share + 360.0 * rounds
        return turned

    def turn_deg(self, ways_mm: Array, window_mm: float) -> Array:
        """Return how far the outline turns left within a window around places [degrees]."""
        return self.turned_deg(ways_mm + window_mm / 2) - self.turned_deg(ways_mm - window_mm / 2)

    def heading_deg(self, way_mm: float) -> float:
        """Return the direction in which the outline runs at a place [degrees from x]."""
        x, y = self.outline.start_tangents[0]
        return float(np.degrees(np.arctan2(y, x)) + self.turned_deg(np.array([way_mm]))[0])

    def vertex_near(self, way_mm: float, within_mm: float) -> float:
        """Return the way to the vertex with the sharpest corner within a length, or to the place itself [mm]."""
        away = np.abs(np.mod(self.vertices_mm[:-1] - way_mm + self.length_mm / 2, self.length_mm) - self.length_mm / 2)
        near = np.flatnonzero(away <= within_mm)
        if not len(near):
            return way_mm
        best = near[np.argmax(np.abs(self.outline.corner_angles_deg[near]) - away[near] * 1e-3)]
        return float(self.vertices_mm[best])

    def split(self, ways_mm: list[float]) -> tuple[Array, list[int]]:
        """Return the outline's rows with a vertex at each of some ways, and the row of each."""
        cuts = {}
        for way in ways_mm:
            (piece,), (share,) = self._pieces(np.array([way]))
            length = float(self.outline.lengths[piece])
            if share * length < _SLIVER_MM:
                share = 0.0
            elif (1 - share) * length < _SLIVER_MM:
                piece, share = (piece + 1) % len(self.outline), 0.0
            cuts[way] = (int(piece), float(share))
        rows: list[tuple[float, float, float]] = []
        place: dict[tuple[int, float], int] = {}
        for k, (x, y, bulge) in enumerate(self.outline.vertices.tolist()):
            shares = sorted({0.0, *(share for piece, share in cuts.values() if piece == k)})
            for a, b in zip(shares, [*shares[1:], 1.0], strict=True):
                start = (x, y) if a == 0 else self.at(np.array([self.vertices_mm[k] + a * self.outline.lengths[k]]))[0]
                place[k, a] = len(rows)
                whole = a == 0 and b == 1
                rows.append(
                    (float(start[0]), float(start[1]), bulge if whole else float(np.tan(np.arctan(bulge) * (b - a))))
                )
        return np.array(rows), [place[cuts[way]] for way in ways_mm]
