"""Why a knife lies nowhere on a piece, told without looking for a place: what would do is asked of many knives."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import shapely

from blankwright.base.arrays import Array
from blankwright.geometry.outline import Outline
from blankwright.stock.piece import Piece, Zone
from blankwright.stock.wanted import FINE_MM, Wanted

_SPARE_MM, _SPARE_SHARE = 0.05, 1e-4
"""Outlines are followed by chords and shares are rounded: a knife that lacks less may fit after all."""

_STEP_DEG = 1.0


def never_fits(wanted: Wanted, piece: Piece) -> bool:
    """Whether a knife cannot lie on a piece, however it is put; False where it may.

    It is wider than the piece in some direction at every turn, or a zone to keep lies where no blank may reach.
    """
    room_mm = wanted.room_mm(piece)
    if any(out_of_reach(piece, zone, room_mm) or _too_small(wanted, zone) for zone in piece.kept):
        return True
    return _too_wide(wanted.cut, piece.outline, room_mm)


@lru_cache(maxsize=32)
def out_of_reach(piece: Piece, zone: Zone, room_mm: float) -> bool:
    """Whether too little of a zone to keep is far enough from the piece's edge."""
    reached = piece.outline.to_shapely(FINE_MM).buffer(_SPARE_MM - room_mm - zone.margin_mm)
    area = zone.outline.to_shapely(FINE_MM)
    return bool(area.intersection(reached).area < (zone.share - _SPARE_SHARE) * area.area)


def _too_small(wanted: Wanted, zone: Zone) -> bool:
    """Whether the part of the knife that a zone is kept on is smaller than what is to be kept."""
    return bool(wanted.part(zone.part).area < (zone.share - _SPARE_SHARE) * abs(zone.outline.area_mm2))


def _too_wide(cut: Outline, piece: Outline, room_mm: float) -> bool:
    """Whether at every turn, on either side, the knife is wider than the piece in some direction."""
    wide, there = _widths(cut), _widths(piece) - 2 * room_mm
    turn, way = np.arange(len(wide))[:, None], np.arange(len(wide))[None]
    between = float(np.hypot(*cut.size_mm)) * np.radians(_STEP_DEG) / 2  # what half a step of the turn may change
    sides = [(wide[at % len(wide)] - there).max(axis=1).min() for at in (way - turn, turn - way)]
    return bool(min(sides) > between + _SPARE_MM)


def _widths(outline: Outline) -> Array:
    """Return how wide an outline is in each direction [mm]."""
    corners = np.array(shapely.convex_hull(shapely.MultiPoint(outline.flattened(_SPARE_MM / 5))).exterior.coords)
    ways = np.radians(np.arange(0.0, 180.0, _STEP_DEG))
    found: Array = np.ptp(corners @ np.stack([np.cos(ways), np.sin(ways)]), axis=0)
    return found
