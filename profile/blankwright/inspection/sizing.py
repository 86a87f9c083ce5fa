"""Is the drawing in the unit it says, and is the part as large as it should be? Unit, size and extents."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from blankwright.base.arrays import Array
from blankwright.base.finding import Finding, finding
from blankwright.base.frozen import dataclass
from blankwright.base.said import mm, said
from blankwright.base.units import MM_PER_INCH
from blankwright.inspection.drawing import Drawing, reach
from blankwright.inspection.nesting import RunArea
from blankwright.proof.findings import IMPERIAL, METRIC, OLD_RELEASE, length, or_ok

Pair = tuple[float, float]

LENGTHS_MM, HEIGHTS_MM = (60.0, 600.0), (10.0, 120.0)
"""A kitchen knife's blank is so long and so high (common practice)."""
BLADE_RATIO = 2.5
"""No blank is shorter for its height; a cleaver's is 3 times as long as high (common practice)."""
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
LEAST_MM, MOST_MM = 1.0, 30_000.0
"""Cutting tables are 1.5 to 24 m long (common practice): nothing longer is a part, and nothing smaller than a kerf."""
SLIP_SHARE = 0.01
EXTENTS_SHARE = 0.001
ASKEW_DEG = 5.0
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

    A part that lies askew is measured in the box that is smallest over all directions. One that is turned by less than
    ASKEW_DEG lies as its maker drew it: a hooked handle alone tips the smallest box so far.
    """
    if not shapes:
        return None
    size = shapes[0].size_mm
    if len(shapes[0].ring) > 3:
        turned, angle_deg = _least_box(shapes[0].ring)
        if turned[0] * turned[1] < 0.9 * size[0] * size[1] and ASKEW_DEG <= angle_deg <= 90 - ASKEW_DEG:
            size = turned
    return max(size), min(size)


def _least_box(points: Array) -> tuple[Pair, float]:
    """Return the sides of the smallest rectangle around points and its turn [degrees], half a degree apart."""
    angles = np.radians(np.arange(0, 90, 0.5))
    p = points[:: max(1, len(points) // 2000)]
    along = p @ np.stack([np.cos(angles), np.sin(angles)])
    across = p @ np.stack([-np.sin(angles), np.cos(angles)])
    wide, high = np.ptp(along, axis=0), np.ptp(across, axis=0)
    best = int(np.argmin(wide * high))
    return (float(wide[best]), float(high[best])), best * 0.5


def in_words(size_mm: Pair) -> str:
    """Return a size in both units, to be compared with an order.

    >>> in_words((345.4, 49.53))
    '345.4 mm long and 49.5 mm high (13.60 x 1.95 in)'
    """
    long, high = size_mm
    inches = f"{long / MM_PER_INCH:.2f} x {high / MM_PER_INCH:.2f} in"
    return f"{long:.1f} mm long and {high:.1f} mm high ({inches})"


@dataclass(frozen=True)
class Slip:
    """A size that is off by a factor which a slip of the unit explains.

    Args:
        factor: How many times too large or small the part is, above 1.
        small: Whether it is too small.
        why: What was most likely mixed up, a clause.
        sure: The expected size says so, or no unit is named that would speak against it.
    """

    factor: float
    small: bool
    why: str
    sure: bool

    @property
    def right(self) -> float:
        """By how much the drawing's lengths are to be multiplied."""
        return self.factor if self.small else 1 / self.factor


def slip_of(drawing: Drawing, size_mm: Pair | None, wanted: WantedSize | None) -> Slip | None:
    """Return the slip of the unit that a part's size speaks of, or None.

    Args:
        drawing: The drawing, for the unit it names.
        size_mm: Length and height as read [mm].
        wanted: The size that the part should have, or None.
    """
    if size_mm is None or (wanted is not None and fits(size_mm, wanted)):
        return None
    other_name = _relabelled(drawing)
    for factor, why in (*other_name, *SLIPS):
        for small in (True, False):
            share = factor if small else 1 / factor
            right = (size_mm[0] * share, size_mm[1] * share)
            if wanted is not None:
                near = (wanted.length_mm, wanted.height_mm)
                slack = (SLIP_SHARE * v + wanted.within_mm for v in near)
                if all(abs(r - n) <= s for r, n, s in zip(right, near, slack, strict=True)):
                    return Slip(factor, small, why, sure=True)
            elif not NO_KNIFE_MM[0] <= size_mm[0] <= NO_KNIFE_MM[1] and _blade_like(right):
                inches = factor == MM_PER_INCH and drawing.unit_mm is None
                sure = inches or (factor, why) in other_name or not LEAST_MM <= size_mm[0] <= MOST_MM
                return Slip(factor, small, why, sure=sure)
    return None


def _blade_like(size_mm: Pair) -> bool:
    """Say whether a size is a knife's and long for its height: a square plate speaks for no slip."""
    return like_a_knife(size_mm) and size_mm[0] >= BLADE_RATIO * size_mm[1]


def unit_findings(
    drawing: Drawing, size_mm: Pair | None, wanted: WantedSize | None, slip: Slip | None
) -> list[Finding]:
    """Return what there is to say on unit and size; of a slip, only itself.

    Args:
        drawing: The drawing.
        size_mm: Length and height as read, before a slip is put right [mm].
        wanted: The size that the part should have, or None.
        slip: What `slip_of` made of them.
    """
    known = wanted is not None and size_mm is not None and fits(size_mm, wanted)
    if slip is not None and size_mm is not None and (slip.sure or drawing.unit_named):
        return [_slipped(drawing, size_mm, slip)]
    out = _named(drawing, confirmed=known)
    if slip is not None and size_mm is not None:
        right = in_words((size_mm[0] * slip.right, size_mm[1] * slip.right))
        out = [replace(f, line=f.line.then(f" If {slip.why}, the part would be {right}.")) for f in out]
    ok = f"The file names its unit: {drawing.unit_words or UNIT_NAMES.get(drawing.insunits or 0, 'none')}."
    return [*or_ok(out, "UNIT", ok), *_size(size_mm, wanted)]


