"""The closed outline: a chain of tangent arcs and lines, and everything exact that can be said of it.

Words used here:
    piece       one line or one arc of the chain
    bulge       tan(angle / 4) of the arc to the next vertex, positive counter-clockwise, 0 for a line
                (DXF reference, LWPOLYLINE group code 42)
    outline     vertices with bulges, closed, without a repeated last vertex; counter-clockwise
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import DTypeLike, NDArray

from blankwright.base.arrays import Array, dot, fixed, following, pairs, within
from blankwright.base.doors import a_number
from blankwright.base.errors import GeometryError, RequestError, told
from blankwright.base.frozen import dataclass
from blankwright.geometry import moments
from blankwright.geometry.moments import Boundary, boundary

if TYPE_CHECKING:
    from shapely import Polygon

GRID_MM = 1e-6
"""Coordinates of finished and cut outlines are multiples of this: a thousandth of what any machine holds, and ten
thousand million times what the last digits of a solve differ by from processor to processor (2e-16 mm, measured)."""

BULGE_GRID = 1e-8
"""Bulges likewise: over a chord of 200 mm the middle of the arc moves by at most 0.0000005 mm."""


GEO_TOLERANCE_MM = 0.001
"""How far a chord may leave its arc in `__geo_interface__`: a tenth of the finest cutting tolerance."""

MOST_POINTS = 20_000_000
"""More points than this on one outline are a slip: they would fill the memory."""


@dataclass(frozen=True, eq=False, repr=False)
class Outline:
    """A closed chain of arcs and lines.

    Args:
        vertices: (n, 3) array of x [mm], y [mm] and bulge [unitless] to the next vertex; the last piece
            runs back to the first vertex. At least two pieces.
        regions: One name for each piece, such as "edge" or "spine"; empty strings when not known.
        max_error_mm: Largest distance to the curve that was approximated, measured [mm]; 0 when exact.

    Raises:
        GeometryError: Wrong shape, fewer than two pieces, a number that is not finite, or a piece of no length.
    """

    vertices: Array
    regions: tuple[str, ...] = ()
    max_error_mm: float = 0.0

    def __post_init__(self) -> None:
        try:
            v = np.array(self.vertices, dtype=np.float64)
        except (TypeError, ValueError):
            raise GeometryError(f"an outline needs rows of x, y and bulge, got {told(self.vertices)}") from None
        if v.ndim != 2 or v.shape[1] != 3 or len(v) < 2:
            raise GeometryError("an outline needs at least two vertices of x, y and bulge")
        if not np.isfinite(v).all():
            raise GeometryError("an outline holds a number that is not finite")
        v.setflags(write=False)
        object.__setattr__(self, "vertices", v)
        object.__setattr__(self, "regions", tuple(self.regions) or ("",) * len(v))
        if len(self.regions) != len(v):
            raise GeometryError("an outline needs one region for each piece")
        if not (self.chord_lengths > 0).all():
            at = int(self.chord_lengths.argmin())
            raise GeometryError(f"an outline has a piece of no length at ({v[at, 0]:.3f}, {v[at, 1]:.3f})")

    def __len__(self) -> int:
        return len(self.vertices)

    def __eq__(self, other: object) -> bool:
        """Whether both run through the same vertices by the same pieces, to the last digit."""
        if not isinstance(other, Outline):
            return NotImplemented
        return self is other or (np.array_equal(self.vertices, other.vertices) and self.regions == other.regions)

    def __hash__(self) -> int:
        return hash((self.vertices + 0.0).tobytes())  # of all: many begin at one heel; a negative zero is zero

    def __reduce__(self) -> tuple[type[Outline], tuple[Array, tuple[str, ...], float]]:
        return Outline, (self.vertices, self.regions, self.max_error_mm)  # its answers are computed where it arrives

    @cached_property
    def starts(self) -> Array:
        """(n, 2) start of each piece [mm]."""
        return self.vertices[:, :2]

    @cached_property
    def ends(self) -> Array:
        """(n, 2) end of each piece [mm]."""
        return fixed(following(self.vertices[:, :2]))

    @cached_property
    def bulges(self) -> Array:
        """(n,) bulge of each piece [unitless]."""
        return self.vertices[:, 2]

    @cached_property
    def chord_lengths(self) -> Array:
        """(n,) straight distance from start to end of each piece [mm]."""
        d = self.ends - self.starts
        return fixed(np.hypot(d[:, 0], d[:, 1]))

    @cached_property
    def lengths(self) -> Array:
        """(n,) length of each piece along the arc [mm]."""
        return fixed(arc_lengths(self.chord_lengths, self.bulges))

    @property
    def perimeter_mm(self) -> float:
        """Length of the whole outline [mm]."""
        return float(self.lengths.sum())

    @cached_property
    def moments(self) -> moments.Moments:
        """Area, centroid and second moments, in closed form [mm^2, mm, mm^4]."""
        return moments.of_chain(self.starts, self.ends, self.bulges)

    @cached_property
    def boundary(self) -> Boundary:
        """Where integrals of a weight over the enclosed area are taken (`moments.weighted`)."""
        return boundary(self.starts, self.ends, self.bulges)

    @cached_property
    def area_mm2(self) -> float:
        """Enclosed area [mm^2], positive when the outline runs counter-clockwise."""
        return moments.area_of_chain(self.starts, self.ends, self.bulges)

    @property
    def centroid_mm(self) -> tuple[float, float]:
        """Centroid of the enclosed area [mm]."""
        return self.moments.centroid_mm

    @cached_property
    def start_tangents(self) -> Array:
        """(n, 2) unit tangent at the start of each piece."""
        return fixed(piece_tangents(self.starts, self.ends, self.bulges, -1.0))

    @cached_property
    def end_tangents(self) -> Array:
        """(n, 2) unit tangent at the end of each piece."""
        return fixed(piece_tangents(self.starts, self.ends, self.bulges, 1.0))

    @cached_property
    def curvatures(self) -> Array:
        """(n,) signed curvature of each piece [1/mm], positive turning left, 0 for a line."""
        b = self.bulges
        return fixed(4 * b / ((1 + b * b) * self.chord_lengths))

    @cached_property
    def corner_angles_deg(self) -> Array:
        """(n,) change of direction at the start of each piece [degrees]; 0 where the chain is tangent."""
        before = np.concatenate([self.end_tangents[-1:], self.end_tangents[:-1]])
        after = self.start_tangents
        cross = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
        return fixed(np.degrees(np.arctan2(cross, dot(before, after))))

    @cached_property
    def piece_boxes(self) -> tuple[Array, Array]:
        """(n, 2) low and (n, 2) high corners of the pieces' exact boxes [mm]."""
        low, high = piece_bounds(self.starts, self.ends, self.bulges)
        return fixed(low), fixed(high)

    @cached_property
    def bounds_mm(self) -> tuple[float, float, float, float]:
        """Exact least x, least y, greatest x, greatest y [mm]."""
        low, high = self.piece_boxes
        return (
            float(low[:, 0].min()),
            float(low[:, 1].min()),
            float(high[:, 0].max()),
            float(high[:, 1].max()),
        )

    @property
    def size_mm(self) -> tuple[float, float]:
        """Overall size along x and y [mm]."""
        x0, y0, x1, y1 = self.bounds_mm
        return (x1 - x0, y1 - y0)

    def reversed(self) -> Outline:
        """Return the same outline run the other way round."""
        points = self.vertices[::-1, :2]
        bulges = -np.roll(self.vertices[::-1, 2], -1)
        regions = (*self.regions[::-1][1:], self.regions[-1])
        return Outline(np.column_stack([points, bulges]), regions, self.max_error_mm)

    def moved(self, dx_mm: float, dy_mm: float) -> Outline:
        """Return the outline shifted by (dx, dy) [mm].

        Raises:
            RequestError: A shift is no number.
        """
        dx_mm, dy_mm = a_number(dx_mm, "dx_mm"), a_number(dy_mm, "dy_mm")
        return Outline(self.vertices + np.array([dx_mm, dy_mm, 0.0]), self.regions, self.max_error_mm)

    def mirrored(self) -> Outline:
        """Return the outline seen from the other face: y turned round, still counter-clockwise."""
        flipped = self.vertices * np.array([1.0, -1.0, -1.0])
        return Outline(flipped, self.regions, self.max_error_mm).reversed()

    def placed(self, angle_deg: float, dx_mm: float, dy_mm: float) -> Outline:
        """Return the outline turned counter-clockwise about the origin, then shifted.

        Args:
            angle_deg: Angle [degrees].
            dx_mm: Shift along x [mm].
            dy_mm: Shift along y [mm].

        Raises:
            RequestError: The angle or a shift is no number.
        """
        angle_deg = a_number(angle_deg, "angle_deg")
        dx_mm, dy_mm = a_number(dx_mm, "dx_mm"), a_number(dy_mm, "dy_mm")
        c, s = np.cos(np.radians(angle_deg)), np.sin(np.radians(angle_deg))
        x, y, b = self.vertices.T
        turned = np.column_stack([c * x - s * y + dx_mm, s * x + c * y + dy_mm, b])
        return Outline(turned, self.regions, self.max_error_mm)

    def on_grid(self) -> Outline:
        """Return the outline with its coordinates on a grid of GRID_MM and its bulges on one of BULGE_GRID.

        What rounding adds is added to max_error_mm: half a grid square's diagonal, and half a chord times half a
        step of the bulge, which is what the middle of an arc moves. Pieces whose ends fall together are left out.
        Files written from it hold these very numbers, so that the last digits of a computation, which differ from
        processor to processor, reach no file.
        """
        rounded = np.concatenate(
            [_on_grid(self.vertices[:, :2], GRID_MM), _on_grid(self.vertices[:, 2:], BULGE_GRID)], axis=1
        )
        moved = GRID_MM / np.sqrt(2) + float(self.chord_lengths.max()) / 2 * BULGE_GRID / 2
        stays = (following(rounded[:, :2]) != rounded[:, :2]).any(axis=1)
        regions = self.regions
        if not stays.all():
            regions = tuple(r for r, keep in zip(self.regions, stays.tolist(), strict=True) if keep)
        return Outline(rounded[stays], regions, self.max_error_mm + float(moved))

    def sampled(self, step_mm: float) -> tuple[Array, NDArray[np.intp]]:
        """Return points on the outline no further apart than a step, every vertex among them.

        Args:
            step_mm: Largest distance along the outline between two points [mm].

        Returns:
            (m, 2) points [mm] and (m,) the piece each lies on.

        Raises:
            RequestError: The step is no length above 0, or so small that nobody could hold the points.
        """
        step_mm = _length(step_mm, "step_mm", lambda mm: self.perimeter_mm / mm)
        count = np.maximum(1, np.ceil(self.lengths / step_mm).astype(int))
        piece = np.repeat(np.arange(len(self)), count)
        first = np.repeat(np.cumsum(count) - count, count)
        t = (np.arange(len(piece)) - first) / count[piece]
        return points_on(self.starts[piece], self.ends[piece], self.bulges[piece], t), piece

    def flattened(self, tol_mm: float) -> Array:
        """Return a polygon whose vertices lie on the outline, no arc further than tol_mm from its chord.

        Args:
            tol_mm: Largest distance between an arc and its chord [mm].

        Returns:
            (m, 2) points [mm], not repeated at the end.

        Raises:
            RequestError: The tolerance is no length above 0, or so small that nobody could hold the points.
        """
        tol_mm = _length(tol_mm, "tol_mm", lambda mm: self.perimeter_mm / mm**0.5)
        angle = 4 * np.arctan(np.abs(self.bulges))
        radius = 1 / np.maximum(np.abs(self.curvatures), 1e-12)
        step = 2 * np.arccos(within(1 - tol_mm / radius, -1.0, 1.0))
        count = np.maximum(1, np.ceil(angle / np.maximum(step, 1e-9)).astype(int))
        piece = np.repeat(np.arange(len(self)), count)
        first = np.repeat(np.cumsum(count) - count, count)
        t = (np.arange(len(piece)) - first) / count[piece]
        return points_on(self.starts[piece], self.ends[piece], self.bulges[piece], t)

    def to_shapely(self, tolerance_mm: float) -> Polygon:
        """Return the outline as a polygon of the geometry library shapely.

        Args:
            tolerance_mm: Largest distance between an arc and its chord [mm].

        Raises:
            RequestError: The tolerance is no length above 0.
        """
        import shapely  # noqa: PLC0415 - heavy, needed only here

        tolerance_mm = _length(tolerance_mm, "tolerance_mm", lambda mm: self.perimeter_mm / mm**0.5)
        return shapely.Polygon(self.flattened(tolerance_mm))

    @property
    def __geo_interface__(self) -> dict[str, Any]:
        """The outline as a polygon in mm, arcs followed to GEO_TOLERANCE_MM (the Python protocol of this name)."""
        points = [(float(x), float(y)) for x, y in self.flattened(GEO_TOLERANCE_MM)]
        return {"type": "Polygon", "coordinates": ((*points, points[0]),)}

    def __array__(self, dtype: DTypeLike | None = None, copy: bool | None = None) -> NDArray[Any]:
        """Return the vertices: (n, 3) x [mm], y [mm] and bulge; np.array(outline) is a copy that may be changed."""
        return np.array(self.vertices, dtype=dtype, copy=copy)

    def _repr_svg_(self) -> str:
        """Return a picture for a notebook."""
        from blankwright.geometry.picture import outline_picture  # noqa: PLC0415

        return outline_picture(self.starts, self.ends, self.bulges, self.bounds_mm)

    def __repr__(self) -> str:
        wide, high = self.size_mm
        return f"<Outline: {len(self)} pieces, {wide:.2f} x {high:.2f} mm, {self.area_mm2:.1f} mm2>"


