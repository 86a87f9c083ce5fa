"""Stretches of a closed outline by length along it, as open chains of arcs and lines."""

from __future__ import annotations

import numpy as np

from blankwright.base.arrays import Array
from blankwright.geometry.outline import Outline, points_on

_NOTHING_MM = 1e-7


def turned_round(outline: Outline) -> Outline:
    """Return the same outline run the other way, beginning at the same vertex."""
    starts = np.roll(outline.starts[::-1], 1, axis=0)
    return Outline(
        np.column_stack([starts, -outline.bulges[::-1]]), tuple(reversed(outline.regions)), outline.max_error_mm
    )


def lengths_mm(outline: Outline) -> Array:
    """Return (n + 1,) lengths along the outline at which its pieces begin, and its whole length [mm]."""
    result: Array = np.concatenate([[0.0], np.cumsum(outline.lengths)])
    return result


def place(outline: Outline, at_mm: float) -> tuple[Array, Array, str]:
    """Return a point of the outline, the direction of travel there and its region.

    Args:
        outline: The outline.
        at_mm: Length along it from its first vertex [mm]; taken round the whole length.
    """
    runs = lengths_mm(outline)
    i, share = _piece(runs, at_mm)
    point = points_on(outline.starts[i : i + 1], outline.ends[i : i + 1], outline.bulges[i : i + 1], np.array([share]))
    turn = 4 * np.arctan(outline.bulges[i]) * (share - 0.5)
    chord = (outline.ends[i] - outline.starts[i]) / outline.chord_lengths[i]
    ahead = np.array(
        [chord[0] * np.cos(turn) - chord[1] * np.sin(turn), chord[0] * np.sin(turn) + chord[1] * np.cos(turn)]
    )
    return point[0], ahead, outline.regions[i]


def stretch(outline: Outline, from_mm: float, to_mm: float) -> Array:
    """Return a stretch as an open chain.

    Args:
        outline: The outline.
        from_mm: Where the stretch begins, along the outline [mm].
        to_mm: Where it ends; beyond the whole length it goes on from the first vertex [mm].

    Returns:
        (n, 3) x, y and bulge to the next point; the last bulge is 0.
    """
    runs = lengths_mm(outline)
    n, whole = len(outline), float(runs[-1])
    rows: list[tuple[float, float, float]] = []
    i, share = _piece(runs, from_mm)
    left = to_mm - from_mm
    while left > _NOTHING_MM:
        size = float(runs[i + 1] - runs[i])
        rest = (1 - share) * size
        end = 1.0 if rest <= left + _NOTHING_MM else share + left / size
        if (end - share) * size > _NOTHING_MM:
            a = _on(outline, i, share)
            rows.append((*a, float(np.tan(np.arctan(outline.bulges[i]) * (end - share)))))
        left -= (end - share) * size
        last = _on(outline, i, end)
        i, share = (i + 1) % n, 0.0
        if left > whole:
            raise ValueError("a stretch longer than the outline")
    rows.append((*last, 0.0))
    return np.array(rows)


def _on(outline: Outline, i: int, share: float) -> tuple[float, float]:
    one = points_on(outline.starts[i : i + 1], outline.ends[i : i + 1], outline.bulges[i : i + 1], np.array([share]))
    return float(one[0, 0]), float(one[0, 1])


def _piece(runs: Array, at_mm: float) -> tuple[int, float]:
    """Return the piece a length falls on, and the share of it that is behind."""
    at = at_mm % float(runs[-1])
    i = min(int(np.searchsorted(runs, at, side="right")) - 1, len(runs) - 2)
    return i, float((at - runs[i]) / (runs[i + 1] - runs[i]))
