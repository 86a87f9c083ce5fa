"""Three plates made by hand from arcs and lines, as a maker would sketch them."""

from __future__ import annotations

import numpy as np

from blankwright.drawing.svg import DimensionLine, HoleMark, PartDrawing
from blankwright.geometry.outline import Outline

CAUTIONS = (
    "Wear eye, ear and breathing protection when cutting and grinding. Drill before hardening. "
    "Print and cut at true size: measure the bar first. Local codes and the makers' data sheets come first."
)


def chain(points):
    """An outline from (x, y, bulge) rows."""
    return Outline(np.array(points, dtype=float))


def chef(grow=0.0):
    """A 210 mm chef's knife, 48 mm at the heel, overall 340; grown sideways for its cut outline."""
    g = grow
    return chain(
        [
            (-g, -g, 0.0),
            (70, -g, 0.0786),
            (160, 14 - g, 0.045),
            (210 + g, 32, 0.4),
            (209 + g, 34 + g, 0.06),
            (110, 47 + g, 0.03),
            (0, 48 + g, -0.02),
            (-60, 46 + g, 0.03),
            (-118, 44 + g, 0.35),
            (-130 - g, 32, 0.3),
            (-118, 20 - g, -0.06),
            (-60, 24 - g, -0.03),
            (-18, 25 - g, -0.41),
            (-10 - g, 17, 0.0),
        ]
    )


def chef_plate():
    """The chef's knife with everything that a drawing can show."""
    return PartDrawing(
        title="Galley chef's knife 210",
        lines=(
            "80CrV2, 3 mm sheet, ground to 2.5 mm at the heel",
            "water jet, then ground to the finished line",
            "overall 340 x 48 mm, blank 343 x 51 mm",
            "full tang, two 5 mm brass pins",
        ),
        finished=chef(),
        cut=chef(1.5),
        holes=(HoleMark(-45, 33, 5.1, "2 x 5.1 pin, ream"), HoleMark(-100, 33, 5.1, "2 x 5.1 pin, ream")),
        measures=(
            DimensionLine("blade length 210", (0, 0), (210, 32), "x", 1),
            DimensionLine("overall 340", (-130, 38), (210, 32), "x", 2),
            DimensionLine("55", (-100, 33), (-45, 33), "x", -1),
            DimensionLine("27", (-45, 33), (-18, 47.8), "x", -1),
            DimensionLine("heel 48", (0, 0), (0, 48), "y", -1),
            DimensionLine("tip 32", (0, 0), (210, 32), "y", 1),
            DimensionLine("R 8", (-18, 17), (-12.343, 22.657), "r", 1),
        ),
        front_x_mm=-18.0,
        board_line=True,
        cautions=CAUTIONS,
    )


def paring(grow=0.0):
    """A 80 mm paring knife, overall 185 x 24."""
    g = grow
    return chain(
        [
            (-g, -g, 0.0),
            (30, -g, 0.08),
            (80 + g, 9.5, 0.5),
            (79.6 + g, 10.5 + g, 0.07),
            (20, 23 + g, 0.02),
            (-40, 23 + g, 0.02),
            (-95, 21 + g, 0.35),
            (-105 - g, 12, 0.35),
            (-96, 3 - g, -0.04),
            (-10, 5 - g, -0.02),
            (-4 - g, 5 - g, 0.0),
        ]
    )


def paring_plate():
    """The paring knife."""
    return PartDrawing(
        title="Galley paring knife 80",
        lines=("80CrV2, 3 mm sheet", "water jet", "overall 185 x 24 mm"),
        finished=paring(),
        cut=paring(1.2),
        holes=(HoleMark(-30, 14, 5.1, "2 x 5.1 pin, ream"), HoleMark(-80, 14, 5.1, "")),
        measures=(
            DimensionLine("blade length 80", (0, 0), (80, 9.5), "x", 1),
            DimensionLine("handle 93", (-105, 14), (-12, 6), "x", 1),
            DimensionLine("overall 185", (-105, 14), (80, 9.5), "x", 2),
            DimensionLine("50", (-80, 14), (-30, 14), "x", -1),
            DimensionLine("18", (-30, 14), (-12, 23), "x", -1),
            DimensionLine("9.5", (30, 0), (80, 9.5), "y", 1),
            DimensionLine("heel 23", (0, 0), (0, 23), "y", 2),
        ),
        front_x_mm=-12.0,
        board_line=True,
        cautions=CAUTIONS,
    )


def spreader_plate():
    """A wooden spreader with a round tip, traced by hand: no cut outline, no holes."""
    outline = chain(
        [
            (0, 0, 0.0),
            (60, 0, 1.0),
            (60, 36, 0.05),
            (0, 30, -0.1),
            (-25, 24, 0.0),
            (-90, 25, 1.0),
            (-90, 9, 0.0),
            (-25, 9, -0.2),
        ]
    )
    return PartDrawing(
        title="Beech spreader",
        lines=("beech board, 10 mm", "traced by hand, sawn outside the line"),
        finished=outline,
        cut=None,
        holes=(),
        measures=(
            DimensionLine("blade 78", (0, 0), (78, 18), "x", 1),
            DimensionLine("overall 176", (-98, 17), (78, 18), "x", 2),
            DimensionLine("36", (60, 0), (60, 36), "y", 1),
            DimensionLine("R 18", (60, 18), (72.728, 30.728), "r", 1),
            DimensionLine("R 8", (-90, 17), (-95.657, 22.657), "r", 1),
        ),
        front_x_mm=None,
        board_line=True,
        cautions="Wood dust: wear a mask.",
    )
