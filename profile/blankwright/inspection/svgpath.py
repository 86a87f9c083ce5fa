"""Path data and transforms of an SVG file (SVG 1.1 and 2, W3C, chapters "Paths" and "Coordinate Systems").

A path is read into stretches: lines and arcs of circles as chains with bulges, all other curves as rational
polynomials; both stay what they are, and their ends meet.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from blankwright.base.arrays import Array
from blankwright.base.errors import GeometryError
from blankwright.base.frozen import dataclass
from blankwright.inspection import curves
from blankwright.inspection.curves import Curve

Point = complex
NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?")
_SKIP = re.compile(r"[\s,]*")
_COUNTS = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "A": 7, "Z": 0}
MAX_NUMBER = 1e9
SNAP = 0.005
"""A closing line shorter than this is the rounding of relative steps [user units]."""
ROUND = 1e-9
"""Radii that differ by a smaller share are those of a circle."""


@dataclass(frozen=True, eq=False)
class Stretch:
    """A part of a path: a chain, or a curve; of a subpath that has both, its number."""

    chain: Array | None
    curve: Curve | None
    closed: bool
    loop: int = 0

    @property
    def start(self) -> tuple[float, float]:
        """Its first point."""
        if self.chain is not None:
            return float(self.chain[0, 0]), float(self.chain[0, 1])
        assert self.curve is not None
        x, y, w = self.curve.coefs[0, 0]
        return float(x / w), float(y / w)


class _Path:
    """Gathers the segments of one subpath after the other."""

    def __init__(self) -> None:
        self.done: list[Stretch] = []
        self.rows: list[tuple[float, float, float]] = []  # of the chain that is being gathered
        self.spans: list[Array] = []  # of the curve that is being gathered
        self.parts: list[Stretch] = []  # of the subpath so far
        self.start = self.at = 0j

    def move(self, to: Point) -> None:
        self.finish(closed=False)
        self.start = self.at = to

    def line(self, to: Point, bulge: float = 0.0) -> None:
        if to == self.at:
            return
        self._flush_curve()
        if not self.rows:
            self.rows.append((self.at.real, self.at.imag, 0.0))
        x, y, _ = self.rows[-1]
        self.rows[-1] = (x, y, bulge)
        self.rows.append((to.real, to.imag, 0.0))
        self.at = to

    def cubic(self, a: Point, b: Point, to: Point) -> None:
        p = self.at
        self._span([p, 3 * (a - p), 3 * (p - 2 * a + b), to - 3 * b + 3 * a - p], to)

    def quadratic(self, a: Point, to: Point) -> None:
        p = self.at
        self._span([p, 2 * (a - p), p - 2 * a + to, 0j], to)

    def _span(self, powers: list[complex], to: Point) -> None:
        if all(p == 0 for p in powers[1:]):
            return
        self._flush_chain()
        weights = [1.0, 0.0, 0.0, 0.0]
        self.spans.append(np.array([[[p.real, p.imag, w] for p, w in zip(powers, weights, strict=True)]]))
        self.at = to

    def arc(self, rx: float, ry: float, turn_deg: float, wide: bool, positive: bool, to: Point) -> None:
        """Add an elliptical arc (SVG 2, appendix "Elliptical arc implementation notes")."""
        p, rx, ry = self.at, abs(rx), abs(ry)
        if p == to:
            return
        if rx == 0 or ry == 0:
            self.line(to)
            return
        axis = complex(math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg)))
        half = (p - to) / 2 * axis.conjugate()
        reach = (half.real / rx) ** 2 + (half.imag / ry) ** 2
        if reach > 1:
            rx, ry, reach = rx * math.sqrt(reach), ry * math.sqrt(reach), 1.0
        share = math.sqrt(max(0.0, 1 / reach - 1)) * (-1 if wide == positive else 1)
        middle = complex(share * rx * half.imag / ry, -share * ry * half.real / rx)
        first, last = (math.atan2((s * half - middle).imag / ry, (s * half - middle).real / rx) for s in (1, -1))
        sweep = (last - first) % math.tau
        sweep -= 0 if positive else math.tau
        if abs(rx - ry) <= ROUND * rx:
            steps = 2 if abs(sweep) > math.pi * 0.999 else 1
            centre = middle * axis + (p + to) / 2
            for k in range(1, steps + 1):
                angle = first + sweep * k / steps
                end = to if k == steps else centre + rx * axis * complex(math.cos(angle), math.sin(angle))
                self.line(end, math.tan(sweep / steps / 4))
            return
        self._flush_chain()
        centre, major, minor = middle * axis + (p + to) / 2, rx * axis, ry * axis * 1j
        if sweep < 0:
            minor, first, sweep = -minor, -first, -sweep
        made = curves.of_ellipse(_pair(centre), _pair(major), _pair(minor), first, first + sweep)
        self.spans.append(np.concatenate([made.coefs, np.zeros((len(made.coefs), 1, 3))], axis=1))
        self.at = to

    def close(self) -> None:
        off = self.start - self.at
        if 0 < abs(off) <= SNAP and (self.rows or self.spans):  # rounded steps do not add up to nothing
            if self.rows:
                self.rows[-1] = (self.start.real, self.start.imag, 0.0)
            else:
                self.spans[-1][-1, 2, :2] += _pair(off)
        elif off and (self.rows or self.spans or self.parts):
            self.line(self.start)
        self.finish(closed=True)
        self.at = self.start

    def finish(self, *, closed: bool) -> None:
        """End the subpath: one closed stretch when it is of one kind, else stretches whose ends meet."""
        self._flush_chain()
        self._flush_curve()
        if len(self.parts) == 1 and self.parts[0].chain is not None:
            rows = self.parts[0].chain
            meets = len(rows) > 2 and bool((rows[0, :2] == rows[-1, :2]).all())
            if closed or meets:
                self.parts = [Stretch(rows[:-1] if meets else rows, None, True)]
        loop = len(self.done) + 1 if len(self.parts) > 1 else 0
        self.done += [replace(part, loop=loop) for part in self.parts]
        self.parts = []

    def _flush_chain(self) -> None:
        if len(self.rows) > 1:
            self.parts.append(Stretch(np.array(self.rows), None, False))
        self.rows = []

    def _flush_curve(self) -> None:
        if self.spans:
            coefs = np.concatenate(self.spans)
            if not np.isfinite(coefs).all():
                raise GeometryError("a curve with numbers that are not finite")
            start, end = coefs[0, 0, :2] / coefs[0, 0, 2], coefs[-1].sum(axis=0)
            meets = np.hypot(*(start - end[:2] / end[2])) <= 1e-9 * (1 + float(np.abs(coefs[..., :2]).max()))
            whole = bool(meets) and not self.parts and not self.rows
            self.parts.append(Stretch(None, Curve(coefs, whole), whole))
        self.spans = []


def _pair(p: complex) -> Array:
    return np.array([p.real, p.imag])


def stretches_of(data: str) -> tuple[list[Stretch], str]:
    """Read path data.

    Args:
        data: The attribute "d".

    Returns:
        The stretches in order, those before a fault included; and the fault, a clause, or "".
    """
    path = _Path()
    mirrored: tuple[str, Point] = ("", 0j)  # the last control point, for the smooth commands
    why = ""
    try:
        for number, (letter, values) in enumerate(_commands(data)):
            if number == 0 and letter.upper() != "M":
                raise GeometryError("does not begin with a move")  # noqa: TRY301 - told like every fault of the path
            mirrored = _add(path, letter, values, mirrored)
        path.finish(closed=False)
    except GeometryError as error:
        why = str(error)
        path.finish(closed=False)
    return path.done, why


def _add(path: _Path, letter: str, v: list[float], last: tuple[str, Point]) -> tuple[str, Point]:
    """Add one segment; return its kind and last control point."""
    upper, base = letter.upper(), path.at if letter.islower() else 0j
    points = [base + complex(*v[k : k + 2]) for k in range(0, len(v) - 1, 2)]
    if upper == "Z":
        path.close()
    elif upper == "M":
        path.move(points[0])
    elif upper == "L":
        path.line(points[0])
    elif upper == "H":
        path.line(complex(base.real + v[0], path.at.imag))
    elif upper == "V":
        path.line(complex(path.at.real, base.imag + v[0]))
    elif upper == "A":
        path.arc(v[0], v[1], v[2], v[3] != 0, v[4] != 0, base + complex(v[5], v[6]))
    elif upper in {"C", "S"}:
        if upper == "S":
            points.insert(0, 2 * path.at - last[1] if last[0] == "C" else path.at)
        path.cubic(*points)
        return "C", points[1]
    else:
        if upper == "T":
            points.insert(0, 2 * path.at - last[1] if last[0] == "Q" else path.at)
        path.quadratic(*points)
        return "Q", points[0]
    return "", path.at


def _commands(data: str) -> Iterator[tuple[str, list[float]]]:
    """Yield each segment's letter and numbers; a move with more numbers goes on as lines."""
    place, letter = 0, ""
    while True:
        match = _SKIP.match(data, place)
        place = match.end() if match else place
        if place >= len(data):
            return
        if data[place].upper() in _COUNTS:
            letter = data[place]
            place += 1
        elif not letter or letter.upper() == "Z":
            raise GeometryError(f"has {data[place : place + 12]!r} where a command should stand")
        values: list[float] = []
        count = _COUNTS[letter.upper()]
        while len(values) < count:
            match = _SKIP.match(data, place)
            place = match.end() if match else place
            flag = letter.upper() == "A" and len(values) in {3, 4}
            found = re.compile("[01]").match(data, place) if flag else NUMBER.match(data, place)
            if found is None:
                raise GeometryError(f"breaks off at {data[place : place + 12]!r}")
            values.append(float(found[0]))
            place = found.end()
        if any(abs(v) > MAX_NUMBER for v in values):
            raise GeometryError("has a number larger than anything to be cut")
        yield letter, values
        letter = {"M": "L", "m": "l"}.get(letter, letter)


