"""Does the file of a part beside the blade hold what the finished knife asks of it? Measured on what was read back.

A part is what lies within a distance of a finished outline and on one side of some straight lines. Its contour runs
along that border and nowhere else: every point of it is measured against the outline in closed form, and GEOS says
which points lie inside.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np

from blankwright.base.arrays import Array, Place
from blankwright.base.errors import GeometryError, unknown
from blankwright.base.finding import Finding, finding
from blankwright.base.frozen import dataclass
from blankwright.base.said import mm, said
from blankwright.base.units import MM_PER_INCH
from blankwright.geometry.outline import Outline
from blankwright.proof import distance
from blankwright.proof.findings import INSUNITS, contour_findings, file_findings, length, or_ok, spot
from blankwright.proof.holes import ExpectedHole, hole_findings, holes_inside
from blankwright.proof.reader import CutDrawing

FLAT_MM, STEP_MM, MAX_POINTS = 0.0005, 0.25, 200_000
"""As in the blade's proof: arc to chord, step along a contour, and the most points that are measured."""
SPARE_MM = 0.0045
"""How much further out a contour may run than asked: it is drawn 0.004 mm out."""
NEAR_MM = 3e-6
"""What "at least" may miss: coordinates are rounded to 0.000001 mm, bulges likewise, and a side is made of two."""


@dataclass(frozen=True)
class Side:
    """A straight border: the part lies where x nx + y ny is no more than at [mm]."""

    nx: float
    ny: float
    at_mm: float


@dataclass(frozen=True, eq=False)
class Opening:
    """An opening that is not round: it lets something through and is no larger than asked.

    Args:
        lets: (n, 2) corners of what goes through [mm].
        gap_mm: Least room round it [mm].
        most_mm: Greatest room round it [mm].
    """

    lets: Array
    gap_mm: float
    most_mm: float


@dataclass(frozen=True, eq=False)
class ExpectedPart:
    """What the file of a part must hold, said of the finished knife and the part's own figures.

    Args:
        outline: A finished outline: what of it lies within the sides lies in the part.
        outside_mm: How far outside it the part is cut; None where the sides alone bound it [mm].
        loss_mm: What the cut may take of that [mm].
        sides: Straight borders.
        holes: Its round holes.
        wall_mm: Least material between a hole and the contour or another hole [mm].
        openings: Other openings.
        off_mm: How far every hole keeps outside the outline; None where holes are in it [mm].
        unit: "mm" or "in".
        deviation_mm: Greatest distance of chords from an arc, 0 for arcs [mm].

    Raises:
        GeometryError: A number below 0 or not finite.
        RequestError: An unknown unit.
    """

    outline: Outline
    outside_mm: float | None
    loss_mm: float
    sides: tuple[Side, ...]
    holes: tuple[ExpectedHole, ...]
    wall_mm: float
    openings: tuple[Opening, ...]
    off_mm: float | None
    unit: str
    deviation_mm: float

    def __post_init__(self) -> None:
        for name in ("outside_mm", "loss_mm", "wall_mm", "off_mm", "deviation_mm"):
            value = getattr(self, name)
            if value is not None and not (math.isfinite(value) and value >= 0):
                raise GeometryError(f"{name} needs a length of 0 or more")
        if self.unit not in INSUNITS:
            raise unknown("unit", self.unit, INSUNITS)


@dataclass(frozen=True, eq=False)
class PartProof:
    """What was measured on a part's file.

    Args:
        size_mm: Overall width and height; None where nothing could be measured [mm].
        out_mm: Greatest distance of the contour outside its border [mm]; None likewise.
        in_mm: Greatest distance inside it [mm]; None likewise.
        outer: (n, 3) the contour that was read [mm]; None likewise.
        circles: (m, 3) the holes that were read: x, y, diameter [mm].
        findings: Everything that was looked at.
    """

    size_mm: Place | None
    out_mm: float | None
    in_mm: float | None
    outer: Array | None
    circles: Array
    findings: tuple[Finding, ...]

    @property
    def ok(self) -> bool:
        """Whether nothing is wrong and everything was measured."""
        return self.out_mm is not None and not any(f.level == "error" for f in self.findings)


