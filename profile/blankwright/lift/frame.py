"""Where the markers of a frame stand on its sheets.

A frame lies around the thing that is photographed: one sheet with markers along all four sides, or two sheets with
markers along three, laid with their open sides towards each other, as near or far as the thing needs. Which sheet it
is can be told from the numbers of its markers. Coordinates are those of the page: mm, x from the left edge of the
paper, y up from its lower edge; the paper lies on its long side.
"""

from __future__ import annotations

import math
from typing import Literal

from blankwright.base.errors import RequestError
from blankwright.base.frozen import dataclass
from blankwright.base.units import length_mm
from blankwright.ink.bars import MAIN_MM
from blankwright.ink.marks import Box, Point
from blankwright.ink.papers import Paper, paper

Side = Literal["whole", "left", "right"]

SIDES: tuple[Side, ...] = ("whole", "left", "right")

MARKER_MM = 18.0
"""Side of a marker [mm]: a cell of 3 mm is still six pixels in a photo of two pixels to the mm."""

MARGIN_MM = 6.0
"""What a printer may leave white along each edge [mm]; the same as for a template (common practice)."""

WHITE_MM = 4.0
"""White around a marker [mm]: more than the one cell that its reader needs."""

BAR_ROOM_MM = 11.0
"""Room for a bar, its ticks and its numbers [mm]."""

_LEAST_STEP_MM = 28.0
_FIRST: dict[Side, int] = {"whole": 0, "left": 48, "right": 74}
_MOST: dict[Side, int] = {"whole": 48, "left": 26, "right": 26}


@dataclass(frozen=True)
class Bar:
    """A bar that is measured with a rule: where its zero is, and how long it is drawn [mm]."""

    at: Point
    length_mm: float


@dataclass(frozen=True)
class Sheet:
    """One sheet of a frame.

    Args:
        side: The whole frame, or its left or right half.
        width_mm: The paper as it lies [mm].
        height_mm: Likewise [mm].
        markers: Number of each marker, and its lower left corner [mm].
        level: The bar across the page.
        upright: The bar up the page.
        middle: What is left empty for the thing [mm].
    """

    side: Side
    width_mm: float
    height_mm: float
    markers: tuple[tuple[int, Point], ...]
    level: Bar
    upright: Bar
    middle: Box

    def corners_mm(self, number: int) -> tuple[Point, Point, Point, Point]:
        """Return the corners of a marker [mm]: upper left, upper right, lower right, lower left."""
        x, y = dict(self.markers)[number]
        return ((x, y + MARKER_MM), (x + MARKER_MM, y + MARKER_MM), (x + MARKER_MM, y), (x, y))


@dataclass(frozen=True)
class Laid:
    """What the maker says of frame and thing.

    Args:
        paper: The paper on which the frame was printed.
        measured_x_mm: The level bar as printed [mm], its whole length or its first 100 mm.
        measured_y_mm: The upright bar likewise [mm].
        thickness_mm: Thickness of the thing, of which the upper side is seen [mm].
        camera_mm: Height of the lens above the paper [mm], or None where it was not measured.

    Raises:
        RequestError: A thickness outside 0 to 50 mm, or a height outside 150 to 10000 mm.
    """

    paper: Paper
    measured_x_mm: float
    measured_y_mm: float
    thickness_mm: float
    camera_mm: float | None = None

    def __post_init__(self) -> None:
        if not 0 <= self.thickness_mm <= 50:
            raise RequestError(f"--thickness: {self.thickness_mm:g} mm is out of range. Allowed: 0 mm to 50 mm.")
        if self.camera_mm is not None and not 150 <= self.camera_mm <= 10_000:
            raise RequestError(f"--camera-height: {self.camera_mm:g} mm is out of range. Allowed: 150 mm to 10000 mm.")


