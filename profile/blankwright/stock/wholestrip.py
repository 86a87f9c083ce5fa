"""A job that goes onto its first piece as a whole: one strip begun at once, and begun anew where turns are free."""

from __future__ import annotations

import time
from collections import Counter

import numpy as np

from blankwright.stock.layout import Laid, Sheet
from blankwright.stock.strips import (
    FULL_SHARE,
    LEAST_S,
    MOST_CLOSE_S,
    TURNS_DEG,
    Strip,
    area_mm2,
    best_of,
    is_strip,
    room_of,
    search_s,
    started,
    topped_up,
)
from blankwright.stock.trying import Run, by_chance, largest_first, largest_first_of

_SURE_SHARE = 0.6
"""A job of no more than this share of the first piece goes onto it."""

_SLOW_SHARE, _RIVAL = 0.65, 1.03
"""While so much of the time is left a strip search is helped by more of our own layouts where the first of them was
nearly as short: no longer than so many times its own."""

_TRY_S, _TRY_PART_S = 4.0, 0.1
"""Where turns are free a strip is searched anew after so long at least, and so much longer for each blank, once for
each way that turns are asked: after a few seconds a search hardly gets on, and another may have begun better [s]."""


def early(run: Run) -> Strip | None:
    """Begin at once where the whole job goes onto the first piece, or there is no other; None elsewhere."""
    job, piece = run.job, run.job.pieces[0]
    if not is_strip(piece) or job.parts == 1 or run.left_s() < LEAST_S:
        return None
    order = largest_first(job)
    fits, room = room_of(run, 0, order)
    area = sum(job.blanks[k].area_mm2 for k in order)
    only = len(job.pieces) == 1 and piece.quantity == 1
    if fits != order or area > (FULL_SHARE if only else _SURE_SHARE) * room[0] * room[1]:
        return None
    return started(run, 0, order, room, search_s(run.left_s() / _times(run)), 0, even=True)


def _times(run: Run) -> int:
    """Return how many times a strip with the whole job is searched anew."""
    if not any(blank.turns_deg(run.job.pieces[0]) is None for blank in run.job.blanks):
        return 1
    most = (run.deadline - run.begun) / (_TRY_S + _TRY_PART_S * run.job.parts)
    return min(max(int(most), 1), len(TURNS_DEG))


def one_strip(run: Run, one: Strip) -> None:
    """Take what the strip that was begun at once finds, and what it finds begun anew.

    What is whole is offered as it is found. Where our own first layout was nearly as short, more of those are tried
    after a while.
    """
    early_s, times = run.deadline - _SLOW_SHARE * (run.deadline - run.begun), _times(run)
    whole = not run.best.left and len(run.best.sheets) == 1
    own_mm, least_mm = run.best.worth[2] if whole else np.inf, np.inf

    def meanwhile(reach_mm: float) -> None:
        nonlocal least_mm
        least_mm = min(least_mm, reach_mm)
        if time.monotonic() > early_s and own_mm < _RIVAL * least_mm:
            by_chance(run, one.until)

    best: tuple[Laid, ...] = ()
    for k in range(times):
        share = run.left_s() / (times - k)
        if k and share < LEAST_S:
            break
        one = started(run, 0, one.some, one.room, search_s(share), k, even=True) if k else one
        until = min(run.deadline, one.until + MOST_CLOSE_S)
        laid = best_of(run, one, until, complete=True, meanwhile=meanwhile)
        best = max(best, laid, key=lambda some: area_mm2(run.job, some))
    left = Counter(largest_first(run.job)) - Counter(laid.blank for laid in best)
    best, _ = topped_up(run, 0, best, largest_first_of(run.job, left))
    run.offer([Sheet(0, 1, best)])