def _slipped(drawing: Drawing, size_mm: Pair, slip: Slip) -> Finding:
    right = (size_mm[0] * slip.right, size_mm[1] * slip.right)
    word = "small" if slip.small else "large"
    text = f"The part is {in_words(size_mm)}: {slip.factor:.4g} times too {word}, most likely {slip.why}. "
    if not drawing.unit_named:
        text += "The file names no unit. "
    if slip.sure:
        text += f"In the right unit it would be {in_words(right)}; holes and walls were judged at that."
        return finding("UNIT", text)
    name = UNIT_NAMES.get(drawing.insunits or 0, "its unit")
    text = f"The part is {in_words(size_mm)}. The file names {name}, and that stands; for a kitchen knife it is "
    text += f"{slip.factor:.4g} times too {word}, as if {slip.why}: it would be {in_words(right)}. "
    return finding("UNIT", f"{text}Say with --expect what it should be.", level="warning")


def _named(drawing: Drawing, *, confirmed: bool) -> list[Finding]:
    """Say what the file says of its unit."""
    if drawing.unit_doubt:
        if confirmed:
            return []
        text = f"{drawing.unit_doubt} Say with --expect how large the part is, and say the size in the order."
        return [finding("UNIT", text, level="warning")]
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
    out = []
    if not confirmed and ((names in METRIC and measure == 0) or (names in IMPERIAL and measure == 1)):
        name = UNIT_NAMES[names or 0]
        text = f"The file names {name} ($INSUNITS {names}), but $MEASUREMENT is {measure}; a reader that looks at that "
        text += f"alone may take it for {'inches' if measure == 0 else 'mm'}. Say {name} in the order."
        out.append(finding("UNIT", text, level="warning"))
    if names not in USUAL:
        text = f"The unit is {UNIT_NAMES.get(names or 0, names)}; cutting services take mm or inches. Change it to mm."
        out.append(finding("UNIT", text, level="warning"))
    return out


def fits(size_mm: Pair, wanted: WantedSize) -> bool:
    """Say whether a size is the expected one, to the digits that were given."""
    off = abs(size_mm[0] - wanted.length_mm), abs(size_mm[1] - wanted.height_mm)
    return max(off) <= wanted.within_mm + 1e-6


def _relabelled(drawing: Drawing) -> tuple[tuple[float, str], ...]:
    """Return factors and reasons for numbers that are inches or mm under the name of another unit."""
    if drawing.unit_mm is None or drawing.insunits in USUAL:
        return ()
    name = UNIT_NAMES.get(drawing.insunits or 0, "another unit")
    plain = ((drawing.unit_mm / MM_PER_INCH, "inches"), (drawing.unit_mm, "mm"))
    return tuple((factor, f"its numbers are {unit}, though it says {name}") for factor, unit in plain)


def like_a_knife(size_mm: Pair) -> bool:
    """Say whether a length and height are those of a kitchen knife's blank."""
    return LENGTHS_MM[0] <= size_mm[0] <= LENGTHS_MM[1] and HEIGHTS_MM[0] <= size_mm[1] <= HEIGHTS_MM[1]


def _size(size_mm: Pair | None, wanted: WantedSize | None) -> list[Finding]:
    if size_mm is None:
        return [finding("SIZE", "There is nothing to measure.")] if wanted is not None else []
    shown = in_words(size_mm)
    if not LEAST_MM <= size_mm[0] <= MOST_MM:
        text = said("The part is {}; what is cut is {} long. Check the unit.", shown, mm(LEAST_MM, 0, upto=MOST_MM))
        return [finding("SIZE", text)]
    if wanted is not None and not fits(size_mm, wanted):
        asked = in_words((wanted.length_mm, wanted.height_mm))
        return [finding("SIZE", f"The part is {shown}; expected: {asked}.")]
    if wanted is not None:
        return [finding("SIZE", f"The part is {shown}, as expected.", level="ok")]
    if like_a_knife(size_mm):
        return [finding("SIZE", f"The part is {shown}.", level="ok")]
    long, high = (mm(least, 0, upto=most) for least, most in (LENGTHS_MM, HEIGHTS_MM))
    text = said("The part is {}; a kitchen knife's blank is {} by {}.", shown, long, high)
    return [finding("SIZE", text, level="ok")]


def extent_findings(drawing: Drawing) -> list[Finding]:
    """Compare the header's extents with the drawing: people read sizes off them, viewers open on them."""
    if drawing.form == "SVG":
        return []
    if drawing.extents is None:
        if drawing.extents_unset:
            unset = "The header's extents are not set: some viewers open on nothing."
            return [finding("EXTENTS", unset, level="warning")]
        return [finding("EXTENTS", "The header gives no extents; viewers work them out.", level="ok")]
    true = _box(drawing)
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


def _box(drawing: Drawing) -> Array | None:
    """Return the box around everything drawn, straight chains all at once [file units]; None when there is nothing."""
    shown = [i for i in drawing.items if not i.on_paper]
    straight = [i.chain[:, :2] for i in shown if i.chain is not None and not i.chain[:, 2].any()]
    rest = [box for i in shown if i.chain is None or i.chain[:, 2].any() for box in (reach(i),) if box is not None]
    points = [*straight, *(corner[None] for box in rest for corner in box)]
    if not points:
        return None
    p = np.concatenate(points)
    box = np.concatenate([p.min(axis=0), p.max(axis=0)])
    return box if all(map(math.isfinite, box)) else None
