"""How large is a pixel? The one mapping from a picture to millimetres, with what it may be off.

A resolution that a file names is doubted: a scanner with a feed is off by up to a per cent along it, and differs in
both directions. A length that somebody measured on the thing, or on a bar beside it, decides; one in each direction.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Literal

import numpy as np

from blankwright.base.arrays import Array, Place
from blankwright.base.errors import RequestError
from blankwright.base.frozen import dataclass
from blankwright.base.said import Line, mm, said
from blankwright.base.units import length_mm
from blankwright.design.lifted import BudgetRow
from blankwright.lift.pictures import mm_per_pixel

Axis = Literal["x", "y"]
Length = Callable[[float, float], float]
"""A length in the picture [mm] for the size of a pixel across and down [mm]."""

BAR_MM = 100.0
DOUBT = 0.01
"""Share by which a scanner may be off that nobody measured: feed scanners are adjustable by so much."""
GLASS = 0.0004
"""Share by which a flatbed's way over the glass is off, as their makers claim."""
LIKELY, FAR = 0.013, 0.03
"""A measured length that asks for a pixel so much larger or smaller than the file says: up to the first the scanner is
off, beyond the second it belongs to something else, and between them what comes nearest was measured."""
UNEVEN = 0.03
"""Both directions of a picture differ by less."""
_OTHER: dict[Axis, Axis] = {"x": "y", "y": "x"}
_TURNS = 60
_LEAST_PIXEL_MM, _MOST_PIXEL_MM = 1e-4, 20.0


@dataclass(frozen=True, eq=False)
class Scale:
    """A mapping from pixels to millimetres.

    Args:
        to_mm: Maps (n, 2) pixels, y down from the upper left corner, to (n, 2) places [mm], y up.
        to_pixels: The way back.
        pixel_mm: About the size of a pixel at the thing [mm].
        budget: What the mapping may be off, part by part, at the far ends of the thing.
        notes: What else is to be said of it.
        by_itself: Whether a length of the thing itself was measured for it, which no other thing has.
    """

    to_mm: Callable[[Array], Array]
    to_pixels: Callable[[Array], Array]
    pixel_mm: float
    budget: tuple[BudgetRow, ...]
    notes: tuple[Line, ...] = ()
    by_itself: bool = False


@dataclass(frozen=True)
class Measured:
    """A length that somebody measured.

    Args:
        axis: Along which side of the picture.
        mm: The length [mm].
        within_mm: Half of the last digit that was typed [mm].
    """

    axis: Axis
    mm: float
    within_mm: float


@dataclass(frozen=True, eq=False)
class Candidate:
    """What a measured length may be the length of.

    Args:
        axis: Along which side of the picture.
        words: What it is.
        length: How long it comes out.
        way: How the thing itself is measured for it; nothing of what lies beside it.
    """

    axis: Axis
    words: str
    length: Length
    way: Literal["", "lowest", "drawn"] = ""


def measured(axis: Axis, text: str | None) -> Measured | None:
    """Read a measured length.

    Raises:
        RequestError: It is none, or no length of a knife.
    """
    if text is None:
        return None
    option = f"--measured-{axis}"
    value = length_mm(text, option)
    if not 1.0 <= value <= 5000.0:
        raise RequestError(f"{option}: {text} is out of range. Allowed: 1 to 5000 mm.")
    number = "".join(c if c.isdigit() or c in ".," else " " for c in text).split()
    decimals = len(number[0].replace(",", ".").partition(".")[2]) if len(number) == 1 else 3
    unit = length_mm("1" + text.strip().lstrip("+-0123456789., /").strip(), option) if "/" not in text else 25.4
    return Measured(axis, value, 0.5 * unit * 10.0**-decimals)


