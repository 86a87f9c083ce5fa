"""A cutting file in a shop's style, read as if it were plain: layers by their plain names, loose pieces joined."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from blankwright.proof.reader import Contour, CutDrawing

Box = tuple[float, float, float, float]


def as_plain(
    drawing: CutDrawing, *, cut_layer: str, mark_layer: str, exploded: bool, path: bool, unit_mm: float
) -> CutDrawing:
    """Return a drawing with contours on CUT and marks on DRILL.

    Args:
        drawing: From `reader.read_dxf`.
        cut_layer: Layer of what is cut.
        mark_layer: Layer of the marks.
        exploded: Whether single lines and arcs are joined to closed polylines; what does not join stays as it is, and
            the proof then says so.
        path: Whether they are joined to open cuts instead, in the order in which they stand.
        unit_mm: Millimetres in one unit of the file.
    """
    contours = [_moved(c, cut_layer, "CUT") for c in drawing.contours]
    if exploded:
        loose = [c for c in contours if c.layer == "CUT" and c.kind in ("LINE", "ARC")]
        rest = [c for c in contours if not (c.layer == "CUT" and c.kind in ("LINE", "ARC"))]
        contours = [*rest, *(_in_order(loose, unit_mm) if path else _joined(loose, drawing.release, unit_mm))]
    names = {cut_layer.upper(): "CUT", mark_layer.upper(): "DRILL"}
    return replace(
        drawing,
        contours=tuple(contours),
        circles=tuple(_moved(c, cut_layer, "CUT") for c in drawing.circles),
        points=tuple(_moved(p, mark_layer, "DRILL") for p in drawing.points),
        layers=tuple(names.get(layer.upper(), layer) for layer in drawing.layers) + tuple(names.values()),
        hidden_layers=tuple(names.get(layer.upper(), layer) for layer in drawing.hidden_layers),
    )


def part_in(drawing: CutDrawing, box: Box, shift: tuple[float, float]) -> CutDrawing:
    """Return what lies in a box [file units] of a drawing of several parts, moved back to where one part lies.

    The header's extents become those of the part: they were checked on the whole drawing.
    """
    dx, dy = shift

    def inside(x: float, y: float) -> bool:
        return box[0] <= x <= box[2] and box[1] <= y <= box[3]

    move = np.array([dx, dy, 0.0])
    contours = tuple(
        replace(c, vertices=c.vertices - move)
        for c in drawing.contours
        if inside(float(c.vertices[0, 0]), float(c.vertices[0, 1]))
    )
    return replace(
        drawing,
        contours=contours,
        circles=tuple(replace(c, x=c.x - dx, y=c.y - dy) for c in drawing.circles if inside(c.x, c.y)),
        points=tuple(replace(p, x=p.x - dx, y=p.y - dy) for p in drawing.points if inside(p.x, p.y)),
        extents=(box[0] - dx, box[1] - dy, box[2] - dx, box[3] - dy),
    )


def _moved(item, layer: str, plain: str):  # type: ignore[no-untyped-def]
    return replace(item, layer=plain) if item.layer.upper() == layer.upper() else item


def _joined(loose: Sequence[Contour], release: str | None, unit_mm: float) -> list[Contour]:
    """Join lines and arcs end to end; ends must meet within a tenth of the finest cutting tolerance."""
    from blankwright.proof.chains import Strand, joined  # noqa: PLC0415 - only loose pieces need it

    scale = np.array([unit_mm, unit_mm, 1.0])
    strands = [Strand(c.kind, c.layer, c.line, c.vertices * scale, c.closed) for c in loose]
    runs, _ = joined(strands)
    kind = "POLYLINE" if release == "AC1009" else "LWPOLYLINE"
    return [Contour(kind, "CUT", r.vertices / scale, r.closed, loose[0].line) for r in runs]


def _in_order(loose: Sequence[Contour], unit_mm: float) -> list[Contour]:
    """Join lines and arcs to open cuts as they follow each other; an arc may stand in the file either way round."""
    from blankwright.proof.chains import JOINED_MM, reversed_rows  # noqa: PLC0415 - only loose pieces need it

    near = JOINED_MM / unit_mm
    out: list[Contour] = []
    single = False  # whether the last cut is one line or arc so far, which may have to be turned round
    for one in loose:
        rows = one.vertices
        befores = [] if not out else [out[-1].vertices, *([reversed_rows(out[-1].vertices)] if single else [])]
        pairs = ((last, way) for last in befores for way in (rows, reversed_rows(rows)))
        pair = next((p for p in pairs if np.hypot(*(p[0][-1, :2] - p[1][0, :2])) <= near), None)
        if pair is None:
            out.append(replace(one, kind="LWPOLYLINE", closed=False))
            single = True
        else:
            out[-1] = replace(out[-1], vertices=np.vstack([pair[0][:-1], pair[1]]))
            single = False
    return out
