"""What does one entity of a file draw? Lines, arcs and curves of it, and what stands in the way of cutting it.

Group codes are those of the DXF reference, "ENTITIES section". Coordinates stay in the unit of the file. What
cannot be cut as it stands is returned with its name and place, never dropped.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from blankwright.base.arrays import Array, Place
from blankwright.base.errors import GeometryError, ProofError
from blankwright.inspection import curves
from blankwright.inspection.curves import Curve
from blankwright.inspection.drawing import Insert, Item, circle_chain, printable
from blankwright.proof.tags import Record

FULL_TURN_DEG = 1e-9
FLAT = 1e-9
"""A plane is seen from above when its normal leans by less; far below what moves a line."""


def item_of(record: Record, vertices: list[Record]) -> Item:
    """Read one entity.

    Args:
        record: The entity.
        vertices: The VERTEX records of an old-style POLYLINE.

    Raises:
        ProofError: A number cannot be read, or the entity is incomplete; names the line.
    """
    side = _side(record)
    item = Item(
        kind=printable(record.kind).upper(),
        layer=printable(record.layer),
        line=record.line,
        at=_place(record),
        on_paper=bool(record.integer(67, 0)),
        invisible=bool(record.integer(60, 0)),
        tilted=side == 0,
        below=side < 0,
        colour=colour_of(record),
    )
    if item.tilted:
        return replace(item, trouble="lies in a tilted plane")
    try:
        item = _READERS[item.kind](item, record, vertices) if item.kind in _READERS else item
    except GeometryError as error:
        return replace(item, trouble=f"cannot be read ({error})", spoiled=True)
    if side < 0 and item.kind not in {"LINE", "POINT", "ELLIPSE", "SPLINE"}:
        item = _turned(item)
    return item


def colour_of(record: Record) -> str:
    """Return a colour as the DXF reference has it: group code 420 as #rrggbb, 62 as an index, 256 as "" (by layer)."""
    if record.find(420) is not None:
        return f"#{record.integer(420, 0) & 0xFFFFFF:06x}"
    index = record.integer(62, 256)
    return "" if index == 256 else str(index)


def _side(record: Record) -> int:
    """Return 1 for a plane seen from above, -1 from below, 0 for a tilted one."""
    if record.find(230) is None or record.kind in {"VIEWPORT", "SPLINE"}:
        return 1
    x, y, z = (record.length(code, default) for code, default in ((210, 0.0), (220, 0.0), (230, 1.0)))
    return 0 if abs(x) + abs(y) > FLAT * abs(z) or z == 0 else (1 if z > 0 else -1)


def _turned(item: Item) -> Item:
    """Return an entity drawn from below as it looks from above."""
    flip = np.array([-1.0, 1.0, -1.0])
    circle = item.circle and (-item.circle[0], item.circle[1], item.circle[2])
    insert = item.insert
    if insert is not None:
        insert = insert.mapped(np.diag([-1.0, 1.0]), np.zeros(2))
    at = item.at and (-item.at[0], item.at[1])
    chain = None if item.chain is None else item.chain * flip
    return replace(item, chain=chain, circle=circle, insert=insert, at=at)


def _place(record: Record) -> Place | None:
    x, y = record.find(10), record.find(20)
    if x is None or y is None:
        return None
    return record.coordinate(10, *x), record.coordinate(20, *y)


def _line(item: Item, record: Record, _: list[Record]) -> Item:
    ends = [[record.length(10, None), record.length(20, None), 0.0], [record.length(11, None), record.length(21, None), 0.0]]  # fmt: skip # noqa: E501
    z = sorted((record.length(30, 0.0), record.length(31, 0.0)))
    return replace(item, chain=np.array(ends), heights=(z[0], z[1]))


def _centre(record: Record) -> tuple[float, float, float]:
    x, y, radius = (record.length(code, None) for code in (10, 20, 40))
    if radius <= 0:
        raise record.fail(f"{record.kind} has the radius {radius:g}.")
    return x, y, radius


