"""Pictures of families: all silhouettes to one scale, and one family with its points and the bend of its lines."""

from __future__ import annotations

import json
import textwrap
from collections.abc import Sequence
from html import escape

import numpy as np

from blankwright.base.arrays import Array, evenly
from blankwright.base.said import mm, said
from blankwright.design.parts import Family
from blankwright.design.solve import SolvedShape, solve_shape
from blankwright.geometry.picture import outline_way

_GAP_MM, _TEXT_MM, _SMALL_MM, _BAR_MM = 9.0, 5.0, 3.6, 100.0
_LETTER = 0.56
"""Mean width of a letter, as a share of its height, in the fonts that stand for sans-serif."""
_COMB_MM = 14.0
"""Longest tooth of the comb."""
_TEETH = 70
_FILL, _LINE, _POINT, _TOOTH = "#dde3ea", "#222", "#b00", "#58a"


def silhouettes_svg(families: Sequence[Family]) -> str:
    """Return all families at their defaults, one under the other, to one scale, with a bar that says which."""
    y, wide, drawn = _GAP_MM, _BAR_MM, []
    for family in families:
        shape = solve_shape(family, next(iter(family.curves)), {})
        x0, y0, x1, y1 = shape.finished.bounds_mm
        long, high = (mm(shape.values_mm[key], 0) for key in ("blade_length", "heel_height"))
        size = said("{} x {}", long, high).text()
        drawn.append(_text(0, y + _TEXT_MM, f"{family.name}: {family.title}, {size}"))
        drawn.append(_outline(shape, -x0, y + 2 * _TEXT_MM + y1))
        wide, y = max(wide, x1 - x0), y + 2 * _TEXT_MM + y1 - y0 + _GAP_MM
    drawn.append(f'<path d="M0 {y:.2f}h{_BAR_MM:g}" stroke="{_LINE}" stroke-width="1"/>')
    drawn.append(_text(0, y + 1.5 * _TEXT_MM, said("{}", mm(_BAR_MM, 0)).text()))
    return _page(drawn, wide, y + 2 * _TEXT_MM)


def family_svg(family: Family) -> str:
    """Return one family: its outline, the points it is drawn with, and combs whose teeth are the bend of its lines.

    A tooth is as long as the line bends there: along a fair line the teeth grow or shrink steadily.
    """
    shape = solve_shape(family, next(iter(family.curves)), {})
    x0, y0, x1, y1 = shape.finished.bounds_mm
    top = y1 + _COMB_MM + 2 * _TEXT_MM
    drawn = [_text(0, _TEXT_MM, f"{family.name}: {family.title}"), _outline(shape, -x0, top)]
    for region in ("edge", "spine"):
        drawn += _comb(shape, region, -x0, top)
    drawn += [f'<circle cx="{x - x0:.2f}" cy="{top - y:.2f}" r="1.1" fill="{_POINT}"/>' for x, y in _points(family)]
    y = top - y0 + _COMB_MM + _TEXT_MM
    rows = []
    for solved in shape.solved:
        d = solved.dimension
        value, least, greatest = mm(solved.value_mm, 1), mm(d.least_mm, 1), mm(d.greatest_mm, 1)
        rows.append(said(f"{d.key} {{}} ({{}} to {{}}): {d.meaning}", value, least, greatest).text())
    for row in [*rows, *bend_words(family)]:
        for line in textwrap.wrap(row, int((x1 - x0) / (_LETTER * _SMALL_MM))):
            drawn.append(_text(0, y, line, _SMALL_MM))
            y += 1.4 * _SMALL_MM
        y += 0.3 * _SMALL_MM
    return _page(drawn, x1 - x0, y)


def bend_words(family: Family) -> list[str]:
    """Return how edge and spine bend as drawn, in the words of a maker who lays a straight edge on them."""
    shape, out = solve_shape(family, next(iter(family.curves)), {}), []
    for region in ("edge", "spine"):
        _, places, bend = _bends(shape, region)
        least, most = 1 / float(np.abs(bend).max()), int(np.abs(bend).argmax())
        at, radius = mm(float(places[most, 0]), 0), mm(least, 0)
        out.append(said(f"{region}: tightest at {{}} from the heel, radius {{}}", at, radius).text())
        words = f"{region}: bends in one sweep"
        dips = _dips(bend)
        if (bend < -0.02 * np.abs(bend).max()).any():
            at = mm(float(places[int(bend.argmin()), 0]), 0)
            words = said(f"{region}: hollow at {{}}: light shows under a straight edge", at).text()
        elif dips:
            at = mm(float(places[dips[0], 0]), 0)
            words = said(f"{region}: bends less and then more again at {{}}: a thumb feels a bump", at).text()
        out.append(words)
    return out