def laid(
    paper_name: str, measured_x: str | None, measured_y: str | None, thick: str | None, camera: str | None
) -> Laid:
    """Return what a maker typed of frame and thing.

    Args:
        paper_name: The paper of the frame.
        measured_x: The level bar, with its unit.
        measured_y: The upright bar.
        thick: Thickness of the thing.
        camera: Height of the lens above the paper, or None.

    Raises:
        RequestError: A length is missing or out of range.
    """
    given = {"--measured-x": measured_x, "--measured-y": measured_y, "--thickness": thick}
    missing = [option for option, text in given.items() if text is None]
    if missing:
        raise RequestError(
            f"--frame: {' and '.join(missing)} missing. Measure both bars of the printed frame and the thickness of the"
            " thing, and give each with its unit."
        )
    x, y, thickness_mm = (length_mm(text, option) for option, text in given.items())
    return Laid(
        paper(paper_name, "--frame"),
        x,
        y,
        thickness_mm,
        None if camera is None else length_mm(camera, "--camera-height"),
    )


def frame(on: Paper, sheets: int = 1) -> tuple[Sheet, ...]:
    """Return the sheets of a frame.

    Args:
        on: What it is printed on; it is laid on its long side.
        sheets: 1, or 2 for a thing that is longer than the paper.

    Raises:
        RequestError: Neither 1 nor 2 sheets, or the paper is too small.
    """
    if sheets not in (1, 2):
        raise RequestError(f"--sheets: a frame has 1 or 2 sheets, got {sheets}.")
    return tuple(_sheet(on, side) for side in (("whole",) if sheets == 1 else ("left", "right")))  # type: ignore[arg-type]


def side_of(number: int) -> Side:
    """Return which sheet a marker belongs to, by its number."""
    return max((side for side in SIDES if _FIRST[side] <= number), key=lambda side: _FIRST[side])


def _sheet(paper: Paper, side: Side) -> Sheet:
    width, height = sorted((paper.width_mm, paper.height_mm), reverse=True)
    inner = MARGIN_MM + MARKER_MM + WHITE_MM
    low, left = inner + BAR_ROOM_MM, side != "right"
    level_x, level_end = (inner if left else MARGIN_MM), width - (MARGIN_MM if side == "left" else inner)
    level = Bar((level_x, inner + 5.0), _tens(level_end - level_x))
    upright = Bar((inner + 6.0 if left else width - inner - 4.5, low), _tens(height - inner - low))
    if min(level.length_mm, upright.length_mm) < MAIN_MM:
        least = math.ceil(low + inner + MAIN_MM)
        raise RequestError(
            f"--paper: {paper.name} is too small for a frame. Use A4, A3, Letter, Legal or Tabloid, or a size of at"
            f" least {least}x{least}mm."
        )
    ends = {"whole": (low, width - inner), "left": (low, width), "right": (0.0, width - low)}[side]
    middle = Box(ends[0], low, ends[1], height - inner)
    return Sheet(side, width, height, _markers(width, height, side), level, upright, middle)


def _tens(room_mm: float) -> float:
    return math.floor(room_mm / 10 + 1e-9) * 10.0


def _markers(width: float, height: float, side: Side) -> tuple[tuple[int, Point], ...]:
    """Return the markers of a sheet, as close as their numbers allow."""
    step = _LEAST_STEP_MM
    while len(places := _places(width, height, side, step)) > _MOST[side]:
        step += 1.0
    return tuple((_FIRST[side] + i, place) for i, place in enumerate(places))


def _places(width: float, height: float, side: Side, step: float) -> list[Point]:
    xs, ys = _spread(width, step), _spread(height, step)
    places = [(x, y) for y in (ys[-1], ys[0]) for x in xs]
    ends = {"whole": (xs[0], xs[-1]), "left": (xs[0],), "right": (xs[-1],)}[side]
    return places + [(x, y) for x in ends for y in reversed(ys[1:-1])]


def _spread(length: float, step: float) -> list[float]:
    """Return the lower ends of markers along a side of the paper, from margin to margin."""
    room = length - 2 * MARGIN_MM - MARKER_MM
    count = max(1, math.floor(room / step + 1e-9))
    return [MARGIN_MM + room * i / count for i in range(count + 1)]
