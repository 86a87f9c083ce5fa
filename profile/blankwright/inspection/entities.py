"""What is in a drawing from anywhere? Every entity of a DXF file, blocks placed, and what is wrong with the file.

Nothing here raises for a broken file: what can be read is read, and every fault is named with its line. Limits
keep a hostile file from taking all memory or all day.
"""

from __future__ import annotations

import math
import re
from codecs import BOM_UTF8
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from graphlib import CycleError, TopologicalSorter

import numpy as np

from blankwright.base.errors import ProofError
from blankwright.base.units import MM_PER_INCH
from blankwright.inspection.budget import COPY, ENTITY, RECORD, SPAN, Budget, TooMuchWorkError
from blankwright.inspection.drawing import UNSEEN, Drawing, Item, placed, printable
from blankwright.inspection.shapes import colour_of, item_of, unreadable
from blankwright.inspection.sniff import is_svg, text_of, why_not_dxf
from blankwright.inspection.structure import Structure
from blankwright.inspection.svg import read_svg
from blankwright.proof.findings import OLD_RELEASE
from blankwright.proof.reader import UNSET_EXTENT
from blankwright.proof.tags import Record, header_variables, records

MAX_VERTICES = 200_000
MAX_DEPTH = 8
MAX_FAULTS = 20
"""Limits on a file from anywhere; a knife with its notes needs a thousandth of them. Work is limited by its budget."""

_DESIGN = re.compile(rb"\s*999\r?\ndesign ([0-9A-Z]{4}-[0-9A-Z]{4})\r?\n")

_NAME_UNITS_MM = {"mm": 1.0, "in": MM_PER_INCH, "inch": MM_PER_INCH}
_UNIT_AT_END = re.compile(r"[_ -](mm|in|inch)\.dxf$", re.IGNORECASE)


@dataclass
class _Block:
    base: tuple[float, float] = (0.0, 0.0)
    items: list[Item] = field(default_factory=list)
    paper: bool = False


@dataclass
class _Reading:
    name: str
    header: dict[str, Record] = field(default_factory=dict)
    layers: list[str] = field(default_factory=list)
    colours: dict[str, str] = field(default_factory=dict)
    hidden: list[str] = field(default_factory=list)
    items: list[Item] = field(default_factory=list)
    blocks: dict[str, _Block] = field(default_factory=dict)
    faults: list[str] = field(default_factory=list)
    structure: Structure = field(default_factory=Structure)
    vertices: int = 0
    budget: Budget = field(default_factory=Budget)
    full: bool = False

    def fault(self, text: str) -> None:
        """Keep a fault; the file's name is in front of every report already."""
        if len(self.faults) < MAX_FAULTS:
            self.faults.append(text.removeprefix(f"{self.name}, ").removeprefix(f"{self.name}: "))

    def count(self, item: Item, steps: int) -> bool:
        """Take an entity out of the budget; False when nothing is left of it."""
        self.vertices += 0 if item.chain is None else len(item.chain)
        if self.vertices > MAX_VERTICES:
            return self.work(math.inf)
        spans = 0 if item.curve is None else len(item.curve.coefs)
        return self.work(steps + SPAN * spans + (0 if item.chain is None else len(item.chain)))

    def work(self, steps: float) -> bool:
        """Take steps out of the budget; False, and a fault once, when there are not so many."""
        if not self.full:
            try:
                self.budget.spend(steps, "entities and copies of blocks")
            except TooMuchWorkError as error:
                self.full = True
                text = str(error)
                self.fault(f"{text[:1].upper()}{text[1:]}: the rest was not read. Send the outline alone.")
        return not self.full


