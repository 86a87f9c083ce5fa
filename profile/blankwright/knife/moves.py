"""What moves weight and balance: real re-solves of a design with one thing changed at a time."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from blankwright.base.errors import BlankwrightError
from blankwright.base.frozen import dataclass
from blankwright.base.said import Line, exact_mm, said
from blankwright.design.request import Design
from blankwright.knife.knife import Knife, finish
from blankwright.shop.tables import material

STOCK_MM, TIP_MM, HANDLE_MM, WOOD_MM, BLADE_MM, HEEL_MM = 0.1, 0.2, 5.0, 1.0, 5.0, 1.0
"""How much of each is tried: steps that a maker would think of."""

BUTT_MM = 1.5
"""What the end of a tang is tapered to."""

HOLE_MM = 8.0
"""Diameter of a further lightening hole where the design names none."""

DENSE, DENSER = "african-ebony", "glass-epoxy"
"""A heavy wood and a laminate to compare the handle's material with."""

ONE_MORE, NO_ROOM, NOT_POSSIBLE = "one more", "no room", "not possible"


@dataclass(frozen=True)
class Move:
    """What one change brings.

    Args:
        change: The change in words and lengths.
        grams: What the finished knife weighs more [g]; None when the change cannot be made.
        balance_mm: How far its balance moves toward the tip [mm]; None as before.
        why_not: Why the change cannot be made; empty when it can.
        in_short: The same in a word or two, for a table.
    """

    change: Line
    grams: float | None
    balance_mm: float | None
    why_not: str
    in_short: str


def what_moves_it(knife: Knife) -> tuple[Move, ...]:
    """Return what each of some small changes brings; nothing when the knife cannot be weighed.

    Args:
        knife: The knife.
    """
    return tuple(each_move(knife))


def each_move(knife: Knife) -> Iterator[Move]:
    """Yield what each of some small changes brings, one solve at a time, for whoever may not want them all."""
    here = knife.weights.finished_knife
    if here is None:
        return
    for change, design, same_shape in _changed(knife):
        try:
            there = finish(design, knife.shape if same_shape else None).weights.finished_knife
        except BlankwrightError as error:
            short = NO_ROOM if change.words.startswith(ONE_MORE) else NOT_POSSIBLE
            yield Move(change, None, None, str(error), short)
            continue
        if there is not None:
            yield Move(change, there.mass_g - here.mass_g, there.centre_mm[0] - here.centre_mm[0], "", "")


def with_setting(design: Design, key: str, value: float | int | str) -> Design:
    """Return a design with one setting changed."""
    return replace(design, settings={**design.settings, key: value}, sources={**design.sources, key: "asked"})


def with_dimension(design: Design, name: str, value_mm: float) -> Design:
    """Return a design with one dimension asked for."""
    return replace(design, dimensions_mm={**design.dimensions_mm, name: value_mm})


def _changed(knife: Knife) -> Iterator[tuple[Line, Design, bool]]:
    """Yield a change in words, the changed design, and whether its outline stays the same.

    On a bought blank outline, holes and stock stand: only what grinding and the handle decide is tried.
    """
    if knife.start.bought:
        yield from () if knife.start.ground else _thinner_tip(knife)
        yield from _other_handle(knife) if knife.construction != "one-piece" else ()
        return
    design, values = knife.design, knife.shape.values_mm
    thickness = knife.stock_mm
    thicker = with_setting(design, "material.thickness", thickness + STOCK_MM)
    yield said("stock {} thicker", exact_mm(STOCK_MM)), thicker, True
    yield from _thinner(knife)
    if design.construction != "one-piece":
        yield from _handle(knife)
    for name, step, words in (("handle_length", HANDLE_MM, "handle"), ("blade_length", BLADE_MM, "blade")):
        if name in values and design.overall_mm is None:
            yield said("{} {} longer", words, exact_mm(step)), with_dimension(design, name, values[name] + step), False
    higher = with_dimension(design, "heel_height", values["heel_height"] + HEEL_MM)
    yield said("heel {} higher", exact_mm(HEEL_MM)), higher, False


def _thinner(knife: Knife) -> Iterator[tuple[Line, Design, bool]]:
    design = knife.design
    yield from _thinner_tip(knife)
    butt = float(knife.ground.taper.thickness_mm[0])
    if design.construction != "one-piece" and butt > BUTT_MM and not knife.start.wooden:
        tapered = with_setting(design, "tang.butt_thickness", BUTT_MM)
        yield said("tang tapered to {} at its end", exact_mm(BUTT_MM)), tapered, True


def _thinner_tip(knife: Knife) -> Iterator[tuple[Line, Design, bool]]:
    design, wish = knife.design, knife.design.grind
    if wish.taper != "none" and wish.tip_thickness_mm is not None:
        tip = min(wish.tip_thickness_mm, knife.stock_mm)
        yield said("tip {} thinner", exact_mm(TIP_MM)), with_setting(design, "grind.tip_thickness", tip - TIP_MM), True


def _other_handle(knife: Knife) -> Iterator[tuple[Line, Design, bool]]:
    design = knife.design
    full = design.construction == "full"
    table, key, words = ("scales", "thickness", "scales") if full else ("block", "width", "block")
    now = design.settings.get(f"{table}.{key}")
    if isinstance(now, float):
        less = now - WOOD_MM
        yield (
            said("{} {} thinner" + (" each" if full else ""), words, exact_mm(WOOD_MM)),
            with_setting(design, f"{table}.{key}", less),
            True,
        )
    plain = replace(design, settings={k: v for k, v in design.settings.items() if not k.startswith(f"{table}.weighed")})
    for name in (DENSE, DENSER):
        title = material(name).title
        yield said("{} of {}", words, title), with_setting(plain, f"{table}.material", name), True


def _handle(knife: Knife) -> Iterator[tuple[Line, Design, bool]]:
    design = knife.design
    yield from _other_handle(knife)
    width = design.tang.lightening_diameter_mm or HOLE_MM
    count = design.tang.lightening_count + 1
    more = with_setting(with_setting(design, "tang.lightening_diameter", width), "tang.lightening_count", count)
    yield said(f"{ONE_MORE} lightening hole of {{}}", exact_mm(width)), more, True
