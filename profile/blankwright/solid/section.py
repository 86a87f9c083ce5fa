"""A blade in section: both faces from edge to spine, and the integrals over them in closed form.

u is the height above the edge [mm], from 0 to H at the spine; z is across, from the plane of the edge. Each side of
that plane is a body of its own, from the edge upward:
    edge bevel    a triangle, from nothing to this side's share of the thickness behind the edge; of a blunt edge a
                  quarter of a circle, tangent to the side
    primary bevel from there to this side's share of the spine's thickness, flat, hollow or convex
    face          the spine's thickness, from the grind line up
Areas and first moments: trapezoid, circular segment and parabolic segment (any handbook of mechanics).
Near a plunge line the whole ground surface lies further out by a distance, cut off by the face.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from blankwright.base.arrays import Array
from blankwright.base.errors import RequestError
from blankwright.base.frozen import dataclass
from blankwright.solid.side import Side, trapezoid

KINDS = ("flat", "hollow", "convex")

SQUARE_DEG = 90.0
"""Edge angle of a blade that is not sharpened yet: its edge is as thick as it is behind the edge."""

BLUNT_DEG = 45.0
"""Slope of a rounded edge from its lowest point to where it meets the side: that of a quarter of a circle."""

_ROUND_STEPS = 9
"""Points on a rounded edge of a solid: at a radius of 0.5 mm the chords err by 0.002 mm."""

_ROUNDING_MM = 1e-9


@dataclass(frozen=True)
class Bevels:
    """How a blade is ground.

    Args:
        kind: flat, hollow or convex.
        height_mm: Height of the grind line above the edge [mm]; None for ground to the spine.
        behind_edge_mm: Thickness where primary and edge bevel meet [mm].
        edge_angle_deg: Angle of the edge bevel on each side [degrees]; SQUARE_DEG for not sharpened yet.
        wheel_mm: Diameter of the wheel of a hollow grind [mm]; None for the other kinds.
        right_share: Share of the thickness that lies on the right of the edge: 0.5 ground alike on both sides, 1
            ground on the right only, 0 on the left only.
        edge_angle_left_deg: Angle of the left edge bevel [degrees]; None for the same as on the right.
        blunt: Whether the edge is rounded over its whole thickness instead of sharpened; its angle is then BLUNT_DEG,
            that of the round's chord, so that the round is as high as it is deep.

    Raises:
        RequestError: An unknown kind, a length or angle that cannot be, a hollow grind without its wheel.
    """

    kind: str
    height_mm: float | None
    behind_edge_mm: float
    edge_angle_deg: float
    wheel_mm: float | None
    right_share: float = 0.5
    edge_angle_left_deg: float | None = None
    blunt: bool = False

    def __post_init__(self) -> None:
        if self.kind not in KINDS:
            raise RequestError(f"[grind] kind: '{self.kind}' is unknown. Allowed: {', '.join(KINDS)}.")
        angles = (self.edge_angle_deg, self.edge_angle_deg if self.edge_angle_left_deg is None else
                  self.edge_angle_left_deg)  # fmt: skip
        if not (self.behind_edge_mm >= 0 and all(1 <= a <= 60 or a == SQUARE_DEG for a in angles)):
            raise RequestError("[grind]: the thickness behind the edge is 0 mm or more, the edge angle 1 to 60 deg.")
        if (self.kind == "hollow") != (self.wheel_mm is not None):
            raise RequestError("[grind] wheel: a hollow grind needs the diameter of its wheel, the others have none.")
        if not 0 <= self.right_share <= 1:
            raise RequestError("[grind] right_share: the right side has 0 to 100 % of the thickness.")

    def unsharpened(self, edge_mm: float) -> Bevels:
        """Return the same grind before hardening: no edge bevel, the edge left this thick [mm]."""
        return replace(self, behind_edge_mm=edge_mm, edge_angle_deg=SQUARE_DEG, edge_angle_left_deg=None,
                       blunt=False)  # fmt: skip

    @property
    def shares(self) -> tuple[float, float]:
        """Share of the thickness on the right and on the left of the edge."""
        return self.right_share, 1 - self.right_share

    @property
    def alike(self) -> bool:
        """Whether both sides are ground alike."""
        return self.right_share == 0.5 and self.edge_angle_left_deg in (None, self.edge_angle_deg)

    @property
    def edge_angles_deg(self) -> tuple[float, float]:
        """Angle of the edge bevel on the right and on the left [degrees]."""
        return self.edge_angle_deg, self.edge_angle_left_deg or self.edge_angle_deg

    @property
    def edge_radius_mm(self) -> float:
        """Radius that rounds a blunt edge over its whole thickness, of the deeper side [mm]."""
        return max(self.shares) * self.behind_edge_mm

    @property
    def edge_bevels_mm(self) -> tuple[float, float]:
        """Height of the edge bevel on the right and on the left [mm]."""
        right, left = (
            share * self.behind_edge_mm / float(np.tan(np.radians(angle)))
            for share, angle in zip(self.shares, self.edge_angles_deg, strict=True)
        )
        return right, left

    @property
    def edge_bevel_mm(self) -> float:
        """Height of the higher edge bevel [mm]."""
        return max(self.edge_bevels_mm)


def sides(height_mm: Array, spine_mm: Array, bevels: Bevels) -> tuple[Side, Side]:
    """Return the right and the left side of sections.

    Args:
        height_mm: (n,) height of the section, edge to spine [mm].
        spine_mm: (n,) thickness of the spine there [mm].
        bevels: The grind.
    """
    found = []
    for share, full in zip(bevels.shares, bevels.edge_bevels_mm, strict=True):
        foot = np.minimum(full, height_mm)
        face = share * spine_mm
        radius = share * bevels.behind_edge_mm if bevels.blunt else 0.0
        if radius > 0:
            foot = np.minimum(foot, radius - np.sqrt(radius**2 - np.minimum(face, radius) ** 2))
            behind = np.minimum(np.sqrt(np.maximum(foot * (2 * radius - foot), 0.0)), face)
        else:
            reached = foot / full if full > 0 else np.ones_like(foot)
            behind = np.minimum(share * bevels.behind_edge_mm * reached, face)
        top = height_mm if bevels.height_mm is None else np.clip(bevels.height_mm, foot, height_mm)
        found.append(Side(foot, behind, top, face, radius))
    return found[0], found[1]


def edge_plane_mm(spine_mm: Array, bevels: Bevels) -> Array:
    """Return z of the edge's plane from the middle of the stock [mm]."""
    plane: Array = spine_mm * (0.5 - bevels.right_share)
    return plane


