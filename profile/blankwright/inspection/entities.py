"""What is in a drawing from anywhere? Every entity of a DXF file, blocks placed, and what is wrong with the file.

Nothing here raises for a broken file: what can be read is read, and every fault is named with its line. Limits
keep a hostile file from taking all memory or all day.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field, replace

import numpy as np

from blankwright.base.errors import ProofError
from blankwright.base.units import MM_PER_INCH
from blankwright.inspection.drawing import UNSEEN, Drawing, Item, placed, printable
from blankwright.inspection.shapes import colour_of, item_of, unreadable
from blankwright.inspection.sniff import text_of, why_not_dxf
from blankwright.proof.findings import OLD_RELEASE
from blankwright.proof.reader import UNSET_EXTENT
from blankwright.proof.tags import Record, header_variables, records

MAX_ENTITIES = 60_000
MAX_VERTICES = 200_000
MAX_CURVES = 600
MAX_PLACED = 3_000
MAX_DEPTH = 8
MAX_FAULTS = 20
"""Limits on a file from anywhere; a knife with its notes needs a thousandth of them."""

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
    entities: int = 0
    vertices: int = 0
    curves: int = 0
    placed: int = 0
    full: bool = False

    def fault(self, text: str) -> None:
        """Keep a fault; the file's name is in front of every report already."""
        if len(self.faults) < MAX_FAULTS:
            self.faults.append(text.removeprefix(f"{self.name}, ").removeprefix(f"{self.name}: "))

    def count(self, item: Item) -> bool:
        """Count an entity against the limits; False when there are too many."""
        self.entities += 1
        self.vertices += 0 if item.chain is None else len(item.chain)
        self.curves += item.curve is not None
        if self.full:
            return False
        if self.entities > MAX_ENTITIES or self.vertices > MAX_VERTICES or self.curves > MAX_CURVES:
            self.full = True
            self.fault(
                f"More than {MAX_ENTITIES} entities, {MAX_VERTICES} vertices or {MAX_CURVES} curves: the rest was not "
                "read. No cutting file needs that; send the outline alone."
            )
        return not self.full


def read_drawing(data: bytes, name: str) -> Drawing:
    """Read a DXF file of any origin.

    Args:
        data: The bytes of the file.
        name: File name for messages.

    Returns:
        What could be read, with the faults of the file; never raises for what the bytes hold.
    """
    out = _Reading(printable(name))
    why = why_not_dxf(data)
    if why is not None:
        out.fault(why)
    else:
        _read(text_of(data), out)
        if not out.faults and not (out.items or out.blocks or out.header):
            out.fault("The file is no DXF or holds no drawing.")
    items = _placed_all(out)
    extents = _extents(out)
    unset = "$EXTMIN" in out.header and "$EXTMAX" in out.header and extents is None
    release, insunits = _header_text(out, "$ACADVER"), _header_integer(out, "$INSUNITS")
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
        idle_blocks=_idle(out, items),
        design=_design(data),
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
    ended = False
    pending: Record | None = None
    while True:
        record = pending or next(stream, None)
        pending = None
        if record is None:
            break
        if record.kind == "EOF":
            ended = True
            break
        if record.kind == "SECTION":
            section, block = record.text(2, ""), None
            if section == "HEADER":
                out.header.update(header_variables(record))
        elif record.kind == "ENDSEC":
            section = ""
        elif section == "TABLES":
            _read_layer(record, out)
        elif section == "BLOCKS" and record.kind == "BLOCK":
            block = _begin_block(record, out)
        elif section == "BLOCKS" and record.kind == "ENDBLK":
            block = None
        elif section == "ENTITIES" or (section == "BLOCKS" and block is not None):
            pending = _read_entity(
                record, stream, out, out.items if section == "ENTITIES" or block is None else block.items
            )
            if out.full:
                return
    if not ended and not out.faults:
        out.fault("The end mark is missing: the file is cut short. Export it again.")


def _tolerant(text: str, out: _Reading) -> Iterator[Record]:
    """Yield records up to the first damage, and keep what the damage is."""
    try:
        yield from records(text, out.name)
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
    try:
        item = item_of(record, vertices)
    except ProofError as error:
        out.fault(str(error))
        item = unreadable(record, error)
    if out.count(item):
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
    if len(found) != 4 or any(abs(v) > UNSET_EXTENT for v in found):
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
    for copy in insert.copies:
        shift = insert.shift + np.array(copy) - insert.matrix @ np.array(block.base)
        for inner in block.items:
            drawn = placed(inner, insert.matrix, shift, item)
            out.placed += 1
            if out.placed > MAX_PLACED and not out.full:
                out.full = True
                out.fault(f"Blocks place more than {MAX_PLACED} entities: the rest was not read. Explode and thin out.")
            if not out.count(drawn):
                return
            if inner.insert is None:
                items.append(drawn)
                continue
            nested = replace(
                inner.insert,
                matrix=insert.matrix @ inner.insert.matrix,
                shift=insert.matrix @ inner.insert.shift + shift,
                copies=tuple(
                    (float(p[0]), float(p[1])) for p in (insert.matrix @ np.array(c) for c in inner.insert.copies)
                ),
            )
            _place(replace(drawn, insert=nested), out, items, (*path, name))


def _idle(out: _Reading, items: list[Item]) -> tuple[str, ...]:
    """Return the blocks that draw something and are nowhere placed; names with * are the format's own."""
    used = {i.insert.name.upper() for i in items if i.insert is not None}
    used |= {i.insert.name.upper() for b in out.blocks.values() for i in b.items if i.insert is not None}
    return tuple(
        printable(name)
        for name, block in out.blocks.items()
        if name not in used and not name.startswith(("*", "_", "$")) and any(i.line_work for i in block.items)
    )
