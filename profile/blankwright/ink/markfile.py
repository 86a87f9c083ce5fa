"""A maker's own mark from a drawing (SVG): its strokes, open or closed, as lines and arcs of an asked height.

Only lines are taken: paths, lines, polylines, polygons, rectangles, circles and ellipses, through their groups'
transforms. A filled shape is taken by its outline. Text and pictures have no line to follow and are refused.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from xml.etree import ElementTree

import numpy as np

from blankwright.base.arrays import Array
from blankwright.base.errors import RequestError
from blankwright.geometry.arcfit import biarcs
from blankwright.geometry.chain import Chain
from blankwright.geometry.distance import points_to_pieces
from blankwright.ink.strokes import Stroked

CLOSE_MM = 0.005
"""Arcs follow the drawing's curves within this."""
MAX_BYTES, MAX_PIECES, MAX_SPLITS, MAX_VALUE = 1_000_000, 5_000, 256, 1e7
"""Limits on a file from anywhere; a mark needs a hundredth of them."""

_NUMBER = re.compile(r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?")
_FLAG = re.compile("[01]")
_COUNTS = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "A": 7, "Z": 0}
_SKIPPED = {
    "defs",
    "metadata",
    "title",
    "desc",
    "style",
    "namedview",
    "clipPath",
    "mask",
    "symbol",
    "marker",
    "pattern",
}
_REFUSED = {"text": "text has no line to follow: turn it into paths", "image": "a picture has no line to follow",
            "use": "a reused shape is not looked up: draw it out"}  # fmt: skip


@dataclass(frozen=True, eq=False)
class _Curve:
    """A curve on t from 0 to 1: its points and its slopes."""

    at: Callable[[Array], Array]
    slope: Callable[[Array], Array]
    straight: bool


def mark_from(path: Path, height_mm: float) -> Stroked:
    """Return a drawing's strokes, y up, scaled to a height.

    Args:
        path: The file (.svg).
        height_mm: Height of the whole drawing [mm].

    Raises:
        RequestError: It cannot be read, holds nothing to follow, or holds text or pictures; names the file.
    """
    try:
        if path.stat().st_size > MAX_BYTES:
            raise RequestError(f"{path}: larger than {MAX_BYTES // 1000} kB; a mark is a few lines.")
        text = path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError:
        raise RequestError(f"{path}: not a text file in UTF-8.") from None
    except OSError as error:
        raise RequestError(f"{path}: cannot be read ({error.strerror or error}).") from None
    if "<!ENTITY" in text:
        raise RequestError(f"{path}: entities are not taken; save it as plain SVG.")
    try:
        root = ElementTree.fromstring(text)
    except (ElementTree.ParseError, RecursionError) as error:
        raise RequestError(f"{path}: not valid SVG: {error}") from None
    try:
        curves = list(_subpaths(root, np.eye(3), 0))
        return _scaled(curves, height_mm)
    except RequestError as error:
        raise RequestError(f"{path}: {error}") from None


def _scaled(subpaths: list[list[_Curve]], height_mm: float) -> Stroked:
    shares = np.linspace(0, 1, 33)
    points = [curve.at(shares) for path in subpaths for curve in path]
    if not points:
        raise RequestError("there is no line in it.")
    if not all((np.abs(p) < MAX_VALUE**2).all() for p in points):
        raise RequestError("its transforms make it larger than any drawing.")
    low, high = np.concatenate(points).min(axis=0), np.concatenate(points).max(axis=0)
    if high[1] - low[1] <= 1e-9:
        raise RequestError("the drawing has no height; a level line is no mark.")
    scale = height_mm / float(high[1] - low[1])
    tol = CLOSE_MM / scale
    chains, pieces = [], 0
    for path in subpaths:
        rows = [row for curve in path for row in _arcs(curve, tol)]
        if not rows:
            continue
        end = path[-1].at(np.array([1.0]))[0]
        chain = np.vstack([rows, [*end, 0.0]])
        xy = (chain[:, :2] - low) * [scale, -scale]
        chains.append(Chain(np.column_stack([xy, -chain[:, 2]])))
        pieces += len(rows)
    if pieces > MAX_PIECES or not chains:
        raise RequestError(f"{pieces} lines and arcs; a mark has 1 to {MAX_PIECES}.")
    drawn = Stroked(tuple(chains))
    return drawn.grown(height_mm / drawn.size_mm[1])  # the height was read off points; the arcs' own goes


