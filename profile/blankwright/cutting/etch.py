"""What is marked on the blade's blank, never cut: the maker's mark, the code, bench lines, centres, corners.

Marks stand where they are wanted and do no harm: the maker's own on flat steel between the handle's front and the
grind, the code under the handle, centre marks inside the holes that are drilled, corner marks where the scales end.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from blankwright.base.arrays import Array
from blankwright.base.errors import RequestError
from blankwright.base.frozen import dataclass
from blankwright.base.said import Line, exact_mm, mm, said
from blankwright.base.units import show_mm
from blankwright.cutting.flat import Room
from blankwright.design.tang import LEAST_WALL_MM, chord_at
from blankwright.geometry.chain import Chain, straight
from blankwright.ink.strokes import Stroked, cross, letters
from blankwright.knife.knife import Knife

EDGE_MM = 1.0
"""Every mark keeps this far inside the finished outline: rims are broken and filed (common practice)."""
CODE_MM = (2.5, 1.8)
"""Heights of the code, the larger where it has room: heights of ISO 3098, from memory."""
CENTRE_MM = 1.0
"""Longest arm of a centre mark; in a small hole it is shorter, so that the drill takes all of it."""
CORNER_MM = 3.0
"""Length of each leg of a corner mark."""
OFF_FRONT_MM = 1.0
"""The mark keeps this far ahead of the handle's front, where glue is wiped off."""
_CLEAR_MM = 1.0
"""Between a mark and a hole, or another mark."""


@dataclass(frozen=True, eq=False)
class Etched:
    """The marks of a blank.

    Args:
        chains: Their lines, open chains [mm].
        lines: What is marked where, one sentence each.
    """

    chains: tuple[Chain, ...]
    lines: tuple[Line, ...]


def may_mark(knife: Knife) -> str | None:
    """Return why a blank cannot be marked where it is cut, or None when it can.

    Args:
        knife: The knife, with its service.
    """
    shop = knife.service
    if shop is not None and shop.marking != "etch":
        return (
            f'{shop.title} is not said to mark parts. Ask the shop; if it does, write marking = "etch" and etch_layer '
            "under [file] of a copy of its file."
        )
    way = knife.process
    if way is None:
        return "the blank is bought: there is no cutting file to mark it by."
    if shop is None and not way.marks:
        return f"{way.name} cuts and cannot mark. Use a process that can, such as laser, or a service that says so."
    return None


def blade_marks(knife: Knife, own: Stroked | None) -> Etched:
    """Return everything that is marked on a blank.

    Args:
        knife: The knife, with its service.
        own: The maker's own mark about the origin; None for none.

    Raises:
        RequestError: It cannot be marked where it is cut, or the maker's mark has no room.
    """
    why = may_mark(knife)
    if why is not None:
        raise RequestError(f"--with marks: {why}")
    chains: list[Chain] = []
    lines: list[Line] = []
    for part in (_own(knife, own), _code(knife), _bench(knife), _centres(knife), _corners(knife)):
        chains += part.chains
        lines += part.lines
    if not chains:
        raise RequestError("--with marks: there is nothing to mark on this blank. Give a mark in the table [mark].")
    lines.append(
        said(
            "Marks of a laser are shallow: grinding a face takes them off, and scale of the heat hides them. Have them "
            "cut deeper, or mark again, where they shall stay."
        )
    )
    return Etched(tuple(chain.on_grid() for chain in chains), tuple(lines))


# The maker's own --------------------------------------------------------------------------------------------