def prove_part(drawing: CutDrawing, expected: ExpectedPart) -> PartProof:
    """Check a part's drawing that was read back against what it must hold.

    Args:
        drawing: From `reader.read_dxf`, read as plain, its marks taken out.
        expected: What is expected.

    Returns:
        Measurements and findings; a broken drawing gives error findings, never an exception.
    """
    factor = drawing.unit_mm or (MM_PER_INCH if expected.unit == "in" else 1.0)
    found = list(file_findings(drawing, expected.unit))
    scale = np.array([factor, factor, 1.0])
    contours = [replace(c, vertices=c.vertices * scale) for c in drawing.contours if c.layer.upper() == "CUT"]
    contours.sort(key=lambda c: -float(np.prod(_size(c.vertices))))
    outer, openings = contours[:1], contours[1:]
    sound, problems = contour_findings(outer)
    found += problems
    circles = factor * np.reshape([(c.x, c.y, c.diameter) for c in drawing.circles if c.layer == "CUT"], (-1, 3))
    spots = factor * np.reshape([(p.x, p.y) for p in drawing.points if p.layer == "DRILL"], (-1, 2))
    if not sound:
        if not contours:
            found.append(finding("CONTOUR-COUNT", "There is no contour on layer CUT."))
        return PartProof(None, None, None, None, circles, tuple(found))
    ring = sound[0]
    polygon = _polygon(ring)
    if polygon is None:
        found.append(finding("CROSSING", "The contour is no simple outline."))
        return PartProof(_size(ring), None, None, ring, circles, tuple(found))
    found += hole_findings(circles, spots, expected.holes, marks=False, kerf_mm=0.0)
    found += holes_inside(circles, spots, ring, polygon)
    found += _walls(circles, ring, expected.wall_mm) + _off(circles, expected)
    found += _openings([c.vertices for c in openings if c.closed], len(openings), expected.openings, polygon)
    most, least, problems = _border(ring, polygon, expected)
    return PartProof(_size(ring), most, least, ring, circles, (*found, *problems))


def _size(vertices: Array) -> Place:
    low, high = distance.boxes(distance.pieces_of(vertices, closed=True))
    width, height = high.max(axis=0) - low.min(axis=0)
    return float(width), float(height)


def _polygon(vertices: Array) -> Any:
    import shapely  # noqa: PLC0415 - heavy

    points, _ = distance.flatten(vertices, FLAT_MM, math.inf, MAX_POINTS)
    polygon = shapely.Polygon(points) if len(points) > 2 else None
    return polygon if polygon is not None and polygon.is_valid else None


def _outside(points: Array, expected: ExpectedPart, base: Any) -> Array:
    """Return how far points lie outside the border of the part: negative inside it [mm]."""
    import shapely  # noqa: PLC0415 - heavy

    away = np.full(len(points), -math.inf)
    if expected.outside_mm is not None:
        away = distance.from_points(points, expected.outline.vertices)
        away = np.where(shapely.contains_xy(base, points[:, 0], points[:, 1]), -away, away) - expected.outside_mm
    for side in expected.sides:
        away = np.maximum(away, points @ np.array([side.nx, side.ny]) - side.at_mm)
    return away


def _border(ring: Array, polygon: Any, expected: ExpectedPart) -> tuple[float | None, float | None, list[Finding]]:
    """Measure how far the contour runs from its border, and whether it goes round all of the finished part."""
    import shapely  # noqa: PLC0415 - heavy

    base = _polygon(expected.outline.vertices)
    points, _ = distance.flatten(ring, FLAT_MM, STEP_MM, MAX_POINTS)
    if base is None or not len(points):
        return None, None, [finding("OVERSIZE", "The contour cannot be measured.")]
    shapely.prepare(base)
    away = _outside(points, expected, base)
    spare = SPARE_MM + 2 * expected.deviation_mm
    most, least = int(away.argmax()), int(away.argmin())
    out: list[Finding] = []
    if not away[most] <= spare:
        text = said("The contour runs {} outside of what the finished knife asks for, at {}.",
                    length(away[most], 4), spot(points[most], 3))  # fmt: skip
        out.append(finding("OVERSIZE", text, points[most]))
    if not away[least] >= -NEAR_MM:
        text = said("The contour runs {} inside of what the finished knife asks for, at {}.",
                    length(-away[least], 4), spot(points[least], 3))  # fmt: skip
        out.append(finding("CLEARANCE", text, points[least]))
    out += _whole(polygon, base, expected)
    asked, loss = expected.outside_mm, expected.loss_mm
    if asked is None:
        text = said("The contour follows its straight sides, from {} inside to {} outside of them.",
                    length(max(-away[least], 0.0), 4), length(max(away[most], 0.0), 4))  # fmt: skip
        return float(away[most]), float(-away[least]), or_ok(out, "CLEARANCE", text)
    if 0 < asked < loss:
        text = said("The cut may take {}, but {} are left: ask for more.", mm(loss, 3), mm(asked, 3))
        out.append(finding("WORST-CASE", text))
    text = said("The contour follows the finished knife's line {} outside, from {} inside to {} outside of that.",
                mm(asked, 3), length(max(-away[least], 0.0), 4), length(max(away[most], 0.0), 4))  # fmt: skip
    return float(away[most]), float(-away[least]), or_ok(out, "CLEARANCE", text)


