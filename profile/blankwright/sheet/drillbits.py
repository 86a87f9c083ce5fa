"""Which drill makes a hole: the nearest standard sizes that are not smaller than asked."""

from __future__ import annotations

from blankwright.base.said import Named, Standing
from blankwright.knife.knife import Knife
from blankwright.sheet.model import Row
from blankwright.sheet.quantities import ASKED, mm, standing
from blankwright.shop.drills import Drill, nearest
from blankwright.shop.holes import finished_hole_mm, scale_hole_mm
from blankwright.shop.tables import fit

WIDER_MM = 0.35
"""A drill that is this much wider than the hole is left out [mm]; a 64th of an inch is 0.4 mm."""


def bits_for(hole_mm: float) -> tuple[Drill, ...]:
    """Return the drills for a hole, one of each series, each the nearest that is not smaller.

    Args:
        hole_mm: Finished hole [mm].

    >>> [drill.name for drill in bits_for(5.1)]
    ['5.1 mm', '13/64 in', '#7']
    """
    found = tuple(n.above for n in nearest(hole_mm, at_least=True) if n.above is not None)
    near = tuple(drill for drill in found if drill.diameter_mm - hole_mm <= WIDER_MM)
    return near or found[:1]


def bit_rows(label: str, hole_mm: float, card: str = "") -> tuple[Row, ...]:
    """Return the drills for a hole in rows by their standing; the bench card has the first."""
    rows: list[Row] = []
    drills = bits_for(hole_mm)
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
        rows += bit_rows("Drill or reamer for it", hole, "drill or reamer")
    others = {(h.hole.purpose, h.hole.diameter_mm) for h in knife.holes if h.hole.purpose != "pin"}
    for purpose, size in sorted(others):
        rows += bit_rows(f"Drill, {purpose} hole", size, f"drill, {purpose}")
    return tuple(rows)


def scale_bits(knife: Knife) -> tuple[Row, ...]:
    """Return the bits for the holes in the handle."""
    wish = knife.design.pins
    if wish is None:
        return ()
    hole, figure = scale_hole_mm(wish.diameter_mm, wish.fit)
    where = standing(figure) if knife.start.heated else Standing("bored through the tang's holes", figure.status)
    return (Row("Hole in the handle", (mm(hole, 2),), where), *bit_rows("Bit for it", hole))