def integrals(
    height_mm: Array, spine_mm: Array, bevels: Bevels, out_mm: Array | None = None
) -> tuple[Array, Array, Array]:
    """Return area and first moments of sections.

    Args:
        height_mm: (n,) height of the section, edge to spine [mm].
        spine_mm: (n,) thickness of the spine there [mm].
        bevels: The grind.
        out_mm: (n,) how much further out the ground surface lies there, near a plunge line [mm]; None for nowhere.

    Returns:
        (n,) areas [mm^2], (n,) first moments about the edge, area times height of its centroid [mm^3], and (n,) first
        moments about the middle of the stock, positive to the right [mm^3].
    """
    out = np.zeros_like(height_mm) if out_mm is None else out_mm
    one, other = sides(height_mm, spine_mm, bevels)
    right = _of_side(one, height_mm, bevels, out)
    left = right if bevels.alike else _of_side(other, height_mm, bevels, out)
    area = right[0] + left[0]
    return area, right[1] + left[1], right[2] - left[2] + edge_plane_mm(spine_mm, bevels) * area


def _of_side(side: Side, height: Array, bevels: Bevels, out: Array) -> tuple[Array, Array, Array]:
    """Return area, moment about the edge and moment about the edge's plane of one side."""
    low, first, last = _ground(side, bevels, out)
    # edge bevel, as far as it lies under the face
    area, about, across = side.edge_integrals(low, out)
    # primary bevel: the trapezoid under its chord, and what a curved one has more or less
    begin, reach = np.where(last > first, side.foot + first, low), last - first
    start, end = side.behind + out + _rise(first, side, bevels), side.behind + out + _rise(last, side, bevels)
    one, two, three = trapezoid(start, end, reach)
    curved = _curved(reach, start, end, side, bevels)
    area, about, across = area + one + curved[0], about + two + one * begin, across + three + curved[2]
    about = about + curved[1] + curved[0] * begin
    # face: above the bevel, and between the bevels where a hollow dips under the face again
    for bottom, top in ((low, begin), (begin + reach, height)):
        strip = (top - bottom) * side.face
        area, about, across = area + strip, about + strip * (bottom + top) / 2, across + strip * side.face / 2
    return area, about, across