def _circle(item: Item, record: Record, _: list[Record]) -> Item:
    x, y, radius = _centre(record)
    z = record.length(30, 0.0)
    return replace(item, chain=circle_chain(x, y, radius), closed=True, circle=(x, y, 2 * radius), heights=(z, z))


def _arc(item: Item, record: Record, vertices: list[Record]) -> Item:
    x, y, radius = _centre(record)
    first, last = record.length(50, None), record.length(51, None)
    sweep = (last - first) % 360
    if min(sweep, 360 - sweep) < FULL_TURN_DEG:
        return _circle(item, record, vertices)
    z = record.length(30, 0.0)
    bulge = math.tan(math.radians(sweep) / 4)
    if bulge > 1:  # wide arcs in two halves: each piece is then known by its ends
        bulge, angles = math.tan(math.radians(sweep) / 8), [first, first + sweep / 2, last]
    else:
        angles = [first, last]
    rows = [[x + radius * math.cos(a), y + radius * math.sin(a), bulge] for a in map(math.radians, angles)]
    rows[-1][2] = 0.0
    return replace(item, chain=np.array(rows), heights=(z, z))


def _light(item: Item, record: Record, _: list[Record]) -> Item:
    """Read an LWPOLYLINE, whose 10, 20 and 42 repeat in order."""
    rows: list[list[float]] = []
    for code, value, line in record.tags:
        if code == 10:
            rows.append([record.coordinate(code, value, line), math.nan, 0.0])
        elif code in {20, 42} and rows:
            rows[-1][1 if code == 20 else 2] = record.coordinate(code, value, line)
    if any(math.isnan(row[1]) for row in rows):
        raise record.fail("LWPOLYLINE has a vertex without y.")
    z = record.length(38, 0.0)
    if record.integer(90, len(rows)) != len(rows):
        raise record.fail(f"LWPOLYLINE says {record.integer(90, 0)} vertices and has {len(rows)}.")
    return _polyline_item(replace(item, heights=(z, z)), record, rows)


def _heavy(item: Item, record: Record, vertices: list[Record]) -> Item:
    """Read an old-style POLYLINE with its vertices."""
    flags = record.integer(70, 0)
    if flags & (16 | 64):
        return replace(item, kind="POLYFACE", trouble="is a mesh in space")
    # of a fitted curve the frame's control points (16) are not on the line
    real = [v for v in vertices if not v.integer(70, 0) & 16]
    rows = [[v.length(10, None), v.length(20, None), v.length(42, 0.0)] for v in real]
    z = [record.length(30, 0.0) if not flags & 8 else v.length(30, 0.0) for v in real] or [0.0]
    return _polyline_item(replace(item, heights=(min(z), max(z))), record, rows)


def _polyline_item(item: Item, record: Record, rows: list[list[float]]) -> Item:
    if not rows:
        raise record.fail(f"{record.kind} has no vertices.")
    closed = bool(record.integer(70, 0) & 1) and len(rows) > 1
    at = (rows[0][0], rows[0][1])
    if len(rows) == 1:
        rows = [rows[0], rows[0]]
    chain = np.array(rows)
    if closed and (chain[0, :2] == chain[-1, :2]).all() and len(rows) > 2:
        chain = chain[:-1]  # flagged as closed and the first vertex written again: harmless and common
    codes = {40, 41, 43} if record.kind == "LWPOLYLINE" else {40, 41}
    wide = max((record.coordinate(c, v, n) for c, v, n in record.tags if c in codes), default=0.0)
    return replace(item, chain=chain, closed=closed, at=at, wide=wide)


def _point(item: Item, record: Record, _: list[Record]) -> Item:
    z = record.length(30, 0.0)
    return replace(item, at=(record.length(10, None), record.length(20, None)), heights=(z, z))


def _numbers(record: Record, code: int) -> Array:
    return np.array([record.coordinate(c, v, line) for c, v, line in record.tags if c == code])


