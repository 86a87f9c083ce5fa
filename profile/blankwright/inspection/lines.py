"""What of a drawing is to be cut? Its line work in mm, curves followed by arcs, and what is left aside and why."""

from __future__ import annotations

import re
from dataclasses import dataclass

import numpy as np

from blankwright.base.arrays import Array, Place
from blankwright.base.errors import GeometryError
from blankwright.inspection import curves
from blankwright.inspection.entities import DxfDrawing
from blankwright.inspection.shapes import Item
from blankwright.proof import distance
from blankwright.proof.chains import JOINED_MM, Strand

FOLLOW_MM = 0.005
"""Splines and ellipses are followed by arcs within this: as the tool's own outlines are."""

ASIDE = re.compile(
    r"(?:^|[^A-Z])(FINISHED|GRIND|NOTES?|TEXTS?|DIMS?|DIMENSIONS?|DEFPOINTS|CONSTR(UCTION)?|CENT(ER|RE)(LINES?)?|"
    r"AX[EI]S|HIDDEN|HELP|HELPERS?|REF(ERENCE)?S?|GUIDES?|SKETCH(ES)?|BORDER|FRAME|TITLE|LAYOUT)(?:$|[^A-Z])"
)
"""Names by which layers that are not to be cut are usually called (common practice)."""


@dataclass(frozen=True)
class Tiny:
    """A piece that is too short to be cut."""

    length_mm: float
    at_mm: Place
    kind: str
    line: int


@dataclass(frozen=True)
class Followed:
    """A spline or ellipse, and how near arcs came to it.

    Args:
        item: The entity.
        deviation_mm: Largest distance [mm]; None when it could not be followed.
        why: Why it could not be followed, a clause.
    """

    item: Item
    deviation_mm: float | None
    why: str


@dataclass(frozen=True, eq=False)
class Lines:
    """The line work of a drawing.

    Args:
        unit_mm: Millimetres in a file unit that were reckoned with.
        strands: What is to be cut, pieces of no length left out.
        shortest: All pieces shorter than `findings.SHORT_MM`, the ones of no length among them.
        followed: Splines and ellipses among what is to be cut.
        aside: Line work on layers that are not to be cut.
        hidden: Line work on layers that are switched off or frozen, or invisible by itself.
        paper: What stands on paper layouts.
        layers: The layers that are to be cut.
    """

    unit_mm: float
    strands: tuple[Strand, ...]
    shortest: tuple[Tiny, ...]
    followed: tuple[Followed, ...]
    aside: tuple[Item, ...]
    hidden: tuple[Item, ...]
    paper: tuple[Item, ...]
    layers: tuple[str, ...]

    def place(self, item: Item) -> Place | None:
        """Return where an entity is [mm]."""
        return None if item.at is None else (item.at[0] * self.unit_mm, item.at[1] * self.unit_mm)


def lines_of(drawing: DxfDrawing, short_mm: float) -> Lines:
    """Choose and convert the line work of a drawing.

    Args:
        drawing: The drawing as read.
        short_mm: Pieces below this length are listed [mm].
    """
    unit_mm = drawing.unit_mm or 1.0
    drawn = [i for i in drawing.items if i.line_work and not i.on_paper]
    paper = [i for i in drawing.items if i.on_paper]
    shown = [i for i in drawn if i.layer.upper() not in drawing.hidden and not i.invisible]
    if not any(not ASIDE.search(i.layer.upper()) for i in shown):
        shown = drawn  # nothing else to look at: then what is hidden is looked at
    names = {i.layer.upper() for i in shown}
    cut = {"CUT"} if "CUT" in names else {n for n in names if not ASIDE.search(n)} or names
    strands: list[Strand] = []
    tiny: list[Tiny] = []
    followed: list[Followed] = []
    for item in shown:
        if item.layer.upper() in cut:
            _add(item, unit_mm, short_mm, strands, tiny, followed)
    broken = [i for i in drawing.items if i.kind in {"SPLINE", "ELLIPSE"} and not i.line_work and i.spoiled]
    followed += [Followed(item, None, item.trouble) for item in broken if not item.on_paper]
    shown_ids = set(map(id, shown))
    return Lines(
        unit_mm=unit_mm,
        strands=tuple(strands),
        shortest=tuple(tiny),
        followed=tuple(followed),
        aside=tuple(i for i in shown if i.layer.upper() not in cut),
        hidden=tuple(i for i in drawn if id(i) not in shown_ids or i.layer.upper() in drawing.hidden or i.invisible),
        paper=tuple(paper),
        layers=tuple(sorted(cut)),
    )


def _add(
    item: Item, unit_mm: float, short_mm: float, strands: list[Strand], tiny: list[Tiny], followed: list[Followed]
) -> None:
    """Add one entity's line work in mm."""
    if item.curve is not None:
        chain, closed = _follow(item, unit_mm, followed), item.closed
    else:
        chain, closed = np.asarray(item.chain) * np.array([unit_mm, unit_mm, 1.0]), item.closed
        if item.trouble:
            followed.append(Followed(item, None, item.trouble))
    if chain is None or not np.isfinite(chain).all():
        return
    if closed and len(chain) > 2 and np.hypot(*(chain[0, :2] - chain[-1, :2])) <= 1e-9 and item.curve is not None:
        chain = chain[:-1]
    pieces = distance.pieces_of(chain, closed)
    short = np.flatnonzero(pieces.length < short_mm)
    tiny += [Tiny(float(pieces.length[k]), _pair(pieces.start[k]), item.kind, item.line) for k in short]
    keep = pieces.length > JOINED_MM
    rows = chain[keep] if closed else np.concatenate([chain[:-1][keep], chain[-1:]])
    if len(rows) < 2:
        return
    if not closed:
        rows = rows.copy()
        rows[-1, 2] = 0.0
    circle = item.circle and (item.circle[0] * unit_mm, item.circle[1] * unit_mm, item.circle[2] * unit_mm)
    strands.append(Strand(item.kind, item.layer, item.line, rows, closed, circle))


def _follow(item: Item, unit_mm: float, followed: list[Followed]) -> Array | None:
    assert item.curve is not None
    try:
        chain, deviation = curves.to_arcs(item.curve.moved(unit_mm * np.eye(2), np.zeros(2)), FOLLOW_MM)
    except GeometryError as error:
        followed.append(Followed(item, None, str(error)))
        return None
    followed.append(Followed(item, deviation, ""))
    return chain


def _pair(row: Array) -> Place:
    return float(row[0]), float(row[1])
