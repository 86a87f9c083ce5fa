"""The stock file: pieces of steel in words and figures, read with messages that name file, piece, zone and key.

    format = 1

    [[piece]]
    name = "old leaf spring"
    kind = "found"                               # bar, sheet or found
    length = "420 mm"                            # and width; or outline = [["0 mm", "0 mm"], ...], or outline = "FILE"
    width = "64 mm"                              # or places and widths: [["0 mm", "28 mm"], ["250 mm", "22 mm"]]
    thickness = "6 mm"                           # or places and thicknesses, in the same way
    material = "80CrV2"                          # as designs name it, or a file of your own; left out, nobody says
    [[piece.zone]]
    kind = "avoid"
    circle = ["395 mm", "32 mm", "10 mm"]        # x, y, diameter; or points = [["x", "y"], ...]
    margin = "4 mm"

FILE is what `lift` writes of a drawing or a scan (NAME_lifted.toml), or what `lift --json` says: an outline and holes.
"""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

import numpy as np

from blankwright.base.doors import a_path
from blankwright.base.errors import GeometryError, RequestError, told, unknown
from blankwright.base.fields import Fields, read_toml
from blankwright.base.frozen import dataclass
from blankwright.base.library import template_file
from blankwright.base.plain import plain_value
from blankwright.base.reading import is_plain_file, read_text, why_no_file
from blankwright.base.readrows import built
from blankwright.base.units import angle_deg, length_mm, share_percent
from blankwright.design.lifted import read_lifted
from blankwright.geometry.outline import Outline
from blankwright.knife.materials import material_for
from blankwright.shop.own import is_own
from blankwright.shop.records import Material
from blankwright.stock.piece import (
    FACES,
    KINDS,
    LONGEST_MM,
    MOST_PIECES,
    MOST_POINTS,
    PARTS,
    ZONE_KINDS,
    Piece,
    Zone,
    box,
    polygon,
    round_zone,
)

FORMAT = 1
MOST_ROWS = 200
"""Pieces in a file, and zones on a piece."""

_NEAR_MM = 0.01
"""A table of thicknesses ends so near to the end of its piece: lengths of lifted outlines are not round."""

_LIFTED_BYTES = 4_000_000
_PIECE_KEYS = (
    "name", "kind", "length", "width", "tapers", "thickness", "margin", "grain", "quantity", "outline", "kerf", "faces",
    "material", "zone",
)  # fmt: skip
_ZONE_KEYS = ("kind", "circle", "points", "margin", "name", "on", "share", "face")
_TAPERS = ("both", "upper", "lower")


def read_stock(source: str | Path) -> tuple[Piece, ...]:
    """Read a stock file.

    Args:
        source: The file (.toml), or the name of a shipped one.

    Raises:
        RequestError: Unreadable, or something in it cannot be; the message names file, piece, key and what is allowed.
    """
    path = a_path(source, "a stock file")
    if not str(path).endswith(".toml"):
        path = template_file("stock", str(path), "STOCK")
    if not is_plain_file(path):
        raise RequestError(f"{str(path)[:200]}: {why_no_file(path, 'stock file')}.")
    return stock_from_table(read_toml(path), path.name, path.parent)


def pieces_of(source: str | Path, name: str | None) -> tuple[Piece, ...]:
    """Read a stock file, or one piece of it.

    Args:
        source: The file (.toml), or the name of a shipped one.
        name: The piece; None for all.

    Raises:
        RequestError: As read_stock, or there is no such piece.
    """
    pieces = read_stock(source)
    found = tuple(one for one in pieces if name in (None, one.name))
    if not found:
        raise unknown("piece", str(name), [one.name for one in pieces], "piece")
    return found


def stock_from_table(table: dict[str, Any], where: str, beside: Path | None = None) -> tuple[Piece, ...]:
    """Read a stock file that is parsed already.

    Args:
        table: The file as a table.
        where: Its name, for messages.
        beside: Folder in which an outline's file is looked up first.

    Raises:
        RequestError: As read_stock.
    """
    top = Fields(table, where)
    top.only(("format", "piece"))
    top.whole("format", FORMAT, FORMAT, FORMAT)
    rows = top.rows("piece")
    if len(rows) > MOST_ROWS:
        raise RequestError(f"{where}: {len(rows)} pieces; at most {MOST_ROWS} go in a file.")
    pieces = tuple(_piece(row, beside) for row in rows)
    names = [p.name for p in pieces]
    twice = next((name for name in names if names.count(name) > 1), None)
    if twice is not None:
        raise RequestError(f"{where}: two pieces are called '{twice[:60]}'. Give one another name, or a quantity.")
    return pieces


