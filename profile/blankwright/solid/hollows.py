"""What scallops take of a ground blade: steel between the line of their points and their arcs, integrated.

The blade is ground as if its edge were the line of the points, and the scallops are cut square to its faces. Along the
blade and up the section the integrals are Gauss-Legendre's over stretches in which nothing changes its kind.
"""

from __future__ import annotations

import numpy as np

from blankwright.base.arrays import Array
from blankwright.geometry.outline import Outline
from blankwright.solid.blade import Plunge, Solid, Taper, ends, face_mm, nodes, stretches
from blankwright.solid.section import Bevels, faces, sides


def hollows(line: Outline, hollowed: Outline, taper: Taper, bevels: Bevels, plunge: Plunge | None) -> Solid:
    """Return the solid that scallops take.

    Args:
        line: The outline whose edge is the line of their points.
        hollowed: The same with its scallops.
        taper: Thickness of the spine.
        bevels: The grind.
        plunge: Where the grind begins; None for ground through to the heel.

    Raises:
        GeometryError: Nothing lies ahead of the heel, or an upright line crosses an outline more than twice there.
    """
    breaks, _ = ends(taper, [bevels], plunge)
    parts = stretches(line, (*breaks, *hollowed.starts[:, 0]), (), 0.0)
    x, along = nodes(parts.cuts[:-1], parts.cuts[1:])
    stretch = np.repeat(np.arange(len(x)), x.shape[1])
    x, along = x.ravel(), along.ravel()
    low, high = parts.chords(stretch, x)
    arcs = stretches(hollowed, (), (), 0.0).rails
    middle = (parts.cuts[1:] + parts.cuts[:-1]) / 2
    deep = arcs.at(arcs.strip_at(middle[stretch]), x)[0] - low
    there = deep > 0
    x, along, low, height, deep = (a[there] for a in (x, along, low, high - low, deep))
    area, about, across = _below(x, height, deep, taper, bevels, plunge)
    volume = float((along * area).sum())
    sums = (along * area * x, along * (area * low + about), along * across)
    cx, cy, cz = (float(s.sum()) / volume for s in sums)
    return Solid(volume, (cx, cy, 0.0 if bevels.alike else cz))


def _below(
    x: Array, height: Array, deep: Array, taper: Taper, bevels: Bevels, plunge: Plunge | None
) -> tuple[Array, Array, Array]:
    """Return area and first moments, about the edge and the middle of the stock, of sections up to a height."""
    spine = taper.at(x)
    corners = [c for side in sides(height, spine, bevels) for c in (side.foot, side.top)]
    stops = np.sort(np.minimum(np.column_stack([np.zeros_like(x), *corners, deep]), deep[:, None]), axis=1)
    u, up = nodes(stops[:, :-1].ravel(), stops[:, 1:].ravel())
    per = u.size // len(x)
    u, up = u.ravel(), up.ravel()
    out = plunge.out_mm(np.repeat(x, per), face_mm(plunge, taper, bevels)) if plunge else None
    right, left = faces(u, np.repeat(height, per), np.repeat(spine, per), bevels, out)
    rows = (up * (right - left), up * (right - left) * u, up * (right * right - left * left) / 2)
    area, about, across = (row.reshape(len(x), per).sum(axis=1) for row in rows)
    return area, about, across
