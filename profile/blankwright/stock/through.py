"""A hole that is in the piece already may become one of the knife's own: the knife then only turns about it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache
from math import dist

import numpy as np

from blankwright.geometry.pose import Pose
from blankwright.knife.holes import MadeHole
from blankwright.stock.bench import Search, plate_of
from blankwright.stock.piece import Piece, Zone
from blankwright.stock.search import Allowed
from blankwright.stock.wanted import Wanted

NEAR_MM = 1e-3
"""A hole is on its place to this."""

_STEP_DEG, _BEST, _HALVINGS = 0.5, 3, 14
_ROUGH_MM = 1.5
"""The rough search may miss the room by so much, beside what half a step of the turn moves."""


def hole_for(wanted: Wanted, zone: Zone, pose: Pose) -> MadeHole | None:
    """Return the hole of the knife that takes a round zone away altogether where it lies; None where none does."""
    if zone.circle is None or zone.kind != "avoid":
        return None
    x, y, across = zone.circle
    for made in wanted.knife.holes:
        hx, hy = pose.points(np.array([[made.hole.x_mm, made.hole.y_mm]]))[0].tolist()
        if dist((x, y), (hx, hy)) + across / 2 <= made.hole.diameter_mm / 2 + NEAR_MM:
            return made
    return None


@lru_cache(maxsize=32)
def _without(piece: Piece, zone: Zone) -> Piece:
    """Return a piece without one of its zones: the same each time, so that it is made ready once."""
    return replace(piece, zones=tuple(other for other in piece.zones if other is not zone))


def poses_through_holes(search: Search, allowed: Allowed, but: Sequence[MadeHole] = ()) -> list[Pose]:
    """Return the best placings with which a hole of the piece becomes one of the knife's.

    Args:
        search: Knife and piece.
        allowed: Sides and turns that may be.
        but: Holes of the knife that are not tried.
    """
    wanted, piece, found = search.wanted, search.plate.piece, list[Pose | None]()
    for zone in piece.avoided:
        if zone.circle is None:
            continue
        x, y, across = zone.circle
        known = [made.hole for made in but]
        holes = [m for m in wanted.knife.holes if m.hole.diameter_mm >= across - NEAR_MM and m.hole not in known]
        if not holes:
            continue
        rest = Search(plate_of(_without(piece, zone), wanted), wanted, search)
        found += [_turned_about(rest, made, (x, y), allowed) for made in holes]
    return [pose for pose in found if pose is not None]


def pose_through_like(search: Search, last: Wanted, pose: Pose) -> Pose | None:
    """Return the turn near one about the hole of the piece that was another knife's own; None where none was.

    Args:
        search: Knife and piece.
        last: A knife that differs little.
        pose: How it lay.
    """
    wanted, piece = search.wanted, search.plate.piece
    for zone in piece.avoided:
        made = hole_for(last, zone, pose)
        if made is None or zone.circle is None or len(wanted.knife.holes) != len(last.knife.holes):
            continue
        own = wanted.knife.holes[last.knife.holes.index(made)].hole
        if own.diameter_mm >= zone.circle[2] - NEAR_MM:
            rest = Search(plate_of(_without(piece, zone), wanted), wanted, search)
            hole = np.array([own.x_mm, own.y_mm])
            return _narrowed(rest, hole, zone.circle[:2], pose.turn_deg, flipped=pose.flipped)
    return None


def _turned_about(search: Search, made: MadeHole, at: tuple[float, float], allowed: Allowed) -> Pose | None:
    """Return the turn about a hole that leaves the most room."""
    hole = np.array([made.hole.x_mm, made.hole.y_mm])
    turns, best = np.arange(0.0, 360.0, _STEP_DEG), None
    for flipped in allowed.flips:
        tried = turns[allowed.holds(turns, flipped=flipped)]
        if not len(tried):
            continue
        poses = [_about(hole, at, turn, flipped=flipped) for turn in tried.tolist()]
        middles = np.array([pose.points(search.middle[None])[0] for pose in poses])
        slack = search.roughly(middles[:, 0], middles[:, 1], np.radians(tried), np.full(len(tried), flipped))
        hopeful = -search.reach * np.radians(_STEP_DEG) - _ROUGH_MM
        for k in [k for k in np.argsort(-slack)[:_BEST].tolist() if slack[k] > hopeful]:
            pose = _narrowed(search, hole, at, float(tried[k]), flipped=flipped)
            if bool(allowed.holds(np.array([pose.turn_deg]), flipped=flipped)[0]):
                best = max([one for one in (best, (search.slack(pose), pose)) if one is not None], key=lambda o: o[0])
    return None if best is None else best[1]


def _narrowed(search: Search, hole: np.ndarray, at: tuple[float, float], turn: float, *, flipped: bool) -> Pose:
    """Return the best turn near one, by halving the step."""
    step, best = _STEP_DEG, _about(hole, at, turn, flipped=flipped)
    most = search.slack(best)
    for _ in range(_HALVINGS):
        for way in (step, -step):
            pose = _about(hole, at, best.turn_deg + way, flipped=flipped)
            slack = search.slack(pose)
            if slack > most:
                best, most = pose, slack
                break
        else:
            step /= 2
    return best


def _about(hole: np.ndarray, at: tuple[float, float], turn_deg: float, *, flipped: bool) -> Pose:
    turned = Pose(0.0, 0.0, turn_deg, flipped)
    x, y = np.array(at) - turned.points(hole[None])[0]
    return Pose(float(x), float(y), turn_deg, flipped)
