"""The border of a thing in a picture, to a fraction of a pixel."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from PIL import Image, ImageDraw

from blankwright.lift.contour import contour

FINE = 8
"""So many times finer the wedge is drawn than it is seen."""


def wedge(half_deg: float, blur_px: float) -> np.ndarray:
    """Return a picture of a dark wedge whose apex lies at (350, 100), blurred as by a lens (a normal spread)."""
    drawn = Image.new("L", (400 * FINE, 200 * FINE), 235)
    rise = 300 * np.tan(np.radians(half_deg))
    corners = [(350, 100), (50, 100 - rise), (50, 100 + rise)]
    ImageDraw.Draw(drawn).polygon([(x * FINE - 0.5, y * FINE - 0.5) for x, y in corners], fill=30)
    sharp = np.asarray(drawn, dtype=np.float32).reshape(200, FINE, 400, FINE).mean(axis=(1, 3))
    return np.rint(cv2.GaussianBlur(sharp, (0, 0), blur_px)).astype(np.uint8)


@pytest.mark.parametrize(("half_deg", "blur_px"), [(11.0, 0.6), (11.0, 1.5), (15.0, 1.0)])
def test_the_border_keeps_to_both_sides_where_a_tip_is_thin(half_deg: float, blur_px: float) -> None:
    """What is looked at inside of one side lies at the other there: the border stood out by three pixels.

    Where the wedge is four times as wide as the blur, hardly a hundredth of the other side's blur reaches a side.
    """
    points = contour(wedge(half_deg, blur_px)).outline.points - (350, 100)
    a = np.radians(half_deg)
    wide = 4 * blur_px / (2 * np.tan(a))
    near = (points[:, 0] < -max(wide, 6.0)) & (points[:, 0] > -120)
    off = np.abs(points[near, 1]) * np.cos(a) + points[near, 0] * np.sin(a)  # beyond the side's line
    assert len(off) > 150
    assert np.abs(off).max() < 0.25, (float(np.abs(off).max()), points[near][np.abs(off).argmax()])
    assert abs(off.mean()) < 0.05
