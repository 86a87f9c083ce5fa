"""A job laid out: our own search first, then strips by a library, and again our own, for as long as it is given."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Executor

from blankwright.base.errors import RequestError
from blankwright.base.frozen import dataclass
from blankwright.stock.blank import Job
from blankwright.stock.layout import Layout
from blankwright.stock.strip import there
from blankwright.stock.strips import is_strip, strips
from blankwright.stock.trying import Progress, Run, by_chance, by_ourselves, closed, largest_first
from blankwright.stock.wholestrip import early, one_strip

LEAST_S, MOST_S = 0.2, 3600.0
"""So long may a search last [s]."""

MOST_SEED = 1_000_000

_FIRST_SHARE, _FIRST_S = 0.3, 60.0
"""So much of the time goes at most into the first layout of our own; so many seconds it may take in any case: on a busy
machine too, no blank shall be told to have no room that was never tried."""

_STRIP_SHARE = 0.85
"""Of the time is spent on strips where other pieces are to be laid out too."""


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


def nested(
    job: Job,
    seconds: float,
    *,
    seed: int = 1,
    told: Callable[[Progress], None] | None = None,
    workers: int = 2,
    library: bool | None = None,
) -> Nested:
    """Lay a job out.

    Args:
        job: The job.
        seconds: How long may be looked [s]; a first layout is finished even where that takes a little longer.
        seed: Of the chances taken; the same seed gives the same layout only where time did not end it.
        told: Called with the progress whenever a better layout is found.
        workers: Threads of the strip search.
        library: Whether the library for strips is used; None where it is installed.

    Raises:
        RequestError: Time or seed is out of range, or the grain of a piece is needed and not known.
    """
    check_search(seconds, seed)
    for blank in job.blanks:
        for piece in filter(blank.of_piece, job.pieces):
            blank.turns_deg(piece)
    use = there() if library is None else library
    run, stopped = Run(job, seconds, seed, told, workers), False
    try:
        _searched(run, seconds, use=use)
    except KeyboardInterrupt:
        stopped = True
    return Nested(run.best, time.monotonic() - run.begun, stopped, use, run.tried)


def _searched(run: Run, seconds: float, *, use: bool) -> None:
    begun = early(run) if use else None
    try:
        first = by_ourselves(run, largest_first(run.job), run.begun + max(_FIRST_SHARE * seconds, _FIRST_S))
        run.offer(first)
        free = any(not isinstance(blank.turn, tuple) for blank in run.job.blanks)  # where none turns, little is gained
        if first and run.left_s() > 0 and (free or begun is None):
            run.offer(closed(run, first, time.monotonic() + _FIRST_SHARE * run.left_s()))
    except BaseException:
        if begun is not None:
            begun.found.close()
        raise
    kinds = [is_strip(piece) for piece in run.job.pieces]
    if begun is not None:
        one_strip(run, begun)
    elif use and any(kinds) and run.job.parts > 1:
        strips(run, run.begun + (seconds if all(kinds) else seconds * _STRIP_SHARE))
    while run.left_s() > 0 and not (run.job.parts == 1 and not run.best.left):
        by_chance(run, run.deadline)


def check_search(seconds: float, seed: int) -> None:
    """Refuse a search that cannot be.

    Raises:
        RequestError: The time or the seed is out of range.
    """
    if not LEAST_S <= seconds <= MOST_S:
        raise RequestError(f"--seconds: {seconds:g} is out of range. Allowed: {LEAST_S:g} to {MOST_S:g}.")
    if not 0 <= seed <= MOST_SEED:
        raise RequestError(f"--seed: {seed} is out of range. Allowed: 0 to {MOST_SEED}.")


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