def _arcs(curve: _Curve, tol: float) -> list[list[float]]:
    """Return start and bulge of the lines or arcs that follow a curve."""
    n = 1
    while True:
        t = np.linspace(0, 1, n + 1)
        ends = curve.at(t)
        if np.hypot(*(ends[1:] - ends[:-1]).T).max() < 1e-12 and n == 1 and curve.straight:
            return []
        if curve.straight:
            return [[*ends[0], 0.0]]
        starts, joints, stops, first, second = _biarcs(curve, t)
        inner = curve.at((t[:-1, None] + (t[1:] - t[:-1])[:, None] * np.linspace(0, 1, 9)[None, 1:-1]).ravel())
        a, b, g = np.concatenate([starts, joints]), np.concatenate([joints, stops]), np.concatenate([first, second])
        long = np.hypot(*(b - a).T) > 1e-12
        away = points_to_pieces(inner, a[long], b[long], g[long]).min(axis=1).max() if long.any() else 0.0
        if away <= tol or n >= MAX_SPLITS:
            rows = [[[*starts[i], first[i]], [*joints[i], second[i]]] for i in range(n)]
            flat = [row for pair in rows for row in pair]
            nexts = [*(np.array(row[:2]) for row in flat[1:]), stops[-1]]
            return [row for row, after in zip(flat, nexts, strict=True) if np.hypot(*(after - row[:2])) > 1e-12]
        n *= 2


def _biarcs(curve: _Curve, t: Array) -> tuple[Array, Array, Array, Array, Array]:
    points, eps = curve.at(t), 1e-4
    slopes = curve.slope(np.clip(t, eps, 1 - eps)) if _still(curve, t) else curve.slope(t)
    unit = slopes / np.maximum(np.hypot(*slopes.T), 1e-300)[:, None]
    joint, first, second = biarcs(points[:-1], unit[:-1], points[1:], unit[1:])
    return points[:-1], joint, points[1:], first, second


def _still(curve: _Curve, t: Array) -> bool:
    """Return whether a curve has no direction at one of its ends: handles that lie on them."""
    return bool((np.hypot(*curve.slope(t).T) < 1e-9).any())


def _subpaths(element: ElementTree.Element, matrix: Array, depth: int) -> Iterator[list[_Curve]]:
    """Yield what an element and those in it draw, in the drawing's own units."""
    if depth > 60:
        raise RequestError("groups stand more than 60 deep in it.")
    kind = str(element.tag).rsplit("}", 1)[-1]
    if kind in _SKIPPED or "display:none" in element.get("style", "").replace(" ", ""):
        return
    if kind in _REFUSED:
        raise RequestError(f"{_REFUSED[kind]}.")
    matrix = matrix @ _transform(element.get("transform", ""))
    if not (np.abs(matrix) < MAX_VALUE**2).all():
        raise RequestError("its transforms make it larger than any drawing.")
    for curves in _drawn(kind, element):
        yield [_mapped(curve, matrix) for curve in curves]
    for child in element:
        yield from _subpaths(child, matrix, depth + 1)


def _drawn(kind: str, element: ElementTree.Element) -> list[list[_Curve]]:
    def number(name: str) -> float:
        found = _NUMBER.match(element.get(name, "0").strip())
        return _value(found[0]) if found else 0.0

    if kind == "path":
        return _path(element.get("d", ""))
    if kind == "line":
        return [[_line((number("x1"), number("y1")), (number("x2"), number("y2")))]]
    if kind in ("polyline", "polygon"):
        flat = [_value(v) for v in _NUMBER.findall(element.get("points", ""))]
        points = list(zip(flat[::2], flat[1::2], strict=False))
        points += points[:1] if kind == "polygon" else []
        return [[_line(a, b) for a, b in pairwise(points)]] if len(points) > 1 else []
    if kind == "rect":
        x, y, w, h = (number(name) for name in ("x", "y", "width", "height"))
        corners = [(x, y), (x + w, y), (x + w, y + h), (x, y + h), (x, y)]
        return [[_line(a, b) for a, b in pairwise(corners)]] if w and h else []
    if kind in ("circle", "ellipse"):
        rx, ry = (number("r"),) * 2 if kind == "circle" else (number("rx"), number("ry"))
        centre = np.array([number("cx"), number("cy")])
        quarters = [_round(centre, np.diag([rx, ry]), q * math.pi / 2, math.pi / 2) for q in range(4)]
        return [quarters] if rx and ry else []
    return []


