"""Which drill makes a hole: the standard sizes that its fit allows, or the reamer."""

from __future__ import annotations

from blankwright.base.said import Named, Standing
from blankwright.knife.knife import Knife
from blankwright.sheet.model import Row
from blankwright.sheet.quantities import ASKED, mm, practice, standing
from blankwright.shop.drills import SERIES, Drill, drills
from blankwright.shop.holes import finished_hole_mm, scale_hole_mm, widest_hole_mm
from blankwright.shop.records import Figure
from blankwright.shop.tables import fit

UNDER_MM = 0.02
"""A drill this much under the hole still makes it: a twist drill cuts a little over its own size (common practice)."""
LOOSE_MM = 0.35
"""A hole for a cord or for lightness may be this much wider than drawn [mm] (our choice; 1/64 in is 0.4 mm)."""

_REAMED = practice("no stocked drill lies within the fit: drill under and ream to size")


def bits_for(hole_mm: float, most_mm: float) -> tuple[Drill, ...]:
    """Return the drills for a hole: of each series the one nearest to it, within what the fit allows.

    Args:
        hole_mm: Finished hole [mm].
        most_mm: The widest that will do [mm].

    Returns:
        At most one of each series, in the order of the series; none where no stocked drill lies between.

    >>> [drill.name for drill in bits_for(4.1, 4.2)]
    ['4.1 mm', '#20']
    """
    found = []
    for series in SERIES:
        sizes = [d for d in drills(series) if hole_mm - UNDER_MM <= d.diameter_mm <= most_mm + 1e-9]
        if sizes:
            found.append(min(sizes, key=lambda drill: (round(abs(drill.diameter_mm - hole_mm), 6), drill.diameter_mm)))
    return tuple(found)


def bit_rows(label: str, hole_mm: float, most_mm: float, card: str = "") -> tuple[Row, ...]:
    """Return the drills for a hole in rows by their standing; the bench card has the first."""
    rows: list[Row] = []
    found = bits_for(hole_mm, most_mm)
    if not found:
        return (Row(label, ("ream to", mm(hole_mm, 2)), _REAMED, sign=" ", card=card),)
    for status in dict.fromkeys(drill.status for drill in found):
        alike = [drill for drill in found if drill.status == status]
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
        most = widest_hole_mm(pin, how, "tang")
        rows.append(Row("Pin", (mm(pin, 2),), ASKED, fit(how).title, card="pin"))
        rows.append(Row("Hole in the tang", (mm(hole, 2),), standing(figure), card="hole"))
        rows.append(Row("Widest that still holds", (mm(most, 2),), standing(fit(how).tang_most)))
        rows += bit_rows("Drill or reamer for it", hole, most, "drill or reamer")
    others = {(h.hole.purpose, h.hole.diameter_mm) for h in knife.holes if h.hole.purpose != "pin"}
    for purpose, size in sorted(others):
        rows += bit_rows(f"Drill, {purpose} hole", size, size + LOOSE_MM, f"drill, {purpose}")
    return tuple(rows)


def _why(knife: Knife, figure: Figure) -> Figure:
    """Return what a hole in the handle rests on: one that is not bored through the tang's rests on the fit itself."""
    wish = knife.design.pins
    if wish is None or not knife.start.bought:
        return figure
    tang = fit(wish.fit).tang
    return tang if (tang.value, tang.unit) == (figure.value, figure.unit) else figure


def scale_bits(knife: Knife) -> tuple[Row, ...]:
    """Return the bits for the holes in the handle."""
    wish = knife.design.pins
    if wish is None:
        return ()
    hole, figure = scale_hole_mm(wish.diameter_mm, wish.fit)
    most = widest_hole_mm(wish.diameter_mm, wish.fit, "scale")
    return (
        Row("Hole in the handle", (mm(hole, 2),), standing(_why(knife, figure)), card="hole"),
        Row("Widest that still holds", (mm(most, 2),), standing(fit(wish.fit).scale_most)),
        *bit_rows("Bit for it", hole, most),
    )
