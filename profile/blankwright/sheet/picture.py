"""Pictures at the head of a build sheet: the part with its dimensions, made to fit a width, and its sections."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache
from math import ceil

import numpy as np
from numpy.typing import NDArray

from blankwright.base.arrays import Array
from blankwright.base.frozen import dataclass
from blankwright.base.said import bare
from blankwright.drawing.partdrawing import PartDrawing
from blankwright.drawing.sectioned import section_marks
from blankwright.drawing.sectionmarks import Section
from blankwright.drawing.sections import blade_stations, profile
from blankwright.drawing.svg import part_marks
from blankwright.geometry.chain import Chain
from blankwright.geometry.offset import parallel
from blankwright.geometry.outline import Outline
from blankwright.ink.marks import Marks
from blankwright.knife.knife import Knife

_BESIDE_MM = 26.0
"""Room for dimensions beside the part [mm]."""
_TRIES = 4
SEEN_MM = 0.9
"""A cut line nearer to the finished one than this cannot be told from it, on paper or on a phone [mm]."""
_STEP_MM = 0.25
SLICE_MM = 56.0
"""A section on the bench card is no longer than this [mm]; three lie side by side."""
_UNITS = {"mm": "mm", "in": "inches"}


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


def part_picture(drawing: PartDrawing, width_mm: float, desc: str, units: str = "mm") -> Picture:
    """Return the part with its dimensions, no wider than a width; the lettering keeps its size.

    Args:
        drawing: What to show.
        width_mm: Greatest width of the picture on paper [mm].
        desc: What it shows, in words.
        units: What its figures are in, "mm" or "in".
    """
    long = (drawing.cut or drawing.finished).size_mm[0]
    scale = min(1.0, (width_mm - _BESIDE_MM) / long)
    marks = part_marks(scaled(_to_be_seen(drawing, scale), scale))
    for _ in range(_TRIES):
        box = marks.box
        wide = box.x1 - box.x0
        if wide <= width_mm:
            break
        scale *= max(0.5, (long * scale - (wide - width_mm)) / (long * scale))
        marks = part_marks(scaled(_to_be_seen(drawing, scale), scale))
    words = "true size" if scale == 1.0 else f"not to scale ({scale:.2f}:1): measure on the template"
    dashed = " Dashed: where to cut, drawn further out to be seen." if drawing.cut is not None else ""
    return Picture(marks, f"Sizes in {_UNITS[units]}; {words}.{dashed}", desc)


def _to_be_seen(drawing: PartDrawing, scale: float) -> PartDrawing:
    """Return a drawing whose cut line, drawn at a scale, lies far enough out to be told from the finished line."""
    if drawing.cut is None:
        return drawing
    apart = scale * np.abs(np.array(drawing.cut.bounds_mm) - np.array(drawing.finished.bounds_mm)).min()
    if apart >= SEEN_MM:
        return drawing
    return replace(drawing, cut=_further_out(drawing.finished, ceil(SEEN_MM / scale / _STEP_MM) * _STEP_MM))


@lru_cache(maxsize=16)
def _further_out(finished: Outline, by_mm: float) -> Outline:
    return parallel(finished, by_mm).outline


def section_picture(sections: Sequence[Section], width_mm: float, desc: str, units: str = "mm") -> Picture:
    """Return the sections in rows of a width [mm]; arguments as for part_picture."""
    return Picture(
        section_marks(sections, width_mm),
        f"Seen from the handle toward the tip; sizes in {_UNITS[units]}. Drawn to the ratios given when printed at "
        "actual size.",
        desc,
    )


@dataclass(frozen=True, eq=False)
class Slice:
    """The blade cut across at one place, lying, the edge to the left.

    Args:
        words: What it is, with its sizes.
        points_mm: (n, 2) points round it, at the size at which it is drawn [mm].
    """

    words: str
    points_mm: Array


def slices_of(knife: Knife, units: str = "mm") -> tuple[Slice, ...]:
    """Return the blade cut across at the places of the sections, all as much larger or smaller, with their sizes."""
    found = blade_stations(knife)
    highest = max(s.height_mm for s in found)
    scale = next((n for n in (2.0, 1.0) if highest * n <= SLICE_MM), SLICE_MM / highest)
    slices = []
    for n, s in enumerate(found):
        right, left = profile(s.height_mm, s.spine_mm, knife.ground.bevels)
        place = "near tip" if n == len(found) - 1 else s.place.text(units)
        words = f"{place}: {bare(s.height_mm, 1, units)} high, spine {bare(s.spine_mm, 2, units)}"
        slices.append(Slice(words, np.concatenate([right, left[::-1]])[:, ::-1] * scale))
    return tuple(slices)


_FAR_ROW = 3
"""A row of dimensions that the bench card has no room for."""


def bench_drawing(drawing: PartDrawing) -> PartDrawing:
    """Return a drawing as the bench card has it: sizes alone, for the card says at the stages how holes are made.

    What lies far outside the part, a guide or a third row of dimensions, is left to the drawing at true size.
    """
    return replace(
        drawing,
        holes=tuple(replace(hole, label="") for hole in drawing.holes),
        measures=tuple(m for m in drawing.measures if m.axis != "x" or m.row < _FAR_ROW),
        guide=None,
        board_line=False,
    )


def scaled(drawing: PartDrawing, scale: float) -> PartDrawing:
    """Return a plate drawn smaller; its words and the figures on its dimensions stay."""

    def place(point: tuple[float, float]) -> tuple[float, float]:
        return (point[0] * scale, point[1] * scale)

    return replace(
        drawing,
        finished=_outline(drawing.finished, scale),
        cut=_outline(drawing.cut, scale) if drawing.cut is not None else None,
        guide=_outline(drawing.guide, scale) if drawing.guide is not None else None,
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
