"""One search for layouts: its time, its chances and the best so far, and our own way of laying blanks out.

Whatever is offered is proven by exact distances before it counts.
"""

from __future__ import annotations

import time
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace

import numpy as np

from blankwright.base.frozen import dataclass
from blankwright.stock.blank import Job
from blankwright.stock.closing import closed_up
from blankwright.stock.fill import Floor, Put, Shapes, filled, turns_to_try
from blankwright.stock.layout import Laid, Layout, Sheet, proven

_ORDER_SPREAD = 0.25
_CHANCES = 6

_NEAR = 1.3
"""A layout so many times as long as the best may still become shorter than that."""


@dataclass(frozen=True)
class Progress:
    """How far a search is.

    Args:
        seconds: Since it began.
        placed: Blanks that have a place.
        wanted: Blanks that are wanted.
        sheets: Pieces that are used.
        used_mm: How far along the last of them the blanks reach [mm].
    """

    seconds: float
    placed: int
    wanted: int
    sheets: int
    used_mm: float


class Run:
    """One search.

    Args:
        job: The job.
        seconds: How long it may last [s].
        seed: Of its chances.
        told: Called when there is a better layout.
        workers: Threads of the strip search.
    """

    def __init__(
        self, job: Job, seconds: float, seed: int, told: Callable[[Progress], None] | None, workers: int
    ) -> None:
        self.job, self.seed, self.workers = job, seed, workers
        self.begun = time.monotonic()
        self.deadline = self.begun + seconds
        self.rng = np.random.default_rng(seed)
        self.best = Layout(job, ())
        self.tried = 0
        self.shapes: Shapes = {}
        self._told = told

    def left_s(self) -> float:
        """Return how much time is left [s]."""
        return self.deadline - time.monotonic()

    def offer(self, sheets: Sequence[Sheet]) -> None:
        """Take a layout where it is better than the best so far, and legal."""
        self.tried += 1
        layout = Layout(self.job, tuple(sheet for sheet in sheets if sheet.laid))
        if layout.worth >= self.best.worth:
            return
        layout = Layout(self.job, tuple(_legal(layout, sheet) for sheet in layout.sheets))
        if layout.worth >= self.best.worth:
            return
        self.best = layout
        if self._told is not None:
            self._told(self._progress())

    def worth_closing(self, sheets: Sequence[Sheet]) -> bool:
        """Whether a layout may become the best by closing it up: on as few pieces, and not much longer."""
        left, taken, used = Layout(self.job, tuple(sheets)).worth
        best = self.best.worth
        return left <= best[0] * _NEAR and taken <= best[1] and used <= best[2] * _NEAR

    def _progress(self) -> Progress:
        job, best = self.job, self.best
        last = best.used_mm(best.sheets[-1]) if best.sheets else 0.0
        placed = sum(len(sheet.laid) for sheet in best.sheets)
        return Progress(time.monotonic() - self.begun, placed, job.parts, len(best.sheets), last)


def by_chance(run: Run, deadline: float) -> None:
    """Lay the job out once more, in an order and with turns by chance, and close it up where that is worth it."""
    if time.monotonic() > deadline:
        return
    sheets = by_ourselves(run, shuffled(run), deadline, chance=True)
    run.offer(sheets)
    if sheets and time.monotonic() < deadline and run.worth_closing(sheets):
        run.offer(closed(run, sheets, deadline))


def closed(run: Run, sheets: Sequence[Sheet], deadline: float) -> list[Sheet]:
    """Close pieces up one after the other, each with what is behind it and what is left put into its room.

    Args:
        run: The search.
        sheets: A layout.
        deadline: When to stop [s of the steady clock].
    """
    out, rest = list[Sheet](), Counter(largest_first(run.job))
    later = list(sheets)
    rest -= Counter(one.blank for sheet in sheets for one in sheet.laid)
    while later:
        sheet = later.pop(0)
        laid = closed_up(run.job, sheet.piece, sheet.laid, deadline)
        behind = Counter(one.blank for other in later for one in other.laid)
        order = largest_first_of(run.job, behind + rest)
        if order and time.monotonic() < deadline:
            before = len(laid)
            laid, order = piece_filled(run, sheet.piece, order, deadline, there=laid)
            if len(laid) > before:  # the pieces behind it are filled anew
                out.append(replace(sheet, laid=laid))
                return out + by_ourselves(run, order, deadline, after=(sheet.piece, sheet.copy))
        out.append(replace(sheet, laid=laid))
    return out


