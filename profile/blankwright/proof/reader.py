"""What does a DXF file hold for a cutter? A reader of its own, written from the open format reference.

An ASCII DXF file is a list of tags, two lines each: a group code and a value. Code 0 begins an entity or a
section, 2 names it, 8 is the layer, 10/20 a point, 42 a bulge, 70 flags (DXF reference, group codes in
numerical order). The file comes from anywhere, so every number is checked, sizes are limited, and what the
reader does not know is listed instead of dropped. Coordinates stay in the unit of the file.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import field
from pathlib import Path

import numpy as np

from blankwright.base.arrays import Array
from blankwright.base.errors import ProofError, RequestError
from blankwright.base.frozen import dataclass
from blankwright.proof.tags import Record, header_variables, records

MAX_BYTES = 50_000_000
MAX_ENTITIES = 100_000
MAX_VERTICES = 200_000
"""Limits on a file from anywhere; a knife with its notes needs a thousandth of them."""

MM_PER_UNIT = {
    1: 25.4, 2: 304.8, 4: 1.0, 5: 10.0, 6: 1000.0, 8: 25.4e-6, 9: 25.4e-3, 10: 914.4, 13: 1e-3, 14: 100.0,
}  # fmt: skip
"""$INSUNITS -> mm (DXF reference, header variables): in, ft, mm, cm, m, microinch, mil, yd, micron, dm."""

UNSET_EXTENT = 1e19
"""Writers that do not know the extents leave plus and minus 1e20."""


@dataclass(frozen=True, eq=False)
class Contour:
    """A chain of lines and arcs from one entity.

    Args:
        kind: Entity type, such as "LWPOLYLINE" or "LINE".
        layer: Name as in the file.
        vertices: (n, 3) x, y [file units] and bulge.
        closed: Whether the entity says that it is closed.
        line: Line number in the file.
    """

    kind: str
    layer: str
    vertices: Array
    closed: bool
    line: int


@dataclass(frozen=True)
class Circle:
    """A full circle: centre and diameter [file units]."""

    layer: str
    x: float
    y: float
    diameter: float


@dataclass(frozen=True)
class Spot:
    """A point entity [file units]."""

    layer: str
    x: float
    y: float


@dataclass(frozen=True)
class CutDrawing:
    """What a DXF file holds.

    Args:
        name: File name for messages.
        release: $ACADVER, such as "AC1015", or None.
        insunits: $INSUNITS or None.
        measurement: $MEASUREMENT or None.
        extents: Least x, least y, greatest x, greatest y from the header [file units]; None when not set.
        layers: Declared layer names.
        hidden_layers: Declared layers that are switched off or frozen.
        contours: Polylines, lines and arcs.
        circles: Full circles.
        points: Points.
        others: (entity type, layer) of everything else in the drawing.
        in_blocks: (entity type, layer) of everything inside block definitions.
        mirrored: (entity type, layer) of entities with extrusion 0, 0, -1; they are returned as they look
            from above, x turned round.
    """

    name: str
    release: str | None
    insunits: int | None
    measurement: int | None
    extents: tuple[float, float, float, float] | None
    layers: tuple[str, ...]
    hidden_layers: tuple[str, ...]
    contours: tuple[Contour, ...]
    circles: tuple[Circle, ...]
    points: tuple[Spot, ...]
    others: tuple[tuple[str, str], ...]
    in_blocks: tuple[tuple[str, str], ...]
    mirrored: tuple[tuple[str, str], ...]

    @property
    def unit_mm(self) -> float | None:
        """Millimetres in one file unit, None when the file does not name its unit."""
        return None if self.insunits is None else MM_PER_UNIT.get(self.insunits)


@dataclass
class _Collected:
    contours: list[Contour] = field(default_factory=list)
    circles: list[Circle] = field(default_factory=list)
    points: list[Spot] = field(default_factory=list)
    others: list[tuple[str, str]] = field(default_factory=list)
    in_blocks: list[tuple[str, str]] = field(default_factory=list)
    mirrored: list[tuple[str, str]] = field(default_factory=list)
    layers: list[str] = field(default_factory=list)
    hidden: list[str] = field(default_factory=list)
    header: dict[str, Record] = field(default_factory=dict)
    vertices: int = 0


def read_dxf(path: Path) -> CutDrawing:
    """Read a DXF file.

    Args:
        path: An ASCII DXF file, at most 50 MB.

    Raises:
        RequestError: The file cannot be opened.
        ProofError: The file is no sound ASCII DXF; names the line.
    """
    try:
        with path.open("rb") as stream:
            data = stream.read(MAX_BYTES + 1)
    except (OSError, ValueError) as error:
        why = type(error).__name__
        raise RequestError(f"{path}: cannot be read ({why}). Check the name and the folder.") from None
    if len(data) > MAX_BYTES:
        raise ProofError(f"{path.name}: larger than {MAX_BYTES // 1_000_000} MB; no cutting file needs that.")
    if b"\0" in data:
        raise ProofError(f"{path.name}: binary or UTF-16 file. Save it as an ASCII DXF file.")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        # releases before 2007 use a code page; numbers are the same in all of them
        text = data.decode("latin-1")
    return parse_dxf(text, path.name)


def parse_dxf(text: str, name: str) -> CutDrawing:
    """Read the text of an ASCII DXF file.

    Args:
        text: The whole file.
        name: File name for messages.

    Raises:
        ProofError: The text is no sound ASCII DXF; names the line.
    """
    out = _Collected()
    _read_sections(records(text, name), name, out)
    header = out.header
    return CutDrawing(
        name=name,
        release=(header["$ACADVER"].text(1, "") or None) if "$ACADVER" in header else None,
        insunits=_header_integer(header, "$INSUNITS"),
        measurement=_header_integer(header, "$MEASUREMENT"),
        extents=_extents(header),
        layers=tuple(out.layers),
        hidden_layers=tuple(out.hidden),
        contours=tuple(out.contours),
        circles=tuple(out.circles),
        points=tuple(out.points),
        others=tuple(out.others),
        in_blocks=tuple(out.in_blocks),
        mirrored=tuple(out.mirrored),
    )


def _read_sections(records: Iterator[Record], name: str, out: _Collected) -> None:
    section: str | None = None
    for record in records:
        if record.kind == "EOF":
            if section is not None:
                raise record.fail(f"the file ends inside the section {section}.")
            if next(records, None) is not None:
                raise record.fail("the file goes on after its end mark.")
            return
        if record.kind == "SECTION":
            if section is not None:
                raise record.fail(f"a section begins inside the section {section}.")
            section = record.text(2, "")
            if section == "HEADER":
                out.header.update(header_variables(record))
        elif record.kind == "ENDSEC":
            if section is None:
                raise record.fail("a section ends that never began.")
            section = None
        elif section is None:
            raise record.fail(f"{record.kind[:40]!r} stands outside of any section.")
        else:
            _read_record(section, record, records, out)
    raise ProofError(f"{name}: the end mark is missing; the file is empty or cut short.")


def _read_record(section: str, record: Record, records: Iterator[Record], out: _Collected) -> None:
    if section == "ENTITIES":
        if len(out.contours) + len(out.circles) + len(out.points) + len(out.others) >= MAX_ENTITIES:
            raise record.fail(f"more than {MAX_ENTITIES} entities; no cutting file needs that.")
        _read_entity(record, records, out)
    elif section == "BLOCKS" and record.kind not in {"BLOCK", "ENDBLK", "VERTEX", "SEQEND"}:
        out.in_blocks.append((record.kind[:40], record.layer))
    elif section == "TABLES" and record.kind == "LAYER":
        layer = record.text(2, "")
        out.layers.append(layer)
        if record.integer(70, 0) & 1 or record.integer(62, 7) < 0:
            out.hidden.append(layer)


def _header_integer(header: dict[str, Record], name: str) -> int | None:
    return header[name].integer(70, 0) if name in header and header[name].find(70) else None


def _extents(header: dict[str, Record]) -> tuple[float, float, float, float] | None:
    found: list[float] = []
    for name in ("$EXTMIN", "$EXTMAX"):
        hits = [(code, header[name].find(code)) for code in (10, 20)] if name in header else []
        found += [header[name].number(code, *hit) for code, hit in hits if hit is not None]
    if len(found) != 4 or any(abs(v) > UNSET_EXTENT for v in found):
        return None
    return (found[0], found[1], found[2], found[3])


def _read_entity(record: Record, records: Iterator[Record], out: _Collected) -> None:
    kind = record.kind
    if kind in {"VERTEX", "SEQEND"}:
        raise record.fail(f"{kind} without a POLYLINE.")
    vertices = _vertex_records(record, records) if kind == "POLYLINE" else []
    side = _side(record)
    why = _not_plain(record, side)
    if why is not None:
        out.others.append((f"{kind[:40]}{why}", record.layer))
        return
    if side < 0 and kind not in {"LINE", "POINT"}:
        out.mirrored.append((kind, record.layer))
    if kind == "CIRCLE":
        x, y, radius = _centre(record)
        out.circles.append(Circle(record.layer, side * x, y, 2 * radius))
    elif kind == "POINT":
        out.points.append(Spot(record.layer, record.length(10, None), record.length(20, None)))
    else:
        rows, closed = _chain(record, vertices)
        out.vertices += len(rows)
        if out.vertices > MAX_VERTICES:
            raise record.fail(f"more than {MAX_VERTICES} vertices; no cutting file needs that.")
        array = np.array(rows, dtype=np.float64)
        if side < 0 and kind != "LINE":
            array *= np.array([-1.0, 1.0, -1.0])
        array.setflags(write=False)
        out.contours.append(Contour(kind, record.layer, array, closed, record.line))


def _side(record: Record) -> int:
    """Return 1 for a plane seen from above, -1 from below (x turned round), 0 for a tilted one."""
    x, y, z = (record.length(code, default) for code, default in ((210, 0.0), (220, 0.0), (230, 1.0)))
    return 0 if abs(x) + abs(y) > 1e-9 * abs(z) or z == 0 else (1 if z > 0 else -1)


def _not_plain(record: Record, side: int) -> str | None:
    """Say why an entity is no plain line work on the sheet, or None when it is."""
    if record.kind not in {"LWPOLYLINE", "POLYLINE", "LINE", "ARC", "CIRCLE", "POINT"}:
        return ""
    if record.integer(67, 0) or record.integer(60, 0):
        return " (on a paper layout or invisible)"
    if side == 0:
        return " (tilted plane)"
    if record.kind == "POLYLINE" and record.integer(70, 0) & (2 | 4 | 8 | 16 | 64):
        return " (fitted curve, mesh or in space)"
    if record.kind == "ARC" and math.isclose(record.length(50, None) % 360, record.length(51, None) % 360):
        return " (full turn)"
    return None


def _vertex_records(polyline: Record, records: Iterator[Record]) -> list[Record]:
    """Take the vertices of an old-style polyline from the stream, up to its SEQEND."""
    found: list[Record] = []
    for record in records:
        if record.kind == "SEQEND":
            return found
        if record.kind != "VERTEX" or len(found) > MAX_VERTICES:
            break
        found.append(record)
    raise polyline.fail("POLYLINE without its SEQEND; the file is damaged.")


def _chain(record: Record, vertices: list[Record]) -> tuple[list[list[float]], bool]:
    """Return rows of x, y, bulge, and whether the entity is closed."""
    kind = record.kind
    if kind == "LINE":
        ends = [[record.length(code, None) for code in pair] for pair in ((10, 20), (11, 21))]
        return [[*ends[0], 0.0], [*ends[1], 0.0]], False
    if kind == "ARC":
        return _arc(record), False
    if kind == "POLYLINE":
        rows = [[v.length(10, None), v.length(20, None), v.length(42, 0.0)] for v in vertices]
    else:
        rows = _light_vertices(record)
    if len(rows) < 2:
        raise record.fail(f"{kind} has {len(rows)} vertices; it needs at least two.")
    return rows, bool(record.integer(70, 0) & 1)


def _centre(record: Record) -> tuple[float, float, float]:
    x, y, radius = (record.length(code, None) for code in (10, 20, 40))
    if radius <= 0:
        raise record.fail(f"{record.kind} has the radius {radius:g}.")
    return x, y, radius


def _arc(record: Record) -> list[list[float]]:
    (x, y, radius), first, last = _centre(record), record.length(50, None), record.length(51, None)
    bulge = math.tan(math.radians((last - first) % 360) / 4)
    ends = [[x + radius * math.cos(a), y + radius * math.sin(a)] for a in map(math.radians, (first, last))]
    return [[*ends[0], bulge], [*ends[1], 0.0]]


def _light_vertices(record: Record) -> list[list[float]]:
    """Return the vertices of an LWPOLYLINE, whose 10, 20 and 42 repeat in order."""
    rows: list[list[float]] = []
    have_y = True
    for code, value, line in record.tags:
        if code == 10:
            if not have_y:
                raise record.fail("LWPOLYLINE has a vertex without y.", line)
            rows.append([record.coordinate(code, value, line), 0.0, 0.0])
            have_y = False
        elif code in {20, 42}:
            if not rows or (code == 20 and have_y):
                raise record.fail(f"LWPOLYLINE has group code {code} in the wrong place.", line)
            rows[-1][1 if code == 20 else 2] = record.coordinate(code, value, line)
            have_y = have_y or code == 20
    if not have_y:
        raise record.fail("LWPOLYLINE has a vertex without y.")
    if record.integer(90, len(rows)) != len(rows):
        raise record.fail(f"LWPOLYLINE says {record.integer(90, 0)} vertices and has {len(rows)}.")
    return rows
