"""Every dimension measured once more, on the arcs that are cut: bounds and chords, no spline and no control point.

The solver reads its dimensions off its own control points. Here the finished outline answers, which knows nothing of
them.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from blankwright.base.frozen import dataclass
from blankwright.base.said import Line, mm, said
from blankwright.design.lines import LEAN_UP_MM
from blankwright.design.parts import Dimension, Station
from blankwright.design.shape import Shape
from blankwright.geometry.outline import Outline, circles

ROUNDING_MM = 0.001
"""What is granted on top of the arcs' own tolerance: a chord meets two arcs at their joint."""

STICK_SHARES = (0.2, 0.6)
"""Where the straight sides of a hidden tang are read, as shares of its length from the shoulders: clear of rounds."""

_STRAIGHT = 1e-12
_CORNER_DEG = 5.0
_LEAN_MM = 0.006
"""A family draws an angle; what it is over LEAN_UP_MM is stated to two decimals."""
_ON_ARC_MM = 1e-6
_FLAT_MM = 0.002
"""Largest distance between an arc and its chord where the part's size is measured once more."""


@dataclass(frozen=True)
class Measured:
    """One dimension measured on the arcs.

    Args:
        key: Name in the design file, or "overall", "part length", "part height".
        stated_mm: What is reported [mm].
        found_mm: What the arcs measure [mm].
        within_mm: How closely arcs can tell it [mm].
    """

    key: str
    stated_mm: float
    found_mm: float
    within_mm: float

    @property
    def holds(self) -> bool:
        """Whether both figures are one."""
        return abs(self.found_mm - self.stated_mm) <= self.within_mm

    @property
    def words(self) -> str:
        """Both figures in mm."""
        return self.line.text()

    @property
    def line(self) -> Line:
        """Both figures, as a sentence that follows the reader's units."""
        return said(f"{self.key}: stated {{}}, measured {{}}", mm(self.stated_mm, 3), mm(self.found_mm, 3))


def measured(shape: Shape) -> tuple[Measured, ...]:
    """Measure every reported dimension of a shape on its finished outline.

    The arcs follow the solver's curves within `shape.tolerance_mm`, so a place read off them is known to that, along a
    slope to that times its length, and a difference of two places to twice that.

    Args:
        shape: The solved shape.

    Returns:
        Every dimension that the outline draws (where a handle begins and how long a handle around a hidden tang is are
        drawn by nothing), the overall length, and the part's length and height.
    """
    found = []
    for solved in shape.solved:
        one = measure(shape, solved.dimension)
        if one is not None:
            found.append(Measured(solved.dimension.key, solved.value_mm, *one))
    x0, _, x1, _ = shape.finished.bounds_mm
    near = _near(shape)
    rear = shape.butt_x_mm if shape.construction == "hidden" else x0
    found.append(Measured("overall", shape.overall_length_mm, x1 - rear, 2 * near))
    points = shape.finished.flattened(_FLAT_MM)
    low, high = points.min(axis=0), points.max(axis=0)
    for axis, key in enumerate(("part length", "part height")):
        size = shape.finished.size_mm[axis]
        found.append(Measured(key, size, float(high[axis] - low[axis]), 2 * _FLAT_MM))
    return tuple(found)


def wrong(shape: Shape) -> tuple[Measured, ...]:
    """Return the dimensions that the arcs do not confirm."""
    return tuple(one for one in measured(shape) if not one.holds)


def _near(shape: Shape) -> float:
    return shape.tolerance_mm + ROUNDING_MM


