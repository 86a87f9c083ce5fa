"""The knife, finished once: every paper asks it, and each answer is computed when it is first asked for. No files."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from blankwright.base.arrays import Array
from blankwright.base.errors import GeometryError, RequestError
from blankwright.base.finding import Figure, Finding
from blankwright.base.frozen import dataclass
from blankwright.design.nearest import solve_sound
from blankwright.design.request import Design
from blankwright.design.shape import Shape
from blankwright.geometry.offset import Parallel
from blankwright.geometry.outline import Outline
from blankwright.knife.blank import cut_outline, oversize_of
from blankwright.knife.cautions import cautions
from blankwright.knife.code import design_code
from blankwright.knife.cutter import as_cut, cutter_findings
from blankwright.knife.face import FaceLines, face_lines
from blankwright.knife.forging import Forging, forging_of
from blankwright.knife.handle import Handle, bored_through, handle_of
from blankwright.knife.heat import Heat, heat_findings, heat_of
from blankwright.knife.holes import MadeHole, made_holes
from blankwright.knife.kinds import of_kind
from blankwright.knife.materials import check_materials
from blankwright.knife.rough import FoundStock, found_stock, rough_findings
from blankwright.knife.rules import design_figures, design_findings
from blankwright.knife.start import Start, start_of
from blankwright.knife.torch import Guide, guide_of
from blankwright.knife.weights import Weights, unweighed, weigh
from blankwright.shop.allowance import Allowance
from blankwright.shop.records import UNKNOWN, Material, Process
from blankwright.shop.services import Service
from blankwright.shop.tables import material, process
from blankwright.solid.ground import Ground, ground_by
from blankwright.solid.mass import FlatBlank, flat_blank
from blankwright.solid.stations import BenchStation, stations

if TYPE_CHECKING:
    from blankwright.knife.scallops import Scallops


@dataclass(frozen=True, eq=False)
class Knife:
    """One knife, from its request to its weights.

    Args:
        design: The request, with defaults filled in.
        shape: The solved shape.
        service: Who cuts it, where a service or an own table does; None for the plain file.
        asked: The design as its maker asked for it, before the service decided how it is cut.
    """

    design: Design
    shape: Shape
    service: Service | None
    asked: Design

    @property
    def finished(self) -> Outline:
        """The finished outline."""
        return self.shape.finished

    @property
    def construction(self) -> str:
        """full, hidden or one-piece."""
        return self.design.construction

    @property
    def stock_mm(self) -> float:
        """Thickness of the stock [mm]."""
        return self.design.stock.thickness_mm

    @cached_property
    def code(self) -> str:
        """The short code that stands on every paper."""
        return design_code(self.design)

    @cached_property
    def material(self) -> Material:
        """What blade and tang are made of; of found steel nobody knows the grade, unless the maker names it."""
        named = material(self.design.stock.grade, "[material] grade")
        of_steel = named.kind in ("steel", "stainless")
        if self.design.start == "found" and of_steel and not self.design.asked("material.grade"):
            return material(UNKNOWN)
        return named

    @property
    def chromium(self) -> bool:
        """Whether its steel is rich in chromium, as stainless is, or may be, where nobody knows the grade."""
        steel = self.material
        rich = steel.kind == "stainless" or steel.rich_in_chromium
        return rich or not (self.start.known or self.start.wooden)

    @cached_property
    def start(self) -> Start:
        """From what the work starts; it decides what is still to be made."""
        return start_of(self.design, self.material)

    @cached_property
    def process(self) -> Process | None:
        """How the blank is cut; None for one that is bought."""
        return None if self.start.bought else process(self.design.cutting.process, "[cutting] process")

    @cached_property
    def found(self) -> FoundStock | None:
        """What is known of the found piece it is made of; None where nothing is, or none is found."""
        return found_stock(self.design, self.start)

    @cached_property
    def forging(self) -> Forging | None:
        """What is forged, and from how much steel; None where nothing is."""
        density = self.material.density_kg_m3.value
        return forging_of(self.design, self.start, self.cut, self.ground, self.shape.front_x_mm, density)

    @cached_property
    def holes(self) -> tuple[MadeHole, ...]:
        """Its holes and how each is made."""
        return made_holes(self.design, self.shape, self.start, self.service)

    @cached_property
    def pins(self) -> tuple[MadeHole, ...]:
        """The holes for pins."""
        return tuple(h for h in self.holes if h.hole.purpose == "pin")

    @cached_property
    def allowance(self) -> Allowance | None:
        """Oversize by region; None for a bought blank, which has none."""
        way = self.process
        return (
            None
            if way is None
            else oversize_of(self.design, self.finished, self.material, way.name, heated=self.start.heated)
        )

    @property
    def oversize(self) -> Allowance:
        """The allowance of a blank that is to be cut.

        Raises:
            RequestError: The blank is bought: nothing is cut.
        """
        if self.allowance is None:
            raise RequestError(
                f"[start] from: the work starts {self.start.words}; its outline is cut already, so there is no cutting "
                "file. blankwright make DESIGN writes the other papers, without --service and without layers in --with."
            )
        return self.allowance

    @cached_property
    def outward(self) -> Parallel | None:
        """The outline to cut and what happened on the way to it; None for a bought blank."""
        return None if self.allowance is None else cut_outline(self.shape.smooth, self.allowance.regions_mm)

    @property
    def cut(self) -> Outline:
        """The blank's outline: as it is cut, or as it was bought, which is the finished one."""
        return self.finished if self.outward is None else self.outward.outline

    @cached_property
    def guide(self) -> Guide | None:
        """What a torch in the hand runs along, outside the cut; None where nothing is run along a guide."""
        return guide_of(self.design, self.cut, self.process)

    @cached_property
    def cut_blank(self) -> FlatBlank:
        """The blank as it leaves the cutter, or as it was bought."""
        if self.outward is None:
            return self.finished_blank
        circles = [
            (h.hole.x_mm, h.hole.y_mm, h.made.cut_diameter_mm) for h in self.holes if h.made.cut_diameter_mm is not None
        ]
        return self._plate(self.cut, circles)

    @cached_property
    def finished_blank(self) -> FlatBlank:
        """The blank ground to the line, holes made, not yet bevelled."""
        return self._plate(self.finished, [h.circle for h in self.holes])

    @property
    def blank_mass_g(self) -> float:
        """What the blank weighs as the work finds it [g]: flat, or with the bevels that it has already."""
        ground = self.weights.ground_blade if self.start.ground else None
        return self.cut_blank.mass_g if ground is None else ground.mass_g

    def _plate(self, outline: Outline, circles: list[tuple[float, float, float]]) -> FlatBlank:
        density = self.material.density_kg_m3.value
        return flat_blank(outline, circles, thickness_mm=self.stock_mm, density_kg_m3=density)

    @cached_property
    def ground(self) -> Ground:
        """How the steel, or the board, is ground."""
        return ground_by(self.design, self.finished, self.shape.front_x_mm, hardened=self.start.heated)

    @cached_property
    def heat(self) -> Heat | None:
        """How it is hardened and tempered; None where it is not, or where nothing is known of its steel."""
        return heat_of(self.design, self.material, self.start, blunt=self.ground.bevels.blunt)

    @property
    def single(self) -> bool:
        """Whether the blade is ground on one face only."""
        return self.ground.bevels.right_share in (0.0, 1.0)

    @cached_property
    def face(self) -> FaceLines:
        """Grind line and plunge line."""
        return face_lines(self.finished, self.edge_line, self.ground)

    @cached_property
    def handle(self) -> Handle | None:
        """Scales, block or the board's own end; None for a hidden tang whose block is not described."""
        return handle_of(self.design, self.shape, self.material, self.ground.taper, self.holes)

    @property
    def block(self) -> Outline | None:
        """The block on a hidden tang seen from the side; None without one."""
        return self.handle.outline if self.handle is not None and self.handle.kind == "block" else None

    @cached_property
    def weights(self) -> Weights:
        """What it weighs, part by part and stage by stage, and where it balances."""
        try:
            return weigh(self.shape, self.holes, self.ground, self.material, self.handle)
        except GeometryError as error:
            return unweighed(str(error))

    @cached_property
    def scallops(self) -> Scallops | None:
        """The scallops of its edge; None for a plain one."""
        if "scallop_pitch" not in self.shape.values_mm:
            return None
        from blankwright.knife.scallops import scallops_of  # noqa: PLC0415 - few edges have them

        return scallops_of(self.shape)

    @property
    def edge_line(self) -> Outline:
        """The outline with the edge that is ground and measured from: of scallops the line of their points."""
        return self.shape.edge_line

    @cached_property
    def stations(self) -> tuple[BenchStation, ...]:
        """What the grinder sets and measures along the blade; scallops are not laid on a stone."""
        g = self.ground
        length = self.shape.values_mm["blade_length"]
        found = stations(self.edge_line, g.taper, g.bevels, g.before, self.stock_mm, length)
        if self.scallops is not None:
            return tuple(replace(s, raise_mm=(None, None), gap_mm=(None, None)) for s in found)
        return tuple(found)

    @cached_property
    def findings(self) -> tuple[Finding, ...]:
        """What the rules of the trade say of the design."""
        holes = [h.hole for h in self.holes]
        found = design_findings(
            self.shape, holes, self.ground, self._block, self.allowance, self.outward, wooden=self.start.wooden
        )
        if self.shape.there is not None:
            from blankwright.knife.blankholes import play_findings  # noqa: PLC0415 - few knives begin with a blank

            found += play_findings(self.design, holes)
        rough = rough_findings(self.found, self.forging)
        return (*found, *rough, *heat_findings(self.heat), *cutter_findings(self.asked, self.service, self.allowance))

    @cached_property
    def figures(self) -> tuple[Figure, ...]:
        """What is worth knowing of the design and cannot be wrong."""
        found = design_figures(self.shape, self._block)
        if self.shape.there is not None:
            from blankwright.knife.blankholes import rod_figure  # noqa: PLC0415 - few knives begin with a blank

            rod = rod_figure(self.design)
            found = [found[0], *((rod,) if rod else ()), *found[1:]]
        return tuple(found)

    @property
    def guided(self) -> bool:
        """Whether the handle is bored through the tang's holes.

        Not through those of a blank: whether the bit fills them, or cuts in hard steel, nobody knows.
        """
        pins = self.design.pins
        return pins is not None and not self.start.bought and bored_through(pins)

    @property
    def _block(self) -> Handle | None:
        return self.handle if self.construction == "hidden" else None

    @cached_property
    def cautions(self) -> str:
        """The usual cautions for this stock, this start and this way of cutting."""
        return cautions(self.start, self.process, drilled=bool(self.holes), chromium=self.chromium)

    def per_piece(self, by_region: Mapping[str, float]) -> Array:
        """Return a figure by region as (n,) one for each finished piece."""
        return np.array([by_region[r] for r in self.finished.regions])


