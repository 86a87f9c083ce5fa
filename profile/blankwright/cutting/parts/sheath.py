"""A sheath's sides, right and left: the blade with room, welt and seam round it, open at the heel."""

from __future__ import annotations

import numpy as np

from blankwright.base.errors import RequestError
from blankwright.base.said import Line, exact_mm, mm, said
from blankwright.cutting.parts.figures import Figures
from blankwright.cutting.parts.part import LIFT_MM, Circle, CutPart, mirrored_in_x
from blankwright.geometry.chain import Chain
from blankwright.geometry.clip import behind
from blankwright.geometry.offset import parallel
from blankwright.geometry.outline import Outline
from blankwright.geometry.weld import without_short_pieces
from blankwright.knife.blank import SHORTEST_MM
from blankwright.knife.knife import Knife

MOUTH = "mouth"
_STEP_MM = 0.05
_SEAM_END_MM = 2.0
"""The seam is marked to this far before the mouth."""


def sheath(knife: Knife) -> tuple[CutPart, ...]:
    """Return both sides of a sheath, outer face up.

    Args:
        knife: The knife.

    Raises:
        RequestError: The knife is a wooden one, or its figures do not go together.
    """
    if knife.start.wooden:
        raise RequestError(f"--part sheath: {knife.design.name} is of wood and needs none.")
    figures = Figures(knife.design)
    title, stock = figures.stock("sheath_material")
    seam, edge, mouth, room = (figures.mm(f"sheath_{key}") for key in ("seam", "edge", "mouth", "room"))
    drain = figures.mm("drain_hole")
    if room >= seam:
        raise RequestError(f"[parts] sheath_room: {room:g} mm leaves no welt: the seam is {seam:g} mm from the blade.")
    if mouth >= seam:
        raise RequestError(f"[parts] sheath_mouth: {mouth:g} mm must be less than sheath_seam, which is {seam:g} mm.")
    blade = blade_ahead(knife)
    right = without_short_pieces(
        ahead(parallel(blade, seam + edge + LIFT_MM).outline, -mouth, MOUTH), SHORTEST_MM
    ).on_grid()
    line = seam_line(blade, seam, mouth)
    hole = drain_hole(blade, room, drain)
    lines = tuple(_lines(figures, stock.kind))
    thick = figures.mm("sheath_thickness")
    out = []
    for side, sign in (("right", 1.0), ("left", -1.0)):
        out.append(
            CutPart(
                name=f"sheath-{side}", of="sheath", title=f"sheath, {side} side",
                outline=right if sign > 0 else mirrored_in_x(right),
                holes=((sign * hole[0], hole[1], hole[2]),), openings=(),
                marks=(line if sign > 0 else Chain(line.vertices * np.array([-1.0, 1.0, -1.0])),),
                material=title, stock=stock, thickness_mm=thick, pieces=1, figures=figures.used, lines=lines,
            )
        )  # fmt: skip
    return tuple(out)


def ahead(outline: Outline, x_mm: float, region: str) -> Outline:
    """Return what lies ahead of an upright line.

    Args:
        outline: Counter-clockwise outline that crosses the line twice.
        x_mm: Place of the line [mm].
        region: Region of the new straight piece.
    """
    turned = behind(outline.mirrored().placed(180.0, 0.0, 0.0), -x_mm, region)
    return turned.mirrored().placed(180.0, 0.0, 0.0)


def blade_ahead(knife: Knife) -> Outline:
    """Return the finished blade from the heel to the tip."""
    return ahead(knife.finished, 0.0, "heel")


def seam_line(blade: Outline, seam_mm: float, mouth_mm: float) -> Chain:
    """Return the line of the stitches, from the mouth below round the tip to the mouth above.

    Args:
        blade: The blade from the heel to the tip.
        seam_mm: How far outside of it [mm].
        mouth_mm: How far behind the heel the sheath begins [mm].
    """
    end = -mouth_mm + _SEAM_END_MM
    closed = ahead(parallel(blade, seam_mm).outline, end, MOUTH)
    at = closed.regions.index(MOUTH)
    rows = np.roll(closed.vertices, -(at + 1), axis=0)
    rows[-1, 2] = 0.0  # the last piece would run along the mouth
    return Chain(rows)


def drain_hole(blade: Outline, room_mm: float, diameter_mm: float) -> Circle:
    """Return the hole beyond the tip: its rim stands the room off the blade, in the welt's own gap.

    Args:
        blade: The blade from the heel to the tip.
        room_mm: Between the blade and the hole [mm].
        diameter_mm: Diameter of the hole [mm].
    """
    points, _ = blade.sampled(_STEP_MM)
    y = float(points[int(np.argmax(points[:, 0])), 1])
    return (round(blade.bounds_mm[2] + room_mm / 2 + diameter_mm / 2, 3), round(y, 3), diameter_mm)


def _lines(figures: Figures, kind: str) -> list[Line]:
    seam, edge, room = (figures.mm(f"sheath_{key}") for key in ("seam", "edge", "room"))
    line = "stitches" if kind == "leather" else "eyelets"
    return [
        said("Right and left are seen from the handle, edge down, outer face up. The straight side is the mouth."),
        said(f"The line of {line} runs {{}} inside the outside, {{}} from the blade. Between the two sides lies a welt "
             "along edge, tip and spine, from that line to {} from the blade: it must stop the edge.",
             exact_mm(edge), exact_mm(seam), exact_mm(room)),
        said("The welt is as thick as the blade or a little more; the fit at the mouth holds the knife. Try it with a "
             "blade of board, never with a sharp one."),
        said("Beyond the tip a hole lets water out, {} off the blade: cut the welt back under it.", mm(room / 2, 1)),
        said("No sheath of this kind holds a knife safely upside down, nor keeps a child from it."),
    ]  # fmt: skip
