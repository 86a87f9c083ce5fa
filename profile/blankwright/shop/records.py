"""What one row of a trade table is: a figure, a material, a process, a fit. None can be half-built."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from blankwright.base.errors import RequestError
from blankwright.base.said import STATUSES

REGIONS = ("edge", "spine", "heel", "tang", "butt")
"""The parts of an outline that can carry different allowances."""


KINDS = ("steel", "stainless", "wood", "laminate", "metal")
"""What a material is; steels and wood make blades, all but blade steels make handles and fittings."""

PIN_HOLES = ("ream", "drill")
"""What to do with pin holes: cut under and ream, or leave uncut and drill."""

PIN_FACTOR = "x pin"
"""Unit of a fit that multiplies the pin's diameter."""

PER_THICKNESS = "x thickness"
"""Unit of a hole limit that multiplies the stock's thickness."""


def _need(condition: bool, message: str) -> None:
    if not condition:
        raise RequestError(message)


@dataclass(frozen=True)
class Figure:
    """One number with all that is known about it.

    Args:
        value: The number; never negative.
        unit: Its unit, such as "mm" or "kg/m3".
        source: Where it comes from, in words.
        status: One of STATUSES.

    Raises:
        RequestError: The number is not finite or negative, a text is empty, or the status is unknown.
    """

    value: float
    unit: str
    source: str
    status: str

    def __post_init__(self) -> None:
        _need(math.isfinite(self.value) and self.value >= 0, f"value must be 0 or more, got {self.value:g}.")
        _need(bool(self.unit.strip()), "unit is empty.")
        _need(bool(self.source.strip()), "source is empty.")
        _need(self.status in STATUSES, f"status '{self.status}' is not one of: {', '.join(STATUSES)}.")


@dataclass(frozen=True)
class Material:
    """A steel, a wood, a laminate or a metal.

    Args:
        name: The name used in design files.
        title: The name in words.
        kind: One of KINDS.
        density_kg_m3: Density at room temperature [kg/m3].
        aliases: Other names that mean the same row.
        note: What the maker should know, or empty.
    """

    name: str
    title: str
    kind: str
    density_kg_m3: Figure
    aliases: tuple[str, ...]
    note: str

    def __post_init__(self) -> None:
        _need(bool(self.title.strip()), "title is empty.")
        _need(self.kind in KINDS, f"kind '{self.kind}' is not one of: {', '.join(KINDS)}.")
        density = self.density_kg_m3
        _need(density.unit == "kg/m3", f"density must be in kg/m3, not {density.unit}.")
        # Balsa is about 150 and tungsten 19300: outside that a unit was mixed up (g/cm3, lb/in3).
        _need(100 <= density.value <= 20000, f"density {density.value:g} kg/m3 is outside 100 to 20000.")


