"""How far places lie outside or inside an outline: exactly on its arcs, or quickly against a dense row of places."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from blankwright.base.arrays import Array
from blankwright.geometry.distance import points_to_pieces
from blankwright.geometry.inside import inside
from blankwright.geometry.outline import Outline, points_on

APART_MM = 0.4
"""Places of the row are so far apart: on a bend of 5 mm radius the middle between two is 0.004 mm off, and that is
reckoned with."""


def signed_mm(outline: Outline, points: Array) -> Array:
    """Return the exact distance of places from an outline, plus outside [mm].

    Args:
        outline: Counter-clockwise.
        points: (n, 2) [mm].
    """
    away: Array = points_to_pieces(points, outline.starts, outline.ends, outline.bulges).min(axis=1)
    return np.where(inside(outline, points), -away, away)


class Line:
    """An outline as a dense row of places with the directions out of it: distances by the nearest of them."""

    def __init__(self, outline: Outline, apart_mm: float = APART_MM, *, corners: bool = False) -> None:
        from scipy.spatial import cKDTree  # noqa: PLC0415 - only a fit needs it

        counts = np.maximum(1, np.ceil(outline.lengths / apart_mm)).astype(int)
        self.piece = piece = np.repeat(np.arange(len(outline)), counts)
        first = np.repeat(np.cumsum(counts) - counts, counts)
        # the middles of equal parts, or with the corners the beginning of each part
        share = (np.arange(len(piece)) - first + (0.0 if corners else 0.5)) / counts[piece]
        bulge = outline.bulges[piece]
        self.places = points_on(outline.starts[piece], outline.ends[piece], bulge, share)
        begin, turn = outline.start_tangents[piece], 4 * np.arctan(bulge) * share
        c, s = np.cos(turn), np.sin(turn)
        x, y = begin[:, 0] * c - begin[:, 1] * s, begin[:, 0] * s + begin[:, 1] * c
        self.out = np.column_stack([y, -x])
        self.along_mm = (np.cumsum(outline.lengths) - outline.lengths)[piece] + share * outline.lengths[piece]
        self.reach_mm = outline.bounds_mm[2]
        self.bend = 4 * np.arctan(bulge) / outline.lengths[piece]
        self._half2 = (outline.lengths[piece] / counts[piece] / 2) ** 2
        self._tree = cKDTree(self.places)

    def nearest(self, points: Array) -> NDArray[np.intp]:
        """Return which place of the row is the nearest to each point."""
        near: NDArray[np.intp] = self._tree.query(points)[1]
        return near

    def off(self, points: Array) -> tuple[Array, Array]:
        """Return how far outside places lie [mm], and the (n, 2) directions out there."""
        near = self.nearest(points)
        away = points - self.places[near]
        out = (away * self.out[near]).sum(axis=1)
        along2 = (away * away).sum(axis=1) - out**2
        # past a corner a place lies beyond the end of its piece: what the bend adds ends with the piece
        return out + 0.5 * self.bend[near] * np.minimum(along2, self._half2[near]), self.out[near]