def _value(text: str) -> float:
    """Return a number that a drawing may hold."""
    value = float(text)
    if not abs(value) <= MAX_VALUE:
        raise RequestError(f"the number {text[:20]} is larger than any drawing.")
    return value


def _line(a: tuple[float, float] | Array, b: tuple[float, float] | Array) -> _Curve:
    p, q = np.asarray(a, dtype=float), np.asarray(b, dtype=float)
    return _Curve(lambda t: p + t[:, None] * (q - p), lambda t: np.ones((len(t), 1)) * (q - p), straight=True)


def _cubic(a: Array, b: Array, c: Array, d: Array) -> _Curve:
    def at(t: Array) -> Array:
        s, u = t[:, None], 1 - t[:, None]
        return np.asarray(u**3 * a + 3 * u**2 * s * b + 3 * u * s**2 * c + s**3 * d)

    def slope(t: Array) -> Array:
        s, u = t[:, None], 1 - t[:, None]
        return np.asarray(3 * u**2 * (b - a) + 6 * u * s * (c - b) + 3 * s**2 * (d - c))

    return _Curve(at, slope, straight=False)


def _round(centre: Array, axes: Array, first: float, sweep: float) -> _Curve:
    """Return a part of an ellipse: a circle of radius 1 through a matrix."""

    def at(t: Array) -> Array:
        angle = first + sweep * t
        return np.asarray(centre + np.column_stack([np.cos(angle), np.sin(angle)]) @ axes.T)

    def slope(t: Array) -> Array:
        angle = first + sweep * t
        return np.asarray(sweep * np.column_stack([-np.sin(angle), np.cos(angle)]) @ axes.T)

    return _Curve(at, slope, straight=False)


def _mapped(curve: _Curve, matrix: Array) -> _Curve:
    a, b = matrix[:2, :2].T, matrix[:2, 2]
    return _Curve(lambda t: curve.at(t) @ a + b, lambda t: curve.slope(t) @ a, curve.straight)


def _transform(text: str) -> Array:
    """Return the matrix of a transform attribute."""
    out = np.eye(3)
    for name, inside in re.findall(r"([A-Za-z]+)\s*\(([^)]*)\)", text):
        v = [_value(n) for n in _NUMBER.findall(inside)]
        m = np.eye(3)
        if name == "matrix" and len(v) == 6:
            m[:2] = np.array([[v[0], v[2], v[4]], [v[1], v[3], v[5]]])
        elif name == "translate" and v:
            m[:2, 2] = [v[0], v[1] if len(v) > 1 else 0.0]
        elif name == "scale" and v:
            m[0, 0], m[1, 1] = v[0], v[1] if len(v) > 1 else v[0]
        elif name == "rotate" and v:
            c, s = math.cos(math.radians(v[0])), math.sin(math.radians(v[0]))
            turn = np.array([[c, -s, 0.0], [s, c, 0.0], [0.0, 0.0, 1.0]])
            there = np.eye(3)
            there[:2, 2] = v[1:3] if len(v) == 3 else [0.0, 0.0]
            back = there.copy()
            back[:2, 2] *= -1
            m = there @ turn @ back
        elif name in ("skewX", "skewY") and v:
            m[(0, 1) if name == "skewX" else (1, 0)] = math.tan(math.radians(v[0]))
        else:
            raise RequestError(f"the transform '{name}({inside[:40]})' is not understood.")
        out = out @ m
    return out


def _path(d: str) -> list[list[_Curve]]:
    """Return the curves of a path's data, one list for each subpath."""
    out: list[list[_Curve]] = []
    here, start, handle, before = np.zeros(2), np.zeros(2), np.zeros(2), ""
    for command, v in _commands(d):
        kind = command.upper()
        if kind == "M":
            here = np.array(v) + (here if command == "m" else 0.0)
            start = here
            out.append([])
        elif kind == "Z":
            if out and np.hypot(*(here - start)) > 1e-12:
                out[-1].append(_line(here, start))
            here = start
        else:
            if not out:
                raise RequestError("a path begins without a place (M).")
            if before == "Z":
                out.append([])
            curve, here, handle = _segment(kind, command.islower(), v, here, handle, before)
            out[-1] += curve
        before = kind
        if kind not in "CSQT":
            handle = here
    return [path for path in out if path]


