"""What a knife weighs, part by part and stage by stage, and where it balances: the order of computing."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import prod

import numpy as np

from blankwright.base.errors import GeometryError, RequestError
from blankwright.design.block import block_outline, has_block, wood_around_mm
from blankwright.design.request import Design
from blankwright.geometry.clip import behind
from blankwright.geometry.outline import Outline
from blankwright.knife.knife import FinishedPart
from blankwright.shop.holes import scale_hole_mm
from blankwright.shop.tables import material
from blankwright.solid.blade import Strips, Taper, lay_out
from blankwright.solid.bodies import Body, together
from blankwright.solid.ground import Ground, ground_by
from blankwright.solid.handle import Swell, block, pin, scales
from blankwright.solid.mass import G_PER_MM3_PER_KG_M3
from blankwright.solid.section import Bevels
from blankwright.solid.steel import steel, tang_behind

PINCH_AHEAD_MM = 10.0
"""A pinch grip holds the blade about half a finger's breadth ahead of the heel (common practice)."""

N_PER_KG = 9.80665
"""Standard acceleration of free fall (exact by convention)."""

_NO_BLOCK = "the block on the hidden tang is not described: give [block] material, width, heights and section"
_TANG_MM = 0.02
"""The block's slot is measured this far behind the handle's front, where the shoulders stand upright."""


@dataclass(frozen=True)
class Part:
    """One part of the finished knife.

    Args:
        name: What it is, in words.
        body: Its mass and centre.
        density_kg_m3: Its density [kg/m^3].
    """

    name: str
    body: Body
    density_kg_m3: float

    @property
    def volume_mm3(self) -> float:
        """Volume [mm^3]."""
        return self.body.mass_g / (self.density_kg_m3 * G_PER_MM3_PER_KG_M3)


@dataclass(frozen=True)
class Weights:
    """Weights beyond the flat blank; None where nothing can compute them.

    Args:
        before_hardening: Blade and tang ground, the edge left thick; None for a knife that is not hardened.
        ground_blade: Blade and tang ground and sharpened, before the handle.
        handle: Scales or block, and pins; no mass for one piece.
        finished_knife: All of it.
        parts: What the finished knife is made of.
        why_not: Why something is None, in words; empty when all is known.
    """

    before_hardening: Body | None
    ground_blade: Body | None
    handle: Body | None
    finished_knife: Body | None
    parts: tuple[Part, ...]
    why_not: str

    @property
    def balance_mm(self) -> float | None:
        """Centre of mass ahead of the heel along x [mm], negative behind it."""
        return self.finished_knife.centre_mm[0] if self.finished_knife else None

    @property
    def pinch_nmm(self) -> float | None:
        """Moment about a pinch grip [N mm]; positive when the tip wants to drop."""
        if self.finished_knife is None:
            return None
        arm = self.finished_knife.centre_mm[0] - PINCH_AHEAD_MM
        return self.finished_knife.mass_g / 1000 * N_PER_KG * arm


@lru_cache(maxsize=8)
def weigh(part: FinishedPart) -> Weights:
    """Weigh a knife from its outline, grind and handle.

    Raises:
        RequestError: A setting is missing or contradicts another one.
    """
    design = part.design
    ground = ground_of(part)
    density = part.material.density_kg_m3.value
    try:
        laid = lay_out(part.finished, ground.taper, [b for b in (ground.bevels, ground.before) if b], ground.plunge)
        finished = _steel(part, ground, ground.bevels, laid)
        before = _steel(part, ground, ground.before, laid) if ground.before else None
        handle = _handle_parts(part, ground.taper)
    except GeometryError as error:
        return Weights(None, None, None, None, (), f"this knife is not weighed: {error}")
    if handle is None:
        return Weights(before, finished, None, None, (), _NO_BLOCK)
    parts = (Part("blade" if design.construction == "one-piece" else "blade and tang", finished, density), *handle)
    held = together([p.body for p in handle]) if handle else Body(0.0, (0.0, 0.0, 0.0))
    return Weights(before, finished, held, together([p.body for p in parts]), parts, "")


def ground_of(part: FinishedPart) -> Ground:
    """Return how a design's steel is ground.

    Raises:
        RequestError: A setting is missing or contradicts another one.
    """
    return ground_by(part.design, part.finished, part.shape.front_x_mm, hardened=part.material.kind != "wood")


def _steel(part: FinishedPart, ground: Ground, bevels: Bevels, laid: Strips) -> Body:
    return steel(
        part.finished,
        [(h.hole.x_mm, h.hole.y_mm, h.hole.diameter_mm) for h in part.holes],
        ground.taper,
        bevels,
        density_kg_m3=part.material.density_kg_m3.value,
        plunge=ground.plunge,
        laid=laid,
    )


