"""A camera over a flat table: where a place on the table is in the photo, and which place a pixel looks at.

World: mm, x right and y up on the paper, z up from it, so that the camera stands at a positive height. Photo: pixels,
x right and y down, whole numbers at the middles of pixels. The lens is that of Brown (Photogrammetric Engineering 32,
1966) with its first two radial terms: a place at r from the optical axis, in focal lengths, is seen at
r (1 + k1 r^2 + k2 r^4).
"""

from __future__ import annotations

import numpy as np

from blankwright.base.arrays import Array
from blankwright.base.errors import GeometryError
from blankwright.base.frozen import dataclass

DIAGONAL_35_MM = 43.267
"""Diagonal of a frame of 36 x 24 mm, to which a focal length "in 35 mm film" refers (CIPA DC-008, Exif 2.32)."""


@dataclass(frozen=True, eq=False)
class Camera:
    """A camera and where it stands.

    Args:
        focal_px: Focal length [pixels].
        centre_px: (2,) where the optical axis meets the photo [pixels].
        k1: First radial term of the lens [unitless].
        k2: Second radial term [unitless].
        turn: (3, 3) rows are the camera's axes in the world: right, down and ahead in the photo.
        place_mm: (3,) where its lens is [mm].
    """

    focal_px: float
    centre_px: Array
    k1: float
    k2: float
    turn: Array
    place_mm: Array

    @property
    def height_mm(self) -> float:
        """Height of the lens above the paper [mm]."""
        return float(self.place_mm[2])

    @property
    def tilt_deg(self) -> float:
        """Angle between the direction it looks and straight down [degrees]."""
        return float(np.degrees(np.arccos(np.clip(-self.turn[2, 2], -1.0, 1.0))))

    def seen_px(self, places_mm: Array, z_mm: float = 0.0) -> Array:
        """Return (n, 2) where places are in the photo [pixels].

        Args:
            places_mm: (n, 2) places [mm].
            z_mm: Their height above the paper [mm].
        """
        away = np.column_stack([places_mm, np.full(len(places_mm), z_mm)]) - self.place_mm
        ahead = away @ self.turn.T
        flat = ahead[:, :2] / ahead[:, 2:]
        r2 = (flat**2).sum(axis=1, keepdims=True)
        seen: Array = self.centre_px + self.focal_px * flat * (1 + self.k1 * r2 + self.k2 * r2**2)
        return seen

    def places_mm(self, pixels: Array, z_mm: float = 0.0) -> Array:
        """Return (n, 2) the places that pixels look at [mm].

        Args:
            pixels: (n, 2) places in the photo [pixels].
            z_mm: Height above the paper of what is seen [mm].

        Raises:
            GeometryError: The lens bends so much that a pixel there looks at no place, or it looks at the sky.
        """
        flat = self._straightened((pixels - self.centre_px) / self.focal_px)
        ways = np.column_stack([flat, np.ones(len(flat))]) @ self.turn
        if len(ways) and not (ways[:, 2] < 0).all():
            raise GeometryError("a pixel looks at the sky.")
        found: Array = self.place_mm[:2] + ways[:, :2] * ((z_mm - self.place_mm[2]) / ways[:, 2:])
        return found

    def _straightened(self, bent: Array) -> Array:
        """Return directions as a lens without bend would show them, by Newton's steps on the radius."""
        seen = np.hypot(bent[:, 0], bent[:, 1])
        r = seen.copy()
        for _ in range(12):
            slope = 1 + 3 * self.k1 * r**2 + 5 * self.k2 * r**4
            if not (slope > 0.05).all():
                raise GeometryError("the lens bends too much to be undone.")
            r = r - (r * (1 + self.k1 * r**2 + self.k2 * r**4) - seen) / slope
        share = np.where(seen > 1e-12, r / np.where(seen > 1e-12, seen, 1.0), 1.0)
        return bent * share[:, None]


def rotation(vector: Array) -> Array:
    """Return the rotation about a vector by its length [radians] (Rodrigues' formula)."""
    angle = float(np.linalg.norm(vector))
    if angle < 1e-12:
        return np.eye(3)
    x, y, z = vector / angle
    cross = np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])
    turned: Array = np.eye(3) + np.sin(angle) * cross + (1 - np.cos(angle)) * cross @ cross
    return turned


def from_homography(homography: Array, focal_px: float, centre_px: Array) -> tuple[Array, Array]:
    """Return turn and place of a camera that sees the paper by a homography.

    Args:
        homography: (3, 3) from places on the paper [mm] to pixels.
        focal_px: Focal length [pixels].
        centre_px: (2,) where the optical axis meets the photo [pixels].

    Returns:
        As Camera has them. The nearest rotation is taken where the focal length is not that of the photo.

    Raises:
        GeometryError: It is no view of a table from above.
    """
    inner = np.array([[focal_px, 0, centre_px[0]], [0, focal_px, centre_px[1]], [0, 0, 1.0]])
    columns = np.linalg.solve(inner, homography)
    if not (np.isfinite(columns).all() and np.linalg.norm(columns[:, :2], axis=0).min() > 1e-12):
        raise GeometryError("the markers lie on a line.")
    columns = columns / np.sqrt(np.linalg.norm(columns[:, 0]) * np.linalg.norm(columns[:, 1]))
    if columns[2, 2] < 0:
        columns = -columns
    near = np.column_stack([columns[:, 0], columns[:, 1], np.cross(columns[:, 0], columns[:, 1])])
    u, _, v = np.linalg.svd(near)
    turn = u @ v
    place = -turn.T @ columns[:, 2]
    if not (np.isfinite(place).all() and place[2] > 0 and np.linalg.det(turn) > 0):
        raise GeometryError("the markers are seen mirrored, or from the side.")
    return turn, place
