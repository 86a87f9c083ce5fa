"""A verdict on a family file: whether it draws what it says, as every construction and from end to end."""

from __future__ import annotations

from pathlib import Path

from blankwright.base.errors import DesignError
from blankwright.design.check import wrong
from blankwright.design.drawn import drawing_faults
from blankwright.design.parts import Family
from blankwright.design.solve import solve_shape
from blankwright.design.sound import check_sound


def judge(family: Family) -> tuple[str, ...]:
    """Return everything that is wrong with a family, each with its place; empty when it holds.

    The drawing first: where it does not measure its own defaults, what comes of it is not looked at. Then the family
    is solved at its defaults and with each dimension at both ends, the others following, and measured on the arcs.

    Args:
        family: The family.
    """
    drawn = [fault for construction in family.curves for fault in drawing_faults(family, construction)]
    if drawn:
        return tuple(dict.fromkeys(drawn))
    file = Path(family.path).name
    faults = []
    for construction in family.curves:
        sizes: list[tuple[str, str, dict[str, float]]] = [
            ("at its defaults", f"{file} [construction.{construction}]", {})
        ]
        for d in family.offered(construction):
            place = f"{file} [[dimension]] {d.name}"
            sizes += [
                (f"least ({construction})", place, {d.name: d.least_mm}),
                (f"greatest ({construction})", place, {d.name: d.greatest_mm}),
            ]
        for words, place, asked in sizes:
            faults += [f"{place} {words}: {why}" for why in _at(family, construction, asked)]
    return tuple(dict.fromkeys(faults))


def _at(family: Family, construction: str, asked: dict[str, float]) -> list[str]:
    try:
        shape = solve_shape(family, construction, asked)
        check_sound(shape)
    except DesignError as error:
        return [str(error)]
    return [f"{one.words} on the arcs." for one in wrong(shape)]
