"""Rectangles of a job laid out by the strip search: which blanks are tried on which, and what is taken of the answers.

A strip that is longer than its piece is no loss: the blanks that end on the piece are taken, and our own search puts
what is left into the room between them.
"""

from __future__ import annotations

import time
from collections import Counter
from collections.abc import Callable, Generator, Iterator, Sequence
from dataclasses import replace

import numpy as np

from blankwright.base.arrays import Array
from blankwright.base.frozen import dataclass
from blankwright.geometry.pose import Pose
from blankwright.stock.blank import Blank, Job
from blankwright.stock.closing import closed_up
from blankwright.stock.layout import Laid, Sheet
from blankwright.stock.piece import Piece, box
from blankwright.stock.strip import Found, Item, item, strip_layouts, tightened
from blankwright.stock.trying import Run, by_ourselves, copies, largest_first, piece_filled

LEAST_S = 2.0
"""Below this a strip search finds nothing worth its start [s]."""

FULL_SHARE = 0.95
"""A job of more than this share of a piece does not go onto it."""

_CLOSE_SHARE, _END_S, MOST_CLOSE_S = 0.08, 0.7, 5.0
"""Of its time, and so long at least and at most, a strip is closed up when its search is over [s]."""

_AGAIN, _OLD = 12.0, 1.012
"""While a strip is searched its layouts are closed up too, the shortest first; it rests so many times as long as one
took, for a search that lacks one of its threads now and then loses more than that. Which of them gains most is chance:
others have their turn too, up to so many times as long as the best."""

_FEWER = (1.0, 0.9, 0.8)
"""Where not all go onto a piece, so many of those that may by their area are tried."""

_PROOF_S, _TOP_S, _REST_S = 0.5, 3.0, 2.0
"""The next layout is closed up after this at the earliest; so long is looked for room between
blanks, and on the other pieces [s]."""

_CHILD_S = 0.5
"""So long does its process take to begin [s]."""

_SQUARE_DEG = (0.0, 90.0, 180.0, 270.0)
TURNS_DEG = (_SQUARE_DEG, None, None, None)
"""Where any turn is allowed these are tried one time after the other, None for any: of few turns the search finds in
seconds what it needs a minute for where all are allowed, and closing up turns the blanks the rest of the way. Measured
in 6 s each, closed up, medians of four: chef's, utility and paring knives 541 mm square, 556 by any turn; parings 716,
736. Cleavers, slicers and spreaders come to 514 either way, of which single ones by any turn are 502 to 530."""

_MOST_LAST = 8
"""So many layouts at most are closed up when a search is over, the shortest first."""


@dataclass(frozen=True)
class Strip:
    """A strip that is being searched.

    Args:
        number: Number of the piece that it is to fit.
        some: The blanks on it.
        room: Length and height for it, and how far it is from the piece's edge [mm].
        items: The blanks as the library has them.
        found: What it finds.
        until: When its search is over [s of the steady clock].
    """

    number: int
    some: list[int]
    room: tuple[float, float, float]
    items: list[Item]
    found: Generator[Found | None]
    until: float


def is_strip(piece: Piece) -> bool:
    """Whether a piece is a rectangle without anything to keep clear of."""
    return piece.kind != "found" and not piece.avoided and len(piece.thickness) == 1


def search_s(seconds: float) -> float:
    """Return how much of a time is searched; the rest is for closing up [s]."""
    return seconds - min(max(_CLOSE_SHARE * seconds, _END_S), MOST_CLOSE_S)


