"""Laying a scene on pages: one page at some angle when it fits, otherwise tiles whose joins do least harm.

All in page coordinates: mm, x from the left, y up from the bottom. Every page keeps strips for the bars that are
measured after printing (left and bottom) and for the words (top). Joins run upright; two sheets share OVERLAP_MM
about each join, and the crosses that are laid on each other stand on the join itself.
"""

from __future__ import annotations

import numpy as np

from blankwright.base.arrays import Array
from blankwright.base.errors import RequestError
from blankwright.base.frozen import dataclass
from blankwright.template.scene import Avoid

OVERLAP_MM = 14.0
"""Shared by two neighbouring sheets: more than a printer's margin, and it wastes little (trade: 10 to 15 mm)."""
LEFT_STRIP_MM, BOTTOM_STRIP_MM, TOP_STRIP_MM = 15.0, 20.0, 25.0
"""Kept free for the upright bar, the level bar with the caution, and the head."""
PAD_MM = 2.5
"""White kept around the scene."""
LEAST_BAR_MM = 101.0
"""Room that an upright bar of 100 mm needs."""
_MOST_TILES = 8
_STEP_MM = 1.0
_LEAST_END_MM = 55.0  # an end tile is to hold its half of the bar across the join


@dataclass(frozen=True)
class Rect:
    """An upright rectangle in page coordinates [mm]."""

    x0: float
    y0: float
    x1: float
    y1: float

    @property
    def width(self) -> float:
        """Width [mm]."""
        return self.x1 - self.x0

    @property
    def height(self) -> float:
        """Height [mm]."""
        return self.y1 - self.y0


@dataclass(frozen=True)
class Tile:
    """One page's share of a scene.

    Args:
        angle_deg: The scene is turned by this, counter-clockwise, and then shifted.
        dx_mm: Shift along x [mm].
        dy_mm: Shift along y [mm].
        window: What of the page shows the scene.
        row: Row from the top, from 1.
        column: Column from the left, from 1.
        joins_x_mm: Page x of the joins at the left and right of this tile; None where there is none.
        joins_y_mm: Page y of the joins at the bottom and top of this tile; None where there is none.
    """

    angle_deg: float
    dx_mm: float
    dy_mm: float
    window: Rect
    row: int
    column: int
    joins_x_mm: tuple[float | None, float | None]
    joins_y_mm: tuple[float | None, float | None]


@dataclass(frozen=True)
class Plan:
    """Pages for a scene.

    Args:
        width_mm: Page width as printed [mm].
        height_mm: Page height as printed [mm].
        frame: What of a page is used at all.
        tiles: One for each page, row by row.
        rows: Number of rows.
        columns: Number of columns.
        upright_mm: x, y and room of the upright bar [mm].
    """

    width_mm: float
    height_mm: float
    frame: Rect
    tiles: tuple[Tile, ...]
    rows: int
    columns: int
    upright_mm: tuple[float, float, float]


def plan(points: Array, avoid: tuple[Avoid, ...], page_mm: tuple[float, float], used_mm: tuple[float, float]) -> Plan:
    """Lay a scene on pages of one size.

    Args:
        points: (n, 2) points whose hull holds the scene [mm].
        avoid: Stretches of the scene's x where a join does harm.
        page_mm: Width and height of the paper as it is to be printed (either way round) [mm].
        used_mm: Width and height of the part of it that may be used, centred on the page [mm].

    Raises:
        RequestError: The paper is too small for the bars, or the scene needs more than 8 sheets.
    """
    width, height = page_mm
    frame = Rect(
        (width - used_mm[0]) / 2, (height - used_mm[1]) / 2, (width + used_mm[0]) / 2, (height + used_mm[1]) / 2
    )
    window = Rect(frame.x0 + LEFT_STRIP_MM, frame.y0 + BOTTOM_STRIP_MM, frame.x1, frame.y1 - TOP_STRIP_MM)
    if window.width < LEAST_BAR_MM + 8 or window.height < LEAST_BAR_MM:
        raise RequestError(
            f"--paper {width:g} x {height:g} mm is too small: a template needs bars of 100 mm and room beside them."
        )
    upright = (frame.x0 + 9.0, window.y0, window.height)
    single = _on_one_page(points, window)
    if single is not None:
        return Plan(width, height, frame, (single,), 1, 1, upright)
    wide = _under_the_bar(points, Rect(frame.x0, window.y0, window.x1, window.y1))
    if wide is not None:
        tile, top = wide
        return Plan(width, height, frame, (tile,), 1, 1, (frame.x0 + 9.0, top, window.y1 - top))
    return _tiled(points, avoid, (width, height), frame, window)


def _on_one_page(points: Array, window: Rect) -> Tile | None:
    """Return the page at the smallest turn at which everything fits, or None."""
    angles = np.arange(91.0)
    c, s = np.cos(np.radians(angles)), np.sin(np.radians(angles))
    x, y = points[:, :1] * c - points[:, 1:] * s, points[:, :1] * s + points[:, 1:] * c
    x0, x1, y0, y1 = x.min(axis=0), x.max(axis=0), y.min(axis=0), y.max(axis=0)
    fits = (x1 - x0 <= window.width - 2 * PAD_MM) & (y1 - y0 <= window.height - 2 * PAD_MM)
    if not fits.any():
        return None
    i = int(np.argmax(fits))
    dx = (window.x0 + window.x1) / 2 - (x0[i] + x1[i]) / 2
    dy = (window.y0 + window.y1) / 2 - (y0[i] + y1[i]) / 2
    return Tile(float(angles[i]), float(dx), float(dy), window, 1, 1, (None, None), (None, None))


