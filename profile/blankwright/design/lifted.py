"""A lifted outline: the shape of a thing that exists, as a text file that a maker can correct by hand.

The file (TOML 1.0) holds one row for each vertex: x, y, the bulge of the piece to the next vertex, and the region of
that piece. Lengths carry their unit. Coordinates are those of every design: origin at the heel, x ahead to the tip, y
up to the spine.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import field
from pathlib import Path
from typing import Annotated, Literal

import numpy as np

from blankwright.base.errors import GeometryError, RequestError
from blankwright.base.fields import Fields, read_toml
from blankwright.base.frozen import dataclass
from blankwright.base.plain import plain_text, quoted
from blankwright.base.readrows import In, TableRow, need, read_row
from blankwright.base.said import exact_mm
from blankwright.base.units import length_mm
from blankwright.design.parts import REGIONS
from blankwright.geometry.distance import crossing_place
from blankwright.geometry.outline import Outline

FORMAT = 1

FARTHEST_MM = 5_000.0
"""No place of a thing that is lifted lies further from its origin than this [mm]."""

MOST_PIECES, MOST_HOLES = 2_000, 200
"""A lifted knife has some 40 pieces; so many still are a file that a hand can correct."""

_Length = Annotated[float, In(-FARTHEST_MM, FARTHEST_MM, "mm", length_mm)]


@dataclass(frozen=True)
class LiftedHole(TableRow):
    """A round hole of the thing.

    Args:
        x_mm: Its middle, ahead of the heel [mm].
        y_mm: Its middle, above the board line [mm].
        diameter_mm: Its diameter [mm].
    """

    x_mm: _Length
    y_mm: _Length
    diameter_mm: Annotated[float, In(0.1, 500, "mm", length_mm)]


@dataclass(frozen=True)
class BudgetRow(TableRow):
    """One part of what a place of the outline may be off.

    Args:
        what: What it is for, a few words.
        mm: How far off: 95 of 100 are nearer [mm].
        lessen: What would lessen it, a sentence; empty where nothing would.
    """

    what: str = field(metadata={"key": "for"})
    mm: Annotated[float, In(0, 1000, "mm", length_mm)]
    lessen: str = ""


@dataclass(frozen=True)
class _Row(TableRow):
    """A vertex as the file has it."""

    x_mm: _Length
    y_mm: _Length
    bulge: Annotated[float, In(-1e3, 1e3)]
    region: Literal["edge", "spine", "heel", "tang", "butt"]


@dataclass(frozen=True)
class _File(TableRow):
    """A lifted outline as the file has it."""

    format: Annotated[int, In(FORMAT, FORMAT)]
    name: str
    source: str
    arcs_within_mm: Annotated[float, In(0, 100, "mm", length_mm)]
    outline: tuple[_Row, ...]
    holes: tuple[LiftedHole, ...] = ()
    budget: tuple[BudgetRow, ...] = ()


@dataclass(frozen=True)
class Lifted:
    """The outline of a thing that exists.

    Args:
        name: Its name.
        source: What it was lifted from, such as a file's name.
        outline: Counter-clockwise, in mm and in the design's own coordinates; a region for each piece.
        holes: The holes that are in the thing.
        budget: What a place of the outline may be off, part by part.

    Raises:
        RequestError: No name, a region that is none, too many pieces or holes, clockwise, or it crosses itself.
    """

    name: str
    source: str
    outline: Outline
    holes: tuple[LiftedHole, ...] = ()
    budget: tuple[BudgetRow, ...] = ()

    def __post_init__(self) -> None:
        for key, text in (("name", self.name), ("source", self.source)):
            need(0 < len(plain_text(text, key).strip()) <= 200, f"{key}: a text of 1 to 200 characters is needed.")
        object.__setattr__(self, "holes", tuple(self.holes))
        object.__setattr__(self, "budget", tuple(self.budget))
        unknown = sorted(set(self.outline.regions) - set(REGIONS))
        if unknown:
            raise RequestError(f"outline: unknown region '{unknown[0]}'. Allowed: {', '.join(REGIONS)}.")
        need(len(self.outline) <= MOST_PIECES, f"outline: {len(self.outline)} pieces; at most {MOST_PIECES} are read.")
        need(len(self.holes) <= MOST_HOLES, f"holes: {len(self.holes)} holes; at most {MOST_HOLES} are read.")
        place = crossing_place(self.outline)
        if place is not None:
            x, y = place
            raise RequestError(f"outline: crosses itself near x = {x:.2f} mm, y = {y:.2f} mm. Move a vertex there.")
        need(self.outline.area_mm2 > 0, "outline: runs clockwise. Write its vertices in the other order.")

    @property
    def within_mm(self) -> float:
        """What a place of the outline may be off, all parts together [mm].

        The parts do not hang on each other, so that their squares add up (JCGM 100:2008, 5.1.2).
        """
        return math.sqrt(sum(row.mm**2 for row in self.budget))


def read_lifted(path: Path) -> Lifted:
    """Read a lifted outline.

    Args:
        path: A file that `lifted_text` wrote, corrected by hand or not.

    Raises:
        RequestError: Unreadable, or a key, a length or a region is wrong; says where, and what is allowed.
    """
    return lifted_of(Fields(read_toml(path), str(path)))


def lifted_of(table: Fields) -> Lifted:
    """Return a lifted outline from its parsed file.

    Args:
        table: The file, with its name for messages.

    Raises:
        RequestError: As `read_lifted`.
    """
    path = table.where
    rows = table.table.get("outline")
    if isinstance(rows, list) and len(rows) > MOST_PIECES:
        raise RequestError(f"{path} outline: {len(rows)} vertices; at most {MOST_PIECES} are read.")
    found = read_row(_File, table)
    vertices = np.array([(r.x_mm, r.y_mm, r.bulge) for r in found.outline]).reshape(-1, 3)
    try:
        outline = Outline(vertices, tuple(r.region for r in found.outline), found.arcs_within_mm)
        if outline.area_mm2 < 0:  # written the other way round: the same thing
            outline = outline.reversed()
        return Lifted(found.name, found.source, outline, found.holes, found.budget)
    except (GeometryError, RequestError) as error:
        raise RequestError(f"{path} {error}") from None


def lifted_text(lifted: Lifted, notes: Iterable[str] = ()) -> str:
    """Return a lifted outline as the text of its file.

    Args:
        lifted: The outline.
        notes: What else is to be known, one comment line each.
    """
    head = [
        f"# Lifted from {lifted.source}. Correct what is wrong by hand: lengths carry their unit.",
        "# Origin at the heel, x ahead to the tip, y up from the board line.",
        *(f"# {note}" for note in notes),
        f"format = {FORMAT}",
        f"name = {quoted(lifted.name)}",
        f"source = {quoted(lifted.source)}",
        f'arcs_within = "{exact_mm(lifted.outline.max_error_mm).shown()}"  # how far it is from what was seen',
        "",
        "# x, y, bulge of the piece to the next vertex (tan of a quarter of its angle; 0 is a line), its region",
        f"# regions: {', '.join(REGIONS)}",
        "outline = [",
        *(
            f'  ["{_number(x)} mm", "{_number(y)} mm", {_number(bulge, 8)}, "{region}"],'
            for (x, y, bulge), region in zip(lifted.outline.vertices.tolist(), lifted.outline.regions, strict=True)
        ),
        "]",
        "",
        "# x, y, diameter",
        *_holes(lifted.holes),
    ]
    for row in lifted.budget:
        head += ["", "[[budget]]", f"for = {quoted(row.what)}", f'mm = "{row.mm:.4f} mm"']
        head += [f"lessen = {quoted(row.lessen)}"] if row.lessen else []
    return "\n".join(head) + "\n"


def _holes(holes: tuple[LiftedHole, ...]) -> list[str]:
    if not holes:
        return ['# holes = [["-40 mm", "20 mm", "5 mm"]]']
    rows = (f'  ["{_number(h.x_mm)} mm", "{_number(h.y_mm)} mm", "{_number(h.diameter_mm)} mm"],' for h in holes)
    return ["holes = [", *rows, "]"]


def _number(value: float, digits: int = 6) -> str:
    """Return a number with a point, so that a row is one kind of list, and no zeros behind it that say nothing."""
    text = f"{value + 0.0:.{digits}f}".rstrip("0")
    text = text + "0" if text.endswith(".") else text
    return "0.0" if float(text) == 0 else text
