"""Nodes and weights of Gauss-Legendre integration, without the library's six families of polynomials."""

from __future__ import annotations

from functools import cache

import numpy as np

from blankwright.base.arrays import Array, fixed

_ROUNDS = 6
"""Newton's steps: the start is good to three digits at twelve nodes, and every step doubles them."""


@cache
def gauss_legendre(count: int) -> tuple[Array, Array]:
    """Return the rising nodes between -1 and 1 and their weights [unitless].

    Newton's iteration on the Legendre polynomial, by Bonnet's recurrence, from about where its zeros lie (Tricomi; from
    memory). Source of the rule and its weights: Abramowitz and Stegun, Handbook of Mathematical Functions, 25.4.29.

    Args:
        count: How many; polynomials of degree 2 count - 1 are integrated exactly.
    """
    x = np.cos(np.pi * (np.arange(count, 0, -1) - 0.25) / (count + 0.5))
    for _ in range(_ROUNDS):
        before, value = np.zeros(count), np.ones(count)
        for n in range(count):
            before, value = value, ((2 * n + 1) * x * value - n * before) / (n + 1)
        slope = count * (x * value - before) / (x * x - 1)
        x = x - value / slope
    return fixed(x), fixed(2 / ((1 - x * x) * slope * slope))
