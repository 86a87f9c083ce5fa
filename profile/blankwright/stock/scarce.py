"""Every place where a placing is scarce, not only the scarcest; needed, there and over side by side."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from blankwright.base.arrays import Array, Place
from blankwright.base.frozen import dataclass
from blankwright.base.said import Line, exact_mm, mm, said
from blankwright.geometry.distance import points_to_pieces
from blankwright.geometry.outline import Outline
from blankwright.stock.field import Line as Edge
from blankwright.stock.judge import ENOUGH_MM, Limit
from blankwright.stock.place import Placed
from blankwright.stock.wanted import Wanted

CUT_WORDS = {"tip": "tip of the cut line", "butt": "butt of the cut line", "heel": "heel of the finished knife"}
"""What the places are called from which a blank is measured: the cut line's ends, and the corner that x begins at."""

_AS_NEAR_MM, _STEP_MM = 0.1, 0.5
_GAP = 10
"""Scarce places with fewer than so many others between them are one."""

_MOST = 3
"""So many places are told beside the scarcest."""

_DIGITS, _MOST_DIGITS = 2, 4
_END_MM = 12.0
_LEVEL_MM = 0.005
_FAR_THICKER = 0.15
"""A piece that is thicker by more than this share is worth a word: steel that is surfaced loses less than that."""


@dataclass(frozen=True)
class Spared:
    """One place where little is left, or something is missing.

    Args:
        spare_mm: What is over; below nothing, what is missing [mm].
        at_mm: Where, on the piece [mm].
        design_mm: The same in the design's coordinates [mm].
    """

    spare_mm: float
    at_mm: Place
    design_mm: Place


def side_by_side(there_mm: float, need_mm: float, *, by_rule: bool = False) -> Line:
    """Return what is there, what is needed, and what is over or short, with the same digits.

    Args:
        there_mm: What is there; below nothing, how far it lies beyond [mm].
        need_mm: What is needed [mm].
        by_rule: Whether what is there is as exact as what is needed, as a thickness is.

    >>> side_by_side(1.0, 1.0).text(), side_by_side(2.346, 2.0).text(), side_by_side(-0.5, 1.0).text()
    ('1.00 mm there, 1.00 mm needed, nothing over', '2.35 mm there, 2.00 mm needed, 0.35 mm over', \
'0.50 mm beyond, 1.00 mm needed, 1.50 mm short')
    """
    known = [exact_mm(one).digits for one in ((there_mm, need_mm) if by_rule else (need_mm,))]
    spare, digits = there_mm - need_mm, max([_DIGITS, *(one for one in known if one < _MOST_DIGITS)])
    if 0 < -spare - ENOUGH_MM < 10.0**-digits:
        digits = _MOST_DIGITS
    there, need, off = (mm(abs(one), digits) for one in (there_mm, need_mm, spare))
    line = said("{} there, {} needed, " if there_mm >= 0 else "{} beyond, {} needed, ", there, need)
    if spare < -ENOUGH_MM:
        return line.then("{} short", off)
    return line.then("nothing over") if spare < 0.5 * 10.0**-digits else line.then("{} over", off)


def also_scarce(placed: Placed, limit: Limit) -> list[Spared]:
    """Return the other places where as little is left as at a limit's own, or anything is missing, the scarcest first.

    Args:
        placed: A placing.
        limit: One of its limits: edge, zone or thickness; of the others there is one place.
    """
    points, _ = placed.wanted.cut.sampled(_STEP_MM)
    laid = placed.pose.points(points)
    if limit.kind == "thickness":
        spare = placed.piece.thickness_at(laid[:, 0]) - placed.wanted.thickness_mm(points[:, 0])
        order = np.lexsort((spare, np.floor(points[:, 0])))  # of both sides of the blank the thinner, by the millimetre
        order = order[np.unique(np.floor(points[order, 0]), return_index=True)[1]]
        points, laid, spare = points[order], laid[order], spare[order]
    elif limit.kind in ("edge", "zone"):
        edge = limit.kind == "edge"
        outline = placed.piece.outline if edge else _zone(placed, limit)
        spare = _signed(outline, 1.0 if edge else -1.0, laid) - limit.need
    else:
        return []
    worst = limit.spare + _AS_NEAR_MM if limit.holds else -ENOUGH_MM
    own = int(np.hypot(*(points - np.array(limit.design_mm)).T).argmin())
    found = []
    for run in _runs(spare <= worst, around=limit.kind != "thickness"):
        if run[0] <= own <= run[-1] or own in run:
            continue
        k = int(run[spare[run].argmin()])
        found.append(Spared(max(float(spare[k]), limit.spare), _pair(laid[k]), _pair(points[k])))
    return sorted(found, key=lambda one: one.spare_mm)


