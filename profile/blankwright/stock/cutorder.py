"""In which order a piece is cut: holes before outlines, and from the free end towards where it is held."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from blankwright.geometry.outline import Outline
from blankwright.stock.blank import Held
from blankwright.stock.layout import Layout, Sheet

WHY = (
    "Holes before outlines; the blank whose middle is furthest from the held side comes first, so that what is left "
    "stays stiff"
)


def in_order(layout: Layout, sheet: Sheet) -> Sheet:
    """Return a piece with its blanks in the order in which they are cut."""
    outlines = [layout.outline(one) for one in sheet.laid]
    order = cut_order(outlines, layout.job.held)
    return replace(sheet, laid=tuple(sheet.laid[k] for k in order))


def cut_order(outlines: Sequence[Outline], held: Held) -> list[int]:
    """Return the numbers of outlines in the order of cutting.

    What lies inside another comes before it; else whichever has its middle furthest from the held side comes first,
    and of those alike whichever is nearer to a free side across.

    Args:
        outlines: The outlines as they lie.
        held: The side at which the stock is held.
    """
    boxes = np.array([o.bounds_mm for o in outlines]).reshape(-1, 4)
    x, y = (boxes[:, 0] + boxes[:, 2]) / 2, (boxes[:, 1] + boxes[:, 3]) / 2
    away = {"left": x, "right": -x, "below": y, "above": -y}[held]
    across = boxes[:, 3] if held in ("left", "right") else boxes[:, 2]
    order = sorted(range(len(outlines)), key=lambda k: (-round(float(away[k]), 1), -float(across[k]), k))
    areas = [o.to_shapely(0.05) for o in outlines]
    done: list[int] = []
    for k in order:
        inner = [m for m in order if m not in done and m != k and areas[k].contains(areas[m])]
        done += [m for m in inner if m not in done]
        if k not in done:
            done.append(k)
    return done
