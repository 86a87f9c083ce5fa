"""What a cutting service wants of a file, or one's own table of a path: one text file each.

Shops contradict each other on release, units, layers, joined or single pieces and holes, so each is a small file that a
maker copies and edits. The shipped ones are general; none is of a real shop.
"""

from __future__ import annotations

import itertools
import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from string import Formatter
from typing import Any

from blankwright.base.errors import RequestError, unknown
from blankwright.base.fields import Fields, read_toml
from blankwright.base.library import templates_dir
from blankwright.base.units import length_mm, rate_mm_min, time_s
from blankwright.shop.tables import process

RELEASES = ("R12", "R2000", "R2010")
UNITS = ("mm", "in")
CONTOURS = ("polyline", "exploded")
CURVES = ("arcs", "chords")
PARTS = ("one", "together")
POLICIES = ("cut and mark", "cut only", "mark only", "none")
ENTRIES = ("butt", "spine")
DIRECTIONS = ("clockwise", "counter-clockwise")
NAME_FIELDS = ("slug", "thickness", "unit", "process", "quantity", "code")

OWN_LAYERS = ("LEAD", "TAB", "FINISHED", "GRIND", "NOTES")
"""Layers that the cutting file has for other things."""

LEAST_LEAD_MM = 0.8
"""A smaller arc is a dent, not a lead."""

_LAYER = re.compile(r"[A-Za-z0-9_$-]{1,31}")


@dataclass(frozen=True)
class Limit:
    """What a service can make in stock up to a thickness.

    Args:
        up_to_mm: Thickest stock this row is for [mm].
        smallest_hole_mm: Smallest hole it cuts [mm].
        smallest_corner_mm: Smallest radius of an inner corner [mm].
        smallest_wall_mm: Least steel between a hole and the edge, or two holes [mm].
        source: Where the figures come from.
    """

    up_to_mm: float
    smallest_hole_mm: float
    smallest_corner_mm: float
    smallest_wall_mm: float
    source: str


@dataclass(frozen=True)
class Table:
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
    """

    kerf_mm: float
    lead_mm: float
    enter: str
    outside: str
    tabs: int
    tab_width_mm: float
    feed_mm_min: float
    travel_mm_min: float
    pierce_s: float
    suffix: str
    source: str

    @property
    def smallest_hole_mm(self) -> float:
        """The smallest hole that has room for the slot and a lead inside it [mm]."""
        return self.kerf_mm + 4 * LEAST_LEAD_MM


@dataclass(frozen=True)
class Service:
    """What a service wants.

    Args:
        name: Name used on the command line.
        title: The name in words.
        process: The way of cutting where the design does not ask for one.
        ask: What the shop is asked for in the cover note, or empty.
        note: What the maker should know.
        release: DXF release, one of RELEASES.
        unit: mm or in.
        contours: polyline or exploded.
        deviation_mm: Greatest distance of chords from an arc [mm]; None for arcs.
        file_name: Rule for the file's name, without its ending.
        longest_name: Longest file name with its ending.
        parts: one or together.
        cut_layer: Layer of what is cut.
        mark_layer: Layer of marks to drill at.
        holes: One of POLICIES.
        limits: Rows by rising thickness.
        table: How one's own table cuts; None for a service.
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
    holes: str
    limits: tuple[Limit, ...]
    table: Table | None

    def limit_for(self, thickness_mm: float) -> Limit | None:
        """Return the row for a thickness, None when the stock is thicker than any row."""
        return next((row for row in self.limits if thickness_mm <= row.up_to_mm + 1e-9), None)


def service_names() -> list[str]:
    """Return the names of the shipped services."""
    return sorted(path.stem for path in (templates_dir() / "services").glob("*.toml"))


def service(source: str, beside: Path | None = None) -> Service:
    """Read a service by name or file.

    Args:
        source: A shipped name, or a file ending in .toml.
        beside: Folder that a relative path is looked up in first.

    Raises:
        RequestError: No such service, or something in its file is wrong.
    """
    if not source.endswith(".toml"):
        if source not in service_names():
            raise unknown("service", source, service_names(), "--service")
        return service_from(read_toml(templates_dir() / "services" / f"{source}.toml"), f"{source}.toml")
    path = beside / source if beside is not None and (beside / source).is_file() else Path(source)
    if not path.is_file():
        raise RequestError(f"{path}: there is no such service file. Shipped: {', '.join(service_names())}.")
    return service_from(read_toml(path), path.name)


