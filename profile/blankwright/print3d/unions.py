"""Solids put together and taken from each other: blade with tang, scales or block with pins, and the whole knife.

The unions are manifold3d's: closed bodies in, closed bodies out, whatever touches. Points come out as the file will
hold them, as numbers of 32 bits, so that nothing opens or folds when it is written.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from blankwright.base.arrays import Array
from blankwright.base.errors import GeometryError
from blankwright.geometry.chain import Chain
from blankwright.geometry.clip import behind
from blankwright.geometry.distance import LINE_BULGE
from blankwright.geometry.outline import Outline
from blankwright.print3d.lofts import blade_mesh, handle_mesh
from blankwright.print3d.mesh import Mesh, circle, prism
from blankwright.solid.blade import Plunge, Taper
from blankwright.solid.handlebodies import Swell
from blankwright.solid.section import Bevels

if TYPE_CHECKING:
    from manifold3d import Manifold

Hole = tuple[float, float, float]
"""x, y and diameter [mm]."""

_SIDES = 96
"""Sides of a hole or pin, of the circle's own area: within 0.06 % of its radius, 0.003 mm for a pin of 8 mm."""

_FLAT_MM = 0.002
_ON_LINE_MM = 1e-3
_BEYOND_MM = 1.0
_ACROSS_MM = 50.0  # no blade is as thick
_NEAR_MM = 1e-6
_SWELL_STEPS = 64
_TIDY_MM = 2e-4
_TIDY_ROUNDS = 6
_THIN_MM = 1e-6
_PER_MM = 2.0**16  # the grid of 32-bit numbers between 128 and 256 mm
_SLOT_MM = 0.02  # a slot's mouth is as high as the tang this far behind the handle's front


def steel_solid(
    outline: Outline, holes: Sequence[Hole], taper: Taper, bevels: Bevels, plunge: Plunge | None,
    hollowed: Outline | None = None,
) -> Manifold:  # fmt: skip
    """Return blade and tang as one body.

    Args:
        outline: The finished outline.
        holes: The holes behind the heel.
        taper: Thickness of the spine, and of the tang behind the heel.
        bevels: The grind.
        plunge: Where the grind begins; None for ground through to the heel.
        hollowed: The outline with its scallops, which are cut out of the ground blade; None for a plain edge.

    Raises:
        GeometryError: The blade cannot be built; the message says why.
    """
    ahead = blade_mesh(outline, taper, bevels, plunge)
    rear = ahead.vertices[ahead.vertices[:, 0] == 0.0]
    flat = behind_heel(outline, float(rear[:, 1].min()), float(rear[:, 1].max()))
    rings = [circle(x, y, diameter, _SIDES)[::-1] for x, y, diameter in holes]
    front = solid(ahead)
    if hollowed is not None:
        front = front - solid(prism([under_row(hollowed)], -_ACROSS_MM, _ACROSS_MM))
    return front + _between([flat, *rings], taper)


def under_row(outline: Outline) -> Array:
    """Return the (n, 2) polygon that a row of scallops takes: from the row down to well under the board."""
    edge = np.array([region == "edge" for region in outline.regions])
    deep = np.flatnonzero(edge & (outline.bulges < -LINE_BULGE))
    first, last = int(deep[0]), int(deep[-1])
    vertices = np.vstack([outline.vertices[first : last + 1], [*outline.ends[last], 0.0]])
    row = Chain(vertices).flattened(_FLAT_MM)
    under = np.array([[row[-1, 0], -_BEYOND_MM], [row[0, 0], -_BEYOND_MM]])
    return np.vstack([row, under])[::-1]


def behind_heel(outline: Outline, low_mm: float, high_mm: float) -> Array:
    """Return the (n, 2) polygon of what lies behind the heel, closed between two points on its line.

    Raises:
        GeometryError: The outline comes back over the line.
    """
    points = outline.flattened(_FLAT_MM)
    rear = points[:, 0] < -_ON_LINE_MM
    begin = np.flatnonzero(rear & ~np.roll(rear, 1))
    if len(begin) != 1:
        raise GeometryError("the outline comes back over the heel's line")
    run = np.roll(points, -int(begin[0]), axis=0)[: int(rear.sum())]
    return np.vstack([[0.0, high_mm], run, [0.0, low_mm]])


