"""Can the process make these holes in this stock, and is enough steel left around them?"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from blankwright.base.finding import Finding, Level, finding
from blankwright.base.said import exact_mm, mm, said
from blankwright.inspection.nesting import RunArea
from blankwright.proof import distance
from blankwright.proof.findings import length, or_ok, spot
from blankwright.shop.records import Process

SAME_MM = 0.001
MAX_HOLES = 100
MAX_PAIRS = 1_500_000
"""So many holes are measured, and so many pairs of pieces; a knife has ten holes and a thousand pairs."""


def hole_findings(shapes: Sequence[RunArea], process: Process, thickness_mm: float) -> list[Finding]:
    """Compare holes with the smallest that the process makes in this stock.

    Args:
        shapes: The contours.
        process: How the part is cut.
        thickness_mm: Thickness of the stock [mm].
    """
    holes = [s for s in shapes if s.depth == 1]
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


def wall_findings(shapes: Sequence[RunArea], process: Process, thickness_mm: float) -> list[Finding]:
    """Measure the steel between holes, and from each hole to the edge.

    Args:
        shapes: The contours.
        process: How the part is cut.
        thickness_mm: Thickness of the stock [mm].
    """
    need = process.wall_for_mm(thickness_mm)
    if need is None:
        no_holes = not any(s.depth == 1 for s in shapes)
        if no_holes or process.smallest_hole_for_mm(thickness_mm) is None:  # HOLE-SIZE says that none can be cut
            return []
        unknown = (
            f"No least wall is known for {process.name}; steel between holes and edges was not judged. Drill them."
        )
        return [finding("WALL", unknown, level="warning")]
    holes = [s for s in shapes if s.depth == 1 and s.run.closed][:MAX_HOLES]
    outer = [s for s in shapes if s.depth == 0 and s.run.closed][:5]
    left = MAX_PAIRS
    out: list[Finding] = []
    least = np.inf
    for k, hole in enumerate(holes):
        for other in [*outer, *holes[:k]]:
            if other.depth == 1 and not _boxes_near(hole, other, need):
                continue
            left -= hole.run.drawn * other.run.drawn
            if left < 0:
                many = "There are too many lines and holes to measure every wall. Check them by hand."
                return [*out, finding("WALL", many, level="warning")]
            wall, at = _wall(hole, other)
            least = min(least, wall)
            if wall < need - SAME_MM:
                what = "the edge" if other.depth == 0 else "the next hole"
                text = said(
                    f"Only {{}} of steel between the hole at {{}} and {what}; {{}} wants {{}}. Move the hole "
                    "or drill it.",
                    length(wall, 2), spot(hole.centre_mm), process.name, mm(need),
                )  # fmt: skip
                level: Level = "error" if wall < need / 2 else "warning"
                out.append(finding("WALL", text, at, level))
    if not holes:
        return []
    ok = said("Every wall is at least {}; {} wants {}.", length(least, 2), process.name, mm(need))
    return or_ok(out, "WALL", ok)


def _boxes_near(a: RunArea, b: RunArea, margin_mm: float) -> bool:
    return bool((a.low <= b.high + margin_mm).all() and (b.low <= a.high + margin_mm).all())


def _wall(hole: RunArea, other: RunArea) -> tuple[float, tuple[float, float]]:
    """Return the least distance between two contours [mm], and where on the hole."""
    if hole.run.circle is not None and other.run.circle is not None:
        x, y, wide = hole.run.circle
        u, v, other_wide = other.run.circle
        return float(np.hypot(u - x, v - y)) - (wide + other_wide) / 2, (x, y)
    if hole.run.circle is not None:
        x, y, wide = hole.run.circle
        away = distance.from_points(np.array([[x, y]]), other.run.vertices)[0]
        return float(away) - wide / 2, (x, y)
    least, places = distance.between_pieces(hole.run.vertices, other.run.vertices)
    row = int(least.argmin())
    return float(least[row]), (float(places[row, 0]), float(places[row, 1]))