def read_drawing(data: bytes, name: str) -> Drawing:
    """Read a DXF or SVG file of any origin.

    Args:
        data: The bytes of the file.
        name: File name for messages.

    Returns:
        What could be read, with the faults of the file; never raises for what the bytes hold.
    """
    if is_svg(data):
        return read_svg(data, name)
    out = _Reading(printable(name))
    why = why_not_dxf(data)
    if why is not None:
        out.fault(why)
    else:
        if data.startswith(BOM_UTF8):
            out.structure.marked = True
        _read(text_of(data), out)
        if not out.faults and not (out.items or out.blocks or out.header):
            out.fault("The file is no DXF or holds no drawing.")
    release = _header_text(out, "$ACADVER")
    told = bool(out.faults)  # numbers that cannot be read are told already, with what they are for
    for fault in [] if told else out.structure.faults(release):
        out.fault(fault)
    items = _placed_all(out)
    refused = [*out.structure.refused(), *([] if out.faults else _in_itself(out))]
    extents = _extents(out)
    unset = "$EXTMIN" in out.header and "$EXTMAX" in out.header and extents is None
    insunits = _header_integer(out, "$INSUNITS")
    return Drawing(
        name=out.name,
        release=release,
        insunits=insunits,
        name_unit_mm=_name_unit(name) if release == OLD_RELEASE and insunits is None else None,
        measurement=_header_integer(out, "$MEASUREMENT"),
        extents=extents,
        extents_unset=unset,
        layers=tuple(n.upper() for n in out.layers),
        colours=out.colours,
        hidden=tuple(n.upper() for n in out.hidden),
        items=tuple(items),
        faults=tuple(out.faults),
        refused=tuple(refused),
        idle_blocks=_idle(out, items),
        design=_design(data),
        budget=out.budget,
    )


def _name_unit(name: str) -> float | None:
    """Return the millimetres in the unit at the end of a file's name, such as 25.4 for knife_cut_in.dxf."""
    hit = _UNIT_AT_END.search(name)
    return _NAME_UNITS_MM[hit[1].lower()] if hit else None


def _design(data: bytes) -> str | None:
    """Return the design code in the comment at the head of a file, or None."""
    hit = _DESIGN.match(data[:200])
    return hit[1].decode("ascii") if hit else None


def _read(text: str, out: _Reading) -> None:
    stream = _tolerant(text, out)
    section = ""
    block: _Block | None = None
    pending: Record | None = None
    while not out.full:
        record = pending or next(stream, None)
        pending = None
        if record is None or record.kind == "EOF":
            break
        if record.kind in {"SECTION", "ENDSEC"}:
            section, block = _section(record, section, out), None
        elif section == "TABLES":
            _read_layer(record, out)
        elif section == "BLOCKS" and record.kind == "BLOCK":
            block = _begin_block(record, out)
        elif section == "BLOCKS" and record.kind == "ENDBLK":
            block = None
        elif section == "ENTITIES" or block is not None:
            pending = _read_entity(record, stream, out, out.items if block is None else block.items)
    if record is None and not out.faults:
        out.fault("The end mark is missing: the file is cut short. Export it again.")
    elif record is not None and record.kind == "EOF" and section:
        out.fault(f"line {record.line}: the file ends inside the section {section[:40]}; it is damaged.")


def _section(record: Record, inside: str, out: _Reading) -> str:
    """Begin or end a section; return the one that is read now."""
    if record.kind == "ENDSEC":
        if not inside:
            out.fault(f"line {record.line}: a section ends that never began; the file is damaged.")
        return ""
    if inside:
        out.fault(f"line {record.line}: a section begins inside the section {inside[:40]}; the file is damaged.")
    section = record.text(2, "")
    if section == "HEADER":
        out.header.update(header_variables(record))
    return printable(section) or "without a name"


def _tolerant(text: str, out: _Reading) -> Iterator[Record]:
    """Yield records up to the first damage, and keep what the damage is."""
    try:
        for record in records(text, out.name):
            if not out.work(RECORD):
                return
            out.structure.record(record)
            yield record
    except ProofError as error:
        out.fault(str(error))


def _read_layer(record: Record, out: _Reading) -> None:
    if record.kind != "LAYER":
        return
    try:
        name = printable(record.text(2, ""))
        out.layers.append(name)
        out.colours[name.upper()] = colour_of(record).removeprefix("-") or "7"
        if record.integer(70, 0) & 1 or record.integer(62, 7) < 0:
            out.hidden.append(name)
    except ProofError as error:
        out.fault(str(error))


def _begin_block(record: Record, out: _Reading) -> _Block:
    name = record.text(2, "")
    block = _Block(paper=name.upper().startswith(("*PAPER", "$PAPER")))
    try:
        block.base = (record.length(10, 0.0), record.length(20, 0.0))
    except ProofError as error:
        out.fault(str(error))
    out.blocks[name.upper()] = block
    return block