def _whole(polygon: Any, base: Any, expected: ExpectedPart) -> list[Finding]:
    """Every point of the finished outline that belongs to the part lies inside the contour."""
    import shapely  # noqa: PLC0415 - heavy

    points, _ = distance.flatten(expected.outline.vertices, FLAT_MM, STEP_MM, MAX_POINTS)
    keep = np.ones(len(points), dtype=bool)
    for side in expected.sides:
        keep &= points @ np.array([side.nx, side.ny]) <= side.at_mm - 2 * FLAT_MM
    points = points[keep]
    out = ~shapely.contains_xy(polygon, points[:, 0], points[:, 1])
    far = shapely.distance(polygon, shapely.points(points[out]))
    if (far > 2 * FLAT_MM).any():
        row = int(np.argmax(far))
        text = said(
            "The finished part reaches {} out of the contour at {}.", mm(far[row], 3), spot(points[out][row], 3)
        )
        return [finding("INSIDE", text, points[out][row])]
    return []


def _walls(circles: Array, ring: Array, least_mm: float) -> list[Finding]:
    out: list[Finding] = []
    if len(circles):
        wall = distance.from_points(circles[:, :2], ring) - circles[:, 2] / 2
        for row in np.flatnonzero(wall < least_mm - NEAR_MM):
            text = said("The hole at {} leaves {} to the outline; it needs {}.",
                        spot(circles[row, :2], 3), mm(wall[row], 3), mm(least_mm, 3))  # fmt: skip
            out.append(finding("WALL", text, circles[row, :2]))
        apart = np.hypot(*(circles[:, None, :2] - circles[None, :, :2]).transpose(2, 0, 1))
        apart -= (circles[:, None, 2] + circles[None, :, 2]) / 2
        for i, j in np.argwhere(np.triu(apart < least_mm - NEAR_MM, 1)):
            text = said("Two holes leave {} between them at {}; they need {}.",
                        mm(apart[i, j], 3), spot(circles[i, :2], 3), mm(least_mm, 3))  # fmt: skip
            out.append(finding("WALL", text, circles[i, :2]))
    return or_ok(out, "WALL", said("Every hole leaves at least {}.", mm(least_mm, 3)))


def _off(circles: Array, expected: ExpectedPart) -> list[Finding]:
    """Holes that stand beside the finished outline keep off it."""
    import shapely  # noqa: PLC0415 - heavy

    base = _polygon(expected.outline.vertices)
    if expected.off_mm is None or base is None or not len(circles):
        return []
    away = distance.from_points(circles[:, :2], expected.outline.vertices) - circles[:, 2] / 2
    away = np.where(shapely.contains_xy(base, circles[:, 0], circles[:, 1]), -1.0, away)
    out = []
    for row in np.flatnonzero(away < expected.off_mm - NEAR_MM):
        text = said("The hole at {} comes to {} from the outline it stands beside; it must keep {}.",
                    spot(circles[row, :2], 3), mm(max(away[row], 0.0), 3), mm(expected.off_mm, 3))  # fmt: skip
        out.append(finding("WALL", text, circles[row, :2]))
    return out


def _openings(found: list[Array], count: int, wanted: tuple[Opening, ...], polygon: Any) -> list[Finding]:
    """Every opening lets through what it must, is no larger than asked, and lies inside the part."""
    import shapely  # noqa: PLC0415 - heavy

    if len(found) != count or count != len(wanted):
        told = f"{count} further contours on CUT, {len(found)} closed; asked for are {len(wanted)} openings."
        return [finding("CONTOUR-COUNT", told)]
    out: list[Finding] = []
    for vertices, asked in zip(found, wanted, strict=True):
        hole, through = _polygon(vertices), shapely.Polygon(asked.lets)
        if hole is None or not polygon.contains(hole):
            out.append(finding("INSIDE", "An opening is no simple outline inside the part.", vertices[0, :2]))
            continue
        gap = hole.exterior.distance(through) if hole.contains(through) else -1.0
        room = float(shapely.hausdorff_distance(hole.exterior, through.exterior, densify=0.05))
        if gap < asked.gap_mm - 2 * FLAT_MM:
            text = said(
                "An opening leaves {} round what goes through it; it needs {}.", mm(gap, 3), mm(asked.gap_mm, 3)
            )
            out.append(finding("CLEARANCE", text, vertices[0, :2]))
        if room > asked.most_mm + 2 * FLAT_MM:
            text = said("An opening leaves up to {} round what goes through it; asked for is no more than {}.",
                        mm(room, 3), mm(asked.most_mm, 3))  # fmt: skip
            out.append(finding("OVERSIZE", text, vertices[0, :2]))
    return or_ok(out, "CLEARANCE", f"{len(wanted)} openings, each as asked.") if wanted else out
