"""Which value every dimension shall have: asked, followed from another, or the family's default."""

from __future__ import annotations

import math
from collections.abc import Mapping

from blankwright.base.errors import DesignError, RequestError, unknown
from blankwright.base.units import decimals_apart, show_mm
from blankwright.design.lines import LEAN_UP_MM
from blankwright.design.parts import CONSTRUCTIONS, LEAST_STEP_MM, Dimension, Family

TANG_COVER_MM = 3.0
"""Our rule: wood left behind the end of a hidden tang."""
LEAST_SHOULDER_MM = 2.5
"""Our rule: a shoulder of a hidden tang stands out so far at least, or there is no room for the round at its foot."""
_LOWERED = {"tang_middle": 0.5, "tang_butt": 0.25}
"""Our drawing: how much of what the front of a handle gives up its middle and its butt give up too."""
CHOIL_SHARE = 0.7
"""Our rule: the inner corner between heel and handle takes this share of the heel's height at most."""
LEAN_SHARE = 0.5
"""Our rule: at the handle's underside the line of the heel has come so much of its way back to the handle at most."""
NECK_SHARE = 0.95
"""The same of the way from heel to handle, so that it ends ahead of the handle."""
FLAT_SHARE = 0.9
"""Our rule: the flat of an edge takes this share of the blade at most; the rest is its way up to the tip."""
FALL_SHARE = 0.45
"""Our rule: halfway to the tip a spine has fallen by this share of its whole fall at most; a half is a straight line,
and more is hollow."""
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
        check_range(family.dimension(name, construction), value, family, construction, asked_mm)
    asked = dict(asked_mm)
    if overall_mm is not None:
        _share_overall(family, construction, asked, overall_mm)
    values: dict[str, float] = {}
    for d in family.offered(construction):
        values[d.name] = asked[d.name] if d.name in asked else _followed(d, values, family, construction)
    _check_reach(family, construction, values)
    _check_flat(family, construction, asked, values)
    _check_fall(family, construction, asked, values)
    _step_kept(family, construction, asked, values)
    return values


def step_mm(family: Family, construction: str, values: Mapping[str, float]) -> float | None:
    """Return how far above the board line the handle's underside begins [mm]; None where the family's file draws it."""
    if family.step_mm is None:
        return None
    default = {d.name: d.default_mm for d in family.offered(construction)}
    grown = 0.0 if construction == "hidden" else values["tang_front"] - default["tang_front"]
    step = family.step_mm[construction] + values["heel_height"] - default["heel_height"] - grown
    return max(step, LEAST_STEP_MM) if construction == "hidden" else step


def top_mm(family: Family, values: Mapping[str, float]) -> float:
    """Return how high the handle's front reaches on the blade [mm]."""
    drawn = family.dimension("heel_height", next(iter(family.curves))).default_mm
    return values["heel_height"] - drawn + family.top_mm


def _step_kept(family: Family, construction: str, asked: Mapping[str, float], values: dict[str, float]) -> None:
    """Let a handle that nobody asked for begin lower, and its inner corner be tighter, where the blade is low.

    Raises:
        DesignError: A handle, or a radius, was asked for that the blade's height does not allow.
    """
    step = step_mm(family, construction, values)
    if step is None:
        return
    front = family.dimension("tang_front", construction)
    fits = _tang_fits(family, construction, values, step)
    if values[front.name] > fits + SAME_MM:
        if front.name in asked or fits < front.least_mm - SAME_MM:
            heel = family.dimension("heel_height", construction)
            higher = values[heel.name] + values[front.name] - fits
            raise DesignError(
                f"{front.key} {show_mm(values[front.name])} is too high for a blade of {show_mm(values[heel.name])} at "
                f"the heel. {_instead(asked, (front, _floor(fits)), (heel, -_floor(-higher)))}"
            )
        for name, share in _LOWERED.items():  # the rest of the handle gives way with its front, as far as a hand allows
            if name in values and name not in asked:
                least = family.dimension(name, construction).least_mm
                values[name] = max(values[name] - share * (values[front.name] - fits), least)
        values[front.name] = fits
        step = max(step, LEAST_STEP_MM)
    if "choil_radius" in values:
        if "heel_lean" in asked:
            _check_lean(family.dimension("heel_lean", construction), asked, values, step)
        most = _choil_fits(family, construction, values, step)
        if values["choil_radius"] > most + SAME_MM:
            radius = family.dimension("choil_radius", construction)
            if radius.name in asked:
                raise DesignError(
                    f"{radius.key} {show_mm(values['choil_radius'])} does not fit between heel and handle. "
                    f"{_instead(asked, (radius, _floor(most)))}"
                )
            values["choil_radius"] = most


def _check_lean(lean: Dimension, asked: Mapping[str, float], values: Mapping[str, float], step: float) -> None:
    """Refuse a heel that is asked to lean back as far as its handle, so that no inner corner is left."""
    most = LEAN_SHARE * values["handle_gap"] * LEAN_UP_MM / step
    if values[lean.name] > most + SAME_MM:
        raise DesignError(
            f"{lean.key} {show_mm(values[lean.name])} brings the line of the heel to the handle. "
            f"{_instead(asked, (lean, _floor(most)))}"
        )


