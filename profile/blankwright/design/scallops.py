"""Scallops of a bread knife: hollow arcs along the edge, their points on the line that the edge would have without."""

from __future__ import annotations

import math

import numpy as np

from blankwright.base.arrays import Array
from blankwright.base.errors import DesignError
from blankwright.geometry.outline import Outline

LEAD_MM = 5.0
"""Our drawing: plain edge at the heel and at least so much at the tip, so that neither breaks out."""

LEAST_RADIUS_SHARE = 0.5
"""A scallop deeper than a half circle undercuts itself: its depth is at most this share of its pitch."""

_CHORD_MM = 1e-7
"""Between the edge and the chords that its places are looked for on: what is left at the tip must stay tangent."""


def scalloped(outline: Outline, pitch_mm: float, depth_mm: float) -> Outline:
    """Return an outline whose edge is a row of scallops, from the heel toward the tip.

    Each is one arc over a chord of the pitch, from point to point on the edge, as deep as asked; its radius is
    pitch^2 / (8 depth) + depth / 2 (circular segment, any handbook of mechanics).

    Args:
        outline: The outline; its edge begins at the first vertex.
        pitch_mm: Distance from point to point [mm].
        depth_mm: How deep a scallop is under the line of its points [mm].

    Raises:
        DesignError: A scallop deeper than a half circle, or an edge too short for one.
    """
    if depth_mm > LEAST_RADIUS_SHARE * pitch_mm:
        raise DesignError(
            f"A scallop {depth_mm:g} mm deep at a pitch of {pitch_mm:g} mm undercuts itself: at most "
            f"{LEAST_RADIUS_SHARE * pitch_mm:g} mm works."
        )
    count = next((i for i, r in enumerate(outline.regions) if r != "edge"), len(outline))
    edge = outline.vertices[:count]
    places = _points(outline, count, pitch_mm)
    if len(places) < 2:
        raise DesignError(f"The edge is too short for scallops of {pitch_mm:g} mm: a smaller pitch works.")
    hollow = np.column_stack([places[:-1], np.full(len(places) - 1, -2 * depth_mm / pitch_mm)])
    first, before, _ = _split(outline, count, places[0])
    last, _, rest = _split(outline, count, places[-1])
    plain = np.array(edge[: first + 1])
    plain[-1, 2] = before
    rows = [plain, hollow, np.array([[*places[-1], rest]]), edge[last + 1 :], outline.vertices[count:]]
    regions = ("edge",) * (len(plain) + len(hollow) + count - last) + outline.regions[count:]
    return Outline(np.concatenate(rows), regions, outline.max_error_mm)


def _points(outline: Outline, count: int, pitch_mm: float) -> Array:
    """Return points on the edge, each a pitch from the one before, as many as leave plain edge at the tip."""
    edge = Outline(outline.vertices[: count + 1], outline.regions[: count + 1])
    line = edge.flattened(_CHORD_MM)
    end = int(np.hypot(*(line - outline.vertices[count, :2]).T).argmin())
    line = line[: end + 1]
    first = _next(line, line[0], LEAD_MM)
    if first is None:
        return np.zeros((0, 2))
    found = [first]
    while (after := _next(line, found[-1], pitch_mm)) is not None:
        if np.hypot(*(line[-1] - after)) < LEAD_MM:
            break
        found.append(after)
    return np.array(found)


def _next(line: Array, at: Array, pitch_mm: float) -> Array | None:
    """Return where a line leaves the circle of the pitch about a point on it."""
    away = np.hypot(*(line - at).T)
    out = np.flatnonzero((away >= pitch_mm) & (line[:, 0] > at[0]))
    if not len(out):
        return None
    b = line[out[0]]
    a = line[out[0] - 1] if out[0] and line[out[0] - 1, 0] > at[0] else at
    step, off = b - a, a - at
    square, half = float((step * step).sum()), float((step * off).sum())
    rest = float((off * off).sum()) - pitch_mm**2
    share = (-half + math.sqrt(half * half - square * rest)) / square
    result: Array = a + share * step
    return result


def _split(outline: Outline, count: int, place: Array) -> tuple[int, float, float]:
    """Return the piece of the edge that a place is on, and the bulges of its parts before and behind the place."""
    at = int(np.flatnonzero(outline.ends[:count, 0] > place[0])[0])
    bulge = float(outline.bulges[at])
    if abs(bulge) < 1e-12:
        return at, 0.0, 0.0
    chord = float(np.hypot(*(outline.ends[at] - outline.starts[at])))
    radius = chord * (1 + bulge * bulge) / (4 * abs(bulge))

    def of_part(end: Array) -> float:
        angle = 2 * math.asin(min(float(np.hypot(*(end - place))) / (2 * radius), 1.0))
        return math.copysign(math.tan(angle / 4), bulge)

    return at, of_part(outline.starts[at]), of_part(outline.ends[at])
