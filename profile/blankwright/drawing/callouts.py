"""Where the labels of a drawing find room: board line, handle front, holes and radii.

Each label has a list of places it might take. A place on the part or on another label is out of the question;
among the others the one that crosses least and lies nearest wins, the first of equals.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from functools import cached_property

import numpy as np

from blankwright.base.arrays import Array
from blankwright.base.frozen import dataclass
from blankwright.drawing.partdrawing import DimensionLine, HoleMark, PartDrawing
from blankwright.geometry.chain import Chain
from blankwright.ink import lettering
from blankwright.ink.marks import (
    CENTRE,
    NARROW,
    OTHER,
    TEXT_GAP_MM,
    Arrow,
    Box,
    Mark,
    Marks,
    Point,
    Ring,
    Segment,
    Text,
)

BOARD_BEYOND_MM = 6.0
"""How far the board line runs past the part on either side [mm]."""
FRONT_BEYOND_MM = 5.0
"""How far the handle front line runs past the part [mm]."""

_FRONT_MORE_MM = (0.0, 3.0, 6.0, 9.0)
"""And how much further, where a guide runs through its name [mm]."""
CROSS_BEYOND_MM = 3.0
"""How far a centre cross runs past its hole, at least [mm]."""
CROSS_LEAST_MM = 6.2
"""Least half length of a centre cross [mm]: half a long dash, a dot, and a tail that is not taken for one."""
_AIR_MM = 1.2
# Least white between a label and the part or another label: half the height of its capitals.
_LABEL_LENGTH = 60
# Longest label in characters; about 130 mm of 2.5 mm lettering.

_BLOCKED = 1000.0
_ON_LINE = 12.0
_OVER_EXTENSION = 4.0
_OVER_LEADER = 40.0
# Costs in mm: a text goes rather 12 mm further away than on a line, a leader rather 4 mm than across an
# extension line and 40 mm than across another leader or a text; onto something solid only as the last way.


def note(label: str) -> str:
    """Return a label as it is written on the drawing: one safe line of limited length."""
    return lettering.clean(label, _LABEL_LENGTH)


@dataclass(frozen=True)
class Obstacles:
    """What the labels must keep off: points along the outlines, the part itself, lines still to come.

    Args:
        points: (n, 2) points on the outlines, no further apart than a text is high [mm].
        polygon: (m, 2) corners of the outermost outline, flattened [mm].
        coming: Lines that will be drawn later, such as extension lines.
    """

    points: Array
    polygon: Array
    coming: tuple[Segment, ...]

    def holds_part(self, box: Box) -> bool:
        """Whether a box touches an outline or lies inside the part."""
        x, y = self.points[:, 0], self.points[:, 1]
        if bool(((x > box.x0) & (x < box.x1) & (y > box.y0) & (y < box.y1)).any()):
            return True
        return self.inside((box.x0 + box.x1) / 2, (box.y0 + box.y1) / 2)

    def inside(self, x: float, y: float) -> bool:
        """Whether a point lies in the part, by counting the sides above it."""
        return int((self._heights(x) > y).sum()) % 2 == 1

    def span_at(self, x: float) -> tuple[float, float] | None:
        """Return the least and greatest y of the part at an x [mm], or None beside it."""
        heights = self._heights(x)
        return (float(heights.min()), float(heights.max())) if len(heights) else None

    @cached_property
    def _next(self) -> Array:
        return np.roll(self.polygon, -1, axis=0)

    def _heights(self, x: float) -> Array:
        a, b = self.polygon, self._next
        hit = (a[:, 0] > x) != (b[:, 0] > x)
        a, b = a[hit], b[hit]
        heights: Array = a[:, 1] + (b[:, 1] - a[:, 1]) * (x - a[:, 0]) / (b[:, 0] - a[:, 0])
        return heights


def obstacles_of(shown: PartDrawing) -> Obstacles:
    """Return what the labels of a plate must keep off."""
    outlines = [shown.finished] + ([shown.cut] if shown.cut is not None else [])
    step = max(1.0, sum(outline.perimeter_mm for outline in outlines) / 4000)
    points = np.concatenate([outline.sampled(step)[0] for outline in outlines])
    if shown.guide is not None:
        points = np.concatenate([points, shown.guide.sampled(step)[0]])
    for chain in shown.thin:
        points = np.concatenate([points, along(chain, step)])
    x0, y0, x1, y1 = outlines[-1].bounds_mm
    coming = []
    for m in shown.measures:
        for x, y in (m.start, m.end):
            if m.axis == "x":
                coming.append(Segment((x, y), (x, y0 - 99 if m.row > 0 else y1 + 99), NARROW))
            elif m.axis == "y":
                coming.append(Segment((x, y), (x1 + 99 if m.row > 0 else x0 - 99, y), NARROW))
    return Obstacles(points, outlines[-1].flattened(0.05), tuple(coming))


def along(chain: Chain, step_mm: float) -> Array:
    """Return points along a chain, no further apart than a step [mm]."""
    corners = chain.flattened(0.05)
    length = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(corners, axis=0).T))])
    at = np.linspace(0.0, length[-1], int(length[-1] / step_mm) + 2)
    return np.column_stack([np.interp(at, length, corners[:, 0]), np.interp(at, length, corners[:, 1])])


@dataclass(frozen=True)
class _Place:
    """A place for a label: its text, the lines that lead to it, and how far it is away [mm]."""

    text: Text
    lines: tuple[Segment, ...]
    away_mm: float


class _Room:
    """What stands on a drawing already, as a label meets it."""

    def __init__(self, marks: Marks, obstacles: Obstacles) -> None:
        self.obstacles, self.solid = obstacles, marks.solid
        self.lines = [(*line.ends, line) for line in (*obstacles.coming, *marks.segments)]
        self.texts = [text.box.grown(_AIR_MM) for text in marks.texts]
        self.narrow = [line for line in marks.segments if line.line is NARROW]

    def cost(self, place: _Place, enough: float) -> float:
        """Return what a place costs [mm]; any figure above enough once it costs more than that."""
        box = place.text.box.grown(_AIR_MM)
        cost = place.away_mm + _BLOCKED * sum(box.meets(other) for other in self.solid)
        if cost > enough:
            return cost
        cost += _ON_LINE * self._lines_in(box)
        for line in place.lines:
            if cost > enough:
                return cost
            cost += _OVER_LEADER * sum(line.share_inside(text) is not None for text in self.texts)
            cost += _OVER_EXTENSION * sum(_cross(line, other) for other in self.obstacles.coming)
            cost += _OVER_LEADER * sum(_cross(line, other) for other in self.narrow)
        if cost < _BLOCKED and self.obstacles.holds_part(box):
            cost += 2 * _BLOCKED
        return cost

    def _lines_in(self, box: Box) -> int:
        """Return how many lines run through a box."""
        left, low, right, high = box.x0, box.y0, box.x1, box.y1
        near = [line for x0, y0, x1, y1, line in self.lines if x1 > left and x0 < right and y1 > low and y0 < high]
        return sum(line.share_inside(box) is not None for line in near)


def _cross(one: Segment, two: Segment) -> bool:
    return _parts(one, two) and _parts(two, one)


def _parts(one: Segment, two: Segment) -> bool:
    """Whether the ends of the second lie on both sides of the first, drawn on without end."""
    (ax, ay), (bx, by), (px, py), (qx, qy) = one.a, one.b, two.a, two.b
    dx, dy = bx - ax, by - ay
    return (dx * (py - ay) - dy * (px - ax)) * (dx * (qy - ay) - dy * (qx - ax)) < 0


def _best(places: Iterable[_Place], marks: Marks, obstacles: Obstacles) -> _Place:
    """Return the cheapest of places, nearest first: the search ends once nothing nearer can be better."""
    room = _Room(marks, obstacles)
    best: tuple[float, _Place] | None = None
    for place in places:
        if best is not None and place.away_mm >= best[0]:
            break
        cost = round(room.cost(place, math.inf if best is None else best[0] + 1e-6), 6)
        if best is None or cost < best[0]:
            best = (cost, place)
    assert best is not None  # every label has at least one place to be looked at
    return best[1]


def _nearest_first(places: Iterable[_Place]) -> list[_Place]:
    return sorted(places, key=lambda p: p.away_mm)


def draw_board_line(marks: Marks, obstacles: Obstacles, part: Box) -> None:
    """Draw the board line past both ends of the part, and its name where there is room along it."""
    a, b = (part.x0 - BOARD_BEYOND_MM, 0.0), (part.x1 + BOARD_BEYOND_MM, 0.0)
    name = "board line"
    below = -TEXT_GAP_MM - lettering.NOTE_MM
    starts = [(float(x), 0.05 * (float(x) - part.x0)) for x in np.arange(part.x0, part.x1, 5.0)]
    places = [
        _Place(Text(x, y, name, lettering.NOTE_MM, "start"), (), away)
        for x, away in [*starts, (part.x1 + 3.0, 30.0)]
        for y in (TEXT_GAP_MM, below)
    ]
    best = _best(_nearest_first(places), marks, obstacles)
    end = max(b[0], best.text.box.x1)
    marks.add(Segment(a, (end, 0.0), OTHER), best.text)


def draw_front(marks: Marks, obstacles: Obstacles, x_mm: float) -> None:
    """Draw the line at the front of the handle across the part, and its name at one end of it."""
    span = obstacles.span_at(x_mm)
    if span is None:
        return
    low, high = span[0] - FRONT_BEYOND_MM, span[1] + FRONT_BEYOND_MM
    name, h = "handle front", lettering.NOTE_MM
    places, spans = [], {}
    for more in _FRONT_MORE_MM:
        for x, anchor, away in ((x_mm + 1.5, "start", 0.0), (x_mm - 1.5, "end", 0.1), (x_mm, "middle", 0.2)):
            lift = 1.0 if anchor == "middle" else 0.8 - h
            above = _Place(Text(x, high + more + lift, name, h, anchor), (), away + more)
            below = _Place(Text(x, low - more - lift - h, name, h, anchor), (), away + 1.0 + more)
            spans[above.text], spans[below.text] = (low, high + more), (low - more, high)
            places += [above, below]
    best = _best(_nearest_first(places), marks, obstacles)
    low, high = spans[best.text]
    marks.add(Segment((x_mm, low), (x_mm, high), CENTRE), best.text)


def draw_hole(marks: Marks, hole: HoleMark, line: Ring) -> None:
    """Draw a hole at true size with its centre cross."""
    reach = max(hole.diameter_mm / 2 + CROSS_BEYOND_MM, CROSS_LEAST_MM)
    x, y = hole.x_mm, hole.y_mm
    marks.add(line, Segment((x - reach, y), (x + reach, y), CENTRE), Segment((x, y - reach), (x, y + reach), CENTRE))


def draw_hole_labels(marks: Marks, obstacles: Obstacles, holes: tuple[HoleMark, ...]) -> None:
    """Write the label of each hole beside the part, with a leader that ends on the hole's edge."""
    written = set()
    for hole in holes:
        words = note(hole.label)
        if not words or words in written:
            continue
        written.add(words)
        centre, r = (hole.x_mm, hole.y_mm), hole.diameter_mm / 2
        rays = [(centre, _unit(angle), r, abs(abs(angle) - 60) * 0.1) for angle in _HOLE_ANGLES_DEG]
        _lead(marks, obstacles, words, rays)


