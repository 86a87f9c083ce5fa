"""The maker's own mark: letters, or the strokes of an SVG file read as the inspection reads any file from anywhere."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from blankwright.base.arrays import Array
from blankwright.base.errors import RequestError, ToleranceNotMetError
from blankwright.base.reading import read_limited
from blankwright.design.request import Design
from blankwright.geometry.chain import Chain
from blankwright.ink.strokes import Stroked, letters
from blankwright.inspection.budget import TooMuchWorkError
from blankwright.inspection.curves import Curve, to_arcs
from blankwright.inspection.drawing import WRITING, Drawing, Item
from blankwright.inspection.svg import read_svg

FOLLOW_MM = 0.005
"""Arcs follow the drawing's curves within this, at the height that was asked."""
MAX_BYTES, MAX_PIECES = 1_000_000, 5_000
"""Limits on a file from anywhere; a mark needs a hundredth of them."""


def own_mark(design: Design) -> Stroked | None:
    """Return the maker's own mark about the origin; None where the design has none.

    Args:
        design: The design; a file is looked for beside its own.

    Raises:
        RequestError: The mark has no height or two sources, or a letter or file that cannot be taken.
    """
    text, file, height = (design.settings.get(f"mark.{key}") for key in ("text", "file", "height"))
    if text is None and file is None:
        return None
    if text is not None and file is not None:
        raise RequestError("[mark] text, file: give one of both; the mark is either letters or a drawing.")
    if not isinstance(height, float):
        raise RequestError('[mark] height is missing: say how high a capital, or the drawing, shall be: "2 mm".')
    if text is not None:
        return letters(str(text), height, "[mark] text")
    return mark_from((design.folder or Path()) / str(file), height)


def mark_from(path: Path, height_mm: float) -> Stroked:
    """Return a drawing's strokes, open or closed, y up, scaled to a height; a filled shape is taken by its outline.

    Args:
        path: The file (.svg).
        height_mm: Height of the whole drawing [mm].

    Raises:
        RequestError: It cannot be read, holds nothing to follow, or something that has no line; names the file.
    """
    data = read_limited(path, MAX_BYTES, "a mark, which is a few lines")
    if not data:
        raise RequestError(f"{path}: empty; a mark is a few lines.")
    drawing = read_svg(data, path.name)
    _check(drawing, path)
    lines = [item for item in drawing.items if item.line_work]
    box = _box(lines)
    if not box[1] - box[0] > 1e-9:
        raise RequestError(f"{path}: the drawing has no height; a level line is no mark.")
    scale = height_mm / (box[1] - box[0])
    try:
        chains = [_chain(item, FOLLOW_MM / scale) for item in lines]
    except (ToleranceNotMetError, TooMuchWorkError) as error:
        raise RequestError(f"{path}: {error}") from None
    if sum(len(chain) - 1 for chain in chains) > MAX_PIECES:
        raise RequestError(f"{path}: more than {MAX_PIECES} lines and arcs; a mark is a few.")
    drawn = Stroked(tuple(Chain(chain * np.array([scale, scale, 1.0])) for chain in chains))
    return drawn.grown(height_mm / drawn.size_mm[1])  # the height was read off points; the arcs' own goes


def _check(drawing: Drawing, path: Path) -> None:
    """Refuse a file that cannot be read whole, or that holds what has no line."""
    if drawing.faults:
        raise RequestError(f"{path}: {drawing.faults[0]}")
    for item in drawing.items:
        if item.kind in WRITING:
            raise RequestError(f"{path}: text has no line to follow: turn it into paths.")
        if item.trouble or item.spoiled:
            raise RequestError(f"{path}, line {item.line}: {item.kind} {item.trouble or 'makes no curve'}.")
        if not item.line_work:
            raise RequestError(f"{path}, line {item.line}: {item.kind} has no line to follow.")
    if not drawing.items:
        raise RequestError(f"{path}: there is no line in it.")


def _box(lines: list[Item]) -> tuple[float, float]:
    """Return the least and greatest y of lines, near enough to scale by."""
    ys: list[float] = []
    for item in lines:
        if item.chain is not None:
            closed = np.vstack([item.chain, item.chain[:1]]) if item.closed else item.chain
            ys += Chain(closed).flattened(0.01 * max(float(np.ptp(closed[:, :2])), 1e-6))[:, 1].tolist()
        elif item.curve is not None:
            ys += _points(item.curve)[:, 1].tolist()
    return min(ys), max(ys)


def _points(curve: Curve) -> Array:
    spans = len(curve.coefs)
    span = np.repeat(np.arange(spans), 33)
    return curve.at(span, np.tile(np.linspace(0, 1, 33), spans))


def _chain(item: Item, tol: float) -> Array:
    """Return what an item draws as an open chain; a closed one ends where it began."""
    if item.chain is not None:
        return np.vstack([item.chain, item.chain[:1]]) if item.closed else item.chain
    assert item.curve is not None
    return to_arcs(item.curve, tol)[0]