def _handle_parts(part: FinishedPart, taper: Taper) -> tuple[Part, ...] | None:
    """Return what the handle is made of; None when the block on a hidden tang is not described."""
    design = part.design
    if design.construction == "one-piece":
        return ()
    if design.construction == "hidden" and not has_block(design):
        return None
    whole = _scales(part) if design.construction == "full" else _block(part, taper)
    pins = [h.hole for h in part.holes if h.hole.purpose == "pin"]
    if not pins:
        return (whole,)
    metal = material(design.word("pins.material")).density_kg_m3.value
    swell = handle_swell(part)
    rods = []
    for i, h in enumerate(pins):
        length = swell.at(h.x_mm)
        if design.construction == "full":
            length = 2 * length + float(taper.at(np.array([h.x_mm]))[0])
        rod = pin(h.x_mm, h.y_mm, diameter_mm=design.number("pins.diameter"), length_mm=length, density_kg_m3=metal)
        rods.append(Part(f"pin {i + 1}", rod, metal))
    return (whole, *rods)


def handle_swell(part: FinishedPart) -> Swell:
    """Return the thickness along the handle: of one scale, or of the whole block."""
    design = part.design
    table, key = ("scales", "thickness") if design.construction == "full" else ("block", "width")
    more = design.settings.get(f"{table}.swell", 0.0)
    more_mm = float(more) if isinstance(more, (int, float)) else 0.0
    return Swell(design.number(f"{table}.{key}"), more_mm, part.shape.front_x_mm, part.shape.butt_x_mm)


def handle_outline(part: FinishedPart) -> Outline:
    """Return the plan of one scale, or of the block on a hidden tang."""
    design = part.design
    if design.construction == "full":
        return behind(part.finished, part.shape.front_x_mm, "front")
    return block_outline(part.shape, design.number("block.front_height"), design.number("block.butt_height"))


def _scales(part: FinishedPart) -> Part:
    design = part.design
    density = density_of(design, "scales")
    body = scales(
        handle_outline(part),
        handle_bores(part),
        section=design.word("scales.section"),
        swell=handle_swell(part),
        density_kg_m3=density,
    )
    return Part("scales", body, density)


def _block(part: FinishedPart, taper: Taper) -> Part:
    design = part.design
    width = design.number("block.width")
    stock = design.number("material.thickness")
    if width <= stock:
        raise RequestError(f"[block] width: {width:g} mm leaves no wood beside a tang of {stock:g} mm.")
    plan = handle_outline(part)
    around = wood_around_mm(part.shape, plan)
    if around <= 0:
        raise RequestError(
            f"[block] front_height, butt_height: the tang stands {-around:.1f} mm out of the block. Make the block "
            "higher or the tang lower."
        )
    density = density_of(design, "block")
    tang = tang_behind(part.finished, taper, part.shape.front_x_mm - _TANG_MM)
    wood, steel_only = handle_swell(part), Swell(stock, 0.0, 0.0, -1.0)
    bores = handle_bores(part)
    body = block(plan, tang, bores, section=design.word("block.section"), swell=wood,
                 density_kg_m3=density, through=steel_only)  # fmt: skip
    return Part("handle block", body, density)


def handle_bores(part: FinishedPart) -> list[tuple[float, float, float]]:
    """Return x, y and diameter of the holes through the handle; lightening holes stay hidden in it [mm]."""
    design = part.design
    pins = [h.hole for h in part.holes if h.hole.purpose == "pin"]
    bores = [(h.hole.x_mm, h.hole.y_mm, h.hole.diameter_mm) for h in part.holes if h.hole.purpose == "lanyard"]
    if pins:
        wide, _ = scale_hole_mm(design.number("pins.diameter"), design.word("pins.fit"))
        bores += [(h.x_mm, h.y_mm, wide) for h in pins]
    return bores


def density_of(design: Design, table: str) -> float:
    """Return the density of the scales or the block: of a weighed piece, or of the material's row [kg/m^3].

    Raises:
        RequestError: Only one of weight and size of the weighed piece is given.
    """
    mass, size = design.settings.get(f"{table}.weighed"), design.settings.get(f"{table}.weighed_size")
    if mass is None and size is None:
        return material(design.word(f"{table}.material"), f"[{table}] material").density_kg_m3.value
    if not isinstance(mass, (int, float)) or not isinstance(size, tuple):
        raise RequestError(f"[{table}]: give both weighed and weighed_size of your piece, or neither.")
    density = mass / prod(size) / G_PER_MM3_PER_KG_M3
    if not 80 <= density <= 12000:
        raise RequestError(
            f"[{table}] weighed: {mass:g} g in {' x '.join(f'{s:g}' for s in size)} mm is {density:.0f} kg/m3, which "
            "no handle is made of. Check units and size."
        )
    return density
