"""A job laid out: our own search first, then strips by a library, and again our own, for as long as the maker gives it.

Whatever a search says is proven by exact distances before it counts.
"""

from __future__ import annotations

import time
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace

import numpy as np

from blankwright.base.errors import RequestError
from blankwright.stock.blank import Blank, Job
from blankwright.stock.fill import Floor, Put, Shapes, filled, turns_to_try
from blankwright.stock.layout import Laid, Layout, Sheet, proven
from blankwright.stock.piece import Piece
from blankwright.stock.pose import Pose
from blankwright.stock.strip import Found, Item, item, strip_layouts, there, tightened

LEAST_S, MOST_S = 0.2, 3600.0
"""So long may a search last [s]."""

_MOST_SEED = 1_000_000

_FIRST_SHARE, _FIRST_S = 0.3, 3.0
"""Of the time, and so many seconds, are spent at most on the first layout of our own."""

_STRIP_SHARE = 0.85
"""Of what is left is spent on strips, where there are any."""

_LEAST_STRIP_S = 2.0

_PROOF_S = 1.0
"""A layout that is only a little shorter than the last is proven after this at the earliest [s]."""

_SQUARE_DEG = (0.0, 90.0, 180.0, 270.0)
"""Where any turn is allowed these are tried every other time: knives lie well side by side."""

Told = Callable[["Progress"], None]


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


@dataclass(frozen=True, eq=False)
class Nested:
    """What came of a search.

    Args:
        layout: The best layout, proven.
        seconds: How long was looked.
        stopped: Whether it was interrupted.
        library: Whether the library for strips was there.
        tried: How many layouts were looked at.
    """

    layout: Layout
    seconds: float
    stopped: bool
    library: bool
    tried: int


class _Run:
    """One search: its time, its chances and the best so far."""

    def __init__(self, job: Job, seconds: float, seed: int, told: Told | None, workers: int) -> None:
        self.job, self.seed, self.workers = job, seed, workers
        self.begun = time.monotonic()
        self.deadline = self.begun + seconds
        self.rng = np.random.default_rng(seed)
        self._told = told
        self.best = Layout(job, ())
        self.tried = 0
        self.shapes: Shapes = {}

    def left_s(self) -> float:
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

    def offer_one(self, number: int, laid: tuple[Laid, ...]) -> None:
        """Take a layout on one piece, where it is the whole job."""
        if len(laid) == self.job.parts:
            self.offer([Sheet(number, 1, laid)])

    def _progress(self) -> Progress:
        job, best = self.job, self.best
        last = best.used_mm(best.sheets[-1]) if best.sheets else 0.0
        placed = sum(len(sheet.laid) for sheet in best.sheets)
        return Progress(time.monotonic() - self.begun, placed, job.parts, len(best.sheets), last)


def nested(
    job: Job,
    seconds: float,
    *,
    seed: int = 1,
    told: Told | None = None,
    workers: int = 2,
    library: bool | None = None,
) -> Nested:
    """Lay a job out.

    Args:
        job: The job.
        seconds: How long may be looked [s]; it ends earlier where nothing can become better.
        seed: Of the chances taken; the same seed gives the same layout only where time did not end it.
        told: Called with the progress whenever a better layout is found.
        workers: Threads of the strip search.
        library: Whether the library for strips is used; None where it is installed.

    Raises:
        RequestError: The time is out of range, or the grain of a piece is needed and not known.
    """
    check_search(seconds, seed)
    for blank in job.blanks:
        for piece in job.pieces:
            blank.turns_deg(piece)
    use = there() if library is None else library
    run, stopped = _Run(job, seconds, seed, told, workers), False
    try:
        run.offer(
            _by_ourselves(run, _largest_first(job), run.begun + max(_FIRST_SHARE * seconds, min(seconds, _FIRST_S)))
        )
        strips = use and any(_is_strip(piece) for piece in job.pieces)
        if strips and not _settled(run):
            _strips(run, run.begun + (seconds * _STRIP_SHARE if _mixed(job) else seconds))
        while run.left_s() > 0 and not _settled(run):
            run.offer(_by_ourselves(run, _shuffled(run), run.deadline, chance=True))
    except KeyboardInterrupt:
        stopped = True
    return Nested(run.best, time.monotonic() - run.begun, stopped, use, run.tried)


