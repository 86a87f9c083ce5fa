"""A stock file written: pieces, such as what a layout left over, in the words that the reader reads."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from blankwright.base.errors import RequestError
from blankwright.geometry.outline import Outline
from blankwright.shop.own import is_own
from blankwright.shop.records import Material
from blankwright.stock.piece import Piece, Zone

FLAT_MM = 0.002
"""Arcs of an outline that is typed in as points are followed to this; the points of a hollow lie in the steel."""


def stock_text(pieces: Sequence[Piece], head: Sequence[str] = ()) -> str:
    """Return pieces as the text of a stock file.

    Args:
        pieces: The pieces; each is written by its points, a zone that is round as a circle.
        head: Lines of comment at the top.

    Raises:
        RequestError: No piece is given.
    """
    if not pieces:
        raise RequestError("a stock file needs at least one piece.")
    lines = [*(f"# {line}" for line in head), "format = 1", ""]
    for piece in pieces:
        lines += [*_piece_lines(piece), ""]
    return "\n".join(lines)


def _piece_lines(piece: Piece) -> list[str]:
    lines = ["[[piece]]", f"name = {quoted(piece.name)}", f'kind = "{piece.kind}"', *_outline_lines(piece)]
    if len(piece.thickness) == 1:
        lines.append(f"thickness = {_mm(piece.thickness[0][1])}")
    else:
        lines.append(f"thickness = [{', '.join(f'[{_mm(x)}, {_mm(mm)}]' for x, mm in piece.thickness)}]")
    lines += [f"material = {quoted(_named(piece.material))}"] if piece.material is not None else []
    lines += [f"margin = {_mm(piece.margin_mm)}"] if piece.margin_mm else []
    lines += [f'grain = "{piece.grain_deg:.6g} deg"'] if piece.grain_deg is not None else []
    lines += [f"kerf = {_mm(piece.own_kerf_mm)}"] if piece.own_kerf_mm is not None else []
    lines += [f'faces = "{piece.faces}"'] if piece.faces != "unsaid" else []
    lines += [f"quantity = {piece.quantity}"] if piece.quantity > 1 else []
    for zone in piece.zones:
        lines += ["", *_zone_lines(zone)]
    return lines


def _named(material: Material) -> str:
    """Return a material as a stock file anywhere names it: one of the maker's own by its whole path."""
    return Path(material.name).resolve().as_posix() if is_own(material.name) else material.name


def _outline_lines(piece: Piece) -> list[str]:
    x0, y0, x1, y1 = piece.outline.bounds_mm
    corners = sorted((float(x), float(y)) for x, y, b in piece.outline.vertices if b == 0)
    if (x0, y0) == (0.0, 0.0) and corners == [(0.0, 0.0), (0.0, y1), (x1, 0.0), (x1, y1)]:
        return [f"length = {_mm(x1)}", f"width = {_mm(y1)}"]
    return [f"outline = {_points(piece.outline)}"]


def _zone_lines(zone: Zone) -> list[str]:
    lines = ["[[piece.zone]]", f'kind = "{zone.kind}"']
    lines += [f"name = {quoted(zone.name)}"] if zone.name else []
    if zone.circle is not None:
        lines.append(f"circle = [{', '.join(_mm(v) for v in zone.circle)}]")
    else:
        lines.append(f"points = {_points(zone.outline)}")
    lines += [f"margin = {_mm(zone.margin_mm)}"] if zone.margin_mm else []
    lines += [f'on = "{zone.part}"'] if zone.part != "knife" else []
    lines += [f'share = "{zone.share * 100:.6g} %"'] if zone.share != 1 else []
    lines += [f'face = "{zone.face}"'] if zone.face != "either" else []
    return lines


def _points(outline: Outline) -> str:
    return f"[{', '.join(f'[{_mm(x)}, {_mm(y)}]' for x, y in outline.flattened(FLAT_MM).tolist())}]"


def _mm(value_mm: float) -> str:
    return f'"{round(value_mm, 6) + 0.0:.10g} mm"'


def quoted(text: str) -> str:
    """Return a text as TOML writes it."""
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'
