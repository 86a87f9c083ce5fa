"""The outline to cut: the finished one moved out by the allowance of its regions."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from blankwright.base.errors import DesignError, GeometryError
from blankwright.design.request import Design
from blankwright.geometry.offset import Parallel, parallel
from blankwright.geometry.outline import Outline
from blankwright.geometry.weld import without_short_pieces
from blankwright.shop.allowance import Allowance, allowance
from blankwright.shop.records import Material

LIFT_MM = 0.004
"""The cut outline is drawn this much further out than asked, so that rounding in any reader errs to the safe
side and ramps (biarcs within 0.001 mm) never come nearer than asked."""

SHORTEST_MM = 0.012
"""Shorter pieces of the cut outline are joined to their neighbours: a cutter stalls or skips on them, and the
inspection refuses those below 0.01 mm."""


def oversize_of(design: Design, finished: Outline, stock: Material, process: str, *, heated: bool) -> Allowance:
    """Return the allowance of a design cut by a process; the design's own figures go before the process's.

    Raises:
        RequestError: Unknown process, or one that does not cut this stock.
    """
    return allowance(
        process,
        thickness_mm=design.stock.thickness_mm,
        size_mm=max(finished.size_mm),
        material_kind=stock.kind,
        notch_after_hardening=design.cutting.notch_after_hardening,
        overrides=design.allowance_mm,
        heated=heated,
    )


def cut_outline(finished: Outline, regions_mm: Mapping[str, float], *, rounded: bool = True) -> Parallel:
    """Return the outline to cut: the finished one moved out by its regions' allowances, coordinates on the grid.

    Args:
        finished: The finished outline with its regions, before rounding where there is one (Shape.smooth).
        regions_mm: Allowance by region [mm]; 0 everywhere is allowed and gives the finished outline.
        rounded: Whether coordinates are put on the grid; not where this outline is itself moved out.

    Raises:
        DesignError: The allowance cannot be laid around this outline.
    """
    distance = np.array([regions_mm[r] for r in finished.regions]) + LIFT_MM
    try:
        found = parallel(finished, distance)
    except GeometryError as error:
        raise DesignError(
            f"The allowance cannot be laid around this outline: {error}. Use a smaller allowance."
        ) from None
    outline = _from_the_butt(without_short_pieces(found.outline, SHORTEST_MM))
    if not rounded:
        return replace(found, outline=outline)
    outline = outline.on_grid()
    return replace(found, outline=outline, others=tuple(o.on_grid() for o in found.others))


def _from_the_butt(outline: Outline) -> Outline:
    """Return an outline that begins at its rearmost vertex.

    Many controllers pierce where a contour begins, and a pierce spoils what it touches: heel corner and edge are the
    last places for it (common practice).
    """
    first = int(np.argmin(outline.starts[:, 0]))
    regions = outline.regions[first:] + outline.regions[:first]
    vertices = np.concatenate([outline.vertices[first:], outline.vertices[:first]])
    return Outline(vertices, regions, outline.max_error_mm)
