"""What to buy and what to cut: pieces with size and mass, and what they cost at given prices."""

from __future__ import annotations

from math import prod
from typing import TYPE_CHECKING

from blankwright.base.frozen import dataclass
from blankwright.base.said import Quantity, Size, Standing
from blankwright.knife.knife import Knife
from blankwright.sheet.handlestages import pin_lengths_mm, sawn
from blankwright.sheet.model import BESIDE, Row, Stage, Table
from blankwright.sheet.quantities import computed, lines
from blankwright.solid.mass import G_PER_MM3_PER_KG_M3

if TYPE_CHECKING:
    from blankwright.sheet.prices import Prices

_PIECE = computed("least sizes of the pieces and their densities; saw and planing come on top")


@dataclass(frozen=True)
class Item:
    """One thing to buy.

    Args:
        key: Its key in a file of prices.
        name: What it is.
        pieces: How many.
        size_mm: Its size [mm]; diameter and length of a rod.
        mass_g: Mass of all pieces [g].
    """

    key: str
    name: str
    pieces: int
    size_mm: tuple[float, ...]
    mass_g: float


def items(knife: Knife) -> tuple[Item, ...]:
    """Return what the knife needs of stock, handle material and rod."""
    flat = knife.finished.size_mm if knife.start.bought else knife.cut.size_mm
    density = knife.material.density_kg_m3.value * G_PER_MM3_PER_KG_M3
    size: tuple[float, ...] = (*flat, knife.stock_mm)
    mass = knife.blank_mass_g if knife.start.bought else prod(size) * density
    name = f"{'blank' if knife.start.bought else 'stock'}: {knife.material.title}"
    if knife.found is not None:
        size = (*flat, knife.found.found_mm or knife.found.least_mm)
        name, mass = f"found piece: {knife.material.title}", prod(size) * density
    forging = knife.forging
    if forging is not None and forging.bars:
        bar = forging.bars[0]
        name, size = f"bar to forge: {knife.material.title}", (bar.cut_off_mm, bar.width_mm, bar.thickness_mm)
        mass = prod(size) * density
    found = [Item("stock", name, 1, size, mass)]
    piece = sawn(knife)
    if piece is not None:
        grams = piece.count * prod(piece.size_mm) * piece.density_kg_m3 * G_PER_MM3_PER_KG_M3
        found.append(Item("handle", f"{piece.name}: {piece.material.title}", piece.count, piece.size_mm, grams))
        pins, rod = knife.design.pins, piece.rod_material
        if pins is not None and rod is not None:
            across = pins.diameter_mm
            length = sum(round(each, 1) for each in pin_lengths_mm(knife))  # as the sheet has them cut
            mass = length * across**2 * 0.7853981633974483 * rod.density_kg_m3.value * G_PER_MM3_PER_KG_M3
            found.append(Item("pins", f"rod: {rod.title}", 1, (across, length), mass))
    return tuple(found)


def shopping(knife: Knife, prices: Prices | None) -> Stage:
    """Return the list of what to buy and cut.

    Args:
        knife: The knife.
        prices: The user's prices, or None.
    """
    needed = items(knife)
    rows = tuple(
        Row(
            i.name,
            (str(i.pieces), Size(i.size_mm, 2 if i.key == "pins" else 1), Quantity(i.mass_g, "g", 1)),
            _PIECE,
            card=BESIDE if i.key == "stock" else "",
        )
        for i in needed
    )
    tables = [Table("To buy and cut", ("pieces", "least size", "mass"), rows, _PIECE, {1: ""})]
    if prices is not None:
        tables.append(_costs(needed, prices))
    glued = any(i.key == "handle" for i in needed)
    return Stage(
        "list",
        "To have ready",
        tables=tuple(tables),
        ready=lines(
            *(("Glue for handles with its label and data sheet, gloves, clamps.",) if glued else ()),
            *((f"Layout dye or a marker, scriber,{'' if knife.start.bought else ' centre punch,'} file, and "
               f"{_coupons(knife)}.",) if knife.start.heated else ()),
            *((_wood_tools(knife),) if knife.start.wooden else ()),
            "Mask, goggles and ear protection that fit.",
        ),
    )  # fmt: skip


def _wood_tools(knife: Knife) -> str:
    """Say what the stages of a wooden blade work with."""
    saw = "" if knife.start.bought else "Saw, "
    tools = f"{saw}plane, rasp, file, pencil, sandpaper in the grits below, and an oil that may touch food."
    return tools[:1].upper() + tools[1:]


def _coupons(knife: Knife) -> str:
    """Say how many coupons there are to be, as at the stage that hardens them, and of what."""
    count = "three coupons" if not knife.start.known else "a coupon"
    if knife.start.bought:
        return f"{count} of the same steel: ask the seller"
    if knife.start.name == "found":
        return f"{count}: what the piece leaves beside the knife, or another piece of the same origin"
    return f"{count} of the same bar"


def _costs(needed: tuple[Item, ...], prices: Prices) -> Table:
    """Return what everything with a price costs, and the sum."""
    where = Standing(f"your prices in {prices.source}, times the list above", "computed")
    rows, total = [], 0.0
    by_key = {i.key: i for i in needed}
    for key, price in prices.by_item.items():
        item = by_key.get(key)
        if item is None and key not in ("cutting", "glue"):
            continue
        amount = 1.0
        if item is not None:
            amount = {"kg": item.mass_g / 1000, "m": max(item.size_mm) / 1000, "piece": item.pieces}[price.per]
        total += amount * price.amount
        rows.append(Row(f"{key}, {price.amount:g} per {price.per}", (_money(amount * price.amount, prices),), where))
    rows.append(Row("together", (_money(total, prices),), where))
    return Table("Cost", (prices.currency,), tuple(rows))


def _money(value: float, prices: Prices) -> Quantity:
    return Quantity(value, prices.currency, 2)
