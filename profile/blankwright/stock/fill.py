"""Our own search: blanks put one after the other into the room that is left on a piece, from its left end.

Whether a turned blank goes somewhere is asked of a raster of the piece all at once, on the safe side: what is free in
the raster is free. Then it is pushed left and down as far as polygons let it. What is found is proven by exact
distances afterwards (`layout.py`).
"""

from __future__ import annotations

import time
from collections.abc import Mapping, Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.affinity import translate

from blankwright.base.arrays import Array
from blankwright.base.frozen import dataclass
from blankwright.geometry.pose import Pose
from blankwright.stock.blank import Blank, Job
from blankwright.stock.piece import Piece

FLAT_MM = 0.002
SPARE_MM = 0.006
"""The search keeps so much more room than is needed: its polygons follow arcs by chords."""

_HAIR_MM = 1e-6
"""So far inside a border something is surely said to be inside."""

_CELLS, _LEAST_CELL_MM, _MOST_CELL_MM = 150_000, 0.25, 4.0
_MOST_CELLS = 600_000
_MOST_SHAPES = 600
_STRAIGHT_DEG = (0.0, 180.0, 90.0, 270.0)
_SLIDES = 4


@dataclass(frozen=True)
class Put:
    """A blank as it was put down: number, placing, polygon, and its cells on the raster."""

    blank: int
    pose: Pose
    area: shapely.Polygon


class Floor:
    """A piece with what lies on it so far.

    Args:
        job: The job.
        piece: The piece.
        shapes: Turned blanks of other pieces of the job, kept for the next.
    """

    def __init__(self, job: Job, piece: Piece, shapes: Shapes | None = None) -> None:
        self.job, self.piece = job, piece
        x0, y0, x1, y1 = piece.outline.bounds_mm
        cell = float(np.sqrt((x1 - x0) * (y1 - y0) / _CELLS))
        self.cell = max(min(max(cell, _LEAST_CELL_MM), _MOST_CELL_MM), cell * (_CELLS / _MOST_CELLS) ** 0.5)
        self.low = np.array([x0, y0])
        self.count = np.ceil(np.array([x1 - x0, y1 - y0]) / self.cell).astype(int)
        self.put: list[Put] = []
        self._rooms: dict[tuple[float, float, float], _Space] = {}
        self._shapes: Shapes = {} if shapes is None else shapes

    def room(self, blank: Blank) -> _Space:
        """Return where a blank may lie on the empty piece, and what of it is taken."""
        key = (self.job.edge_mm(blank, self.piece), blank.kerf_mm, blank.thickness_mm)
        if key not in self._rooms:
            space = _Space(self, blank)
            for one in self.put:
                space.take(one.area)
            self._rooms[key] = space
        return self._rooms[key]

    def shape(self, number: int, turn_deg: float, *, flipped: bool) -> _Shape:
        """Return a turned blank."""
        key = (number, turn_deg, flipped, self.cell)
        if key not in self._shapes:
            if len(self._shapes) > _MOST_SHAPES:
                self._shapes.clear()
            self._shapes[key] = _Shape(self.job.blanks[number], turn_deg, flipped, self.cell)
        return self._shapes[key]

    def lay(self, number: int, turns: Sequence[float], flips: Sequence[bool]) -> Put | None:
        """Put a blank where it lies furthest left, and lowest there; None where none of the turns has room."""
        space = self.room(self.job.blanks[number])
        shapes = [self.shape(number, turn, flipped=flipped) for flipped in flips for turn in turns]
        found = self._seen(space, shapes) or self._just(space, shapes)
        if found is None:
            return None
        shape, corner = found
        area = self._slid(space, translate(shape.area, *(corner - shape.low)))
        x, y = np.array(area.bounds[:2]) - np.array(shape.area.bounds[:2])
        put = Put(number, Pose(float(x), float(y), shape.turn_deg, shape.flipped), area)
        self.add(put)
        return put

    def _seen(self, space: _Space, shapes: Sequence[_Shape]) -> tuple[_Shape, Array] | None:
        """Return the shape that the raster has room for, and where its lower left corner lies [mm]."""
        best = space.first(shapes)
        return None if best is None else (best[0], self.low + np.array(best[1]) * self.cell)

    def _just(self, space: _Space, shapes: Sequence[_Shape]) -> tuple[_Shape, Array] | None:
        """Return a shape that just goes in between two edges, by less than the raster sees, and its corner [mm]."""
        if space.area.is_empty:
            return None
        low = np.array(space.area.bounds[:2])
        wide = np.array(space.area.bounds[2:]) - low
        others = [one.area for one in self.put]
        ends = np.array([one.bounds[2:] for one in others]).reshape(-1, 2) + self.job.gap_mm + SPARE_MM
        for shape in shapes:
            spare = wide - (np.array(shape.area.bounds[2:]) - shape.low)
            for way in (0, 1):
                if spare.min() < 0 or spare[1 - way] > 2 * self.cell:
                    continue
                for at in sorted({float(low[way]) + _HAIR_MM, *ends[:, way].tolist()}):
                    for share in (0.5, 0.02, 0.98):
                        corner = low + share * spare
                        corner[way] = at
                        if space.free(translate(shape.area, *(corner - shape.low)), others):
                            return shape, corner
        return None

    def add(self, one: Put) -> None:
        """Take the room of a blank."""
        self.put.append(one)
        for space in self._rooms.values():
            space.take(one.area)

    def _slid(self, space: _Space, area: shapely.Polygon) -> shapely.Polygon:
        """Push a polygon left and down, and again, as far as it goes."""
        near = area.buffer(self.job.gap_mm + 3 * self.cell)
        others = [one.area for one in self.put if one.area.intersects(near)]
        for _ in range(_SLIDES):
            gone = 0.0
            for way in ((-1.0, 0.0), (0.0, -1.0)):
                mm = self._free(space, area, others, way)
                area, gone = translate(area, way[0] * mm, way[1] * mm), gone + mm
            if gone < 0.02:
                break
        return area

    def _free(
        self, space: _Space, area: shapely.Polygon, others: list[shapely.Polygon], way: tuple[float, float]
    ) -> float:
        """Return how far a polygon can be pushed in a direction, by halving [mm]."""
        low, high = 0.0, 2 * self.cell
        for _ in range(9):
            mm = (low + high) / 2
            if space.free(translate(area, way[0] * mm, way[1] * mm), others):
                low = mm
            else:
                high = mm
        return low


