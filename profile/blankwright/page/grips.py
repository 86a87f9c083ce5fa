"""What of a shape can be taken hold of: points that a dimension places, and the arrows of its sizes.

Each dimension is measured somewhere (`design/measure.py`); where that is, its point lies, and a step of the point is a
step of the dimension, or two where a height is shared by top and bottom. Nothing is solved here.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import lru_cache

from blankwright.base.errors import GeometryError
from blankwright.base.frozen import dataclass
from blankwright.design.layout import Frame
from blankwright.design.measure import Reader
from blankwright.design.parts import Dimension
from blankwright.design.request import OVERALL_KEY
from blankwright.design.shape import Shape
from blankwright.design.solve import SolvedShape
from blankwright.design.tang import chord_at

ARROW = "arrow "
"""Before a dimension's key: its arrow."""

_TOGETHER_MM = 0.02
"""Two dimensions that are measured at one place move one point."""

_INSIDE_MM = 0.01

Place = tuple[float, float]


@dataclass(frozen=True)
class Pull:
    """How a dimension goes with a point along one axis.

    Args:
        key: Key of the dimension in a design file.
        name: Its name in scripts.
        slope: What a step of the point of 1 mm adds to it [mm].
    """

    key: str
    name: str
    slope: float


@dataclass(frozen=True)
class Grip:
    """A point that can be moved.

    Args:
        name: What the page calls it by.
        words: What it is, for a reader.
        at: Where it lies [mm].
        x: What it changes along x, or None.
        y: What it changes along y, or None.
    """

    name: str
    words: str
    at: Place
    x: Pull | None
    y: Pull | None


@dataclass(frozen=True)
class Arrow:
    """A size on the drawing, from a to b; b can be moved where there is a pull.

    Args:
        key: Key of the dimension.
        words: What it is, for a reader.
        value_mm: Its value [mm].
        axis: "x" or "y".
        a: Where it is measured from [mm].
        b: Where it is measured to [mm].
        pull: What moving b changes, or None for a size that follows from others.
    """

    key: str
    words: str
    value_mm: float
    axis: str
    a: Place
    b: Place
    pull: Pull | None

    @property
    def grip(self) -> Grip | None:
        """The end that can be moved, as a point; None where there is none."""
        if self.pull is None:
            return None
        x, y = (self.pull, None) if self.axis == "x" else (None, self.pull)
        return Grip(ARROW + self.key, self.words, self.b, x, y)


def words_of(key: str) -> str:
    """Return what a key is called for a reader.

    >>> words_of("blade.heel_height"), words_of("pins.count"), words_of("scales.swell")
    ('heel height', 'pins, count', 'scales, swell')
    """
    table, _, word = key.rpartition(".")
    word = word.replace("_", " ")
    if table == "blade":
        return "blade length" if word == "length" else word
    return f"{table}, {word}" if table in ("pins", "scales", "block", "mark", "parts") else f"{table} {word}"


@lru_cache(maxsize=4)
def arrows_of(shape: Shape) -> tuple[Arrow, ...]:
    """Return the arrow of every dimension that is measured somewhere, and that of the overall length."""
    if isinstance(shape, SolvedShape):
        places = _Places(shape)
        found = [arrow for s in shape.solved for arrow in places.arrow(s.dimension, s.value_mm)]
    else:
        found = _of_blank(shape)
    tip = next((a.b for a in found if a.pull and a.pull.name == "blade_length"), (0.0, 0.0))
    butt = next((a.b for a in found if a.pull and a.pull.name == "handle_length"), (shape.butt_x_mm, 0.0))
    found.append(Arrow(OVERALL_KEY, "overall length", shape.overall_length_mm, "x", butt, tip, None))
    return tuple(found)


def _of_blank(shape: Shape) -> list[Arrow]:
    """Return the arrows of a blank that exists: its sizes stand, where the handle begins moves."""
    v, front = shape.values_mm, shape.front_x_mm
    low, high = chord_at(shape.finished, front) or (0.0, 0.0)
    y = (low + high) / 2
    gap = Pull("handle.gap", "handle_gap", -1.0)
    tip = (v["blade_length"], v["tip_height"])
    return [
        Arrow("blade.length", words_of("blade.length"), v["blade_length"], "x", (0.0, 0.0), tip, None),
        Arrow("blade.heel_height", words_of("blade.heel_height"), v["heel_height"], "y", (0.0, 0.0),
              (0.0, v["heel_height"]), None),
        Arrow("handle.gap", words_of("handle.gap"), v["handle_gap"], "x", (0.0, y), (front, y), gap),
    ]  # fmt: skip


