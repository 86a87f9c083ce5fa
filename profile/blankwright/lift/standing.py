"""How a thing stands lowest on a flat board: the length and the height that a maker measures of it.

A height across a direction that is badly known is badly known itself, and of a low knife with a short flat the board
line is. How low a thing can stand is not: a board touches it in two places, its highest place is above the way between
them, and the height is off by no more than these three places of the border are.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Literal

import numpy as np

from blankwright.base.arrays import Array
from blankwright.base.frozen import dataclass
from blankwright.lift.scale import Axis, Candidate

_AS_LOW_MM = 0.02
"""Of two ways to stand that differ by less in height nobody can tell which one was measured."""


@dataclass(frozen=True, eq=False)
class Standing:
    """A thing on a board.

    Args:
        along: (2,) direction of the board.
        long_mm: Its length along the board [mm].
        high_mm: Its height above the board [mm].
    """

    along: Array
    long_mm: float
    high_mm: float


def hull_of(points: Array) -> Array:
    """Return the corners of the smallest convex figure round (n, 2) places, in their order round it."""
    from scipy.spatial import ConvexHull  # noqa: PLC0415 - loaded only where a thing was measured

    hull: Array = points[ConvexHull(points).vertices]
    return hull


def lowest(hull: Array) -> Standing:
    """Return how a thing stands lowest: on a side of its hull. Its length is the middle of those it may have there.

    Args:
        hull: (n, 2) corners of its hull, in their order [mm].
    """
    sides = np.roll(hull, -1, axis=0) - hull
    along = sides / np.hypot(*sides.T)[:, None]
    high = np.ptp(hull @ np.stack([-along[:, 1], along[:, 0]]), axis=0)
    best = int(np.argmin(high))
    long = np.ptp(hull @ along[high <= high[best] + _AS_LOW_MM].T, axis=0)
    return Standing(along[best], (float(long.min()) + float(long.max())) / 2, float(high[best]))


def lying(hull: Array, along: Array) -> Standing:
    """Return how a thing lies along a direction that is known otherwise."""
    ahead = along / np.hypot(*along)
    long, high = np.ptp(hull @ ahead), np.ptp(hull @ np.array([-ahead[1], ahead[0]]))
    return Standing(ahead, float(long), float(high))


def own_lengths(hull: Array, ahead: Array) -> list[Candidate]:
    """Return a thing's length and height as what may have been measured: as it stands lowest, then by its board line.

    The second is what a drawing of it says. It is taken where only it fits the resolution that the file names.

    Args:
        hull: (n, 2) corners of its hull [pixels].
        ahead: (2,) direction of its board line.
    """

    def stands(x: float, y: float) -> Standing:
        return lowest(hull * (x, y))

    def lies(x: float, y: float) -> Standing:
        return lying(hull * (x, y), ahead * (x, y))

    return [
        *_both(stands, "lowest", ("as it stands lowest on a flat board",) * 2),
        *_both(lies, "drawn", ("along its board line", "across its board line")),
    ]


def _both(
    of: Callable[[float, float], Standing], way: Literal["lowest", "drawn"], words: tuple[str, str]
) -> tuple[Candidate, Candidate]:
    along = np.abs(of(1.0, 1.0).along)
    axes: tuple[Axis, Axis] = ("x", "y") if along[0] >= along[1] else ("y", "x")
    return (
        Candidate(axes[0], f"the length of the thing {words[0]}", lambda x, y: of(x, y).long_mm, way),
        Candidate(axes[1], f"the height of the thing {words[1]}", lambda x, y: of(x, y).high_mm, way),
    )
