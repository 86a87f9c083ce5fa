"""Markers found in a photo, their corners to a small part of a pixel.

OpenCV's reader says which markers there are and about where. The corners are then found from the sides: along each
side the way from white to black is looked at crosswise, its middle is where the grey is half way between both, a
straight line is laid through the middles, and neighbouring lines are crossed. Blur moves such a corner by nothing as
long as it is the same on both sides of the line.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from blankwright.base.arrays import Array
from blankwright.base.frozen import dataclass
from blankwright.lift.markers import CELLS, COUNT
from blankwright.lift.pictures import Pixels, library

Numbers = NDArray[np.int_]
Flags = NDArray[np.bool_]

LEAST_CELL_PX = 4.0
"""A marker whose cells are smaller [pixels] cannot be read well."""

_MOST_SIDE_PX = 2400
_ACROSS, _ALONG = 33, 24
_REACH = 0.85
_ENDS = 0.12


@dataclass(frozen=True, eq=False)
class Found:
    """Markers of a photo.

    Args:
        numbers: (m,) their numbers.
        corners_px: (m, 4, 2) upper left, upper right, lower right and lower left corner of each [pixels].
        blur_px: Half the width of the way from black to white, between 16 and 84 % [pixels].
        contrast: White less black, in linear light of 0 to 1.
    """

    numbers: Numbers
    corners_px: Array
    blur_px: float
    contrast: float

    @property
    def cell_px(self) -> float:
        """Mean size of a marker's cell [pixels]."""
        sides = np.linalg.norm(self.corners_px - np.roll(self.corners_px, 1, axis=1), axis=2)
        return float(sides.mean()) / CELLS if len(sides) else 0.0


def find_markers(grey: Pixels, light: NDArray[np.float32]) -> Found:
    """Return the markers of a photo; those that are seen twice, or whose sides are not straight lines, are left out.

    Args:
        grey: (h, w) the photo as 8 bit greys.
        light: (h, w) the same in linear light, 0 to 1.
    """
    numbers, rough = _read(grey)
    if not len(numbers):
        return Found(numbers, rough, 0.0, 0.0)
    corners, good, blur, contrast = _sharpened(light, rough)
    return Found(numbers[good], corners[good], blur, contrast)


def _read(grey: Pixels) -> tuple[Numbers, Array]:
    """Return numbers and rough corners [pixels]."""
    cv2 = library("cv2", "reading a photo")
    shrink = min(1.0, _MOST_SIDE_PX / max(grey.shape))
    size = (round(grey.shape[1] * shrink), round(grey.shape[0] * shrink))
    shown: Any = grey if shrink == 1.0 else cv2.resize(grey, size, interpolation=cv2.INTER_AREA)
    asked = cv2.aruco.DetectorParameters()
    asked.minMarkerPerimeterRate = 0.01
    detector = cv2.aruco.ArucoDetector(cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_100), asked)
    found, numbers, _ = detector.detectMarkers(shown)
    if numbers is None or not len(numbers):
        return np.zeros(0, dtype=int), np.zeros((0, 4, 2))
    scale = np.array([grey.shape[1] / size[0], grey.shape[0] / size[1]])
    corners = (np.array(found, dtype=np.float64).reshape(-1, 4, 2) + 0.5) * scale - 0.5
    names = np.array(numbers).ravel()
    once = np.array([(names == n).sum() == 1 and 0 <= n < COUNT for n in names])
    order = np.argsort(names[once])
    return names[once][order], corners[once][order]


def _sharpened(light: NDArray[np.float32], rough: Array) -> tuple[Array, Flags, float, float]:
    """Return corners, whether each marker's are good, blur and contrast."""
    corners = rough
    for _ in range(2):  # the second time from where the first put the sides
        lines, fit, blur, contrast = _sides(light, corners)
        crossed = _crossed(lines)
        good = np.isfinite(crossed).all(axis=(1, 2)) & fit
        corners = np.where(good[:, None, None], crossed, corners)
    moved = np.linalg.norm(corners - rough, axis=2).max(axis=1)
    side = np.linalg.norm(rough - np.roll(rough, 1, axis=1), axis=2).mean(axis=1)
    good &= moved < np.maximum(3.0, 0.6 * side / CELLS)
    if not good.any():
        return corners, good, 0.0, 0.0
    return corners, good, float(np.median(blur[good])), float(np.median(contrast[good]))


