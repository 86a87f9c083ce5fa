"""The handle: a pair of scales, a block or the board's own end, as one kind of thing."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property
from math import prod
from typing import Literal

import numpy as np

from blankwright.base.errors import RequestError
from blankwright.base.frozen import dataclass
from blankwright.design.block import block_outline, wood_around_mm
from blankwright.design.parts import Family
from blankwright.design.request import Design
from blankwright.design.settings import Block, Pins, Scales
from blankwright.design.shape import Shape
from blankwright.design.tang import chord_at
from blankwright.geometry.clip import behind
from blankwright.geometry.offset import parallel
from blankwright.geometry.outline import Outline
from blankwright.knife.holes import MadeHole
from blankwright.shop.hand import finger_room
from blankwright.shop.holes import finished_hole_mm, scale_hole_mm
from blankwright.shop.records import Material
from blankwright.shop.tables import material
from blankwright.solid.blade import Taper
from blankwright.solid.handlebodies import Swell
from blankwright.solid.mass import G_PER_MM3_PER_KG_M3

Circle = tuple[float, float, float]

ROUND_MM = 3.0
"""Scales and blocks that are sawn by hand are so much larger all round, at the front too: it is shaped before glue-up
(common practice: 3 mm round scales)."""

_LOOK_MM = 0.25
"""A handle is looked at every so far: between two places its underside sinks by less than 0.001 mm."""


@dataclass(frozen=True)
class Rod:
    """A pin, filed flush: place, diameter and length through handle and tang [mm]."""

    x_mm: float
    y_mm: float
    diameter_mm: float
    length_mm: float


@dataclass(frozen=True, eq=False)
class Handle:
    """The handle of a knife.

    Args:
        kind: "scales" on both sides of a full tang, a "block" around a hidden one, or the "board" of one piece.
        outline: One scale, the block or the board behind the handle's front, seen from the side.
        swell: Thickness along it: of one scale, or across block or board.
        section: Its shape across.
        bores: x, y and diameter of the holes through it [mm]; lightening holes stay hidden in it.
        rods: The pins.
        material: What it is made of.
        density_kg_m3: Its density, of a weighed piece or of the material's row [kg/m3].
        rod_material: What the pins are made of; None without.
        slot_mm: Thickness of the steel inside a block; 0 without a slot [mm].
    """

    kind: Literal["scales", "block", "board"]
    outline: Outline
    swell: Swell
    section: str
    bores: tuple[Circle, ...]
    rods: tuple[Rod, ...]
    material: Material
    density_kg_m3: float
    rod_material: Material | None
    slot_mm: float = 0.0

    @property
    def apart(self) -> bool:
        """Whether it is a part of its own, beside the steel or the board."""
        return self.kind != "board"

    @cached_property
    def rough(self) -> Outline:
        """What a scale or block is sawn to by hand, seen from the side: larger all round."""
        return parallel(self.outline, ROUND_MM).outline

    @property
    def pieces(self) -> int:
        """How many pieces it is sawn from."""
        return 2 if self.kind == "scales" else 1


def knuckle_room_mm(shape: Shape, handle: Handle | None) -> float | None:
    """Return how far the handle's underside is above the board halfway along it [mm], no less than 0.

    None for a hidden tang whose block is not described.
    """
    if handle is None and shape.construction == "hidden":
        return None
    outline = handle.outline if handle is not None and handle.kind == "block" else shape.finished
    chord = chord_at(outline, (shape.front_x_mm + shape.butt_x_mm) / 2)
    return max(chord[0], 0.0) if chord else 0.0


def for_the_board(room_mm: float) -> bool:
    """Return whether knuckles have the room they need on a board, as it is printed: to the millimetre.

    Args:
        room_mm: Room under the handle [mm].
    """
    return round(room_mm) >= finger_room().low


def lowest_of_handle(shape: Shape, handle: Handle | None) -> tuple[float, float]:
    """Return the lowest place of a handle, x and y above the board line [mm]; its block where there is one."""
    outline = handle.outline if handle is not None and handle.kind == "block" else shape.finished
    points, _ = outline.sampled(_LOOK_MM)
    behind = points[points[:, 0] <= shape.front_x_mm]
    x, y = behind[int(behind[:, 1].argmin())].tolist()
    return x, y


def drawn_above_board(family: Family) -> bool:
    """Return whether a family's handle is drawn clear of the board line: it is a knife for the board."""
    drawn = family.curves.get("full") or family.curves.get("one-piece") or ()
    return all(y > 0 for curve in drawn if curve.region in ("tang", "butt") for _, y in curve.points)


