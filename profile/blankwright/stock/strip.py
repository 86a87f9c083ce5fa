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
from contextlib import suppress
from functools import cache
from importlib.util import find_spec
from math import cos, radians, sin
from pathlib import Path
from typing import Any

import numpy as np

from blankwright.base.arrays import Array
from blankwright.base.frozen import dataclass
from blankwright.geometry.outline import Outline
from blankwright.stock.blank import Blank
from blankwright.stock.pose import Pose

AROUND_MM = 0.15
"""Arcs are asked as polygons of few corners that hold the outline and are nowhere further from it than about this."""

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


def item(number: int, blank: Blank, count: int, ranges: tuple[tuple[float, float], ...] | None, *, flip: bool) -> Item:
    """Return copies of a blank as an item.

    Args:
        number: Number of the blank in its job.
        blank: The blank.
        count: How many copies.
        ranges: Middle and half width of the turns allowed [degrees]; None for any.
        flip: Whether they are turned over.
    """
    shape = asked_shape(blank.outline)
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
    """Yield layouts as they are found, each shorter than those before; None every while, so that a caller may stop.

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
        "seed": seed,
        "workers": workers,
    }
    with _Child(asked) as child:
        for line in child.lines(seconds + _AFTER_S):
            yield None if line is None else _found(line, items, gap)


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
    """The process that searches; gone when the block is left, and when this process is."""

    def __init__(self, asked: dict[str, Any]) -> None:
        self._asked = asked

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

    def lines(self, seconds: float) -> Iterator[dict[str, Any] | None]:
        """Yield what the child says until it is done or its time is over; None every while."""
        until = time.monotonic() + seconds
        while time.monotonic() < until:
            try:
                line = self._told.get(timeout=0.1)
                while line is not None and not self._told.empty():  # what was said meanwhile is shorter still
                    after = self._told.get_nowait()
                    if after is None:
                        break
                    line = after
            except queue.Empty:
                yield None
                continue
            if line is None:
                return
            try:
                told = json.loads(line)
            except ValueError:  # cut off in the middle
                return
            yield told
            if told["final"]:
                return
