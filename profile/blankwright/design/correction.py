"""The least correction of placed control points that makes dimensions right, to first order.

Each step of a solve is one: of all ways to close the gaps it is the one that moves points least, and neighbours alike,
in the metric of layout.py (a least-norm step through the inverse metric).
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from blankwright.base.arrays import Array, pairs
from blankwright.base.errors import DesignError, GeometryError
from blankwright.design.layout import Sink, SplinePlan
from blankwright.design.measure import Reading
from blankwright.geometry.steady import product, solution


def corrected(
    placed: list[Array], points: list[Array], plans: tuple[SplinePlan, ...], readings: list[Reading], gaps: Array,
    sinking: Mapping[int, Sink],
) -> list[Array]:  # fmt: skip
    """Return the placed points moved by the least fair correction that closes all gaps to first order at the points.

    Dimensions that the spine sinks for, by their numbers, are held by that and not by a correction.
    """
    active = [i for i, r in enumerate(readings) if r.pulls]
    rows = len(active)
    slopes: dict[int, Array] = {}  # of the stretches that are pulled at all
    for row, i in enumerate(active):
        for number, first, on_x, on_y in readings[i].pulls:
            if number not in slopes:
                slopes[number] = np.zeros((rows, 2, len(points[number])))
            for axis, weights in ((0, on_x), (1, on_y)):
                if weights is not None:
                    slopes[number][row, axis, first : first + weights.size] += weights
    system = np.zeros((rows, rows))
    wanted = gaps[active][:, None]
    eased = []
    for number in sorted(slopes):
        slope, stretch = slopes[number], plans[number]
        used = (slope != 0).any(axis=(0, 1)).nonzero()[0]  # most control points lie far from every station
        # the axis (x, y) leads, so that each is a plain matrix; sums in one order, or last digits follow the processor
        pull = slope[:, :, used].transpose(1, 0, 2)
        ease = product(pull, stretch.loosening[:, used])
        x, y = product(ease[:, :, used], pull.transpose(0, 2, 1))
        system = system + (x + y)
        x, y = product(pull, (points[number] - placed[number])[used].T[:, :, None])
        wanted = wanted + (x + y)
        eased.append((number, ease))
    sinks = {row: sinking[i] for row, i in enumerate(active) if i in sinking}
    try:
        force, sunk = _held(system, wanted, slopes, sinks) if sinks else (solution(system, wanted)[:, 0], {})
    except GeometryError:
        raise DesignError("These dimensions cannot hold together: two of them measure the same thing.") from None
    out = list(placed)
    for number, rise in sunk.items():
        out[number] = placed[number] + rise
    for number, ease in eased:
        out[number] = out[number] + product(force[None, None, :], ease)[:, 0].T
    return out


def _held(
    system: Array, wanted: Array, slopes: Mapping[int, Array], sinks: Mapping[int, Sink]
) -> tuple[Array, dict[int, Array]]:
    """Return the pull of every row, none where the spine sinks for it, and how that moves the points of a stretch."""
    ways = {row: sink.falling for row, sink in sinks.items()}
    for _ in range(2):
        for row, way in ways.items():
            parts = [product(slopes[number][:, 1], way[number][:, None])[:, 0] for number in sorted(slopes)]
            system[:, row] = sum(parts[1:], parts[0])
        pull = solution(system, wanted)[:, 0]
        higher = [row for row in ways if pull[row] < 0]
        if not higher:
            break
        ways = ways | {row: sinks[row].rising for row in higher}
    sunk: dict[int, Array] = {}
    for row, way in ways.items():
        for number, rise in enumerate(way):
            if rise.any():
                sunk[number] = sunk.get(number, 0.0) + pull[row] * pairs(np.zeros(len(rise)), rise)
        pull[row] = 0.0
    return pull, sunk
