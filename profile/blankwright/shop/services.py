"""What a cutting service wants of a file, or one's own table of a path: one text file each.

Shops contradict each other on release, units, layers, joined or single pieces and holes, so each is a small file that a
maker copies and edits. The shipped ones are general; none is of a real shop.
"""

from __future__ import annotations

import itertools
import re
from collections.abc import Mapping
from pathlib import Path
from string import Formatter
from typing import Annotated, Any, Literal

from blankwright.base.errors import RequestError, unknown
from blankwright.base.fields import Fields, read_toml
from blankwright.base.frozen import dataclass
from blankwright.base.library import shipped_names, template_file
from blankwright.base.plain import RESERVED
from blankwright.base.readrows import In, TableRow, need, read_row
from blankwright.base.units import length_mm, rate_mm_min, time_s
from blankwright.shop.dialects import Dialect, dialect
from blankwright.shop.tables import process

NAME_FIELDS = ("slug", "thickness", "unit", "process", "quantity", "code")

OWN_LAYERS = ("FINISHED", "GRIND", "NOTES")
"""Layers that the cutting file has for other things."""

LEAST_LEAD_MM = 0.8
"""A smaller arc is a dent, not a lead."""

_LAYER = re.compile(r"[A-Za-z0-9_$-]{1,31}")

Policy = Literal["cut and mark", "cut only", "mark only", "none"]
"""What a service is sent of holes."""


def _length(least_mm: float, greatest_mm: float) -> In:
    return In(least_mm, greatest_mm, "mm", length_mm)


@dataclass(frozen=True)
class Limit(TableRow):
    """What a service can make in stock up to a thickness.

    Args:
        up_to_mm: Thickest stock this row is for [mm].
        smallest_hole_mm: Smallest hole it cuts [mm].
        smallest_corner_mm: Smallest radius of an inner corner [mm].
        smallest_wall_mm: Least steel between a hole and the edge, or two holes [mm].
        source: Where the figures come from.
        part_tolerance_mm: How far off a size of the part may be, plus or minus [mm]; None for what the table of
            processes says.
        hole_tolerance_mm: The same of a hole's diameter.
    """

    up_to_mm: Annotated[float, _length(0.1, 200)]
    smallest_hole_mm: Annotated[float, _length(0, 100)]
    smallest_corner_mm: Annotated[float, _length(0, 50)]
    smallest_wall_mm: Annotated[float, _length(0, 100)]
    source: str
    part_tolerance_mm: Annotated[float | None, _length(0.01, 5)] = None
    hole_tolerance_mm: Annotated[float | None, _length(0.01, 5)] = None


@dataclass(frozen=True)
class Table(TableRow):
    """How one's own table cuts.

    Args:
        kerf_mm: Full width of the slot [mm].
        lead_mm: Radius of the arcs by which the cutter comes and goes [mm].
        enter: Region where the outline is entered: butt or spine.
        outside: Direction round the outside; holes run the other way.
        tabs: Number of bridges that hold the part.
        tab_width_mm: Width of each [mm].
        feed_mm_min: Speed of the cut [mm/min].
        travel_mm_min: Speed between cuts [mm/min].
        pierce_s: Wait at every start [s].
        suffix: How the name of a program ends, such as .nc.
        source: Where the figures come from.
        dialect: How its controller wants a program: a shipped name or a file.
    """

    kerf_mm: Annotated[float, _length(0.02, 8)]
    lead_mm: Annotated[float, _length(0.2, 50)]
    enter: Literal["butt", "spine"]
    outside: Literal["clockwise", "counter-clockwise"]
    tabs: Annotated[int, In(0, 8)]
    tab_width_mm: Annotated[float, _length(0.2, 20)]
    feed_mm_min: Annotated[float, In(read=rate_mm_min)]
    travel_mm_min: Annotated[float, In(read=rate_mm_min)]
    pierce_s: Annotated[float, In(read=time_s)]
    suffix: str
    source: str
    dialect: str = "rs274"

    def check(self) -> None:
        """Refuse an ending that no file should have."""
        good = re.fullmatch(r"\.[a-z0-9]{1,8}", self.suffix) is not None
        need(good, f"suffix: a dot and 1 to 8 small letters or digits, such as .nc, got '{self.suffix}'.")

    @property
    def smallest_hole_mm(self) -> float:
        """The smallest hole that has room for the slot and a lead inside it [mm]."""
        return self.kerf_mm + 4 * LEAST_LEAD_MM