def best_of(
    run: Run, one: Strip, until: float, *, complete: bool, meanwhile: Callable[[float], None] | None = None
) -> tuple[Laid, ...]:
    """Return what of a strip lies on its piece when the search is over and the strip is closed up.

    Args:
        run: The search.
        one: The strip.
        until: When to stop [s of the steady clock].
        complete: Whether its blanks are all that are left.
        meanwhile: Called again and again with how far the strip reaches so far [mm].
    """
    job, best = run.job, tuple[Laid, ...]()
    last: tuple[Laid, ...] = ()
    try:
        for laid, whole in _tries(run, one, until, complete=complete, meanwhile=meanwhile):
            last = whole
            if len(laid) == len(one.some) or area_mm2(job, laid) > area_mm2(job, best):
                best = laid
    finally:
        one.found.close()
    if complete:
        run.offer([Sheet(one.number, 1, best)])
    if not last or (complete and len(best) == len(one.some)):  # closed up already
        return best
    laid = _closed(job, one, last, until)
    return laid if area_mm2(job, laid) > area_mm2(job, best) - 1e-6 else best


def _closed(job: Job, one: Strip, whole: tuple[Laid, ...], until: float) -> tuple[Laid, ...]:
    """Close a strip up, be it longer than its piece, and return the blanks that end on the piece then."""
    piece = job.pieces[one.number]
    x0, y0, x1, y1 = piece.outline.bounds_mm
    end = max(_end(job, laid) for laid in whole)
    longer = replace(piece, outline=box(max(x1 - x0, end - x0 + 2 * one.room[2] + 1.0), y1 - y0).moved(x0, y0))
    pieces = tuple(longer if k == one.number else other for k, other in enumerate(job.pieces))
    closed = closed_up(replace(job, pieces=pieces), one.number, whole, until)
    return tuple(laid for laid in closed if _end(job, laid) <= x1 - one.room[2] + 1e-3)


def _end(job: Job, laid: Laid) -> float:
    return laid.pose.outline(job.blanks[laid.blank].outline).bounds_mm[2]


def strips(run: Run, until: float) -> None:
    """Lay out piece after piece, rectangles by the library and the rest by ourselves; again while there is time."""
    rounds = 0
    while rounds == 0 or until - time.monotonic() > LEAST_S:
        _round(run, until, rounds)
        rounds += 1


def _round(run: Run, until: float, rounds: int) -> None:
    sheets: list[Sheet] = []
    order, spent = largest_first(run.job), set[int]()
    expected = max(len(run.best.sheets), 1)
    for number, copy in copies(run.job):
        time_left = until - time.monotonic()
        if not order or (sheets and time_left < 0):
            break
        if number in spent:
            continue
        if is_strip(run.job.pieces[number]) and time_left > 1.0:
            share = time_left / max(expected - len(sheets), 1)
            laid, order = _strip_piece(run, number, order, share, rounds)
        else:
            laid, order = piece_filled(run, number, order, run.deadline)
        if not laid:
            spent.add(number)
            continue
        sheets.append(Sheet(number, copy, laid))
        if order:
            soon = min(run.deadline, time.monotonic() + _REST_S)
            run.offer([*sheets, *by_ourselves(run, order, soon, after=(number, copy))])
    run.offer(sheets)


def _strip_piece(
    run: Run, number: int, order: list[int], seconds: float, rounds: int
) -> tuple[tuple[Laid, ...], list[int]]:
    """Return what the library gets onto a rectangle, and what is left."""
    job = run.job
    fits, room = room_of(run, number, order)
    if not fits:
        return (), order
    begun, best = time.monotonic(), tuple[Laid, ...]()
    for k, count in enumerate(counts := _counts(job, fits, room, rounds)):
        time_left = seconds - (time.monotonic() - begun)
        if time_left < 1.0 and k:
            break
        complete = count == len(fits)
        share = time_left / (len(counts) - k)
        one = started(run, number, fits[:count], room, search_s(share), rounds)
        laid = best_of(run, one, time.monotonic() + share, complete=complete)
        if area_mm2(job, laid) > area_mm2(job, best) + 1e-6:
            best = laid
    left = Counter(order) - Counter(one.blank for one in best)
    return topped_up(run, number, best, [k for k in dict.fromkeys(order) for _ in range(left[k])])