class _Shape:
    """A turned blank as a polygon and as the cells that it touches."""

    def __init__(self, blank: Blank, turn_deg: float, flipped: bool, cell: float) -> None:
        self.turn_deg, self.flipped = turn_deg, flipped
        laid = Pose(0.0, 0.0, turn_deg, flipped).outline(blank.outline)
        self.area = laid.to_shapely(FLAT_MM)
        self.low = np.array(self.area.bounds[:2])
        size = np.array(self.area.bounds[2:]) - self.low
        count = np.floor(size / cell + 1e-9).astype(int) + 1
        self.cells = touched(self.area, self.low, count, cell)
        self._turned: dict[tuple[int, int], NDArray[np.complex64]] = {}

    def turned(self, size: tuple[int, int]) -> NDArray[np.complex64]:
        """Return the cells as the raster's search needs them: their conjugate spectrum at a size."""
        from scipy.fft import rfft2  # noqa: PLC0415 - heavy, needed only here

        if size not in self._turned:
            if len(self._turned) > 2:
                self._turned.clear()
            self._turned[size] = np.conj(rfft2(self.cells.astype(np.float32), size))
        return self._turned[size]


Shapes = dict[tuple[int, float, bool, float], _Shape]
"""Turned blanks by number, turn, side and cell."""


class _Space:
    """Where blanks of one kind may lie, and the cells that are taken."""

    def __init__(self, floor: Floor, blank: Blank) -> None:
        self._floor = floor
        job, piece = floor.job, floor.piece
        self._gap = job.gap_mm + SPARE_MM
        spare = SPARE_MM if piece.kind == "found" else FLAT_MM + 0.0005
        area = piece.outline.to_shapely(FLAT_MM).buffer(-job.edge_mm(blank, piece) - spare, 32)
        for zone in piece.avoided:
            away = job.zone_mm(blank, piece, zone) + SPARE_MM
            area = area.difference(zone.outline.to_shapely(FLAT_MM).buffer(away, 32))
        if len(piece.thickness) > 1:
            area = area.intersection(_thick_enough(piece, blank.thickness_mm))
        elif piece.thickness[0][1] < blank.thickness_mm - 1e-9:
            area = shapely.Polygon()
        self.area = area
        shapely.prepare(self.area)
        x0, y0, x1, y1 = piece.outline.bounds_mm
        whole = shapely.box(x0 - 1, y0 - 1, x1 + 9, y1 + 9)
        self.taken = touched(whole.difference(area), floor.low, floor.count, floor.cell)

    def take(self, area: shapely.Polygon) -> None:
        """Take the room of a polygon and the gap around it."""
        around = area.buffer(self._gap, 16)
        floor = self._floor
        low = np.maximum(np.floor((np.array(around.bounds[:2]) - floor.low) / floor.cell).astype(int), 0)
        high = np.minimum(np.floor((np.array(around.bounds[2:]) - floor.low) / floor.cell).astype(int) + 1, floor.count)
        if (high <= low).any():
            return
        window = touched(around, floor.low + low * floor.cell, high - low, floor.cell)
        self.taken[low[0] : high[0], low[1] : high[1]] |= window

    def free(self, area: shapely.Polygon, others: list[shapely.Polygon]) -> bool:
        """Whether a polygon may lie where it is."""
        if not self.area.covers(area):
            return False
        return not others or float(shapely.distance(area, others).min()) >= self._gap

    def first(self, shapes: Sequence[_Shape]) -> tuple[_Shape, tuple[int, int]] | None:
        """Return the shape that lies furthest left where it may, lowest there, and the cell of its corner."""
        taken = self.taken
        some = [s for s in shapes if (np.array(s.cells.shape) <= np.array(taken.shape)).all()]
        open_columns = np.nonzero(~taken.all(axis=1))[0]
        if not some or not len(open_columns):
            return None
        start, whole = int(open_columns[0]), len(taken) - int(open_columns[0])
        longest = max(s.cells.shape[0] for s in some)
        for width in (*(w for w in (2 * longest, 5 * longest) if w < 0.7 * whole), whole):
            found = self._first_in(taken[start : start + width], some)
            if found is not None:
                shape, (x, y) = found
                return shape, (start + x, y)
        return None

    def _first_in(self, window: NDArray[np.bool_], shapes: Sequence[_Shape]) -> tuple[_Shape, tuple[int, int]] | None:
        from scipy.fft import irfft2, next_fast_len, rfft2  # noqa: PLC0415 - heavy, needed only here

        size = (next_fast_len(window.shape[0], real=True), next_fast_len(window.shape[1], real=True))
        turned = rfft2(window.astype(np.float32), size)
        best: tuple[float, _Shape, tuple[int, int]] | None = None
        for shape in shapes:
            room = np.array(window.shape) - np.array(shape.cells.shape) + 1
            if (room <= 0).any():
                continue
            over = irfft2(turned * shape.turned(size), size)[: room[0], : room[1]] < 0.5
            columns = over.any(axis=1)
            x = int(columns.argmax())
            if not columns[x]:
                continue
            y = int(over[x].argmax())
            rank = x + shape.cells.shape[0] + (y + shape.cells.shape[1]) / 4
            if best is None or rank < best[0]:
                best = rank, shape, (x, y)
        return None if best is None else best[1:]