_HOLE_ANGLES_DEG = (60, 120, -60, -120, 70, 110, -70, -110, 50, 130, -50, -130, 38, 142, -38, -142)


def draw_radius(marks: Marks, obstacles: Obstacles, measure: DimensionLine) -> None:
    """Write a radius with a leader that ends on the arc, in line with the centre where there is room."""
    (cx, cy), (x, y) = measure.start, measure.end
    out = math.degrees(math.atan2(y - cy, x - cx))
    rays = [
        ((x, y), _unit(base + turn), 0.0, abs(turn) * 0.5)
        for turn in (0, 12, -12, 25, -25, 40, -40)
        for base in (out, out + 180)
    ]
    _lead(marks, obstacles, note(measure.label), rays)


def _lead(marks: Marks, obstacles: Obstacles, words: str, rays: list[tuple[Point, Point, float, float]]) -> None:
    """Add the best leader along one of the rays (from, direction, distance of the arrow's tip, cost)."""

    def places() -> Iterator[_Place]:
        reaches = [float(reach) for reach in np.arange(7.0, 90.0, 2.0)]
        far = [(reach + ray[3], reach, ray) for ray in rays for reach in reaches]
        for away, reach, (start, along, tip_mm, _) in sorted(far, key=lambda one: one[0]):
            tip = _ahead(start, along, tip_mm)
            yield _leader_place(words, tip, _ahead(tip, along, reach), along, away)

    best = _best(places(), marks, obstacles)
    a, b = best.lines[0].a, best.lines[0].b
    length = math.dist(a, b)
    marks.add(*best.lines, best.text, _arrow((a[0] - b[0], a[1] - b[1]), a, length))


def _leader_place(words: str, tip: Point, elbow: Point, along: Point, away_mm: float) -> _Place:
    """A leader from the tip to an elbow and a shelf under the words, toward the side it leans to."""
    side = 1.0 if along[0] >= 0 else -1.0
    x = elbow[0] + side
    text = Text(x, elbow[1] + TEXT_GAP_MM, words, lettering.NOTE_MM, "start" if side > 0 else "end")
    far = text.box.x1 if side > 0 else text.box.x0
    return _Place(text, (Segment(tip, elbow, NARROW), Segment(elbow, (far, elbow[1]), NARROW)), away_mm)


def _arrow(d: Point, tip: Point, length: float) -> Mark:
    return Arrow(tip, (d[0] / length, d[1] / length))


def _unit(angle_deg: float) -> Point:
    return (math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg)))


def _ahead(p: Point, along: Point, by_mm: float) -> Point:
    return (p[0] + along[0] * by_mm, p[1] + along[1] * by_mm)