def _spline(item: Item, record: Record, _: list[Record]) -> Item:
    x, y, z = (_numbers(record, code) for code in (10, 20, 30))
    if len(x) != len(y):
        raise record.fail("SPLINE has a control point without y.")
    height = (float(z.min()), float(z.max())) if len(z) else (0.0, 0.0)
    if not len(x):
        fit = [_numbers(record, code) for code in (11, 21)]
        if len(fit[0]) < 2 or len(fit[0]) != len(fit[1]):
            raise record.fail("SPLINE has no control points; the file is incomplete.")
        rows = np.column_stack([*fit, np.zeros(len(fit[0]))])
        at = (float(rows[0, 0]), float(rows[0, 1]))
        return replace(item, chain=rows, at=at, trouble="has points to pass through but no control points")
    weights, knots = _numbers(record, 41), _numbers(record, 40)
    if len(weights) not in {0, len(x)}:
        raise GeometryError(f"a spline of {len(x)} control points with {len(weights)} weights")
    weights = weights if len(weights) else np.ones(len(x))
    curve = curves.of_spline(np.column_stack([x, y]), weights, knots, record.integer(71, 3))
    return replace(
        item, curve=curve, closed=curve.closed, at=_start(curve), heights=height, trouble=_miscounted(record, x, knots)
    )


def _miscounted(record: Record, points: Array, knots: Array) -> str:
    """Return what a spline says of itself and does not hold, a clause: some readers refuse the whole file for it."""
    for code, what, has in ((72, "knots", len(knots)), (73, "control points", len(points))):
        if record.integer(code, has) != has:
            return f"says {record.integer(code, 0)} {what} and has {has}"
    return "names no degree" if record.find(71) is None else ""


def _ellipse(item: Item, record: Record, _: list[Record]) -> Item:
    centre = np.array([record.length(10, None), record.length(20, None)])
    major = np.array([record.length(11, None), record.length(21, None)])
    ratio = record.length(40, None)
    if not 1e-6 <= abs(ratio) <= 1.000001 or not major.any():
        raise record.fail("ELLIPSE has a side of no length.")
    first, last = record.length(41, 0.0), record.length(42, math.tau)
    sweep = (last - first) % math.tau
    if min(sweep, math.tau - sweep) < 1e-9:
        sweep = math.tau
    minor = ratio * (-1 if item.below else 1) * np.array([-major[1], major[0]])
    curve = curves.of_ellipse(centre, major, minor, first, first + sweep)
    z = record.length(30, 0.0)
    return replace(item, curve=curve, closed=curve.closed, at=_start(curve), heights=(z, z))


def _start(curve: Curve) -> Place:
    x, y = curve.at(np.zeros(1, dtype=np.intp), np.zeros(1))[0]
    return float(x), float(y)


def _insert(item: Item, record: Record, _: list[Record]) -> Item:
    x, y = record.length(10, 0.0), record.length(20, 0.0)
    sx, sy = record.length(41, 1.0), record.length(42, 1.0)
    angle = math.radians(record.length(50, 0.0))
    turn = np.array([[math.cos(angle), -math.sin(angle)], [math.sin(angle), math.cos(angle)]])
    columns, rows = (max(1, record.integer(code, 1)) for code in (70, 71))
    steps = np.diag([record.length(44, 0.0), record.length(45, 0.0)]) @ turn.T
    z = record.length(30, 0.0)
    insert = Insert(record.text(2, ""), turn @ np.diag([sx, sy]), np.array([x, y]), (columns, rows), steps)
    return replace(item, insert=insert, at=(x, y), heights=(z, z))


_READERS = {
    "LINE": _line, "ARC": _arc, "CIRCLE": _circle, "LWPOLYLINE": _light, "POLYLINE": _heavy, "POINT": _point,
    "SPLINE": _spline, "ELLIPSE": _ellipse, "INSERT": _insert,
}  # fmt: skip


def unreadable(record: Record, error: ProofError) -> Item:
    """Return the entity that stands for one whose numbers cannot be read."""
    return Item(printable(record.kind).upper(), printable(record.layer), record.line, trouble=str(error))
