"""Which drill makes a hole: the standard sizes that its fit allows, the nearest of each series."""

from __future__ import annotations

from blankwright.base.said import Named, Standing
from blankwright.knife.knife import Knife
from blankwright.sheet.model import Row
from blankwright.sheet.quantities import ASKED, computed, mm, standing
from blankwright.shop.drills import SAME_MM, Drill, nearest
from blankwright.shop.holes import finished_hole_mm, scale_hole_mm, widest_hole_mm
from blankwright.shop.tables import fit

WIDER_MM = 0.35
"""A drill that is this much wider than a hole without a pin is left out [mm]; a 64th of an inch is 0.4 mm."""
_FITTING = computed("the series of drills, beside the widest hole that is still this fit")
UNDER_MM = 0.02
"""A drill this much under the hole will do: it cuts a few hundredths wider than itself (common practice) [mm]."""


def bits_for(hole_mm: float, most_mm: float | None = None) -> tuple[Drill, ...]:
    """Return the drills for a hole, one of each series where one is near enough, the nearest of them.

    Args:
        hole_mm: Finished hole [mm].
        most_mm: Widest hole that will do [mm]; None for WIDER_MM more.

    >>> [drill.name for drill in bits_for(5.1, 5.2)]
    ['5.1 mm', '13/64 in', '#7']
    >>> [drill.name for drill in bits_for(4.1, 4.2)]
    ['4.1 mm', '#20']
    """
    most = hole_mm + WIDER_MM if most_mm is None else most_mm
    near = [one.above for one in nearest(hole_mm - UNDER_MM, at_least=True) if one.above is not None]
    return tuple(drill for drill in near if drill.diameter_mm <= most + SAME_MM)


def bit_rows(label: str, hole_mm: float, most_mm: float | None = None, card: str = "") -> tuple[Row, ...]:
    """Return the drills for a hole in rows by their standing; the bench card has the first."""
    rows: list[Row] = []
    drills = bits_for(hole_mm, most_mm)
    if not drills:
        return (Row(label, ("none of the usual series: bore or ream it to size",), _FITTING, card=card),)
    for status in dict.fromkeys(drill.status for drill in drills):
        alike = [drill for drill in drills if drill.status == status]
        names = tuple(Named(d.name, mm(d.diameter_mm, 2)) for d in alike)
        source = "; ".join(dict.fromkeys(drill.source for drill in alike))
        first = not rows
        rows.append(
            Row(label if first else "or", names, Standing(source, status), sign=" or ", card=card if first else "")
        )
    return tuple(rows)


def tang_bits(knife: Knife) -> tuple[Row, ...]:
    """Return the drills for the holes in the steel, or in the board."""
    rows: list[Row] = []
    wish = knife.design.pins
    if wish is not None:
        pin, how = wish.diameter_mm, wish.fit
        hole, figure = finished_hole_mm(pin, how)
        rows.append(Row("Pin", (mm(pin, 2),), ASKED, fit(how).title, card="pin"))
        rows.append(Row("Hole in the tang", (mm(hole, 2),), standing(figure), card="hole"))
        rows += bit_rows("Drill or reamer for it", hole, widest_hole_mm(pin, how, scale=False), "drill or reamer")
    others = {(h.hole.purpose, h.hole.diameter_mm) for h in knife.holes if h.hole.purpose != "pin"}
    for purpose, size in sorted(others):
        rows += bit_rows(f"Drill, {purpose} hole", size, None, f"drill, {purpose}")
    return tuple(rows)


def scale_bits(knife: Knife) -> tuple[Row, ...]:
    """Return the bits for the holes in the handle."""
    wish = knife.design.pins
    if wish is None:
        return ()
    hole, figure = scale_hole_mm(wish.diameter_mm, wish.fit)
    most = widest_hole_mm(wish.diameter_mm, wish.fit, scale=True)
    where = standing(figure) if knife.start.heated else Standing("bored through the tang's holes", figure.status)
    return (Row("Hole in the handle", (mm(hole, 2),), where), *bit_rows("Bit for it", hole, most))