def _counts(job: Job, fits: list[int], room: tuple[float, float, float], rounds: int) -> list[int]:
    """Return how many blanks are tried together: as many as may go in by their area, and then fewer."""
    area = np.cumsum([job.blanks[k].area_mm2 for k in fits])
    whole = int(np.searchsorted(area, FULL_SHARE * room[0] * room[1]))
    if whole >= len(fits):
        return [len(fits)]
    counts = [max(int(share * whole), 1) for share in _FEWER]
    return counts if rounds == 0 else [counts[rounds % len(counts)]]


def room_of(run: Run, number: int, order: list[int]) -> tuple[list[int], tuple[float, float, float]]:
    """Return which blanks go onto a rectangle at all, and its length, height and rim."""
    job, piece = run.job, run.job.pieces[number]
    thick = piece.thickness[0][1] + 1e-9
    fits = [k for k in order if job.blanks[k].thickness_mm <= thick and job.blanks[k].flips(piece)]
    edge = max((job.edge_mm(job.blanks[k], piece) for k in set(fits)), default=0.0)
    long, high = (v - 2 * edge for v in piece.outline.size_mm)
    goes = {k for k in set(fits) if min(long, high) > 1.0 and goes_in(job.blanks[k], piece, long, high)}
    return [k for k in fits if k in goes], (long, high, edge)


def goes_in(
    blank: Blank, piece: Piece, long_mm: float, high_mm: float, some_deg: tuple[float, ...] | None = None
) -> bool:
    """Whether a blank goes into a box in one of its turns at all; the library falls over one that does not.

    Args:
        blank: The blank.
        piece: On which piece the box is.
        long_mm: Its length [mm].
        high_mm: Its height [mm].
        some_deg: Turns to try; None for all that are allowed.
    """
    ranges = blank.turns_deg(piece)
    turns = np.arange(0.0, 180.0, 3.0) if ranges is None else np.array([m for m, _ in ranges])
    points = blank.outline.flattened(0.05)
    for turn in np.radians(turns if some_deg is None else np.array(some_deg)):
        v = points @ np.array([np.sin(turn), np.cos(turn)])
        u = points @ np.array([np.cos(turn), -np.sin(turn)])
        if float(np.ptp(v)) <= high_mm and float(np.ptp(u)) <= long_mm:
            return True
    return False


def started(
    run: Run,
    number: int,
    some: list[int],
    room: tuple[float, float, float],
    seconds: float,
    rounds: int,
    *,
    even: bool = False,
) -> Strip:
    """Begin to search a strip.

    Args:
        run: The search.
        number: Number of the piece.
        some: The blanks on it.
        room: Length and height for it, and how far it is from the piece's edge [mm].
        seconds: How long it is searched [s].
        rounds: How many times before the same was searched: turns, sides and chances are others each time.
        even: Whether polygons may cut into outlines a little, for all layouts are closed up.
    """
    items = _items(run, number, some, rounds, room, even=even)
    seed, until = run.seed + 101 * rounds, time.monotonic() + seconds
    found = strip_layouts(items, room[1], run.job.gap_mm, seconds - _CHILD_S, seed=seed, workers=run.workers)
    next(found, None)  # its process begins
    return Strip(number, some, room, items, found, until)


def _items(
    run: Run, number: int, some: list[int], rounds: int, room: tuple[float, float, float], *, even: bool
) -> list[Item]:
    """Return the items of a strip: of each blank that may be turned over some as drawn and some turned over."""
    job, piece = run.job, run.job.pieces[number]
    out = []
    for k, count in Counter(some).items():
        blank = job.blanks[k]
        flips, ranges = blank.flips(piece), blank.turns_deg(piece)
        some_deg = TURNS_DEG[rounds % len(TURNS_DEG)]
        if ranges is None and some_deg is not None and goes_in(blank, piece, room[0], room[1], some_deg):
            ranges = tuple((turn, 0.0) for turn in some_deg)
        over = count if flips == (True,) else 0
        if len(flips) == 2:
            over = count // 2 if rounds < len(TURNS_DEG) else int(run.rng.integers(0, count + 1))
        sides = ((count - over, False), (over, True))
        out += [item(k, blank, n, ranges, flip=side, even=even) for n, side in sides if n]
    return out


