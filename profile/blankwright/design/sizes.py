"""Which value every dimension shall have: asked, followed from another, or the family's default."""

from __future__ import annotations

import math
from collections.abc import Mapping

from blankwright.base.errors import DesignError, RequestError, unknown
from blankwright.base.units import decimals_apart, show_mm
from blankwright.design.parts import CONSTRUCTIONS, Dimension, Family

TANG_COVER_MM = 3.0
"""Our rule: wood left behind the end of a hidden tang."""
SAME_MM = 1e-6
"""Two ways of asking for one length agree when they differ by no more than the promise of the solve."""


def resolve(
    family: Family, construction: str, asked_mm: Mapping[str, float], overall_mm: float | None
) -> dict[str, float]:
    """Return a value for every dimension of a construction [mm].

    Args:
        family: The family.
        construction: full, hidden or one-piece.
        asked_mm: Asked dimensions by name [mm].
        overall_mm: Overall length when asked [mm]; blade or handle gives way to it.

    Raises:
        RequestError: Unknown names, or a value outside its range.
        DesignError: Overall, blade and handle length contradict each other.
    """
    if construction not in family.curves:
        known = [c for c in CONSTRUCTIONS if c in family.curves]
        raise unknown("construction", construction, known, f"family {family.name}")
    for name, value in asked_mm.items():
        check_range(family.dimension(name, construction), value, family)
    asked = dict(asked_mm)
    if overall_mm is not None:
        _share_overall(family, construction, asked, overall_mm)
    values: dict[str, float] = {}
    for d in family.offered(construction):
        values[d.name] = asked[d.name] if d.name in asked else _followed(d, values, family, construction)
    _check_reach(family, construction, values)
    return values


def _check_reach(family: Family, construction: str, values: Mapping[str, float]) -> None:
    """Refuse a hidden tang that comes out of its handle."""
    if "tang_length" not in values:
        return
    most = values["handle_length"] - TANG_COVER_MM
    if values["tang_length"] > most + SAME_MM:
        key = family.dimension("tang_length", construction).key
        raise DesignError(
            f"{key} {show_mm(values['tang_length'])} is too long for a handle of {show_mm(values['handle_length'])}: "
            f"at most {show_mm(most)} works, or a longer handle."
        )


def check_range(d: Dimension, value_mm: float, family: Family) -> None:
    """Refuse a value outside a dimension's range, with the range in the message."""
    if not math.isfinite(value_mm) or not d.least_mm - SAME_MM <= value_mm <= d.greatest_mm + SAME_MM:
        value = show_mm(value_mm, digits=decimals_apart(value_mm, d.least_mm, d.greatest_mm))
        raise RequestError(
            f"family {family.name}, {d.key}: {value} is out of range. "
            f"Allowed: {show_mm(d.least_mm)} to {show_mm(d.greatest_mm)} ({d.meaning})."
        )


def _followed(d: Dimension, values: dict[str, float], family: Family, construction: str) -> float:
    if d.follows is None:
        return d.default_mm
    of, power = d.follows
    leader = family.dimension(of, construction)
    value = d.default_mm * (values[of] / leader.default_mm) ** power if leader.default_mm else d.default_mm
    return min(max(value, d.least_mm), d.greatest_mm)


def _share_overall(family: Family, construction: str, asked: dict[str, float], overall_mm: float) -> None:
    """Give the blade, or the handle when the blade is asked, what an asked overall length leaves."""
    blade, handle, gap = (family.dimension(n, construction) for n in ("blade_length", "handle_length", "handle_gap"))
    gap_mm = asked.get(gap.name, gap.default_mm)
    if blade.name in asked and handle.name in asked:
        total = asked[blade.name] + gap_mm + asked[handle.name]
        if abs(total - overall_mm) > SAME_MM:
            raise DesignError(
                f"overall length {show_mm(overall_mm)} contradicts {blade.key} {show_mm(asked[blade.name])} + "
                f"{gap.key} {show_mm(gap_mm)} + {handle.key} {show_mm(asked[handle.name])} = {show_mm(total)}. "
                f"Leave one of them out, or ask for an overall length of {show_mm(total)}."
            )
        return
    if blade.name in asked:
        giving, rest = handle, overall_mm - gap_mm - asked[blade.name]
    else:
        giving, rest = blade, overall_mm - gap_mm - asked.get(handle.name, handle.default_mm)
    if not giving.least_mm <= rest <= giving.greatest_mm:
        low, high = overall_mm - rest + giving.least_mm, overall_mm - rest + giving.greatest_mm
        raise DesignError(
            f"overall length {show_mm(overall_mm)} would leave {giving.key} {show_mm(rest)}, outside "
            f"{show_mm(giving.least_mm)} to {show_mm(giving.greatest_mm)}. With the other dimensions as they are, "
            f"an overall length of {show_mm(low)} to {show_mm(high)} works."
        )
    asked[giving.name] = rest