def _commands(d: str) -> Iterator[tuple[str, list[float]]]:
    """Yield the commands of a path's data with their numbers; one that is repeated stands once for each."""
    at, command = 0, ""
    while (at := _blank(d, at)) < len(d):
        if d[at].upper() in _COUNTS:
            command, at = d[at], at + 1
        elif not command or command in "Zz":
            raise RequestError(f"a path's data is not understood at '{d[at : at + 20]}'.")
        values: list[float] = []
        for i in range(_COUNTS[command.upper()]):
            at = _blank(d, at)
            # the two flags of an arc are single digits that need no space behind them
            found = (_FLAG if command in "Aa" and i in (3, 4) else _NUMBER).match(d, at)
            if found is None:
                raise RequestError(f"a path's command {command} has too few numbers at '{d[at : at + 20]}'.")
            values.append(_value(found[0]))
            at = found.end()
        yield command, values
        command = {"M": "L", "m": "l"}.get(command, command)


def _blank(d: str, at: int) -> int:
    """Return where the next thing of a path's data begins."""
    while at < len(d) and (d[at].isspace() or d[at] == ","):
        at += 1
    return at


def _segment(
    kind: str, relative: bool, v: list[float], here: Array, handle: Array, before: str
) -> tuple[list[_Curve], Array, Array]:
    """Return the curves of one command, where it ends, and its last handle."""
    base = here if relative else np.zeros(2)
    if kind == "H":
        end = np.array([v[0] + base[0], here[1]])
    elif kind == "V":
        end = np.array([here[0], v[0] + base[1]])
    else:
        end = np.array(v[-2:]) + base
    if kind in "LHV":
        return [_line(here, end)], end, end
    if kind == "A":
        return _elliptic(here, end, v), end, end
    p = [np.array(v[k : k + 2]) + base for k in range(0, len(v) - 2, 2)]
    if kind in "CS":
        one = p[0] if kind == "C" else 2 * here - handle if before in ("C", "S") else here
        two = p[-1]
        return [_cubic(here, one, two, end)], end, two
    middle = p[0] if kind == "Q" else 2 * here - handle if before in ("Q", "T") else here
    return [_cubic(here, (here + 2 * middle) / 3, (end + 2 * middle) / 3, end)], end, middle


def _elliptic(here: Array, end: Array, v: list[float]) -> list[_Curve]:
    """Return an elliptic arc: from its ends to its centre as the SVG recommendation has it (appendix B.2.4)."""
    rx, ry, turn = abs(v[0]), abs(v[1]), math.radians(v[2])
    large, sweeps = v[3] != 0, v[4] != 0
    if rx < 1e-12 or ry < 1e-12:
        return [_line(here, end)]
    if np.hypot(*(end - here)) < 1e-12:
        return []
    c, s = math.cos(turn), math.sin(turn)
    turned = np.array([[c, -s], [s, c]])
    x, y = turned.T @ ((here - end) / 2)
    grow = math.sqrt(max(1.0, (x / rx) ** 2 + (y / ry) ** 2))
    rx, ry = rx * grow, ry * grow
    rest = max(0.0, (rx * ry) ** 2 - (rx * y) ** 2 - (ry * x) ** 2) / ((rx * y) ** 2 + (ry * x) ** 2)
    sign = 1.0 if large != sweeps else -1.0
    middle = sign * math.sqrt(rest) * np.array([rx * y / ry, -ry * x / rx])
    centre = turned @ middle + (here + end) / 2
    first = math.atan2((y - middle[1]) / ry, (x - middle[0]) / rx)
    last = math.atan2((-y - middle[1]) / ry, (-x - middle[0]) / rx)
    angle = (last - first) % (2 * math.pi)
    angle = angle if sweeps else angle - 2 * math.pi
    parts = max(1, math.ceil(abs(angle) / (math.pi / 2) - 1e-9))
    axes = turned @ np.diag([rx, ry])
    return [_round(centre, axes, first + angle * k / parts, angle / parts) for k in range(parts)]