def handle_of(design: Design, shape: Shape, stock: Material, taper: Taper, holes: Sequence[MadeHole]) -> Handle | None:
    """Return the handle; None for a hidden tang whose block is not described.

    Args:
        design: The request.
        shape: The solved shape.
        stock: What blade and tang are made of.
        taper: Thickness of the steel along the knife.
        holes: The knife's holes.

    Raises:
        RequestError: A setting is missing, or the block does not cover the tang.
        DesignError: The tang is too short for a block.
    """
    thickness, construction = design.stock.thickness_mm, design.construction
    front, butt = shape.front_x_mm, shape.butt_x_mm
    if construction == "one-piece":
        end = behind(shape.finished, front, "front")
        swell = Swell(thickness, 0.0, front, butt)
        return Handle("board", end, swell, "slab", _bores(design, holes), (), stock, stock.density_kg_m3.value, None)
    wish: Scales | Block | None = design.scales if construction == "full" else design.block
    if wish is None:
        return None
    if isinstance(wish, Block):
        plan = block_outline(shape, wish.front_height_mm, wish.butt_height_mm)
        _check_block(wish, shape, plan, thickness)
        swell = Swell(wish.width_mm, wish.swell_mm, front, butt)
    else:
        plan = behind(shape.finished, front, "front")
        swell = Swell(wish.thickness_mm, wish.swell_mm, front, butt)
    table = "block" if isinstance(wish, Block) else "scales"
    made_of = material(wish.material, f"[{table}] material")
    return Handle(
        "block" if isinstance(wish, Block) else "scales", plan, swell, wish.section, _bores(design, holes),
        _rods(design, holes, swell, None if isinstance(wish, Block) else taper), made_of,
        density_of(wish, made_of, table), material(design.pins.material, "[pins] material") if design.pins else None,
        thickness if isinstance(wish, Block) else 0.0,
    )  # fmt: skip


def _check_block(wish: Block, shape: Shape, plan: Outline, stock_mm: float) -> None:
    if wish.width_mm <= stock_mm:
        raise RequestError(f"[block] width: {wish.width_mm:g} mm leaves no wood beside a tang of {stock_mm:g} mm.")
    around = wood_around_mm(shape, plan)
    if around <= 0:
        raise RequestError(
            f"[block] front_height, butt_height: the tang stands {-around:.1f} mm out of the block. Make the block "
            "higher or the tang lower."
        )


def _bores(design: Design, holes: Sequence[MadeHole]) -> tuple[Circle, ...]:
    bores = [h.circle for h in holes if h.hole.purpose == "lanyard"]
    if design.pins:
        wide, _ = scale_hole_mm(design.pins.diameter_mm, design.pins.fit)
        bores += [(h.hole.x_mm, h.hole.y_mm, wide) for h in holes if h.hole.purpose == "pin"]
    return tuple(bores)


def bored_through(pins: Pins) -> bool:
    """Return whether scales are bored through the tang's holes: a hole that is wider guides no bit of theirs."""
    tang, scale = (of(pins.diameter_mm, pins.fit)[0] for of in (finished_hole_mm, scale_hole_mm))
    return tang <= scale


def _rods(design: Design, holes: Sequence[MadeHole], swell: Swell, taper: Taper | None) -> tuple[Rod, ...]:
    """Return the pins; on scales they go through both and the steel between, whose thickness the taper gives."""
    rods = []
    for h in holes:
        if h.hole.purpose != "pin" or design.pins is None:
            continue
        through = swell.at(h.hole.x_mm)
        if taper is not None:
            through = 2 * through + float(taper.at(np.array([h.hole.x_mm]))[0])
        rods.append(Rod(h.hole.x_mm, h.hole.y_mm, design.pins.diameter_mm, through))
    return tuple(rods)


def density_of(wish: Scales | Block, made_of: Material, table: str) -> float:
    """Return the density of scales or block: of a weighed piece, or of the material's row [kg/m3].

    Args:
        wish: What was asked of it.
        made_of: Its material.
        table: Its table in the design file, for messages.

    Raises:
        RequestError: Only one of weight and size of the weighed piece is given, or nothing weighs that.
    """
    mass, size = wish.weighed_g, wish.weighed_size_mm
    if mass is None and size is None:
        return made_of.density_kg_m3.value
    if mass is None or size is None:
        raise RequestError(f"[{table}]: give both weighed and weighed_size of your piece, or neither.")
    density = mass / prod(size) / G_PER_MM3_PER_KG_M3
    if not 80 <= density <= 12000:
        raise RequestError(
            f"[{table}] weighed: {mass:g} g in {' x '.join(f'{s:g}' for s in size)} mm is {density:.0f} kg/m3, which "
            "no handle is made of. Check units and size."
        )
    return density