def _ground(side: Side, bevels: Bevels, out: Array) -> tuple[Array, Array, Array]:
    """Return where the bevels lie under the face [mm].

    These are: how high the edge bevel reaches, and from where to where above its foot the primary bevel does.
    """
    run, rise = side.top - side.foot, side.face - side.behind
    nothing = side.face <= 0  # the flat side of a single bevel is all face
    first, last = np.zeros_like(run), np.where(nothing, 0.0, run)
    if not (out > 0).any():
        return side.foot, first, last
    left = np.maximum(side.face - out, 0.0)
    low = side.edge_height(left)
    level = np.where(left >= side.behind, 1.0, 0.0)  # as thick behind the edge as the face: all is ground, or nothing
    part = np.clip(np.divide(left - side.behind, rise, out=level, where=rise > 0), 0.0, 1.0)
    if bevels.kind == "convex":
        reach = run * (1 - np.sqrt(1 - part))
    elif bevels.wheel_mm is not None:
        radius = bevels.wheel_mm / 2
        cx, cz = _hollow_centre(run, rise, radius)
        half = np.sqrt(np.maximum(radius**2 - (cz + side.behind - left) ** 2, 0.0))
        first = np.where(left < side.behind, np.clip(cx - half, 0.0, run), 0.0)
        reach = np.where(left > 0, np.maximum(np.clip(cx + half, 0.0, run), first), first)
    else:
        reach = run * part
    lifted = (out > 0) & ~nothing
    return np.where(lifted, low, side.foot), np.where(lifted, first, 0.0), np.where(lifted, reach, last)


def _rise(reach: Array, side: Side, bevels: Bevels) -> Array:
    """Return how far the primary bevel has come out, a distance above its foot [mm]."""
    run, rise = side.top - side.foot, side.face - side.behind
    v = np.divide(reach, run, out=np.zeros_like(reach), where=run > 0)
    if bevels.kind == "convex":
        result: Array = rise * (1 - (1 - v) ** 2)
        return result
    straight: Array = rise * v
    if bevels.wheel_mm is not None:
        return straight - _sag(reach, run, rise, bevels.wheel_mm / 2)
    return straight


