"""A template of board at the finished outline: to trace round, to mark holes through, with holes for the fingers."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from blankwright.base.said import Line, exact_mm, said
from blankwright.cutting.parts.figures import Figures
from blankwright.cutting.parts.part import Circle, CutPart
from blankwright.design.tang import Hole, chord_at, edge_distance_mm
from blankwright.knife.knife import Knife

_SHARES = (0.3, 0.62)
"""Our layout: where along the blade the finger holes stand, if it is high enough there."""
_REACH, _LOOKS = 0.12, 13
"""How far from there one may be moved, as a share of the blade, and at how many places it is tried."""


def template(knife: Knife) -> tuple[CutPart, ...]:
    """Return the template of board.

    Args:
        knife: The knife.
    """
    figures = Figures(knife.design)
    title, stock = figures.stock("template_material")
    thick = figures.mm("template_thickness")
    fingers = finger_holes(knife, figures)
    return (
        CutPart(
            name="template", of="template", title="template", outline=knife.finished,
            holes=(*(h.circle for h in knife.holes), *fingers), openings=(), marks=(), material=title, stock=stock,
            thickness_mm=thick, pieces=1, figures=figures.used, lines=tuple(_lines(knife, fingers)),
        ),
    )  # fmt: skip


def finger_holes(knife: Knife, figures: Figures) -> tuple[Circle, ...]:
    """Return the holes to hold a template by: in the blade, as large as asked or as it allows; none on a low one.

    Args:
        knife: The knife.
        figures: The figures of the part.
    """
    wall, most, least = (figures.mm(f"finger_{key}") for key in ("wall", "hole", "least"))
    long = knife.shape.values_mm["blade_length"]
    found: list[Circle] = []
    for share in _SHARES:
        tries = long * np.linspace(share - _REACH, share + _REACH, _LOOKS)
        options = [_hole_at(knife, float(x), most, wall, [*(h.circle for h in knife.holes), *found]) for x in tries]
        good = [circle for circle in options if circle is not None and circle[2] >= least]
        if good:
            found.append(max(good, key=lambda c: (round(c[2], 6), -abs(c[0] - share * long))))
    return tuple(found)


def _hole_at(knife: Knife, x: float, most: float, wall: float, others: Sequence[Circle]) -> Circle | None:
    chord = chord_at(knife.finished, x)
    if chord is None:
        return None
    y = (chord[0] + chord[1]) / 2
    room = 2 * (edge_distance_mm(knife.finished, Hole(x, y, 0.0, "finger")) - wall)
    room = min([room, *(2 * (float(np.hypot(x - a, y - b)) - d / 2 - wall) for a, b, d in others)])
    wide = float(np.floor(min(room, most) * 2) / 2)  # to the half millimetre below
    return (round(x, 3), round(y, 3), wide) if wide > 0 else None


def _used(knife: Knife) -> str:
    """Say what the template is for: a blank that is bought has its outline and holes, and is only compared."""
    if knife.start.bought:
        return "lay it on the blank to compare the two. Work nothing to it: the blank's own line stays"
    return "trace round it and work to the line"


def _marked(knife: Knife) -> str:
    if knife.start.bought:
        return "look through them at the blank's own, and make none"
    if knife.start.wooden:
        return "mark their centres through it with an awl, or draw round them"
    return "centre them with a transfer punch of that size, or scribe"


def _lines(knife: Knife, fingers: Sequence[Circle]) -> list[Line]:
    out = [
        said(f"The outline is the finished line itself, nothing added: {_used(knife)}. The cutter's slot is the shop's "
             "to compensate, as in any file of ours."),
    ]  # fmt: skip
    if knife.holes:
        out.append(said(f"Its holes have the finished size: {_marked(knife)}."))
    if fingers:
        sizes = " and ".join(exact_mm(d).shown() for d in dict.fromkeys(d for _, _, d in fingers))
        out.append(said("Finger holes of {}: not in the knife.", sizes))
    else:
        out.append(said("The blade is too low for a finger hole; hold it by a strip of wood glued on."))
    return out