def _piece(row: Fields, beside: Path | None) -> Piece:
    row.only(_PIECE_KEYS)
    name = row.text("name", row.where.rsplit("]] ", 1)[-1])
    if len(name) > 100:
        raise RequestError(f"{row.where} name: at most 100 characters.")
    kind = row.choice("kind", KINDS)
    outline, holes = _outline(row, kind, beside)
    thickness = _thickness(row, outline)
    margin = _length(row, "margin", 0.0, 200.0, 0.0)
    drilled = tuple(Zone("avoid", hole, margin, "hole") for hole in holes)
    zones = drilled + tuple(_zone(zone) for zone in (row.rows("zone") if "zone" in row.table else []))
    if len(zones) > MOST_ROWS:
        raise RequestError(f"{row.where}: {len(zones)} zones; at most {MOST_ROWS} go on a piece.")
    grain = _grain(row.table["grain"], f"{row.where} grain") if "grain" in row.table else None
    steel = _material(row, beside) if "material" in row.table else None
    return built(
        row.where,
        lambda: Piece(
            name=name,
            kind=kind,  # type: ignore[arg-type]
            outline=outline,
            thickness=thickness,
            zones=zones,
            margin_mm=margin,
            grain_deg=grain,
            quantity=row.whole("quantity", 1, MOST_PIECES, 1),
            own_kerf_mm=_length(row, "kerf", 0.0, 20.0) if "kerf" in row.table else None,
            faces=row.choice("faces", ("alike", "front")) if "faces" in row.table else "unsaid",  # type: ignore[arg-type]
            material=steel,
        ),
        _PIECE_KEYS,
    )


def _material(row: Fields, beside: Path | None) -> Material:
    """Return what a piece is of: a blade's material as designs name it, or a file of one's own beside it."""
    name = row.text("material")
    if beside is not None and is_own(name) and is_plain_file(beside / name):
        name = (beside / name).as_posix()
    return material_for("material.grade", name, f"{row.where} material")


def _grain(value: object, place: str) -> float:
    """Return the direction of rolling [degrees from x]."""
    words = {"along": 0.0, "across": 90.0}
    if isinstance(value, str) and value in words:
        return words[value]
    try:
        return angle_deg(value, place)
    except RequestError as error:
        raise RequestError(f"{error} Or write along, or across.") from None


def _zone(row: Fields) -> Zone:
    row.only(_ZONE_KEYS)
    kind = row.choice("kind", ZONE_KINDS)
    for key in ("on", "share", "face"):
        if kind == "avoid" and key in row.table:
            raise RequestError(f"{row.where} {key}: is for a zone to keep; a zone to avoid is avoided whole.")
    share = share_percent(row.table["share"], f"{row.where} share") if "share" in row.table else 100.0
    if not 1 <= share <= 100:
        raise RequestError(f"{row.where} share: {share:g} % is out of range. Allowed: 1 % to 100 %.")
    outline, margin_mm = _zone_outline(row), _length(row, "margin", 0.0, 200.0, 0.0)
    name = row.text("name") if "name" in row.table else ""
    part, face = row.choice("on", PARTS, "knife"), row.choice("face", FACES, "either")
    return built(
        row.where,
        lambda: Zone(kind, outline, margin_mm, name, part, share / 100, face),  # type: ignore[arg-type]
        _ZONE_KEYS,
    )


def _zone_outline(row: Fields) -> Outline:
    if ("circle" in row.table) == ("points" in row.table):
        raise RequestError(f'{row.where}: give circle = ["x", "y", "diameter"] or points = [["x", "y"], ...].')
    if "points" in row.table:
        points = _points(row.table["points"], f"{row.where} points")
        return built(row.where, lambda: polygon(points), _ZONE_KEYS)
    value, place = row.table["circle"], f"{row.where} circle"
    if not isinstance(value, list) or len(value) != 3:
        raise RequestError(f"{place}: expected x, y and diameter, got {told(value)}.")
    x, y, diameter = (length_mm(v, place) for v in value)
    if not 0.1 <= diameter <= LONGEST_MM or max(abs(x), abs(y)) > LONGEST_MM:
        raise RequestError(f"{place}: a diameter of 0.1 mm to {LONGEST_MM:g} mm is needed, got {diameter:g} mm.")
    return round_zone(x, y, diameter)


