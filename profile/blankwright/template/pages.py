"""Pages of a template: scenes on their tiles, with bars, head, crosses at the joins and a small map.

It draws what the scenes and plans say and computes nothing about the knife.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from blankwright.base.arrays import Array
from blankwright.base.frozen import dataclass
from blankwright.geometry.chain import Chain
from blankwright.ink import lettering
from blankwright.ink.bars import level_bar, upright_bar
from blankwright.ink.marks import (
    CENTRE,
    CUT,
    HOLE,
    NARROW,
    OTHER,
    Arrow,
    Box,
    ClosedLine,
    Curve,
    LineType,
    Marks,
    Ring,
    Segment,
    Text,
)
from blankwright.ink.pdf import Layer, Page
from blankwright.template.joins import draw_joins
from blankwright.template.labels import INK_MM, set_labels
from blankwright.template.scene import SOLID, DrawnHole, Label, Scene, Stroke
from blankwright.template.tiling import LEFT_STRIP_MM, Plan, Rect, Tile

Point = tuple[float, float]

LINES: dict[str, LineType] = {"centre": CENTRE, "board": OTHER, "narrow": NARROW, "cut": CUT, "arrow": NARROW}
BOLD = 1.12
"""Bold words are this much wider."""
PUNCH_MM = 2.0
"""Circle about a hole's centre that a centre punch stands in."""
_WORDS_MM = 2.2
MEASURE = "Print at actual size, then measure both bars, from line centre to line centre: 0 to 100 mm."
BAR_WORDS = "ticks below: 10 mm, above: 1 inch"


@dataclass(frozen=True)
class Head:
    """What stands over every page.

    Args:
        title: Knife and family.
        code: The short design code.
        facts: Lines for the first page of every scene.
        caution: The usual cautions in one line.
    """

    title: str
    code: str
    facts: tuple[str, ...]
    caution: str


def template_pages(parts: Sequence[tuple[Scene, Plan]], head: Head) -> list[Page]:
    """Return the pages of a template, scene after scene."""
    total = sum(len(plan.tiles) for _, plan in parts)
    pages: list[Page] = []
    for scene, plan in parts:
        for tile in plan.tiles:
            pages.append(_page(scene, plan, tile, head, len(pages) + 1, total))
    return pages


def _page(scene: Scene, plan: Plan, tile: Tile, head: Head, number: int, total: int) -> Page:
    window = Box(tile.window.x0, tile.window.y0, tile.window.x1, tile.window.y1)
    drawn = _scene_marks(scene, tile)
    around = Marks()
    _bars(around, plan)
    _head(around, scene, plan, tile, head, (number, total))
    draw_joins(drawn, around, tile)
    taken = [*around.texts, *drawn.texts]
    words = Marks(
        texts=[*taken], segments=[*drawn.segments, *around.segments], arrows=[*drawn.arrows], rings=[*drawn.rings]
    )
    core = _core(tile)
    labels = [Label(label.text, _moved(label.at, tile), label.clear_mm) for label in scene.labels]
    labels = [label for label in labels if core.x0 <= label.at[0] < core.x1 and core.y0 <= label.at[1] < core.y1]
    before = len(words.segments)
    set_labels(words, labels, window, _ink(drawn, window), _WORDS_MM)
    beside = Marks(texts=words.texts[len(taken) :], segments=words.segments[before:])
    name = scene.title if len(plan.tiles) == 1 else f"{scene.title}, row {tile.row}, column {tile.column}"
    return Page(plan.width_mm, plan.height_mm, (Layer(drawn, window), Layer(beside, None), Layer(around, None)), name)


def _moved(point: Point, tile: Tile) -> Point:
    c, s = math.cos(math.radians(tile.angle_deg)), math.sin(math.radians(tile.angle_deg))
    return (c * point[0] - s * point[1] + tile.dx_mm, s * point[0] + c * point[1] + tile.dy_mm)


def _core(tile: Tile) -> Rect:
    """Return the part of a tile that is its own: up to the joins."""
    left, right = tile.joins_x_mm
    low, high = tile.joins_y_mm
    w = tile.window
    return Rect(
        w.x0 if left is None else left,
        w.y0 if low is None else low,
        w.x1 if right is None else right,
        w.y1 if high is None else high,
    )


def _scene_marks(scene: Scene, tile: Tile) -> Marks:
    marks = Marks()
    for outline in scene.dashed:
        marks.add(ClosedLine(outline.placed(tile.angle_deg, tile.dx_mm, tile.dy_mm), CUT))
    for outline in scene.solid:
        marks.add(ClosedLine(outline.placed(tile.angle_deg, tile.dx_mm, tile.dy_mm), SOLID))
    for one in scene.drawn:
        marks.add(Curve(_placed(one.chain, tile), one.line))
    for line in scene.lines:
        _line(marks, line, tile)
    for hole in scene.holes:
        _hole(marks, hole, tile)
    for words, at in scene.texts:
        x, y = _moved(at, tile)
        text = Text(x, y, words, 2.0, "middle")
        if tile.window.x0 < text.box.x0 and text.box.x1 < tile.window.x1:
            marks.add(text)
    return marks


def _placed(chain: Chain, tile: Tile) -> Chain:
    points = [_moved((x, y), tile) for x, y in chain.vertices[:, :2].tolist()]
    return Chain(np.column_stack([np.array(points), chain.vertices[:, 2]]))


def _line(marks: Marks, line: Stroke, tile: Tile) -> None:
    a, b = _moved(line.a, tile), _moved(line.b, tile)
    marks.add(Segment(a, b, LINES[line.kind]))
    if line.kind == "arrow":
        size = math.dist(a, b)
        marks.add(Arrow(b, ((b[0] - a[0]) / size, (b[1] - a[1]) / size)))


