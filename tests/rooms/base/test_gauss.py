"""Nodes and weights of integration beside the array library's own."""

from __future__ import annotations

import numpy as np
import pytest

from blankwright.base.gauss import gauss_legendre


@pytest.mark.parametrize("count", [1, 2, 5, 12, 20])  # of many more its weights are 1e-12 off
def test_nodes_and_weights_are_the_librarys(count: int) -> None:
    for ours, theirs in zip(gauss_legendre(count), np.polynomial.legendre.leggauss(count), strict=True):
        assert ours == pytest.approx(theirs, abs=1e-15, rel=1e-13)


def test_a_polynomial_of_twice_the_degree_is_integrated_to_the_last_digit() -> None:
    nodes, weights = gauss_legendre(12)
    assert (weights * nodes**22).sum() == pytest.approx(2 / 23, rel=1e-14)
    assert (weights * nodes**24).sum() != pytest.approx(2 / 25, rel=1e-9)