def service_from(table: Mapping[str, Any], where: str) -> Service:
    """Build a service from its parsed file.

    Args:
        table: The file as a table.
        where: File name for messages.

    Raises:
        RequestError: A key is missing, unknown or out of range; the message names file, table and key.
    """
    top = Fields(table, where)
    top.only(("format", "name", "title", "process", "ask", "note", "file", "holes", "limits", "table"))
    top.whole("format", 1, 1)
    file, holes = top.sub("file"), top.sub("holes")
    file.only(
        ("release", "unit", "contours", "curves", "deviation", "name", "longest_name", "parts", "cut_layer",
         "mark_layer")
    )  # fmt: skip
    holes.only(("policy",))
    way = process(top.text("process"), f"{where} process")
    if not way.machine_cut and "table" in table:
        raise RequestError(f"{where} process: {way.name} is not cut on a table.")
    if "table" in table and file.choice("curves", CURVES) != "arcs":
        raise RequestError(f'{file.where} curves: a path for one\'s own table is drawn and run in arcs; use "arcs".')
    if "table" in table and file.choice("parts", PARTS) != "one":
        raise RequestError(f'{file.where} parts: a path for one\'s own table is that of one part; use "one".')
    return Service(
        name=top.text("name"),
        title=top.text("title"),
        process=way.name,
        ask=top.text("ask") if "ask" in table else "",
        note=top.text("note"),
        release=file.choice("release", RELEASES),
        unit=file.choice("unit", UNITS),
        contours=file.choice("contours", CONTOURS),
        deviation_mm=_deviation(file),
        file_name=_name_rule(file),
        longest_name=file.whole("longest_name", 8, 200),
        parts=file.choice("parts", PARTS),
        cut_layer=_layer(file, "cut_layer"),
        mark_layer=_layer(file, "mark_layer"),
        holes=holes.choice("policy", POLICIES),
        limits=_limits(top),
        table=_table(top.sub("table")) if "table" in table else None,
    )


def _deviation(file: Fields) -> float | None:
    if file.choice("curves", CURVES) == "arcs":
        if "deviation" in file.table:
            raise RequestError(f'{file.where} deviation: goes with curves = "chords"; arcs have none.')
        return None
    return _length(file, "deviation", 0.001, 0.2)


def _length(fields: Fields, key: str, least_mm: float, greatest_mm: float) -> float:
    value = length_mm(fields.text(key), f"{fields.where} {key}")
    if not least_mm <= value <= greatest_mm:
        raise RequestError(
            f"{fields.where} {key}: {value:g} mm is out of range. Allowed: {least_mm:g} to {greatest_mm:g} mm."
        )
    return value


def _layer(file: Fields, key: str) -> str:
    name = file.text(key)
    if not _LAYER.fullmatch(name):
        raise RequestError(f"{file.where} {key}: a layer's name has 1 to 31 letters, digits, $, _ or -, got '{name}'.")
    if name.upper() in OWN_LAYERS:
        raise RequestError(f"{file.where} {key}: '{name}' is what other lines stand on; choose another name.")
    if key == "mark_layer" and name.upper() == file.text("cut_layer").upper():
        raise RequestError(f"{file.where} {key}: '{name}' is the layer of what is cut; marks need their own.")
    return name


def _name_rule(file: Fields) -> str:
    rule = file.text("name")
    try:
        fields = [field for _, field, _, _ in Formatter().parse(rule) if field is not None]
    except ValueError:
        raise RequestError(f"{file.where} name: '{rule}' has a brace too many or too few.") from None
    for field in fields:
        if field not in NAME_FIELDS:
            raise unknown("field of a file name", field, NAME_FIELDS, f"{file.where} name")
    if "unit" not in fields:
        raise RequestError(
            f"{file.where} name: the rule must hold {{unit}}; a file whose unit is not named costs a part."
        )
    if re.search(r"[^A-Za-z0-9_. {}-]", rule):
        raise RequestError(f"{file.where} name: only letters, digits, dots, _ and - are safe in a file name.")
    return rule


def _limits(top: Fields) -> tuple[Limit, ...]:
    rows = []
    for row in top.rows("limits"):
        row.only(("up_to", "smallest_hole", "smallest_corner", "smallest_wall", "source"))
        rows.append(
            Limit(
                _length(row, "up_to", 0.1, 200), _length(row, "smallest_hole", 0, 100),
                _length(row, "smallest_corner", 0, 50), _length(row, "smallest_wall", 0, 100), row.text("source"),
            )
        )  # fmt: skip
    if any(a.up_to_mm >= b.up_to_mm for a, b in itertools.pairwise(rows)):
        raise RequestError(f"{top.where} [[limits]]: rows go from thin to thick stock.")
    return tuple(rows)


def _suffix(part: Fields) -> str:
    suffix = part.text("suffix")
    if not re.fullmatch(r"\.[a-z0-9]{1,8}", suffix):
        raise RequestError(
            f"{part.where} suffix: a dot and 1 to 8 small letters or digits, such as .nc, got '{suffix}'."
        )
    return suffix


def _table(part: Fields) -> Table:
    part.only(
        ("kerf", "lead", "enter", "outside", "tabs", "tab_width", "feed", "travel", "pierce", "suffix", "source")
    )  # fmt: skip
    return Table(
        kerf_mm=_length(part, "kerf", 0.02, 8),
        lead_mm=_length(part, "lead", 0.2, 50),
        enter=part.choice("enter", ENTRIES),
        outside=part.choice("outside", DIRECTIONS),
        tabs=part.whole("tabs", 0, 8),
        tab_width_mm=_length(part, "tab_width", 0.2, 20),
        feed_mm_min=rate_mm_min(part.text("feed"), f"{part.where} feed"),
        travel_mm_min=rate_mm_min(part.text("travel"), f"{part.where} travel"),
        pierce_s=time_s(part.text("pierce"), f"{part.where} pierce"),
        suffix=_suffix(part),
        source=part.text("source"),
    )
