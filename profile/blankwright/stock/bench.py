"""A knife and a piece made ready to be searched: how well placings do, of many roughly, of one nearly exactly.

The slack of a placing is the least of: distance of the cut outline to edge and zones less the room needed, which shall
be as large as it can be; and, where asked for, how far a zone to keep is inside its part of the knife and how far along
the piece its thickness is enough, which shall not be below nothing.
"""

from __future__ import annotations

from functools import cached_property

import numpy as np
import shapely
from numpy.typing import NDArray

from blankwright.base.arrays import Array
from blankwright.base.frozen import dataclass
from blankwright.geometry.outline import Outline
from blankwright.geometry.pose import Pose
from blankwright.stock.field import Line, Raster
from blankwright.stock.piece import Piece, Zone
from blankwright.stock.wanted import FINE_MM, Wanted, grid_inside

ROUGH_MM = 4.0
"""Places on the cut outline are this far apart in the rough search."""

WEIGHT = 4.0
"""What must not be below nothing weighs so much more than what shall be large."""


KEPT_MORE = 0.015
_KEPT_PLACES, _KEPT_MORE_MM = 250, 0.01
"""A zone to keep is looked at in so many places; so much more of it is sought than asked for, and so far inside."""


@dataclass(frozen=True, eq=False)
class Pull:
    """What holds a placing in one direction.

    Args:
        slack_mm: (n,) what is left [mm].
        way: (n, 3) how it grows with a shift along x, along y, and a turn about the middle [mm a mm, mm a radian].
    """

    slack_mm: Array
    way: Array


class Plate:
    """A piece with its edge and zones as lines.

    Args:
        piece: The piece.
        wanted: What is to come out of it; its room is kept.
    """

    def __init__(self, piece: Piece, wanted: Wanted) -> None:
        self.piece = piece
        self.room = wanted.room_mm(piece)
        self.lines = [Line(piece.outline, 1.0, self.room)]
        self.lines += [Line(zone.outline, -1.0, wanted.room_mm(piece, zone)) for zone in piece.avoided]

    @cached_property
    def raster(self) -> Raster:
        """The least of all distances on a grid, for the rough search alone."""
        return Raster(self.lines, min(30.0, 0.2 * max(self.piece.outline.size_mm)))


class Kept:
    """A zone to keep, and the part of the knife it shall lie on."""

    def __init__(self, zone: Zone, wanted: Wanted, middle: Array, more: float) -> None:
        self.zone = zone
        self.places = grid_inside(zone.outline, _KEPT_PLACES)
        self.margin_mm = zone.margin_mm + _KEPT_MORE_MM
        share = zone.share + more
        if share >= 1:  # all of it: its edge is what counts
            self.places = np.concatenate([zone.outline.sampled(zone.outline.perimeter_mm / 60)[0], self.places[::4]])
        self.rank = int(max(1 - share, 0.0) * len(self.places))
        area = wanted.part(zone.part)
        parts = [g for g in getattr(area, "geoms", [area]) if g.area > 1.0]
        self.lines = [Line(_outline_of(part), 1.0, self.margin_mm) for part in parts]
        self.middle = middle

    @cached_property
    def raster(self) -> list[Raster]:
        """The part's distances on a grid, for the rough search alone."""
        return [Raster([line], 20.0) for line in self.lines]

    def rough(self, back: Array) -> Array:
        """Return the slack of (n, m, 2) places in the design's coordinates: (n,) [mm]."""
        if not self.lines:
            return np.full(len(back), -1e3)
        least = np.max([raster.at(back[..., 0], back[..., 1]) for raster in self.raster], axis=0)
        found: Array = np.partition(least, self.rank, axis=1)[:, self.rank]
        return found

    def pull(self, pose: Pose, centre: Array) -> Pull:
        """Return what holds a placing by this zone; the share that may be lost is left out."""
        if not self.lines:
            return Pull(np.array([-1e3]), np.zeros((1, 3)))
        back = pose.back(self.places)
        signed = [line.signed(back) for line in self.lines]
        pick = np.argmax([mm for mm, _ in signed], axis=0)
        rows = np.arange(len(back))
        mm = np.array([s[0] for s in signed])[pick, rows] - self.margin_mm
        way = np.array([s[1] for s in signed])[pick, rows] @ pose.matrix.T
        order = np.argsort(mm)[self.rank :]
        return Pull(mm[order], _moving(-way[order], self.places[order] - centre))