def _curved(reach: Array, start: Array, end: Array, side: Side, bevels: Bevels) -> tuple[Array, Array, Array]:
    """Return what a curved bevel has over the trapezoid under its chord: area, moments about its foot and the plane."""
    run, rise = side.top - side.foot, side.face - side.behind
    if bevels.kind == "convex":
        # out = rise (1 - (1 - v)^2): over the chord of a part of it by bend * q (reach - q), a parabolic segment
        bend = np.divide(rise, run * run, out=np.zeros_like(run), where=run > 0)
        slope = np.divide(end - start, reach, out=np.zeros_like(reach), where=reach > 0)
        area = bend * reach**3 / 6
        across = bend * (start * reach**3 / 6 + slope * reach**4 / 12) + bend**2 * reach**5 / 60
        return area, bend * reach**4 / 12, across
    if bevels.wheel_mm is None:
        return np.zeros_like(reach), np.zeros_like(reach), np.zeros_like(reach)
    radius = bevels.wheel_mm / 2
    up = end - start
    chord = np.hypot(reach, up)
    half = np.arcsin(np.clip(chord / (2 * radius), 0, 1))
    # circular segment: A = r^2 (alpha - sin alpha cos alpha); small angles by series, or nothing is left of the digits
    exact = radius**2 * (half - np.sin(half) * np.cos(half))
    series = chord**2 / 4 * (2 / 3 * half + 4 / 45 * half**3)
    area = np.where(reach > 0, np.where(half < 0.02, series, exact), 0.0)  # no bevel left: the edge bevel takes all
    # its centroid lies on the chord's middle normal, toward the steel: (4 r sin^3 / 3 (2 alpha - sin 2 alpha)) - r cos
    depth = chord * np.tan(half / 2) / 2
    wide = np.where(half < 0.02, 1.0, half)
    far = 4 * radius * np.sin(wide) ** 3 / (3 * (2 * wide - np.sin(2 * wide))) - radius * np.cos(wide)
    off = np.where(half < 0.02, (0.4 + 3 / 350 * half**2) * depth, far)
    safe = np.where(chord > 0, chord, 1.0)
    return -area, -area * (reach / 2 + off * up / safe), -area * ((start + end) / 2 - off * reach / safe)


def faces(
    u_mm: Array, height_mm: Array, spine_mm: Array, bevels: Bevels, out_mm: Array | None = None
) -> tuple[Array, Array]:
    """Return z of the right and the left face at heights u above the edge, from the middle of the stock [mm].

    Args:
        u_mm: (n,) heights above the edge [mm].
        height_mm: (n,) height of the section there [mm].
        spine_mm: (n,) thickness of the spine there [mm].
        bevels: The grind.
        out_mm: As for integrals.
    """
    plane = edge_plane_mm(spine_mm, bevels)
    out = np.zeros_like(height_mm) if out_mm is None else out_mm
    found = []
    for side in sides(height_mm, spine_mm, bevels):
        run = side.top - side.foot
        primary = side.behind + _rise(np.clip(u_mm - side.foot, 0.0, run), side, bevels)
        ground = np.where(u_mm < side.foot, side.edge_out(u_mm), primary) + out
        flat = (u_mm >= side.top) | (side.face <= 0)  # a side of no thickness, that of a single bevel, stays flat
        found.append(np.where(flat, side.face, np.minimum(ground, side.face)))
    return plane + found[0], plane - found[1]


def ground_heights(
    height_mm: Array, spine_mm: Array, bevels: Bevels, out_mm: Array | None = None
) -> tuple[Array, Array]:
    """Return how high above the edge the ground surface ends and the face begins, right and left [mm].

    Args and signs are those of integrals.
    """
    out = np.zeros_like(height_mm) if out_mm is None else out_mm
    found = []
    for side in sides(height_mm, spine_mm, bevels):
        low, first, last = _ground(side, bevels, out)
        found.append(np.where(last > first, side.foot + last, low))
    return found[0], found[1]


def chains(
    height_mm: Array, spine_mm: Array, bevels: Bevels, out_mm: Array, count: int
) -> tuple[tuple[Array, Array], tuple[Array, Array]]:
    """Return points up the right and up the left side of sections, every corner among them.

    Args:
        height_mm: (n,) height of the section, edge to spine [mm].
        spine_mm: (n,) thickness of the spine there [mm].
        bevels: The grind.
        out_mm: (n,) as for integrals.
        count: Steps on the primary bevel.

    Returns:
        For each side (n, count + 5), with a blunt edge some more, heights above the edge, never falling, and how far
        the side lies out there from the plane of the edge [mm]. What has no height falls together exactly.
    """
    one, other = sides(height_mm, spine_mm, bevels)
    return _chain(one, height_mm, bevels, out_mm, count), _chain(other, height_mm, bevels, out_mm, count)