def _between(polygons: Sequence[Array], taper: Taper) -> Manifold:
    """Return a flat body as thick as a taper says."""
    flat = np.concatenate(polygons)
    front, rear = float(flat[:, 0].max()), float(flat[:, 0].min())
    places = np.array([rear, *(k for k in taper.x_mm if rear < k < front), front])
    thick = taper.at(places)
    if np.ptp(thick) == 0:
        return solid(prism(polygons, -float(thick[0]) / 2, float(thick[0]) / 2))
    # both ends run on straight a little beyond the polygon
    slope = np.diff(thick)[[0, -1]] / np.diff(places)[[0, -1]]
    places = places + np.concatenate([[-_BEYOND_MM], np.zeros(len(places) - 2), [_BEYOND_MM]])
    half = thick / 2
    half[[0, -1]] += slope * [-_BEYOND_MM / 2, _BEYOND_MM / 2]
    return solid(prism(polygons, -float(half.max()) - 1, float(half.max()) + 1)) ^ _profile(places, -half, half, flat)


def _profile(x: Array, below: Array, above: Array, flat: Array) -> Manifold:
    """Return the body between two heights across, straight between places along x, and as high as some points."""
    side = np.concatenate([np.column_stack([x, below]), np.column_stack([x, above])[::-1]])
    mesh = prism([side], float(flat[:, 1].min()) - 1, float(flat[:, 1].max()) + 1)
    turned = mesh.vertices[:, [0, 2, 1]]  # x, z, y -> x, y, z: a mirror image, so the triangles turn round
    return solid(Mesh(turned, mesh.faces[:, ::-1]))


def solid(mesh: Mesh) -> Manifold:
    """Return a closed mesh as a solid.

    Raises:
        GeometryError: It is not closed.
    """
    import manifold3d  # noqa: PLC0415 - only who prints a solid needs it

    made = manifold3d.Manifold(manifold3d.Mesh64(mesh.vertices, mesh.faces.astype(np.uint64)))
    if made.status() != manifold3d.Error.NoError:
        raise GeometryError("its surface does not close")
    return made


def bore(x_mm: float, y_mm: float, diameter_mm: float, half_mm: float) -> Manifold:
    """Return a cylinder across the knife, reaching as far out on both sides."""
    return solid(prism([circle(x_mm, y_mm, diameter_mm, _SIDES)], -half_mm, half_mm))


def scale_solids(outline: Outline, section: str, swell: Swell, under: Taper) -> tuple[Manifold, Manifold]:
    """Return the right scale, and both scales with what lies between them as one body, none of them bored.

    Args:
        outline: One scale's outline.
        section: slab, rounded or oval.
        swell: Thickness of one scale at its middle, along the handle.
        under: Thickness of the tang that the scales lie on.

    Raises:
        GeometryError: A rounded section over an outline that an upright line crosses more than twice.
    """
    if section != "slab":
        one, both = (solid(handle_mesh(outline, section, swell, under, one_side=side)) for side in (True, False))
        return one, both
    polygon = outline.flattened(_FLAT_MM)
    x = _stations(polygon, swell, under)
    inner = under.at(x) / 2
    outer = inner + np.array([swell.at(float(place)) for place in x])
    whole = solid(prism([polygon], -float(outer.max()) - 1, float(outer.max()) + 1))
    return whole ^ _profile(x, inner, outer, polygon), whole ^ _profile(x, -outer, outer, polygon)


def _stations(polygon: Array, swell: Swell, under: Taper) -> Array:
    """Return places along a slab where its thickness bends, from just behind its rear to just ahead of its front."""
    rear, front = float(polygon[:, 0].min()) - _BEYOND_MM, float(polygon[:, 0].max()) + _BEYOND_MM
    bends = [k for k in under.x_mm if rear < k < front]
    curved = np.linspace(rear, front, _SWELL_STEPS + 1) if swell.more_mm else np.array([rear, front])
    return np.unique(np.concatenate([curved, bends]))


