"""Sections along a knife as closed meshes: the ground blade ahead of its heel, and a handle with a rounded section.

Places along x: wherever something changes its kind, and between them so close that no chord lies further from the
outline than _CHORD_MM, and none is longer than _STEP_MM. Where one arc only goes over into the next and a chord across
is as near, there is none.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from blankwright.base.arrays import Array
from blankwright.base.errors import GeometryError
from blankwright.geometry.outline import Outline
from blankwright.print3d.mesh import Mesh, loft
from blankwright.solid.blade import Plunge, Stretches, Taper, ends, face_mm, stretches
from blankwright.solid.handlebodies import FLATS, SECTIONS, Swell, flat_corners
from blankwright.solid.section import Bevels, chains, cuts_through, edge_plane_mm

_CHORD_MM = 0.002
_STEP_MM = 3.0
_APART_MM = 1e-3  # nearer places are one: no printer and no eye tells them apart
_NO_HEIGHT_MM = 1e-3  # a round end is a point: where an outline stands upright its height is known no better
_LOOKS = 8
_STEPS_FLAT, _STEPS_CURVED = 8, 32
_STEPS_ROUND = 40
_STEPS_PLUNGE = 16


def blade_mesh(outline: Outline, taper: Taper, bevels: Bevels, plunge: Plunge | None) -> Mesh:
    """Return the ground blade ahead of the heel; its rear face lies in x = 0.

    Raises:
        GeometryError: Nothing lies ahead of the heel, an upright line crosses it more than twice, or a hollow cuts
            through.
    """
    parts = stretches(outline, *ends(taper, [bevels], plunge), 0.0)
    reach = (plunge.at_mm, plunge.full_mm(face_mm(plunge, taper, bevels))) if plunge else (0.0, 0.0)
    x, low, high = _places(parts, reach)
    count = _STEPS_FLAT if bevels.kind == "flat" else _STEPS_CURVED
    if cuts_through(high - low, taper.at(x), bevels).any():
        raise GeometryError("the hollow grind cuts through")
    if plunge is None:
        return loft(_blade_rings(x, low, high, taper, bevels, np.zeros_like(x), count))
    # just ahead of the plunge line: there the step has its full height
    just = np.nextafter(plunge.at_mm, math.inf)
    out = plunge.out_mm(np.maximum(x, just), face_mm(plunge, taper, bevels))
    rings = _blade_rings(x, low, high, taper, bevels, out, count)
    unground = x <= plunge.at_mm
    if plunge.at_mm <= 0 or not unground.any():
        return loft(rings)
    stock = _blade_rings(x, low, high, taper, bevels, out, count, ricasso=True)
    return loft(np.concatenate([stock[unground], rings[int(unground.sum()) - 1 :]]))


def _blade_rings(
    x: Array, low: Array, high: Array, taper: Taper, bevels: Bevels, out: Array, count: int, ricasso: bool = False
) -> Array:
    """Return (s, m, 3) points round sections: the edge, up the right side, down the left.

    On a ricasso the points stand at the heights of the ground section, but on the face: so that the upright step of
    a plunge line runs between points of the same height.
    """
    height, spine = high - low, taper.at(x)
    plane = edge_plane_mm(spine, bevels)
    columns = []
    for (u, z), share, sign in zip(chains(height, spine, bevels, out, count), bevels.shares, (1, -1), strict=True):
        bottom = z[:, :1]
        far = np.repeat((share * spine)[:, None], z.shape[1], axis=1) if ricasso else z
        y = np.where(u == height[:, None], high[:, None], low[:, None] + u)
        y, far = np.column_stack([low, y]), plane[:, None] + sign * np.column_stack([bottom, far])
        columns.append((y, far) if sign > 0 else (y[:, ::-1], far[:, ::-1]))
    y = np.column_stack([low, columns[0][0], columns[1][0]])
    z = np.column_stack([plane, columns[0][1], columns[1][1]])
    return np.stack([np.repeat(x[:, None], y.shape[1], axis=1), y, z], axis=2)


def superellipse(section: str) -> Array:
    """Return (k, 2) points of the upper half of |y|^n + |z|^n = 1, or of a section with flats, from y = 1 to y = -1.

    They are spread so that no chord misses much more than another, and z is stretched to the exact area.
    """
    if section in FLATS:
        return np.array(flat_corners(section))
    n = SECTIONS[section]
    if math.isinf(n):
        return np.array([[1.0, 0.0], [1.0, 1.0], [-1.0, 1.0], [-1.0, 0.0]])
    turn = np.linspace(0, np.pi / 2, 4001)
    y, z = np.cos(turn) ** (2 / n), np.sin(turn) ** (2 / n)
    y[-1] = 0.0
    along = np.hypot(np.diff(y), np.diff(z))
    heading = np.unwrap(np.arctan2(np.diff(z), np.diff(y)))
    bend = np.append(np.sqrt(np.abs(np.diff(heading)) * along[1:]), 0.0) + 0.02 * along
    way = np.append(0.0, np.cumsum(bend))
    at = np.interp(np.linspace(0, way[-1], _STEPS_ROUND // 2 + 1), way, np.arange(len(way)))
    turn = np.interp(at, np.arange(len(turn)), turn)
    y, z = np.cos(turn) ** (2 / n), np.sin(turn) ** (2 / n)
    y[-1], z[-1] = 0.0, 1.0
    half = float(((y[:-1] - y[1:]) * (z[:-1] + z[1:])).sum())
    exact = 2 * math.gamma(1 + 1 / n) ** 2 / math.gamma(1 + 2 / n)
    upper = np.column_stack([y, z * exact / half])
    return np.concatenate([upper, (upper * [-1, 1])[-2::-1]])


def handle_mesh(outline: Outline, section: str, swell: Swell, under: Taper, *, one_side: bool) -> Mesh:
    """Return a handle that keeps its kind of section, as high as its outline.

    Args:
        outline: Its outline; every upright line crosses it twice.
        section: rounded, oval or slab.
        swell: Thickness at its middle over what lies under it, along the handle.
        under: Thickness of what lies between both sides: the tang between scales.
        one_side: The right scale alone, or both with what lies between them.

    Raises:
        GeometryError: An upright line crosses the outline more than twice.
    """
    parts = stretches(outline, under.x_mm, (), outline.bounds_mm[0])
    x, low, high = _places(parts, (0.0, 0.0))
    middle, half = (low + high) / 2, (high - low) / 2  # a round butt ends in a line across
    shape = superellipse(section)
    thick = np.array([swell.at(float(place)) for place in x])
    y = middle[:, None] + half[:, None] * shape[:, 0]
    z = under.at(x)[:, None] / 2 + thick[:, None] * shape[:, 1]
    if not one_side:
        y, z = np.column_stack([y, y[:, ::-1]]), np.column_stack([z, -z[:, ::-1]])
    return loft(np.stack([np.repeat(x[:, None], y.shape[1], axis=1), y, z], axis=2))


def _places(parts: Stretches, plunge_mm: tuple[float, float]) -> tuple[Array, Array, Array]:
    """Return places along x and the lower and upper y there, rising from first to last."""
    kept = _apart(parts.cuts, plunge_mm[0])
    share = (1 - np.cos(np.pi * np.linspace(0, 1, _LOOKS + 1))) / 2
    looks = kept[:-1, None] + np.diff(kept)[:, None] * share
    low, high = (side.reshape(looks.shape) for side in _chords(parts, looks))
    bow = np.maximum(_bow(looks, low), _bow(looks, high))
    steps = np.ceil(np.maximum(_LOOKS / 2 * np.sqrt(bow / _CHORD_MM), np.diff(kept) / _STEP_MM)).astype(int)
    within = (kept[:-1] >= plunge_mm[0] - _APART_MM) & (kept[1:] <= plunge_mm[1] + _APART_MM)
    steps = np.where(within, np.maximum(steps, _STEPS_PLUNGE), np.maximum(steps, 1))
    x = np.concatenate([_between(a, b, n) for a, b, n in zip(kept[:-1], kept[1:], steps.tolist(), strict=True)])
    x = np.append(x, kept[-1])
    x = _without_needless(x, parts, np.repeat(bow * (_LOOKS / 2 / steps) ** 2, steps), plunge_mm)
    low, high = _chords(parts, x)
    none = high - low <= np.where((x == x[0]) | (x == x[-1]), _NO_HEIGHT_MM, 0.0)
    middle = (low + high) / 2
    return x, np.where(none, middle, low), np.where(none, middle, high)


def _without_needless(x: Array, parts: Stretches, off: Array, plunge_mm: tuple[float, float]) -> Array:
    """Drop places where one arc only goes over into the next, wherever the chord across stays near enough.

    Args:
        x: The places [mm].
        parts: The outline in stretches.
        off: How far the outline lies from the chord after each place but the last [mm].
        plunge_mm: From where to where a plunge runs out [mm]; nothing is dropped there.
    """
    low, high = _chords(parts, x)
    joints = np.isin(x, parts.rails.cuts) & ((x < plunge_mm[0] - _APART_MM) | (x > plunge_mm[1] + _APART_MM))
    kept = [0]
    after = off.copy()
    for i in range(1, len(x) - 1):
        a, b = kept[-1], i + 1
        three = x[[[a, i, b]]]
        miss = float(max(_bow(three, low[[[a, i, b]]])[0], _bow(three, high[[[a, i, b]]])[0]))
        together = miss + float(max(after[a], after[i]))
        if joints[i] and together <= _CHORD_MM and x[b] - x[a] <= _STEP_MM:
            after[a] = together
        else:
            kept.append(i)
    result: Array = x[[*kept, len(x) - 1]]
    return result


def _between(a: float, b: float, steps: int) -> Array:
    """Return places from a to before b: closer together toward both ends, where an outline may stand upright."""
    share = (1 - np.cos(np.pi * np.arange(steps) / steps)) / 2
    result: Array = a + (b - a) * share
    return result


def _chords(parts: Stretches, x: Array) -> tuple[Array, Array]:
    number = np.clip(np.searchsorted(parts.cuts, x.ravel(), side="right") - 1, 0, len(parts.cuts) - 2)
    return parts.chords(number, x.ravel())


def _bow(x: Array, y: Array) -> Array:
    """Return how far every other look lies from the chord between its neighbours, the most in each stretch."""
    a, m, b = x[:, :-2:2], x[:, 1::2], x[:, 2::2]
    ya, ym, yb = y[:, :-2:2], y[:, 1::2], y[:, 2::2]
    over = np.abs((ym - ya) * (b - a) - (yb - ya) * (m - a)) / np.hypot(b - a, yb - ya)
    result: Array = over.max(axis=1)
    return result


def _apart(cuts: Array, keep_mm: float) -> Array:
    """Return the cuts without those too near another one; both ends and one place stay."""
    kept: list[float] = [float(cuts[0])]
    must: Sequence[float] = (float(cuts[-1]), keep_mm)
    for cut in cuts[1:].tolist():
        if cut - kept[-1] >= _APART_MM:
            kept.append(cut)
        elif cut in must and len(kept) > 1:
            kept[-1] = cut
    return np.array(kept)
