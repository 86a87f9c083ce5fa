"""Joining pieces too short for a cutter to their neighbours, without changing the area."""

from __future__ import annotations

import math
from heapq import heapify, heappop, heappush

import numpy as np

from blankwright.base.arrays import Array
from blankwright.base.errors import GeometryError
from blankwright.geometry.moments import of_chain
from blankwright.geometry.outline import Outline, arc_lengths, piece_tangents

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
    n, regions = len(outline), list(outline.regions)
    rows, lengths = outline.vertices.copy(), outline.lengths.tolist()
    before, after = [(k - 1) % n for k in range(n)], [(k + 1) % n for k in range(n)]
    waiting = [(length, at) for at, length in enumerate(lengths) if length < least_mm]
    heapify(waiting)
    left: set[int] = set()
    gone: set[int] = set()
    while waiting and n - len(gone) > 3:
        length, at = heappop(waiting)
        if at in gone or length != lengths[at]:
            continue
        first = _first_of_two(rows, lengths, before[at], at, after[at], after[after[at]])
        second = after[first]
        bulge = _bulge_of_same_area(rows[[first, second, after[second]]])
        if bulge is None:
            left.add(at)
            continue
        regions[first] = regions[first if lengths[first] >= lengths[second] else second]
        rows[first, 2] = bulge
        gone.add(second)
        after[first] = after[second]
        before[after[second]] = first
        chord = rows[after[first], :2] - rows[first, :2]
        lengths[first] = float(arc_lengths(np.hypot(chord[:1], chord[1:]), rows[first, 2:])[0])
        if lengths[first] < least_mm and first not in left:
            heappush(waiting, (lengths[first], first))
    if not gone:
        return outline
    kept = [k for k in range(n) if k not in gone]
    return Outline(rows[kept], tuple(regions[k] for k in kept), outline.max_error_mm)


def _first_of_two(rows: Array, lengths: list[float], before: int, at: int, after: int, end: int) -> int:
    """Return the first of the two to be joined: with the neighbour met at the smaller angle, the shorter when alike."""
    starts, ends = rows[[before, at, after], :2], rows[[at, after, end], :2]
    bulges = rows[[before, at, after], 2]
    leaving, coming = piece_tangents(starts, ends, bulges, 1.0), piece_tangents(starts, ends, bulges, -1.0)
    x, y = leaving[:2].T, coming[1:].T
    angles = np.abs(np.degrees(np.arctan2(x[0] * y[1] - x[1] * y[0], x[0] * y[0] + x[1] * y[1])))
    worse, better = (round(float(angles[0]), 3), lengths[before]), (round(float(angles[1]), 3), lengths[after])
    return before if worse <= better else at


def _bulge_of_same_area(rows: Array) -> float | None:
    """Return the bulge of one arc that encloses with its chord what two pieces, the first two rows, do; or None."""
    a, b, c = rows[:, :2]
    chord = float(np.hypot(*(c - a)))
    if chord == 0:
        return None
    bulges = np.array([*rows[:2, 2], 0.0])
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