def _read_entity(record: Record, stream: Iterator[Record], out: _Reading, into: list[Item]) -> Record | None:
    """Read an entity with what follows it; return the record after it when that had to be read as well."""
    vertices: list[Record] = []
    pending: Record | None = None
    if record.kind == "POLYLINE":
        for follower in stream:
            if follower.kind != "VERTEX" or len(vertices) > MAX_VERTICES:
                pending = None if follower.kind == "SEQEND" else follower
                if pending is not None:
                    out.fault(f"line {record.line}: POLYLINE without its SEQEND; the file is damaged.")
                break
            vertices.append(follower)
    if record.kind == "VERTEX":
        out.fault(f"line {record.line}: VERTEX without a POLYLINE; the file is damaged.")
        return pending
    if record.kind in UNSEEN:
        return pending
    for part in (record, *vertices):
        out.structure.entity(part)
    try:
        item = item_of(record, vertices)
    except ProofError as error:
        out.fault(str(error))
        item = unreadable(record, error)
    if out.count(item, ENTITY):
        into.append(item)
    return pending


def _header_text(out: _Reading, name: str) -> str | None:
    return printable(out.header[name].text(1, "")) or None if name in out.header else None


def _header_integer(out: _Reading, name: str) -> int | None:
    try:
        return out.header[name].integer(70, 0) if name in out.header and out.header[name].find(70) else None
    except ProofError as error:
        out.fault(str(error))
        return None


def _extents(out: _Reading) -> tuple[float, float, float, float] | None:
    found: list[float] = []
    try:
        for name in ("$EXTMIN", "$EXTMAX"):
            hits = [(code, out.header[name].find(code)) for code in (10, 20)] if name in out.header else []
            found += [out.header[name].number(code, *hit) for code, hit in hits if hit is not None]
    except ProofError as error:
        out.fault(str(error))
        return None
    inside_out = len(found) == 4 and (found[0] > found[2] or found[1] > found[3])
    if len(found) != 4 or inside_out or any(abs(v) > UNSET_EXTENT for v in found):
        return None
    return (found[0], found[1], found[2], found[3])


def _placed_all(out: _Reading) -> list[Item]:
    """Return the items of the drawing, every INSERT followed by what its block draws."""
    items: list[Item] = []
    for block in out.blocks.values():
        if block.paper:
            items += [replace(item, on_paper=True) for item in block.items]
    for item in out.items:
        items.append(item)
        if item.insert is not None:
            _place(item, out, items, ())
    return items


def _place(item: Item, out: _Reading, items: list[Item], path: tuple[str, ...]) -> None:
    insert = item.insert
    if insert is None or out.full:
        return
    name = insert.name.upper()
    block = out.blocks.get(name)
    if block is None:
        out.fault(f"line {item.line}: the block '{printable(insert.name)}' is placed but not in the file.")
        return
    if name in path or len(path) >= MAX_DEPTH:
        out.fault(
            f"line {item.line}: the block '{printable(insert.name)}' stands in itself, or blocks are nested too deep."
        )
        return
    for at in insert.shifts():
        if not out.work(COPY):
            return
        shift = at - insert.matrix @ np.array(block.base)
        for inner in block.items:
            drawn = placed(inner, insert.matrix, shift, item)
            if not out.count(drawn, COPY):
                return
            if inner.insert is None:
                items.append(drawn)
                continue
            _place(replace(drawn, insert=inner.insert.mapped(insert.matrix, shift)), out, items, (*path, name))


def _in_itself(out: _Reading) -> list[str]:
    """Return a sentence when blocks that nothing places stand in each other in a ring."""
    inside = {name: {i.insert.name.upper() for i in b.items if i.insert is not None} for name, b in out.blocks.items()}
    try:
        TopologicalSorter(inside).prepare()
    except CycleError as error:
        name = printable(error.args[1][0])
        return [
            f"The block '{name}' stands in itself, though nothing places it: careful readers refuse it. Leave it out."
        ]
    return []


def _idle(out: _Reading, items: list[Item]) -> tuple[str, ...]:
    """Return the blocks that draw something and are nowhere placed; names with * are the format's own."""
    used = {i.insert.name.upper() for i in items if i.insert is not None}
    used |= {i.insert.name.upper() for b in out.blocks.values() for i in b.items if i.insert is not None}
    return tuple(
        printable(name)
        for name, block in out.blocks.items()
        if name not in used and not name.startswith(("*", "_", "$")) and any(i.line_work for i in block.items)
    )