def grips_of(shape: Shape, arrows: tuple[Arrow, ...]) -> tuple[Grip, ...]:
    """Return the points that can be moved; dimensions that are measured at one place share theirs.

    Args:
        shape: The shape.
        arrows: Its arrows.
    """
    found: list[Grip] = []
    for arrow in arrows:
        if arrow.pull is None:
            continue
        at, step = arrow.b, arrow.pull
        x, y = (step, None) if arrow.axis == "x" else (None, step)
        same = next((i for i, g in enumerate(found) if _near(g.at, at) and not (g.x and x) and not (g.y and y)), None)
        if same is None:
            found.append(Grip(arrow.key, arrow.words, at, x, y))
        else:
            both = found[same]
            words = "tip" if (both.x or step).name == "blade_length" else f"{both.words}, {arrow.words}"
            found[same] = replace(both, words=words, x=both.x or x, y=both.y or y)
        if arrow.axis == "y" and abs(step.slope) > 1:  # a height with a top and a bottom has a point at both
            found.append(Grip(f"{arrow.key} below", arrow.words, arrow.a, None, replace(step, slope=-step.slope)))
    return tuple(found)


def _near(a: Place, b: Place) -> bool:
    return abs(a[0] - b[0]) <= _TOGETHER_MM and abs(a[1] - b[1]) <= _TOGETHER_MM


class _Places:
    """Where the dimensions of a shape are measured."""

    def __init__(self, shape: SolvedShape) -> None:
        self._shape = shape
        self._reader = Reader(shape.plans, Frame(shape.family, shape.construction, shape.values_mm).places_mm)
        self._reader.look_at(list(shape.splines))

    def arrow(self, d: Dimension, value_mm: float) -> Iterator[Arrow]:
        """Yield the arrow of a dimension; none for one that is measured nowhere."""
        try:
            found = self._where(d, value_mm)
        except GeometryError:
            return
        if found is not None:
            axis, a, b, slope = found
            yield Arrow(d.key, words_of(d.key), value_mm, axis, a, b, Pull(d.key, d.name, slope))

    def _where(self, d: Dimension, value_mm: float) -> tuple[str, Place, Place, float] | None:
        """Return axis, both ends and the slope at the second one."""
        m, shape = d.measure, self._shape
        front = shape.front_x_mm
        if d.name == "handle_gap":
            x, y = front, self._middle(front)
            return "x", (0.0, y), (x, y), -1.0
        if m.kind in ("rearmost", "behind"):
            x = front - value_mm
            y = self._middle(x + _INSIDE_MM) if m.kind == "behind" or shape.tang_end_x_mm <= x else self._middle(front)
            return "x", (front, y), (x, y), -1.0
        if m.curve is None or not self._reader.has(m.curve):
            return None
        if m.kind in ("ahead", "foremost", "above", "foremost-height"):
            at = self._reach(m.curve, m.kind)
            along = m.kind in ("ahead", "foremost")
            return ("x", (0.0, 0.0), at, 1.0) if along else ("y", (at[0], 0.0), at, 1.0)
        if m.kind == "flat":
            return "x", (0.0, 0.0), (value_mm, 0.0), 1.0
        if m.kind == "apart":
            x, y = self._end(m.curve)
            return "y", (x, y - value_mm), (x, y), 2.0
        if m.station is None:
            return None
        return self._upright(d, value_mm)

    def _upright(self, d: Dimension, value_mm: float) -> tuple[str, Place, Place, float] | None:
        m = d.measure
        assert m.station is not None
        x = self._reader.station_mm(m.station)
        if m.kind == "height":
            return "y", (x, 0.0), (x, value_mm), 1.0
        y = self._height(d)
        if m.kind == "drop" and m.second is not None:
            there = self._reader.station_mm(m.second)
            return "y", (there, y), (there, y - value_mm), -1.0
        return ("y", (x, y - value_mm), (x, y), 2.0) if m.kind == "thickness" else None

    def _height(self, d: Dimension) -> float:
        """Return y of a dimension's first curve at its station [mm]."""
        return self._reader.read(replace(d, measure=replace(d.measure, kind="height")), 0.0).value_mm

    def _end(self, curve: str) -> Place:
        spline, _, _ = self._shape.stretch_of(curve)
        x, y = spline.points[-1]
        return float(x), float(y)

    def _reach(self, curve: str, kind: str) -> Place:
        if kind in ("ahead", "above"):
            return self._end(curve)
        values = {s.dimension.measure.kind: s.value_mm for s in self._shape.solved}
        x = values.get("foremost", self._shape.values_mm["blade_length"])
        return x, values.get("foremost-height", self._middle(x - _INSIDE_MM))

    def _middle(self, x_mm: float) -> float:
        low, high = chord_at(self._shape.finished, x_mm) or (0.0, 0.0)
        return (low + high) / 2