def check_search(seconds: float, seed: int) -> None:
    """Refuse a search that cannot be.

    Raises:
        RequestError: The time or the seed is out of range.
    """
    if not LEAST_S <= seconds <= MOST_S:
        raise RequestError(f"--seconds: {seconds:g} is out of range. Allowed: {LEAST_S:g} to {MOST_S:g}.")
    if not 0 <= seed <= _MOST_SEED:
        raise RequestError(f"--seed: {seed} is out of range. Allowed: 0 to {_MOST_SEED}.")


def nested_alone(job: Job, seconds: float, seed: int = 1) -> Nested:
    """Lay a job out with one thread, as a worker of a pool does."""
    return nested(job, seconds, seed=seed, workers=1)


def nested_all(jobs: Sequence[Job], seconds: float, executor: Executor, seed: int = 1) -> Iterator[Nested]:
    """Yield layouts of several jobs in their order, each looked for by itself on an executor.

    Args:
        jobs: The jobs.
        seconds: How long each may be looked for [s].
        executor: Any executor of concurrent.futures, or what behaves as one.
        seed: Of the chances taken.
    """
    sent = [executor.submit(nested_alone, job, seconds, seed) for job in jobs]
    for future in sent:
        yield future.result()


# Our own search ---------------------------------------------------------------------------------------------


def _largest_first(job: Job) -> list[int]:
    order = sorted(range(len(job.blanks)), key=lambda k: -job.blanks[k].area_mm2)
    return [k for k in order for _ in range(job.blanks[k].quantity)]


def _shuffled(run: _Run) -> list[int]:
    """Return an order near that by size."""
    order = _largest_first(run.job)
    size = np.array([run.job.blanks[k].area_mm2 for k in order])
    rank = np.log(size) + run.rng.normal(0.0, 0.25, len(order))
    return [order[k] for k in np.argsort(-rank)]


def _by_ourselves(run: _Run, order: list[int], deadline: float, *, chance: bool = False) -> list[Sheet]:
    """Lay blanks out piece after piece."""
    sheets: list[Sheet] = []
    spent = set[int]()
    for number, copy in _copies(run.job):
        if not order or time.monotonic() > deadline:
            break
        if number in spent:
            continue
        floor, order = _piece_filled(run, number, order, deadline, chance=chance)
        if floor.put:
            sheets.append(_sheet(number, copy, floor.put))
        else:
            spent.add(number)
    return sheets


def _copies(job: Job) -> Iterator[tuple[int, int]]:
    """Yield the pieces, each copy after the other."""
    for number, piece in enumerate(job.pieces):
        for copy in range(1, piece.quantity + 1):
            yield number, copy


def _piece_filled(
    run: _Run, number: int, order: list[int], deadline: float, *, chance: bool = False
) -> tuple[Floor, list[int]]:
    job = run.job
    piece, floor = job.pieces[number], Floor(job, job.pieces[number], run.shapes)
    turns: dict[int, Sequence[float]] = {}
    for k in set(order):
        tried = turns_to_try(job.blanks[k], piece)
        if chance and job.blanks[k].turn == "any":
            tried = [*tried[:2], *run.rng.uniform(0.0, 360.0, 6).tolist(), *tried[2:4]]
        turns[k] = tried
    fits = [k for k in order if job.blanks[k].flips(piece)]
    others = [k for k in order if not job.blanks[k].flips(piece)]
    return floor, filled(floor, fits, turns, deadline) + others


def _sheet(number: int, copy: int, put: Sequence[Put]) -> Sheet:
    return Sheet(number, copy, tuple(Laid(one.blank, one.pose.rounded()) for one in put))


def _legal(layout: Layout, sheet: Sheet) -> Sheet:
    """Return a piece without the blanks that a proof finds at fault; none where it cannot be told which."""
    laid = list(sheet.laid)
    while laid:
        found = proven(layout, replace(sheet, laid=tuple(laid)))
        if not found.faults:
            break
        at = Counter(int(fault.split(" ", 1)[0]) for fault in found.faults)
        laid.pop(at.most_common(1)[0][0] - 1)
    return replace(sheet, laid=tuple(laid))


# Strips by the library ----------------------------------------------------------------------------------------


def _is_strip(piece: Piece) -> bool:
    """Whether a piece is a rectangle without anything to keep clear of."""
    return piece.kind != "found" and not piece.avoided and len(piece.thickness) == 1


def _mixed(job: Job) -> bool:
    return not all(_is_strip(piece) for piece in job.pieces)