def _length(value_mm: float, name: str, points: Callable[[float], float]) -> float:
    """Return a length; refuse what is none, and one that asks for more points than a machine holds."""
    number = a_number(value_mm, name)
    if number <= 0:
        raise RequestError(f"{name}: a length above 0 mm is needed, got {number:g}.")
    if points(max(number, 1e-300)) > MOST_POINTS:
        raise RequestError(f"{name}: {number:g} mm asks for more than {MOST_POINTS} points; ask for a larger one.")
    return number


def _on_grid(values: Array, step: float) -> Array:
    """Return values rounded to a step that is a negative power of ten; a negative zero becomes zero."""
    rounded: Array = np.round(values, round(-np.log10(step))) + 0.0
    return rounded


def points_on(starts: Array, ends: Array, bulges: Array, t: Array) -> Array:
    """Return points at a share t of the way along pieces (0 start, 1 end), elementwise.

    Args:
        starts: (n, 2) [mm].
        ends: (n, 2) [mm].
        bulges: (n,) [unitless].
        t: (n,) share of each piece's length, 0 to 1 [unitless].
    """
    half = 2 * np.arctan(bulges)  # half the arc's angle
    # chord from the start to the point: length ratio sin(t half)/sin(half), turned by (t - 1) half
    sin = np.sin(half)
    small = np.abs(half) < 1e-8
    ratio = np.where(small, t, np.sin(t * half) / np.where(small, 1.0, sin))
    turn = (t - 1) * half
    d = ends - starts
    c, s = ratio * np.cos(turn), ratio * np.sin(turn)
    return pairs(starts[:, 0] + d[:, 0] * c - d[:, 1] * s, starts[:, 1] + d[:, 0] * s + d[:, 1] * c)