def touched(area: shapely.Geometry, low: Array, count: NDArray[np.int_], cell: float) -> NDArray[np.bool_]:
    """Return which cells of a grid an area touches; a few beside it may be among them."""
    found = np.zeros(tuple(int(n) for n in count), dtype=bool)
    if area.is_empty:
        return found
    grown = area.simplify(cell / 20).buffer(cell * 0.76, 4)
    shapely.prepare(grown)
    x = low[0] + (np.arange(count[0]) + 0.5) * cell
    y = low[1] + (np.arange(count[1]) + 0.5) * cell
    gx, gy = np.meshgrid(x, y, indexing="ij")
    found[:] = shapely.contains_xy(grown, gx, gy)
    return found


def _thick_enough(piece: Piece, need_mm: float) -> shapely.Geometry:
    """Return the part of the plane, in bands across the piece, where it is thick enough."""
    x0, y0, x1, y1 = piece.outline.bounds_mm
    x = np.unique(np.concatenate([np.linspace(x0, x1, 2001), [at for at, _ in piece.thickness if x0 < at < x1]]))
    good = piece.thickness_at(x) >= need_mm - 1e-9
    bands, start = [], None
    for k, enough in enumerate([*good.tolist(), False]):
        if enough and start is None:
            start = x[k]
        elif not enough and start is not None:
            left = x0 - 1 if start == x[0] else start
            right = x1 + 1 if k == len(x) else x[k - 1]
            if right > left:
                bands.append(shapely.box(left, y0 - 1, right, y1 + 1))
            start = None
    return shapely.union_all(bands) if bands else shapely.Polygon()


def filled(floor: Floor, order: Sequence[int], turns: Mapping[int, Sequence[float]], deadline: float) -> list[int]:
    """Put blanks down in an order; return those that found no room.

    Args:
        floor: The piece.
        order: Numbers of the blanks, one for each copy.
        turns: Turns to try for each blank, the best first.
        deadline: When to stop [s of the steady clock].
    """
    left, full = [], set[int]()
    for k, number in enumerate(order):
        if number in full:
            left.append(number)
            continue
        if time.monotonic() > deadline:
            left += order[k:]
            break
        blank = floor.job.blanks[number]
        flips = blank.flips(floor.piece)
        straight = [turn for turn in turns[number] if turn in _STRAIGHT_DEG[:2]] or list(turns[number])[:2]
        put = floor.lay(number, straight, flips)
        if put is None and len(turns[number]) > len(straight):
            put = floor.lay(number, [t for t in turns[number] if t not in straight], flips)
        if put is None:
            full.add(number)
            left.append(number)
    return left


def turns_to_try(blank: Blank, piece: Piece, step_deg: float = 15.0) -> list[float]:
    """Return turns of a blank on a piece, those along its sides first."""
    ranges = blank.turns_deg(piece)
    if ranges is None:
        others = [t for t in np.arange(0.0, 360.0, step_deg).tolist() if t not in _STRAIGHT_DEG]
        return [*_STRAIGHT_DEG, *others]
    out: list[float] = []
    for middle, half in ranges:
        steps = [0.0] + [sign * d for d in np.arange(step_deg / 3, half + 1e-9, step_deg / 3) for sign in (1.0, -1.0)]
        out += [float((middle + d) % 360.0) for d in steps]
    return list(dict.fromkeys(sorted(out, key=lambda t: min(abs((t - m + 180) % 360 - 180) for m, _ in ranges))))
