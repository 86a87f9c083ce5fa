"""Points measured by hand with rule and square, for those without a camera: a table of x and y.

A comma table (RFC 4180) with one point a line, `x, y`, in order round the thing; a third column `corner` marks a
sharp corner. Or the same rows in TOML, as `points`. Lengths carry their unit, or the table's first line names it, such
as `x mm, y mm`.
"""

from __future__ import annotations

import csv
import io
import math
import re
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np

from blankwright.base.arrays import Array
from blankwright.base.errors import GeometryError, RequestError, ToleranceNotMetError
from blankwright.base.fields import Fields
from blankwright.base.reading import parse_toml, read_text
from blankwright.base.said import said
from blankwright.base.units import length_mm
from blankwright.design.lifted import FARTHEST_MM, MOST_HOLES, BudgetRow
from blankwright.geometry.arcfit import fit_arcs
from blankwright.geometry.outline import Outline
from blankwright.geometry.spline import Spline
from blankwright.lift.seen import Backdrop, Hole, Seen

MOST_BYTES = 200_000
MOST_PLACES = 1_000
LEAST_PLACES = 4
CORNER_DEG = 40.0
"""Where the straight lines between points turn by more, a corner is taken, unless a corner is marked anywhere."""
ARCS_MM = 0.01
_CORNER = ("corner", "c", "sharp")
_UNIT = re.compile(r"^\s*[xyXY]\s*[\[(]?\s*(?P<unit>mm|cm|in|inch|\"|)\s*[\])]?\s*$")


def is_table(path: Path) -> bool:
    """Say whether a name is that of a table of points."""
    return path.suffix.lower() in {".csv", ".toml", ".txt"}


def measured_by_hand(path: Path, within_mm: float) -> Seen:
    """Return the outline through points that were measured by hand.

    Args:
        path: A comma table, or TOML with `points` and, where there are holes, `holes`.
        within_mm: What a reading may be off [mm].

    Raises:
        RequestError: A row is wrong, with its number; or the points make no outline.
    """
    text = read_text(path, MOST_BYTES, "a table of points")
    if path.suffix.lower() == ".toml":
        points, corners, holes = _from_toml(text, path)
    else:
        (points, corners), holes = _from_lines(text, path), ()
    _refuse_few(points, path)
    if _area(points) < 0:
        points, corners = points[::-1], corners[::-1]
    if not any(corners):
        corners = _by_turn(points)
    outline = _through(points, corners, path)
    rows = (
        BudgetRow("reading of each point", within_mm, "Read to a smaller part of a millimetre, and say --reading."),
        BudgetRow("between the points", _between(points, corners), "Measure more points where the outline bends."),
        BudgetRow("arcs laid along the points", outline.max_error_mm, ""),
    )
    note = said(f"{len(points)} points, {sum(corners)} corners among them.")
    shown = np.vstack([points, points[:1]])
    lines = (np.column_stack([shown, np.zeros(len(shown))]),)
    return Seen(outline, holes, rows, (note,), Backdrop(None, lambda places: places, lines))


def _refuse_few(points: Array, path: Path) -> None:
    if not LEAST_PLACES <= len(points) <= MOST_PLACES:
        raise RequestError(
            f"{path}: {len(points)} points. Allowed: {LEAST_PLACES} to {MOST_PLACES}, in order round the thing."
        )
    apart = np.hypot(*(np.roll(points, -1, axis=0) - points).T)
    if (apart < 0.05).any():
        k = int(np.argmin(apart)) + 1
        raise RequestError(f"{path}: points {k} and {k % len(points) + 1} are the same place. Leave one out.")


def _area(points: Array) -> float:
    x, y = points.T
    return float((x * np.roll(y, -1) - np.roll(x, -1) * y).sum()) / 2