def finish(design: Design, shape: Shape | None = None, service: Service | None = None) -> Knife:
    """Solve a design.

    Args:
        design: The request.
        shape: The solved shape, when it is at hand: only settings changed.
        service: Who cuts the blank, where a service or an own table does.

    Raises:
        RequestError: Something in the request is wrong, or a machine is to cut what is asked for by hand.
        DesignError: The dimensions or holes do not go together.
    """
    check_materials(design)
    asked, design = design, as_cut(of_kind(design), service)
    shape = shape or solve_sound(design.family, design.construction, design.dimensions_mm, design.overall_mm)
    if shape.there is not None:
        from blankwright.knife.blankholes import with_its_holes  # noqa: PLC0415 - few knives begin with a blank

        design = with_its_holes(design, shape)
    _check_settings(design)
    knife = Knife(design, shape, service, asked)
    _ = knife.holes  # a hole that does not fit is told at once
    return knife


def _check_settings(design: Design) -> None:
    """Refuse settings that contradict each other."""
    stock, grind = design.stock.thickness_mm, design.grind
    for key, value in (("behind_edge", grind.behind_edge_mm), ("tip_thickness", grind.tip_thickness_mm)):
        if value is not None and design.asked(f"grind.{key}") and value > stock:
            raise RequestError(f"[grind] {key}: {value:g} mm is more than the stock's {stock:g} mm.")
