"""Can the process make these holes in this stock, and is enough steel left around them?"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from blankwright.base.arrays import Place
from blankwright.base.finding import Finding, Level, finding
from blankwright.base.said import exact_mm, mm, said
from blankwright.inspection.budget import PAIR, Budget, TooMuchWorkError
from blankwright.inspection.nesting import RunArea, is_hole
from blankwright.proof import distance
from blankwright.proof.findings import length, or_ok, spot
from blankwright.shop.records import Process

SAME_MM = 0.001
TEST = 300
"""Steps of work for a hole and what is beside it, apart from the pairs of pieces."""


def hole_findings(shapes: Sequence[RunArea], process: Process, thickness_mm: float) -> list[Finding]:
    """Compare holes with the smallest that the process makes in this stock.

    Args:
        shapes: The contours.
        process: How the part is cut.
        thickness_mm: Thickness of the stock [mm].
    """
    holes = [s for s in shapes if is_hole(s)]
    least_mm = process.smallest_hole_for_mm(thickness_mm)
    out: list[Finding] = []
    for hole in holes:
        wide = hole.run.circle[2] if hole.run.circle is not None else min(hole.size_mm)
        where = spot(hole.centre_mm)
        if least_mm is None:
            words = "The hole at {} cannot be cut: {} makes no holes. Mark its centre and drill it."
            text = said(words, where, process.name)
            out.append(finding("HOLE-SIZE", text, hole.centre_mm))
        elif wide < least_mm - SAME_MM:
            text = said(
                "The hole of {} at {} is too small: {} makes {} or more in {} stock. Leave it out and drill it.",
                length(wide), where, process.name, mm(least_mm), exact_mm(thickness_mm),
            )  # fmt: skip
            out.append(finding("HOLE-SIZE", text, hole.centre_mm))
    if not holes:
        return [finding("HOLE-SIZE", "There are no holes to be cut.", level="ok")]
    return or_ok(out, "HOLE-SIZE", f"{len(holes)} holes, none too small for {process.name}.")


def wall_findings(
    shapes: Sequence[RunArea], process: Process, thickness_mm: float, budget: Budget | None = None
) -> list[Finding]:
    """Measure the steel from each hole to the edge of its part, and to the holes beside it.

    Args:
        shapes: The contours.
        process: How the part is cut.
        thickness_mm: Thickness of the stock [mm].
        budget: What the work is taken from.
    """
    need = process.wall_for_mm(thickness_mm)
    holes = [s for s in shapes if is_hole(s)]
    if not holes:
        return []
    if need is None:
        if process.smallest_hole_for_mm(thickness_mm) is None:  # HOLE-SIZE says that none can be cut
            return []
        unknown = (
            f"No least wall is known for {process.name}; steel between holes and edges was not judged. Drill them."
        )
        return [finding("WALL", unknown, level="warning")]
    work = budget or Budget()
    out: list[Finding] = []
    least = np.inf
    for number, (hole, others) in enumerate(_neighbours(shapes, holes, need)):
        for other in others:
            near = _near(hole, other)
            try:
                work.spend(TEST + PAIR * hole.run.drawn * len(near) + other.run.pieces, "walls")
            except TooMuchWorkError:
                rest = len(holes) - number
                many = f"{rest} of {len(holes)} holes were not measured: too many lines. Check their walls by hand."
                return [*out, finding("WALL", many, hole.centre_mm, "warning")]
            wall, at = _wall(hole, other, near)
            least = min(least, wall)
            if wall < need - SAME_MM:
                what = "the edge" if not is_hole(other) else "the next hole"
                text = said(
                    f"Only {{}} of steel between the hole at {{}} and {what}; {{}} wants {{}}. Move the hole "
                    "or drill it.",
                    length(wall, 2), spot(hole.centre_mm), process.name, mm(need),
                )  # fmt: skip
                level: Level = "error" if wall < need / 2 else "warning"
                out.append(finding("WALL", text, at, level))
    ok = said("Every wall is at least {}; {} wants {}.", length(least, 2), process.name, mm(need))
    return or_ok(out, "WALL", ok)


def _neighbours(
    shapes: Sequence[RunArea], holes: Sequence[RunArea], need_mm: float
) -> Iterator[tuple[RunArea, list[RunArea]]]:
    """Yield each closed hole with the contour that holds it, and the holes before it that may be too near."""
    closed = [h for h in holes if h.run.closed]
    low, high = (np.array([getattr(h, side) for h in closed]).reshape(-1, 2) for side in ("low", "high"))
    inside = np.array([-1 if h.inside is None else h.inside for h in closed])
    for k, hole in enumerate(closed):
        near = (low[:k] <= hole.high + need_mm).all(axis=1) & (high[:k] >= hole.low - need_mm).all(axis=1)
        beside = np.flatnonzero(near & (inside[:k] == inside[k]))
        outer = [] if hole.inside is None else [shapes[hole.inside]]
        yield hole, [*(o for o in outer if o.run.closed), *(closed[i] for i in beside)]


def _near(hole: RunArea, other: RunArea) -> NDArray[np.intp]:
    """Return the pieces of another contour among which the one nearest to a hole must be."""
    pieces = distance.pieces_of(other.run.vertices, closed=True)
    start = hole.run.vertices[0, :2]
    reach = float(np.hypot(*(pieces.start - start).T).min())
    low, high = distance.boxes(pieces)
    return np.flatnonzero((low <= hole.high + reach).all(axis=1) & (high >= hole.low - reach).all(axis=1))


def _wall(hole: RunArea, other: RunArea, near: NDArray[np.intp]) -> tuple[float, Place]:
    """Return the least distance between two contours [mm], and where on the hole."""
    if hole.run.circle is not None and other.run.circle is not None:
        x, y, wide = hole.run.circle
        u, v, other_wide = other.run.circle
        apart = float(np.hypot(u - x, v - y))
        inner = (other_wide - wide) / 2 - apart  # one circle inside the other, as in a washer
        return max(inner, apart - (wide + other_wide) / 2), (x, y)
    pieces = distance.pieces_of(other.run.vertices, closed=True).take(near)
    if hole.run.circle is not None:
        x, y, wide = hole.run.circle
        centre = np.broadcast_to(np.array([x, y]), (len(near), 2))
        return float(distance.to_pieces(centre, pieces)[0].min()) - wide / 2, (x, y)
    ours = distance.pieces_of(hole.run.vertices, closed=True)
    least, places = distance.least_between(ours, pieces)
    row = int(distance.first_of_least(least, places))
    return float(least[row]), (float(places[row, 0]), float(places[row, 1]))
