"""The arrow that shows how the grain of a piece runs, in every picture of a piece the same."""

from __future__ import annotations

import math

from blankwright.base.arrays import Place
from blankwright.ink.marks import NARROW, Arrow, Marks, Segment, Text


def grain_mark(marks: Marks, grain_deg: float, at: Place, long_mm: float, height_mm: float) -> None:
    """Draw an arrow with two heads along the grain, and its name beside it.

    Args:
        marks: To draw into, turned as the piece lies.
        grain_deg: Direction of the grain, counter-clockwise from the piece's length [degrees].
        at: Its middle [mm].
        long_mm: How long it is [mm].
        height_mm: Of the lettering [mm].
    """
    c, s = math.cos(math.radians(grain_deg)), math.sin(math.radians(grain_deg))
    a, b = ((at[0] + k * long_mm * c, at[1] + k * long_mm * s) for k in (-0.5, 0.5))
    marks.add(Segment(a, b, NARROW), Arrow(b, (c, s)), Arrow(a, (-c, -s)))
    marks.add(Text(max(a[0], b[0]) + height_mm, at[1] - height_mm / 2, "grain", height_mm, "start"))
