"""A spacer ahead of the block on a hidden tang: the block's section with the tang's slot in it."""

from __future__ import annotations

import numpy as np

from blankwright.base.arrays import Array
from blankwright.base.errors import RequestError
from blankwright.base.said import Line, exact_mm, mm, said
from blankwright.cutting.parts.figures import Figures
from blankwright.cutting.parts.part import LIFT_MM, CutPart
from blankwright.design.tang import chord_at
from blankwright.geometry.offset import parallel
from blankwright.geometry.outline import Outline
from blankwright.knife.knife import Knife

_QUARTER = float(np.tan(np.pi / 8))
SHOULDER_MM = 2.5
"""The round in a shoulder's corner is the shoulder's, not the tang's, this far behind the front."""
_STEP_MM = 0.5


def spacers(knife: Knife) -> tuple[CutPart, ...]:
    """Return the spacer at the front of a handle block, seen from the tip: x is across, y up.

    Args:
        knife: The knife.

    Raises:
        RequestError: It has no block, or the spacer is as long as the tang.
    """
    wish = knife.design.block
    if wish is None or knife.block is None:
        raise RequestError(
            f"--part spacers: {knife.design.name} has no block on a hidden tang; its construction is "
            f'{knife.construction}. A hidden tang with a table [block] has one ([handle] construction = "hidden").'
        )
    figures = Figures(knife.design)
    title, stock = figures.stock("spacer_material")
    thick, gap, corner = (figures.mm(key) for key in ("spacer_thickness", "slot_gap", "slot_corner"))
    if knife.shape.front_x_mm - thick - SHOULDER_MM <= knife.shape.tang_end_x_mm:
        raise RequestError(f"[parts] spacer_thickness: {thick:g} mm is as long as the tang.")
    section, tang = front_section(knife, thick), tang_section(knife)
    around = parallel(section, figures.mm("spacer_oversize") + LIFT_MM).outline.on_grid()
    return (
        CutPart(
            name="spacer", of="spacers", title="spacer", outline=around, holes=(),
            openings=(slot_outline(tang, gap, corner),), marks=(), material=title, stock=stock, thickness_mm=thick,
            pieces=1, figures=figures.used, lines=tuple(_lines(knife, tang, gap, corner)),
        ),
    )  # fmt: skip


def front_section(knife: Knife, thick_mm: float) -> Outline:
    """Return the block's section where the spacer stands, as a rectangle: x across, y as in the drawing.

    Args:
        knife: A knife with a block.
        thick_mm: Thickness of the spacer, whose front is that of the handle [mm].
    """
    wish, block = knife.design.block, knife.block
    assert wish is not None and block is not None
    front = knife.shape.front_x_mm
    ends = [y for x in (front - 1e-6, front - thick_mm) for y in chord_at(block, x) or ()]
    half, low, high = wish.width_mm / 2, min(ends), max(ends)
    corners = np.array([[-half, low, 0.0], [half, low, 0.0], [half, high, 0.0], [-half, high, 0.0]])
    return Outline(corners, ("block",) * 4)


def tang_section(knife: Knife) -> tuple[float, float, float]:
    """Return what goes through the spacer: lowest and highest y of the tang behind its shoulders, and thickness [mm].

    The spacer is slid on from the tang's end, so the largest section counts.
    """
    shape = knife.shape
    xs = np.arange(shape.tang_end_x_mm + 1e-3, shape.front_x_mm - SHOULDER_MM, _STEP_MM)
    chords = [chord for x in (*xs, shape.front_x_mm - SHOULDER_MM) if (chord := chord_at(knife.finished, float(x)))]
    thick = float(np.max(knife.ground.taper.at(np.append(xs, shape.front_x_mm))))
    near = chords[-1]
    tall = max(high - low for low, high in chords)
    middle = (near[0] + near[1]) / 2
    return middle - tall / 2, middle + tall / 2, thick


def slot_outline(tang: tuple[float, float, float], gap_mm: float, corner_mm: float) -> Outline:
    """Return the slot: as wide as the tang and its gap, its corners rounded beyond the tang's own.

    Args:
        tang: Lowest and highest y and thickness of what goes through [mm].
        gap_mm: Room on each side [mm].
        corner_mm: Radius in the corners [mm]; no more than half the width.
    """
    low, high, thick = tang
    half = thick / 2 + gap_mm
    r = min(corner_mm, half)
    bottom, top = low - gap_mm - reach_mm(r, gap_mm), high + gap_mm + reach_mm(r, gap_mm)
    rows = [
        (half - r, bottom, _QUARTER), (half, bottom + r, 0.0), (half, top - r, _QUARTER), (half - r, top, 0.0),
        (r - half, top, _QUARTER), (-half, top - r, 0.0), (-half, bottom + r, _QUARTER), (r - half, bottom, 0.0),
    ]  # fmt: skip
    kept: Array = np.array(rows)
    long = np.hypot(*(np.roll(kept[:, :2], -1, axis=0) - kept[:, :2]).T) > 1e-9
    return Outline(kept[long], ("slot",) * int(long.sum())).on_grid()


def reach_mm(corner_mm: float, gap_mm: float) -> float:
    """Return how much further than its gap a slot reaches up and down, so that its round corners clear the tang's [mm].

    Then each arc begins beside a corner of the tang, at the gap from it, and runs away from it.
    """
    if corner_mm <= gap_mm:
        return 0.0
    return corner_mm - gap_mm


def _lines(knife: Knife, tang: tuple[float, float, float], gap: float, corner: float) -> list[Line]:
    low, high, thick = tang
    front = chord_at(knife.finished, knife.shape.front_x_mm + 0.5) or (low, high)
    out = [
        said("Seen from the tip, edge down: the slot is for a tang of {} x {}, with {} of room on each side.",
             mm(high - low, 2), mm(thick, 2), exact_mm(gap)),
        said("The corners of the slot have a radius of {} and lie beyond the tang; file the slot to a push fit.",
             exact_mm(min(corner, thick / 2 + gap))),
        said("It stands flush with the handle's front: cut the block back by its thickness."),
        said("Break the slot's front edge where the round of the shoulders would hold it off."),
    ]  # fmt: skip
    over = reach_mm(min(corner, thick / 2 + gap), gap) + gap
    if front[0] > low - over or front[1] < high + over:
        text = "The blade's shoulders do not cover the ends of the slot: fill them, or make slot_corner smaller."
        out.append(said(text))
    return out
