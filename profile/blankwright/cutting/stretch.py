"""Stretches of a closed outline by length along it, as open chains of arcs and lines."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from blankwright.base.arrays import Array
from blankwright.geometry.outline import Outline, points_on

Index = NDArray[np.intp]

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
    points, ahead, regions = places(outline, np.array([at_mm]))
    return points[0], ahead[0], regions[0]


def places(outline: Outline, at_mm: Array) -> tuple[Array, Array, list[str]]:
    """Return (n, 2) points of the outline, (n, 2) directions of travel there and their regions.

    Args:
        outline: The outline.
        at_mm: (n,) lengths along it from its first vertex [mm]; taken round the whole length.
    """
    i, share = _pieces(lengths_mm(outline), at_mm)
    chord = (outline.ends[i] - outline.starts[i]) / outline.chord_lengths[i][:, None]
    turn = 4 * np.arctan(outline.bulges[i]) * (share - 0.5)
    cos, sin = np.cos(turn), np.sin(turn)
    ahead = np.stack([chord[:, 0] * cos - chord[:, 1] * sin, chord[:, 0] * sin + chord[:, 1] * cos], axis=1)
    return _on(outline, i, share), ahead, [outline.regions[k] for k in i]


def stretch(outline: Outline, from_mm: float, to_mm: float) -> Array:
    """Return a stretch as an open chain.

    Args:
        outline: The outline.
        from_mm: Where the stretch begins, along the outline [mm].
        to_mm: Where it ends; beyond the whole length it goes on from the first vertex [mm].

    Returns:
        (n, 3) x, y and bulge to the next point; the last bulge is 0.
    """
    return stretches(outline, np.array([from_mm]), np.array([to_mm]))[0]


def stretches(outline: Outline, from_mm: Array, to_mm: Array) -> list[Array]:
    """Return many stretches, each as `stretch` returns one."""
    runs = lengths_mm(outline)
    first, shares = _pieces(runs, from_mm)
    parts = [
        _parts(runs, int(i), float(share), float(b - a))
        for i, share, a, b in zip(first, shares, from_mm, to_mm, strict=True)
    ]
    i, begin, end = np.array([part for one in parts for part in one]).T
    i = i.astype(np.intp)
    bulges = np.tan(np.arctan(outline.bulges[i]) * (end - begin))
    rows = np.column_stack([_on(outline, i, begin), bulges])
    return np.split(rows, np.cumsum([len(one) for one in parts])[:-1])


def _parts(runs: Array, i: int, share: float, left: float) -> list[tuple[int, float, float]]:
    """Return the parts of pieces that make a stretch: piece, shares where it begins and ends; last its end, a point."""
    n, whole = len(runs) - 1, float(runs[-1])
    out: list[tuple[int, float, float]] = []
    last, end = i, share
    while left > _NOTHING_MM:
        size = float(runs[i + 1] - runs[i])
        rest = (1 - share) * size
        end = 1.0 if rest <= left + _NOTHING_MM else share + left / size
        if (end - share) * size > _NOTHING_MM:
            out.append((i, share, end))
        left -= (end - share) * size
        last, i, share = i, (i + 1) % n, 0.0
        if left > whole:
            raise ValueError("a stretch longer than the outline")
    return [*out, (last, end, end)]


def _on(outline: Outline, i: Index, share: Array) -> Array:
    return points_on(outline.starts[i], outline.ends[i], outline.bulges[i], share)


def _pieces(runs: Array, at_mm: Array) -> tuple[Index, Array]:
    """Return the pieces that lengths fall on, and the share of each that is behind."""
    at = at_mm % float(runs[-1])
    i = np.minimum(np.searchsorted(runs, at, side="right") - 1, len(runs) - 2)
    return i, (at - runs[i]) / (runs[i + 1] - runs[i])
