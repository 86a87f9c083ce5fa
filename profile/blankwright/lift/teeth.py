"""Is the edge a row of scallops? The outline with a bend along its points instead of the hollows.

Where a blade ends and on what it rests is told by the line of its points; between them every point is a corner with a
hollow behind it, as a heel is.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from blankwright.base.arrays import Array
from blankwright.base.frozen import dataclass
from blankwright.geometry.outline import Outline
from blankwright.lift.walk import Walk

BRIDGE, OUTER = "from point to point", "to the outermost point"
"""Regions of pieces that stand for hollows; where a row begins and ends a point is half as sharp, and a blunt one."""
_FEWEST = 4
"""So many hollows alike are a row."""
_LEAST_MM, _WIDE_MM = 2.0, 25.0
"""A scallop is no narrower, and no wider."""
_TURNS_DEG = 5.0
"""By more than this an outline turns at a point of a row, and back in a hollow."""
_ALIKE, _WORN, _LEADS_ON, _AS_MUCH = 0.2, 1.6, 0.9, 0.75
"""Hollows of a row are as far apart as each other within the first share, by no more than the second times their width,
and lead on within the third as a cosine. The two beside a worn point are as wide as each other within the fourth."""


@dataclass(frozen=True, eq=False)
class Bridged:
    """An outline, and the same without its scallops.

    Args:
        whole: The outline.
        plain: The outline with a line instead of each hollow; the same where there is no row of them.
        kept: (n + 1,) vertices of the whole that the plain one has, and the first once more, counted on.
    """

    whole: Walk
    plain: Walk
    kept: NDArray[np.intp]

    def on_whole(self, way_mm: float) -> float:
        """Return the way on the whole outline to a place of the plain one that is on no bridge [mm]."""
        rounds, way = divmod(way_mm, self.plain.length_mm)
        there = np.interp(way, self.plain.vertices_mm, self.whole.vertices_mm[self.kept])
        return float(there + rounds * self.whole.length_mm)


def bridged(outline: Outline) -> Bridged:
    """Return an outline with and without its scallops."""
    far = int(np.hypot(*(outline.starts - outline.centroid_mm).T).argmax())  # an end of the thing, in no row
    n = len(outline)
    rolled = Outline(
        np.roll(outline.vertices, -far, axis=0),
        tuple(outline.regions[(k + far) % n] for k in range(n)),
        outline.max_error_mm,
    )
    whole = Walk(rolled)
    kept, bulges = np.ones(n, dtype=bool), rolled.bulges.copy()
    regions = list(rolled.regions)
    hollows = _hollows(rolled)
    inner = {a for a, _ in hollows} & {b for _, b in hollows}
    for (a, b), bend in zip(hollows, _bends(rolled, hollows), strict=True):
        kept[a + 1 : b] = False
        bulges[a], regions[a] = np.tan(bend / 4), BRIDGE if {a, b} <= inner else OUTER
    rows = np.flatnonzero(kept)
    plain = np.column_stack([rolled.starts, bulges])[rows]
    walk = Walk(Outline(plain, tuple(regions[k] for k in rows), outline.max_error_mm))
    return Bridged(whole, walk, np.append(rows, n))


def _hollows(outline: Outline) -> list[tuple[int, int]]:
    """Return the vertices at both ends of each hollow of a row."""
    hollows = _falls(_turns(outline))
    begin, end = (outline.starts[[h[k] % len(outline) for h in hollows]] for k in (0, 1))
    wide = np.hypot(*(end - begin).T)
    found: list[tuple[int, int]] = []
    row: list[int] = []
    for k in range(len(hollows) + 1):
        fits = k < len(hollows) and _LEAST_MM <= wide[k] <= _WIDE_MM
        if fits and (not row or _goes_on(begin[[*row, k]], end[[*row, k]])):
            row.append(k)
            continue
        if len(row) >= _FEWEST:
            found += [hollows[i] for i in row]
        pair = [*(row[-1:] if len(row) < _FEWEST else ()), k]  # what came before the last one may be no scallop
        row = [] if not fits else pair if len(pair) == 2 and _goes_on(begin[pair], end[pair]) else [k]
    return found


def _goes_on(begin: Array, end: Array) -> bool:
    """Return whether the last of some hollows follows the one before as those follow each other.

    Where a point between two is worn, or was not seen sharp, both are narrower, and over both it is as far as before.
    The notch behind a heel leads away from the edge.

    Args:
        begin: (n, 2) where each begins [mm].
        end: (n, 2) where it ends [mm].
    """
    apart = np.hypot(*np.diff((begin + end) / 2, axis=0).T)
    chords = (end - begin)[-2:]
    wide = np.hypot(*chords.T)
    if chords[0] @ chords[1] < _LEADS_ON * wide[0] * wide[1]:
        return False
    if len(apart) == 1:
        return bool(1 - _ALIKE <= apart[0] / wide.max() <= _WORN)
    pitch = float(np.median(apart[:-1]))
    if abs(apart[-1] / pitch - 1) <= _ALIKE:
        return True
    # a point that was not seen sharp takes as much of the hollow before it as of the one behind
    over_both = float(np.hypot(*(end[-1] - begin[-2])))
    return bool(wide.min() >= _AS_MUCH * wide.max() and abs(over_both / (2 * pitch) - 1) <= _ALIKE)


def _bends(outline: Outline, hollows: list[tuple[int, int]]) -> Array:
    """Return how far the line of the points bends over each hollow: the mean of what it turns at its two ends [rad]."""
    if not hollows:
        return np.empty(0)
    begin, end = np.array(hollows).T
    chords = outline.starts[end % len(outline)] - outline.starts[begin]
    way = np.unwrap(np.arctan2(chords[:, 1], chords[:, 0]))
    met = begin[1:] == end[:-1]  # hollows that share a point
    turns = np.where(met, np.diff(way), 0.0)
    ends = np.append(met, 0) + np.append(0, met)
    bends: Array = (np.append(turns, 0.0) + np.append(0.0, turns)) / np.maximum(ends, 1)
    return bends


def _turns(outline: Outline) -> Array:
    """Return how far the outline has turned left before and behind each corner, and at its end [degrees]."""
    arcs = np.degrees(4 * np.arctan(outline.bulges))
    both = np.column_stack([np.concatenate([[0.0], outline.corner_angles_deg[1:]]), arcs]).ravel()
    return np.concatenate([[0.0], np.cumsum(both)])


def _falls(turned: Array) -> list[tuple[int, int]]:
    """Return the vertices between which an outline turns right by more than nothing, of what `_turns` has."""
    falls: list[tuple[int, int]] = []
    low = high = 0
    rising = True
    for k in range(1, len(turned)):
        if rising and turned[k] > turned[high]:
            high = k
        elif rising and turned[k] < turned[high] - _TURNS_DEG:
            rising, low = False, k
        elif not rising and turned[k] < turned[low]:
            low = k
        elif not rising and turned[k] > turned[low] + _TURNS_DEG:
            falls.append((high // 2, low // 2))
            rising, high = True, k
    return falls