def _tries(
    run: Run, one: Strip, until: float, *, complete: bool, meanwhile: Callable[[float], None] | None
) -> Iterator[tuple[tuple[Laid, ...], tuple[Laid, ...]]]:
    """Yield what of a strip lies on its piece, and the whole of it, each time closer; offer what is the whole job.

    Args:
        run: The search.
        one: The strip.
        until: When to stop [s of the steady clock].
        complete: Whether its blanks are all that are left, so that a shorter strip is better.
        meanwhile: Called again and again with how far the strip reaches so far [mm].
    """
    job, (long, _, edge) = run.job, one.room
    x0, y0, _, _ = job.pieces[one.number].outline.bounds_mm
    again, best, closed, corner = 0.0, np.inf, np.inf, np.array([x0 + edge, y0 + edge])
    waiting: list[tuple[float, tuple[Laid, ...]]] = []
    for found in one.found:
        if time.monotonic() > one.until:
            break
        if found is not None:
            whole = _on_piece(one.items, tightened(found, one.items), corner)
            reach = max(_end(job, laid) for laid in whole)
            waiting = [*(old for old in waiting if old[0] - x0 < _OLD * (min(best, reach) - x0)), (reach, whole)]
            if reach < best - 1e-3:
                best = reach
                yield tuple(one_ for one_ in whole if _end(job, one_) <= corner[0] + long + 1e-3), whole
        if complete and waiting and time.monotonic() > again:
            waiting.sort(key=lambda old: -old[0])
            begun = time.monotonic()
            closed = min(closed, _offered(run, one, waiting.pop()[1], one.until))
            again = time.monotonic() + max(_PROOF_S, _AGAIN * (time.monotonic() - begun))
        if meanwhile is not None and np.isfinite(best):
            meanwhile(min(float(best), closed) - x0)
    one.found.close()
    for _, whole in sorted(waiting, key=lambda old: old[0])[:_MOST_LAST] if complete else ():
        if time.monotonic() < until:
            _offered(run, one, whole, until)


def _offered(run: Run, one: Strip, whole: tuple[Laid, ...], until: float) -> float:
    """Close a strip up and offer it where all of it lies on its piece; return how far it reaches if it counts [mm]."""
    laid = _closed(run.job, one, whole, min(until, time.monotonic() + MOST_CLOSE_S))
    if len(laid) < run.job.parts:
        return np.inf
    run.offer([Sheet(one.number, 1, laid)])
    reach = max(_end(run.job, one_) for one_ in laid)
    used_mm = reach - run.job.pieces[one.number].outline.bounds_mm[0]
    return reach if run.best.worth[2] <= used_mm + 1e-3 else np.inf


def _on_piece(items: Sequence[Item], found: Found, corner: Array) -> tuple[Laid, ...]:
    """Return the parts of a strip as they lie from a corner of the piece on."""
    return tuple(
        Laid(items[k].blank, Pose(p.x_mm + corner[0], p.y_mm + corner[1], p.turn_deg, p.flipped).rounded())
        for k, p in found.placed
    )


def topped_up(run: Run, number: int, laid: tuple[Laid, ...], rest: list[int]) -> tuple[tuple[Laid, ...], list[int]]:
    """Put what is left into the room that a strip left."""
    if not rest:
        return laid, rest
    return piece_filled(run, number, rest, min(run.deadline, time.monotonic() + _TOP_S), there=laid)


def area_mm2(job: Job, laid: Sequence[Laid]) -> float:
    """Return the area of some blanks [mm2]."""
    return sum(job.blanks[one.blank].area_mm2 for one in laid)