def _sides(light: NDArray[np.float32], corners: Array) -> tuple[tuple[Array, Array], Flags, Array, Array]:
    """Return a point and a direction of each side's line, whether each marker's lines are straight, blur, contrast."""
    from scipy.ndimage import map_coordinates  # noqa: PLC0415 - heavy

    a, b = corners, np.roll(corners, -1, axis=1)
    along = b - a
    length = np.linalg.norm(along, axis=2, keepdims=True)
    unit = along / np.maximum(length, 1e-9)
    out = np.stack([unit[..., 1], -unit[..., 0]], axis=-1)  # outward: corners run clockwise on the screen
    reach = _REACH * length / CELLS
    s = np.linspace(_ENDS, 1 - _ENDS, _ALONG)
    d = np.linspace(-1, 1, _ACROSS)
    base = a[:, :, None, :] + along[:, :, None, :] * s[:, None]
    spots = base[:, :, :, None, :] + (out * reach)[:, :, None, None, :] * d[:, None]
    inside = ((spots >= 0) & (spots <= np.array(light.shape[::-1]) - 1)).all(axis=(1, 2, 3, 4))
    value = map_coordinates(light, [spots[..., 1], spots[..., 0]], order=1, mode="nearest")
    dark = np.median(value[..., : _ACROSS // 5], axis=(2, 3))
    bright = np.median(value[..., -(_ACROSS // 5) :], axis=(2, 3))
    step = bright - dark
    share = (value - dark[..., None, None]) / np.where(step > 1e-6, step, 1e-6)[..., None, None]
    at = _half_way(share)  # (m, 4, along) in units of reach
    spread = _width(share, at) * reach[..., 0].mean(axis=1) if len(share) else np.zeros(0)
    points = base + (out * reach)[:, :, None, :] * at[..., None]
    middle, direction, off = _lines(points, unit)
    straight = (off < np.maximum(0.35, 0.06 * length[..., 0] / CELLS)).all(axis=1)
    return (middle, direction), inside & straight & (step > 0.03).all(axis=1), spread, step.mean(axis=1)


def _half_way(share: Array) -> Array:
    """Return where each row of greys first passes one half from its middle outward, in -1 to 1; nan where nowhere."""
    count = share.shape[-1]
    up = (share[..., :-1] < 0.5) & (share[..., 1:] >= 0.5)
    index = np.arange(count - 1)
    distance = np.where(up, np.abs(index - (count - 2) / 2), np.inf)
    first = distance.argmin(axis=-1)
    low = np.take_along_axis(share, first[..., None], axis=-1)[..., 0]
    high = np.take_along_axis(share, first[..., None] + 1, axis=-1)[..., 0]
    part = (0.5 - low) / np.where(high > low, high - low, 1.0)
    return np.where(np.isfinite(distance.min(axis=-1)), (first + part) * 2 / (count - 1) - 1, np.nan)


def _width(share: Array, at: Array) -> Array:
    """Return half the way between 16 and 84 % of each marker's mean step, in units of the reach."""
    count = share.shape[-1]
    d = np.linspace(-1, 1, count)
    found = []
    for marker, middles in zip(share, at, strict=True):
        good = np.isfinite(middles)
        if not good.any():
            found.append(np.nan)
            continue
        place = (d[None, :] - middles[good][:, None]).ravel()
        order = np.argsort(place)
        place, grey = place[order], marker[good].ravel()[order]
        bins = np.linspace(-0.8, 0.8, 65)
        which = np.digitize(place, bins)
        mean = np.array([grey[which == i].mean() if (which == i).any() else np.nan for i in range(1, 65)])
        centre = (bins[:-1] + bins[1:]) / 2
        ok = np.isfinite(mean)
        steady = np.maximum.accumulate(mean[ok])
        low, high = np.interp([0.16, 0.84], steady, centre[ok])
        found.append((high - low) / 2)
    return np.array(found)


def _lines(points: Array, unit: Array) -> tuple[Array, Array, Array]:
    """Return middle, direction and spread of the line through each side's points, odd ones left out."""
    normal = np.stack([unit[..., 1], -unit[..., 0]], axis=-1)
    across = (points * normal[:, :, None, :]).sum(axis=-1)
    along = (points * unit[:, :, None, :]).sum(axis=-1)
    keep = np.isfinite(across)
    for _ in range(3):
        weight = keep.astype(float)
        total = np.maximum(weight.sum(axis=-1, keepdims=True), 1e-9)
        x, y = np.where(keep, along, 0.0), np.where(keep, across, 0.0)
        mx, my = (x * weight).sum(-1, keepdims=True) / total, (y * weight).sum(-1, keepdims=True) / total
        slope = ((x - mx) * (y - my) * weight).sum(-1, keepdims=True) / np.maximum(
            ((x - mx) ** 2 * weight).sum(-1, keepdims=True), 1e-9
        )
        rest = across - my - slope * (along - mx)
        spread = np.sqrt(np.where(keep, rest**2, 0.0).sum(-1, keepdims=True) / total)
        keep = np.isfinite(across) & (np.abs(rest) <= 2.5 * spread + 1e-6)
    middle = mx * unit + my * normal
    direction = unit + slope * normal
    enough = keep.sum(axis=-1) >= _ALONG // 2
    return middle, direction, np.where(enough, spread[..., 0], np.inf)


def _crossed(lines: tuple[Array, Array]) -> Array:
    """Return where each side's line meets the one before it: the corner at which the side begins."""
    p, d = lines
    q, e = np.roll(p, 1, axis=1), np.roll(d, 1, axis=1)
    cross = d[..., 0] * e[..., 1] - d[..., 1] * e[..., 0]
    t = ((q - p)[..., 0] * e[..., 1] - (q - p)[..., 1] * e[..., 0]) / np.where(np.abs(cross) > 1e-9, cross, np.nan)
    met: Array = p + d * t[..., None]
    return met