def _zone(placed: Placed, limit: Limit) -> Outline:
    return next(zone.outline for zone in placed.piece.avoided if placed.piece.words_of(zone) == limit.name)


def _signed(outline: Outline, good: float, points: Array) -> Array:
    found: Array = good * Edge(outline, good).distances(points)
    return found


def _runs(mask: NDArray[np.bool_], *, around: bool) -> list[NDArray[np.intp]]:
    """Return the numbers of places that follow on each other where something holds; a closed line has no end."""
    index = np.nonzero(mask)[0]
    if not len(index):
        return []
    runs = np.split(index, np.nonzero(np.diff(index) > _GAP)[0] + 1)
    if around and len(runs) > 1 and runs[0][0] + len(mask) - runs[-1][-1] <= _GAP:
        runs = [np.concatenate([runs[-1], runs[0]]), *runs[1:-1]]
    return runs


def also_words(placed: Placed, limit: Limit) -> Line:
    """Return the other scarce places in words, to stand behind the limit's own; empty where there are none."""
    own = place_words(placed.wanted, limit.design_mm).text()
    told: dict[str, tuple[Line, Spared]] = {}
    for one in also_scarce(placed, limit):
        where = place_words(placed.wanted, one.design_mm)
        if where.text() != own:
            told.setdefault(where.text(), (where, one))
    line = said("")
    for where, one in list(told.values())[:_MOST]:
        if limit.holds:
            line = line.then("; as little ").then(where.words, *where.values)
        else:
            line = line.then("; also {} short ", mm(-one.spare_mm)).then(where.words, *where.values)
    more = len(told) - _MOST
    return line if more <= 0 else line.then(f"; and at {more} more {'place' if more == 1 else 'places'}")


def thick_words(placed: Placed, limit: Limit) -> Line:
    """Return where the thickness is scarce and for how long, or what has to be ground off, to stand behind its figures.

    Args:
        placed: A placing.
        limit: Its limit of thickness.
    """
    points, _ = placed.wanted.cut.sampled(_STEP_MM)
    there, need = placed.piece.thickness_at(placed.pose.points(points)[:, 0]), placed.wanted.thickness_mm(points[:, 0])
    where, also = place_words(placed.wanted, limit.design_mm), also_words(placed, limit)
    level = float(np.ptp(there)) < _LEVEL_MM
    line = said("") if level else said(" ").then(where.words, *where.values).then(also.words, *also.values)
    if not limit.holds:
        lacking = np.unique(np.floor(points[there < need - ENOUGH_MM, 0])).size  # by the millimetre
        long = placed.wanted.cut.size_mm[0]
        if lacking > long - 1.0:
            return line.then("; too thin all along")
        return line.then("; too thin along {} of its {}", mm(lacking, 0), mm(long, 0))
    if (there - need.max()).max() <= _FAR_THICKER * need.max():
        return line
    if level:
        return line.then(", to be ground off the faces")
    return line.then("; up to {} elsewhere, to be ground off the faces", mm(float((there - need).max())))


def place_words(wanted: Wanted, at_mm: Place) -> Line:
    """Return where on the blank a place of the design is, in words."""
    cut = wanted.cut
    x, _ = at_mm
    low, _, high, _ = cut.bounds_mm
    if x > high - _END_MM:
        return said("at the tip")
    if x < low + _END_MM:
        return said("at the butt")
    point = np.array([at_mm])
    region = cut.regions[int(points_to_pieces(point, cut.starts, cut.ends, cut.bulges)[0].argmin())]
    if abs(x) < 3.0:
        return said("at the heel" if region in ("heel", "edge") else "at the spine over the heel")
    names = {"edge": "edge", "spine": "spine", "heel": "heel notch", "tang": "tang", "butt": "butt", "": "outline"}
    way = "ahead of" if x > 0 else "behind"
    return said(f"at the {names.get(region, region)}, {{}} {way} the finished heel", mm(abs(x), 0))


def _pair(point: Sequence[float] | Array) -> Place:
    return float(point[0]), float(point[1])