@dataclass(frozen=True)
class _File(TableRow):
    """The table [file] of a service."""

    release: Literal["R12", "R2000", "R2010"]
    unit: Literal["mm", "in"]
    contours: Literal["polyline", "exploded"]
    curves: Literal["arcs", "chords"]
    name: str
    longest_name: Annotated[int, In(8, 200)]
    parts: Literal["one", "together"]
    cut_layer: str
    mark_layer: str
    marking: Literal["none", "etch"] = "none"
    etch_layer: str = "ETCH"
    deviation_mm: Annotated[float | None, _length(0.001, 0.2)] = None
    unit_in_header: bool = True

    def check(self) -> None:
        """Refuse a deviation of arcs, layers that cannot be, and a rule that makes no safe name."""
        if self.curves == "arcs":
            need(self.deviation_mm is None, 'deviation: goes with curves = "chords"; arcs have none.')
        need(self.curves == "arcs" or self.deviation_mm is not None, "the key 'deviation' is missing.")
        layers = (("cut_layer", self.cut_layer), ("mark_layer", self.mark_layer), ("etch_layer", self.etch_layer))
        for key, name in layers:
            good = _LAYER.fullmatch(name) is not None
            need(good, f"{key}: a layer's name has 1 to 31 letters, digits, $, _ or -, got '{name}'.")
            own = name.upper() in OWN_LAYERS
            need(not own, f"{key}: '{name}' is what other lines stand on; choose another name.")
        same = self.mark_layer.upper() == self.cut_layer.upper()
        need(not same, f"mark_layer: '{self.mark_layer}' is the layer of what is cut; marks need their own.")
        same = self.etch_layer.upper() in (self.cut_layer.upper(), self.mark_layer.upper())
        need(not same, f"etch_layer: '{self.etch_layer}' is the layer of what is cut or drilled; marks need their own.")
        _check_name_rule(self.name)


@dataclass(frozen=True)
class _Holes(TableRow):
    """The table [holes] of a service."""

    policy: Policy


@dataclass(frozen=True)
class _Service(TableRow):
    """A service's file as it stands."""

    format: Annotated[int, In(1, 1)]
    name: str
    title: str
    process: str
    note: str
    file: _File
    holes: _Holes
    limits: tuple[Limit, ...]
    table: Table | None = None
    ask: str = ""

    def check(self) -> None:
        """Refuse a table that cannot run the file, and limits out of order."""
        thick = [row.up_to_mm for row in self.limits]
        rising = all(a < b for a, b in itertools.pairwise(thick))
        need(rising, "[[limits]]: rows go from thin to thick stock.")
        if self.table is not None:
            arcs = self.file.curves == "arcs"
            need(arcs, '[file] curves: a path for one\'s own table is drawn and run in arcs; use "arcs".')


