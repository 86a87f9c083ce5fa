"""Closed triangle meshes: sections joined along x, and a flat polygon with its holes given a thickness.

Nothing here knows a knife. A mesh runs counter-clockwise seen from outside, so that its volume is positive.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from blankwright.base.arrays import Array
from blankwright.base.frozen import dataclass

Index = NDArray[np.int64]

_DIGITS = 9  # points nearer than this many decimals of a millimetre are one point
_LEAST_AREA_MM2 = 1e-9
_MUCH_SHORTER = 0.8


@dataclass(frozen=True, eq=False)
class Mesh:
    """A triangle mesh.

    Args:
        vertices: (n, 3) points [mm].
        faces: (m, 3) numbers of each triangle's points, counter-clockwise from outside.
    """

    vertices: Array
    faces: Index

    @property
    def volume_mm3(self) -> float:
        """Enclosed volume, a sum of tetrahedra to a point near by (any handbook of geometry) [mm^3]."""
        a, b, c = np.moveaxis((self.vertices - self.vertices.mean(axis=0))[self.faces], 1, 0)
        return float(np.einsum("ij,ij->", a, np.cross(b, c)) / 6)


def welded(vertices: Array, faces: Index) -> Mesh:
    """Return a mesh in which points that coincide are one, without the triangles that thereby lost their area."""
    points, number = np.unique(np.round(vertices, _DIGITS) + 0.0, axis=0, return_inverse=True)
    kept = number.reshape(-1)[faces]
    a, b, c = kept.T
    used, again = np.unique(kept[(a != b) & (b != c) & (c != a)], return_inverse=True)
    return Mesh(points[used], again.reshape(-1, 3).astype(np.int64))


def loft(rings: Array) -> Mesh:
    """Return the body between sections.

    Args:
        rings: (s, m, 3) points round each section, all the same way round and starting at corresponding places;
            points of a section may coincide, a whole section may be a line or a point [mm].
    """
    count, around = rings.shape[:2]
    i = np.arange(around)
    j = (i + 1) % around
    first = (np.arange(count - 1) * around)[:, None]
    a, b, c, d = (first + i, first + j, first + around + j, first + around + i)
    flat = rings.reshape(-1, 3)
    one, other = (np.linalg.norm(flat[p] - flat[q], axis=2) for p, q in ((a, c), (b, d)))
    # neighbours are split alternately, or a twisted face would come out hollow all over; mirrored, both halves match
    turn = (np.arange(count - 1)[:, None] + i + (i > around // 2)) % 2 == 0
    turn = np.where(one < _MUCH_SHORTER * other, True, np.where(other < _MUCH_SHORTER * one, False, turn))
    split = np.where(turn[..., None], np.stack([a, b, c, a, c, d], axis=-1), np.stack([a, b, d, b, c, d], axis=-1))
    faces = [split.reshape(-1, 3)]
    for ring, base, ahead in ((rings[0], 0, False), (rings[-1], (count - 1) * around, True)):
        cap = _cap(ring) + base
        faces.append(cap if ahead else cap[:, ::-1])
    mesh = welded(flat, np.concatenate(faces).astype(np.int64))
    return mesh if mesh.volume_mm3 >= 0 else Mesh(mesh.vertices, mesh.faces[:, ::-1])


def _cap(ring: Array) -> Index:
    """Return triangles that close an upright section, turning as the ring does; none for a line or a point."""
    points = np.round(ring[:, 1:], _DIGITS)
    kept = np.flatnonzero((points != np.roll(points, 1, axis=0)).any(axis=1))
    y, z = points[kept].T
    area = float((y * np.roll(z, -1) - z * np.roll(y, -1)).sum() / 2)
    if len(kept) < 3 or abs(area) < _LEAST_AREA_MM2:
        return np.zeros((0, 3), dtype=np.int64)
    if area < 0:
        return kept[::-1][_triangles([points[kept][::-1]])][:, ::-1]
    return kept[_triangles([points[kept]])]


def prism(polygons: Sequence[Array], low_mm: float, high_mm: float) -> Mesh:
    """Return a flat body of even thickness.

    Args:
        polygons: (n, 2) points of each closed polygon: outlines counter-clockwise, holes clockwise [mm].
        low_mm: z of its lower face [mm].
        high_mm: z of its upper face [mm].
    """
    flat = np.concatenate(polygons)
    n, top = len(flat), _triangles(polygons)
    faces, first = [top + n, top[:, ::-1]], 0
    for polygon in polygons:
        i = first + np.arange(len(polygon))
        j = first + (np.arange(len(polygon)) + 1) % len(polygon)
        faces += [np.column_stack([i, j, j + n]), np.column_stack([i, j + n, i + n])]
        first += len(polygon)
    heights = np.repeat([low_mm, high_mm], n)
    return welded(np.column_stack([np.tile(flat, (2, 1)), heights]), np.concatenate(faces).astype(np.int64))


def circle(x_mm: float, y_mm: float, diameter_mm: float, sides: int) -> Array:
    """Return a polygon of the circle's own area, counter-clockwise: its corners lie a little outside [mm]."""
    turn = 2 * np.pi * np.arange(sides) / sides
    radius = diameter_mm / 2 * float(np.sqrt(2 * np.pi / sides / np.sin(2 * np.pi / sides)))
    return np.column_stack([x_mm + radius * np.cos(turn), y_mm + radius * np.sin(turn)])


def _triangles(polygons: Sequence[Array]) -> Index:
    import manifold3d  # noqa: PLC0415 - only who prints a solid needs it

    return np.asarray(manifold3d.triangulate(list(polygons)), dtype=np.int64)
