"""Is the drawing in the unit it says, and is the part as large as it should be? Unit, size and extents."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from blankwright.base.arrays import Array
from blankwright.base.finding import Finding, finding
from blankwright.base.said import mm, said
from blankwright.base.units import MM_PER_INCH
from blankwright.inspection.entities import DxfDrawing
from blankwright.inspection.nesting import RunArea
from blankwright.inspection.shapes import reach
from blankwright.proof.findings import IMPERIAL, METRIC, OLD_RELEASE, length, or_ok

Pair = tuple[float, float]

LENGTHS_MM, HEIGHTS_MM = (60.0, 600.0), (10.0, 120.0)
"""A kitchen knife's blank is so long and so high (common practice)."""
NO_KNIFE_MM = (40.0, 900.0)
"""Outside of this a length is no knife's at all, and a slip of the unit is looked for."""
SLIPS = (
    (25.4, "inches and millimetres are mixed"),
    (10.0, "centimetres and millimetres are mixed"),
    (1000.0, "metres and millimetres are mixed"),
    (96 / 25.4, "screen points, 96 to the inch, and millimetres are mixed"),
    (25.4 * 12, "feet and millimetres are mixed"),
)
"""Factor and reason, the most frequent first (needs of cutting services, common practice)."""
SLIP_SHARE = 0.01
EXTENTS_SHARE = 0.001
UNIT_NAMES = {
    1: "inches", 2: "feet", 4: "mm", 5: "cm", 6: "metres", 8: "microinches", 9: "mils", 10: "yards", 13: "microns",
    14: "dm",
}  # fmt: skip
USUAL = (1, 4)
"""mm and inches: what cutting services take (common practice)."""


@dataclass(frozen=True)
class WantedSize:
    """The size that the part should have.

    Args:
        length_mm: The larger side [mm].
        height_mm: The smaller side [mm].
        within_mm: How far off still counts as the same, from the digits that were given [mm].
    """

    length_mm: float
    height_mm: float
    within_mm: float


def part_size(shapes: Sequence[RunArea]) -> Pair | None:
    """Return length and height of the largest contour [mm], the length first; None when there is none.

    A part that lies askew is measured in the box that is smallest over all directions.
    """
    if not shapes:
        return None
    size = shapes[0].size_mm
    if len(shapes[0].ring) > 3:
        turned = _least_box(shapes[0].ring)
        if turned[0] * turned[1] < 0.9 * size[0] * size[1]:
            size = turned
    return max(size), min(size)


