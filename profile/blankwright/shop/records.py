"""What one row of a trade table is: a figure, a material, a process, a fit. None can be half-built."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from typing import Annotated, Literal, get_args

from blankwright.base.frozen import dataclass
from blankwright.base.readrows import In, TableRow, need
from blankwright.base.said import Status
from blankwright.shop.bands import Rule

REGIONS = ("edge", "spine", "heel", "tang", "butt")
"""The parts of an outline that can carry different allowances."""

Kind = Literal["steel", "stainless", "wood", "laminate", "metal", "bone"]

KINDS: tuple[Kind, ...] = get_args(Kind)
"""What a material is; steels and wood make blades, all but blade steels make handles and fittings."""

PinHoles = Literal["ream", "drill"]
"""What to do with pin holes: cut under and ream, or leave uncut and drill."""

NOZZLE_MM = (2.0, 40.0)
"""Least and greatest radius of a torch's nozzle; more or less is a slip of the unit [mm]."""

UNKNOWN = "unknown"
"""The row of the steels for a piece of which nobody knows the grade; its table of hardening holds steps, no figures."""

PIN_FACTOR = "x pin"
"""Unit of a fit that multiplies the pin's diameter."""

PER_THICKNESS = "x thickness"
"""Unit of a hole limit that multiplies the stock's thickness."""


@dataclass(frozen=True)
class Figure(TableRow):
    """One number with all that is known about it.

    Args:
        value: The number; never negative.
        unit: Its unit, such as "mm" or "kg/m3".
        source: Where it comes from, in words.
        status: How far it can be trusted.
    """

    value: Annotated[float, In(0)]
    unit: str
    source: str
    status: Status


@dataclass(frozen=True)
class Material(TableRow):
    """A steel, a wood, a laminate or a metal.

    Args:
        name: The name used in design files.
        title: The name in words.
        kind: One of KINDS.
        density_kg_m3: Density at room temperature [kg/m3].
        aliases: Other names that mean the same row.
        note: What the maker should know, or empty.
        along: Why a blade is laid along the direction of rolling (common practice); empty where nothing is known.
        trade_name: Whether the name is a mill's trade name, not that of a standard.
        rich_in_chromium: Whether a steel that is not stainless has so much chromium that its fume is as harmful.
    """

    name: str
    title: str
    kind: Kind
    density_kg_m3: Figure
    aliases: tuple[str, ...] = ()
    note: str = ""
    along: str = ""
    trade_name: bool = False
    rich_in_chromium: bool = False

    def check(self) -> None:
        """Refuse a density in another unit; the density of balsa is about 150, of tungsten 19300."""
        density = self.density_kg_m3
        need(density.unit == "kg/m3", f"density must be in kg/m3, not {density.unit}.")
        need(100 <= density.value <= 20000, f"density {density.value:g} kg/m3 is outside 100 to 20000.")