def _outline(row: Fields, kind: str, beside: Path | None) -> tuple[Outline, tuple[Outline, ...]]:
    """Return a piece's outline, and the holes that a lifted one came with."""
    if "outline" not in row.table:
        return _by_size(row), ()
    if kind != "found":
        raise RequestError(f'{row.where} outline: a {kind} is a rectangle; give length and width, or kind = "found".')
    for key in ("length", "width", "tapers"):
        if key in row.table:
            raise RequestError(f"{row.where} {key}: the outline says it already. Leave one of them out.")
    value, place = row.table["outline"], f"{row.where} outline"
    if isinstance(value, str):
        return _lifted(value, place, beside)
    return built(place, lambda: polygon(_points(value, place))), ()


def _by_size(row: Fields) -> Outline:
    """Return a piece given by its length and its width, or its widths at places along it."""
    length = _length(row, "length", 1.0, LONGEST_MM)
    widths = _along(row, "width", 0.0, length)
    if len(widths) == 1:
        if "tapers" in row.table:
            raise RequestError(f"{row.where} tapers: the piece is as wide everywhere; leave it out.")
        return box(length, widths[0][1])
    if row.choice("kind", KINDS) != "found":
        raise RequestError(f'{row.where} width: only a found piece tapers; write kind = "found".')
    if widths[0][0] > 0 or widths[-1][0] < length:
        raise RequestError(f"{row.where} width: its places must run from 0 mm to the length, {length:g} mm.")
    tapers = row.choice("tapers", _TAPERS, "both")
    most = max(w for _, w in widths)
    low = {"both": 0.5, "lower": 1.0, "upper": 0.0}[tapers]
    below = [(x, (most - w) * low) for x, w in widths]
    above = [(x, (most - w) * low + w) for x, w in widths]
    return built(row.where, lambda: polygon([*below, *reversed(above)]))


def _thickness(row: Fields, outline: Outline) -> tuple[tuple[float, float], ...]:
    """Return how thick a piece is at places along it, from end to end: nobody knows what comes behind the last one."""
    first, _, last, _ = outline.bounds_mm
    stations = _along(row, "thickness", first, last)
    if len(stations) > 1 and not (stations[0][0] <= first + _NEAR_MM and last - _NEAR_MM <= stations[-1][0]):
        raise RequestError(
            f"{row.where} thickness: its places must run from {first:g} mm to the length, {last:g} mm; they run from "
            f"{stations[0][0]:g} mm to {stations[-1][0]:g} mm. Measure it at both ends."
        )
    return stations


def _along(row: Fields, key: str, first: float, last: float) -> tuple[tuple[float, float], ...]:
    """Return places along x and what is there: one length, one at each end, or pairs of place and length [mm]."""
    if key not in row.table:
        raise RequestError(f"{row.where}: the key '{key}' is missing.")
    value, place = row.table[key], f"{row.where} {key}"
    if not isinstance(value, list):
        return ((first, _length(row, key, 0.1, LONGEST_MM)),)
    if len(value) == 2 and not any(isinstance(v, list) for v in value):
        value = [[f"{first!r} mm", value[0]], [f"{last!r} mm", value[1]]]
    stations = _points(value, place, 2)
    for (x, mm), (after, _) in zip(stations, [*stations[1:], (math.inf, 0.0)], strict=True):
        if not x < after:
            raise RequestError(f"{place}: its places must grow; {after:g} mm comes behind {x:g} mm.")
        if not 0.1 <= mm <= LONGEST_MM:
            raise RequestError(f"{place}: {mm:g} mm is out of range. Allowed: 0.1 mm to {LONGEST_MM:g} mm.")
    return tuple(stations)


