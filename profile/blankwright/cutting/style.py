"""How a cutting file is written: release, unit, joined or single pieces, arcs or chords, layers."""

from __future__ import annotations

from blankwright.base.frozen import dataclass


@dataclass(frozen=True)
class FileStyle:
    """How a cutting file is written.

    Args:
        release: R12, R2000 or R2010.
        unit: mm or in.
        exploded: Single lines and arcs instead of one closed polyline for each contour.
        deviation_mm: Greatest distance of chords from an arc [mm]; None for arcs.
        cut_layer: Layer of what is cut.
        mark_layer: Layer of marks to drill at.
        marks: Whether marks are in the file.
        unit_in_header: Whether R12, which knows no unit, names it in its header all the same.
        etch_layer: Layer of what is marked and not cut.
    """

    release: str
    unit: str
    exploded: bool
    deviation_mm: float | None
    cut_layer: str
    mark_layer: str
    marks: bool
    etch_layer: str
    unit_in_header: bool = True


PLAIN = FileStyle(
    "R2000", "mm", exploded=False, deviation_mm=None, cut_layer="CUT", mark_layer="DRILL", marks=True, etch_layer="ETCH"
)
"""The file that most take."""
