"""What aiming came to: the new design, its figures, what was changed, and how that is told."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

from blankwright.base.frozen import dataclass
from blankwright.base.said import Line
from blankwright.design.designfile import design_text
from blankwright.design.request import Design
from blankwright.knife.knobs import Knob


@dataclass(frozen=True)
class Change:
    """One knob that was turned."""

    knob: Knob
    value: float

    @property
    def share(self) -> float:
        """How far it was turned, as a share of its range."""
        return (self.value - self.knob.start) / (self.knob.greatest - self.knob.least)


@dataclass(frozen=True, eq=False, repr=False)
class Aimed:
    """What aiming came to.

    Args:
        design: The new design.
        asked: The targets by figure.
        before: All figures of the design given.
        figures: All figures of the new design.
        changes: What was changed.
        reached: Whether every target is met.
        limits: What keeps the figures from the targets, one sentence each; empty when they are met.
    """

    design: Design
    asked: dict[str, float]
    before: dict[str, float]
    figures: dict[str, float]
    changes: tuple[Change, ...]
    reached: bool
    limits: tuple[Line, ...]

    def __repr__(self) -> str:
        figures = ", ".join(f"{name} {self.figures[name]:.1f}" for name in self.asked)
        turned = ", ".join(f"{c.knob.key} {c.value:g}" for c in self.changes)
        return (
            f"<Aimed {self.design.name}: {figures}{'' if self.reached else ', not reached'}; {turned or 'no change'}>"
        )


def aimed_table(found: Aimed) -> dict[str, Any]:
    """Return the outcome as data, for a script or the command line."""
    return {
        "format": 1,
        "reached": found.reached,
        "asked": dict(found.asked),
        "before": _plain(found.before),
        "figures": _plain(found.figures),
        "changes": [
            {"key": c.knob.key, "from": c.knob.show(c.knob.start), "to": c.knob.show(c.value)} for c in found.changes
        ],
        "limits": [line.text() for line in found.limits],
        "files": [],
    }


def _plain(figures: dict[str, float]) -> dict[str, float]:
    return {name: round(value, 6) for name, value in figures.items()}


def _bare(figure: float) -> float:
    return round(figure, 2) + 0.0  # a negative zero is zero


def aimed_text(found: Aimed, folder: Path | None = None) -> str:
    """Return the new design as a design file that says what was changed and why.

    Args:
        found: The outcome.
        folder: Where the file will lie, so that a family file that lies there too is named shortly.
    """
    words = {"weight_g": "weight {:g} g", "balance_mm": "balance {:g} mm", "blade_area_mm2": "blade area {:g} mm2"}
    asked = ", ".join(words[name].format(value) for name, value in found.asked.items())
    got = ", ".join(words[name].format(_bare(found.figures[name])) for name in found.asked)
    before = ", ".join(words[name].format(_bare(found.before[name])) for name in found.asked)
    limits = [line.text() for line in found.limits]
    head = [
        f"Aimed from {found.design.name} at {asked} (balance is ahead of the heel, negative behind it).",
        f"Before: {before}. Now: {got}.",
        *([] if found.reached else ["The target is out of reach; these are the nearest figures.", *limits]),
        "Changed, by the smallest change of what was let: "
        + (", ".join(c.knob.key for c in found.changes) or "nothing"),
    ]
    name = found.design.name if found.design.name.endswith(" aimed") else f"{found.design.name[:94]} aimed"
    notes = {c.knob.key: f"was {c.knob.show(c.knob.start)}; changed to reach {asked}" for c in found.changes}
    return design_text(replace(found.design, name=name), head, notes, folder)