@dataclass(frozen=True)
class Service:
    """What a service wants.

    Args:
        name: Name used on the command line.
        title: The name in words.
        process: How it cuts; it decides allowance, holes and worst case, whatever a design asks for.
        ask: What the shop is asked for in the cover note, or empty.
        note: What the maker should know.
        release: DXF release.
        unit: mm or in.
        contours: polyline or exploded.
        deviation_mm: Greatest distance of chords from an arc [mm]; None for arcs.
        file_name: Rule for the file's name, without its ending.
        longest_name: Longest file name with its ending.
        parts: one or together.
        cut_layer: Layer of what is cut.
        mark_layer: Layer of marks to drill at.
        marking: Whether the shop can mark parts without cutting through: none or etch.
        etch_layer: Layer of such marks.
        holes: What the service is sent of holes.
        limits: Rows by rising thickness.
        table: How one's own table cuts; None for a service.
        dialect: How its controller wants a program; None for a service.
        unit_in_header: Whether R12, which knows no unit, names it in its header all the same.
    """

    name: str
    title: str
    process: str
    ask: str
    note: str
    release: str
    unit: str
    contours: str
    deviation_mm: float | None
    file_name: str
    longest_name: int
    parts: str
    cut_layer: str
    mark_layer: str
    marking: str
    etch_layer: str
    holes: Policy
    limits: tuple[Limit, ...]
    table: Table | None
    dialect: Dialect | None
    unit_in_header: bool = True

    def limit_for(self, thickness_mm: float) -> Limit | None:
        """Return the row for a thickness, None when the stock is thicker than any row."""
        return next((row for row in self.limits if thickness_mm <= row.up_to_mm + 1e-9), None)


def service_names() -> list[str]:
    """Return the names of the shipped services."""
    return shipped_names("services")


def service(source: str, beside: Path | None = None) -> Service:
    """Read a service by name or file.

    Args:
        source: A shipped name, or a file ending in .toml.
        beside: Folder that a relative path is looked up in first.

    Raises:
        RequestError: No such service, or something in its file is wrong.
    """
    path = template_file("service", source, "--service", beside)
    return service_from(read_toml(path), path.name, path.parent)


def service_from(table: Mapping[str, Any], where: str, beside: Path | None = None) -> Service:
    """Build a service from its parsed file.

    Args:
        table: The file as a table.
        where: File name for messages.
        beside: Folder that the file of a dialect is looked up in first.

    Raises:
        RequestError: A key is missing, unknown or out of range; the message names file, table and key.
    """
    found = read_row(_Service, Fields(table, where))
    way, file = process(found.process, f"{where} process"), found.file
    if not way.machine_cut and found.table is not None:
        raise RequestError(f"{where} process: {way.name} is not cut on a table.")
    return Service(
        found.name, found.title, way.name, found.ask, found.note, file.release, file.unit, file.contours,
        file.deviation_mm, file.name, file.longest_name, file.parts, file.cut_layer, file.mark_layer,
        file.marking, file.etch_layer,
        found.holes.policy, found.limits, found.table, dialect(found.table.dialect, beside) if found.table else None,
        file.unit_in_header,
    )  # fmt: skip


def _check_name_rule(rule: str) -> None:
    """Refuse a rule for file names that could not make a safe one, or that does not name the unit."""
    try:
        parsed = [(field, form, kind) for _, field, form, kind in Formatter().parse(rule) if field is not None]
    except ValueError:
        raise RequestError(f"name: '{rule}' has a brace too many or too few.") from None
    need(not any(form or kind for _, form, kind in parsed), "name: a field is a word in braces, such as {slug}.")
    fields = [field for field, _, _ in parsed]
    for field in fields:
        if field not in NAME_FIELDS:
            raise unknown("field of a file name", field, NAME_FIELDS, "name")
    need("unit" in fields, "name: the rule must hold {unit}; a file whose unit is not named costs a part.")
    safe = re.search(r"[^A-Za-z0-9_. {}-]", rule) is None
    need(safe, "name: only letters, digits, dots, _ and - are safe in a file name.")
    sample = rule.format(**dict.fromkeys(NAME_FIELDS, "1"))
    need(sample[0].isalnum(), f"name: '{rule}' must begin with a letter, a digit or a field; others hide a file.")
    kept = sample.split(".")[0].strip().lower() in RESERVED
    need(not kept, f"name: what '{rule}' makes is the name of a device on some systems. Begin with {{slug}}.")
