"""Which parts does a file hold, and how is each of them? An outer contour with its holes is a part."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from blankwright.base.arrays import Array
from blankwright.base.finding import LEVELS, Finding, Level
from blankwright.base.frozen import dataclass
from blankwright.inspection.nesting import RunArea, contains, is_hole

ALIKE = 1e-4
"""Parts whose areas and lengths agree within this share are one part, turned or turned over."""
MOST_SORTS = 100
"""With so many parts of as many holes and pieces a part is compared."""
NEAR_MM = 0.5
"""A fault this near to a part's box, outside of every outline, is told with the part as well."""


@dataclass(frozen=True, eq=False)
class Part:
    """A part: an outer contour and what is cut out of it.

    Args:
        outline: The outer contour.
        holes: The contours in it.
        findings: What was found on it, by number in the report.
        level: The worst of them.
        alike: Number, from 0, of the first part that is like it; its own when it is the first.
    """

    outline: RunArea
    holes: tuple[RunArea, ...]
    findings: tuple[int, ...]
    level: Level
    alike: int

    @property
    def area_mm2(self) -> float:
        """What is left of it once the holes are out [mm2]."""
        return self.outline.area_mm2 - sum(h.area_mm2 for h in self.holes)

    @property
    def cut_mm(self) -> float:
        """Length of all its cuts [mm]."""
        return self.outline.length_mm + sum(h.length_mm for h in self.holes)

    @property
    def pierces(self) -> int:
        """How often the cutter starts: once a contour."""
        return 1 + len(self.holes)


def parts_of(shapes: Sequence[RunArea], told: Sequence[Finding]) -> list[Part]:
    """Return the parts of a file, the largest first.

    Args:
        shapes: Its contours, from `nesting.areas_of`.
        told: Faults and warnings in the order of their numbers, which begin with 1.
    """
    outer = [k for k, s in enumerate(shapes) if s.depth is not None and not is_hole(s)]
    holes: dict[int, list[RunArea]] = {k: [] for k in outer}
    for s in shapes:
        if is_hole(s) and s.inside in holes:
            holes[s.inside].append(s)
    found = _by_part([shapes[k] for k in outer], told)
    out: list[Part] = []
    sorts: dict[tuple[int, int], list[Part]] = {}  # the first of each sort, by holes and pieces
    for k, numbers in zip(outer, found, strict=True):
        level = LEVELS[max((LEVELS.index(told[n - 1].level) for n in numbers), default=0)]
        part = Part(shapes[k], tuple(holes[k]), tuple(numbers), level, len(out))
        firsts = sorts.setdefault((len(part.holes), part.outline.run.drawn), [])
        like = next((p for p in firsts[:MOST_SORTS] if _alike(p, part)), None)
        if like is None:
            firsts.append(part)
        out.append(part if like is None else replace(part, alike=like.alike))
    return out


def _by_part(outer: Sequence[RunArea], told: Sequence[Finding]) -> list[list[int]]:
    """Return the numbers of what is told of each part: by the smallest outline that holds the place, or the nearest."""
    found: list[list[int]] = [[] for _ in outer]
    if not outer:
        return found
    low, high = np.array([s.low for s in outer]), np.array([s.high for s in outer])
    for number, f in enumerate(told, start=1):
        if f.at_mm is None or f.code == "CONTOUR-COUNT":
            continue
        at = np.array(f.at_mm)
        beside = np.maximum(np.maximum(low - at, at - high), 0.0)
        near = [int(k) for k in np.flatnonzero(np.hypot(*beside.T) <= NEAR_MM)]
        inside = [k for k in near if len(outer[k].ring) and bool(contains(outer[k].ring, at[None])[0])]
        if near:
            away = [_to_ring(outer[k], at) for k in near]
            found[inside[-1] if inside else near[int(np.argmin(away))]].append(number)
    return found


def _to_ring(shape: RunArea, at: Array) -> float:
    return float(np.hypot(*(shape.ring - at).T).min()) if len(shape.ring) else np.inf


def _alike(a: Part, b: Part) -> bool:
    """Say whether two parts are the same but for where they lie."""
    mine, other = (
        np.array([p.outline.area_mm2, p.outline.length_mm, *sorted(h.area_mm2 for h in p.holes)]) for p in (a, b)
    )
    return bool((np.abs(mine - other) <= ALIKE * np.maximum(mine, 1e-9)).all())
