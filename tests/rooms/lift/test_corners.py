"""Corners of a border, continued from what is seen of their sides."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.special import ndtr, ndtri

from blankwright.geometry.outline import Outline
from blankwright.lift import corners
from blankwright.lift.contour import contour
from blankwright.lift.corners import Sight, corners_of
from blankwright.lift.trace import border
from rooms.lift.scans import Scan, drawn

SOURCE = (
    "A wedge under a normal spread, by quadrature; a square one by two normal integrals: 0.5 is the square of 0.7071."
)


def off_mm(outline: Outline, corner: tuple[float, float], how: Scan, *, blurred: bool = True) -> float:
    """Return how far from a corner of an outline [mm] the nearest lies that a scan of it shows."""
    ring, pixel = outline.flattened(0.001), 25.4 / how.dpi
    picture = drawn([ring], replace(how, skew_deg=0.0))
    seen = contour(picture)
    up = np.array([0.0, len(picture)]) + seen.outline.points * (1, -1)
    edge = border(up * pixel + ring.min(axis=0) - how.margin_mm, seen.outline.weak, seen.blur_px * pixel)
    found = corners_of(edge.points, edge.weak, Sight(edge.blur_mm, edge.step_mm, blurred))
    return min(float(np.hypot(*(c.point - corner))) for c in found)


@pytest.mark.parametrize("side_mm", [0.9, 1.2, 2.0])
def test_a_fillet_beside_a_shoulder_is_not_carried_into_it(side_mm: float) -> None:
    """A square shoulder whose short side runs into a fillet of 1.5 mm (a quarter circle has the bulge tan 22.5)."""
    low, quarter = 20 - side_mm, np.tan(np.radians(22.5))
    rows = [
        [0, 0, 0],
        [30, 0, 0],
        [30, 20, 0],
        [10, 20, 0],
        [10, low, -quarter],
        [8.5, low - 1.5, 0],
        [0, low - 1.5, 0],
    ]
    shape = Outline(np.array(rows, dtype=float))
    off = [off_mm(shape, (10, 20), Scan(seed=seed, noise=3.0, margin_mm=3.0)) for seed in range(3)]
    assert max(off) < 0.06


def tip() -> Outline:
    """Return a tip whose lower side bends more and more towards it: no parabola follows that under noise."""
    x = np.linspace(0, 3, 13)
    rows = [[-8, 6, 0], [-8, 0, 0], *([px, 0.02 * px**4, 0] for px in x)]
    return Outline(np.array(rows, dtype=float))


@pytest.mark.parametrize("name", ["far sides", "blur"])
def test_a_corner_is_known_better_by(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Long sides help where they can be followed, and what blur can have cut off helps where they cannot."""
    wedge = Outline(np.array([[0, 0, 0], [30, 0, 0], [0, 15, 0.0]]))
    shape, corner = (wedge, (30, 0)) if name == "far sides" else (tip(), (3, 0.02 * 81))

    def rms(blurred: bool) -> float:
        scans = [Scan(seed=seed, noise=8.0, margin_mm=3.0) for seed in range(6)]
        return float(np.sqrt(np.mean([off_mm(shape, corner, how, blurred=blurred) ** 2 for how in scans])))

    with_it = rms(blurred=name == "blur")
    monkeypatch.setattr(corners, "_FAR_SIDE_MM", corners.SIDE_MM)
    assert rms(blurred=False) > 1.2 * with_it


@pytest.mark.parametrize("half_deg", [10.0, 20.0, 30.0, 45.0, 60.0, 75.0])
def test_how_much_of_a_corner_blur_cuts_off(half_deg: float) -> None:
    slope, x = np.tan(np.radians(half_deg)), np.linspace(-8, 40, 48_001)

    spread = np.exp(-x * x / 2) / np.sqrt(2 * np.pi)

    def shade(t: float) -> float:
        return float(np.trapezoid(spread * (2 * ndtr(np.maximum(x + t, 0) * slope) - 1), x))

    assert corners._lost(180 - 2 * half_deg, 1.0) == pytest.approx(brentq(lambda t: shade(t) - 0.5, 0, 20), rel=0.02)
    if half_deg == 45:
        assert corners._lost(90.0, 1.0) == pytest.approx(np.sqrt(2) * ndtri(np.sqrt(0.5)), rel=0.02)
