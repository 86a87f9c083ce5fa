"""Straight stretches of a smooth curve."""

from __future__ import annotations

import numpy as np
import pytest

from blankwright.lift.smooth import _breadth, _off_line


def test_no_line_lies_nearer_to_three_corners_than_half_the_breadth_of_their_triangle() -> None:
    """The strip between a side and the line through the third corner is the narrowest that holds a triangle."""
    dice = np.random.default_rng(3)
    assert _breadth(*np.array([[0.0, 0], [4, 0], [1, 2]])) == pytest.approx(2)  # on its longest side
    assert _breadth(*np.array([[1.0, 1], [1, 1], [1, 1]])) == 0
    for _ in range(200):
        corners = dice.normal(0, 1, (3, 2))
        turn = dice.uniform(0, np.pi, 500)
        across = np.ptp(corners @ np.stack([-np.sin(turn), np.cos(turn)]), axis=0)
        assert across.min() >= _breadth(*corners) - 1e-12
        assert np.abs(_off_line(corners)).max() >= _breadth(*corners) / 2 - 1e-12