def measure(shape: Shape, d: Dimension) -> tuple[float, float] | None:
    """Return a dimension [mm] and how closely the arcs tell it [mm]; None when they do not draw it."""
    near, m = _near(shape), d.measure
    outline = shape.edge_line
    if m.curve is None or all(c.name != m.curve for c in shape.family.curves[shape.construction]):
        return None
    x0, _, x1, _ = outline.bounds_mm
    if m.kind in ("ahead", "foremost"):
        return x1, near
    if m.kind in ("behind", "rearmost"):
        return shape.front_x_mm - x0, near
    if m.kind == "lean":
        return _lean(outline, near)
    if m.kind == "corner":
        return _corner(outline)
    if m.kind == "above" and shape.values_mm.get("tip_radius"):
        return _foremost_height(outline, near)
    if m.kind == "above":
        return float(outline.ends[_edge(outline)[-1], 1]), near
    if m.kind == "foremost-height":
        return _foremost_height(outline, near)
    if m.kind == "flat":
        return _flat_mm(outline), near
    if m.kind == "apart":
        return _apart(shape, near)
    return _at_stations(shape, d, near)


def _at_stations(shape: Shape, d: Dimension, near: float) -> tuple[float, float]:
    m, outline = d.measure, shape.finished
    assert m.station is not None
    low, high = chord(outline, station_mm(m.station, _places_mm(shape)))
    region = next(c.region for c in shape.family.curves[shape.construction] if c.name == m.curve)
    if m.kind == "thickness":
        return high.y_mm - low.y_mm, near * (low.stretch + high.stretch)
    one = low if region == "edge" else high
    if m.kind == "height":
        return one.y_mm, near * one.stretch
    assert m.second is not None
    other = chord(outline, station_mm(m.second, _places_mm(shape)))[0 if region == "edge" else 1]
    return one.y_mm - other.y_mm, near * (one.stretch + other.stretch)


@dataclass(frozen=True)
class Crossing:
    """Where an upright line meets the outline: y [mm], and the length of the outline there for 1 mm along x."""

    y_mm: float
    stretch: float


_NOWHERE = Crossing(math.nan, 1.0)


def chord(outline: Outline, x_mm: float) -> tuple[Crossing, Crossing]:
    """Return the lowest and the highest crossing of an upright line; not a number where it does not reach.

    In closed form for each line and arc, by other means than the solver and the layout of the holes.
    """
    a, b = outline.starts[:, 0], outline.ends[:, 0]
    reach = np.abs(outline.bulges) * outline.chord_lengths  # no arc is further than this from its chord
    near = np.flatnonzero((np.minimum(a, b) - reach <= x_mm) & (x_mm <= np.maximum(a, b) + reach))
    rows = zip(outline.starts[near].tolist(), outline.ends[near].tolist(), outline.bulges[near].tolist(), strict=True)
    found = [c for start, end, bulge in rows for c in _of_piece(start, end, bulge, x_mm)]
    if not found:
        return _NOWHERE, _NOWHERE
    return min(found, key=lambda c: c.y_mm), max(found, key=lambda c: c.y_mm)


def _of_piece(start: Sequence[float], end: Sequence[float], bulge: float, x_mm: float) -> list[Crossing]:
    """Return where an upright line meets one line or arc."""
    (ax, ay), (bx, by) = start, end
    dx, dy = bx - ax, by - ay
    if abs(bulge) <= _STRAIGHT:
        if dx == 0 or not min(ax, bx) <= x_mm <= max(ax, bx):
            return []
        return [Crossing(ay + dy / dx * (x_mm - ax), math.hypot(1.0, dy / dx))]
    long = math.hypot(dx, dy)
    height = (1 - bulge * bulge) / (4 * bulge)  # from the chord to the centre, in chords, to the left
    cx, cy, radius = (ax + bx) / 2 - dy * height, (ay + by) / 2 + dx * height, long * (1 + bulge**2) / abs(4 * bulge)
    away = x_mm - cx
    if abs(away) >= radius:
        return []
    up = math.sqrt(radius * radius - away * away)
    found = []
    for y in (cy - up, cy + up):
        left = (dx * (y - ay) - dy * (x_mm - ax)) / long
        if -math.copysign(left, left * bulge) >= -_ON_ARC_MM:  # an arc that turns left lies right of its chord
            found.append(Crossing(y, radius / up))
    return found


def _edge(outline: Outline) -> NDArray[np.intp]:
    return np.flatnonzero(np.array(outline.regions) == "edge")


