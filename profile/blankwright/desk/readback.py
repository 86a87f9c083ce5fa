"""What stands in a cutting file, read back as the shop will read it: its layers, and how large all of it is."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from blankwright.base.arrays import Array
from blankwright.base.units import mm_per
from blankwright.cutting.delivery import Delivery
from blankwright.cutting.names import FileName
from blankwright.cutting.order import LayerUse, SentFile, by_machine, counted_words, layer_use
from blankwright.cutting.style import FileStyle
from blankwright.desk.proving import read_sent, read_written
from blankwright.geometry.chain import Chain
from blankwright.geometry.outline import piece_bounds
from blankwright.knife.cautions import EDGE_CAUTION, SPLINTER_CAUTION
from blankwright.proof.chains import Strand, joined
from blankwright.proof.reader import Contour, CutDrawing
from blankwright.template.checkprint import CheckPrint, PrintedLayer, shown_size

_PLAIN_CUT = "CUT"
_ORDER = ("cut", "mark", "do not cut")


def sent_file(path: Path, name: FileName, sent: Delivery) -> SentFile:
    """Read a written cutting file and return what it holds, layer by layer.

    Args:
        path: Where it was written.
        name: What it is called.
        sent: The delivery; its style says which layer is which.

    Raises:
        ProofError: The file cannot be read.
    """
    raw, plain = read_written(path), read_sent(path, sent.service)
    uses = [_use(layer, plain, sent.style) for layer in layers_in(raw)]
    uses.sort(key=lambda use: _ORDER.index(use.use))
    unit_mm = mm_per(sent.style.unit)
    return SentFile(name.name, name.full, tuple(uses), _size_mm(raw, sent.style, unit_mm))


def check_print(path: Path, file: SentFile, sent: Delivery, title: str, code: str, *, alone: bool = True) -> CheckPrint:
    """Read a written cutting file and return what is printed of it: all its lines, layer by layer, in mm.

    Args:
        path: Where it was written.
        file: What it holds.
        sent: The delivery.
        title: Name of the part or the parts.
        code: The design code.
        alone: Whether its part is the only one in the file.

    Raises:
        ProofError: The file cannot be read.
    """
    raw = read_written(path)
    unit_mm = mm_per(sent.style.unit)
    layers = tuple(_printed(raw, layer, unit_mm) for layer in file.layers)
    caution = SPLINTER_CAUTION if sent.knife.start.wooden else EDGE_CAUTION
    return CheckPrint(
        title, file.name, code, sent.style.unit, layers, caution, _compare(sent), _path_facts(sent, alone)
    )


def _compare(sent: Delivery) -> str:
    """Say what a check print is laid beside: nobody orders what is cut by hand or on one's own table."""
    if sent.path is not None:
        half = shown_size(sent.path.kerf_mm / 2, sent.style.unit)
        return f"Its line is the cutter's middle, {half} outside the part: the part is smaller all round."
    if by_machine(sent.knife):
        return "Compare it with the order; lay the part on it when it comes."
    return "Lay the part on it when it is cut."


def _path_facts(sent: Delivery, alone: bool) -> tuple[str, ...]:
    """Say how large the part itself is where the line is that of the cutter's middle."""
    if sent.path is None:
        return ()
    unit = sent.style.unit
    kerf = shown_size(sent.path.kerf_mm, unit)
    long, high = (shown_size(v, unit) for v in sent.knife.cut.size_mm)
    holes = sorted({h.made.cut_diameter_mm for h in sent.knife.holes if h.made.cut_diameter_mm is not None})
    bored = f", its holes {' and '.join(shown_size(d, unit) for d in holes)}" if holes else ""
    own = f" The part itself is {long} long and {high} high{bored}." if alone else ""
    line = f"Kerf {kerf}: the line runs half of it outside the part and inside its holes; sizes are the line's."
    return (f"{line}{own}",)


def _printed(raw: CutDrawing, layer: LayerUse, unit_mm: float) -> PrintedLayer:
    name, scale = layer.name, np.array([unit_mm, unit_mm, 1.0])
    # single lines and arcs are drawn as the runs they make, or their dashes would begin anew with each
    strands = [Strand(c.kind, name, c.line, c.vertices * scale, c.closed) for c in raw.contours if c.layer == name]
    runs, _ = joined(strands)
    chains = [Chain(np.vstack([r.vertices, r.vertices[:1]]) if r.closed else r.vertices) for r in runs]
    circles = tuple((c.x * unit_mm, c.y * unit_mm, c.diameter * unit_mm) for c in raw.circles if c.layer == name)
    points = tuple((p.x * unit_mm, p.y * unit_mm) for p in raw.points if p.layer == name)
    return PrintedLayer(name, layer.use, tuple(chains), circles, points)


def layers_in(drawing: CutDrawing) -> list[str]:
    """Return the layers that hold something, in the order in which they come."""
    found = [item.layer for group in (drawing.contours, drawing.circles, drawing.points) for item in group]
    return list(dict.fromkeys([*found, *(layer for _, layer in drawing.others)]))


def _use(layer: str, plain: CutDrawing, style: FileStyle) -> LayerUse:
    use, holds = layer_use(layer, style.cut_layer, style.mark_layer, style.etch_layer)
    return LayerUse(layer, use, holds or _counts(plain))


def _counts(plain: CutDrawing) -> str:
    contours = [c for c in plain.contours if c.layer == _PLAIN_CUT]
    shut = sum(c.closed for c in contours)
    return counted_words(shut, len(contours) - shut, sum(c.layer == _PLAIN_CUT for c in plain.circles))


def _size_mm(drawing: CutDrawing, style: FileStyle, unit_mm: float) -> tuple[float, float]:
    """Return width and height of all that the cutter does [mm]."""
    cut = style.cut_layer.upper()
    corners = [_corners(c) for c in drawing.contours if c.layer.upper() == cut]
    corners += [
        np.array([(c.x - c.diameter / 2, c.y - c.diameter / 2), (c.x + c.diameter / 2, c.y + c.diameter / 2)])
        for c in drawing.circles
        if c.layer.upper() == cut
    ]
    points = np.concatenate(corners)
    wide, high = (points.max(axis=0) - points.min(axis=0)) * unit_mm
    return float(wide), float(high)


def _corners(contour: Contour) -> Array:
    """Return two corners of the box around a contour [file units]."""
    rows = np.vstack([contour.vertices, contour.vertices[:1]]) if contour.closed else contour.vertices
    low, high = piece_bounds(rows[:-1, :2], rows[1:, :2], rows[:-1, 2])
    return np.array([low.min(axis=0), high.max(axis=0)])
