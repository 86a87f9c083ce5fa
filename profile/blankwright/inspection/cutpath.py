"""Is a file the path of a cutter's middle? Every cut an open line, with its way in and out, bridges between them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from blankwright.base.arrays import Place
from blankwright.base.finding import Finding, finding
from blankwright.base.frozen import dataclass
from blankwright.base.said import said
from blankwright.proof.chains import JOINED_MM, Strand
from blankwright.proof.distance import pieces_of
from blankwright.proof.findings import length

MOST_BRIDGE_MM = 40.0
"""Cuts further apart than this are no two sides of a bridge."""


@dataclass(frozen=True, eq=False)
class CutPath:
    """What the cuts of a path go round.

    Args:
        strands: Closed contours, bridges closed by a straight step; ways in and out left out.
        cuts: How many cuts there are.
        bridges_mm: Distance between the cuts at each bridge [mm].
        length_mm: Length of all cuts with their ways in and out [mm].
        at_mm: Where the first cut begins [mm].
    """

    strands: tuple[Strand, ...]
    cuts: int
    bridges_mm: tuple[float, ...]
    length_mm: float
    at_mm: Place

    @property
    def finding(self) -> Finding:
        """Say what the file is taken for."""
        line = said(
            "The path of a cutter's middle, not the outline of a part: every one of its "
            f"{self.cuts} cuts is open, with a way in and a way out"
        )
        if self.bridges_mm:
            line = line.then(f"; bridges: {len(self.bridges_mm)}, the cuts {{}} apart", length(min(self.bridges_mm), 2))
        line = line.then(". Sizes, holes and walls are told of the path, half a slot from the part: do not compensate.")
        return finding("PATH", line, self.at_mm, "warning")


def path_in(strands: Sequence[Strand]) -> CutPath | None:
    """Return the path that line work is; None when it is none.

    Every strand is open and has a way in, a cut and a way out. The cuts come back to where they began, alone or one
    after the other in the order of the file.
    """
    if not strands or any(s.closed or s.circle is not None or len(s.vertices) < 4 for s in strands):
        return None
    closed: list[Strand] = []
    bridges: list[float] = []
    rows: list[np.ndarray] = []
    for s in strands:
        cut = s.vertices[1:-1].copy()
        cut[-1, 2] = 0.0
        if rows:
            gap = math.dist(rows[-1][-1, :2], cut[0, :2])
            if not JOINED_MM < gap <= MOST_BRIDGE_MM:
                return None
            bridges.append(gap)
        rows.append(cut)
        if math.dist(rows[0][0, :2], cut[-1, :2]) <= JOINED_MM:
            closed.append(replace(s, vertices=np.vstack(rows)[:-1], closed=True))
            rows = []
    if rows:
        return None
    x, y = strands[0].vertices[0, :2]
    long = sum(float(pieces_of(s.vertices, closed=False).length.sum()) for s in strands)
    return CutPath(tuple(closed), len(strands), tuple(bridges), long, (float(x), float(y)))
