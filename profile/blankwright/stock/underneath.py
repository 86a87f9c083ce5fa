"""How much steel lies within an outline on a piece, and how thick it is there; exact where the thickness tapers."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from blankwright.base.arrays import Array
from blankwright.base.gauss import gauss_legendre
from blankwright.cutting.onsheet import Thick
from blankwright.geometry.clip import upright_crossings
from blankwright.geometry.moments import boundary
from blankwright.geometry.outline import Outline, points_on
from blankwright.stock.piece import Piece

_NODES = 20
"""As many as the moments of an outline are taken with: on an arc what is left out is below the last digit."""


def thick_in(piece: Piece, outline: Outline) -> Thick:
    """Return how thick a piece is within an outline that lies on it."""
    x0, _, x1, _ = outline.bounds_mm
    places = np.array([x0, *(at for at, _ in piece.thickness if x0 < at < x1), x1])
    mm = piece.thickness_at(places)
    return Thick(float(mm.min()), float(mm.max()))


def thick_under(piece: Piece, outlines: Sequence[Outline]) -> Thick:
    """Return how thick a piece is within several outlines, all together."""
    found = [thick_in(piece, outline) for outline in outlines]
    return Thick(min(one.least_mm for one in found), max(one.most_mm for one in found))


def volume_mm3(piece: Piece, outline: Outline) -> float:
    """Return the volume of the steel within an outline that lies on a piece [mm^3].

    The integral of the thickness over the area is, by Green's theorem, that of its sum along the piece around the
    outline; every part of the outline is parted where the thickness has a corner, and in between the sum is a parabola.
    """
    if len(piece.thickness) == 1:
        return outline.area_mm2 * piece.thickness[0][1]
    x0, _, x1, _ = outline.bounds_mm
    starts, ends, bulges = _parted(outline, [at for at, _ in piece.thickness if x0 < at < x1])
    _, weights = gauss_legendre(_NODES)
    along = boundary(starts, ends, bulges)
    return float((_summed(piece, along.x) * along.dy * weights / 2).sum())


def _parted(outline: Outline, at_mm: Sequence[float]) -> tuple[Array, Array, Array]:
    """Return starts, ends and bulges of an outline, parted at upright lines."""
    shares = [{0.0, 1.0} for _ in range(len(outline))]
    for x in at_mm:
        piece, share, _ = upright_crossings(outline, x)
        for k, s in zip(piece.tolist(), share.tolist(), strict=True):
            shares[k].add(min(max(s, 0.0), 1.0))
    cuts = [sorted(one) for one in shares]
    of = np.repeat(np.arange(len(outline)), [len(one) - 1 for one in cuts])
    low = np.array([share for one in cuts for share in one[:-1]])
    high = np.array([share for one in cuts for share in one[1:]])
    ends = [points_on(outline.starts[of], outline.ends[of], outline.bulges[of], share) for share in (low, high)]
    long = np.hypot(*(ends[1] - ends[0]).T) > 0
    bulges = np.tan(np.arctan(outline.bulges[of]) * (high - low))
    return ends[0][long], ends[1][long], bulges[long]


def _summed(piece: Piece, x_mm: Array) -> Array:
    """Return the thickness summed along a piece from its first place [mm^2]; level beyond its ends."""
    at, mm = (np.array(column) for column in zip(*piece.thickness, strict=True))
    before = np.concatenate([[0.0], np.cumsum((mm[1:] + mm[:-1]) / 2 * np.diff(at))])
    inside = np.clip(x_mm, at[0], at[-1])
    k = np.clip(np.searchsorted(at, inside, side="right") - 1, 0, len(at) - 2)
    here = piece.thickness_at(inside)
    whole: Array = before[k] + (mm[k] + here) / 2 * (inside - at[k]) + here * (x_mm - inside)
    return whole
