"""Pictures for a notebook: an outline, or the points a family is drawn with.

Small SVG seen with y upward, on white, for a notebook may be dark.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np

from blankwright.base.arrays import Array

_WIDE_PX, _PAD = 640, 0.03
_STRAIGHT = 1e-9
_LIGHT = "#bbb"

Box = tuple[float, float, float, float]


def outline_picture(starts: Array, ends: Array, bulges: Array, bounds_mm: Box) -> str:
    """Return a closed chain of arcs and lines as a picture.

    Args:
        starts: (n, 2) start of each piece [mm].
        ends: (n, 2) end of each piece [mm].
        bulges: (n,) bulge of each piece.
        bounds_mm: Least x, least y, greatest x, greatest y [mm].
    """
    return _framed([f'<path d="{outline_way(starts, ends, bulges)}"/>'], bounds_mm)


def outline_way(starts: Array, ends: Array, bulges: Array) -> str:
    """Return a closed chain of arcs and lines as the way of an SVG path, y upward; args as for outline_picture."""
    x, y = starts[0]
    way = [f"M{x:.4f} {-y:.4f}"]
    for a, b, bulge in zip(starts, ends, bulges.tolist(), strict=True):
        if abs(bulge) < _STRAIGHT:
            way.append(f"L{b[0]:.4f} {-b[1]:.4f}")
            continue
        radius = float(np.hypot(*(b - a))) * (1 + bulge * bulge) / (4 * abs(bulge))
        way.append(f"A{radius:.4f} {radius:.4f} 0 {int(abs(bulge) > 1)} {int(bulge < 0)} {b[0]:.4f} {-b[1]:.4f}")
    return f"{' '.join(way)} Z"


def points_picture(lines: Sequence[Iterable[tuple[float, float]]]) -> str:
    """Return the lines of a loop with their points as a picture; what joins one line to the next is lighter.

    Args:
        lines: Points of each line [mm].
    """
    found = [np.array(list(line), dtype=np.float64).reshape(-1, 2) for line in lines]
    every = np.concatenate(found)
    (x0, y0), (x1, y1) = every.min(axis=0), every.max(axis=0)
    dot = max(float(x1 - x0), float(y1 - y0)) / 250
    shapes = [f'<polygon stroke="{_LIGHT}" points="{_pairs(every)}"/>']
    for line in found:
        shapes.append(f'<polyline points="{_pairs(line)}"/>')
        shapes += [f'<circle cx="{x:.4f}" cy="{-y:.4f}" r="{dot:.4f}"/>' for x, y in line]
    return _framed(shapes, (float(x0), float(y0), float(x1), float(y1)))


def _pairs(points: Array) -> str:
    return " ".join(f"{x:.4f},{-y:.4f}" for x, y in points)


def _framed(shapes: Sequence[str], bounds_mm: Box) -> str:
    x0, y0, x1, y1 = bounds_mm
    pad = _PAD * max(x1 - x0, y1 - y0)
    wide, high = x1 - x0 + 2 * pad, y1 - y0 + 2 * pad
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{_WIDE_PX}" height="{_WIDE_PX * high / wide:.0f}" '
        f'viewBox="{x0 - pad:.4f} {-y1 - pad:.4f} {wide:.4f} {high:.4f}">'
        f'<rect x="{x0 - pad:.4f}" y="{-y1 - pad:.4f}" width="{wide:.4f}" height="{high:.4f}" fill="#fff"/>'
        f'<g fill="none" stroke="#222" stroke-width="{wide / _WIDE_PX:.4f}">{"".join(shapes)}</g></svg>\n'
    )
