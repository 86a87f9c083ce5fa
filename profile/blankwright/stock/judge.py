"""Does a knife lie on a piece as it should? Told from exact distances of lines and arcs, never from the search."""

from __future__ import annotations

from typing import Literal

import numpy as np
import shapely
from shapely.affinity import affine_transform

from blankwright.base.arrays import Array, Place
from blankwright.base.frozen import dataclass
from blankwright.geometry.inside import inside
from blankwright.geometry.outline import Outline
from blankwright.geometry.pose import Pose
from blankwright.stock.distance import nearness
from blankwright.stock.field import Line
from blankwright.stock.piece import Piece, Zone
from blankwright.stock.through import hole_for
from blankwright.stock.wanted import FINE_MM, Wanted

Kind = Literal["edge", "zone", "hole", "thickness", "keep"]

ENOUGH_MM = 1e-7
"""Distances are rounded at this: a room that is asked for and just there is there."""

_STEP_MM = 0.5


@dataclass(frozen=True)
class Limit:
    """One thing that a placing is measured against.

    Args:
        kind: The piece's edge, a zone to avoid, a hole of the piece that becomes one of the knife's, its thickness, or
            a zone to keep.
        name: What the zone is called; empty for edge and thickness.
        least_mm: Least distance of the cut outline, or thickness left over [mm]; of a kept zone its share [0 to 1].
        need: What was needed of it, in the same unit.
        at_mm: Where, on the piece [mm].
        design_mm: The same place in the design's coordinates [mm].
    """

    kind: Kind
    name: str
    least_mm: float
    need: float
    at_mm: Place
    design_mm: Place

    @property
    def spare(self) -> float:
        """What is over; below nothing, what is missing."""
        return self.least_mm - self.need

    @property
    def holds(self) -> bool:
        """Whether it is enough."""
        return self.spare >= -ENOUGH_MM


@dataclass(frozen=True)
class Verdict:
    """What a placing was measured to be.

    Args:
        limits: Everything it was measured against, the scarcest first.
    """

    limits: tuple[Limit, ...]

    @property
    def fits(self) -> bool:
        """Whether everything holds."""
        return all(limit.holds for limit in self.limits)

    @property
    def lacking(self) -> tuple[Limit, ...]:
        """The limits that do not hold."""
        return tuple(limit for limit in self.limits if not limit.holds)

    @property
    def distances(self) -> tuple[Limit, ...]:
        """The limits that are distances on the piece."""
        return tuple(limit for limit in self.limits if limit.kind in ("edge", "zone"))

    @property
    def margin_mm(self) -> float:
        """Least distance of the cut outline to the piece's edge and its zones [mm]; below nothing outside."""
        return min(limit.least_mm for limit in self.distances)

    @property
    def spare_mm(self) -> float:
        """What is over of the room that was needed, where it is scarcest [mm]."""
        return min(limit.spare for limit in self.distances)


def judged(wanted: Wanted, piece: Piece, pose: Pose) -> Verdict:
    """Measure a placing."""
    laid = pose.outline(wanted.cut)
    limits = [_edge(wanted, piece, pose, laid)]
    limits += [_zone(wanted, piece, pose, laid, zone) for zone in piece.avoided]
    limits.append(_thickness(wanted, piece, pose))
    limits += [_keep(wanted, piece, pose, zone) for zone in piece.kept]
    return Verdict(tuple(sorted(limits, key=lambda limit: (limit.holds, limit.spare))))


def _edge(wanted: Wanted, piece: Piece, pose: Pose, laid: Outline) -> Limit:
    near = nearness(laid, piece.outline)
    mm, at = near.mm, near.at_mm
    if near.crosses or not inside(piece.outline, laid.starts[:1])[0]:
        mm, at = _deepest(laid, piece.outline, 1.0)
    return Limit("edge", "", mm, wanted.room_mm(piece), at, _back(pose, at))


def _zone(wanted: Wanted, piece: Piece, pose: Pose, laid: Outline, zone: Zone) -> Limit:
    made = hole_for(wanted, zone, pose)
    if made is not None:
        x, y, across = zone.circle or (0.0, 0.0, 0.0)
        over = max(made.hole.diameter_mm - across, 0.0)
        return Limit("hole", f"{piece.words_of(zone)} becomes the {made.name}", over, 0.0, (x, y), _back(pose, (x, y)))
    near = nearness(laid, zone.outline)
    mm, at = near.mm, near.at_mm
    within = inside(laid, zone.outline.starts[:1])[0] or inside(zone.outline, laid.starts[:1])[0]
    if near.crosses or within:
        mm, at = _deepest(laid, zone.outline, -1.0)
    return Limit("zone", piece.words_of(zone), mm, wanted.room_mm(piece, zone), at, _back(pose, at))


def _deepest(laid: Outline, other: Outline, good: float) -> tuple[float, Place]:
    """Return how far an outline reaches onto the bad side of another, negative [mm], and where."""
    line, own = Line(other, good), Line(laid, 1.0)
    mm, _ = line.signed(own.samples)
    k = int((good * mm).argmin())
    best = (float(good * mm[k]), own.samples[k])
    back, _ = own.signed(line.samples)
    m = int(back.argmax())
    if -back[m] < best[0]:
        best = (float(-back[m]), line.samples[m])
    return min(best[0], -ENOUGH_MM * 2), (float(best[1][0]), float(best[1][1]))


def _thickness(wanted: Wanted, piece: Piece, pose: Pose) -> Limit:
    points = wanted.cut.sampled(_STEP_MM)[0]
    left = piece.thickness_at(pose.points(points)[:, 0]) - wanted.thickness_mm(points[:, 0])
    k = int(left.argmin())
    at = pose.points(points[k : k + 1])[0]
    need = float(wanted.thickness_mm(points[k : k + 1, 0])[0])
    return Limit("thickness", "", float(left[k]) + need, need, (float(at[0]), float(at[1])), _pair(points[k]))


def _keep(wanted: Wanted, piece: Piece, pose: Pose, zone: Zone) -> Limit:
    area = zone.outline.to_shapely(FINE_MM)
    laid = _laid_area(wanted, pose, zone)
    share = float(area.intersection(laid).area / area.area)
    at = zone.outline.centroid_mm
    return Limit("keep", piece.words_of(zone), min(share + 1e-6, 1.0), zone.share, at, _back(pose, at))


def _laid_area(wanted: Wanted, pose: Pose, zone: Zone) -> shapely.Geometry:
    """Return the part of the knife that a zone is kept on, as it lies on the piece."""
    (a, b), (d, e) = pose.matrix
    part = wanted.part(zone.part)
    if zone.margin_mm > 0:
        part = part.buffer(-zone.margin_mm)
    return affine_transform(part, [a, b, d, e, pose.x_mm, pose.y_mm])


def _back(pose: Pose, at: Place) -> Place:
    return _pair(pose.back(np.array([at]))[0])


def _pair(point: Array) -> Place:
    return float(point[0]), float(point[1])
