"""The order of the work: which stages a knife has, from blank to edge. Steel is never heated before it is drilled."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from blankwright.base.errors import RequestError
from blankwright.base.units import MM_PER_INCH
from blankwright.knife.cautions import STEEL_CAUTION, WOOD_CAUTION
from blankwright.knife.knife import Knife
from blankwright.knife.words import CONSTRUCTION_WORDS
from blankwright.sheet import blank, cutstage, finish, grind, handlestages, heat, rough, shaping, shopping, temper
from blankwright.sheet.drillbits import tang_bits
from blankwright.sheet.head import head
from blankwright.sheet.model import Sheet, Stage
from blankwright.sheet.quantities import OWN

if TYPE_CHECKING:
    from blankwright.sheet.prices import Prices

HEAT = ("coupon", "forge", "normalise", "harden", "cold", "temper")
"""Codes of the stages at which steel is made hot on purpose."""

CLOSING = (
    "Local rules, the makers' data sheets and licensed practice come first: where they say otherwise than this sheet, "
    "they are right."
)


def sheet_of(knife: Knife, prices: Prices | None = None, hand: str | None = None) -> Sheet:
    """Return the build sheet of a knife.

    Args:
        knife: The knife.
        prices: The user's prices, or None.
        hand: The hand that will hold it, in words, or None.

    Raises:
        RequestError: Start and stock do not go together, or no such hand.
    """
    design = knife.design
    family = design.family.title
    stock = f"{knife.material.title}, {knife.stock_mm:g} mm ({knife.stock_mm / MM_PER_INCH:.3f} in)"
    subtitle = f"{family}, {CONSTRUCTION_WORDS[knife.construction]}, {knife.start.words}; {stock}"
    stages = (head(knife), *in_order(knife, prices, hand))
    check_order(stages)
    return Sheet(
        design.title,
        subtitle,
        knife.code,
        stages,
        f"{WOOD_CAUTION if knife.start.wooden else STEEL_CAUTION} {CLOSING}",
        OWN,
    )


def in_order(knife: Knife, prices: Prices | None, hand: str | None) -> tuple[Stage, ...]:
    """Return the stages of a knife after the head, in the order of the work."""
    if knife.start.wooden:
        return _wooden(knife, prices, hand)
    start = knife.start
    drilled = bool(knife.holes) and not start.bought
    found = [shopping.shopping(knife, prices), blank.stock(knife)]
    if not start.known and start.heated:
        found.append(heat.coupon(knife))
    if start.name == "forged":
        found.append(rough.forge(knife))
    if not start.bought:
        found += [cutstage.cut(knife), blank.profile(knife)]
    if drilled:
        found.append(blank.drill(knife, tang_bits(knife)))
    gripped = [shaping.grip(knife, hand)] if knife.construction == "one-piece" else []
    if not start.hard:
        found += gripped
    if start.heated:
        found += _hardened(knife)
    found += [
        grind.as_ground(knife) if start.ground else grind.to_finish(knife),
        *(gripped if start.hard else ()),
        finish.blade(knife),
    ]
    found += _handle(knife, hand)
    return (*found, finish.edge(knife), finish.care(knife))


def _hardened(knife: Knife) -> list[Stage]:
    """Return the stages from soft to hard; freezing comes before the temper or after it, as the steel wants."""
    cold, first = temper.cold(knife), knife.heat is not None and knife.heat.cold_first
    stages = (
        heat.normalise(knife),
        grind.before_hardening(knife),
        heat.harden(knife),
        cold if first else None,
        temper.temper(knife),
        None if first else cold,
    )
    return [stage for stage in stages if stage is not None]


def _wooden(knife: Knife, prices: Prices | None, hand: str | None) -> tuple[Stage, ...]:
    found = [shopping.shopping(knife, prices), blank.stock(knife)]
    if not knife.start.bought:
        found += [cutstage.cut(knife), blank.profile(knife)]
        if knife.holes:
            found.append(blank.drill(knife, tang_bits(knife)))
    found.append(grind.thin_wood(knife))
    one_piece = knife.construction == "one-piece"
    found.append(shaping.grip(knife, hand) if one_piece else handlestages.fit_handle(knife, hand))
    shaped = shaping.shape(knife)
    found += [finish.edge(knife), replace(shaped, tables=(finish.sanding(handlestages.handle_kind(knife)),))]
    return (*found, finish.care(knife))


def _handle(knife: Knife, hand: str | None) -> list[Stage]:
    if knife.construction == "one-piece":
        return []
    return [
        handlestages.fit_handle(knife, hand),
        replace(shaping.shape(knife), tables=(finish.sanding(handlestages.handle_kind(knife)),)),
    ]


def check_order(stages: tuple[Stage, ...]) -> None:
    """Refuse an order in which steel is hardened before its holes are drilled.

    Raises:
        RequestError: It is.
    """
    codes = [stage.code for stage in stages]
    if "drill" in codes and "harden" in codes and codes.index("harden") < codes.index("drill"):
        raise RequestError("the order of the stages hardens the steel before its holes are drilled.")
