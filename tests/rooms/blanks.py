"""Blanks that exist, for tests: the outline and holes of a knife of ours, written as a lifted outline."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from pathlib import Path

from blankwright.design.lifted import BudgetRow, Lifted, LiftedHole, lifted_text
from blankwright.design.request import read_design
from blankwright.knife.knife import Knife, finish

WITHIN_MM = 0.05


def knife_of(family: str, changes: Mapping[str, str]) -> Knife:
    return finish(read_design(family, changes))


def lifted_of_knife(knife: Knife, holes: Sequence[tuple[float, float, float]] | None = None) -> Lifted:
    """Return a knife's outline as if it had been lifted: its holes, or others (x, y, diameter)."""
    there = [made.circle for made in knife.holes] if holes is None else holes
    return Lifted(
        f"{knife.design.family.name} blank", "galley.png", knife.finished, tuple(LiftedHole(*hole) for hole in there),
        (BudgetRow("all together", WITHIN_MM),),
    )  # fmt: skip


def blank_file(folder: Path, knife: Knife, holes: Sequence[tuple[float, float, float]] | None = None) -> Path:
    """Write a knife's outline as a lifted one, and return the file."""
    path = folder / f"{knife.design.slug}_lifted.toml"
    path.write_text(lifted_text(lifted_of_knife(knife, holes)), encoding="utf-8")
    return path


def row_of_holes(knife: Knife, *diameters_mm: float) -> list[tuple[float, float, float]]:
    """Return holes along the middle of a knife's tang, from the front back."""
    from blankwright.design.tang import chord_at

    front, end = knife.shape.front_x_mm, knife.shape.tang_end_x_mm
    out = []
    for number, diameter in enumerate(diameters_mm):
        x = front - 15 - (front - end - 30) * number / max(len(diameters_mm) - 1, 1)
        low, high = chord_at(knife.finished, x) or (math.nan, math.nan)
        out.append((x, (low + high) / 2, diameter))
    return out
