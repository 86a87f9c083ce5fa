"""What stands in a drawing, whatever file it came from: entities, the blocks they come from, and the file's own words.

Coordinates stay in the unit of the file. What cannot be cut as it stands keeps its name and place; nothing is dropped.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import field, replace
from typing import Any, Literal

import numpy as np

from blankwright.base.arrays import Array, Place
from blankwright.base.frozen import dataclass
from blankwright.inspection import curves
from blankwright.inspection.budget import Budget
from blankwright.inspection.curves import Curve
from blankwright.proof import distance
from blankwright.proof.reader import MM_PER_UNIT

SOLIDS = {"3DFACE", "3DSOLID", "BODY", "REGION", "MESH", "SURFACE", "EXTRUDEDSURFACE", "LOFTEDSURFACE",
          "REVOLVEDSURFACE", "SWEPTSURFACE", "PLANESURFACE", "NURBSURFACE", "POLYFACE", "HELIX"}  # fmt: skip
WRITING = {"TEXT", "MTEXT", "ATTRIB", "ATTDEF", "DIMENSION", "LEADER", "MULTILEADER", "MLEADER", "TOLERANCE",
           "ACAD_TABLE", "ARC_DIMENSION", "LARGE_RADIAL_DIMENSION", "RTEXT", "ARCALIGNEDTEXT"}  # fmt: skip
FILLED = {"HATCH", "MPOLYGON", "SOLID", "TRACE", "WIPEOUT"}
ENDLESS = {"XLINE", "RAY"}
UNSEEN = {"VIEWPORT", "SEQEND", "ENDBLK", "SUN", "LIGHT", "CAMERA"}
"""Entities by what they mean for a cutter."""


@dataclass(frozen=True, eq=False)
class Insert:
    """A block that is placed: its name, and the map from the block's plane to the drawing's.

    Args:
        name: The block.
        matrix: (2, 2) of the map.
        shift: (2,) of the map.
        counts: Columns and rows of copies.
        steps: (2, 2) from column to column and from row to row.
    """

    name: str
    matrix: Array
    shift: Array
    counts: tuple[int, int]
    steps: Array

    def mapped(self, matrix: Array, shift: Array) -> Insert:
        """Return the block as it is placed when its place is mapped itself."""
        return Insert(self.name, matrix @ self.matrix, matrix @ self.shift + shift, self.counts, self.steps @ matrix.T)

    def shifts(self) -> Iterator[Array]:
        """Yield the shift of each copy."""
        for row in range(self.counts[1]):
            for column in range(self.counts[0]):
                yield self.shift + column * self.steps[0] + row * self.steps[1]


@dataclass(frozen=True, eq=False)
class Item:
    """One entity.

    Args:
        kind: Entity type, such as "LINE".
        layer: Name as in the file, printable.
        line: Line number of the entity in the file.
        at: A place on it [file units], None when it has none.
        chain: (n, 3) x, y and bulge [file units]; None when it is no line work, or a curve.
        closed: Whether the chain runs back to its start.
        circle: Centre x, y and diameter of a full circle [file units].
        curve: A spline or ellipse.
        insert: The block it places.
        in_block: Name of the block that it came from, "" for none.
        on_paper: It stands on a paper layout.
        invisible: It is switched off by itself (group code 60).
        heights: Least and greatest z [file units].
        tilted: Its plane does not lie in the drawing's.
        below: It is drawn from below (extrusion 0, 0, -1); the chain is as seen from above.
        trouble: Why it cannot be cut as it stands, a clause; "" when it can.
        spoiled: Its numbers can be read but make no curve.
        filled: It is drawn as an area without a line.
        loop: Number of the subpath that it is a part of, where several entities make one; 0 for none.
        wide: Width that its line is drawn in [file units].
        colour: Index of its own colour, or #rrggbb; "" for its layer's, "0" for its block's.
    """

    kind: str
    layer: str
    line: int
    at: Place | None = None
    chain: Array | None = None
    closed: bool = False
    circle: tuple[float, float, float] | None = None
    curve: Curve | None = None
    insert: Insert | None = None
    in_block: str = ""
    on_paper: bool = False
    invisible: bool = False
    heights: tuple[float, float] = (0.0, 0.0)
    tilted: bool = False
    below: bool = False
    trouble: str = ""
    spoiled: bool = False
    filled: bool = False
    loop: int = 0
    wide: float = 0.0
    colour: str = ""

    @property
    def line_work(self) -> bool:
        """Whether it is something that a cutter could follow."""
        return self.chain is not None or self.curve is not None


def printable(text: str) -> str:
    """Return a name from a file so that it can be shown: no control characters, not endless."""
    shown = "".join(c if c.isprintable() else "?" for c in text[:41])
    return f"{shown[:40]}..." if len(text) > 40 else shown


@dataclass(frozen=True)
class Drawing:
    """A drawing as read.

    Args:
        name: File name for messages.
        release: $ACADVER, such as "AC1015", or None.
        insunits: $INSUNITS, or None.
        name_unit_mm: Millimetres in the unit that the file's name ends with, for the release that cannot name one.
        measurement: $MEASUREMENT, or None.
        extents: Least x, least y, greatest x, greatest y from the header [file units]; None when there are none.
        extents_unset: The header has extents, but at plus and minus 1e20.
        layers: Declared layer names in capitals.
        colours: Layer in capitals -> its colour, an index or #rrggbb.
        hidden: Those that are switched off or frozen.
        items: Everything drawn; blocks are placed, and also listed as INSERT.
        faults: What is wrong with the file itself, one sentence each.
        idle_blocks: Blocks with line work that nothing places.
        design: Code of the design that the file says it was made from, as the tool's own files do; or None.
        budget: What is left of the work that the file may take.
        form: "DXF" or "SVG"; what is read from an SVG is in mm.
        unit_words: The unit of an SVG as the file has it.
        unit_doubt: Why that is unsure, a sentence; "" when it is not.
        refused: What careful readers refuse the file for, though all of it was read, a sentence each.
        remarks: What else is to be said of an SVG's shapes, a clause each.
    """

    name: str
    release: str | None
    insunits: int | None
    name_unit_mm: float | None
    measurement: int | None
    extents: tuple[float, float, float, float] | None
    extents_unset: bool
    layers: tuple[str, ...]
    colours: Mapping[str, str]
    hidden: tuple[str, ...]
    items: tuple[Item, ...]
    faults: tuple[str, ...]
    idle_blocks: tuple[str, ...]
    design: str | None = None
    budget: Budget = field(default_factory=Budget, compare=False)
    form: Literal["DXF", "SVG"] = "DXF"
    unit_words: str = ""
    unit_doubt: str = ""
    refused: tuple[str, ...] = ()
    remarks: tuple[str, ...] = ()

    @property
    def unit_mm(self) -> float | None:
        """Millimetres in one file unit, None when the file names no unit that is known."""
        return self.name_unit_mm if self.insunits is None else MM_PER_UNIT.get(self.insunits)

    @property
    def unit_named(self) -> bool:
        """Whether the file says for sure in which unit it is."""
        return self.unit_mm is not None and not self.unit_doubt

    def colour_of(self, item: Item) -> str:
        """Return the colour that an entity is drawn in; "" where the file tells none."""
        return item.colour if item.colour not in {"", "0"} else self.colours.get(item.layer.upper(), "")

    def hides(self, item: Item) -> bool:
        """Whether an entity is invisible, or its layer is switched off or frozen."""
        return item.invisible or item.layer.upper() in self.hidden


def circle_chain(x: float, y: float, radius_mm: float) -> Array:
    """Return a full circle as two half circles, counter-clockwise."""
    return np.array([[x + radius_mm, y, 1.0], [x - radius_mm, y, 1.0]])


def placed(item: Item, matrix: Array, shift: Array, insert: Item) -> Item:
    """Return an entity of a block as it stands in the drawing.

    Args:
        item: The entity in the block's plane.
        matrix: (2, 2) of the block's placing.
        shift: (2,) of the block's placing.
        insert: The entity that places the block.
    """
    changes: dict[str, Any] = {
        "layer": insert.layer if item.layer == "0" else item.layer,
        "colour": insert.colour if item.colour == "0" else item.colour,
        "in_block": insert.in_block or (insert.insert.name if insert.insert is not None else "") or "?",
        "on_paper": item.on_paper or insert.on_paper,
        "invisible": item.invisible or insert.invisible,
        "tilted": item.tilted or insert.tilted,
        "below": item.below != insert.below,
        "heights": (item.heights[0] + insert.heights[0], item.heights[1] + insert.heights[0]),
    }
    return replace(item, **(changes | _course(item, matrix, shift)))


def mapped(item: Item, matrix: Array, shift: Array) -> Item:
    """Return an entity's line work under x -> matrix x + shift; circles that become ellipses are curves."""
    return replace(item, **_course(item, matrix, shift))


