"""Blanks laid on pieces, and the proof of it: exact distances of lines and arcs, whoever did the search."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from functools import cached_property

import numpy as np

from blankwright.base.frozen import dataclass
from blankwright.geometry.inside import inside
from blankwright.geometry.outline import Outline
from blankwright.geometry.pose import Pose
from blankwright.stock.blank import Blank, Job
from blankwright.stock.distance import nearness
from blankwright.stock.piece import Piece

ENOUGH_MM = 0.005
"""A gap or a rim is kept to this: half a hundredth. Blanks never touch."""

_OVER_MM = -1.0
"""What is told as the distance of two areas that meet: how deep is not measured."""

_STEP_MM = 0.5


@dataclass(frozen=True)
class Laid:
    """A blank on a piece.

    Args:
        blank: Number of the blank in its job.
        pose: How it lies.
    """

    blank: int
    pose: Pose


@dataclass(frozen=True)
class Sheet:
    """One piece with the blanks on it.

    Args:
        piece: Number of the piece in its job.
        copy: Which one of that kind, from 1.
        laid: The blanks.
    """

    piece: int
    copy: int
    laid: tuple[Laid, ...]


@dataclass(frozen=True, eq=False)
class Layout:
    """A job laid out.

    Args:
        job: The job.
        sheets: The pieces that are used.
    """

    job: Job
    sheets: tuple[Sheet, ...]

    @cached_property
    def left(self) -> dict[int, int]:
        """How many of each blank found no place, by its number."""
        done = Counter(one.blank for sheet in self.sheets for one in sheet.laid)
        left = {k: blank.quantity - done[k] for k, blank in enumerate(self.job.blanks)}
        return {k: n for k, n in left.items() if n > 0}

    @cached_property
    def worth(self) -> tuple[float, float, float]:
        """How good it is, less is better: area left over, stock taken, length used of the last piece."""
        job = self.job
        left = sum(job.blanks[k].area_mm2 * n for k, n in self.left.items())
        taken = sum(job.pieces[sheet.piece].outline.area_mm2 for sheet in self.sheets)
        return left, taken, self.used_mm(self.sheets[-1]) if self.sheets else 0.0

    def outline(self, one: Laid) -> Outline:
        """Return the outline of a blank as it lies."""
        return one.pose.outline(self.job.blanks[one.blank].outline)

    def used_mm(self, sheet: Sheet) -> float:
        """Return how far along a piece its blanks reach [mm]."""
        x0 = self.job.pieces[sheet.piece].outline.bounds_mm[0]
        return max((self.outline(one).bounds_mm[2] for one in sheet.laid), default=x0) - x0


@dataclass(frozen=True)
class Room:
    """What the proof of a piece measured.

    Args:
        faults: What is wrong, in words; none where the layout is legal.
        gap_mm: Least distance of two blanks [mm]; None with one.
        edge_mm: Least distance to the edge [mm].
        zone_mm: Least distance to a zone to avoid [mm]; None without one.
    """

    faults: tuple[str, ...]
    gap_mm: float | None
    edge_mm: float
    zone_mm: float | None


def proven(layout: Layout, sheet: Sheet) -> Room:
    """Measure a piece with its blanks: nothing overlaps, gap, rim and zones are kept, the steel is thick enough."""
    job, piece = layout.job, layout.job.pieces[sheet.piece]
    outlines = [layout.outline(one) for one in sheet.laid]
    faults: list[str] = []
    edge, zone, gap = np.inf, np.inf, np.inf
    for number, (one, outline) in enumerate(zip(sheet.laid, outlines, strict=True), start=1):
        blank = job.blanks[one.blank]
        found = _edge(outline, piece)
        edge = min(edge, found)
        faults += _short(f"{number} {blank.name}: edge", found, job.edge_mm(blank, piece))
        for avoided in piece.avoided:
            found = apart_mm(outline, avoided.outline)
            zone = min(zone, found)
            faults += _short(f"{number} {blank.name}: {avoided.words}", found, job.zone_mm(blank, piece, avoided))
        faults += [f"{number} {blank.name}: {why}" for why in _allowed(blank, piece, one.pose)]
    for i, j in near_pairs(outlines, job.gap_mm):
        found = apart_mm(outlines[i], outlines[j])
        gap = min(gap, found)
        names = f"{i + 1} {job.blanks[sheet.laid[i].blank].name} and {j + 1} {job.blanks[sheet.laid[j].blank].name}"
        faults += _short(names, found, job.gap_mm)
    one_gap = float(gap) if np.isfinite(gap) else None
    return Room(tuple(faults), one_gap, float(edge), float(zone) if np.isfinite(zone) else None)


def near_pairs(outlines: Sequence[Outline], within_mm: float) -> Iterator[tuple[int, int]]:
    """Yield the pairs of outlines whose boxes come nearer than some way, and each one's nearest box at least."""
    if len(outlines) < 2:
        return
    boxes = np.array([o.bounds_mm for o in outlines])
    for i in range(len(outlines) - 1):
        rest = boxes[i + 1 :]
        dx = np.maximum(np.maximum(rest[:, 0] - boxes[i, 2], boxes[i, 0] - rest[:, 2]), 0.0)
        dy = np.maximum(np.maximum(rest[:, 1] - boxes[i, 3], boxes[i, 1] - rest[:, 3]), 0.0)
        away = np.hypot(dx, dy)
        for k in np.nonzero(away <= max(within_mm + 1.0, float(away.min())))[0].tolist():
            yield i, i + 1 + k


def apart_mm(one: Outline, other: Outline) -> float:
    """Return how far two areas are apart [mm]; _OVER_MM where they meet."""
    near = nearness(one, other)
    if near.crosses or inside(one, other.starts[:1])[0] or inside(other, one.starts[:1])[0]:
        return _OVER_MM
    return near.mm


def _edge(outline: Outline, piece: Piece) -> float:
    """Return how far inside a piece an outline lies [mm]; below nothing where it reaches over."""
    if piece.kind != "found":  # a rectangle: blanks may lie along its very edge
        a, b = outline.bounds_mm, piece.outline.bounds_mm
        return min(a[0] - b[0], a[1] - b[1], b[2] - a[2], b[3] - a[3])
    near = nearness(outline, piece.outline)
    if near.crosses or not inside(piece.outline, outline.starts[:1])[0]:
        return _OVER_MM
    return near.mm


def _short(what: str, found_mm: float, need_mm: float) -> list[str]:
    if found_mm >= need_mm - ENOUGH_MM:
        return []
    return [f"{what}: {found_mm:.4f} mm, {need_mm:g} mm needed"]


def _allowed(blank: Blank, piece: Piece, pose: Pose) -> list[str]:
    """Say what of side, turn and thickness is not as it may be."""
    if not blank.of_piece(piece):
        return ["is of another material"]
    out = []
    if pose.flipped not in blank.flips(piece):
        out.append("lies on the wrong side")
    ranges = blank.turns_deg(piece)
    if ranges is not None:
        away = min(abs((pose.turn_deg - middle + 180.0) % 360.0 - 180.0) - half for middle, half in ranges)
        if away > 1e-4:
            out.append(f"is turned {away:.3f} degrees further than it may be")
    points = pose.points(blank.outline.sampled(_STEP_MM)[0])
    if len(piece.thickness) == 1:
        points = points[:1]
    if float(piece.thickness_at(points[:, 0]).min()) < blank.thickness_mm - 1e-6:
        out.append("the steel is too thin there")
    return out