@dataclass(frozen=True)
class Process(TableRow):
    """A way to cut a blank. All lengths in mm; exactly one of each class/figure pair is given.

    Args:
        name: The name used in design files.
        title: The name in words.
        materials: Kinds of material it can cut.
        machine_cut: True when the cutting file drives the cutter.
        thickness_min_mm: Thinnest stock.
        thickness_max_mm: Thickest stock.
        kerf_mm: Full width of the slot; information only, never part of the allowance.
        burnt_layer_mm: Depth spoilt by the heat of the cut, per side.
        clean_up_mm: Taken off by hand after that, for each of REGIONS.
        pin_holes: What to do with pin holes.
        hole_note: What the process does to a hole, a clause for a sentence.
        note: What the maker should know.
        caution: The usual caution when working this way, in one sentence.
        caution_chromium: What comes after it for steel that is rich in chromium, or empty.
        cautions: The same in full, each with source and status; those of `also` come on top.
        also: Stages of cautions.toml that this way of cutting goes through as well.
        deviation_class: Class 1 or 2 of ISO 9013, or None.
        deviation_mm: Limit deviation on a size, plus or minus, or None.
        squareness_range: Range 1 to 5 of ISO 9013, or None.
        squareness_mm: How far the cut face may lean, per side, or None.
        burnt_layer_stainless_mm: The burnt layer in stainless steel, or None when it is no deeper.
        smallest_hole_per_thickness: Multiple of the thickness, or None when the process makes no holes.
        smallest_hole_mm: Absolute smallest diameter, or None likewise.
        pin_undersize_mm: How much under size a pin hole is cut before reaming, or None when drilled.
        wall_per_thickness: Least steel left between a cut hole and an edge, a multiple of the thickness; None where
            nothing is known.
        wall_mm: The same, absolute; the larger counts.
        hole_deviation_mm: Limit deviation on the diameter of a hole, plus or minus; None where deviation_class says it
            or nothing is known.
        web_mm: Steel left between the slots of two blanks, at least; None where nothing is known.
        web_per_thickness: The same, a multiple of the thickness; the larger counts.
        web_why: What the web is for, in words.
        marks: Whether it can mark without cutting through.
        nozzle_radius_mm: Half the width of what a hand runs along a guide, of a torch; None where nothing is run so.
        by_hand: What the hand that cuts does, in its order, each with source and status; a torch's first is its trial
            on scrap, done before anything is scribed.
    """

    name: str
    title: str
    materials: tuple[Kind, ...]
    machine_cut: bool
    thickness_min_mm: Figure
    thickness_max_mm: Figure
    kerf_mm: Figure
    burnt_layer_mm: Figure
    clean_up_mm: Annotated[Mapping[str, Figure], In(unit="mm")] = field(hash=False)
    pin_holes: PinHoles
    hole_note: str
    note: str
    caution: str
    cautions: tuple[Rule, ...]
    caution_chromium: str = ""
    also: tuple[str, ...] = ()
    deviation_class: Annotated[int, In(1, 2)] | None = None
    deviation_mm: Figure | None = None
    squareness_range: Annotated[int, In(1, 5)] | None = None
    squareness_mm: Figure | None = None
    burnt_layer_stainless_mm: Figure | None = None
    smallest_hole_per_thickness: Annotated[Figure | None, In(unit=PER_THICKNESS)] = None
    web_mm: Figure | None = None
    web_per_thickness: Annotated[Figure | None, In(unit=PER_THICKNESS)] = None
    web_why: str = ""
    smallest_hole_mm: Figure | None = None
    pin_undersize_mm: Figure | None = None
    wall_per_thickness: Annotated[Figure | None, In(unit=PER_THICKNESS)] = None
    wall_mm: Figure | None = None
    hole_deviation_mm: Figure | None = None
    marks: bool = False
    nozzle_radius_mm: Figure | None = None
    by_hand: tuple[Rule, ...] = ()

    def check(self) -> None:
        """Refuse pairs of which not exactly one is given, and what is left out of a table."""
        need(bool(self.materials), "materials is empty.")
        thin, thick = self.thickness_min_mm.value, self.thickness_max_mm.value
        need(0 < thin < thick, "thickness_min must be below thickness_max.")
        one = (self.deviation_class is None) != (self.deviation_mm is None)
        need(one, "give either deviation_class or deviation.")
        one = (self.squareness_range is None) != (self.squareness_mm is None)
        need(one, "give either squareness_range or squareness.")
        both = (self.smallest_hole_mm is None) == (self.smallest_hole_per_thickness is None)
        need(both, "give smallest_hole and smallest_hole_per_thickness, or neither.")
        reamed = (self.pin_holes == "ream") == (self.pin_undersize_mm is not None)
        need(reamed, "pin_undersize goes with pin_holes 'ream'.")
        need(set(self.clean_up_mm) == set(REGIONS), f"clean_up needs each of: {', '.join(REGIONS)}.")
        nozzle = self.nozzle_radius_mm
        need(not (self.machine_cut and nozzle), "nozzle_radius is that of a torch in the hand: machine_cut = false.")
        least, most = NOZZLE_MM
        need(nozzle is None or least <= nozzle.value <= most, f"nozzle_radius must be {least:g} to {most:g} mm.")
        need(bool(self.cautions or self.also), "needs cautions, or stages of cautions in also.")

    def caution_for(self, *, chromium: bool) -> str:
        """Return the usual caution.

        Args:
            chromium: Whether the steel is rich in chromium, or nobody knows.
        """
        return f"{self.caution} {self.caution_chromium}".rstrip() if chromium else self.caution

    def burnt_layer_for(self, kind: str) -> Figure:
        """Return the burnt layer in a kind of material."""
        deeper = self.burnt_layer_stainless_mm
        return deeper if kind == "stainless" and deeper is not None else self.burnt_layer_mm

    def smallest_hole_for_mm(self, thickness_mm: float) -> float | None:
        """Return the smallest hole in stock of this thickness [mm], None when the process makes none."""
        if self.smallest_hole_mm is None or self.smallest_hole_per_thickness is None:
            return None
        return max(self.smallest_hole_mm.value, self.smallest_hole_per_thickness.value * thickness_mm)

    def wall_for_mm(self, thickness_mm: float) -> float | None:
        """Return the least steel between a cut hole and an edge, or two holes [mm]; None where nothing is known."""
        known = [0.0 if self.wall_mm is None else self.wall_mm.value]
        if self.wall_per_thickness is not None:
            known.append(self.wall_per_thickness.value * thickness_mm)
        return None if self.wall_per_thickness is None and self.wall_mm is None else max(known)


@dataclass(frozen=True)
class Fit(TableRow):
    """How a pin sits in its holes.

    Args:
        name: The name used in design files.
        title: The name in words.
        tang: Hole in the tang: an addition in mm, or a factor in "x pin".
        tang_most: The widest that still holds it so, likewise.
        scale: Hole in the scale, likewise.
        scale_most: The widest there.
        note: What else the fit asks for, or empty.
    """

    name: str
    title: str
    tang: Figure
    tang_most: Figure
    scale: Figure
    scale_most: Figure
    note: str = ""

    def check(self) -> None:
        """Refuse a unit that is neither mm nor a factor, a hole smaller than its pin, and a widest that is narrower."""
        for figure, most in ((self.tang, self.tang_most), (self.scale, self.scale_most)):
            need(figure.unit in {"mm", PIN_FACTOR}, f"unit '{figure.unit}' must be mm or '{PIN_FACTOR}'.")
            need(figure.unit == "mm" or figure.value >= 1, "a hole cannot be smaller than its pin.")
            need(most.unit == figure.unit, "a hole and its widest must have one unit.")
            need(most.value >= figure.value, "the widest hole must not be narrower than the hole.")
