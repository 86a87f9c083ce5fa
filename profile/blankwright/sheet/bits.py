"""Which drill makes a hole: the nearest standard sizes that are not smaller than asked."""

from __future__ import annotations

import math
from fractions import Fraction

from blankwright.sheet.context import Knife
from blankwright.sheet.model import Row, Standing
from blankwright.sheet.words import computed, mm, standing
from blankwright.shop.holes import finished_hole_mm, scale_hole_mm
from blankwright.shop.tables import fit
from blankwright.units import MM_PER_INCH

_NEAREST = computed("nearest standard drill from the asked hole upward: tenths of a mm, 64ths of an inch")


def drill_names(hole_mm: float) -> tuple[str, ...]:
    """Return the drills for a hole, metric and fractional, each the nearest that is not smaller.

    Args:
        hole_mm: Finished hole [mm].

    >>> drill_names(5.1)
    ('5.1 mm', '13/64 in (5.159 mm)')
    """
    tenth = math.ceil(round(hole_mm * 10, 6)) / 10
    part = Fraction(math.ceil(round(hole_mm / MM_PER_INCH * 64, 6)), 64)
    whole = f"{part.numerator // part.denominator} " if part > 1 else ""
    rest = part % 1 if part > 1 else part
    return (f"{tenth:.1f} mm", f"{whole}{rest} in ({float(part) * MM_PER_INCH:.3f} mm)")


def tang_bits(knife: Knife) -> tuple[Row, ...]:
    """Return the drills for the holes in the steel, or in the board."""
    rows: list[Row] = []
    design = knife.work.design
    if knife.pins:
        pin, how = design.number("pins.diameter"), design.word("pins.fit")
        hole, figure = finished_hole_mm(pin, how)
        rows.append(Row("Pin", (mm(pin, 2),), Standing("from the design", "computed"), fit(how).title))
        rows.append(Row("Hole in the tang", (mm(hole, 2),), standing(figure)))
        rows.append(Row("Drill or reamer for it", drill_names(hole), _NEAREST, sign=" or "))
    others = {(h.hole.purpose, h.hole.diameter_mm) for h in knife.work.holes if h.hole.purpose != "pin"}
    rows += [
        Row(f"Drill, {purpose} hole", drill_names(size), _NEAREST, sign=" or ") for purpose, size in sorted(others)
    ]
    return tuple(rows)


def scale_bits(knife: Knife) -> tuple[Row, ...]:
    """Return the bits for the holes in the handle."""
    if not knife.pins:
        return ()
    design = knife.work.design
    hole, figure = scale_hole_mm(design.number("pins.diameter"), design.word("pins.fit"))
    return (
        Row("Hole in the handle", (mm(hole, 2),), standing(figure)),
        Row("Bit for it", drill_names(hole), _NEAREST, sign=" or "),
    )