_FUNCTION = re.compile(r"\s*,?\s*(matrix|translate|scale|rotate|skewX|skewY)\s*\(([^()]*)\)\s*", re.IGNORECASE)


def transform_of(text: str) -> tuple[Array, Array]:
    """Read a transform: (2, 2) and (2,).

    Raises:
        GeometryError: It cannot be read.
    """
    matrix, shift = np.eye(2), np.zeros(2)
    place = 0
    while place < len(text.rstrip()):
        match = _FUNCTION.match(text, place)
        if match is None:
            raise GeometryError(f"has a transform that cannot be read: {text[place : place + 20]!r}")
        place = match.end()
        numbers = [_angle_free(part) for part in re.split(r"[\s,]+", match[2].strip()) if part]
        m, s = _one(match[1].lower(), numbers)
        matrix, shift = matrix @ m, matrix @ s + shift
    if not (np.isfinite(matrix).all() and np.abs(shift).max() <= MAX_NUMBER):
        raise GeometryError("has a transform with numbers beyond all use")
    return matrix, shift


def _angle_free(text: str) -> float:
    match = NUMBER.match(text)
    if match is None or text[match.end() :] not in {"", "px", "deg"}:
        raise GeometryError(f"has a transform that cannot be read: {text[:20]!r}")
    return float(match[0])


def _one(name: str, v: list[float]) -> tuple[Array, Array]:
    zero = np.zeros(2)
    if name == "matrix" and len(v) == 6:
        return np.array([[v[0], v[2]], [v[1], v[3]]]), np.array(v[4:])
    if name == "translate" and len(v) in {1, 2}:
        return np.eye(2), np.array([v[0], v[1] if len(v) > 1 else 0.0])
    if name == "scale" and len(v) in {1, 2}:
        return np.diag([v[0], v[-1]]), zero
    if name == "rotate" and len(v) in {1, 3}:
        c, s = math.cos(math.radians(v[0])), math.sin(math.radians(v[0]))
        turn = np.array([[c, -s], [s, c]])
        about = np.array(v[1:]) if len(v) == 3 else zero
        return turn, about - turn @ about
    if name in {"skewx", "skewy"} and len(v) == 1:
        lean = math.tan(math.radians(v[0]))
        return np.array([[1.0, lean], [0.0, 1.0]] if name == "skewx" else [[1.0, 0.0], [lean, 1.0]]), zero
    raise GeometryError(f"has a transform with {len(v)} numbers in {name}")