def tang_solid(outline: Outline, taper: Taper, front_mm: float) -> Manifold:
    """Return the slot for a hidden tang: just its size, without its holes, open at the handle's front.

    Raises:
        GeometryError: The outline does not cross the front's line, or comes back over it.
    """
    at = front_mm - _SLOT_MM
    polygon = behind(outline, at, "cut").flattened(_FLAT_MM)
    mouth = np.abs(polygon[:, 0] - at) < _ON_LINE_MM
    return _between([np.column_stack([np.where(mouth, front_mm + _BEYOND_MM, polygon[:, 0]), polygon[:, 1]])], taper)


def block_taper(front_mm: float) -> Taper:
    """Return what lies between both halves of a block: nothing that counts."""
    return Taper((front_mm - 1.0, front_mm), (1e-9, 1e-9))


def clipped_front(body: Manifold, x_mm: float) -> Manifold:
    """Return what lies ahead of an upright plane."""
    return body.trim_by_plane((1.0, 0.0, 0.0), x_mm)


def on_plane(body: Manifold, x_mm: float) -> Manifold:
    """Return a body whose points near an upright plane lie just in it: what touches there then grows together."""

    def put(points: Array) -> Array:
        return np.where(np.abs(points - x_mm) < _NEAR_MM, [x_mm, 0, 0], points) * [1, 0, 0] + points * [0, 1, 1]

    return body.warp_batch(put)


def tidy(body: Manifold) -> Mesh:
    """Return a solid as the file will hold it: points of 32 bits, no triangle without area, in a settled order.

    Raises:
        GeometryError: It is empty, or does not close.
    """
    mesh = _single(body.simplify(_TIDY_MM))
    for _ in range(_TIDY_ROUNDS):
        mesh = _single(solid(mesh).simplify(_TIDY_MM))
        if _least_height_mm(mesh) > _THIN_MM:
            break
    if not len(mesh.faces):
        raise GeometryError("nothing is left of it")
    return _settled(mesh)


def _single(body: Manifold) -> Mesh:
    """Return a solid's mesh with its points rounded to a grid that 32 bits hold as well, and welded."""
    raw = body.to_mesh64()
    grid = np.round(np.asarray(raw.vert_properties, dtype=np.float64)[:, :3] * _PER_MM) / _PER_MM
    points = grid.astype(np.float32).astype(np.float64) + 0.0
    faces = np.asarray(raw.tri_verts, dtype=np.int64)
    kept, number = _welded(points)
    faces = number[faces]
    a, b, c = faces.T
    return Mesh(kept, faces[(a != b) & (b != c) & (c != a)])


def _welded(points: Array) -> tuple[Array, NDArray[np.intp]]:
    """Return points in the order of x, y and z, each once, and the number of every given one among them."""
    order = np.lexsort(points.T[::-1])
    rising = points[order]
    first = np.ones(len(points), dtype=bool)
    first[1:] = (rising[1:] != rising[:-1]).any(axis=1)
    number = np.empty(len(points), dtype=np.intp)
    number[order] = np.cumsum(first) - 1
    return rising[first], number


def _least_height_mm(mesh: Mesh) -> float:
    """Return the least height of any triangle over its longest side [mm]."""
    a, b, c = np.moveaxis(mesh.vertices[mesh.faces], 1, 0)
    longest = np.max([np.linalg.norm(p - q, axis=1) for p, q in ((a, b), (b, c), (c, a))], axis=0)
    heights = np.linalg.norm(np.cross(b - a, c - a), axis=1) / longest
    return float(heights.min(initial=np.inf))


def _settled(mesh: Mesh) -> Mesh:
    """Return the mesh with points and triangles in an order that depends on nothing but where they are."""
    points, number = _welded(mesh.vertices)
    faces = number[mesh.faces]
    turn = (np.argmin(faces, axis=1)[:, None] + np.arange(3)) % 3
    faces = np.take_along_axis(faces, turn, axis=1)
    return Mesh(points, faces[np.lexsort(faces.T[::-1])])
