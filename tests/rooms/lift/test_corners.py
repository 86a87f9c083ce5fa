"""Corners of a border, continued from what is seen of their sides."""

from __future__ import annotations

import numpy as np
import pytest

from blankwright.geometry.outline import Outline
from blankwright.lift.corners import corners_of
from blankwright.lift.trace import border

STEP_MM = 0.085
"""A pixel at 300 dots to the inch."""


def seen(outline: Outline, noise_mm: float, seed: int):
    """Return a border as a scan shows it: what blur cuts off corners, and places that jump about together."""
    ring, _ = outline.sampled(STEP_MM / 8)
    even = border(ring, np.zeros(len(ring), dtype=bool), STEP_MM).points[::8]
    noise = np.random.default_rng(seed).normal(0, noise_mm * np.sqrt(3), even.shape)
    bell = np.exp(-(np.arange(-4, 5) ** 2) / 2 / 1.2**2)
    blurred = sum(w * np.roll(even, k, axis=0) for k, w in zip(range(-4, 5), bell / bell.sum(), strict=True))
    jumps = sum(np.roll(noise, k, axis=0) for k in (-1, 0, 1)) / 3
    return border(blurred + jumps, np.zeros(len(even), dtype=bool), STEP_MM)


@pytest.mark.parametrize("side_mm", [0.9, 1.2, 2.0])
def test_a_fillet_beside_a_shoulder_is_not_carried_into_it(side_mm: float) -> None:
    """A square shoulder whose short side runs into a fillet of 1.5 mm (a quarter circle has the bulge tan 22.5)."""
    low, quarter = 20 - side_mm, np.tan(np.radians(22.5))
    shape = [
        [0, 0, 0],
        [50, 0, 0],
        [50, 20, 0],
        [10, 20, 0],
        [10, low, -quarter],
        [8.5, low - 1.5, 0],
        [0, low - 1.5, 0],
    ]
    for seed in range(8):
        edge = seen(Outline(np.array(shape, dtype=float)), 0.004, seed)
        found = corners_of(edge.points, edge.weak, edge.blur_mm, edge.step_mm)
        assert min(float(np.hypot(*(c.point - (10, 20)))) for c in found) < 0.06


def test_a_tip_between_long_sides_is_known_better_than_from_near_ones(monkeypatch: pytest.MonkeyPatch) -> None:
    from blankwright.lift import corners

    tip, off = Outline(np.array([[0, 0, 0], [120, 0, 0], [0, 60, 0.0]])), dict[float, float]()
    for far_mm in (corners.SIDE_MM, corners._FAR_SIDE_MM):
        monkeypatch.setattr(corners, "_FAR_SIDE_MM", far_mm)
        away = []
        for seed in range(12):
            edge = seen(tip, 0.01, seed)
            found = corners_of(edge.points, edge.weak, edge.blur_mm, edge.step_mm)
            away.append(min(float(np.hypot(*(c.point - (120, 0)))) for c in found))
        off[far_mm] = float(np.sqrt(np.mean(np.square(away))))
    assert off[corners.SIDE_MM] > 1.2 * min(off.values())
