"""The check print: what a cutting file holds, at true size, one dimension each way, to lay beside order and part."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from blankwright.base.arrays import Array
from blankwright.base.errors import RequestError
from blankwright.base.frozen import dataclass
from blankwright.base.units import MM_PER_INCH
from blankwright.geometry.chain import Chain
from blankwright.ink.marks import LineType
from blankwright.ink.papers import paper
from blankwright.template.scene import Avoid, Drawn, Label, Point, Scene, Stroke
from blankwright.template.scenes import Wishes, best_plan
from blankwright.template.tiling import BOTTOM_STRIP_MM, LEAST_BAR_MM, LEFT_STRIP_MM, PAD_MM, TOP_STRIP_MM, Plan

CUT_LINE = LineType("as-cut", 0.35, ())
"""What is cut: the only wide continuous lines beside dimensions and bars."""
MARK_LINE = LineType("marked", 0.18, ())
"""What is marked and not cut: thin, and not dashed, for its letters are smaller than dashes."""
OTHER_LINES = (
    LineType("not-cut-1", 0.25, (3.0, 0.75)),
    LineType("not-cut-2", 0.25, (1.0, 0.75)),
    LineType("not-cut-3", 0.25, (0.125, 0.75)),
)
"""What is not cut, one layer after the other (ISO 128: dashed, short-dashed, dotted)."""

MOST_SHEETS = 3
"""A knife needs two; what needs more is read better on one large page than put together."""

_AWAY_MM, _PAST_MM, _CROSS_MM = 8.0, 2.0, 2.0
_CLEAR_MM = 4.0
_FAR = 1000.0
_ROOM_MM = 10.0
_SLACK_MM = 12.0


@dataclass(frozen=True, eq=False)
class PrintedLayer:
    """A layer of a cutting file, in mm.

    Args:
        name: As in the file.
        use: What is done with it: cut, mark or do not cut.
        chains: Its lines and arcs; closed ones end where they began.
        circles: x, y and diameter of its circles.
        points: Its points.
    """

    name: str
    use: str
    chains: tuple[Chain, ...]
    circles: tuple[tuple[float, float, float], ...]
    points: tuple[Point, ...]


@dataclass(frozen=True, eq=False)
class CheckPrint:
    """What is printed.

    Args:
        title: Name of the part or the parts.
        file: Name of the cutting file.
        code: The short design code.
        unit: mm or in: what the file's numbers are.
        layers: Its layers.
        caution: What to mind when the part comes.
        compare: What it is laid beside; on every page.
        facts: What else is worth knowing of its lines; on the first page.
    """

    title: str
    file: str
    code: str
    unit: str
    layers: tuple[PrintedLayer, ...]
    caution: str
    compare: str
    facts: tuple[str, ...] = ()


def check_pdf(shown: CheckPrint, wanted: Wishes) -> bytes:
    """Return the check print as PDF: on the paper, in tiles where it needs them, else on one page as large as it takes.

    Raises:
        RequestError: It is larger than a PDF's page may be.
    """
    from blankwright.ink.pdf import pdf_bytes  # noqa: PLC0415 - needs the PDF library
    from blankwright.template.pages import Head, template_pages  # noqa: PLC0415

    scene = check_scene(shown)
    head = Head(
        title=shown.title,
        code=shown.code,
        facts=(f"{shown.file}: exactly what this file holds, read back from it. Print at 100 %.", *shown.facts),
        caution=f"{shown.compare} {shown.caution}".rstrip(),
    )
    pages = template_pages([(scene, check_plan(scene, wanted))], head)
    return pdf_bytes(
        pages, title=f"{shown.title}, check print", subject=f"{shown.file}, design {shown.code}", stretch=wanted.stretch
    )


def check_plan(scene: Scene, wanted: Wishes) -> Plan:
    """Return the pages of a check print."""
    try:
        tiled = best_plan(scene, wanted)
    except RequestError:  # too many sheets of this paper
        tiled = None
    if tiled is not None and len(tiled.tiles) <= MOST_SHEETS:
        return tiled
    points = scene.points()
    wide, high = points.max(axis=0) - points.min(axis=0) + 2 * (PAD_MM + wanted.margin_mm) + _SLACK_MM
    width = max(float(wide) + LEFT_STRIP_MM, 2 * LEAST_BAR_MM)
    height = max(float(high) + BOTTOM_STRIP_MM + TOP_STRIP_MM, 2 * LEAST_BAR_MM)
    return best_plan(scene, replace(wanted, paper=paper(f"{np.ceil(width):.0f}x{np.ceil(height):.0f}mm")))


def check_scene(shown: CheckPrint) -> Scene:
    """Return what is drawn of a file."""
    lines = _line_types(shown.layers)
    drawn = [
        Drawn(chain, lines[layer.name])
        for layer in shown.layers
        for chain in (*layer.chains, *(_ring(*circle) for circle in layer.circles))
    ]
    cut = [layer for layer in shown.layers if layer.use == "cut"]
    x0, y0, x1, y1 = _bounds(cut or shown.layers)
    strokes, texts = _dimensions((x0, y0, x1, y1), shown.unit)
    spots = [spot for layer in shown.layers for spot in layer.points]
    circles = [circle for layer in cut for circle in layer.circles]
    return Scene(
        name="check", title="check print", solid=(), dashed=(),
        lines=(*strokes, *(stroke for spot in spots for stroke in _cross(spot))), holes=(),
        labels=tuple(_diameter(circle, shown.unit) for circle in circles), texts=texts, facts=(),
        avoid=tuple(_kept(x, d) for x, _, d in circles) + tuple(_kept(x, 0.0) for x, _ in spots),
        drawn=tuple(drawn), legend=tuple((_words(layer), lines[layer.name] if _has_lines(layer) else None)
                                         for layer in shown.layers),
        corners=((x0 - 1.0, y0 - _AWAY_MM - _PAST_MM - 1.0), (x1 + _AWAY_MM + _ROOM_MM, y1 + 1.0)),
    )  # fmt: skip


def _words(layer: PrintedLayer) -> str:
    more = "" if _has_lines(layer) else " (crosses)" if layer.points else " (not shown)"
    return f"{layer.name}: {layer.use}{more}"


def _has_lines(layer: PrintedLayer) -> bool:
    return bool(layer.chains or layer.circles)


def _line_types(layers: Sequence[PrintedLayer]) -> dict[str, LineType]:
    """Return the line type of each layer: what is cut is continuous, what is marked thin, of the others none."""
    found, others = {}, 0
    for layer in layers:
        if layer.use == "cut":
            found[layer.name] = CUT_LINE
        elif layer.use == "mark":
            found[layer.name] = MARK_LINE
        else:
            found[layer.name] = OTHER_LINES[others % len(OTHER_LINES)]
            others += _has_lines(layer)
    return found


def _ring(x: float, y: float, diameter: float) -> Chain:
    r = diameter / 2
    return Chain(np.array([(x - r, y, 1.0), (x + r, y, 1.0), (x - r, y, 0.0)]))


def _bounds(layers: Sequence[PrintedLayer]) -> tuple[float, float, float, float]:
    parts: list[Array] = [chain.flattened(0.001) for layer in layers for chain in layer.chains]
    parts += [_ring(*circle).flattened(0.001) for layer in layers for circle in layer.circles]
    points = np.concatenate(parts)
    (x0, y0), (x1, y1) = points.min(axis=0).tolist(), points.max(axis=0).tolist()
    return x0, y0, x1, y1


def _dimensions(
    box: tuple[float, float, float, float], unit: str
) -> tuple[list[Stroke], tuple[tuple[str, Point], ...]]:
    """Return one dimension in each direction: below, and right."""
    x0, y0, x1, y1 = box
    low, right = y0 - _AWAY_MM, x1 + _AWAY_MM
    middle, upright = ((x0 + x1) / 2, low), (right, (y0 + y1) / 2)
    strokes = [
        Stroke((x0, y0 - 1.0), (x0, low - _PAST_MM), "narrow"),
        Stroke((x1, y0 - 1.0), (x1, low - _PAST_MM), "narrow"),
        Stroke((x1 + 1.0, y0), (right + _PAST_MM, y0), "narrow"),
        Stroke((x1 + 1.0, y1), (right + _PAST_MM, y1), "narrow"),
        *(Stroke(middle, end, "arrow") for end in ((x0, low), (x1, low))),
        *(Stroke(upright, end, "arrow") for end in ((right, y0), (right, y1))),
    ]
    texts = (
        (shown_size(x1 - x0, unit), (middle[0], middle[1] - 1.0)),
        (shown_size(y1 - y0, unit), (right, upright[1] - 1.0)),
    )
    return strokes, texts


def shown_size(value_mm: float, unit: str) -> str:
    """Return a length in the file's unit, as a check print has it.

    Args:
        value_mm: The length [mm].
        unit: mm or in.
    """
    return f"{value_mm:.2f} mm" if unit == "mm" else f"{value_mm / MM_PER_INCH:.3f} in"


def _cross(spot: Point) -> tuple[Stroke, Stroke]:
    x, y = spot
    return (
        Stroke((x - _CROSS_MM, y), (x + _CROSS_MM, y), "narrow"),
        Stroke((x, y - _CROSS_MM), (x, y + _CROSS_MM), "narrow"),
    )


def _diameter(circle: tuple[float, float, float], unit: str) -> Label:
    x, y, diameter = circle
    return Label(f"Ø {shown_size(diameter, unit)}", (x, y), diameter / 2 + 1.0)


def _kept(x: float, diameter: float) -> Avoid:
    reach = diameter / 2 + _CLEAR_MM
    return Avoid(x - reach, x + reach, _FAR)