def largest_first_of(job: Job, counts: Counter[int]) -> list[int]:
    """Return blanks in the order of their size."""
    order = sorted(counts, key=lambda k: -job.blanks[k].area_mm2)
    return [k for k in order for _ in range(counts[k])]


def _legal(layout: Layout, sheet: Sheet) -> Sheet:
    """Return a piece without the blanks that a proof finds at fault."""
    laid = list(sheet.laid)
    while laid:
        found = proven(layout, replace(sheet, laid=tuple(laid)))
        if not found.faults:
            break
        at = Counter(int(fault.split(" ", 1)[0]) for fault in found.faults)
        laid.pop(at.most_common(1)[0][0] - 1)
    return replace(sheet, laid=tuple(laid))


def largest_first(job: Job) -> list[int]:
    """Return the number of every blank's kind, the largest first."""
    return largest_first_of(job, Counter({k: blank.quantity for k, blank in enumerate(job.blanks)}))


def shuffled(run: Run) -> list[int]:
    """Return an order near that by size."""
    order = largest_first(run.job)
    size = np.array([run.job.blanks[k].area_mm2 for k in order])
    rank = np.log(size) + run.rng.normal(0.0, _ORDER_SPREAD, len(order))
    return [order[k] for k in np.argsort(-rank)]


def copies(job: Job) -> Iterator[tuple[int, int]]:
    """Yield the pieces, each copy after the other."""
    for number, piece in enumerate(job.pieces):
        for copy in range(1, piece.quantity + 1):
            yield number, copy


def by_ourselves(
    run: Run, order: list[int], deadline: float, *, chance: bool = False, after: tuple[int, int] = (-1, 0)
) -> list[Sheet]:
    """Lay blanks out piece after piece.

    Args:
        run: The search.
        order: The blanks, by number.
        deadline: When to stop [s of the steady clock].
        chance: Whether turns are taken by chance.
        after: Piece and copy behind which to begin.
    """
    sheets: list[Sheet] = []
    spent = set[int]()
    for number, copy in copies(run.job):
        if not order or time.monotonic() > deadline:
            break
        if number in spent or (number, copy) <= after:
            continue
        laid, order = piece_filled(run, number, order, deadline, chance=chance)
        if laid:
            sheets.append(Sheet(number, copy, laid))
        else:
            spent.add(number)
    return sheets


def piece_filled(
    run: Run,
    number: int,
    order: list[int],
    deadline: float,
    *,
    chance: bool = False,
    there: Sequence[Laid] = (),
) -> tuple[tuple[Laid, ...], list[int]]:
    """Lay blanks out on one piece; return what lies there and which are left.

    Args:
        run: The search.
        number: Of the piece.
        order: The blanks, by number.
        deadline: When to stop [s of the steady clock].
        chance: Whether turns are taken by chance.
        there: What lies there already.
    """
    job, piece = run.job, run.job.pieces[number]
    floor = Floor(job, piece, run.shapes)
    for one in there:
        outline = one.pose.outline(job.blanks[one.blank].outline)
        floor.add(Put(one.blank, one.pose, outline.to_shapely(0.002)))
    turns: dict[int, Sequence[float]] = {}
    for k in set(order):
        tried = turns_to_try(job.blanks[k], piece)
        if chance and job.blanks[k].turn == "any":
            tried = [*tried[:2], *run.rng.uniform(0.0, 360.0, _CHANCES).tolist(), *tried[2:4]]
        turns[k] = tried
    fits = [k for k in order if job.blanks[k].flips(piece)]
    others = [k for k in order if not job.blanks[k].flips(piece)]
    left = filled(floor, fits, turns, deadline) + others
    return tuple(Laid(one.blank, one.pose.rounded()) for one in floor.put), left
