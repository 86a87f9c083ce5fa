"""The handle under the hand: shaping one that is cut in one piece with its blade, sanding and oiling every one."""

from __future__ import annotations

import numpy as np

from blankwright.base.said import Quantity
from blankwright.design.tang import chord_at
from blankwright.knife.knife import Knife
from blankwright.sheet.blank import grind_cautions, wood_dust
from blankwright.sheet.handfit import hand_rows
from blankwright.sheet.handlestages import handle_kind
from blankwright.sheet.model import Row, Stage, Table
from blankwright.sheet.quantities import ASKED, GROUND, OUTLINE, computed, lines, mm, practice
from blankwright.sheet.tablelines import cautions_of, to_do, to_know
from blankwright.shop.finishes import advice

FROM_ENDS_MM = 12.0
"""The handle is measured this far from its front and from its butt, clear of both roundings [mm]."""
ROUNDED, MOST_ROUNDED_MM = 0.25, 3.0
"""Corners are rounded to this share of the thickness, and to no more than this [mm]."""

_FEEL = "After every few strokes close the hand that will hold it on it, eyes shut: take off only where it presses."

_ROUND = practice("a quarter of the thickness, at most 3 mm: half of each face stays flat and tells how the blade lies")
_PLACES = computed("places measured: 12 mm behind the front, halfway, 12 mm before the butt")


def grip(knife: Knife, hand: str | None) -> Stage:
    """Return shaping of a handle that is cut in one piece with its blade: section, places, the hand.

    Args:
        knife: The knife.
        hand: The hand that will hold it, in words, or None.

    Raises:
        RequestError: No such hand.
    """
    wood = knife.start.wooden
    front, butt = knife.shape.front_x_mm, knife.shape.butt_x_mm
    places = (front - FROM_ENDS_MM, (front + butt) / 2, butt + FROM_ENDS_MM)
    chords = [chord_at(knife.finished, x) or (0.0, 0.0) for x in places]
    high = tuple(mm(top - low) for low, top in chords)
    thick = knife.ground.taper.at(np.array(places)).tolist()
    rounded = tuple(_rounded(t) for t in thick)
    heads = ("front", "middle", "butt")
    table = Table(
        "Along the handle",
        heads,
        (
            Row("high", high, OUTLINE, card="high"),
            Row("thick", tuple(mm(t) for t in thick), ASKED if wood else GROUND, card="thick"),
            Row("round the four corners to", rounded, _ROUND, card="corners to"),
        ),
        _PLACES,
        dict(enumerate(heads)),
    )
    return Stage(
        "grip",
        "Shape the handle",
        (Row("Across", ("flat faces, rounded corners",), ASKED), *hand_rows(knife, hand)),
        (table,),
        facts=lines("Weights on this sheet count the handle with square corners: rounding makes it a little lighter."),
        steps=lines(*(_wood_steps() if wood else _steel_steps(hard=knife.start.hard))),
        checks=lines(
            "Held as at work, with wet hands too, nothing presses at palm, thumb or little finger.",
            "Both sides feel alike with the eyes shut, and the blade stands upright in the fist.",
        ),
        cautions=grind_cautions(knife)
        if not knife.start.hard
        else grind_cautions(knife, "guards", "sparks", "grab", "cool"),
    )


def _rounded(thick_mm: float) -> Quantity:
    return mm(min(ROUNDED * thick_mm, MOST_ROUNDED_MM))


def _wood_steps() -> tuple[str, ...]:
    return (
        "Draw a line on each face and on each edge, as far from every corner as the radius.",
        "Rasp each corner down to its two lines, a flat first; then the flat's own corners; then round the rest.",
        "Round the butt the same way, and let the rounding run out where the blade begins.",
        _FEEL,
    )


def _steel_steps(*, hard: bool) -> tuple[str, ...]:
    tool = (
        "with strips of abrasive cloth, wet, pulled over the corner to and fro"
        if hard
        else "with a file while the steel is soft: a flat first, then its two corners, then strips of abrasive cloth"
    )
    return (
        "Mark the radius from each corner, on faces and edges, from the front of the handle to the butt.",
        f"Round the four corners {tool}.",
        "Round the butt the same way, and let the rounding run out where the blade begins.",
        _FEEL,
    )


def shape(knife: Knife) -> Stage:
    """Return shaping and finishing of the handle, or of the whole wooden piece."""
    wood = knife.start.wooden
    handle = knife.handle
    oiled = wood or handle_kind(knife) == "wood"
    bone = not wood and handle_kind(knife) == "bone"
    rows: tuple[Row, ...] = ()
    if handle is not None and handle.apart and not wood:
        rows = (Row("Across", (handle.section,), ASKED),)
    return Stage(
        "shape",
        "Sand and oil" if wood else "Shape, sand and oil the handle" if oiled else "Shape and sand the handle",
        rows,
        steps=(
            *lines(f"File scales and {'board' if wood else 'tang'} flush, then round the edges: cut, feel, cut again."
                   if knife.construction == "full" else "Round every edge that a hand or lip will meet.",
                   *_sanded(handle_kind(knife), oiled=oiled)),
            *to_do(advice("food-oil").rules if oiled else advice("bone-finish").rules if bone else ()),
        ),
        facts=to_know(advice("food-oil").rules) if oiled else (),
        checks=lines("Nothing sharp anywhere you grip, with wet hands too.",
                     "No scratch of the grit before shows in slanting light."),
        cautions=(*wood_dust("limits", "extraction"), *cautions_of("finishing-oil", "rags")) if oiled
                 else cautions_of("bone-dust") if bone else (),
    )  # fmt: skip


def _sanded(kind: str, *, oiled: bool) -> tuple[str, ...]:
    """Say how water goes with sanding: it raises the grain of wood, and never touches bone or horn."""
    if oiled:
        return ("Wet the wood once, let it dry, and take off the raised grain.",)
    return () if kind == "bone" else ("Sand wet, and rinse the dust away.",)
