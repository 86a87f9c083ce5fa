"""What the drawing of a knife shows: outlines, holes, dimensions, and the words around them."""

from __future__ import annotations

import math
from itertools import groupby

from blankwright.base.said import bare
from blankwright.design.lines import LEAN_UP_MM
from blankwright.design.tang import Hole, chord_at
from blankwright.drawing.partdrawing import DimensionLine, HoleMark, PartDrawing
from blankwright.drawing.sections import sections_of
from blankwright.geometry.chain import around
from blankwright.knife.holes import MadeHole
from blankwright.knife.knife import Knife
from blankwright.knife.words import knife_words, part_words

_ON_TIP = math.pi / 6
"""Where on a rounded tip its radius is written: above the foremost place, below where the spine begins."""


def part_drawing(knife: Knife, *, sections: bool = False, units: str = "mm") -> PartDrawing:
    """Return the drawing's content for a knife.

    Args:
        knife: The knife.
        sections: Whether the knife is shown in section as well.
        units: What the figures on the part are in: "mm", or "in" for a picture of the sheet.

    Raises:
        RequestError: A setting of the grind is missing.
    """
    design = knife.design
    lines, block = knife.face, knife.block
    words = [w for w in (lines.words, "handle block" if block else "") if w]
    return PartDrawing(
        title=f"{design.family.title}: {design.name}" if design.name != design.family.name else design.family.title,
        lines=(
            knife_words(knife),
            f"All sizes in mm; design {knife.code}",
            part_words(knife),
            *_allowance_lines(knife),
            *_height_lines(knife, units),
            *_lean_lines(knife, units),
            *((knife.guide.words.text(),) if knife.guide else ()),
        ),
        finished=knife.finished,
        cut=None if knife.start.bought else knife.cut,
        holes=tuple(
            HoleMark(h.hole.x_mm, h.hole.y_mm, h.hole.diameter_mm, _hole_label(h, knife.holes, units))
            for h in knife.holes
        ),
        measures=tuple(_measures(knife, units)),
        front_x_mm=knife.shape.front_x_mm if design.construction != "one-piece" else None,
        board_line=True,
        cautions=knife.cautions,
        thin=(*lines.chains, *((around(block),) if block else ())),
        thin_words=", ".join(words),
        sections=sections_of(knife) if sections else (),
        guide=knife.guide.outline if knife.guide else None,
    )


def _allowance_lines(knife: Knife) -> list[str]:
    if knife.allowance is None:
        return []
    regions = sorted(knife.allowance.regions_mm.items(), key=lambda item: item[1])
    groups = [
        (mm, [_region(knife, name) for name, _ in group]) for mm, group in groupby(regions, key=lambda item: item[1])
    ]
    if len(groups) == 1:
        return [f"Allowance outside the finished line: {groups[0][0]:g} mm all round"]
    return ["Allowance outside the finished line: " + "; ".join(f"{', '.join(n)} {mm:g} mm" for mm, n in groups)]


def _region(knife: Knife, name: str) -> str:
    """Return a region's name in words: a board has a handle where steel has its tang."""
    return "handle" if name == "tang" and knife.construction == "one-piece" else name


def _height_lines(knife: Knife, units: str) -> list[str]:
    """Say how high each hole stands, in words: a dimension of its own on each would stand in the others' way."""
    if not knife.holes:
        return []
    kinds = dict.fromkeys(made.hole.purpose for made in knife.holes)
    back = sorted((made.hole for made in knife.holes), key=lambda hole: -hole.x_mm)
    each = [f"{kind} {', '.join(bare(h.y_mm, 1, units) for h in back if h.purpose == kind)}" for kind in kinds]
    return [f"Holes above the board line, each kind from the handle front back: {'; '.join(each)}"]


def _lean_lines(knife: Knife, units: str) -> list[str]:
    """Say how the line of the heel leans, where it was asked for; else it is what the family draws."""
    if "heel_lean" not in knife.design.dimensions_mm:
        return []
    lean = bare(knife.shape.values_mm["heel_lean"], 1, units)
    return [f"Line of the heel leans back {lean} over {bare(LEAN_UP_MM, 1, units)} of height"]


def _hole_label(made: MadeHole, holes: tuple[MadeHole, ...], units: str) -> str:
    alike = [h for h in holes if (h.hole.purpose, h.hole.diameter_mm) == (made.hole.purpose, made.hole.diameter_mm)]
    count = f"{len(alike)} x " if len(alike) > 1 else ""
    size = f"{round(made.hole.diameter_mm, 2):g}" if units == "mm" else bare(made.hole.diameter_mm, 2, units)
    return f"{count}\u2300{size} {made.hole.purpose}, {made.how.text(units)}"


def _measures(knife: Knife, units: str) -> list[DimensionLine]:
    shape, finished = knife.shape, knife.finished
    v = shape.values_mm
    x0, _, x1, _ = finished.bounds_mm
    tip = (v["blade_length"], v["tip_height"])
    front, end = shape.front_x_mm, shape.tang_end_x_mm
    low = chord_at(finished, end + 1.0) or (0.0, 0.0)
    under = chord_at(finished, front - 0.01) or (0.0, 0.0)
    out = [
        DimensionLine(bare(v["blade_length"], 1, units), (0.0, 0.0), tip, "x", 1),
        DimensionLine(bare(front - end, 1, units), (end, low[0]), (front, under[0]), "x", 1),
        DimensionLine(f"{bare(x1 - x0, 1, units)}{' (part)' if 'tang_length' in v else ''}", (x0, low[0]), tip, "x", 2),
        DimensionLine(bare(v["heel_height"], 1, units), (0.0, 0.0), (0.0, v["heel_height"]), "y", 0),
    ]
    if "tang_length" in v:  # the handle reaches further back than the part
        whole = bare(v["blade_length"] - shape.butt_x_mm, 1, units)
        out.append(DimensionLine(f"{whole} (with handle)", (shape.butt_x_mm, low[0]), tip, "x", 3))
    if v["tip_height"] > 1:
        out.append(DimensionLine(bare(v["tip_height"], 1, units), (0.0, 0.0), tip, "y", 1))
    if v.get("tip_radius"):
        r, (x, y) = v["tip_radius"], tip
        on_arc = (x - r + r * math.cos(_ON_TIP), y + r * math.sin(_ON_TIP))
        out.append(DimensionLine(f"R{bare(r, 1, units)}", (x - r, y), on_arc, "r", 1))
    return out + _hole_measures(shape.front_x_mm, [h.hole for h in knife.holes], units)


def _hole_measures(front_x_mm: float, holes: list[Hole], units: str) -> list[DimensionLine]:
    """Dimension the holes from the handle front, each to the one before it: pins in one row, all others above."""
    out = []
    rows = ([h for h in holes if h.purpose == "pin"], [h for h in holes if h.purpose != "pin"])
    filled = [row for row in rows if row]
    for number, row in enumerate(filled):
        before = (front_x_mm, row[0].y_mm)
        for hole in row:
            here = (hole.x_mm, hole.y_mm)
            out.append(DimensionLine(bare(before[0] - hole.x_mm, 1, units), here, before, "x", -1 - number))
            before = here
    return out