def _flat_mm(outline: Outline) -> float:
    """Return where the first straight of the edge ends [mm]; a rounded heel corner may come before it."""
    edge = _edge(outline)
    straight = np.abs(outline.bulges[edge]) <= _STRAIGHT
    if not straight.any():
        return 0.0
    first = int(np.argmax(straight))
    run = first + int(np.argmin(np.append(straight[first:], False)))
    return float(outline.ends[edge[run - 1], 0])


def _foremost_height(outline: Outline, near: float) -> tuple[float, float]:
    """Return the height of the foremost place [mm]; a nose of radius r shows it to sqrt(2 r tolerance) only."""
    x1 = outline.bounds_mm[2]
    bent = np.flatnonzero(np.abs(outline.bulges) > _STRAIGHT)
    centre, radius = circles(outline.starts[bent], outline.ends[bent], outline.bulges[bent])
    short = np.abs(centre[:, 0] + radius - x1)
    at = int(short.argmin()) if len(bent) else -1
    if at >= 0 and short[at] <= _ON_ARC_MM:
        return float(centre[at, 1]), math.sqrt(2 * near * float(radius[at]))
    return float(outline.starts[outline.starts[:, 0].argmax(), 1]), near


def _lean(outline: Outline, near: float) -> tuple[float, float] | None:
    """Return how far the line of the heel leans back over LEAN_UP_MM [mm]; None where rounds leave no line."""
    rows = [
        (a, b)
        for a, b, bulge, region in zip(outline.starts, outline.ends, outline.bulges, outline.regions, strict=True)
        if region == "heel" and abs(bulge) <= _STRAIGHT and abs(b[1] - a[1]) > abs(b[0] - a[0])
    ]
    if not rows:
        return None
    a, b = min(rows, key=lambda row: float(row[1][1]))
    over = LEAN_UP_MM / float(a[1] - b[1])
    return float(b[0] - a[0]) * over, _LEAN_MM + 2 * _ON_ARC_MM * over


def _corner(outline: Outline) -> tuple[float, float]:
    """Return the radius at the foremost place [mm]; 0 for a corner there."""
    x1 = outline.bounds_mm[2]
    at = int(outline.starts[:, 0].argmax())
    if outline.starts[at, 0] >= x1 - _ON_ARC_MM and abs(outline.corner_angles_deg[at]) > _CORNER_DEG:
        return 0.0, ROUNDING_MM
    bent = np.flatnonzero(np.abs(outline.bulges) > _STRAIGHT)
    centre, radius = circles(outline.starts[bent], outline.ends[bent], outline.bulges[bent])
    one = float(radius[int(np.abs(centre[:, 0] + radius - x1).argmin())])
    return one, ROUNDING_MM


def _apart(shape: Shape, near: float) -> tuple[float, float]:
    """Return the height of a stick at its shoulders, drawn on from two places along its straight sides."""
    reach = shape.front_x_mm - shape.tang_end_x_mm
    first, second = STICK_SHARES
    heights = [
        high.y_mm - low.y_mm
        for low, high in (chord(shape.finished, shape.front_x_mm - s * reach) for s in STICK_SHARES)
    ]
    slope = (heights[1] - heights[0]) / (second - first)
    return heights[0] - slope * first, 4 * near


def _places_mm(shape: Shape) -> dict[str, float]:
    """Return x of the places that stations are told by [mm]."""
    tip = shape.values_mm["blade_length"]
    return {"heel": 0.0, "tip": tip, "front": shape.front_x_mm, "butt": shape.tang_end_x_mm}


def station_mm(station: Station, places_mm: Mapping[str, float]) -> float:
    """Return x of a station [mm].

    Args:
        station: The station.
        places_mm: x of the places that stations are told by: heel, tip, front, butt [mm].
    """
    a, b = places_mm[station.start], places_mm[station.toward]
    if station.mm is not None:
        return a + math.copysign(1.0, b - a) * station.mm
    return a + (b - a) * (station.share or 0.0)