@dataclass(frozen=True)
class Process:
    """A way to cut a blank. All lengths in mm; exactly one of each class/figure pair is given.

    Args:
        name: The name used in design files.
        title: The name in words.
        materials: Kinds of material it can cut.
        machine_cut: True when the cutting file drives the cutter.
        thickness_min_mm: Thinnest stock.
        thickness_max_mm: Thickest stock.
        kerf_mm: Full width of the slot; information only, never part of the allowance.
        deviation_class: Class 1 or 2 of ISO 9013, or None.
        deviation_mm: Limit deviation on a size, plus or minus, or None.
        squareness_range: Range 1 to 5 of ISO 9013, or None.
        squareness_mm: How far the cut face may lean, per side, or None.
        burnt_layer_mm: Depth spoilt by the heat of the cut, per side.
        burnt_layer_stainless_mm: The same in stainless steel, or None when it is no deeper.
        clean_up_mm: Taken off by hand after that, for each of REGIONS.
        smallest_hole_per_thickness: Multiple of the thickness, or None when the process makes no holes.
        smallest_hole_mm: Absolute smallest diameter, or None likewise.
        pin_holes: One of PIN_HOLES.
        pin_undersize_mm: How much under size a pin hole is cut before reaming, or None when drilled.
        hole_note: What the process does to a hole, a clause for a sentence.
        note: What the maker should know.
        caution: The usual caution when working this way.
    """

    name: str
    title: str
    materials: tuple[str, ...]
    machine_cut: bool
    thickness_min_mm: Figure
    thickness_max_mm: Figure
    kerf_mm: Figure
    deviation_class: int | None
    deviation_mm: Figure | None
    squareness_range: int | None
    squareness_mm: Figure | None
    burnt_layer_mm: Figure
    burnt_layer_stainless_mm: Figure | None
    clean_up_mm: Mapping[str, Figure] = field(hash=False)
    smallest_hole_per_thickness: Figure | None
    smallest_hole_mm: Figure | None
    pin_holes: str
    pin_undersize_mm: Figure | None
    hole_note: str
    note: str
    caution: str

    def __post_init__(self) -> None:
        _need(bool(self.materials), "materials is empty.")
        for kind in self.materials:
            _need(kind in KINDS, f"materials: '{kind}' is not one of: {', '.join(KINDS)}.")
        _need(
            0 < self.thickness_min_mm.value < self.thickness_max_mm.value,
            "thickness_min must be below thickness_max.",
        )
        one_deviation = (self.deviation_class is None) != (self.deviation_mm is None)
        _need(one_deviation, "give either deviation_class or deviation.")
        _need(self.deviation_class in {None, 1, 2}, "deviation_class must be 1 or 2.")
        one_squareness = (self.squareness_range is None) != (self.squareness_mm is None)
        _need(one_squareness, "give either squareness_range or squareness.")
        _need(self.squareness_range in {None, 1, 2, 3, 4, 5}, "squareness_range must be 1 to 5.")
        both_holes = (self.smallest_hole_mm is None) == (self.smallest_hole_per_thickness is None)
        _need(both_holes, "give smallest_hole and smallest_hole_per_thickness, or neither.")
        _need(self.pin_holes in PIN_HOLES, f"pin_holes must be one of: {', '.join(PIN_HOLES)}.")
        _need(
            (self.pin_holes == "ream") == (self.pin_undersize_mm is not None),
            "pin_undersize goes with pin_holes 'ream'.",
        )
        _need(set(self.clean_up_mm) == set(REGIONS), f"clean_up needs each of: {', '.join(REGIONS)}.")
        for text in (self.title, self.hole_note, self.note, self.caution):
            _need(bool(text.strip()), "title, hole_note, note and caution must not be empty.")
        self._check_units()
        object.__setattr__(self, "clean_up_mm", MappingProxyType(dict(self.clean_up_mm)))

    def _check_units(self) -> None:
        lengths = [self.thickness_min_mm, self.thickness_max_mm, self.kerf_mm, self.burnt_layer_mm]
        lengths += [*self.clean_up_mm.values()]
        optional = [self.deviation_mm, self.squareness_mm, self.smallest_hole_mm, self.pin_undersize_mm]
        optional.append(self.burnt_layer_stainless_mm)
        lengths += [figure for figure in optional if figure is not None]
        for figure in lengths:
            _need(figure.unit == "mm", f"unit '{figure.unit}' must be mm.")
        factor = self.smallest_hole_per_thickness
        _need(
            factor is None or factor.unit == PER_THICKNESS,
            f"smallest_hole_per_thickness must be in '{PER_THICKNESS}'.",
        )

    def burnt_layer_for(self, kind: str) -> Figure:
        """Return the burnt layer in a kind of material."""
        deeper = self.burnt_layer_stainless_mm
        return deeper if kind == "stainless" and deeper is not None else self.burnt_layer_mm

    def smallest_hole_for_mm(self, thickness_mm: float) -> float | None:
        """Return the smallest hole in stock of this thickness [mm], None when the process makes none."""
        if self.smallest_hole_mm is None or self.smallest_hole_per_thickness is None:
            return None
        return max(self.smallest_hole_mm.value, self.smallest_hole_per_thickness.value * thickness_mm)


@dataclass(frozen=True)
class Fit:
    """How a pin sits in its holes.

    Args:
        name: The name used in design files.
        title: The name in words.
        tang: Hole in the tang: an addition in mm, or a factor in "x pin".
        scale: Hole in the scale, likewise.
        note: What else the fit asks for, or empty.
    """

    name: str
    title: str
    tang: Figure
    scale: Figure
    note: str

    def __post_init__(self) -> None:
        _need(bool(self.title.strip()), "title is empty.")
        for figure in (self.tang, self.scale):
            _need(figure.unit in {"mm", PIN_FACTOR}, f"unit '{figure.unit}' must be mm or '{PIN_FACTOR}'.")
            _need(figure.unit == "mm" or figure.value >= 1, "a hole cannot be smaller than its pin.")
