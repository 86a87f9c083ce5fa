"""Kinds of numbers that every room hands on: rows of coordinates, one place, and arrays that stay."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
"""Any number of rows of floating point numbers."""

Place = tuple[float, float]
"""x and y [mm]."""


# What follows is asked for thousands of times in a solve, on a few dozen numbers: the library's own functions for it
# (stack, linspace, roll, clip) spend five to ten times as long on looking at their arguments.


def pairs(x: Array, y: Array) -> Array:
    """Return (n, 2) rows of x and y from (n,) each."""
    out = np.empty((x.shape[0], 2))
    out[:, 0] = x
    out[:, 1] = y
    return out


def dot(a: Array, b: Array) -> Array:
    """Return (...) products of (..., 2) directions."""
    result: Array = a[..., 0] * b[..., 0] + a[..., 1] * b[..., 1]
    return result


def evenly(first: float, last: float, count: int) -> Array:
    """Return (count,) numbers from first to last in equal steps, both ends exact; at least two."""
    out: Array = np.arange(count, dtype=np.float64) * ((last - first) / (count - 1)) + first
    out[-1] = last
    return out


def within(values: Array, low: float, high: float) -> Array:
    """Return values, those outside moved to the nearer end."""
    result: Array = np.minimum(np.maximum(values, low), high)
    return result


def steps(values: Array) -> Array:
    """Return how far each row is from the one before it."""
    result: Array = values[1:] - values[:-1]
    return result


def following(rows: Array) -> Array:
    """Return the row after each of a closed chain's."""
    return np.concatenate([rows[1:], rows[:1]])


def fixed(array: Array) -> Array:
    """Return an array that cannot be changed in place, so that sorting one answer does not spoil the next."""
    array.flags.writeable = False
    return array