def _points(value: object, place: str, least: int = 3) -> list[tuple[float, float]]:
    """Return pairs of lengths [mm]."""
    if not isinstance(value, list) or not least <= len(value) <= MOST_POINTS:
        what = f"a list of {least} to {MOST_POINTS} pairs"
        raise RequestError(f'{place}: expected {what}, such as [["0 mm", "28 mm"], ...], got {told(value)}.')
    found = []
    for number, pair in enumerate(value, start=1):
        if not isinstance(pair, list) or len(pair) != 2:
            raise RequestError(f'{place} number {number}: expected a pair such as ["0 mm", "28 mm"], got {told(pair)}.')
        x, y = (length_mm(v, f"{place} number {number}") for v in pair)
        if max(abs(x), abs(y)) > LONGEST_MM:
            raise RequestError(f"{place} number {number}: ({x:g}, {y:g}) mm is more than {LONGEST_MM:g} mm away.")
        found.append((x, y))
    return found


def _length(row: Fields, key: str, least: float, greatest: float, default: float | None = None) -> float:
    """Return a length within a range [mm]."""
    if key not in row.table:
        if default is None:
            raise RequestError(f"{row.where}: the key '{key}' is missing.")
        return default
    value = length_mm(row.table[key], f"{row.where} {key}")
    if not least <= value <= greatest:
        raise RequestError(f"{row.where} {key}: {value:g} mm is out of range. Allowed: {least:g} to {greatest:g} mm.")
    return value


# A lifted outline --------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class _Lifted:
    vertices: Any
    holes: Any


def _lifted(name: str, place: str, beside: Path | None) -> tuple[Outline, tuple[Outline, ...]]:
    """Return the outline and holes of a lifted file, moved so that its lower left corner is the origin."""
    path = beside / name if beside is not None and is_plain_file(beside / name) else Path(name)
    if not is_plain_file(path):
        raise RequestError(f"{place}: {str(path)[:200]}: {why_no_file(path, 'file of an outline')}.")
    where = f"{place} {path.name}"
    if path.suffix.lower() == ".toml":
        lifted = read_lifted(path)
        outline, holes = lifted.outline, [round_zone(h.x_mm, h.y_mm, h.diameter_mm) for h in lifted.holes]
    else:
        found = _parsed(path)
        outline, holes = _vertices(found.vertices, where), _holes(found.holes, where)
    x0, y0 = outline.bounds_mm[:2]
    return outline.moved(-x0, -y0), tuple(h.moved(-x0, -y0) for h in holes)


def _parsed(path: Path) -> _Lifted:
    text = read_text(path, _LIFTED_BYTES, "an outline of `lift --json`")
    try:
        table = plain_value(json.loads(text), path.name)
    except (ValueError, RecursionError) as error:
        raise RequestError(f"{path.name}: no JSON of `lift --json` ({error}).") from None
    outline = table.get("outline") if isinstance(table, dict) else None
    if not isinstance(outline, dict) or "vertices" not in outline:
        raise RequestError(f"{path.name}: holds no outline with its vertices, as `lift --json` writes it.")
    return _Lifted(outline["vertices"], table.get("holes", []))


def _numbers(row: object, count: int) -> bool:
    if not isinstance(row, list) or len(row) != count:
        return False
    return all(isinstance(v, (int, float)) and not isinstance(v, bool) and abs(v) <= LONGEST_MM for v in row)


def _vertices(value: object, where: str) -> Outline:
    if not isinstance(value, list) or not 2 <= len(value) <= MOST_POINTS or not all(_numbers(v, 3) for v in value):
        raise RequestError(f"{where}: expected 2 to {MOST_POINTS} vertices of x, y and bulge in mm, got {told(value)}.")
    try:
        return Outline(np.array(value, dtype=np.float64))
    except GeometryError as error:
        raise RequestError(f"{where}: {error}.") from None


def _holes(value: object, where: str) -> list[Outline]:
    found = []
    for number, row in enumerate(value if isinstance(value, list) else [], start=1):
        keys = ("x_mm", "y_mm", "diameter_mm")
        sizes: list[Any] = [row.get(key) for key in keys] if isinstance(row, dict) else []
        if not _numbers(sizes, 3) or not sizes[2] > 0:
            raise RequestError(f"{where} hole {number}: expected {', '.join(keys)}, got {told(row)}.")
        found.append(round_zone(*sizes))
    return found
