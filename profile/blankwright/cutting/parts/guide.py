"""A filing guide: two hardened plates clamped on the blade, their edge at the plunge line, bolted beside the blank."""

from __future__ import annotations

import math

import numpy as np

from blankwright.base.errors import RequestError
from blankwright.base.said import Line, exact_mm, mm, said
from blankwright.cutting.parts.figures import Figures
from blankwright.cutting.parts.part import Circle, CutPart
from blankwright.design.tang import chord_at
from blankwright.geometry.outline import Outline
from blankwright.knife.knife import Knife

_STEP_MM = 0.05
_LIFT_MM, _GRID_MM = 0.001, 0.002
"""The plate is drawn so much taller, and then to the next step of a grid: what was measured is known to less."""


def filing_guide(knife: Knife) -> tuple[CutPart, ...]:
    """Return one plate of the filing guide; two of it are cut.

    Args:
        knife: The knife.

    Raises:
        RequestError: The knife is ground through to the heel, or is a wooden one.
    """
    if knife.start.hard:
        raise RequestError(
            f"--part filing-guide: {knife.design.name} is bought hardened, and no file bites on hardened steel. Grind "
            "it on stones or a wet belt, along a line that is scribed."
        )
    plunge = knife.ground.plunge
    if plunge is None or knife.start.wooden:
        raise RequestError(
            f"--part filing-guide: {knife.design.name} is ground through to the heel, so there is no plunge line to "
            "guide a file at. Give it one with [grind] ricasso, such as 5 mm."
        )
    figures = Figures(knife.design)
    title, stock = figures.stock("guide_material")
    low, high = reach_mm(knife, figures.mm("guide_width"))
    plate, holes = plate_of(knife, figures, low, high)
    return (
        CutPart(
            name="filing-guide", of="filing-guide", title="plate of the filing guide", outline=plate, holes=holes,
            openings=(), marks=(), material=title, stock=stock, thickness_mm=figures.mm("guide_thickness"), pieces=2,
            figures=figures.used, lines=tuple(_lines(knife, figures)),
        ),
    )  # fmt: skip


def reach_mm(knife: Knife, width_mm: float) -> tuple[float, float]:
    """Return the lowest and highest y of the blank where a plate lies on it [mm].

    Args:
        knife: The knife.
        width_mm: Width of the plate, back from the plunge line [mm].
    """
    x1 = _plunge_mm(knife)
    x0 = x1 - width_mm
    ends = [y for x in (x0, x1) for y in chord_at(knife.cut, x) or ()]
    x, y = knife.cut.sampled(_STEP_MM)[0].T
    under = y[(x >= x0) & (x <= x1)]
    return min(*ends, *under), max(*ends, *under)


def _plunge_mm(knife: Knife) -> float:
    plunge = knife.ground.plunge
    assert plunge is not None
    return plunge.at_mm


def plate_of(knife: Knife, figures: Figures, low_mm: float, high_mm: float) -> tuple[Outline, tuple[Circle, ...]]:
    """Return a plate and its pilot holes.

    Args:
        knife: The knife.
        figures: The figures of the part.
        low_mm: Lowest y of the blank under it [mm].
        high_mm: Highest [mm].
    """
    pilot, clear, edge, wide = (figures.mm(k) for k in ("pilot_hole", "pilot_clear", "pilot_edge", "guide_width"))
    off = clear + pilot / 2 + _LIFT_MM
    x1 = _plunge_mm(knife)
    y0 = math.floor((low_mm - off) / _GRID_MM) * _GRID_MM
    y1 = math.ceil((high_mm + off) / _GRID_MM) * _GRID_MM
    holes = tuple((round(x1 - wide / 2, 6), round(y, 6), pilot) for y in (y0, y1))
    x0, low, high = x1 - wide, y0 - edge, y1 + edge
    corners = np.array([[x0, low, 0.0], [x1, low, 0.0], [x1, high, 0.0], [x0, high, 0.0]])
    return Outline(corners, ("plate",) * 4).on_grid(), holes


_M5_TAP_MM, _M5_CLEAR_MM = 4.2, 5.5
"""Tapping and clearance hole of M5: ISO 2306 and ISO 273, medium; from memory."""


def _pilot(diameter_mm: float) -> Line:
    """Say what becomes of the pilot holes."""
    words = "Pilot holes of {} stand beside the blank: tap them in one plate"
    if abs(diameter_mm - _M5_TAP_MM) < 1e-6:
        return said(f"{words} (M5), open them to {{}} in the other.", exact_mm(diameter_mm), exact_mm(_M5_CLEAR_MM))
    return said(f"{words}, open them to the bolt's own clearance in the other.", exact_mm(diameter_mm))


def _lines(knife: Knife, figures: Figures) -> list[Line]:
    plunge = knife.ground.plunge
    assert plunge is not None
    out = [
        said("Two alike, one on each face, the right-hand edge at the plunge line, {} ahead of the heel.",
             mm(plunge.at_mm, 2)),
        _pilot(figures.mm("pilot_hole")),
        said("Drill and tap first, then harden and temper hard, and grind both working edges true together: a file "
             "must skate on them. Test with an old file."),
        said("Push the file away from the edge, the blade clamped with its edge turned from you. Never run a belt "
             "against the plates until they are hot: they lose their hardness. A hardened plate can chip; wear eye "
             "protection."),
    ]  # fmt: skip
    if plunge.radius_mm:
        words = "The step has a radius of {}: the belt's edge or a round file makes it, ahead of the plate."
        out.append(said(words, exact_mm(plunge.radius_mm)))
    return out
