"""The camera of a photo, found from all corners of all markers at once.

Least squares over where the corners are seen, with what is known beforehand as further residuals: the optical axis is
near the photo's middle, a lens bends little, the focal length is that of the file or of a usual camera, the height is
what was measured. The right half of a frame of two sheets lies where it lies: its place is found too.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from blankwright.base.arrays import Array
from blankwright.base.errors import GeometryError, RequestError
from blankwright.base.frozen import dataclass
from blankwright.lift.photocamera import DIAGONAL_35_MM, Camera, from_homography, rotation
from blankwright.lift.pictures import library

Flags = NDArray[np.bool_]

USUAL_FOCAL = (32.0, 0.4)
"""Focal length in 35 mm film that is taken where the file names none [mm], and its relative spread: from the wide lens
of a telephone to a small telephoto lens, 14 to 70 mm (common practice)."""

_FILE_FOCAL = 0.06
# A file's focal length is that for far things, rounded to whole mm; near ones are seen a little longer.
_AXIS = 0.015
# The optical axis is this share of the diagonal off the middle of a photo that was not cut.
_BEND = (0.06, 0.02)
# What the radial terms do at the photo's corner: few lenses bend more than 6 %.
_FLOOR_PX = 0.02
# No corner is known better.
_TOGETHER = 4.0
# The four corners of a marker are off together: paper, print and blur are the same for them.
_MOST_ROUNDS, _ODD = 6, 4.5


@dataclass(frozen=True)
class Known:
    """What is known of a camera beforehand.

    Args:
        width_px: Width of the photo [pixels].
        height_px: Height of the photo [pixels].
        focal_35_mm: Focal length in 35 mm film from the file, or None [mm].
        camera_mm: Height of the lens above the paper as measured, or None [mm].
    """

    width_px: int
    height_px: int
    focal_35_mm: float | None
    camera_mm: float | None

    @property
    def diagonal_px(self) -> float:
        """Diagonal of the photo [pixels]."""
        return float(np.hypot(self.width_px, self.height_px))

    @property
    def middle_px(self) -> Array:
        """Middle of the photo [pixels]."""
        return np.array([(self.width_px - 1) / 2, (self.height_px - 1) / 2])

    @property
    def focal_px(self) -> tuple[float, float]:
        """Focal length [pixels] and its relative spread."""
        focal, spread = USUAL_FOCAL if self.focal_35_mm is None else (self.focal_35_mm, _FILE_FOCAL)
        return focal / DIAGONAL_35_MM * self.diagonal_px, spread

    @property
    def camera_spread_mm(self) -> float:
        """How far a measured height may be off, one standard deviation [mm]: where is the lens inside a telephone?"""
        return 8.0 + 0.01 * (self.camera_mm or 0.0)


@dataclass(frozen=True, eq=False)
class Corners:
    """Corners of markers on paper and in the photo.

    Args:
        paper_mm: (m, 4, 2) where they are on their sheet, as measured bars say [mm].
        seen_px: (m, 4, 2) where they are seen [pixels].
        second: (m,) whether a marker is on the second sheet.
    """

    paper_mm: Array
    seen_px: Array
    second: Flags


@dataclass(frozen=True, eq=False)
class Fitted:
    """A camera that was found.

    Args:
        camera: The camera.
        second: Place (x, y) [mm] and turn [radians] of the second sheet; zeros without one.
        kept: (m,) which markers agree with it.
        rest_px: (m, 4, 2) what is left between seen and reckoned, of all markers [pixels].
        spread_px: Spread of what is left, of those that agree, each direction [pixels].
        values: The parameters.
        scatter: Their covariance.
    """

    camera: Camera
    second: Array
    kept: Flags
    rest_px: Array
    spread_px: float
    values: Array
    scatter: Array

    @property
    def height_spread_mm(self) -> float:
        """How far the camera's height may be off, one standard deviation [mm]."""
        return float(np.sqrt(self.scatter[_HEIGHT, _HEIGHT]) * _UNIT[_HEIGHT])


_UNIT = np.array([0.1, 10.0, 10.0, 0.01, 0.01, 0.01, 0.01, 0.01, 10.0, 10.0, 10.0, 1.0, 1.0, 0.001])
# What one unit of each parameter is: log focal length, axis [px], k1, k2, turn [rad], place [mm], second sheet.
PARAMETERS = 11
"""How many parameters the camera itself has."""
_HEIGHT = 10


def fit(corners: Corners, known: Known) -> Fitted:
    """Return the camera that sees the corners best; markers that disagree with the others are left out.

    Args:
        corners: At least four markers on one sheet.
        known: What is known beforehand.

    Raises:
        RequestError: The markers do not lie as on one frame.
    """
    start = _start(corners, known)
    kept = start.kept
    spread = 0.3
    for _ in range(_MOST_ROUNDS):
        fitted = _round(corners, known, start, kept, spread)
        worst = np.linalg.norm(fitted.rest_px, axis=2).max(axis=1)
        now = worst <= np.maximum(_ODD * fitted.spread_px * np.sqrt(2), 0.25)
        settled = (now == kept).all() and abs(fitted.spread_px - spread) < 0.05 * spread
        kept, spread, start = now, fitted.spread_px, fitted
        if settled or kept.sum() < 4:
            break
    return start


