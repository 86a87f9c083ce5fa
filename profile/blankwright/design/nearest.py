"""When dimensions do not go together: which of them fight, and the nearest values that work."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache

from blankwright.base.errors import DesignError
from blankwright.base.units import show_mm
from blankwright.design.drawn import check_drawing
from blankwright.design.parts import LIFTED, Family
from blankwright.design.shape import Shape
from blankwright.design.solve import FINISHED_TOLERANCE_MM, solve_shape
from blankwright.design.sound import check_sound

_HALVINGS = 12
"""Twelve halvings of a range of 100 mm leave 0.03 mm, finer than anyone asks."""


def solve_sound(
    family: Family,
    construction: str,
    asked_mm: Mapping[str, float],
    overall_mm: float | None = None,
    tolerance_mm: float = FINISHED_TOLERANCE_MM,
) -> Shape:
    """Solve a family and make sure the result is a knife.

    Args and errors are those of solve_shape; a DesignError also names the nearest values that work, and a FamilyError
    says where the family's drawn points do not measure its own defaults. The shapes solved last are kept: papers of one
    knife, and knives that differ in their settings only, ask for the same one.
    """
    there = _of_blank(family, construction, asked_mm, overall_mm)
    return there or _sound(family, construction, tuple(asked_mm.items()), overall_mm, tolerance_mm)


def solve_quickly(
    family: Family, construction: str, asked_mm: Mapping[str, float], overall_mm: float | None = None
) -> Shape:
    """Solve a family and make sure the result is a knife, without looking for ways out and without keeping it.

    Args and errors are those of solve_shape, a FamilyError that of solve_sound.
    """
    there = _of_blank(family, construction, asked_mm, overall_mm)
    if there is not None:
        return there
    shape = solve_shape(family, construction, asked_mm, overall_mm)
    check_sound(shape)
    check_drawing(family, construction)
    return shape


def _of_blank(
    family: Family, construction: str, asked_mm: Mapping[str, float], overall_mm: float | None
) -> Shape | None:
    """Return the shape of a blank that exists, of which nothing is solved; None of a knife that is to be made."""
    if family.name != LIFTED:
        return None
    from blankwright.design.bought import BoughtFamily, bought_shape  # noqa: PLC0415 - few knives begin with one

    return bought_shape(family, construction, asked_mm, overall_mm) if isinstance(family, BoughtFamily) else None


@lru_cache(maxsize=32)
def _sound(
    family: Family,
    construction: str,
    asked: tuple[tuple[str, float], ...],
    overall_mm: float | None,
    tolerance_mm: float,
) -> Shape:
    asked_mm = dict(asked)
    try:
        shape = solve_shape(family, construction, asked_mm, overall_mm, tolerance_mm)
        check_sound(shape)
    except DesignError as error:
        if "works" in str(error) or "No single change" in str(error):
            raise  # it names its own way out
        hint = _ways_out(family, construction, asked_mm, overall_mm)
        raise DesignError(f"{error} {hint}".strip()) from None
    check_drawing(family, construction)
    return shape


def _works(family: Family, construction: str, asked_mm: Mapping[str, float], overall_mm: float | None) -> bool:
    try:
        check_sound(solve_shape(family, construction, asked_mm, overall_mm))
    except DesignError:
        return False
    return True


def _ways_out(family: Family, construction: str, asked_mm: Mapping[str, float], overall_mm: float | None) -> str:
    """Say, for every asked dimension that alone could give way, the nearest value at which all others hold."""
    ways = []
    for name, wanted in asked_mm.items():
        nearest = _nearest(family, construction, asked_mm, overall_mm, name)
        if nearest is not None:
            ways.append(f"{family.dimension(name, construction).key} {show_mm(nearest)} instead of {show_mm(wanted)}")
    if not ways:
        return "No single change helps; start from the family's defaults and change one dimension at a time."
    return f"What works with the rest as asked: {'; or '.join(ways)}."


def _nearest(
    family: Family, construction: str, asked_mm: Mapping[str, float], overall_mm: float | None, name: str
) -> float | None:
    """Return the value of one dimension, nearest to what was asked, at which all others hold; None when none was found.

    Only values of two decimals are tried, as they are printed: a value between two that work may fail, so what is
    proposed was solved itself and is not rounded afterwards.
    """
    others = {k: v for k, v in asked_mm.items() if k != name}
    try:
        loose = solve_shape(family, construction, others, overall_mm)
        check_sound(loose)
    except DesignError:
        return None
    d = family.dimension(name, construction)
    good = round(min(max(loose.values_mm[name], d.least_mm), d.greatest_mm) * 100)
    bad, found = asked_mm[name] * 100, False
    for _ in range(_HALVINGS):
        middle = round((good + bad) / 2)
        if middle == good or abs(good - bad) <= 1:
            break
        if _works(family, construction, {**others, name: middle / 100}, overall_mm):
            good, found = middle, True
        else:
            bad = middle
    return good / 100 if found or _works(family, construction, {**others, name: good / 100}, overall_mm) else None