def _hole(marks: Marks, hole: DrawnHole, tile: Tile) -> None:
    x, y = _moved((hole.x_mm, hole.y_mm), tile)
    marks.add(Ring(x, y, hole.diameter_mm, HOLE))
    reach = hole.diameter_mm / 2 + 3.0
    turn = 45.0 if hole.kind == "crossed" else 0.0
    for angle in (turn, turn + 90.0):
        c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
        line = NARROW if hole.kind == "crossed" else CENTRE
        marks.add(Segment((x - reach * c, y - reach * s), (x + reach * c, y + reach * s), line))
    if hole.kind == "pin" and hole.diameter_mm > 1.5 * PUNCH_MM:
        marks.add(Ring(x, y, PUNCH_MM, HOLE))


def _ink(marks: Marks, window: Box) -> Array:
    parts = [shape.outline.sampled(INK_MM)[0] for shape in marks.shapes]
    parts += [_along(curve.chain) for curve in marks.curves]
    for ring in marks.rings:
        angle = np.linspace(0, 2 * np.pi, 24, endpoint=False)
        parts.append(
            np.column_stack(
                [ring.x + ring.diameter_mm / 2 * np.cos(angle), ring.y + ring.diameter_mm / 2 * np.sin(angle)]
            )
        )
    ink: Array = np.concatenate(parts) if parts else np.zeros((0, 2))
    x, y = ink.T
    near: Array = ink[(x > window.x0 - 1) & (x < window.x1 + 1) & (y > window.y0 - 1) & (y < window.y1 + 1)]
    return near


def _along(chain: Chain) -> Array:
    """Return points along a chain, close to each other."""
    points = chain.flattened(0.1)
    count = np.maximum(1, np.ceil(np.hypot(*np.diff(points, axis=0).T) / INK_MM)).astype(int)
    rows = [np.linspace(a, b, n, endpoint=False) for a, b, n in zip(points, points[1:], count, strict=False)]
    return np.concatenate([*rows, points[-1:]])


def _bars(marks: Marks, plan: Plan) -> None:
    f = plan.frame
    level_bar(marks, f.x0 + LEFT_STRIP_MM, f.y0 + 14.0, f.x1 - f.x0 - LEFT_STRIP_MM - 1.0, BAR_WORDS)
    upright_bar(marks, *plan.upright_mm)


def _head(marks: Marks, scene: Scene, plan: Plan, tile: Tile, head: Head, page: tuple[int, int]) -> None:
    f = plan.frame
    x, y = f.x0 + LEFT_STRIP_MM, f.y1 - 5.0
    first = (tile.row, tile.column) == (1, 1)
    place = f"page {page[0]} of {page[1]}"
    if len(plan.tiles) > 1:
        place += f", row {tile.row}, column {tile.column}"
    right = f.x1 - (_map(marks, plan, f) if first and len(plan.tiles) > 1 else 0.0)
    marks.add(Text(right, y, place, 2.5, "end"), Text(right, y - 4.5, f"design {head.code}", 2.5, "end"))
    room = right - lettering.width_mm(place, 2.5) - 4.0 - x
    title = _fitted(f"{head.title}: {scene.title}", 3.5, room / BOLD)
    marks.add(Text(x, y, title, 3.5, "start", bold=True))
    facts = [MEASURE, *(head.facts if first else ()), *(scene.facts if first else ())]
    for i, fact in enumerate(facts[:4]):
        marks.add(Text(x, y - 8.6 - 3.5 * i, _fitted(fact, 2.0, f.x1 - x), 2.0, "start"))
    marks.add(Text(x, f.y0 + 1.2, _fitted(head.caution, 2.0, f.x1 - x), 2.0, "start"))
    _legend(marks, scene, f)


def _fitted(words: str, height_mm: float, room_mm: float) -> str:
    """Return words cut to a width, an ellipsis showing what was cut away."""
    most = 160
    text = lettering.clean(words, most)
    while most > 1 and lettering.width_mm(text, height_mm) > room_mm:
        most = min(most, len(text)) - 1
        text = lettering.clean(words, most)
    return text


def _legend(marks: Marks, scene: Scene, frame: Rect) -> None:
    usual = (("finished line", SOLID), *((("cut here: oversize", CUT),) if scene.dashed else ()))
    x = frame.x0 + LEFT_STRIP_MM
    y = frame.y0 + 6.0
    for name, line in scene.legend or usual:
        if line is not None:
            marks.add(Segment((x, y), (x + 14.0, y), line))
            x += 16.0
        marks.add(Text(x, y - 0.9, name, 2.0, "start"))
        x += 2.0 + lettering.width_mm(name, 2.0) + 8.0


def _map(marks: Marks, plan: Plan, frame: Rect) -> float:
    """Draw how the sheets lie together, and return the width used [mm]."""
    w, h = 9.0, 6.0
    x0, y1 = frame.x1 - plan.columns * w - 0.5, frame.y1 - 1.0
    for tile in plan.tiles:
        left, top = x0 + (tile.column - 1) * w, y1 - (tile.row - 1) * h
        corners = [(left, top), (left + w, top), (left + w, top - h), (left, top - h), (left, top)]
        for a, b in pairwise(corners):
            marks.add(Segment(a, b, NARROW))
        marks.add(Text(left + w / 2, top - h / 2 - 1.0, f"{tile.row}.{tile.column}", 2.0, "middle"))
    return plan.columns * w + 4.5