def _chain(side: Side, height: Array, bevels: Bevels, out: Array, count: int) -> tuple[Array, Array]:
    low, first, last = _ground(side, bevels, out)
    at_low = np.minimum(out + side.edge_out(low), side.face)
    foot, behind, top, full = (a[:, None] for a in (side.foot, side.behind, side.top, side.face))
    wide = Side(foot, behind, top, full, side.radius)
    ground = (last > first)[:, None]
    over = first[:, None] + np.maximum(last - first, 0.0)[:, None] * np.linspace(0, 1, count + 1)
    z = np.where(ground, np.minimum(wide.behind + out[:, None] + _rise(over, wide, bevels), wide.face), at_low[:, None])
    u = np.where(ground, wide.foot + over, low[:, None])
    rest = height - u[:, -1] > _ROUNDING_MM
    face = np.where(rest & (side.face - z[:, -1] > _ROUNDING_MM), side.face, z[:, -1])
    round_u = low[:, None] * (1 - np.cos(np.linspace(0, np.pi / 2, _ROUND_STEPS)[1:-1])) if side.radius > 0 else None
    more_u = [] if round_u is None else [round_u]
    more_z = [] if round_u is None else [np.minimum(out[:, None] + wide.edge_out(round_u), wide.face)]
    u = np.column_stack([np.zeros_like(low), *more_u, low, u, u[:, -1], height])
    z = np.column_stack([np.minimum(out, side.face), *more_z, at_low, z, face, face])
    return np.where(height[:, None] - u <= _ROUNDING_MM, height[:, None], u), z


def thickness(u_mm: Array, height_mm: Array, spine_mm: Array, bevels: Bevels) -> Array:
    """Return the thickness at heights u above the edge, elementwise [mm]."""
    right, left = faces(u_mm, height_mm, spine_mm, bevels)
    result: Array = right - left
    return result


def cuts_through(height_mm: Array, spine_mm: Array, bevels: Bevels) -> NDArray[np.bool_]:
    """Return where a hollow grind leaves no steel.

    (n,) true where a hollow passes the plane of the edge, or the wheel is too small for its bevel.

    Args:
        height_mm: (n,) height of the section, edge to spine [mm].
        spine_mm: (n,) thickness of the spine there [mm].
        bevels: The grind.
    """
    met: NDArray[np.bool_] = np.zeros(len(height_mm), dtype=bool)
    if bevels.wheel_mm is None:
        return met
    radius = bevels.wheel_mm / 2
    for side, share in zip(sides(height_mm, spine_mm, bevels), bevels.shares, strict=True):
        if share <= 0:
            continue
        run, rise = side.top - side.foot, side.face - side.behind
        cx, cz = _hollow_centre(run, rise, radius)
        least = side.behind + cz - np.sqrt(np.maximum(radius**2 - np.maximum(-cx, 0) ** 2, 0))
        # a hollow that starts from no thickness at all touches the plane there: rounding is no cut
        met |= (run > 0) & ((np.hypot(run, rise) > 2 * radius) | (least < -_ROUNDING_MM))
    return met


def _hollow_centre(run: Array, rise: Array, radius: float) -> tuple[Array, Array]:
    """Return the wheel's centre from the bevel's foot, along and across the blade [mm]; it lies outside the steel."""
    half = np.arcsin(np.clip(np.hypot(run, rise) / (2 * radius), 0, 1))
    lean = np.arctan2(rise, run)
    cx = run / 2 - radius * np.cos(half) * np.sin(lean)
    cz = rise / 2 + radius * np.cos(half) * np.cos(lean)
    return cx, cz


def _sag(along: Array, run: Array, rise: Array, radius: float) -> Array:
    """Return how far a hollow lies under its chord, measured across the blade [mm]."""
    cx, cz = _hollow_centre(run, rise, radius)
    under = cz - np.sqrt(np.maximum(radius**2 - (along - cx) ** 2, 0))
    return rise * along / np.where(run > 0, run, 1.0) - under