def _least_box(points: Array) -> Pair:
    """Return the sides of the smallest rectangle around points, over directions half a degree apart."""
    angles = np.radians(np.arange(0, 90, 0.5))
    p = points[:: max(1, len(points) // 2000)]
    along = p @ np.stack([np.cos(angles), np.sin(angles)])
    across = p @ np.stack([-np.sin(angles), np.cos(angles)])
    wide, high = np.ptp(along, axis=0), np.ptp(across, axis=0)
    best = int(np.argmin(wide * high))
    return float(wide[best]), float(high[best])


def in_words(size_mm: Pair) -> str:
    """Return a size in both units, to be compared with an order.

    >>> in_words((345.4, 49.53))
    '345.4 mm long and 49.5 mm high (13.60 x 1.95 in)'
    """
    long, high = size_mm
    inches = f"{long / MM_PER_INCH:.2f} x {high / MM_PER_INCH:.2f} in"
    return f"{long:.1f} mm long and {high:.1f} mm high ({inches})"


def unit_findings(drawing: DxfDrawing, size_mm: Pair | None, wanted: WantedSize | None) -> list[Finding]:
    """Return what there is to say on unit and size."""
    slip = _slip(size_mm, wanted, _relabelled(drawing)) if size_mm is not None else None
    known = wanted is not None and slip is None and size_mm is not None and _fits(size_mm, wanted)
    out = _named(drawing, confirmed=known)
    if slip is not None and size_mm is not None:
        factor, why, small = slip
        word = "small" if small else "large"
        right = tuple(v * factor if small else v / factor for v in size_mm)
        text = f"The part is {in_words(size_mm)}: {factor:.4g} times too {word}, most likely {why}. "
        out.insert(0, finding("UNIT", f"{text}In the right unit it would be {in_words((right[0], right[1]))}."))
    ok = f"The file names its unit: {UNIT_NAMES.get(drawing.insunits or 0, 'none')}."
    return [*or_ok(out, "UNIT", ok), *_size(size_mm, wanted, slipped=slip is not None)]


def _named(drawing: DxfDrawing, *, confirmed: bool) -> list[Finding]:
    """Say what the header says of the unit."""
    names, measure = drawing.insunits, drawing.measurement
    if drawing.name_unit_mm is not None:
        word = "inches" if drawing.name_unit_mm == MM_PER_INCH else "mm"
        text = f"The file names no unit, as release R12 cannot; its name says {word}. Say {word} in the order as well."
        return [finding("UNIT", text, level="warning")]
    if drawing.unit_mm is None:
        if confirmed:
            text = "The file names no unit; its size is the expected one in mm. Say mm in the order as well."
            return [finding("UNIT", text, level="warning")]
        if drawing.release == OLD_RELEASE:
            text = "The file names no unit, as release R12 cannot; taken as mm. Say mm in the file name and the order."
            return [finding("UNIT", text, level="warning")]
        what = "$INSUNITS is missing" if names is None else f"$INSUNITS is {names}"
        text = f"The file names no unit ({what}); taken as mm. Set $INSUNITS to 4 and $MEASUREMENT to 1."
        return [finding("UNIT", text)]
    if (names in METRIC and measure == 0) or (names in IMPERIAL and measure == 1):
        text = f"$INSUNITS {names} ({UNIT_NAMES[names or 0]}) and $MEASUREMENT {measure} contradict each other: "
        return [finding("UNIT", f"{text}readers look at one or the other. Make both metric or both inches.")]
    if names not in USUAL:
        text = f"The unit is {UNIT_NAMES.get(names or 0, names)}; cutting services take mm or inches. Change it to mm."
        return [finding("UNIT", text, level="warning")]
    return []


def _fits(size_mm: Pair, wanted: WantedSize) -> bool:
    off = abs(size_mm[0] - wanted.length_mm), abs(size_mm[1] - wanted.height_mm)
    return max(off) <= wanted.within_mm + 1e-6


def _relabelled(drawing: DxfDrawing) -> tuple[tuple[float, str], ...]:
    """Return factors and reasons for numbers that are inches or mm under the name of another unit."""
    if drawing.unit_mm is None or drawing.insunits in USUAL:
        return ()
    name = UNIT_NAMES.get(drawing.insunits or 0, "another unit")
    plain = ((drawing.unit_mm / MM_PER_INCH, "inches"), (drawing.unit_mm, "mm"))
    return tuple((factor, f"its numbers are {unit}, though it says {name}") for factor, unit in plain)


def _slip(
    size_mm: Pair, wanted: WantedSize | None, relabelled: Sequence[tuple[float, str]]
) -> tuple[float, str, bool] | None:
    """Return factor, reason and whether the part is too small, when the size is off by a known factor."""
    for factor, why in (*relabelled, *SLIPS):
        for small in (True, False):
            right = (size_mm[0] * factor, size_mm[1] * factor) if small else (size_mm[0] / factor, size_mm[1] / factor)
            if wanted is None:
                outside = not NO_KNIFE_MM[0] <= size_mm[0] <= NO_KNIFE_MM[1]
                if outside and _plausible(right):
                    return factor, why, small
            else:
                near = (wanted.length_mm, wanted.height_mm)
                slack = (SLIP_SHARE * v + wanted.within_mm for v in near)
                if not _fits(size_mm, wanted) and all(
                    abs(r - n) <= s for r, n, s in zip(right, near, slack, strict=True)
                ):
                    return factor, why, small
    return None


def _plausible(size_mm: Pair) -> bool:
    return LENGTHS_MM[0] <= size_mm[0] <= LENGTHS_MM[1] and HEIGHTS_MM[0] <= size_mm[1] <= HEIGHTS_MM[1]


def _size(size_mm: Pair | None, wanted: WantedSize | None, *, slipped: bool) -> list[Finding]:
    if size_mm is None:
        return [finding("SIZE", "There is nothing to measure.")] if wanted is not None else []
    shown = in_words(size_mm)
    if wanted is not None and not _fits(size_mm, wanted):
        asked = in_words((wanted.length_mm, wanted.height_mm))
        return [finding("SIZE", f"The part is {shown}; expected: {asked}.")]
    if wanted is not None:
        return [finding("SIZE", f"The part is {shown}, as expected.", level="ok")]
    if slipped or _plausible(size_mm):
        return [finding("SIZE", f"The part is {shown}.", level="ok" if not slipped else "warning")]
    long, high = (mm(least, 0, upto=most) for least, most in (LENGTHS_MM, HEIGHTS_MM))
    text = said("The part is {}; a kitchen knife is {} by {}. Check the unit.", shown, long, high)
    return [finding("SIZE", text, level="warning")]


def extent_findings(drawing: DxfDrawing) -> list[Finding]:
    """Compare the header's extents with the drawing: people read sizes off them, viewers open on them."""
    if drawing.extents is None:
        if drawing.extents_unset:
            unset = "The header's extents are not set: some viewers open on nothing."
            return [finding("EXTENTS", unset, level="warning")]
        return [finding("EXTENTS", "The header gives no extents; viewers work them out.", level="ok")]
    true = _box(reach(item) for item in drawing.items if not item.on_paper)
    if true is None:
        return []
    stated = np.array(drawing.extents)
    off = np.abs(stated - true)
    if any(not i.line_work and i.kind != "POINT" for i in drawing.items):  # text and the like may reach further
        off = np.array([max(stated[0] - true[0], 0), max(stated[1] - true[1], 0), *np.maximum(true - stated, 0)[2:]])
    size = max(float(np.ptp(true[[0, 2]])), float(np.ptp(true[[1, 3]])), 1e-9)
    if float(off.max()) > EXTENTS_SHARE * size:
        unit = drawing.unit_mm or 1.0
        sides = [length(float(v[i + 2] - v[i]) * unit, 2) for v in (stated, true) for i in (0, 1)]
        words = (
            "The header's extents ({} by {}) are not those of the drawing ({} by {}): somebody may read a wrong size."
        )
        text = said(words, *sides)
        return [finding("EXTENTS", text, level="warning")]
    return [finding("EXTENTS", "The header's extents are those of the drawing.", level="ok")]


def _box(boxes: Iterable[tuple[Array, Array] | None]) -> Array | None:
    found = [b for b in boxes if b is not None]
    if not found:
        return None
    low, high = np.min([b[0] for b in found], axis=0), np.max([b[1] for b in found], axis=0)
    box = np.concatenate([low, high])
    return box if all(map(math.isfinite, box)) else None