def _tang_fits(family: Family, construction: str, values: Mapping[str, float], step: float) -> float:
    """Return how high the tang may be at its front, so that a stone reaches the heel [mm]."""
    if construction == "hidden":
        return top_mm(family, values) - step - 2 * LEAST_SHOULDER_MM
    return values["tang_front"] - (LEAST_STEP_MM - step)


def _choil_fits(family: Family, construction: str, values: Mapping[str, float], step: float) -> float:
    """Return the greatest radius of the inner corner between heel and handle [mm]."""
    *_, neck, corner = family.curves[construction]
    high = step - (corner.joint if isinstance(corner.joint, float) else 0.0)
    slope = neck.points[-1][0] / neck.points[-1][1]
    if "heel_lean" in values:
        lean = family.dimension("heel_lean", construction)
        slope = slope if values[lean.name] == lean.default_mm else -values[lean.name] / LEAN_UP_MM
    long = values["handle_gap"] + step * slope
    return min(CHOIL_SHARE * high, NECK_SHARE * long)


def brought_in(family: Family, construction: str, values: Mapping[str, float]) -> dict[str, float]:
    """Return dimensions of which none stands in another's way: what is too large for the rest is as large as it may be.

    Args:
        family: The family.
        construction: full, hidden or one-piece.
        values: Dimensions by name [mm]; free ones may be left out.
    """
    out = dict(values)

    def at_most(name: str, most_mm: float) -> None:
        least = family.dimension(name, construction).least_mm
        out[name] = max(min(out[name], most_mm), least)

    if "flat_length" in out:
        at_most("flat_length", FLAT_SHARE * out["blade_length"])
    if "spine_drop" in out and family.dimension("spine_drop", construction).free:
        at_most("spine_drop", FALL_SHARE * (out["heel_height"] - out["tip_height"]))
    if "tang_length" in out:
        at_most("tang_length", out["handle_length"] - TANG_COVER_MM)
    step = step_mm(family, construction, out)
    if step is not None:
        at_most("tang_front", _tang_fits(family, construction, out, step))
        if "heel_lean" in out:
            at_most("heel_lean", LEAN_SHARE * out["handle_gap"] * LEAN_UP_MM / step)
        if "choil_radius" in out:
            at_most("choil_radius", _choil_fits(family, construction, out, step_mm(family, construction, out) or step))
    return out


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


def _check_flat(family: Family, construction: str, asked: Mapping[str, float], values: Mapping[str, float]) -> None:
    """Refuse a straight edge that leaves no way to the tip."""
    most = FLAT_SHARE * values["blade_length"]
    if values.get("flat_length", 0.0) > most + SAME_MM:
        flat, blade = (family.dimension(name, construction) for name in ("flat_length", "blade_length"))
        longer = values["flat_length"] / FLAT_SHARE
        raise DesignError(
            f"{flat.key} {show_mm(values['flat_length'])} leaves no way to the tip of a blade of "
            f"{show_mm(values['blade_length'])}. {_instead(asked, (flat, _floor(most)), (blade, -_floor(-longer)))}"
        )


def _check_fall(family: Family, construction: str, asked: Mapping[str, float], values: Mapping[str, float]) -> None:
    """Refuse a spine that is asked to fall so early that it would be hollow."""
    drop = next((d for d in family.offered(construction) if d.name == "spine_drop" and d.free), None)
    if drop is None or drop.name not in asked:
        return
    fall = values["heel_height"] - values["tip_height"]
    if values[drop.name] > FALL_SHARE * fall + SAME_MM:
        raise DesignError(
            f"{drop.key} {show_mm(values[drop.name])} would make the spine hollow: from heel to tip it falls by "
            f"{show_mm(fall)}, and halfway by {FALL_SHARE:.0%} of that at most."
        )


def _floor(value_mm: float) -> float:
    """Round down to the two decimals that are printed: what is printed must work."""
    return math.floor(value_mm * 100) / 100


def _instead(asked: Mapping[str, float], *ways: tuple[Dimension, float]) -> str:
    """Say which asked dimension could give way, and to what."""
    found = [
        f"{d.key} {show_mm(value)} instead of {show_mm(asked[d.name])}"
        for d, value in ways
        if d.name in asked and d.least_mm <= value <= d.greatest_mm
    ]
    if not found:
        return "No single change helps; start from the family's defaults and change one dimension at a time."
    return f"What works with the rest as asked: {'; or '.join(found)}."


def check_range(
    d: Dimension,
    value_mm: float,
    family: Family,
    construction: str = "full",
    asked_mm: Mapping[str, float] | None = None,
) -> None:
    """Refuse a value outside a dimension's range, with the range in the message and who would take what was asked."""
    if not math.isfinite(value_mm) or not d.least_mm - SAME_MM <= value_mm <= d.greatest_mm + SAME_MM:
        from blankwright.design.others import taking  # noqa: PLC0415 - reads every family, and only to refuse

        others = taking(family, construction, asked_mm or {})
        value = show_mm(value_mm, digits=decimals_apart(value_mm, d.least_mm, d.greatest_mm))
        raise RequestError(
            f"family {family.name}, {d.key}: {value} is out of range. "
            f"Allowed: {show_mm(d.least_mm)} to {show_mm(d.greatest_mm)} ({d.meaning})."
            + (f" Families that take it: {', '.join(others)}." if others else "")
        )


def _followed(d: Dimension, values: dict[str, float], family: Family, construction: str) -> float:
    if d.follows is None or d.free:
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
