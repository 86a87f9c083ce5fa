"""Joining pieces too short for a cutter to their neighbours, without changing the area."""

from __future__ import annotations

import math

import numpy as np

from blankwright.base.errors import GeometryError
from blankwright.geometry.moments import of_chain
from blankwright.geometry.outline import Outline

_HALVINGS = 60
"""Enough to find a bulge between -1 and 1 to the last digit."""


def without_short_pieces(outline: Outline, least_mm: float) -> Outline:
    """Return an outline whose pieces are at least so long, each short one joined to a neighbour.

    Two pieces become one arc from the start of the first to the end of the second that encloses the same
    area, so the outline moves by no more than a fraction of the short piece's length. A short piece is left
    where no such arc exists.

    Args:
        outline: Any outline.
        least_mm: Shortest piece that is kept [mm].
    """
    left: set[tuple[float, float]] = set()
    while len(outline) > 3:
        short = [int(i) for i in (outline.lengths < least_mm).nonzero()[0]]
        short = [i for i in short if tuple(outline.starts[i]) not in left]
        if not short:
            break
        at = min(short, key=lambda i: float(outline.lengths[i]))
        joined = _joined(outline, at)
        if joined is None:
            left.add((float(outline.starts[at, 0]), float(outline.starts[at, 1])))
        else:
            outline = joined
    return outline


def _joined(outline: Outline, at: int) -> Outline | None:
    """Join a piece to the neighbour that it meets at the smaller angle, to the shorter one when alike."""
    n = len(outline)
    angles = np.abs(outline.corner_angles_deg)
    before, after = (at - 1) % n, (at + 1) % n
    worse = (round(float(angles[at]), 3), float(outline.lengths[before]))
    better = (round(float(angles[after]), 3), float(outline.lengths[after]))
    first = before if worse <= better else at
    second = (first + 1) % n
    bulge = _bulge_of_same_area(outline, first, second)
    if bulge is None:
        return None
    longer = first if outline.lengths[first] >= outline.lengths[second] else second
    vertices = outline.vertices.copy()
    vertices[first, 2] = bulge
    regions = list(outline.regions)
    regions[first] = regions[longer]
    del regions[second]
    return Outline(np.delete(vertices, second, axis=0), tuple(regions), outline.max_error_mm)


def _bulge_of_same_area(outline: Outline, first: int, second: int) -> float | None:
    """Return the bulge of one arc that encloses with its chord what two pieces do, or None."""
    a, b, c = outline.starts[first], outline.starts[second], outline.ends[second]
    chord = float(np.hypot(*(c - a)))
    if chord == 0:
        return None
    bulges = np.array([*outline.bulges[[first, second]], 0.0])
    try:
        b, c = b - a, c - a  # about the first corner, so that no digits go to where the knife lies
        a = np.zeros(2)
        wanted = of_chain(np.array([a, b, c]), np.array([b, c, a]), bulges).area_mm2 / chord**2
    except GeometryError:  # two lines that run on straight enclose nothing
        return 0.0
    low, high = -1.0, 1.0
    if not _segment(low) <= wanted <= _segment(high):
        return None
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        low, high = (middle, high) if _segment(middle) < wanted else (low, middle)
    return (low + high) / 2


def _segment(bulge: float) -> float:
    """Return the area between an arc and its chord of length 1 (any handbook, circular segments)."""
    half = 2 * math.atan(bulge)
    if abs(half) < 0.02:  # the closed form takes two near numbers from each other
        return half / 6 * (1 + 2 * half**2 / 15 + 2 * half**4 / 105)  # its series; the next term is 1e-13 of it
    return (half - math.sin(half) * math.cos(half)) / (4 * math.sin(half) ** 2)