def plain_scale(
    pixel_x_mm: float, pixel_y_mm: float, high_px: float, budget: Sequence[BudgetRow], notes: Sequence[Line],
    *, by_itself: bool = False,
) -> Scale:  # fmt: skip
    """Return the mapping of a picture whose pixels have one size all over."""
    size = np.array([pixel_x_mm, pixel_y_mm])

    def to_mm(pixels: Array) -> Array:
        places: Array = np.column_stack([pixels[:, 0], high_px - pixels[:, 1]]) * size
        return places

    def to_pixels(places: Array) -> Array:
        back: Array = places / size
        return np.column_stack([back[:, 0], high_px - back[:, 1]])

    return Scale(to_mm, to_pixels, math.sqrt(pixel_x_mm * pixel_y_mm), tuple(budget), tuple(notes), by_itself)


def pixel_sizes(
    named_dpi: Place | None, said_dpi: float | None, lengths: Sequence[Measured], candidates: Sequence[Candidate]
) -> tuple[Place, dict[Axis, str], list[Line]]:
    """Return the size of a pixel across and down [mm], what each measured length was taken for, and what is to be told.

    Args:
        named_dpi: Dots to the inch as the file names them.
        said_dpi: As the maker says.
        lengths: What was measured.
        candidates: What it may be the length of, the likeliest first in each direction.

    Raises:
        RequestError: Nothing says how large a pixel is, or a measured length fits nothing in the picture; says so where
            the lengths would fit if they were swapped.
    """
    try:
        return _pixel_sizes(named_dpi, said_dpi, lengths, candidates)
    except RequestError as error:
        swapped = [replace(m, axis=_OTHER[m.axis]) for m in lengths]
        try:
            _pixel_sizes(named_dpi, said_dpi, swapped, candidates)
        except RequestError:
            raise error from None
    fits = " and ".join(f"--measured-{m.axis} {m.mm:g} mm" for m in sorted(swapped, key=lambda m: m.axis))
    raise RequestError(
        f"The measured lengths fit the picture the other way round: {fits}. x is the direction across the picture, y "
        "that down it."
    )


def _pixel_sizes(
    named_dpi: Place | None, said_dpi: float | None, lengths: Sequence[Measured], candidates: Sequence[Candidate]
) -> tuple[Place, dict[Axis, str], list[Line]]:
    dpi = (said_dpi, said_dpi) if said_dpi is not None else named_dpi
    if dpi is None and len(lengths) < 2:
        raise RequestError(
            "The picture does not say how many dots an inch has. Measure the thing as it stands lowest on a flat "
            "board, and say both --measured-x and --measured-y; or say --dpi 300."
        )
    sizes = {"x": mm_per_pixel(dpi[0]), "y": mm_per_pixel(dpi[1])} if dpi else _first_guess(lengths, candidates)
    chosen = {m.axis: (m, _which(m, candidates, sizes, named=dpi is not None)) for m in lengths}
    if any(c.way == "drawn" for _, c in chosen.values()):  # then the other length is from the drawing, too
        drawn = [c for c in candidates if c.way == "drawn"]
        own = [(m, c) for m, c in chosen.values() if c.way]
        chosen |= {m.axis: (m, _which(m, [*drawn, c], sizes, named=True)) for m, c in own}
    for _ in range(_TURNS):
        before = dict(sizes)
        for axis, (m, c) in chosen.items():
            sizes[axis] *= min(max(m.mm / max(c.length(sizes["x"], sizes["y"]), 1e-6), 0.5), 2.0)
        if not all(_LEAST_PIXEL_MM < v < _MOST_PIXEL_MM for v in sizes.values()):
            raise RequestError(
                "The measured lengths do not go with what the picture shows. Measure again, and check which is x, the "
                "direction across the picture."
            )
        if all(abs(sizes[a] / before[a] - 1) < 1e-12 for a in ("x", "y")):
            break
    notes = [said(f"--measured-{axis} was taken for {c.words}.") for axis, (_, c) in chosen.items()]
    if len(chosen) == 1 and said_dpi is None and dpi is not None:
        other = "y" if "x" in chosen else "x"
        notes.append(
            said(f"Only one direction was measured; the other keeps what the file says. Say --measured-{other}.")
        )
    ratio = sizes["x"] / sizes["y"]
    if not 1 / (1 + UNEVEN) < ratio < 1 + UNEVEN:
        raise RequestError(
            f"The measured lengths ask for pixels {sizes['x']:.4f} mm wide and {sizes['y']:.4f} mm high. "
            f"No scanner differs by {abs(ratio - 1) * 100:.0f} per cent: measure again, and check which is x, "
            "the direction across the picture."
        )
    return (sizes["x"], sizes["y"]), {a: c.words for a, (_, c) in chosen.items()}, notes


