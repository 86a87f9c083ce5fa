"""Are marks only marks? On their own layer, inside the finished part, clear of edge and holes, as read back."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from blankwright.base.arrays import Array
from blankwright.base.finding import Finding, finding
from blankwright.base.frozen import dataclass
from blankwright.base.said import mm, said
from blankwright.proof import distance
from blankwright.proof.findings import or_ok, spot
from blankwright.proof.reader import Contour, CutDrawing

KINDS = {"LWPOLYLINE", "POLYLINE", "LINE", "ARC"}
"""What a mark may be drawn with."""
MAX_MARKS = 20_000
NEAR_MM = 1e-5
"""What "at least" may miss: letters are laid out in floating point."""
_STEP_MM, _FLAT_MM = 0.1, 0.0005


@dataclass(frozen=True, eq=False)
class MarksRead:
    """What lies on the layer of marks.

    Args:
        contours: Its lines.
        others: Kinds of what else is on it.
    """

    contours: tuple[Contour, ...]
    others: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class ExpectedMarks:
    """Where marks may lie.

    Args:
        outline: (n, 3) the finished outline: x [mm], y [mm], bulge.
        inside_mm: How far inside it every mark keeps [mm].
        clear_mm: How far it keeps from what is cut [mm].
    """

    outline: Array
    inside_mm: float
    clear_mm: float


def apart(drawing: CutDrawing, layer: str) -> tuple[CutDrawing, MarksRead]:
    """Take a drawing apart: what is not on a layer, and what is.

    Args:
        drawing: From `reader.read_dxf`.
        layer: Name of the layer of marks.
    """
    name = layer.upper()

    def on(item: Any) -> bool:
        return str(item.layer).upper() == name

    rest = replace(
        drawing,
        contours=tuple(c for c in drawing.contours if not on(c)),
        circles=tuple(c for c in drawing.circles if not on(c)),
        points=tuple(p for p in drawing.points if not on(p)),
        others=tuple(o for o in drawing.others if o[1].upper() != name),
    )
    others = [kind for kind, where in drawing.others if where.upper() == name]
    others += ["CIRCLE" for c in drawing.circles if on(c)] + ["POINT" for p in drawing.points if on(p)]
    return rest, MarksRead(tuple(c for c in drawing.contours if on(c)), tuple(others))


def mark_findings(
    marks: MarksRead, drawing: CutDrawing, expected: ExpectedMarks, unit_mm: float, cut_layer: str = "CUT"
) -> list[Finding]:
    """Judge marks against the finished part and what is cut.

    Args:
        marks: What was on their layer.
        drawing: The rest of the drawing, read as plain.
        expected: Where they may lie.
        unit_mm: Millimetres in one unit of the file.
        cut_layer: The layer of what is cut.
    """
    import shapely  # noqa: PLC0415 - heavy

    out: list[Finding] = []
    if marks.others:
        out.append(finding("MARKS", f"{marks.others[0]} on the layer of marks: only lines and arcs belong there."))
    if not marks.contours or len(marks.contours) > MAX_MARKS:
        out.append(finding("MARKS", f"{len(marks.contours)} lines on the layer of marks; there must be some."))
        return out
    scale = np.array([unit_mm, unit_mm, 1.0])
    lines = [c.vertices * scale for c in marks.contours]
    points = np.concatenate([_along(v, closed=c.closed) for v, c in zip(lines, marks.contours, strict=True)])
    ring, _ = distance.flatten(expected.outline, _FLAT_MM, math.inf, 200_000)
    inside = shapely.contains_xy(shapely.Polygon(ring), points[:, 0], points[:, 1])
    edge = distance.from_points(points, expected.outline)
    edge = np.where(inside, edge, -edge)
    row = int(edge.argmin())
    if not edge[row] >= expected.inside_mm - NEAR_MM:
        text = said("A mark at {} is {} inside the finished outline; it must keep {}.",
                    spot(points[row], 3), mm(edge[row], 3), mm(expected.inside_mm, 3))  # fmt: skip
        out.append(finding("MARKS", text, points[row]))
    out += _clear_of(points, drawing, expected.clear_mm, unit_mm, cut_layer)
    text = said("{} marks, all on their own layer and at least {} inside the finished outline.",
                str(len(lines)), mm(float(edge.min()), 3))  # fmt: skip
    return or_ok(out, "MARKS", text)


def _along(vertices: Array, *, closed: bool) -> Array:
    """Return points on a chain, close together; a closed one runs back to its start."""
    there = vertices if closed else np.vstack([vertices, _back(vertices)])
    points, _ = distance.flatten(there, _FLAT_MM, _STEP_MM, 200_000)
    return points if len(points) else vertices[:, :2]


def _back(vertices: Array) -> Array:
    """Return an open chain's way back to its start, without its two ends: both ways together are closed."""
    rows = vertices[::-1].copy()
    rows[:-1, 2] = -vertices[-2::-1, 2]
    return rows[:-1] if len(rows) > 1 else rows


def _clear_of(points: Array, drawing: CutDrawing, clear_mm: float, unit_mm: float, cut_layer: str) -> list[Finding]:
    """Nothing that is cut comes near a mark."""
    out: list[Finding] = []
    circles: Sequence[Any] = [c for c in drawing.circles if c.layer.upper() == cut_layer.upper()]
    for c in circles:
        x, y, r = c.x * unit_mm, c.y * unit_mm, c.diameter * unit_mm / 2
        away = np.hypot(points[:, 0] - x, points[:, 1] - y) - r
        row = int(away.argmin())
        if not away[row] >= clear_mm - NEAR_MM:
            text = said("A mark comes to {} from the hole at {}; it must keep {}.",
                        mm(max(away[row], 0.0), 3), spot((x, y), 3), mm(clear_mm, 3))  # fmt: skip
            out.append(finding("MARKS", text, points[row]))
    scale = np.array([unit_mm, unit_mm, 1.0])
    for contour in drawing.contours:
        if contour.layer.upper() != cut_layer.upper() or not contour.closed:
            continue
        away = distance.from_points(points, contour.vertices * scale)
        row = int(away.argmin())
        if not away[row] >= clear_mm - NEAR_MM:
            text = said("A mark comes to {} from a cut at {}.", mm(away[row], 3), spot(points[row], 3))
            out.append(finding("MARKS", text, points[row]))
    return out
