"""What a knife weighs, part by part and stage by stage, and where it balances: the order of computing."""

from __future__ import annotations

from collections.abc import Sequence

from blankwright.base.frozen import dataclass
from blankwright.design.shape import Shape
from blankwright.geometry.outline import Outline
from blankwright.knife.handle import Handle
from blankwright.knife.holes import MadeHole
from blankwright.shop.records import Material
from blankwright.solid.blade import Taper, lay_out
from blankwright.solid.bodies import Body, together
from blankwright.solid.ground import Ground
from blankwright.solid.handlebodies import Swell, block, pin, scales
from blankwright.solid.mass import G_PER_MM3_PER_KG_M3
from blankwright.solid.section import Bevels
from blankwright.solid.steel import steel, tang_behind

PINCH_AHEAD_MM = 10.0
"""A pinch grip holds the blade about half a finger's breadth ahead of the heel (common practice)."""

N_PER_KG = 9.80665
"""Standard acceleration of free fall (exact by convention)."""

NO_BLOCK = "the block on the hidden tang is not described: give [block] material, width, heights and section"
_TANG_MM = 0.02
"""The block's slot is measured this far behind the handle's front, where the shoulders stand upright."""


@dataclass(frozen=True)
class KnifePart:
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
    parts: tuple[KnifePart, ...]
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


def weigh(shape: Shape, holes: Sequence[MadeHole], ground: Ground, stock: Material, handle: Handle | None) -> Weights:
    """Weigh a knife from its outline, grind and handle; scallops are cut out of the blade that is ground without them.

    Args:
        shape: The solved shape.
        holes: Its holes.
        ground: How it is ground.
        stock: What blade and tang are made of.
        handle: Its handle; None for a hidden tang whose block is not described.

    Raises:
        GeometryError: A part of it has no volume that can be computed.
    """
    finished, line = shape.finished, shape.edge_line
    hollowed = None if line is finished else finished
    laid = lay_out(line, ground.taper, [b for b in (ground.bevels, ground.before) if b], ground.plunge)
    density = stock.density_kg_m3.value

    def body(bevels: Bevels) -> Body:
        circles = [h.circle for h in holes]
        return steel(
            line, circles, ground.taper, bevels, density_kg_m3=density, plunge=ground.plunge, laid=laid,
            hollowed=hollowed,
        )  # fmt: skip

    sharp, before = body(ground.bevels), body(ground.before) if ground.before else None
    if handle is None:
        return Weights(before, sharp, None, None, (), NO_BLOCK)
    blade = KnifePart("blade and tang" if handle.apart else "blade", sharp, density)
    parts = (blade, *(handle_parts(handle, finished, ground.taper) if handle.apart else ()))
    held = together([p.body for p in parts[1:]]) if handle.apart else Body(0.0, (0.0, 0.0, 0.0))
    return Weights(before, sharp, held, together([p.body for p in parts]), parts, "")


def unweighed(why: str) -> Weights:
    """Return the weights of a knife that cannot be weighed, with the reason."""
    return Weights(None, None, None, None, (), f"this knife is not weighed: {why}")


def handle_parts(handle: Handle, finished: Outline, taper: Taper) -> tuple[KnifePart, ...]:
    """Return what scales or block and pins weigh."""
    make = _scales if handle.kind == "scales" else _block
    whole = make(handle, finished, taper)
    if handle.rod_material is None:
        return (whole,)
    metal = handle.rod_material.density_kg_m3.value
    rods = [
        pin(r.x_mm, r.y_mm, diameter_mm=r.diameter_mm, length_mm=r.length_mm, density_kg_m3=metal) for r in handle.rods
    ]
    return (whole, *(KnifePart(f"pin {i + 1}", rod, metal) for i, rod in enumerate(rods)))


def _scales(handle: Handle, finished: Outline, taper: Taper) -> KnifePart:
    body = scales(
        handle.outline, list(handle.bores), section=handle.section, swell=handle.swell,
        density_kg_m3=handle.density_kg_m3,
    )  # fmt: skip
    return KnifePart("scales", body, handle.density_kg_m3)


def _block(handle: Handle, finished: Outline, taper: Taper) -> KnifePart:
    """Weigh the block less its slot and what its bores take beside the steel."""
    tang = tang_behind(finished, taper, handle.swell.front_mm - _TANG_MM)
    slot = Swell(handle.slot_mm, 0.0, 0.0, -1.0)
    body = block(
        handle.outline, tang, list(handle.bores), section=handle.section, swell=handle.swell,
        density_kg_m3=handle.density_kg_m3, through=slot,
    )  # fmt: skip
    return KnifePart("handle block", body, handle.density_kg_m3)