def _start(corners: Corners, known: Known) -> Fitted:
    """Return a first camera, from the sheet that shows most markers."""
    cv2 = library("cv2", "reading a photo")
    first = ~corners.second
    if first.sum() < 4:
        raise RequestError("the photo shows too few markers of one sheet.")
    paper, seen = corners.paper_mm[first].reshape(-1, 2), corners.seen_px[first].reshape(-1, 2)
    reach = max(3.0, 0.004 * known.diagonal_px)
    homography, inside = cv2.findHomography(paper, seen, cv2.RANSAC, reach, maxIters=5000, confidence=0.9999)
    if homography is None:
        raise RequestError("the markers of the photo do not lie as on a frame.")
    focal, _ = known.focal_px
    try:
        turn, place = from_homography(homography, focal, known.middle_px)
    except GeometryError as error:
        raise RequestError(f"the markers of the photo do not lie as on a frame: {error}") from None
    if known.camera_mm is not None and known.focal_35_mm is None:
        focal *= known.camera_mm / place[2]
        try:
            turn, place = from_homography(homography, focal, known.middle_px)
        except GeometryError:  # a height that was measured wrongly is told later
            focal, _ = known.focal_px
    camera = Camera(focal, known.middle_px, 0.0, 0.0, turn, place)
    kept = np.ones(len(first), dtype=bool)
    kept[first] = inside.reshape(-1, 4).astype(bool).all(axis=1)
    second = _second_start(corners, camera) if corners.second.any() else np.zeros(3)
    return _as_fitted(corners, camera, second, kept)


def _second_start(corners: Corners, camera: Camera) -> Array:
    """Return place and turn of the second sheet, from where its corners are seen to lie."""
    paper = corners.paper_mm[corners.second].reshape(-1, 2)
    lies = camera.places_mm(corners.seen_px[corners.second].reshape(-1, 2))
    a, b = paper - np.median(paper, axis=0), lies - np.median(lies, axis=0)
    angle = float(np.arctan2((a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]).sum(), (a * b).sum()))
    shift = np.median(lies - laid(paper, np.array([0.0, 0.0, angle])), axis=0)
    return np.array([*shift, angle])


def laid(paper_mm: Array, second: Array) -> Array:
    """Return where places of the second sheet lie in the coordinates of the first [mm]."""
    c, s = np.cos(second[2]), np.sin(second[2])
    placed: Array = paper_mm @ np.array([[c, s], [-s, c]]) + second[:2]
    return placed


def _as_fitted(corners: Corners, camera: Camera, second: Array, kept: Flags) -> Fitted:
    rest = _rest(corners, camera, second)
    return Fitted(camera, second, kept, rest, 1.0, np.zeros(len(_UNIT)), np.eye(len(_UNIT)))


def _rest(corners: Corners, camera: Camera, second: Array) -> Array:
    flat = corners.paper_mm.reshape(-1, 2)
    lies = np.where(np.repeat(corners.second, 4)[:, None], laid(flat, second), flat)
    return corners.seen_px - camera.seen_px(lies).reshape(-1, 4, 2)


def moved(camera: Camera, values: Array) -> Camera:
    """Return a camera moved by parameters."""
    v = values[:PARAMETERS] * _UNIT[:PARAMETERS]
    return Camera(
        float(camera.focal_px * np.exp(v[0])),
        camera.centre_px + v[1:3],
        camera.k1 + float(v[3]),
        camera.k2 + float(v[4]),
        rotation(v[5:8]) @ camera.turn,
        camera.place_mm + v[8:11],
    )


def _beforehand(camera: Camera, known: Known) -> Array:
    """Return how far a camera is from what is known beforehand, in standard deviations."""
    focal, spread = known.focal_px
    corner = 0.25 * (known.diagonal_px / camera.focal_px) ** 2
    parts = [
        np.log(camera.focal_px / focal) / spread,
        *((camera.centre_px - known.middle_px) / (_AXIS * known.diagonal_px)),
        camera.k1 * corner / _BEND[0],
        camera.k2 * corner**2 / _BEND[1],
    ]
    if known.camera_mm is not None:
        parts.append((camera.height_mm - known.camera_mm) / known.camera_spread_mm)
    return np.array(parts)


def _round(corners: Corners, known: Known, start: Fitted, kept: Flags, spread: float) -> Fitted:
    """Return the camera that sees the kept markers best."""
    from scipy.optimize import least_squares  # noqa: PLC0415 - heavy

    used = Corners(corners.paper_mm[kept], corners.seen_px[kept], corners.second[kept])
    count = len(_UNIT) if used.second.any() else len(_UNIT) - 3
    weight = np.sqrt(_TOGETHER) * spread  # the corners of one marker count as one

    def misses(values: Array) -> Array:
        full = np.zeros(len(_UNIT))
        full[:count] = values
        camera = moved(start.camera, full)
        rest = _rest(used, camera, start.second + (full * _UNIT)[11:])
        return np.concatenate([rest.ravel() / weight, _beforehand(camera, known)])

    try:
        found = least_squares(misses, np.zeros(count), method="lm", max_nfev=4000)
    except (ValueError, FloatingPointError):
        raise RequestError("the markers of the photo do not lie as on a frame.") from None
    full = np.zeros(len(_UNIT))
    full[:count] = found.x
    camera, second = moved(start.camera, full), start.second + (full * _UNIT)[11:]
    rest = _rest(corners, camera, second)
    free = max(rest[kept].size - count, 1)
    left = float(np.sqrt((rest[kept] ** 2).sum() / free))
    scatter = np.zeros((len(_UNIT), len(_UNIT)))
    scatter[:count, :count] = np.linalg.pinv(found.jac.T @ found.jac)
    return Fitted(camera, second, kept, rest, max(left, _FLOOR_PX), full, scatter)
