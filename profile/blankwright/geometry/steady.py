"""Sums in one order: small products, inverses and solutions that come out the same on any processor.

A linear algebra library picks its kernels by the processor and adds in another order on each, which moves the last
digits; a solve carries them up to 1e-10 mm. Here every sum runs along a fixed axis, one term after the other, with
multiplications and additions that IEEE 754 rounds alike everywhere. Meant for a few dozen rows.
"""

from __future__ import annotations

import sys

import numpy as np

from blankwright.base.arrays import Array
from blankwright.base.errors import GeometryError


def product(a: Array, b: Array) -> Array:
    """Return the matrix product of (..., m, k) and (..., k, n), stacks broadcast against each other.

    The array library adds along an axis one slice after the other, unless it is the axis whose numbers lie side by side
    in memory: these it adds in pairs of sums (numpy.sum, Notes). The terms of a single number lie so.
    """
    terms: Array = np.multiply(a.swapaxes(-1, -2)[..., None], b[..., None, :], order="C")
    single = a.shape[-2] == b.shape[-1] == 1
    out: Array = np.add.accumulate(terms, axis=-3)[..., -1, :, :] if single else np.add.reduce(terms, axis=-3)
    return out


def solution(matrix: Array, right: Array) -> Array:
    """Solve a square system by elimination with row exchange.

    Args:
        matrix: (n, n).
        right: (n, m) right sides.

    Raises:
        GeometryError: The matrix is singular to rounding.
    """
    n = len(matrix)
    rows = np.concatenate([matrix, right], axis=1).astype(np.float64)
    least = np.abs(matrix).max(initial=0.0) * n * sys.float_info.epsilon
    for k in range(n):
        pivot = k + int(np.abs(rows[k:, k]).argmax())
        if not abs(rows[pivot, k]) > least:
            raise GeometryError("a system of equations has no single solution")
        if pivot != k:
            rows[[k, pivot]] = rows[[pivot, k]]
        rows[k] = rows[k] / rows[k, k]
        taken = rows[:, k].copy()
        taken[k] = 0.0
        rows = rows - taken[:, None] * rows[k]
    return rows[:, n:]


def inverse(matrix: Array) -> Array:
    """Return the inverse of a square matrix; errors as for solution."""
    return solution(matrix, np.eye(len(matrix)))


def cube_roots(values: Array) -> Array:
    """Return the cube roots of numbers above 0, good to the last digit or the one before.

    The library's own differ in the last digit from processor to processor. Newton's iteration takes sums, products and
    quotients alone, which every processor rounds alike; from a start within 4 % four rounds leave 1e-17, five are run.
    """
    part, power = np.frexp(values)
    third = power // 3
    part = np.ldexp(part, power - 3 * third)  # 0.5 to 4
    root = 0.6 + 0.4 * part - 0.036 * part * part
    for _ in range(5):
        root = (2.0 * root + part / (root * root)) / 3.0
    result: Array = np.ldexp(root, third)
    return result