def _under_the_bar(points: Array, window: Rect) -> tuple[Tile, float] | None:
    """Return a page on which the scene lies flat over the whole width, and the height above which it is free.

    The upright bar then stands above the scene instead of beside it; None when there is no room for both.
    """
    low, high = points.min(axis=0), points.max(axis=0)
    size = high - low + 2 * PAD_MM
    if size[0] > window.width or size[1] > window.height - LEAST_BAR_MM:
        return None
    dx = (window.x0 + window.x1) / 2 - (low[0] + high[0]) / 2
    dy = window.y0 + PAD_MM - low[1]
    tile = Tile(0.0, float(dx), float(dy), window, 1, 1, (None, None), (None, None))
    return tile, window.y0 + float(size[1])


def _tiled(points: Array, avoid: tuple[Avoid, ...], page: tuple[float, float], frame: Rect, window: Rect) -> Plan:
    low, high = points.min(axis=0) - PAD_MM, points.max(axis=0) + PAD_MM
    xs = _joins(float(low[0]), float(high[0]), window.width, avoid)
    ys = _joins(float(low[1]), float(high[1]), window.height, ())
    columns, rows = len(xs) - 1, len(ys) - 1
    # a single row or column has the whole window: crosses and bars then stand clear of the scene
    xs, ys = (_spread(cuts, room) for cuts, room in ((xs, window.width), (ys, window.height)))
    if rows * columns > _MOST_TILES:
        raise RequestError(f"The template would need {rows * columns} sheets of this paper; choose a larger --paper.")
    tiles = []
    for row in range(rows):
        top = rows - 1 - row  # rows are counted from the top of the page, y from the bottom
        for column in range(columns):
            x0, x1 = _stretch(xs, column)
            y0, y1 = _stretch(ys, top)
            dx = (window.x0 + window.x1) / 2 - (x0 + x1) / 2
            dy = (window.y0 + window.y1) / 2 - (y0 + y1) / 2
            seen = Rect(x0 + dx, y0 + dy, x1 + dx, y1 + dy)
            joins_x = (xs[column] + dx if column else None, xs[column + 1] + dx if column < columns - 1 else None)
            joins_y = (ys[top] + dy if top else None, ys[top + 1] + dy if top < rows - 1 else None)
            tiles.append(Tile(0.0, dx, dy, seen, row + 1, column + 1, joins_x, joins_y))
    return Plan(page[0], page[1], frame, tuple(tiles), rows, columns, (frame.x0 + 9.0, window.y0, window.height))


def _spread(cuts: list[float], room: float) -> list[float]:
    if len(cuts) > 2:
        return cuts
    middle = (cuts[0] + cuts[1]) / 2
    return [middle - room / 2, middle + room / 2]


def _stretch(cuts: list[float], i: int) -> tuple[float, float]:
    """Return what of the scene tile i shows: from half an overlap before its first join to half behind its last."""
    low = cuts[i] - (OVERLAP_MM / 2 if i else 0.0)
    high = cuts[i + 1] + (OVERLAP_MM / 2 if i < len(cuts) - 2 else 0.0)
    return low, high


def _joins(low: float, high: float, room: float, avoid: tuple[Avoid, ...]) -> list[float]:
    """Return the ends of the scene and the joins between, the fewest that fit, at the places of least cost."""
    if high - low <= room:
        return [low, high]
    if not avoid:
        return _even_joins(low, high, room)
    # one tile between two joins shows their distance and half an overlap on both sides
    inner, outer = room - OVERLAP_MM, room - OVERLAP_MM / 2
    count = 2
    while (count - 2) * inner + 2 * outer < high - low:
        count += 1
    places = np.arange(low + _STEP_MM, high, _STEP_MM)
    cost = _cost(places, avoid)
    cost += np.where(np.minimum(places - low, high - places) < _LEAST_END_MM, 200.0, 0.0)
    best, back = np.where(places - low <= outer, cost, np.inf), []
    for _ in range(count - 2):
        reach = (places[None, :] - places[:, None] > OVERLAP_MM) & (places[None, :] - places[:, None] <= inner)
        total = np.where(reach, best[:, None], np.inf)
        back.append(total.argmin(axis=0))
        best = total.min(axis=0) + cost
    at = int(np.argmin(np.where(high - places <= outer, best, np.inf)))
    joins = [at]
    for step in reversed(back):
        joins.append(int(step[joins[-1]]))
    return [low, *(float(places[i]) for i in reversed(joins)), high]


def _even_joins(low: float, high: float, room: float) -> list[float]:
    """Return the fewest joins that fit, all tiles showing as much as each other."""
    count = 2
    while (high - low - OVERLAP_MM) / count + OVERLAP_MM > room:
        count += 1
    step = (high - low - OVERLAP_MM) / count
    return [low, *(low + OVERLAP_MM / 2 + step * i for i in range(1, count)), high]


def _cost(x: Array, avoid: tuple[Avoid, ...]) -> Array:
    """Return the harm of joins whose overlaps are centred on x; a little less the further from what is avoided."""
    low, high, cost = np.array([(a.x0_mm, a.x1_mm, a.cost) for a in avoid]).T
    half = OVERLAP_MM / 2
    at = x[:, None]
    hit = ((low < at + half) & (high > at - half)) @ cost
    clear = np.minimum(np.abs(at - low), np.abs(at - high)).min(axis=1)
    harm: Array = 1.0 + hit - 0.001 * np.minimum(clear, 100.0)
    return harm