def _settled(run: _Run) -> bool:
    """Whether nothing that a maker would notice can become better: one blank, and it lies at the end."""
    return run.job.parts == 1 and not run.best.left


def _strips(run: _Run, until: float) -> None:
    """Lay out piece after piece, rectangles by the library and the rest by ourselves; again while there is time."""
    rounds = 0
    while until - time.monotonic() > _LEAST_STRIP_S or rounds == 0:
        sheets: list[Sheet] = []
        order = _largest_first(run.job)
        expected, spent = max(len(run.best.sheets), 1), set[int]()
        for number, copy in _copies(run.job):
            if not order or (sheets and run.left_s() < 0):
                break
            if number in spent:
                continue
            time_left = until - time.monotonic()
            if _is_strip(run.job.pieces[number]) and time_left > 1.0:
                share = time_left / max(expected - len(sheets), 1)
                laid, order = _strip_piece(run, number, order, share, rounds)
            else:
                floor, order = _piece_filled(run, number, order, run.deadline)
                laid = tuple(Laid(one.blank, one.pose.rounded()) for one in floor.put)
            if not laid:
                spent.add(number)
            else:
                sheets.append(Sheet(number, copy, laid))
                run.offer([*sheets, *_rest_of(run, sheets, order)] if order else sheets)
        run.offer(sheets)
        rounds += 1
        if until - time.monotonic() < _LEAST_STRIP_S:
            break


def _rest_of(run: _Run, sheets: list[Sheet], order: list[int]) -> list[Sheet]:
    """Return the pieces after these as our own search fills them, for as long as a moment."""
    used = {(sheet.piece, sheet.copy) for sheet in sheets}
    last = (sheets[-1].piece, sheets[-1].copy)
    out, deadline, spent = list[Sheet](), min(run.deadline, time.monotonic() + 2.0), set[int]()
    for number, copy in _copies(run.job):
        if not order or time.monotonic() > deadline:
            break
        if number in spent or (number, copy) in used or (number, copy) <= last:
            continue
        floor, order = _piece_filled(run, number, order, deadline)
        if floor.put:
            out.append(_sheet(number, copy, floor.put))
        else:
            spent.add(number)
    return out


def _strip_piece(
    run: _Run, number: int, order: list[int], seconds: float, rounds: int
) -> tuple[tuple[Laid, ...], list[int]]:
    """Return what the library gets onto a rectangle, and what is left."""
    job = run.job
    piece = job.pieces[number]
    fits = [
        k for k in order if job.blanks[k].flips(piece) and job.blanks[k].thickness_mm <= piece.thickness[0][1] + 1e-9
    ]
    edge = max((job.edge_mm(job.blanks[k], piece) for k in fits), default=0.0)
    x0, y0, x1, y1 = piece.outline.bounds_mm
    long, high = x1 - x0 - 2 * edge, y1 - y0 - 2 * edge
    fits = [k for k in fits if _goes_in(job.blanks[k], piece, long, high)]
    if not fits or long <= 1 or high <= 1:
        return (), order
    begun, best = time.monotonic(), tuple[Laid, ...]()
    area = np.cumsum([job.blanks[k].area_mm2 for k in fits])
    whole = int(np.searchsorted(area, 0.95 * long * high))
    # as many as may go in by their area, and then fewer, for the shorter strip may lose less at its end
    counts = [len(fits)] if whole >= len(fits) else [whole, max(int(0.9 * whole), 1), max(int(0.8 * whole), 1)]
    if rounds:
        counts = counts[rounds % len(counts) :][:1] if len(counts) > 1 else counts
    for k, count in enumerate(counts):
        time_left = seconds - (time.monotonic() - begun)
        if time_left < 1.0 and k:
            break
        some = fits[:count]
        complete = count == len(fits)
        for laid in _strip_tries(
            run, number, some, (long, high, edge), time_left / (len(counts) - k), rounds, complete
        ):
            if _area(job, laid) > _area(job, best) + 1e-6 or (complete and len(laid) == len(fits)):
                best = laid
    left = Counter(order) - Counter(one.blank for one in best)
    rest = [k for k in dict.fromkeys(order) for _ in range(left[k])]
    best, rest = _topped_up(run, number, best, rest)
    return best, rest


def _area(job: Job, laid: Sequence[Laid]) -> float:
    return sum(job.blanks[one.blank].area_mm2 for one in laid)


