"""What a workshop drawing is asked to show: the outlines, holes, measures and words of one plate.

Everything is in the knife's own coordinates: mm, x toward the tip, y up from the board line.
"""

from __future__ import annotations

import math

from blankwright.base.errors import RequestError, unknown
from blankwright.base.frozen import dataclass
from blankwright.drawing.sectionmarks import Section
from blankwright.geometry.chain import Chain
from blankwright.geometry.outline import Outline

AXES = ("x", "y", "r")


def _need_finite(what: str, *values_mm: float) -> None:
    if not all(math.isfinite(value) for value in values_mm):
        raise RequestError(f"{what}: every position and size must be a finite number of mm, got {values_mm}.")


@dataclass(frozen=True)
class HoleMark:
    """A round hole: its centre, drawn at true size.

    Args:
        x_mm: Centre along x [mm].
        y_mm: Centre along y [mm].
        diameter_mm: Diameter of the circle drawn [mm].
        label: Words at the end of a leader, such as "2 x 5.1 pin, ream"; empty for none. A label that
            several holes share is written once, at the first of them.

    Raises:
        RequestError: A number that is not finite, or a diameter that is not positive.
    """

    x_mm: float
    y_mm: float
    diameter_mm: float
    label: str

    def __post_init__(self) -> None:
        _need_finite(f"hole '{self.label[:40]}'", self.x_mm, self.y_mm, self.diameter_mm)
        if self.diameter_mm <= 0:
            raise RequestError(f"hole '{self.label[:40]}': the diameter must be more than 0 mm.")


@dataclass(frozen=True)
class DimensionLine:
    """One dimension of the drawing.

    Args:
        label: What stands on the dimension line, such as "blade length 210".
        start: First point (x, y) [mm]; for axis "r" the centre of the arc.
        end: Second point (x, y) [mm]; for axis "r" the point of the arc that the leader touches.
        axis: "x" measured along x, "y" measured along y, "r" a radius.
        row: For "x" the row below the part (1, 2, ...) or above it (-1, -2, ...), counted outward; for "y"
            the row right of the part (positive), left of it (negative) or on it, at the start's x (0); not
            used for "r".

    Raises:
        RequestError: An unknown axis, row 0, a number that is not finite, or two points with nothing between.
    """

    label: str
    start: tuple[float, float]
    end: tuple[float, float]
    axis: str
    row: int

    def __post_init__(self) -> None:
        what = f"measure '{self.label[:40]}'"
        if self.axis not in AXES:
            raise unknown("axis", self.axis, AXES, where=what)
        _need_finite(what, *self.start, *self.end)
        if self.axis == "r":
            return
        if self.row == 0 and self.axis == "x":
            raise RequestError(f"{what}: row 0 is the part itself. Use 1, 2, ... or -1, -2, ...")
        along = 0 if self.axis == "x" else 1
        if abs(self.end[along] - self.start[along]) < 1e-6:
            raise RequestError(f"{what}: both points have the same {self.axis}; there is nothing to measure.")


@dataclass(frozen=True)
class PartDrawing:
    """Everything that stands on one drawing.

    Args:
        title: The name of the piece; wrapped to two lines and cut when too long.
        lines: Facts under the title, one line each: material, process, overall size in words.
        finished: The finished outline.
        cut: The cut outline, or None.
        holes: The holes.
        measures: The dimensions.
        front_x_mm: Where the front of the handle is [mm], or None for no line there.
        board_line: Whether the board line, y = 0, is drawn.
        cautions: What the maker must mind; empty for nothing.
        guide: What a torch in the hand runs along, or None.
        thin: Further lines on the part, drawn thin: grind line, plunge line, a handle's block.
        thin_words: What they are, for the legend.
        sections: The knife in section, with the places where it is cut; empty for none.
    """

    title: str
    lines: tuple[str, ...]
    finished: Outline
    cut: Outline | None
    holes: tuple[HoleMark, ...]
    measures: tuple[DimensionLine, ...]
    front_x_mm: float | None
    board_line: bool
    cautions: str
    thin: tuple[Chain, ...] = ()
    thin_words: str = ""
    sections: tuple[Section, ...] = ()
    guide: Outline | None = None

    def __post_init__(self) -> None:
        if self.front_x_mm is not None:
            _need_finite("handle front", self.front_x_mm)
