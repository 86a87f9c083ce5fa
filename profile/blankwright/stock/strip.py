"""The strip search of a library, driven from outside: in a child process, asked in polygons, answered in placings.

The library minimises the length of a strip of a given height. What it cannot do is done here: mirrored copies are items
of their own, and whatever makes it stop or fall over ends its process and not ours. Its answers are proposals: they are
proven by exact distances afterwards (`layout.py`).
"""

from __future__ import annotations

import json
import queue
import subprocess
import sys
import threading
import time
from collections.abc import Generator, Iterator, Sequence
from contextlib import ExitStack, suppress
from functools import cache
from importlib.util import find_spec
from math import cos, radians, sin
from pathlib import Path
from typing import Any

import numpy as np

from blankwright.base.arrays import Array
from blankwright.base.frozen import dataclass
from blankwright.geometry.outline import Outline
from blankwright.geometry.pose import Pose
from blankwright.stock.blank import Blank

AROUND_MM = 0.15
"""Arcs are asked as polygons of few corners that hold the outline and are nowhere further from it than about this."""

_EVEN_SHARE, _EVEN_MM, _EVEN_ARC_MM = 0.05, 1.0, 0.3
"""Where every layout is closed up to the real outlines afterwards, polygons run within so much of them, to either side:
a share of a blank's mean width, so much at most, and less where it has arcs. Fewer corners are searched faster."""

_CORNERS = 60
"""An outline of straight lines with no more corners is asked as it is."""

GRACE_MM = 0.004
"""The strip is so much higher than asked: a part that is exactly as high makes the library fall over."""

_FINE_MM = 0.003
"""The library counts in numbers of seven digits; the gap is asked so much larger."""

_NO_GAP_MM = 0.01
"""A gap no larger is not asked for: what is found without one is proven like any other."""

_AFTER_S = 3.0
"""So long beyond its time a child is waited for."""

_STEP_DEG = 3.0

_FEW_CORNERS, _SEEDS, _RACE_SHARE = 420, 2, 1 / 3
"""Parts of no more corners together that lie one way only are searched with so many seeds for each thread, one each,
and the shortest go on after this share of the time: few moves are to choose from, and chance matters more. Measured in
40 s, times a record: 1.053 to 1.070 against 1.064 to 1.079. All others are searched by all threads with one seed: of
176 corners and two ways to lie that came to 1.044 to 1.064 against 1.062, of 960 to 1.063 against 1.086."""

_TICK_S = 0.1


@dataclass(frozen=True)
class Item:
    """Some copies of a blank in a strip.

    Args:
        blank: Number of the blank in its job.
        shape: (n, 2) its outline as a polygon, mirrored where flipped [mm].
        count: How many.
        turns_deg: Turns that are allowed; None for any.
        flipped: Whether these are turned over.
    """

    blank: int
    shape: Array
    count: int
    turns_deg: tuple[float, ...] | None
    flipped: bool


@dataclass(frozen=True)
class Found:
    """A layout of the library.

    Args:
        width_mm: Length of the strip that it takes, as the library tells it [mm].
        placed: Item and placing of each part; the strip begins at the origin.
    """

    width_mm: float
    placed: tuple[tuple[int, Pose], ...]


@cache
def there() -> bool:
    """Whether the library is installed."""
    return find_spec("spyrrow") is not None


def item(
    number: int,
    blank: Blank,
    count: int,
    ranges: tuple[tuple[float, float], ...] | None,
    *,
    flip: bool,
    even: bool = False,
) -> Item:
    """Return copies of a blank as an item.

    Args:
        number: Number of the blank in its job.
        blank: The blank.
        count: How many copies.
        ranges: Middle and half width of the turns allowed [degrees]; None for any.
        flip: Whether they are turned over.
        even: Whether its polygon may cut into its outline a little, for all layouts are closed up.
    """
    shape = even_shape(blank.outline) if even else asked_shape(blank.outline)
    if flip:
        shape = (shape * np.array([-1.0, 1.0]))[::-1]
    turns = None
    if ranges is not None:
        steps = [np.linspace(m - h, m + h, int(np.ceil(2 * h / _STEP_DEG)) + 1 if h else 1) for m, h in ranges]
        turns = tuple(sorted({float(turn) % 360.0 for turn in np.concatenate(steps)}))
    return Item(number, shape, count, turns, flip)


def asked_shape(outline: Outline) -> Array:
    """Return the polygon that stands for an outline in the library: never smaller, with few corners [mm]."""
    if len(outline) <= _CORNERS and not outline.bulges.any():
        return outline.vertices[:, :2]
    around = outline.to_shapely(AROUND_MM / 20).buffer(AROUND_MM, 8).simplify(0.9 * AROUND_MM)
    found: Array = np.array(around.exterior.coords)[:-1]
    return found if around.exterior.is_ccw else found[::-1]


def even_shape(outline: Outline) -> Array:
    """Return a polygon of few corners that runs to either side of an outline [mm]."""
    tolerance = min(_EVEN_SHARE * 2 * abs(outline.area_mm2) / outline.perimeter_mm, _EVEN_MM)
    area = outline.to_shapely(AROUND_MM / 20)
    if outline.bulges.any():
        tolerance = min(tolerance, _EVEN_ARC_MM)
        area = area.buffer(tolerance / 2, 8)
    around = area.simplify(tolerance)
    found: Array = np.array(around.exterior.coords)[:-1]
    return found if around.exterior.is_ccw else found[::-1]