def _course(item: Item, matrix: Array, shift: Array) -> dict[str, Any]:
    """Return what of an entity changes when its line work is mapped."""
    out: dict[str, Any] = {}
    if item.at is not None:
        x, y = (matrix @ np.array(item.at) + shift).tolist()
        out["at"] = (x, y)
    if item.curve is not None:
        return out | {"curve": item.curve.moved(matrix, shift)}
    if item.chain is None:
        return out
    (a, b), (c, d) = matrix.tolist()
    wide, high = math.hypot(a, c), math.hypot(b, d)
    reach = max(wide, high)
    similar = abs(wide - high) <= 1e-9 * reach and abs(a * b + c * d) <= 1e-9 * reach**2
    if not similar and item.chain[:, 2].any():
        curve = curves.of_chain(item.chain, item.closed).moved(matrix, shift)
        kind = "ELLIPSE" if item.kind.isupper() else item.kind
        return out | {"kind": kind, "chain": None, "circle": None, "curve": curve}
    chain = item.chain.copy()
    chain[:, :2] = item.chain[:, :2] @ matrix.T + shift
    if a * d - b * c < 0:
        chain[:, 2] *= -1.0
    out["chain"] = chain
    if item.circle is not None:
        x, y = (matrix @ np.array(item.circle[:2]) + shift).tolist()
        out["circle"] = (x, y, item.circle[2] * wide)
    return out


def reach(item: Item) -> tuple[Array, Array] | None:
    """Return the corners of the least box around line work or a point [file units], None for anything else."""
    if item.chain is not None:
        low, high = distance.boxes(distance.pieces_of(item.chain, item.closed))
        return low.min(axis=0), high.max(axis=0)
    if item.curve is not None:
        count = 64
        span = np.repeat(np.arange(len(item.curve.coefs)), count)
        p = item.curve.at(span, np.tile(np.linspace(0, 1, count), len(item.curve.coefs)))
        return p.min(axis=0), p.max(axis=0)
    if item.kind == "POINT" and item.at is not None:
        return np.array(item.at), np.array(item.at)
    return None
