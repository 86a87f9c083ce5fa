"""Setting words beside places on a page: where nothing is hidden, with a leader when they cannot stand close."""

from __future__ import annotations

import math
from collections.abc import Sequence

from blankwright.base.arrays import Array
from blankwright.ink import lettering
from blankwright.ink.marks import NARROW, Box, Marks, Segment, Text
from blankwright.template.scene import Label

_AIR_MM = 1.0
_RADII_MM = (3.0, 5.0, 8.0, 12.0, 16.0, 21.0, 27.0, 34.0, 42.0)
_DIRECTIONS = 16
_AT_HOLES = (*range(2, _DIRECTIONS), 0, 1)
"""At a hole the level ways come last: there a leader would lie on the hole's centre line."""
_CLOSE_MM = 6.0
"""Words further away than this get a leader."""
_CLOSE_HOLE_MM = 3.0
"""Words at a hole, further away than this: several holes stand near each other, and each is to be told by its own."""


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
    solid = marks.solid
    words = lettering.clean(label.text, 90)
    for away in _RADII_MM[1:] if label.clear_mm else _RADII_MM:
        radius = away + label.clear_mm
        for step in _AT_HOLES if label.clear_mm else range(_DIRECTIONS):
            # alternate up and down from the level, right side first: words read best beside their place
            turn = (step // 2 + 1) // 2 * (1 if step // 2 % 2 else -1) * (2 * math.pi / _DIRECTIONS)
            angle = turn if step % 2 == 0 else math.pi - turn
            text, leader = _candidate(label, radius, angle, words, height_mm)
            box = text.box.grown(_AIR_MM)
            inside = window.x0 <= box.x0 and box.x1 <= window.x1 and window.y0 <= box.y0 and box.y1 <= window.y1
            if not inside or any(box.meets(other) for other in solid) or _hides(box, ink):
                continue
            if any(s.share_inside(box) is not None for s in marks.segments):
                continue
            if leader is not None and any(leader.share_inside(t.box) is not None for t in marks.texts):
                continue
            marks.add(text)
            if leader is not None:
                marks.add(leader)
            return True
    return False


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