_PLATES: dict[tuple[int, tuple[float, ...]], tuple[Piece, Plate]] = {}
_MOST_PLATES = 16


def plate_of(piece: Piece, wanted: Wanted) -> Plate:
    """Return a piece made ready for a knife; kept, for what it takes is its room alone."""
    rooms = (wanted.room_mm(piece), *(wanted.room_mm(piece, zone) for zone in piece.avoided))
    key = (id(piece), rooms)
    if key not in _PLATES:
        if len(_PLATES) >= _MOST_PLATES:
            _PLATES.clear()
        _PLATES[key] = (piece, Plate(piece, wanted))
    return _PLATES[key][1]


class Search:
    """Slack of placings of a knife on a piece.

    Args:
        plate: The piece.
        wanted: The knife.
        like: A search of the same knife on the piece with more to avoid; what it has made ready is taken over.
        more: So much more of each zone to keep is sought than is asked for [of 1].
    """

    def __init__(self, plate: Plate, wanted: Wanted, like: Search | None = None, *, more: float = KEPT_MORE) -> None:
        self.plate, self.wanted = plate, wanted
        x0, y0, x1, y1 = wanted.cut.bounds_mm
        self.middle = np.array([(x0 + x1) / 2, (y0 + y1) / 2])
        self.reach = float(np.hypot(x1 - x0, y1 - y0)) / 2
        self.line: Line = Line(wanted.cut, 1.0) if like is None else like.line
        rough = wanted.cut.sampled(ROUGH_MM)[0]
        if len(plate.lines) > 1:
            smallest = min(min(line.outline.size_mm) / 2 + line.need_mm for line in plate.lines[1:])
            most = int(wanted.cut.area_mm2 / max(smallest, ROUGH_MM) ** 2)
            rough = np.concatenate([rough, grid_inside(wanted.cut, min(max(most, 8), 300))])
        self.rough = rough - self.middle
        self.kept: list[Kept] = (
            [Kept(zone, wanted, self.middle, more) for zone in plate.piece.kept] if like is None else like.kept
        )
        level = len({mm for _, mm in plate.piece.thickness}) == 1
        self._level_mm = plate.piece.thickness[0][1] if level else None
        self._needs = wanted.thickness_mm(rough[:, 0])
        self._last: tuple[Pose, tuple[Pull, Pull | None]] | None = None

    @property
    def weight(self) -> float:
        """How much the slack may change with a move of 1 mm."""
        return 1.0 + WEIGHT * (len(self.kept) + (self._level_mm is None))

    # Of many, roughly --------------------------------------------------------------------------------------

    def roughly(self, x: Array, y: Array, turn: Array, flipped: NDArray[np.bool_]) -> Array:
        """Return the slack of placings given by where the middle lies, turn [radians] and side (n,) [mm]."""
        c, s, side = np.cos(turn)[:, None], np.sin(turn)[:, None], np.where(flipped, -1.0, 1.0)[:, None]
        u, v = self.rough[:, 0] * side, self.rough[:, 1]
        px, py = c * u - s * v + x[:, None], s * u + c * v + y[:, None]
        slack = self.plate.raster.at(px, py).min(axis=1)
        for kept in self.kept:
            w, z = kept.places[:, 0] - x[:, None], kept.places[:, 1] - y[:, None]
            back = np.stack([(c * w + s * z) * side, c * z - s * w], axis=-1) + self.middle
            slack += WEIGHT * np.minimum(kept.rough(back), 0.0)
        if self._level_mm is None:
            slack += WEIGHT * np.minimum(self._thick(px, self._needs[None])[0].min(axis=1), 0.0)
        total: Array = slack
        return total

    # Of one, nearly exactly --------------------------------------------------------------------------------

    def pulls(self, pose: Pose) -> tuple[Pull, Pull | None]:
        """Return what holds a placing: by distances, and by what must not be below nothing; the last one is kept."""
        if self._last is None or self._last[0] is not pose:
            self._last = pose, self._pulls(pose)
        return self._last[1]

    def _pulls(self, pose: Pose) -> tuple[Pull, Pull | None]:
        centre = pose.points(self.middle[None])[0]
        own = pose.points(self.line.samples)
        found = []
        for line in self.plate.lines:
            mm, way = line.signed(own)
            found.append(Pull(line.good * mm - line.need_mm, _moving(line.good * way, own - centre)))
            near = np.hypot(*(line.samples - centre).T) < self.reach + line.need_mm + 40.0
            theirs = line.samples[near]
            if len(theirs):
                mm, way = self.line.signed(pose.back(theirs))
                out = -way @ pose.matrix.T
                found.append(Pull(-mm - line.need_mm, _moving(-out, theirs - centre)))
        must = [kept.pull(pose, centre) for kept in self.kept]
        if self._level_mm is None:
            mm, sign = self._thick(own[:, 0], self.wanted.thickness_mm(self.line.samples[:, 0]))
            way = np.column_stack([sign, np.zeros_like(sign)])
            must.append(Pull(mm, _moving(way, own - centre)))
        return _joined(found), (_joined(must) if must else None)

    def slack(self, pose: Pose) -> float:
        """Return the slack of a placing [mm]."""
        distances, must = self.pulls(pose)
        low = float(distances.slack_mm.min())
        return low if must is None else low + WEIGHT * min(float(must.slack_mm.min()), 0.0)

    def _thick(self, x: Array, need: Array) -> tuple[Array, Array]:
        """Return how far along x the piece stays thick enough, negative where it is too thin, and which way is better.

        Args:
            x: Places along the piece [mm].
            need: Thickness needed at each [mm].
        """
        piece = self.plate.piece
        at = np.array([p for p, _ in piece.thickness])
        mm = np.array([t for _, t in piece.thickness])
        best = np.full(np.broadcast(x, need).shape, np.inf)
        sign = np.zeros_like(best)
        for a, b, t0, t1 in zip(at, at[1:], mm, mm[1:], strict=False):
            if t0 == t1:
                continue
            where = a + (need - t0) / (t1 - t0) * (b - a)
            crossed = (where >= a) & (where <= b)
            apart = np.where(crossed, x - where, np.inf)
            nearer = np.abs(apart) < np.abs(best)
            best = np.where(nearer, apart, best)
            sign = np.where(nearer, np.sign(t1 - t0), sign)
        enough = piece.thickness_at(x) >= need - 1e-9
        far = np.minimum(np.abs(best), 1e3)
        return np.where(enough, far, -np.maximum(far, 1e-9)), sign


def _outline_of(part: shapely.Polygon) -> Outline:
    points = np.array(part.simplify(FINE_MM).exterior.coords)[:-1]
    outline = Outline(np.column_stack([points, np.zeros(len(points))]))
    return outline if outline.area_mm2 > 0 else outline.reversed()


def _moving(way: Array, arm: Array) -> Array:
    """Return how a distance grows with a shift and a turn, from its direction and where it applies."""
    return np.column_stack([way, arm[:, 0] * way[:, 1] - arm[:, 1] * way[:, 0]])


def _joined(pulls: list[Pull]) -> Pull:
    return Pull(np.concatenate([p.slack_mm for p in pulls]), np.concatenate([p.way for p in pulls]))
