"""An outline to be cut from board, for a template that is traced many times."""

from __future__ import annotations

from collections.abc import Sequence

from blankwright.geometry.outline import Outline
from blankwright.ink import lettering
from blankwright.ink.marks import NARROW, ClosedLine, Marks, Ring, Text
from blankwright.ink.svg import document_svg

_MARGIN_MM = 4.0


def board_svg(finished: Outline, holes: Sequence[Ring], name: str, name_at: tuple[float, float]) -> str:
    """Return an outline to be cut from board: lines, holes and a name, nothing else; one unit is one mm.

    Args:
        finished: The outline.
        holes: Holes at true size.
        name: Words engraved on the board.
        name_at: Where they begin, in the outline's coordinates [mm].
    """
    marks = Marks()
    marks.add(ClosedLine(finished, NARROW))
    marks.add(*holes)
    marks.add(Text(name_at[0], name_at[1], lettering.clean(name, 60), lettering.NOTE_MM, "start"))
    return document_svg(
        marks,
        marks.box.grown(_MARGIN_MM),
        lettering.clean(name, 60),
        "Template at true size, one unit is one mm",
        ground=False,  # a cutter would follow it
    )