def _first_guess(lengths: Sequence[Measured], candidates: Sequence[Candidate]) -> dict[str, float]:
    """Return sizes from the thing itself where no resolution is named: what was measured is its own size."""
    sizes: dict[str, float] = {}
    for m in lengths:
        own = [c for c in candidates if c.axis == m.axis]
        sizes[m.axis] = m.mm / max(own[0].length(1.0, 1.0), 1e-6)
    return sizes


def _which(m: Measured, candidates: Sequence[Candidate], sizes: dict[str, float], *, named: bool) -> Candidate:
    """Return what a length was measured on, by the resolution that is named: the first that the scanner explains."""
    own = [c for c in candidates if c.axis == m.axis]
    if not named:
        return own[0]
    off = [abs(math.log(m.mm / max(c.length(sizes["x"], sizes["y"]), 1e-6))) for c in own]
    likely = [c for c, o in zip(own, off, strict=True) if o < LIKELY]
    if likely or min(off) < FAR:
        return likely[0] if likely else own[int(np.argmin(off))]
    if abs(m.mm / BAR_MM - 1) < FAR:
        size = sizes[m.axis]
        index = 0 if m.axis == "x" else 1
        return Candidate(
            m.axis,
            f"what 100 mm measure that the picture shows as {BAR_MM / size:.0f} pixels",
            lambda x, y: BAR_MM * (x, y)[index] / size,
        )
    found = ", ".join(f"{c.words} {c.length(sizes['x'], sizes['y']):.1f} mm" for c in own)
    raise RequestError(
        f"--measured-{m.axis}: {m.mm:g} mm fits nothing in the picture along {m.axis} within {FAR * 100:.0f} per cent "
        f"({found}). Measure one of these, or correct --dpi."
    )


def scale_rows(
    lengths: Sequence[Measured],
    taken: dict[Axis, Candidate] | dict[Axis, str],
    size_mm: Place,
    sizes_mm: dict[Axis, float],
) -> list[BudgetRow]:
    """Return what the scale may be off at the far end of the thing, from the heel on.

    Args:
        lengths: What was measured.
        taken: Directions that were measured.
        size_mm: The thing's size along x and y of the picture [mm].
        sizes_mm: Length of what was measured in each direction [mm].
    """
    rows = []
    for index, axis in enumerate(("x", "y")):
        which: Axis = "x" if axis == "x" else "y"
        reach = size_mm[index]
        got = next((m for m in lengths if m.axis == axis), None)
        if got is None or which not in taken:
            rows.append(
                BudgetRow(
                    f"scale along {axis} that nobody measured",
                    DOUBT * reach,
                    f"Measure a length along {axis} and say --measured-{axis}.",
                )
            )
        else:
            rows.append(
                BudgetRow(
                    f"scale along {axis} as measured",
                    got.within_mm * reach / sizes_mm[which],
                    "Measure a longer length, to one more digit.",
                )
            )
    rows.append(
        BudgetRow(
            "the scanner's own way over the glass", GLASS * max(size_mm), "Scan twice, turned round, and compare."
        )
    )
    return rows


def scale_note(sizes_mm: Place, named_dpi: Place | None) -> list[Line]:
    """Return how far the picture is from the resolution that its file names."""
    if named_dpi is None:
        return []
    off = [(size / mm_per_pixel(d) - 1) * 100 for size, d in zip(sizes_mm, named_dpi, strict=True)]
    if max(abs(o) for o in off) < 0.05:
        return []
    words = "The file says {} and {} a pixel, across and down; measured are {} and {}."
    told = [mm(mm_per_pixel(d), 5) for d in named_dpi] + [mm(s, 5) for s in sizes_mm]
    return [said(words, *told)]
