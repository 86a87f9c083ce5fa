"""Where does a contour touch or cross itself? In closed form, piece against piece."""

from __future__ import annotations

import numpy as np

from blankwright.base.arrays import Array
from blankwright.base.errors import GeometryError
from blankwright.proof.distance import (
    CHUNK,
    Index,
    Mask,
    Pieces,
    along_pieces,
    boxes,
    in_span,
    meetings,
    pair_distances,
    pieces_of,
    to_pieces,
)

TOUCH_MM = 1e-6
"""Two pieces nearer than this touch: a thousandth of what a workshop can measure, far above rounding."""

MAX_TANGLE = 100_000
"""Pairs of pieces with overlapping boxes in one contour; a sound one has about two for each piece."""


def _near_pairs(pieces: Pieces) -> tuple[Index, Index]:
    """Return the rows i < j of pieces whose boxes come within touching distance."""
    low, high = boxes(pieces)
    low, high = low - TOUCH_MM, high + TOUCH_MM
    found: list[tuple[Index, Index]] = []
    n = len(pieces)
    for first in range(0, n, 512):
        rows = slice(first, min(n, first + 512))
        meet = (low[rows, None] <= high[None]).all(axis=2) & (low[None] <= high[rows, None]).all(axis=2)
        i, j = np.nonzero(meet)
        keep = i + first < j
        found.append((i[keep] + first, j[keep]))
    return np.concatenate([f[0] for f in found]), np.concatenate([f[1] for f in found])


def _neighbours_meet(before: Pieces, after: Pieces, only_two: bool) -> tuple[Mask, Array]:
    """Say which pieces meet their successor anywhere but at the joint, and where."""
    meet, place = np.zeros(len(before), dtype=bool), before.end.copy()
    tests = [(p, in_span(p, before) & in_span(p, after)) for p in meetings(before, after)]
    if only_two:  # both ends are joints; the middle of one on the other means it runs back over itself
        middle = along_pieces(before, np.full(len(before), 0.5))
        tests.append((middle, to_pieces(middle, after)[0] < TOUCH_MM))
    else:
        tests.append((after.end, to_pieces(after.end, before)[0] < TOUCH_MM))
        tests.append((before.start, to_pieces(before.start, after)[0] < TOUCH_MM))
    for p, hit in tests:
        hit = hit & (np.hypot(*(p - before.end).T) > TOUCH_MM)  # noqa: PLW2901
        if only_two:
            hit = hit & (np.hypot(*(p - before.start).T) > TOUCH_MM)  # noqa: PLW2901
        place = np.where((hit & ~meet)[:, None], p, place)
        meet |= hit
    return meet, place


def self_contacts(vertices: Array) -> tuple[tuple[int, int, tuple[float, float]], ...]:
    """Find where a closed contour crosses or touches itself.

    Args:
        vertices: (n, 3) x [mm], y [mm] and bulge of a closed contour without pieces of no length.

    Returns:
        For each pair of pieces that meet away from their joint: the two piece numbers and the place [mm].

    Raises:
        GeometryError: The contour is a tangle that would take too long to measure.
    """
    pieces = pieces_of(vertices, closed=True)
    n = len(pieces)
    contacts: list[tuple[int, int, tuple[float, float]]] = []
    first, second = _near_pairs(pieces)
    if len(first) > MAX_TANGLE:
        raise GeometryError(f"more than {MAX_TANGLE} pairs of its pieces lie over each other")
    apart = (second - first != 1) & (second - first != n - 1)
    first, second = first[apart], second[apart]
    for low in range(0, len(first), CHUNK):
        i, j = first[low : low + CHUNK], second[low : low + CHUNK]
        distance, place = pair_distances(pieces.take(i), pieces.take(j))
        hit = np.flatnonzero(distance < TOUCH_MM)
        contacts += [(int(i[h]), int(j[h]), (float(place[h, 0]), float(place[h, 1]))) for h in hit]
    successor = np.roll(np.arange(n), -1)
    meet, place = _neighbours_meet(pieces, pieces.take(successor), only_two=n == 2)
    contacts += [(int(h), int(successor[h]), (float(place[h, 0]), float(place[h, 1]))) for h in np.flatnonzero(meet)]
    return tuple(contacts)
