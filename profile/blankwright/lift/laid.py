"""The three numbers of a fit that lays one outline on another."""

from __future__ import annotations

import math
from collections.abc import Sequence

from blankwright.base.arrays import Array
from blankwright.geometry.pose import Pose

TURN = 0.01
"""Numbers of a fit are of one size: a turn counts in hundredths of a radian, 1 mm at 100 mm."""


def pose_of(numbers: Sequence[float] | Array) -> Pose:
    """Return how an outline lies: turned [rad / 100], then shifted ahead and up [mm]."""
    turn, x, y = (float(n) for n in numbers)
    return Pose(x, y, math.degrees(turn * TURN), flipped=False)
