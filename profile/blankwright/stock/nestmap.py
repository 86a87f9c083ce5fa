"""The map to chalk blanks on real steel by: for each blank places and how far they lie from two edges of the piece."""

from __future__ import annotations

import numpy as np

from blankwright.base.arrays import Place
from blankwright.base.frozen import dataclass
from blankwright.stock.blank import Blank
from blankwright.stock.layout import Laid, Layout, Sheet

_FLAT_MM = 0.01


@dataclass(frozen=True)
class Mark:
    """A place of a blank on its piece.

    Args:
        name: Which: tip, butt, heel; left and right end of a plain outline.
        from_left_mm: How far it is from the left edge, along the piece [mm].
        from_below_mm: How far it is from the lower edge, across [mm].
    """

    name: str
    from_left_mm: float
    from_below_mm: float


@dataclass(frozen=True)
class Row:
    """A blank in the map.

    Args:
        number: Its number on the piece, in the order of cutting.
        name: What it is called.
        laid: How it lies.
        marks: Its places.
    """

    number: int
    name: str
    laid: Laid
    marks: tuple[Mark, ...]

    @property
    def turn_deg(self) -> float:
        """How it is turned, above -180 to 180 [degrees]."""
        turn = round(self.laid.pose.turn_deg, 2)
        return 180.0 if turn == -180.0 else turn + 0.0

    @property
    def side(self) -> str:
        """Which side lies up."""
        return "turned over" if self.laid.pose.flipped else "as drawn"


def chalk_map(layout: Layout, sheet: Sheet) -> list[Row]:
    """Return the map of a piece, in the order of its blanks; edges are those of the box around it."""
    piece = layout.job.pieces[sheet.piece]
    x0, y0 = piece.outline.bounds_mm[:2]
    rows = []
    for number, one in enumerate(sheet.laid, start=1):
        blank = layout.job.blanks[one.blank]
        marks = tuple(
            Mark(name, float(x - x0), float(y - y0))
            for name, (x, y) in ((name, one.pose.points(np.array([at]))[0]) for name, at in places(blank))
        )
        rows.append(Row(number, blank.name, one, marks))
    return rows


def places(blank: Blank) -> list[tuple[str, Place]]:
    """Return the places that a blank is chalked by, in the design's coordinates [mm]."""
    points = blank.outline.flattened(_FLAT_MM)
    right, left = points[points[:, 0].argmax()], points[points[:, 0].argmin()]
    ends: list[tuple[str, Place]] = [
        ("tip" if blank.knife is not None else "right end", (float(right[0]), float(right[1]))),
        ("butt" if blank.knife is not None else "left end", (float(left[0]), float(left[1]))),
    ]
    if blank.knife is None:
        low = points[points[:, 1].argmin()]
        return [*ends, ("lowest", (float(low[0]), float(low[1])))]
    return [*ends, ("heel", (0.0, 0.0))]
