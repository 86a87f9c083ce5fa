"""Thickness of the steel along the knife, from a design's numbers or a named taper."""

from __future__ import annotations

from blankwright.base.errors import RequestError
from blankwright.design.request import Design
from blankwright.design.settings import GrindWish
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
    stock, wish = design.stock.thickness_mm, design.grind
    _check(design)
    named = wish.taper
    heel = _thickness("spine_heel", wish.spine_heel_mm, stock) or stock
    tip = heel if named == "none" else min(_tip_mm(wish), heel)
    given = {0.0: heel, end_x_mm: tip}
    for key, x, asked in (
        ("spine_middle", end_x_mm / 2, wish.spine_middle_mm),
        ("spine_near_tip", end_x_mm - NEAR_TIP_MM, wish.spine_near_tip_mm),
    ):
        value = _thickness(key, asked, stock)
        if value is None:
            continue
        if x <= _LEAST_APART_MM or any(abs(x - other) < _LEAST_APART_MM for other in given):
            raise RequestError(f"[grind] {key}: on this blade its place falls on another one's; give only one of them.")
        given[x] = value
    if len(given) == 2 and named not in ("none", "straight"):
        given |= {
            end_x_mm * i / _STEPS: heel + (tip - heel) * share_thinned(named, i / _STEPS) for i in range(1, _STEPS)
        }
    butt = design.tang.butt_thickness_mm
    if butt is not None and design.construction != "one-piece":
        if butt > stock:
            raise RequestError(f"[tang] butt_thickness: {butt:g} mm is more than the stock's {stock:g} mm.")
        given |= {rear_x_mm: butt, front_x_mm - _BEHIND_FRONT_MM: stock}
    elif heel != stock:
        given[front_x_mm] = stock
    places = sorted(given)
    return Taper(tuple(places), tuple(given[x] for x in places))


_BEHIND_FRONT_MM = 0.02
"""A tang's taper begins this far behind the handle's front: shoulders stand upright just there."""


def _thickness(key: str, value_mm: float | None, stock_mm: float) -> float | None:
    if value_mm is not None and value_mm > stock_mm:
        raise RequestError(f"[grind] {key}: {value_mm:g} mm is more than the stock's {stock_mm:g} mm.")
    return value_mm


def _tip_mm(wish: GrindWish) -> float:
    if wish.tip_thickness_mm is None:
        raise RequestError("[grind] tip_thickness is missing: neither the design nor the family gives it.")
    return wish.tip_thickness_mm


def _check(design: Design) -> None:
    """Refuse a named taper beside numbers that say something else."""
    wish, named = design.grind, design.asked("grind.taper")
    numbers = [key for key in ("spine_middle", "spine_near_tip") if design.asked(f"grind.{key}")]
    if named and wish.taper != "straight" and numbers:
        raise RequestError(f"[grind] taper: give either a named taper or {' and '.join(numbers)}, not both.")
    if named and wish.taper == "none" and design.asked("grind.tip_thickness"):
        raise RequestError("[grind] taper: 'none' and a tip_thickness contradict each other; leave one out.")
