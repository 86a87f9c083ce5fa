"""How one outline lies on another: turned about the origin, then shifted."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import ClassVar

import numpy as np

from blankwright.base.arrays import Array
from blankwright.base.frozen import dataclass


@dataclass(frozen=True)
class Laid:
    """A turn about the origin and a shift.

    Args:
        turn_deg: Counter-clockwise [degrees].
        x_mm: Shift ahead [mm].
        y_mm: Shift up [mm].
    """

    TURN: ClassVar[float] = 0.01
    """Numbers of a fit are of one size: a turn counts in hundredths of a radian, 1 mm at 100 mm."""

    turn_deg: float
    x_mm: float
    y_mm: float

    @staticmethod
    def of_numbers(numbers: Sequence[float] | Array) -> Laid:
        """Return it from the numbers of a fit: turn [rad / 100], shift [mm]."""
        turn, x, y = (float(n) for n in numbers)
        return Laid(math.degrees(turn * Laid.TURN), x, y)

    def of(self, points: Array) -> Array:
        """Return (n, 2) places as they lie [mm]."""
        c, s = math.cos(math.radians(self.turn_deg)), math.sin(math.radians(self.turn_deg))
        x, y = points[:, 0], points[:, 1]
        return np.column_stack([c * x - s * y + self.x_mm, s * x + c * y + self.y_mm])

    def back(self, points: Array) -> Array:
        """Return (n, 2) places before they were laid [mm]."""
        c, s = math.cos(math.radians(self.turn_deg)), math.sin(math.radians(self.turn_deg))
        x, y = points[:, 0] - self.x_mm, points[:, 1] - self.y_mm
        return np.column_stack([c * x + s * y, -s * x + c * y])