def _own(knife: Knife, drawn: Stroked | None) -> Etched:
    if drawn is None:
        return Etched((), ())
    settings, flat = knife.design.settings, _ricasso(knife)
    reads = settings.get("mark.reads")
    at = settings.get("mark.at")
    turns = (90.0,) if reads == "across" else (0.0,) if reads == "along" or at is not None else (0.0, 90.0)
    for turn in turns:
        if isinstance(at, tuple):
            placed = drawn.about(at[0], at[1], turn)
        else:
            wide, high = drawn.about(0.0, 0.0, turn).size_mm
            middle = flat.place(wide, high)
            if middle is None:
                continue
            placed = drawn.about(*middle, turn)
        fault = flat.fault(placed)
        if fault is None:
            return Etched(placed.chains, (_told(placed, at is not None),))
        if at is not None:
            raise RequestError(f"[mark] at: the mark {fault} Move it, or make it smaller with [mark] height.")
    wide, high = drawn.size_mm
    x0, x1 = flat.reach_mm
    raise RequestError(
        f"[mark] height: the mark is {wide:.1f} x {high:.1f} mm and has no room on the flat between the handle's front "
        f"and the grind, x = {x0:.1f} to {x1:.1f} mm, {show_mm(LEAST_WALL_MM)} from the edge. Make it smaller, or give "
        "a longer [grind] ricasso, or another place with [mark] at."
    )


def _told(placed: Stroked, asked: bool) -> Line:
    x0, y0, x1, y1 = placed.box_mm
    where = "as asked" if asked else "on the flat behind the grind"
    words = f"Maker's mark, {{}} x {{}}, {where}: middle at x {{}}, y {{}}."
    return said(words, mm(x1 - x0, 1), mm(y1 - y0, 1), mm((x0 + x1) / 2, 1), mm((y0 + y1) / 2, 1))


def _ricasso(knife: Knife) -> Room:
    """Return the flat steel between the handle's front and the grind; the whole blade if this face is not ground."""
    finished, front = knife.finished, knife.shape.front_x_mm
    begin = knife.ground.plunge.at_mm if knife.ground.plunge is not None else 0.0
    ahead = finished.bounds_mm[2] if knife.face.behind else begin
    ground = None if knife.face.behind else _ground(knife)
    return Room(finished, front + OFF_FRONT_MM, ahead, LEAST_WALL_MM, _holes(knife), _CLEAR_MM, ground)


def _ground(knife: Knife) -> Array:
    """Return the upper border of what is ground: (n, 2) x and y along the blade; the edge is below it [mm]."""
    plunge, finished = knife.ground.plunge, knife.finished
    begin = plunge.at_mm if plunge is not None else 0.0
    x = np.linspace(begin + 1e-3, finished.bounds_mm[2] - 1e-3, 240)
    lines = [chain.flattened(0.01) for chain in knife.face.grind]
    tops = []
    for each in x:
        on = [np.interp(each, line[:, 0], line[:, 1]) for line in lines if line[0, 0] <= each <= line[-1, 0]]
        tops.append(min(on) if on else np.inf)
    return np.column_stack([x, tops])


def _anywhere(knife: Knife, inside_mm: float) -> Room:
    """Return the whole face, the grind with it."""
    return Room(knife.finished, -np.inf, np.inf, inside_mm, _holes(knife), _CLEAR_MM, None)


def _holes(knife: Knife) -> Array:
    return np.array([h.circle for h in knife.holes]).reshape(-1, 3)


# The rest ---------------------------------------------------------------------------------------------------


def _code(knife: Knife) -> Etched:
    """Return the design code on the tang, where the handle covers it."""
    if knife.construction == "one-piece":
        return Etched((), (said("The code is left out: a one-piece knife has no covered tang."),))
    shape = knife.shape
    front = shape.front_x_mm - CORNER_MM - 2 * _CLEAR_MM
    covered = Room(knife.finished, shape.tang_end_x_mm, front, EDGE_MM, _holes(knife), _CLEAR_MM, None)
    for height in CODE_MM:
        drawn = letters(knife.code, height)
        middle = covered.place(*drawn.size_mm)
        placed = drawn.about(*middle, 0.0) if middle is not None else None
        if placed is not None and covered.fault(placed) is None:
            return Etched(placed.chains, (said("Design code {}, {} high, on the tang under the handle.", knife.code,
                                               exact_mm(height)),))  # fmt: skip
    return Etched((), (said("The code is left out: it has no room on the tang."),))


