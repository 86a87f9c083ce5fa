"""What a knife weighs, stage by stage, and where it balances: the order of computing."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from blankwright.errors import GeometryError, RequestError
from blankwright.geometry.clip import behind
from blankwright.shop.holes import scale_hole_mm
from blankwright.shop.tables import material
from blankwright.solid.blade import Taper
from blankwright.solid.knife import SECTIONS, Body, pin, scales, steel, together
from blankwright.solid.section import Bevels
from blankwright.workpiece import Workpiece


@dataclass(frozen=True)
class Weights:
    """Weights beyond the flat blank; None where nothing computes them yet.

    Args:
        ground_blade: Blade and tang after grinding, before the handle.
        handle: Scales and pins; None for a hidden tang, whose block is not drawn yet, and no handle for one piece.
        finished_knife: All of it.
        why_not: Why something is None, in words; empty when all is known.
    """

    ground_blade: Body | None
    handle: Body | None
    finished_knife: Body | None
    why_not: str

    @property
    def balance_mm(self) -> float | None:
        """Centre of mass ahead of the heel along x [mm], negative behind it."""
        return self.finished_knife.centre_mm[0] if self.finished_knife else None


@lru_cache(maxsize=8)
def weigh(work: Workpiece) -> Weights:
    """Weigh a knife from its outline, grind and handle.

    Raises:
        RequestError: A hollow grind without its wheel, or a scale section that is not known.
    """
    design = work.design
    if design.settings.get("grind.bevel") == "single":
        return Weights(None, None, None, "a single bevel is not weighed yet")
    try:
        ground = _ground(work)
    except GeometryError as error:
        return Weights(None, None, None, f"this blade is not weighed yet: {error}")
    if design.construction == "one-piece":
        return Weights(ground, Body(0.0, (0.0, 0.0, 0.0)), ground, "")
    if design.construction == "hidden":
        return Weights(ground, None, None, "the handle's block on a hidden tang is not drawn yet")
    handle = _handle(work)
    return Weights(ground, handle, together([ground, handle]), "")


def bevels_of(work: Workpiece) -> Bevels:
    """Return the grind of a design."""
    design = work.design
    height = design.settings.get("grind.height", "full")
    wheel = design.settings.get("grind.wheel")
    kind = design.word("grind.kind")
    if kind == "hollow" and not isinstance(wheel, (int, float)):
        raise RequestError("[grind] wheel is missing: a hollow grind needs its wheel's diameter, such as 400 mm.")
    return Bevels(
        kind=kind,
        height_mm=float(height) if isinstance(height, (int, float)) else None,
        behind_edge_mm=design.number("grind.behind_edge"),
        edge_angle_deg=design.number("grind.edge_angle"),
        wheel_mm=float(wheel) if kind == "hollow" and isinstance(wheel, (int, float)) else None,
    )


def _ground(work: Workpiece) -> Body:
    design = work.design
    thickness = design.number("material.thickness")
    tip = min(design.number("grind.tip_thickness"), thickness)
    end = work.finished.bounds_mm[2]
    return steel(
        work.finished,
        [(h.hole.x_mm, h.hole.y_mm, h.hole.diameter_mm) for h in work.holes],
        Taper((0.0, end), (thickness, tip)),
        bevels_of(work),
        thickness_mm=thickness,
        density_kg_m3=work.material.density_kg_m3.value,
    )


def _handle(work: Workpiece) -> Body:
    design = work.design
    section = design.word("scales.section")
    if section not in SECTIONS:
        raise RequestError(f"[scales] section: '{section}' is unknown. Allowed: {', '.join(SECTIONS)}.")
    each = design.number("scales.thickness")
    pins = [h.hole for h in work.holes if h.hole.purpose == "pin"]
    through = [h.hole for h in work.holes if h.hole.purpose == "lanyard"]
    holes = [(h.x_mm, h.y_mm, h.diameter_mm) for h in through]
    if pins:
        wide, _ = scale_hole_mm(design.number("pins.diameter"), design.word("pins.fit"))
        holes += [(h.x_mm, h.y_mm, wide) for h in pins]
    wood = scales(
        behind(work.finished, work.shape.front_x_mm, "front"),
        holes,
        section=section,
        thickness_mm=each,
        density_kg_m3=material(design.word("scales.material")).density_kg_m3.value,
    )
    rods = [
        pin(
            h.x_mm,
            h.y_mm,
            diameter_mm=design.number("pins.diameter"),
            length_mm=design.number("material.thickness") + 2 * each,
            density_kg_m3=material(design.word("pins.material")).density_kg_m3.value,
        )
        for h in pins
    ]
    return together([wood, *rods])
