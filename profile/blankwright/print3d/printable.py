"""The solids of a knife to print and hold: blade with tang, handle, and all of it in one piece."""

from __future__ import annotations

from typing import TYPE_CHECKING

from blankwright.base.errors import DesignError, GeometryError
from blankwright.knife.handle import Handle
from blankwright.knife.knife import Knife
from blankwright.print3d.mesh import Mesh
from blankwright.print3d.unions import (
    block_taper,
    bore,
    clipped_front,
    on_plane,
    scale_solids,
    steel_solid,
    tang_solid,
    tidy,
)
from blankwright.solid.blade import Taper
from blankwright.solid.ground import Ground

if TYPE_CHECKING:
    from manifold3d import Manifold

_FAR_MM = 100.0  # no handle is as thick
_HELD_MM = 1.0


def solids(knife: Knife) -> dict[str, Mesh]:
    """Return the closed meshes of a knife by name: blade, handle and knife; no handle for one piece.

    In the knife, holes that the handle hides and the gaps round the pins are filled: it prints in one piece.

    Raises:
        RequestError: A setting is missing or contradicts another one.
        DesignError: Something cannot be built as a solid; the message says why.
    """
    if knife.handle is None:
        raise DesignError(
            "There is no solid to print yet: the block on the hidden tang is not described. Give [block] material, "
            "width, heights and section, or leave stl out of --with."
        )
    try:
        bodies = _bodies(knife)
        tidied = {body: tidy(body) for body in dict.fromkeys(bodies.values())}  # a board's blade is the knife
        return {name: tidied[body] for name, body in bodies.items()}
    except GeometryError as error:
        raise DesignError(
            f"This knife cannot be written as a solid to print: {error}. Change that, or leave stl out of --with."
        ) from None


def _bodies(knife: Knife) -> dict[str, Manifold]:
    ground = knife.ground
    holes = [(h.hole.x_mm, h.hole.y_mm, h.hole.diameter_mm) for h in knife.holes]
    line = knife.edge_line
    hollowed = None if line is knife.finished else knife.finished
    blade = steel_solid(line, holes, ground.taper, ground.bevels, ground.plunge, hollowed)
    if knife.handle is None or not knife.handle.apart:
        return {"blade": blade, "knife": blade}
    make = _with_scales if knife.handle.kind == "scales" else _with_block
    handle, whole = make(knife, knife.handle, ground)
    for h in knife.holes:
        if h.hole.purpose == "lanyard":
            whole = whole - bore(h.hole.x_mm, h.hole.y_mm, h.hole.diameter_mm, _FAR_MM)
    # what the handle hides is filled: only what lies ahead of its front is taken from the blade, and of a hidden tang
    # a little more, which holds both together
    front = knife.shape.front_x_mm
    ahead = clipped_front(blade, front if knife.construction == "full" else front - _HELD_MM)
    return {"blade": blade, "handle": handle, "knife": on_plane(ahead, front) + on_plane(whole, front)}


def _with_scales(knife: Knife, handle: Handle, ground: Ground) -> tuple[Manifold, Manifold]:
    """Return both scales bored, with their pins, and scales and tang as one body."""
    one, both = scale_solids(handle.outline, handle.section, handle.swell, ground.taper)
    for x, y, diameter in handle.bores:
        one = one - bore(x, y, diameter, _FAR_MM)
    return _pinned(handle, one + one.mirror((0.0, 0.0, 1.0)), both), both


def _with_block(knife: Knife, handle: Handle, ground: Ground) -> tuple[Manifold, Manifold]:
    """Return the block with its slot and bores, with its pins, and the block full."""
    front, swell = knife.shape.front_x_mm, handle.swell
    half = type(swell)(swell.thickness_mm / 2, swell.more_mm / 2, swell.front_mm, swell.rear_mm)
    nothing: Taper = block_taper(front)
    _, full = scale_solids(handle.outline, handle.section, half, nothing)
    hollow = full - tang_solid(knife.finished, ground.taper, front)
    for x, y, diameter in handle.bores:
        hollow = hollow - bore(x, y, diameter, _FAR_MM)
    return _pinned(handle, hollow, full), full


def _pinned(handle: Handle, hollow: Manifold, whole: Manifold) -> Manifold:
    """Return the handle with its pins, filed flush with it."""
    for rod in handle.rods:
        hollow = hollow + (bore(rod.x_mm, rod.y_mm, rod.diameter_mm, _FAR_MM) ^ whole)
    return hollow