def _dips(bend: Array) -> list[int]:
    """Return where the bend falls by a twentieth of its greatest and rises as much again."""
    depth, found, high, low, at = 0.05 * float(np.abs(bend).max()), [], float(bend[0]), np.inf, -1
    for i, value in enumerate(bend.tolist()):
        if value < low and high - value > depth:
            low, at = value, i
        elif at >= 0 and value - low > depth:
            found.append(at)
            high, low, at = value, np.inf, -1
        high = max(high, value)
    return found


def _bends(shape: SolvedShape, region: str) -> tuple[Array, Array, Array]:
    """Return parameters, places [mm] and bend [1/mm] along a line of the blade, ahead of the heel."""
    curve = next(c.name for c in shape.family.curves[shape.construction] if c.region == region and c.name != "nose")
    spline, t0, t1 = shape.stretch_of(curve)
    t = evenly(t0, t1, 400)
    places = spline.at(t)
    ahead = places[:, 0] >= 0
    return t[ahead], places[ahead], spline.curvature(t[ahead])


def _comb(shape: SolvedShape, region: str, dx: float, top: float) -> list[str]:
    curve = next(c.name for c in shape.family.curves[shape.construction] if c.region == region and c.name != "nose")
    spline, _, _ = shape.stretch_of(curve)
    t, places, bend = _bends(shape, region)
    most = float(np.abs(bend).max())
    pick = np.linspace(0, len(t) - 1, _TEETH).astype(int)
    along = spline.tangents(t[pick])
    # a line that turns left has its centre on the left: the teeth stand on the other side, outside of the steel
    ends = places[pick] + np.column_stack([along[:, 1], -along[:, 0]]) * (bend[pick] / most * _COMB_MM)[:, None]
    teeth = "".join(
        f"M{a[0] + dx:.2f} {top - a[1]:.2f}L{b[0] + dx:.2f} {top - b[1]:.2f}"
        for a, b in zip(places[pick].tolist(), ends.tolist(), strict=True)
    )
    rim = " ".join(f"{b[0] + dx:.2f},{top - b[1]:.2f}" for b in ends.tolist())
    return [
        f'<path d="{teeth}" fill="none" stroke="{_TOOTH}" stroke-width=".25"/>',
        f'<polyline points="{rim}" fill="none" stroke="{_TOOTH}" stroke-width=".4"/>',
    ]


def _points(family: Family) -> list[tuple[float, float]]:
    """Return the points that a maker gave: on the line, or control points where the file is written whole."""
    blade = json.loads(family.source).get("blade")
    if blade is None:
        return [p for c in next(iter(family.curves.values())) for p in c.points]
    return [(float(x), float(y)) for key in ("edge", "nose", "spine") for x, y in blade.get(key, ())]


def _outline(shape: SolvedShape, dx: float, dy: float) -> str:
    o = shape.finished
    way = outline_way(o.starts, o.ends, o.bulges)
    return (
        f'<path transform="translate({dx:.2f} {dy:.2f})" d="{way}" fill="{_FILL}" stroke="{_LINE}" stroke-width=".5"/>'
    )


def _text(x: float, y: float, words: str, high_mm: float = _TEXT_MM) -> str:
    return f'<text x="{x:.2f}" y="{y:.2f}" font-size="{high_mm:g}" font-family="sans-serif">{escape(words)}</text>'


def _page(drawn: Sequence[str], wide_mm: float, high_mm: float) -> str:
    wide, high = wide_mm + 2 * _GAP_MM, high_mm + 2 * _GAP_MM
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide:.2f}mm" height="{high:.2f}mm" '
        f'viewBox="{-_GAP_MM:g} {-_GAP_MM:g} {wide:.2f} {high:.2f}">'
        f'<rect x="{-_GAP_MM:g}" y="{-_GAP_MM:g}" width="{wide:.2f}" height="{high:.2f}" fill="#fff"/>'
        f"{''.join(drawn)}</svg>\n"
    )
