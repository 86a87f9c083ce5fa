"""Kinds of numbers that every room hands on: rows of coordinates, and one place."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
"""Any number of rows of floating point numbers."""

Place = tuple[float, float]
"""x and y [mm]."""