def piece_tangents(starts: Array, ends: Array, bulges: Array, side: float) -> Array:
    """Return unit tangents of pieces.

    Args:
        starts: (n, 2) start of each piece [mm].
        ends: (n, 2) end of each piece [mm].
        bulges: (n,) [unitless].
        side: -1 for the tangents at the starts, 1 for those at the ends.

    Returns:
        (n, 2) [unitless].
    """
    chord = ends - starts
    u = chord / np.hypot(chord[:, 0], chord[:, 1])[:, None]
    # the tangent leaves the chord by half the arc's angle, 2 atan(bulge)
    cos, sin = (1 - bulges**2) / (1 + bulges**2), side * 2 * bulges / (1 + bulges**2)
    return pairs(u[:, 0] * cos - u[:, 1] * sin, u[:, 0] * sin + u[:, 1] * cos)


def piece_bounds(starts: Array, ends: Array, bulges: Array) -> tuple[Array, Array]:
    """Return the exact boxes of pieces: (n, 2) low corners and (n, 2) high corners [mm]."""
    low = np.minimum(starts, ends)
    high = np.maximum(starts, ends)
    arcs = (np.abs(bulges) > 1e-12).nonzero()[0]
    if len(arcs):
        a, b, g = starts[arcs], ends[arcs], bulges[arcs]
        turning = np.sign(g)
        u = piece_tangents(a, b, g, -1.0)
        out = pairs(turning * u[:, 1], -turning * u[:, 0])  # from the centre to the start
        first = np.arctan2(out[:, 1], out[:, 0])[:, None]
        ahead = np.mod((np.arange(4) * np.pi / 2 - first) * turning[:, None], 2 * np.pi)
        toward = np.concatenate([out, -out], axis=1)
        # 1 - toward, by the sine where that is small: seen from a centre 1e12 mm away nothing would be left of it
        rise = np.where(toward > 0, out[:, [1, 0, 1, 0]] ** 2 / (1 + np.abs(toward)), 1 - toward)
        radius = np.hypot(*(b - a).T) * (1 + g * g) / (4 * np.abs(g))
        rise = np.where(ahead < 4 * np.arctan(np.abs(g))[:, None], rise * radius[:, None], 0.0)
        low[arcs] = np.minimum(low[arcs], a - rise[:, 2:])
        high[arcs] = np.maximum(high[arcs], a + rise[:, :2])
    return low, high


def circles(starts: Array, ends: Array, bulges: Array) -> tuple[Array, Array]:
    """Return centres (n, 2) and radii (n,) of arcs [mm]; the bulges must not be zero."""
    d = ends - starts
    chord = np.hypot(d[:, 0], d[:, 1])
    normal = pairs(-d[:, 1], d[:, 0])  # left of the chord, as long as the chord
    height = (1 - bulges**2) / (4 * bulges)  # signed distance chord to centre, in chords
    centre = (starts + ends) / 2 + normal * height[:, None]
    radius = chord * (1 + bulges**2) / (4 * np.abs(bulges))
    return centre, radius


def arc_lengths(chords_mm: Array, bulges: Array) -> Array:
    """Return (n,) lengths along arcs [mm] from their chords [mm] and bulges."""
    b = np.abs(bulges)
    angle = np.arctan(b)  # a quarter of the arc's angle
    # arc length / chord = 2 alpha / (2 sin alpha), alpha = 2 atan(b); sin alpha = 2 b / (1 + b^2)
    ratio: Array = np.where(b > 1e-9, angle * (1 + b * b) / np.where(b > 1e-9, b, 1.0), 1.0)
    return chords_mm * ratio