def _goes_in(blank: Blank, piece: Piece, long: float, high: float, some_deg: tuple[float, ...] | None = None) -> bool:
    """Whether a blank goes into a rectangle in one of its turns at all; the library falls over one that does not."""
    ranges = blank.turns_deg(piece)
    turns = np.arange(0.0, 180.0, 3.0) if ranges is None else np.array([m for m, _ in ranges])
    turns = turns if some_deg is None else np.array(some_deg)
    points = blank.outline.flattened(0.05)
    for turn in np.radians(turns):
        v = points @ np.array([np.sin(turn), np.cos(turn)])
        u = points @ np.array([np.cos(turn), -np.sin(turn)])
        if float(np.ptp(v)) <= high and float(np.ptp(u)) <= long:
            return True
    return False


def _strip_tries(
    run: _Run,
    number: int,
    some: list[int],
    room: tuple[float, float, float],
    seconds: float,
    rounds: int,
    complete: bool,
) -> Iterator[tuple[Laid, ...]]:
    """Yield what of a strip lies on a piece, each time more or closer."""
    job, (long, high, edge) = run.job, room
    piece = job.pieces[number]
    items = _items(run, number, some, rounds, long, high)
    seed = run.seed + 101 * rounds
    again = 0.0
    best, corner = np.inf, np.array(piece.outline.bounds_mm[:2]) + edge
    for found in strip_layouts(items, high, job.gap_mm, seconds, seed=seed, workers=run.workers):
        if found is None:
            if run.left_s() < -1.0:
                return
            continue
        moved = tightened(found, items)
        laid, reach = _on_piece(job, items, moved, corner, long)
        if reach < best - 1e-3:
            best = reach
            yield laid
            if complete and len(laid) == len(some) and time.monotonic() > again:
                begun = time.monotonic()
                run.offer_one(number, laid)
                again = time.monotonic() + max(_PROOF_S, 4 * (time.monotonic() - begun))
        elif not complete:
            yield laid


def _on_piece(
    job: Job, items: Sequence[Item], found: Found, corner: np.ndarray, long: float
) -> tuple[tuple[Laid, ...], float]:
    """Return the parts of a strip that end on the piece, and how far the strip reaches [mm]."""
    out, reach = [], 0.0
    for k, pose in found.placed:
        laid = Pose(pose.x_mm + corner[0], pose.y_mm + corner[1], pose.turn_deg, pose.flipped).rounded()
        end = laid.outline(job.blanks[items[k].blank].outline).bounds_mm[2] - corner[0]
        reach = max(reach, end)
        if end <= long + 1e-9:
            out.append(Laid(items[k].blank, laid))
    return tuple(out), reach


def _items(run: _Run, number: int, some: list[int], rounds: int, long: float, high: float) -> list[Item]:
    """Return the items of a strip: of each blank that may be turned over some as drawn and some turned over."""
    job, piece = run.job, run.job.pieces[number]
    out = []
    for k, count in Counter(some).items():
        blank = job.blanks[k]
        flips, ranges = blank.flips(piece), blank.turns_deg(piece)
        if ranges is None and rounds % 2 and _goes_in(blank, piece, long, high, _SQUARE_DEG):
            ranges = tuple((turn, 0.0) for turn in _SQUARE_DEG)
        over = count if flips == (True,) else 0
        if len(flips) == 2:
            over = count // 2 if rounds % 2 == 0 else int(run.rng.integers(0, count + 1))
        out += [item(k, blank, n, ranges, flip=side) for n, side in ((count - over, False), (over, True)) if n]
    return out


def _topped_up(run: _Run, number: int, laid: tuple[Laid, ...], rest: list[int]) -> tuple[tuple[Laid, ...], list[int]]:
    """Put what is left into the room that a strip left."""
    job = run.job
    if not rest:
        return laid, rest
    floor = Floor(job, job.pieces[number], run.shapes)
    for one in laid:
        outline = one.pose.outline(job.blanks[one.blank].outline)
        floor.add(Put(one.blank, one.pose, outline.to_shapely(0.002)))
    piece = job.pieces[number]
    turns = {k: turns_to_try(job.blanks[k], piece) for k in set(rest)}
    fits = [k for k in rest if job.blanks[k].flips(piece)]
    others = [k for k in rest if not job.blanks[k].flips(piece)]
    more = filled(floor, fits, turns, min(run.deadline, time.monotonic() + 3.0)) + others
    return tuple(Laid(one.blank, one.pose.rounded()) for one in floor.put), more