def _bench(knife: Knife) -> Etched:
    """Return grind line and plunge line, for the grinder; the middle of the edge lies on its narrow face and is not."""
    if knife.design.settings.get("mark.lines") == "left out" or knife.face.behind or not knife.face.chains:
        return Etched((), ())
    kept = [run for chain in knife.face.chains for run in _inside(knife, chain)]
    if not kept:
        return Etched((), ())
    words = f"To grind to: {knife.face.words}. What of it lies outside of the bevel stays to be seen."
    more = said("The lines along the edge's middle are scribed at the bench: they lie on its narrow face.")
    return Etched(tuple(kept), (said(words), more))


def _inside(knife: Knife, chain: Chain) -> list[Chain]:
    """Return what of a line keeps off the outline and the holes, as short straight pieces."""
    points = _dense(chain)
    clear = _anywhere(knife, EDGE_MM)
    good = clear.free(points)
    runs: list[Chain] = []
    begin: int | None = None
    for i in range(len(points) + 1):
        if i < len(points) and good[i]:
            begin = i if begin is None else begin
        elif begin is not None:
            if i - begin > 2:
                run = _thinned(points[begin:i])
                runs.append(Chain(np.column_stack([run, np.zeros(len(run))])))
            begin = None
    return runs


_STEP_MM, _FLAT_MM = 0.5, 0.01


def _dense(chain: Chain) -> Array:
    """Return points along a chain no further apart than a step."""
    points = chain.flattened(_FLAT_MM)
    out = [points[:1]]
    for a, b in pairwise(points):
        count = max(1, int(np.ceil(np.hypot(*(b - a)) / _STEP_MM)))
        out.append(a + np.linspace(0, 1, count + 1)[1:, None] * (b - a))
    return np.concatenate(out)


def _thinned(points: Array) -> Array:
    """Return fewer points of a line, none of those left out further from it than the tolerance."""
    keep = [0]
    last = len(points) - 1
    while keep[-1] < last:
        far = last
        while far > keep[-1] + 1:
            a, d = points[keep[-1]], points[far] - points[keep[-1]]
            off = points[keep[-1] + 1 : far] - a
            if (np.abs(off[:, 0] * d[1] - off[:, 1] * d[0]) <= _FLAT_MM * max(np.hypot(*d), 1e-9)).all():
                break
            far = keep[-1] + max(1, (far - keep[-1]) // 2)
        keep.append(far)
    return np.asarray(points[keep])


def _centres(knife: Knife) -> Etched:
    """Return a cross at every hole that is drilled, small enough for the drill to take it."""
    drilled = [h for h in knife.holes if h.made.made_by == "drill"]
    chains = [c for h in drilled for c in cross(h.hole.x_mm, h.hole.y_mm, min(CENTRE_MM, 0.3 * h.hole.diameter_mm))]
    if not drilled:
        return Etched((), ())
    return Etched(tuple(chains), (said(f"A cross at each of {len(drilled)} holes to drill; centre-punch it."),))


def _corners(knife: Knife) -> Etched:
    """Return the two corners at the scales' front, by which the pair is laid back on the blank."""
    if knife.handle is None or knife.handle.kind != "scales":
        return Etched((), ())
    return Etched(
        corner_marks(knife, EDGE_MM, 0.0),
        (said("A corner above and below at the handle's front: lay the scales' fronts to them."),),
    )


def corner_marks(knife: Knife, inside_mm: float, behind_mm: float) -> tuple[Chain, ...]:
    """Return two corners at the handle's front, or a little behind it, their legs along the front and backward.

    Args:
        knife: A knife with scales.
        inside_mm: How far inside the finished outline they keep [mm].
        behind_mm: How far behind the handle's front they stand [mm].
    """
    front = knife.shape.front_x_mm - behind_mm
    keep = _anywhere(knife, inside_mm)
    chord = chord_at(knife.finished, front)
    if chord is None:
        return ()
    out = []
    for start, way in ((chord[1], -1.0), (chord[0], 1.0)):
        for step in np.arange(inside_mm, inside_mm + 3.0, 0.1):
            y = start + way * float(step)
            corner = straight((front - CORNER_MM, y), (front, y), (front, y + way * CORNER_MM))
            if keep.free(_dense(corner)).all():
                out.append(corner)
                break
    return tuple(out)
