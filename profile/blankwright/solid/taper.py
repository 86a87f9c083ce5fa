"""Thickness of the steel along the knife, from a design's numbers or a named taper."""

from __future__ import annotations

from blankwright.base.errors import RequestError
from blankwright.design.request import Design
from blankwright.solid.blade import Taper

NEAR_TIP_MM = 50.0
"""A thickness "near the tip" is measured this far before it (common practice)."""

_STEPS = 16
_LEAST_APART_MM = 0.5


def share_thinned(taper: str, way: float) -> float:
    """Return how much of the thinning from heel to tip is done, a share of the way along.

    straight: evenly. late: with the square of the way. early: the late one turned round. Our own shapes, drawn after
    common practice: a knife for slicing thins evenly, one for heavier work keeps its spine until near the tip.
    """
    if taper == "none":
        return 0.0
    return {"straight": way, "early": 1 - (1 - way) ** 2, "late": way**2}[taper]


def taper_of(design: Design, *, front_x_mm: float, end_x_mm: float, rear_x_mm: float) -> Taper:
    """Return the thickness of a knife's steel along x.

    Args:
        design: The request.
        front_x_mm: x of the handle's front [mm].
        end_x_mm: x of the tip [mm].
        rear_x_mm: x of the tang's rear end [mm].

    Raises:
        RequestError: Numbers and a named taper contradict each other, or something is thicker than the stock.
    """
    stock = design.number("material.thickness")
    _check(design, stock)
    named = str(design.settings.get("grind.taper", "straight"))
    heel = _thickness(design, "spine_heel", stock) or stock
    tip = heel if named == "none" else min(design.number("grind.tip_thickness"), heel)
    given = {0.0: heel, end_x_mm: tip}
    for key, x in (("spine_middle", end_x_mm / 2), ("spine_near_tip", end_x_mm - NEAR_TIP_MM)):
        value = _thickness(design, key, stock)
        if value is None:
            continue
        if x <= _LEAST_APART_MM or any(abs(x - other) < _LEAST_APART_MM for other in given):
            raise RequestError(f"[grind] {key}: on this blade its place falls on another one's; give only one of them.")
        given[x] = value
    if len(given) == 2 and named not in ("none", "straight"):
        given |= {
            end_x_mm * i / _STEPS: heel + (tip - heel) * share_thinned(named, i / _STEPS) for i in range(1, _STEPS)
        }
    butt = design.settings.get("tang.butt_thickness")
    if isinstance(butt, (int, float)) and design.construction != "one-piece":
        if butt > stock:
            raise RequestError(f"[tang] butt_thickness: {butt:g} mm is more than the stock's {stock:g} mm.")
        given |= {rear_x_mm: float(butt), front_x_mm - _BEHIND_FRONT_MM: stock}
    elif heel != stock:
        given[front_x_mm] = stock
    places = sorted(given)
    return Taper(tuple(places), tuple(given[x] for x in places))


_BEHIND_FRONT_MM = 0.02
"""A tang's taper begins this far behind the handle's front: shoulders stand upright just there."""


def _thickness(design: Design, key: str, stock: float) -> float | None:
    value = design.settings.get(f"grind.{key}")
    if not isinstance(value, (int, float)):
        return None
    if value > stock:
        raise RequestError(f"[grind] {key}: {value:g} mm is more than the stock's {stock:g} mm.")
    return float(value)


def _check(design: Design, stock: float) -> None:
    """Refuse a named taper beside numbers that say something else."""
    asked = {k.split(".")[1] for k, source in design.sources.items() if k.startswith("grind.") and source == "asked"}
    numbers = sorted(asked & {"spine_middle", "spine_near_tip"})
    if "taper" in asked and design.word("grind.taper") != "straight" and numbers:
        raise RequestError(f"[grind] taper: give either a named taper or {' and '.join(numbers)}, not both.")
    if "taper" in asked and design.word("grind.taper") == "none" and "tip_thickness" in asked:
        raise RequestError("[grind] taper: 'none' and a tip_thickness contradict each other; leave one out.")