def _from_lines(text: str, path: Path) -> tuple[Array, list[bool]]:
    told = [line for line in text.splitlines() if line.strip() and not line.lstrip().startswith("#")]
    parted = sum(";" in line for line in told)
    sign = ";" if 2 * parted > len(told) else ","  # a comma may be that of a decimal number there
    rows = []
    try:
        for row in csv.reader(io.StringIO(text), delimiter=sign, strict=True):
            rows.append([cell.strip() for cell in row])
            if len(rows) > 2 * MOST_PLACES:
                raise RequestError(f"{path}: more than {2 * MOST_PLACES} lines; at most {MOST_PLACES} points are read.")
    except csv.Error as error:
        raise RequestError(f"{path} line {len(rows) + 1}: is no comma table ({error}).") from None
    units = ["", ""]
    points: list[tuple[float, float]] = []
    corners: list[bool] = []
    for number, row in enumerate(rows, start=1):
        if not any(row) or row[0].startswith("#"):
            continue
        heads = [_UNIT.match(cell) for cell in row[:2]]
        if not points and len(row) >= 2 and all(heads):
            units = [h["unit"] if h else "" for h in heads]
            continue
        place, corner = _row(row, f"{path} line {number}", units)
        points.append(place)
        corners.append(corner)
    return np.array(points, dtype=np.float64).reshape(-1, 2), corners


def _row(row: list[Any], where: str, units: list[str]) -> tuple[tuple[float, float], bool]:
    if not 2 <= len(row) <= 3 or not all(isinstance(cell, str) for cell in row):
        got = "1 value" if len(row) == 1 else f"{len(row)} values"
        raise RequestError(
            f"{where}: expected x, y and perhaps 'corner', each a text, with commas between them or, in all lines, "
            f"semicolons; got {got}."
        )
    if len(row) == 3 and row[2] and row[2].lower() not in _CORNER:
        raise RequestError(f"{where}: '{row[2][:20]}' is unknown. Allowed in the third column: corner.")
    x, y = (_length(cell, unit, f"{where} {axis}") for cell, unit, axis in zip(row[:2], units, ("x", "y"), strict=True))
    return (x, y), len(row) == 3 and bool(row[2])


def _length(cell: str, unit: str, where: str) -> float:
    bare = unit and re.fullmatch(r"[+-]?[\d.,/ ]+", cell.strip())
    value = length_mm(f"{cell} {unit}" if bare else cell, where)
    if not math.isfinite(value) or abs(value) > FARTHEST_MM:
        raise RequestError(f"{where}: {cell[:30]} is out of range. Allowed: within {FARTHEST_MM:.0f} mm.")
    return value


def _from_toml(text: str, path: Path) -> tuple[Array, list[bool], tuple[Hole, ...]]:
    fields = Fields(parse_toml(text, str(path)), str(path))
    fields.only(["points", "holes", "name"])
    rows = fields.table.get("points")
    if not isinstance(rows, list) or not all(isinstance(row, list) for row in rows) or len(rows) > MOST_PLACES:
        raise RequestError(f'{path}: points must be a list such as [["0 mm", "0 mm"], ["52 mm", "0 mm", "corner"]].')
    read = [_row(row, f"{path} points number {k}", ["", ""]) for k, row in enumerate(rows, start=1)]
    holes = fields.table.get("holes", [])
    if not isinstance(holes, list) or len(holes) > MOST_HOLES:
        raise RequestError(f"{path}: holes must be a list of x, y, diameter, at most {MOST_HOLES}.")
    found = []
    for k, row in enumerate(holes, start=1):
        if not isinstance(row, list) or len(row) != 3:
            raise RequestError(f"{path} holes number {k}: expected x, y, diameter.")
        x, y, d = (length_mm(v, f"{path} holes number {k}") for v in row)
        found.append((x, y, d))
    return np.array([p for p, _ in read], dtype=np.float64).reshape(-1, 2), [c for _, c in read], tuple(found)


