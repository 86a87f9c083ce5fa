"""The way from a request to a workpiece: solve, holes, allowance, cut outline, weights, findings. No files."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from blankwright.base.errors import DesignError, GeometryError, RequestError
from blankwright.base.finding import Finding
from blankwright.design.block import block_outline, has_block
from blankwright.design.nearest import solve_sound
from blankwright.design.parts import REGIONS
from blankwright.design.request import Design
from blankwright.design.solve import Shape
from blankwright.design.tang import Hole, place_holes
from blankwright.geometry.offset import Parallel, parallel
from blankwright.geometry.outline import Outline
from blankwright.geometry.weld import without_short_pieces
from blankwright.knife.grind_rules import BlockAround
from blankwright.knife.rules import design_findings
from blankwright.shop import holes as shop_holes
from blankwright.shop.allowance import Allowance, allowance
from blankwright.shop.records import Figure, Material
from blankwright.shop.tables import material
from blankwright.solid.ground import ground_by
from blankwright.solid.mass import Plate, plate

Array = NDArray[np.float64]

LIFT_MM = 0.004
"""The cut outline is drawn this much further out than asked, so that rounding in any reader errs to the safe
side and ramps (biarcs within 0.001 mm) never come nearer than asked."""

SHORTEST_MM = 0.012
"""Shorter pieces of the cut outline are joined to their neighbours: a cutter stalls or skips on them, and the
inspection refuses those below 0.01 mm."""


@dataclass(frozen=True)
class MadeHole:
    """A hole with what the shop does to it."""

    hole: Hole
    made: shop_holes.HoleCut


@dataclass(frozen=True, eq=False)
class FinishedPart:
    """The finished blank of a knife: what it will be, whatever it is cut with.

    Args:
        design: The request, with defaults filled in.
        shape: The solved knife.
        holes: Its holes and how each is made.
        pin_fit: The figure behind the pin holes, or None without pins.
        material: The stock.
    """

    design: Design
    shape: Shape
    holes: tuple[MadeHole, ...]
    pin_fit: Figure | None
    material: Material

    @property
    def finished(self) -> Outline:
        """The finished outline."""
        return self.shape.finished


@dataclass(frozen=True, eq=False)
class Workpiece(FinishedPart):
    """Everything computed about one blank.

    Args:
        allowance: Oversize by region.
        parallel: The cut outline and what happened on the way to it.
        cut_blank: The blank as it leaves the cutter.
        finished_blank: The same ground to the line, holes made, not yet bevelled.
        findings: What the rules say.
    """

    allowance: Allowance
    parallel: Parallel
    cut_blank: Plate
    finished_blank: Plate
    findings: tuple[Finding, ...]

    @property
    def cut(self) -> Outline:
        """The outline to cut."""
        return self.parallel.outline

    def per_piece(self, by_region: dict[str, float]) -> Array:
        """Return a figure by region as (n,) one for each finished piece."""
        return np.array([by_region[r] for r in self.finished.regions])


def finish(design: Design, shape: Shape | None = None) -> FinishedPart:
    """Solve a design up to its finished blank.

    Args:
        design: The request.
        shape: The solved shape, when it is at hand: only settings changed.

    Raises:
        RequestError: Something in the request is wrong.
        DesignError: The dimensions or holes do not go together.
    """
    stock = material(design.word("material.grade"), "[material] grade")
    thickness = design.number("material.thickness")
    _check_settings(design, thickness)
    shape = shape or solve_sound(design.family, design.construction, design.dimensions_mm, design.overall_mm)
    holes, fit = _holes(design, shape, design.word("cutting.process"), thickness)
    return FinishedPart(design, shape, holes, fit, stock)


def prepare(design: Design) -> Workpiece:
    """Solve a design and compute its blank.

    Args:
        design: The request.

    Raises:
        RequestError: Something in the request is wrong.
        DesignError: The dimensions or holes do not go together.
    """
    part = finish(design)
    thickness, density = design.number("material.thickness"), part.material.density_kg_m3.value
    oversize = oversize_of(design, part.finished, part.material, design.word("cutting.process"))
    outward = cut_outline(part.shape.smooth, oversize.regions_mm)
    cut_blank = plate(
        outward.outline,
        [(h.hole.x_mm, h.hole.y_mm, h.made.cut_diameter_mm) for h in part.holes if h.made.cut_diameter_mm is not None],
        thickness_mm=thickness,
        density_kg_m3=density,
    )
    finished_blank = plate(
        part.finished,
        [(h.hole.x_mm, h.hole.y_mm, h.hole.diameter_mm) for h in part.holes],
        thickness_mm=thickness,
        density_kg_m3=density,
    )
    findings = design_findings(
        part.shape,
        [h.hole for h in part.holes],
        oversize.regions_mm,
        oversize.loss_mm,
        outward.others,
        outward.collapsed,
        ground_by(design, part.finished, part.shape.front_x_mm, hardened=part.material.kind != "wood"),
        _block_around(part),
    )
    return Workpiece(
        design, part.shape, part.holes, part.pin_fit, part.material,
        oversize, outward, cut_blank, finished_blank, tuple(findings),
    )  # fmt: skip


def _block_around(part: FinishedPart) -> BlockAround | None:
    """Return the block on a hidden tang, or None without one."""
    design = part.design
    if not has_block(design):
        return None
    outline = block_outline(part.shape, design.number("block.front_height"), design.number("block.butt_height"))
    return BlockAround(outline, design.number("block.width"), design.number("material.thickness"))


def _check_settings(design: Design, thickness_mm: float) -> None:
    """Refuse settings that contradict each other or name what no table knows."""
    for key in ("pins.material", "scales.material"):
        if key in design.settings:
            material(design.word(key), f"[{key.split('.')[0]}] material")
    for key in ("grind.behind_edge", "grind.tip_thickness"):
        if key in design.settings and design.sources[key] == "asked" and design.number(key) > thickness_mm:
            raise RequestError(
                f"[grind] {key.split('.')[1]}: {design.number(key):g} mm is more than the stock's {thickness_mm:g} mm."
            )


def oversize_of(design: Design, finished: Outline, stock: Material, process: str) -> Allowance:
    """Return the allowance of a design cut by a process; the design's own figures go before the process's.

    Raises:
        RequestError: Unknown process, or one that does not cut this stock.
    """
    return allowance(
        process,
        thickness_mm=design.number("material.thickness"),
        size_mm=max(finished.size_mm),
        material_kind=stock.kind,
        notch_after_hardening=design.settings.get("cutting.heel_notch") == "after hardening",
        overrides={r: design.number(f"allowance.{r}") for r in REGIONS if f"allowance.{r}" in design.settings},
    )


def cut_outline(finished: Outline, regions_mm: dict[str, float]) -> Parallel:
    """Return the outline to cut: the finished one moved out by its regions' allowances, coordinates on the grid.

    Args:
        finished: The finished outline with its regions, before rounding where there is one (Shape.smooth).
        regions_mm: Allowance by region [mm]; 0 everywhere is allowed and gives the finished outline.

    Raises:
        DesignError: The allowance cannot be laid around this outline.
    """
    distance = np.array([regions_mm[r] for r in finished.regions]) + LIFT_MM
    try:
        found = parallel(finished, distance)
    except GeometryError as error:
        raise DesignError(
            f"The allowance cannot be laid around this outline: {error}. Use a smaller allowance."
        ) from None
    outline = without_short_pieces(found.outline, SHORTEST_MM).on_grid()
    return replace(found, outline=outline, others=tuple(o.on_grid() for o in found.others))


def _holes(design: Design, shape: Shape, process: str, thickness: float) -> tuple[tuple[MadeHole, ...], Figure | None]:
    settings = design.settings
    count = int(design.number("pins.count")) if "pins.count" in settings else 0
    positions = settings.get("pins.positions", ())
    by_hand = tuple(positions) if isinstance(positions, tuple) else ()
    if by_hand and design.sources.get("pins.count") != "asked":
        count = len(by_hand)  # pins placed by hand are counted by hand
    hole, fit = 0.0, None
    if count:
        hole, fit = shop_holes.finished_hole_mm(design.number("pins.diameter"), design.word("pins.fit"))
    placed = place_holes(
        shape,
        pin_count=count,
        pin_hole_mm=hole,
        pin_positions_mm=by_hand,
        pin_spacing_mm=design.number("pins.spacing") if "pins.spacing" in settings else None,
        lightening_count=int(design.number("tang.lightening_count")) if "tang.lightening_count" in settings else 0,
        lightening_mm=design.number("tang.lightening_diameter") if "tang.lightening_diameter" in settings else None,
        lanyard_mm=design.number("tang.lanyard_diameter") if "tang.lanyard_diameter" in settings else None,
        thickness_mm=thickness,
    )
    made = tuple(
        MadeHole(
            h,
            shop_holes.decide(process, thickness_mm=thickness, diameter_mm=h.diameter_mm, purpose=h.purpose),
        )
        for h in placed
    )
    return made, fit