def strip_layouts(
    items: Sequence[Item],
    height_mm: float,
    gap_mm: float,
    seconds: float,
    *,
    seed: int,
    workers: int,
    share: float = 0.8,
) -> Generator[Found | None]:
    """Yield layouts as they are found, most of them shorter than those before; None every while, for a caller to stop.

    Args:
        items: What goes on the strip.
        height_mm: Its height [mm].
        gap_mm: Least distance of two parts [mm]; the library keeps it to the strip's edges too, which is undone here.
        seconds: How long it may look [s].
        seed: Of its chances.
        workers: Threads.
        share: Of the time is spent on finding, the rest on closing up.
    """
    gap = gap_mm + _FINE_MM if gap_mm > _NO_GAP_MM else 0.0
    asked = {
        "items": [
            {"id": k, "shape": one.shape.tolist(), "demand": one.count, "turns": one.turns_deg}
            for k, one in enumerate(items)
        ],
        "height": height_mm + GRACE_MM + 2 * gap,
        "gap": gap,
        "seconds": seconds,
        "share": share,
    }
    with ExitStack() as running:
        races = [running.enter_context(_Child(asked | one)) for one in _searches(items, seed, workers)]
        for line in _lines(races, workers, seconds):
            yield None if line is None else _found(line, items, gap)


def _searches(items: Sequence[Item], seed: int, workers: int) -> list[dict[str, int]]:
    """Return seed and threads of each search: several at once where there are few moves, else one by all threads."""
    corners = sum(len(one.shape) * one.count for one in items)
    if corners > _FEW_CORNERS or any(one.turns_deg is None or len(one.turns_deg) > 1 for one in items):
        return [{"seed": seed, "workers": workers}]
    return [{"seed": seed + k, "workers": 1} for k in range(_SEEDS * workers)]


def _lines(races: list[_Child], most: int, seconds: float) -> Iterator[dict[str, Any] | None]:
    """Yield what searches say until all are done or their time is over; None every while.

    Args:
        races: The searches.
        most: So many go on after a share of the time, those that are shortest then.
        seconds: Their time [s].
    """
    begun, on = time.monotonic(), list(races)
    while on and (now := time.monotonic() - begun) < seconds + _AFTER_S:
        if len(on) > most and now > _RACE_SHARE * seconds:
            on.sort(key=lambda one: one.least)
            for child in on[most:]:
                child.end()
            del on[most:]
        said = [line for child in on if (line := child.line(_TICK_S / len(on))) is not None]
        yield min(said, key=lambda one: float(one["width"]), default=None)
        on = [child for child in on if not child.done]


def _found(line: dict[str, Any], items: Sequence[Item], gap: float) -> Found:
    placed = []
    for name, turn, x, y in line["placed"]:
        one = items[int(name)]
        placed.append((int(name), Pose(float(x) - gap, float(y) - gap, float(turn), one.flipped)))
    return Found(float(line["width"]), tuple(placed))


def tightened(found: Found, items: Sequence[Item]) -> Found:
    """Return a layout moved so that it begins at 0."""
    low = min(_least_x(items[k].shape, pose) for k, pose in found.placed)
    moved = tuple((k, Pose(p.x_mm - low, p.y_mm, p.turn_deg, p.flipped)) for k, p in found.placed)
    return Found(found.width_mm, moved)


def _least_x(shape: Array, pose: Pose) -> float:
    c, s = cos(radians(pose.turn_deg)), sin(radians(pose.turn_deg))
    return float((shape @ np.array([c, -s])).min()) + pose.x_mm


class _Child:
    """A process that searches; gone when the block is left, and when this process is."""

    def __init__(self, asked: dict[str, Any]) -> None:
        self._asked = asked
        self.least, self.done = float("inf"), False

    def __enter__(self) -> _Child:
        self._process = subprocess.Popen(
            [sys.executable, "-P", str(Path(__file__).with_name("stripchild.py"))],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
        )
        self._told: queue.SimpleQueue[str | None] = queue.SimpleQueue()
        self._reader = threading.Thread(target=self._read, daemon=True)
        self._reader.start()
        assert self._process.stdin is not None
        with suppress(OSError):  # it fell over at once; nothing will be read of it
            self._process.stdin.write(json.dumps(self._asked).encode() + b"\n")
            self._process.stdin.flush()
        return self

    def __exit__(self, *_: object) -> None:
        self.end()

    def end(self) -> None:
        """End it; once more does nothing."""
        self._process.kill()
        self._process.wait()
        self._reader.join(1.0)  # its stream has ended with the process
        for stream in (self._process.stdin, self._process.stdout):
            assert stream is not None
            if not self._reader.is_alive():
                with suppress(OSError):
                    stream.close()

    def _read(self) -> None:
        assert self._process.stdout is not None
        with suppress(OSError, ValueError):
            for line in self._process.stdout:
                self._told.put(line.decode())
        self._told.put(None)

    def line(self, seconds: float) -> dict[str, Any] | None:
        """Return the shortest layout that it said meanwhile; None where it said nothing for a while."""
        line = None
        with suppress(queue.Empty):
            line = self._told.get(timeout=seconds)
            while line is not None and not self._told.empty():  # what was said after it is shorter still
                after = self._told.get_nowait()
                self.done = after is None
                if after is None:
                    break
                line = after
            self.done = self.done or line is None
        try:
            told: dict[str, Any] = json.loads(line or "")
        except ValueError:  # nothing, or cut off in the middle
            return None
        self.least, self.done = min(self.least, float(told["width"])), self.done or told["final"]
        return told
