"""A family file of its own: the points of a fitted family, moved onto the line that was lifted."""

from __future__ import annotations

import json

import numpy as np

from blankwright.base.arrays import Array
from blankwright.base.errors import BlankwrightError, RequestError
from blankwright.base.frozen import dataclass
from blankwright.design.check import chord
from blankwright.design.family import family_from_table
from blankwright.design.solve import solve_shape
from blankwright.geometry.outline import Outline
from blankwright.lift.fits import Fit
from blankwright.lift.offness import signed_mm

MOST_POINTS = 14
"""Points on one line: with more a curve follows every tremble of the source."""
_RISEN_MM = 0.03
"""An edge that is higher does not lie on the board: light shows under it."""
_APART_MM = 4.0
"""Nearer to another a point is not set."""


@dataclass(frozen=True, eq=False)
class OwnFamily:
    """A family drawn on an outline.

    Args:
        table: Its file as a table: format, name, edge, spine, handle.
        worst_mm: The greatest distance of its blade from the outline [mm].
    """

    table: dict[str, object]
    worst_mm: float


def own_family(fit: Fit, name: str, within_mm: float) -> OwnFamily:
    """Return a family whose blade runs along the outline.

    Points are set where the fitted family has its own, on the lifted line; more are set where it is still off.

    Args:
        fit: The nearest family.
        name: Name of the new one.
        within_mm: How near its blade shall come [mm].

    Raises:
        RequestError: The family is written whole, or the points make no blade.
    """
    source = json.loads(fit.shape.family.source)
    if "blade" not in source:
        raise RequestError(f"family {fit.shape.family.name}: written whole; --within needs one that is a blade alone.")
    if "nose" in source["blade"] or "scallop_pitch" in fit.dimensions_mm:
        raise RequestError(f"a blade with a round nose or scallops, such as {fit.shape.family.name}, is drawn by hand.")
    outline = fit.target.outline  # it stands with its heel at the origin, as a family does
    places = {line: _places(fit, source["blade"], line) for line in ("edge", "spine")}
    best: OwnFamily | None = None
    while True:
        table = _table(fit, source["blade"], name, outline, places)
        one = OwnFamily(table, _worst(table, outline, places))
        if best is None or one.worst_mm < best.worst_mm:
            best = one
        if one.worst_mm <= within_mm or not _add_point(table, outline, places):
            return best


def _places(fit: Fit, blade: dict[str, object], line: str) -> list[float]:
    """Return x of the family's points at the size that was found [mm]."""
    points = blade[line]
    assert isinstance(points, list)
    length = max(float(p[0]) for p in blade["edge"])  # type: ignore[attr-defined]
    share = fit.dimensions_mm["blade_length"] / length
    return [float(x) * share for x, _ in points]


def _table(
    fit: Fit, blade: dict[str, object], name: str, outline: Outline, places: dict[str, list[float]]
) -> dict[str, object]:
    low = {x: chord(outline, x)[0].y_mm for x in places["edge"]}
    high = {x: chord(outline, x)[1].y_mm for x in places["spine"]}
    tip = outline.starts[int(outline.starts[:, 0].argmax())]
    flat = _flat_mm(outline)
    edge = [[0.0, 0.0]] + ([[round(flat, 2), 0.0]] if flat > 0 else [])
    edge += [
        [round(x, 2), round(low[x], 2)] for x in sorted(places["edge"]) if flat + _APART_MM < x < tip[0] - _APART_MM
    ]
    edge.append([round(float(tip[0]), 2), round(float(tip[1]), 2)])
    spine = [[round(x, 2), round(high[x], 2)] for x in sorted(places["spine"], reverse=True) if 0 < x < tip[0] - 1]
    spine.append([0.0, round(chord(outline, 0.0)[1].y_mm, 2)])
    table = {k: v for k, v in blade.items() if k not in ("edge", "spine", "blade")}
    pattern = fit.shape.family.patterns.get(fit.shape.construction)
    handle = dict(table.get("handle") or {})  # type: ignore[call-overload]
    table |= {"name": name, "title": name, "use": f"lifted; nearest to {fit.shape.family.name}"}
    return table | {"edge": edge, "spine": spine, "handle": handle | ({"pattern": pattern} if pattern else {})}


def _flat_mm(outline: Outline) -> float:
    """Return how far the edge lies on the board, from the heel [mm]; nothing where it rises at once."""
    along = np.arange(1.0, outline.bounds_mm[2], 0.5)
    rise = np.array([chord(outline, x)[0].y_mm for x in along.tolist()])
    up = np.flatnonzero(np.abs(rise) > _RISEN_MM)
    flat = float(along[up[0]]) if len(up) else 0.0
    return flat if flat > _APART_MM else 0.0


def _worst(table: dict[str, object], outline: Outline, places: dict[str, list[float]]) -> float:
    off, _ = _off(table, outline)
    return float(np.abs(off).max()) if len(off) else float("inf")


def _off(table: dict[str, object], outline: Outline) -> tuple[Array, Array]:
    """Return distances of the outline's blade from the family's [mm], and where they are."""
    try:
        family = family_from_table(json.loads(json.dumps(table)), str(table["name"]))
        shape = solve_shape(family, next(iter(family.curves)), {})
    except BlankwrightError:
        return np.empty(0), np.empty((0, 2))
    points, piece = outline.sampled(0.5)
    blade = np.array([outline.regions[i] in ("edge", "spine") for i in piece.tolist()]) & (points[:, 0] > 0)
    return signed_mm(shape.finished, points[blade]), points[blade]


def _add_point(table: dict[str, object], outline: Outline, places: dict[str, list[float]]) -> bool:
    """Set one more point where the family is furthest off; False where no more help."""
    off, points = _off(table, outline)
    for i in np.abs(off).argsort()[::-1][:200].tolist():
        x, y = points[i].tolist()
        low, high = chord(outline, x)
        line = "edge" if abs(y - low.y_mm) < abs(y - high.y_mm) else "spine"
        if len(places[line]) < MOST_POINTS and min(abs(x - other) for other in places[line]) > _APART_MM:
            places[line].append(x)
            return True
    return False
