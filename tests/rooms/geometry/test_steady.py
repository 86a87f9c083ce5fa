"""Small systems against a linear algebra library, and sums that do not depend on how memory is laid out."""

import numpy as np
import pytest

from blankwright.base.errors import GeometryError
from blankwright.geometry.steady import cube_roots, inverse, product, solution
from rooms.every import cases

SEED = 7


def systems():
    rng = np.random.default_rng(SEED)
    for n in range(1, 13):
        yield rng.normal(size=(n, n)) + 3 * np.eye(n), rng.normal(size=(n, 3))


def test_solutions_are_the_librarys():
    for matrix, right in systems():
        assert solution(matrix, right) == pytest.approx(np.linalg.solve(matrix, right), rel=1e-10, abs=1e-12)
        assert inverse(matrix) == pytest.approx(np.linalg.inv(matrix), rel=1e-10, abs=1e-12)


def test_a_zero_on_the_diagonal_is_exchanged():
    assert solution(np.array([[0.0, 2.0], [4.0, 0.0]]), np.array([[6.0], [8.0]])).tolist() == [[2.0], [3.0]]


@cases("matrix", [np.zeros((2, 2)), np.ones((3, 3)), np.array([[1.0, 2.0], [2.0, 4.0]])])
def test_a_system_without_a_single_solution_is_refused(matrix):
    with pytest.raises(GeometryError, match="no single solution"):
        solution(matrix, np.ones((len(matrix), 1)))


def test_products_of_stacks_are_the_librarys():
    rng = np.random.default_rng(SEED)
    a, b = rng.normal(size=(5, 2, 7)), rng.normal(size=(5, 7, 3))
    assert product(a, b) == pytest.approx(a @ b, abs=1e-13)
    assert product(a[0], b) == pytest.approx(a[0] @ b, abs=1e-13)


def test_the_order_of_a_sum_is_that_of_the_terms():
    # 1e16 + 1 is 1e16 in double precision, so the order shows in the sum (IEEE 754)
    row, ones = np.array([[1e16, 1.0, 1.0, -1e16]]), np.ones((4, 1))
    for laid in (row, np.asfortranarray(row), row[:, ::-1][:, ::-1]):
        assert product(laid, ones)[0, 0] == ((1e16 + 1.0) + 1.0) - 1e16


def test_every_product_is_added_term_by_term_whatever_its_shape_and_place_in_memory() -> None:
    rng = np.random.default_rng(SEED)
    for _ in range(300):
        m, k, n, stack = rng.integers(1, 12), rng.integers(1, 40), rng.integers(1, 12), rng.integers(1, 4)
        a, b = rng.normal(size=(stack, m, k)) * 1e3 ** rng.normal(size=k), rng.normal(size=(stack, k, n))
        summed = a[..., :, 0, None] * b[..., 0, None, :]
        for i in range(1, k):
            summed = summed + a[..., :, i, None] * b[..., i, None, :]
        turned = a.transpose(0, 2, 1).copy().transpose(0, 2, 1)
        for left, right in ((a, b), (np.asfortranarray(a), b), (turned, np.asfortranarray(b))):
            assert (product(left, right) == summed).all()


def test_cube_roots_are_those_of_the_library_to_the_last_digit_but_one() -> None:
    values = np.exp(np.random.default_rng(1).uniform(-80, 80, 20_000))
    assert np.abs(cube_roots(values) / np.cbrt(values) - 1).max() <= 4.5e-16
    assert cube_roots(np.array([8.0, 27.0, 1e-9])) == pytest.approx([2, 3, 1e-3], rel=1e-15)