def _by_turn(points: Array) -> list[bool]:
    come, go = points - np.roll(points, 1, axis=0), np.roll(points, -1, axis=0) - points
    turn = np.degrees(np.arctan2(come[:, 0] * go[:, 1] - come[:, 1] * go[:, 0], (come * go).sum(axis=1)))
    return [bool(abs(t) > CORNER_DEG) for t in turn]


def _through(points: Array, corners: list[bool], path: Path) -> Outline:
    """Return arcs along cubic curves through the points, one from corner to corner."""
    n = len(points)
    first = next((k for k, c in enumerate(corners) if c), None)
    order = [((first or 0) + k) % n for k in range(n + 1)]
    stops = [k for k, i in enumerate(order) if corners[i] or k in (0, n)]
    chains = []
    error = 0.0
    try:
        for a, b in pairwise(stops):
            part = points[order[a : b + 1]]
            spline = _spline(part, closed=first is None)
            chain = fit_arcs(spline, (0.0, float(spline.spans)), ARCS_MM)
            rows = np.column_stack([chain.points[:-1], chain.bulges])
            rows[0, :2] = part[0]
            chains.append(rows)
            error = max(error, chain.max_error_mm)
        return Outline(np.concatenate(chains), max_error_mm=error)
    except (GeometryError, ToleranceNotMetError, ValueError, np.linalg.LinAlgError) as why:
        raise RequestError(
            f"{path}: the points make no outline ({why}). They must go round the thing in order."
        ) from None


def _spline(points: Array, *, closed: bool) -> Spline:
    """Return a cubic curve through points, chord lengths as parameter; a straight line through two."""
    if len(points) == 2:
        return Spline(points, 1)
    from scipy.interpolate import CubicSpline  # noqa: PLC0415 - loaded only where points are measured by hand

    way = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    if closed:
        curve = CubicSpline(way, np.vstack([points[:-1], points[:1]]), bc_type="periodic")
    else:
        ends = "not-a-knot" if len(points) > 3 else "natural"
        curve = CubicSpline(way, points, bc_type=ends)
    count = max(8, min(12 * len(points), 3_000))
    t = np.linspace(0.0, way[-1], count * 4)
    return _fitted(np.asarray(curve(t)), t / way[-1] * count, count)


def _fitted(places: Array, t: Array, spans: int) -> Spline:
    """Return a uniform B-spline that follows dense places of a cubic curve."""
    from blankwright.geometry.spline import span_matrices  # noqa: PLC0415 - beside its class

    matrices = span_matrices(3, spans + 3)
    span = np.minimum(t.astype(int), spans - 1)
    u = t - span
    rows = np.einsum("mk,mkj->mj", np.stack([np.ones_like(u), u, u * u, u * u * u], axis=1), matrices[span])
    from scipy.sparse import csr_array  # noqa: PLC0415
    from scipy.sparse.linalg import spsolve  # noqa: PLC0415

    at = np.repeat(np.arange(len(t)), 4)
    a = csr_array((rows.ravel(), (at, (span[:, None] + np.arange(4)).ravel())), shape=(len(t), spans + 3))
    normal = (a.T @ a).tocsc()
    control = np.column_stack([spsolve(normal, a.T @ places[:, k]) for k in (0, 1)])
    control[0], control[-1] = places[0], places[-1]
    return Spline(control, 3)


def _between(points: Array, corners: list[bool]) -> float:
    """Return what the curve between points may be off: an eighth of the chord times its turn, a tenth of that taken."""
    come, go = points - np.roll(points, 1, axis=0), np.roll(points, -1, axis=0) - points
    turn = np.abs(np.arctan2(come[:, 0] * go[:, 1] - come[:, 1] * go[:, 0], (come * go).sum(axis=1)))
    chord = np.maximum(np.hypot(*come.T), np.hypot(*go.T))
    free = ~np.array(corners)
    return float((turn * chord / 8 * 0.25)[free].max(initial=0.0))
