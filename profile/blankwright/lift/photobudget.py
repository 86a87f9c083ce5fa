"""What a place of an outline from a photo may be off, part by part, and what would lessen each.

Every part is what 95 of 100 are nearer than. A part that stretches the outline is given over its whole size: so much
may the length be off.
"""

from __future__ import annotations

import numpy as np

from blankwright.base.arrays import Array
from blankwright.base.said import exact_mm, mm
from blankwright.design.lifted import BudgetRow
from blankwright.lift.photo import Photo
from blankwright.lift.photofit import PARAMETERS, moved

READING_MM = 0.25
"""How well a bar is read with a steel rule, both ends together [mm] (common practice)."""
THICKNESS_MM = 0.1
"""How well a thickness is known that was measured with a caliper, or that stock is sold by [mm] (common practice)."""
FLAT_MM = 0.3
"""So flat do paper and thing lie when the paper is taped down and the thing is not bent [mm] (common practice)."""

_BLUR_SHARE = 0.3
# Where half way between dark and light is, is not known better than this share of the blur: a camera's own curve of
# greys makes 40 % of 50 %, and a step that is blurred by a Gaussian has 40 % a quarter of its width away.
_TWO_WAYS = 2.45
# 95 of 100 places are nearer than so many standard deviations when both directions scatter alike (Rayleigh).


def rows(photo: Photo, outline_mm: Array) -> tuple[BudgetRow, ...]:
    """Return the parts of the budget that photo and frame answer for.

    Args:
        photo: The photo.
        outline_mm: (n, 2) places along the outline of the thing, counter-clockwise, as the photo gives them [mm].
    """
    size = np.ptp(outline_mm, axis=0)
    length, height = float(np.hypot(*size)), photo.camera.height_mm
    bars = np.hypot(*(READING_MM * size / photo.bars_mm))
    scatter = 2 * photo.fitted.height_spread_mm
    parallax = length * np.hypot(THICKNESS_MM / height, photo.thickness_mm * scatter / height**2)
    aside = float(np.linalg.norm(outline_mm - photo.camera.place_mm[:2], axis=1).max())
    per_mm = photo.pixels_per_mm(outline_mm)
    level, upright = (exact_mm(float(value)) for value in photo.bars_mm)
    higher = "" if photo.height_measured else f" Measure how high the lens is ({mm(height, 0).shown()} by the photo)."
    return (
        BudgetRow(
            f"bars of {level.shown()} and {upright.shown()} read to {exact_mm(READING_MM).shown()}",
            float(bars),
            "Measure the longest ticks of both bars with a good rule, or use larger paper.",
        ),
        BudgetRow(
            "markers and lens, by what is left between them",
            _by_scatter(photo, outline_mm),
            "Use more pixels to the mm and a sharp photo; press the paper flat.",
        ),
        BudgetRow(
            "thickness and height of the camera",
            float(parallax),
            f"Hold the camera higher.{higher}",
        ),
        BudgetRow(
            f"paper and thing flat to {exact_mm(FLAT_MM).shown()}",
            FLAT_MM * aside / height,
            "Tape the paper to a flat board and hold the camera higher, straight above the middle.",
        ),
        BudgetRow(
            "which of its edges is seen on the side towards the camera",
            float(photo.doubt_mm(outline_mm, outward(outline_mm)).max()),
            "Hold the camera straight above the middle of the thing.",
        ),
        BudgetRow("blur", _BLUR_SHARE * photo.found.blur_px / per_mm, "Focus on the thing and hold the camera still."),
    )


def outward(outline_mm: Array) -> Array:
    """Return (n, 2) the direction away from the thing at each place of its outline, which runs counter-clockwise."""
    way = np.roll(outline_mm, -1, axis=0) - np.roll(outline_mm, 1, axis=0)
    out = np.column_stack([way[:, 1], -way[:, 0]])
    found: Array = out / np.maximum(np.linalg.norm(out, axis=1, keepdims=True), 1e-12)
    return found


def _by_scatter(photo: Photo, outline_mm: Array) -> float:
    """Return how far the worst place may be off by the scatter of the camera's parameters, best laid on [mm]."""
    few = outline_mm[:: max(1, len(outline_mm) // 200)]
    seen = photo.camera.seen_px(few)
    changes = []
    for i in range(PARAMETERS):
        step = np.zeros(PARAMETERS)
        step[i] = 0.01
        there, back = (moved(photo.camera, sign * step).places_mm(seen) for sign in (1.0, -1.0))
        changes.append((there - back).ravel() / 0.02)
    change = _beside_rigid(np.column_stack(changes), few)
    scatter = change @ photo.fitted.scatter[:PARAMETERS, :PARAMETERS] @ change.T
    both = np.diag(scatter).reshape(-1, 2)
    return _TWO_WAYS * float(np.sqrt(both.max(axis=1).max()))


def _beside_rigid(changes: Array, places: Array) -> Array:
    """Return changes of places less what a shift and a turn would do: those do not alter the thing."""
    x, y = (places - places.mean(axis=0)).T
    one, none = np.ones_like(x), np.zeros_like(x)
    rigid = np.column_stack([np.column_stack(pair).ravel() for pair in ((one, none), (none, one), (-y, x))])
    base, _ = np.linalg.qr(rigid)
    left: Array = changes - base @ (base.T @ changes)
    return left
