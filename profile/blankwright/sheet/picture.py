"""Pictures at the head of a build sheet: the part with its dimensions, made to fit a width, and its sections."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from blankwright.drawing.partdrawing import PartDrawing
from blankwright.drawing.sectioned import section_marks
from blankwright.drawing.sectionmarks import Section
from blankwright.drawing.svg import part_marks
from blankwright.geometry.chain import Chain
from blankwright.geometry.outline import Outline
from blankwright.ink.marks import Marks

_BESIDE_MM = 26.0
"""Room for dimensions beside the part [mm]."""
_TRIES = 4


@dataclass(frozen=True, eq=False)
class Picture:
    """One picture with what is said of it.

    Args:
        marks: What it shows [mm on paper].
        caption: Words under it.
        desc: What it shows, for those who cannot see it.
    """

    marks: Marks
    caption: str
    desc: str


def part_picture(drawing: PartDrawing, width_mm: float, desc: str) -> Picture:
    """Return the part with its dimensions, no wider than a width; the lettering keeps its size.

    Args:
        drawing: What to show.
        width_mm: Greatest width of the picture on paper [mm].
        desc: What it shows, in words.
    """
    long = (drawing.cut or drawing.finished).size_mm[0]
    scale = min(1.0, (width_mm - _BESIDE_MM) / long)
    marks = part_marks(scaled(drawing, scale))
    for _ in range(_TRIES):
        wide = marks.box.x1 - marks.box.x0
        if wide <= width_mm:
            break
        scale *= max(0.5, (long * scale - (wide - width_mm)) / (long * scale))
        marks = part_marks(scaled(drawing, scale))
    words = "true size" if scale == 1.0 else f"not to scale ({scale:.2f}:1): measure on the template"
    dashed = " Dashed: where to cut." if drawing.cut is not None else ""
    return Picture(marks, f"Sizes in mm; {words}.{dashed}", desc)


def section_picture(sections: Sequence[Section], width_mm: float, desc: str) -> Picture:
    """Return the sections in rows of a width [mm]."""
    return Picture(
        section_marks(sections, width_mm),
        "Seen from the handle toward the tip; sizes in mm. Drawn to the ratios given when printed at actual size.",
        desc,
    )


def scaled(drawing: PartDrawing, scale: float) -> PartDrawing:
    """Return a plate drawn smaller; its words and the figures on its dimensions stay."""

    def place(point: tuple[float, float]) -> tuple[float, float]:
        return (point[0] * scale, point[1] * scale)

    return replace(
        drawing,
        finished=_outline(drawing.finished, scale),
        cut=_outline(drawing.cut, scale) if drawing.cut is not None else None,
        holes=tuple(
            replace(h, x_mm=h.x_mm * scale, y_mm=h.y_mm * scale, diameter_mm=h.diameter_mm * scale)
            for h in drawing.holes
        ),
        measures=tuple(replace(m, start=place(m.start), end=place(m.end)) for m in drawing.measures),
        front_x_mm=drawing.front_x_mm * scale if drawing.front_x_mm is not None else None,
        thin=tuple(Chain(c.vertices * _factors(scale)) for c in drawing.thin),
        sections=(),
    )


def _factors(scale: float) -> NDArray[np.float64]:
    return np.array([scale, scale, 1.0])


def _outline(outline: Outline, scale: float) -> Outline:
    return Outline(outline.vertices * _factors(scale), outline.regions)
