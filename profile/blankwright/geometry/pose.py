"""Where a design lies on something: its coordinates mirrored in x when flipped, turned about the heel, then shifted."""

from __future__ import annotations

from math import cos, radians, sin

import numpy as np

from blankwright.base.arrays import Array
from blankwright.base.frozen import dataclass
from blankwright.geometry.outline import Outline

PLACE_DIGITS, TURN_DIGITS = 4, 6
"""Decimals of a placing that is handed out: over half a metre the last one of the turn moves a point by 0.00001 mm."""


@dataclass(frozen=True)
class Pose:
    """A placing.

    Args:
        x_mm: Where the heel comes to lie on the piece, along it [mm].
        y_mm: The same across it [mm].
        turn_deg: How far the design is turned, counter-clockwise [degrees].
        flipped: Whether it is turned over first: x becomes -x, so that its left face lies up.
    """

    x_mm: float
    y_mm: float
    turn_deg: float
    flipped: bool

    @property
    def matrix(self) -> Array:
        """(2, 2): what the design's coordinates are multiplied by before the shift."""
        c, s = cos(radians(self.turn_deg)), sin(radians(self.turn_deg))
        side = -1.0 if self.flipped else 1.0
        return np.array([[c * side, -s], [s * side, c]])

    def points(self, points: Array) -> Array:
        """Return (n, 2) places of the design as places on the piece [mm]."""
        placed: Array = points @ self.matrix.T + np.array([self.x_mm, self.y_mm])
        return placed

    def back(self, points: Array) -> Array:
        """Return (n, 2) places on the piece as places of the design [mm]."""
        found: Array = (points - np.array([self.x_mm, self.y_mm])) @ self.matrix
        return found

    def outline(self, outline: Outline) -> Outline:
        """Return an outline of the design as it lies on the piece, counter-clockwise as before."""
        v = outline.vertices
        bulges = -v[:, 2] if self.flipped else v[:, 2]
        laid = Outline(np.column_stack([self.points(v[:, :2]), bulges]), outline.regions, outline.max_error_mm)
        return laid.reversed() if self.flipped else laid

    def rounded(self) -> Pose:
        """Return the placing in the digits that are handed out, its turn over -180 and up to 180 degrees."""
        turn = 180.0 - round(180.0 - self.turn_deg, TURN_DIGITS) % 360.0
        return Pose(
            round(self.x_mm, PLACE_DIGITS) + 0.0,
            round(self.y_mm, PLACE_DIGITS) + 0.0,
            round(turn, TURN_DIGITS) + 0.0,
            self.flipped,
        )


def angle_between(one_deg: float, other_deg: float) -> float:
    """Return the angle between two directions of which neither has a front [degrees, 0 to 90]."""
    return abs((one_deg - other_deg + 90.0) % 180.0 - 90.0)
