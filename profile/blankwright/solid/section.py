"""A blade in section: thickness from edge to spine, and the integrals over it in closed form.

u is the height above the edge [mm], from 0 to H at the spine. From the edge upward:
    edge bevel    a triangle, from no thickness to the thickness behind the edge, at the edge angle on each side
    primary bevel from the thickness behind the edge to the spine's thickness, flat, hollow or convex
    flat          the spine's thickness, from the grind line up
Areas and first moments: trapezoid, circular segment and parabolic spandrel (any handbook of mechanics).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from blankwright.errors import RequestError

Array = NDArray[np.float64]

KINDS = ("flat", "hollow", "convex")

_ROUNDING_MM = 1e-9


@dataclass(frozen=True)
class Bevels:
    """How a blade is ground.

    Args:
        kind: flat, hollow or convex.
        height_mm: Height of the grind line above the edge [mm]; None for ground to the spine.
        behind_edge_mm: Thickness where primary and edge bevel meet [mm].
        edge_angle_deg: Angle of the edge bevel on each side [degrees].
        wheel_mm: Diameter of the wheel of a hollow grind [mm]; None for the other kinds.

    Raises:
        RequestError: An unknown kind, a length or angle that cannot be, a hollow grind without its wheel.
    """

    kind: str
    height_mm: float | None
    behind_edge_mm: float
    edge_angle_deg: float
    wheel_mm: float | None

    def __post_init__(self) -> None:
        if self.kind not in KINDS:
            raise RequestError(f"[grind] kind: '{self.kind}' is unknown. Allowed: {', '.join(KINDS)}.")
        if not (self.behind_edge_mm >= 0 and 1 <= self.edge_angle_deg <= 60):
            raise RequestError("[grind]: the thickness behind the edge is 0 mm or more, the edge angle 1 to 60 deg.")
        if (self.kind == "hollow") != (self.wheel_mm is not None):
            raise RequestError("[grind] wheel: a hollow grind needs the diameter of its wheel, the others have none.")

    @property
    def edge_bevel_mm(self) -> float:
        """Height of the edge bevel [mm]."""
        return self.behind_edge_mm / 2 / float(np.tan(np.radians(self.edge_angle_deg)))


def integrals(height_mm: Array, spine_mm: Array, bevels: Bevels) -> tuple[Array, Array]:
    """Return area and first moment of sections about the edge.

    Args:
        height_mm: (n,) height of the section, edge to spine [mm].
        spine_mm: (n,) thickness of the spine there [mm].
        bevels: The grind.

    Returns:
        (n,) areas [mm^2] and (n,) first moments, area times height of its centroid above the edge [mm^3].
    """
    b, behind, top = _bounds(height_mm, spine_mm, bevels)
    area = b * behind / 2
    moment = b * behind / 2 * (2 * b / 3)
    run = top - b
    area += run * (behind + spine_mm) / 2
    # centroid of a trapezoid above its lower side: run (t0 + 2 t1) / 3 (t0 + t1)
    moment += run * (behind + spine_mm) / 2 * b + run * run * (behind + 2 * spine_mm) / 6
    gain, about = _curved(run, (spine_mm - behind) / 2, bevels)
    area += 2 * gain
    moment += 2 * (gain * b + about)
    rest = height_mm - top
    area += rest * spine_mm
    moment += rest * spine_mm * (top + rest / 2)
    return area, moment


def _bounds(height_mm: Array, spine_mm: Array, bevels: Bevels) -> tuple[Array, Array, Array]:
    """Return where the edge bevel ends, how thick the blade is there, and where the primary bevel ends [mm]."""
    full = bevels.edge_bevel_mm
    b = np.minimum(full, height_mm)
    behind = np.minimum(bevels.behind_edge_mm * (b / full if full > 0 else np.ones_like(b)), spine_mm)
    top = height_mm if bevels.height_mm is None else np.clip(bevels.height_mm, b, height_mm)
    return b, behind, top


def _curved(run: Array, rise: Array, bevels: Bevels) -> tuple[Array, Array]:
    """Return what a curved bevel adds to a flat one on each side: area and its moment about the bevel's foot."""
    if bevels.kind == "flat":
        return np.zeros_like(run), np.zeros_like(run)
    if bevels.kind == "convex":
        # t/2 = rise (1 - (1 - u/run)^2) against rise u/run: a parabolic segment of height rise/4 at the middle
        return run * rise / 6, run * run * rise / 12
    assert bevels.wheel_mm is not None
    radius = bevels.wheel_mm / 2
    chord = np.hypot(run, rise)
    half = np.arcsin(np.clip(chord / (2 * radius), 0, 1))
    # circular segment: A = r^2 (alpha - sin alpha cos alpha); small angles by series, or nothing is left of the digits
    exact = radius**2 * (half - np.sin(half) * np.cos(half))
    series = chord**2 / 4 * (2 / 3 * half + 4 / 45 * half**3)
    area = np.where(run > 0, np.where(half < 0.02, series, exact), 0.0)  # no bevel left: the edge bevel takes it all
    # its centroid lies on the chord's middle normal, toward the steel: (4 r sin^3 / 3 (2 alpha - sin 2 alpha)) - r cos
    depth = chord * np.tan(half / 2) / 2
    wide = np.where(half < 0.02, 1.0, half)
    far = 4 * radius * np.sin(wide) ** 3 / (3 * (2 * wide - np.sin(2 * wide))) - radius * np.cos(wide)
    off = np.where(half < 0.02, 0.4 * depth, far)
    lean = rise / np.where(chord > 0, chord, 1.0)
    return -area, -area * (run / 2 + off * lean)


def thickness(u_mm: Array, height_mm: Array, spine_mm: Array, bevels: Bevels) -> Array:
    """Return the thickness at heights u above the edge, elementwise [mm]."""
    b, behind, top = _bounds(height_mm, spine_mm, bevels)
    run, rise = top - b, (spine_mm - behind) / 2
    safe = np.where(run > 0, run, 1.0)
    v = np.clip((u_mm - b) / safe, 0, 1)
    half = behind / 2 + rise * v
    if bevels.kind == "convex":
        half = behind / 2 + rise * (1 - (1 - v) ** 2)
    elif bevels.kind == "hollow" and bevels.wheel_mm is not None:
        half = half - _sag(v * run, run, rise, bevels.wheel_mm / 2)
    edge = np.where(b > 0, behind / 2 * u_mm / np.where(b > 0, b, 1.0), behind / 2)
    inside = np.where(u_mm < b, edge, half)
    return np.where(u_mm >= top, spine_mm, 2 * inside)


def cuts_through(height_mm: Array, spine_mm: Array, bevels: Bevels) -> NDArray[np.bool_]:
    """Return where a hollow grind leaves no steel: (n,) true where the two hollows meet or the wheel is too small.

    Args:
        height_mm: (n,) height of the section, edge to spine [mm].
        spine_mm: (n,) thickness of the spine there [mm].
        bevels: The grind.
    """
    if bevels.wheel_mm is None:
        return np.zeros(len(height_mm), dtype=bool)
    b, behind, top = _bounds(height_mm, spine_mm, bevels)
    run, rise, radius = top - b, (spine_mm - behind) / 2, bevels.wheel_mm / 2
    cx, cz = _hollow_centre(run, rise, radius)
    least = behind / 2 + cz - np.sqrt(np.maximum(radius**2 - np.maximum(-cx, 0) ** 2, 0))
    # a hollow that starts from no thickness at all touches the middle there: rounding is no cut
    met: NDArray[np.bool_] = (run > 0) & ((np.hypot(run, rise) > 2 * radius) | (least < -_ROUNDING_MM))
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
