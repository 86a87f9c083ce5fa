"""Kinds of numbers that every room hands on: rows of coordinates, one place, and arrays that stay."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
"""Any number of rows of floating point numbers."""

Place = tuple[float, float]
"""x and y [mm]."""


def fixed(array: Array) -> Array:
    """Return an array that cannot be changed in place, so that sorting one answer does not spoil the next."""
    array.flags.writeable = False
    return array
