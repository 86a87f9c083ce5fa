"""Setting words beside places on a page: where nothing is hidden, with a leader when they cannot stand close."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np

from blankwright.base.arrays import Array
from blankwright.ink import lettering
from blankwright.ink.marks import NARROW, Box, Marks, Segment, Text
from blankwright.template.scene import Label

_AIR_MM = 1.0
_RADII_MM = (3.0, 5.0, 8.0, 12.0, 16.0, 21.0, 27.0, 34.0, 42.0)
_DIRECTIONS = 16
_CLOSE_MM = 6.0
"""Words further away than this get a leader."""
_CLOSE_HOLE_MM = 3.0
"""Words at a hole, further away than this: several holes stand near each other, and each is to be told by its own."""
INK_MM = 0.6
"""So far apart are the points that stand for drawn lines: one or two are near a leader that crosses a line."""
_ROUNDING_MM = 1e-9
"""Leaders that are as long in words differ by less in numbers."""
_LINE_MM, _MARK_MM = 4.0, 40.0
"""So much longer a leader may be to cross one line less, or one hole."""


def set_labels(marks: Marks, labels: Sequence[Label], window: Box, ink: Array, height_mm: float) -> list[Label]:
    """Set labels beside their places; return those for which there is no room.

    Args:
        marks: The page's marks; gets the words and leaders.
        labels: Words and places in page coordinates [mm].
        window: What of the page shows the scene.
        ink: (n, 2) points along everything drawn that words must not hide [mm].
        height_mm: Height of a capital [mm].
    """
    return [label for label in labels if not _set(marks, label, window, ink, height_mm)]


def _set(marks: Marks, label: Label, window: Box, ink: Array, height_mm: float) -> bool:
    """Set one label: close to its place, else where its leader is short and crosses little."""
    solid = marks.solid
    (x, y), best, least = label.at, None, math.inf
    others = [box for box in solid if not (box.x0 <= x <= box.x1 and box.y0 <= y <= box.y1)]
    for text, leader in _legal(marks, solid, label, window, ink, height_mm):
        if leader is not None and math.dist(leader.a, leader.b) > least + _ROUNDING_MM:
            break  # so is every other from here on
        cost = 0.0 if leader is None else _cost(leader, others, ink)
        if cost < least:
            best, least = (text, leader), cost
        if leader is None:
            break
    if best is None:
        return False
    marks.add(best[0])
    if best[1] is not None:
        marks.add(best[1])
    return True


def _legal(
    marks: Marks, solid: list[Box], label: Label, window: Box, ink: Array, height_mm: float
) -> Iterator[tuple[Text, Segment | None]]:
    """Yield words, nearest first, that hide nothing, with the leader they need, that goes through no other words."""
    words = lettering.clean(label.text, 90)
    for away in _RADII_MM[1:] if label.clear_mm else _RADII_MM:
        radius = away + label.clear_mm
        for angle in _angles(away, at_hole=label.clear_mm > 0):
            text, leader = _candidate(label, radius, angle, words, height_mm)
            box = text.box.grown(_AIR_MM)
            inside = window.x0 <= box.x0 and box.x1 <= window.x1 and window.y0 <= box.y0 and box.y1 <= window.y1
            if not inside or any(box.meets(other) for other in solid) or _hides(box, ink):
                continue
            if any(s.share_inside(box) is not None for s in marks.segments):
                continue
            if leader is None or all(leader.share_inside(t.box) is None for t in marks.texts):
                yield text, leader


def _angles(away: float, *, at_hole: bool) -> Iterator[float]:
    """Yield directions, up and down from the level in turn, right side first: words read best beside their place."""
    count = _DIRECTIONS if away <= _CLOSE_MM else 2 * _DIRECTIONS  # far away the same angle is a long way
    steps = range(count)
    for step in (*steps[2:], *steps[:2]) if at_hole else steps:  # at a hole a level leader would lie on its centre line
        turn = (step // 2 + 1) // 2 * (1 if step // 2 % 2 else -1) * (2 * math.pi / count)
        yield turn if step % 2 == 0 else math.pi - turn


def _cost(leader: Segment, others: list[Box], ink: Array) -> float:
    """Return how bad a leader is: its length and, in millimetres too, each line and each mark that it crosses [mm].

    Args:
        leader: The leader.
        others: The boxes of marks other than the one it belongs to.
        ink: (n, 2) points along what is drawn [mm].
    """
    (ax, ay), (bx, by) = leader.a, leader.b
    long = math.hypot(bx - ax, by - ay)
    across = np.abs((ink[:, 0] - ax) * (by - ay) - (ink[:, 1] - ay) * (bx - ax)) / long
    along = ((ink[:, 0] - ax) * (bx - ax) + (ink[:, 1] - ay) * (by - ay)) / long
    lines = np.count_nonzero((across < INK_MM / 2) & (along > 0) & (along < long))
    crossed = sum(leader.share_inside(box) is not None for box in others)
    return long + _LINE_MM * lines + _MARK_MM * crossed


def _candidate(label: Label, radius: float, angle: float, words: str, height: float) -> tuple[Text, Segment | None]:
    at = label.at
    x, y = at[0] + radius * math.cos(angle), at[1] + radius * math.sin(angle)
    anchor = "middle" if abs(math.cos(angle)) < 0.3 else ("start" if math.cos(angle) > 0 else "end")
    base = y - height / 2
    if anchor == "middle":
        base = y if math.sin(angle) > 0 else y - height
    text = Text(x, base, words, height, anchor)
    if radius - label.clear_mm <= (_CLOSE_HOLE_MM if label.clear_mm else _CLOSE_MM):
        return text, None
    near = label.clear_mm + 0.6
    a = (at[0] + near * math.cos(angle), at[1] + near * math.sin(angle))
    b = (x - 0.8 * math.cos(angle), y - 0.8 * math.sin(angle))
    return text, Segment(a, b, NARROW)


def _hides(box: Box, ink: Array) -> bool:
    x, y = ink[:, 0], ink[:, 1]
    return bool(((x > box.x0) & (x < box.x1) & (y > box.y0) & (y < box.y1)).any())
