"""The outline in a picture: borders in pixels, a scale, and an outline in mm with what it may be off."""

from __future__ import annotations

import numpy as np

from blankwright.base.arrays import Array
from blankwright.base.errors import RequestError
from blankwright.base.frozen import dataclass
from blankwright.base.said import Line, mm, said
from blankwright.design.lifted import MOST_HOLES, BudgetRow
from blankwright.geometry.outline import Outline
from blankwright.lift.bars import bars_in
from blankwright.lift.circles import circle_of, is_round
from blankwright.lift.contour import PixelCurves, contour
from blankwright.lift.naming import named
from blankwright.lift.pictures import Picture, Pixels, mm_per_pixel
from blankwright.lift.scale import Axis, Candidate, Measured, Scale, pixel_sizes, plain_scale, scale_note, scale_rows
from blankwright.lift.seen import Backdrop, Hole, Seen
from blankwright.lift.standing import hull_of, own_lengths
from blankwright.lift.trace import Border, Traced, border, traced

_GUESS_MM = mm_per_pixel(300.0)
_NOISE_PX, _NOISE_SHARE, _BLUR_SHARE, _CORNER_SHARE, _CORNER_ROUGH = 0.06, 0.5, 0.12, 0.15, 6.0
"""What the border of a clean scan may be off: shares of a pixel, of what its places jump about, of the blur, and of
what was added to a corner. Measured on scans with a known truth."""
_FLAT_MM = 0.001
_WEAK_PX, _LINE_SHARE = 1.5, 0.1
_LEAST_HOLE_MM, _MOST_HOLE_MM = 1.0, 100.0


@dataclass(frozen=True, eq=False)
class Said:
    """What the maker says of a picture.

    Args:
        dpi: Its dots to the inch, or None.
        lengths: What was measured.
    """

    dpi: float | None = None
    lengths: tuple[Measured, ...] = ()


def scanned(picture: Picture, told: Said) -> Seen:
    """Return what a scan shows.

    Raises:
        RequestError: Nothing stands out in it, it is not whole, or nothing says how large a pixel is.
    """
    curves = contour(picture.pixels)
    if curves.touches:  # where it ends is not in the picture, and any length measured on it would stretch the rest
        raise RequestError(
            "The thing reaches the edge of the picture, or a shadow there does: where it ends cannot be seen. Scan or "
            "photograph it again whole, with room all around it."
        )
    return seen_in(picture.pixels, curves, scan_scale(picture, curves, told))


def scan_scale(picture: Picture, curves: PixelCurves, told: Said) -> Scale:
    """Return the scale of a scan, from what was measured, or else from its resolution.

    Args:
        picture: The scan.
        curves: What is seen in it.
        told: What the maker says.

    Raises:
        RequestError: Nothing says how large a pixel is, or a measured length fits nothing.
    """
    dpi = (told.dpi, told.dpi) if told.dpi else picture.dpi
    guess = mm_per_pixel(dpi[0]) if dpi else _GUESS_MM
    high = float(picture.size[1])
    own = _own_sizes(curves, guess, high) if told.lengths else []
    bars = [b.candidate() for b in bars_in(picture.pixels, curves, guess)] if told.lengths and dpi else []
    sizes, taken, notes = pixel_sizes(picture.dpi, told.dpi, told.lengths, [*bars, *own])
    reach = _reach(curves, sizes)
    lengths: dict[Axis, float] = {m.axis: m.mm for m in told.lengths}
    rows = scale_rows(told.lengths, taken, reach, lengths)
    if told.lengths:
        notes = [*notes, *scale_note(sizes, picture.dpi)]
    itself = {c.words for c in own}
    return plain_scale(*sizes, high, rows, notes, by_itself=any(words in itself for words in taken.values()))


def _reach(curves: PixelCurves, sizes: tuple[float, float]) -> tuple[float, float]:
    wide, high = np.ptp(curves.outline.points, axis=0).tolist()
    return wide * sizes[0], high * sizes[1]


def _own_sizes(curves: PixelCurves, guess: float, high: float) -> list[Candidate]:
    """Return the thing's own length and height as what may have been measured, the likeliest first."""
    first = plain_scale(guess, guess, high, (), ())
    outline = traced(_border(curves, first)).outline
    ahead = named(outline).placing.matrix.T @ np.array([1.0, 0.0])
    return own_lengths(hull_of(outline.flattened(_FLAT_MM)) / guess, ahead)


def _border(curves: PixelCurves, scale: Scale) -> Border:
    """Return the border in mm."""
    blur_mm = max(curves.blur_px, curves.line_px / 2) * scale.pixel_mm  # half a line rounds a corner as a blur does
    blurred = curves.line_px / 2 <= curves.blur_px
    return border(scale.to_mm(curves.outline.points), curves.outline.weak, blur_mm, blurred=blurred)


def seen_in(pixels: Pixels, curves: PixelCurves, scale: Scale) -> Seen:
    """Return what is seen in a picture whose scale is known.

    Args:
        pixels: The picture.
        curves: Its borders, from `contour`.
        scale: The mapping to mm.

    Raises:
        RequestError: The border makes no outline.
    """
    edge = _border(curves, scale)
    found = traced(edge)
    holes, unround = _holes(curves, scale)
    weak = edge.points[edge.weak]
    notes = list(scale.notes)
    if curves.line_px:
        words = (
            "It is drawn as a line {} wide; its middle was taken. Circles that are drawn in it are not taken for holes."
        )
        notes.append(said(words, mm(curves.line_px * scale.pixel_mm)))
    if unround:
        what = "1 mark or opening" if unround == 1 else f"{unround} marks or openings"
        notes.append(said(f"Not round, and left out: {what} inside."))
    if len(weak):
        notes.append(_weak_note(weak, edge.points))
    rows = (
        *scale.budget,
        *_border_rows(found, edge.step_mm, curves.blur_px * scale.pixel_mm, weak, curves.line_px * scale.pixel_mm),
    )
    behind = Backdrop(pixels, scale.to_pixels, (), weak)
    return Seen(found.outline, holes, rows, tuple(notes), behind, scale.by_itself)


def _weak_note(weak: Array, points: Array) -> Line:
    share = len(weak) / len(points)
    words = "{} per cent of the border hardly stand out from the ground; the picture of a lift rings them."
    return said(words, f"{max(1, round(100 * share))}")


def _border_rows(found: Traced, pixel: float, blur: float, weak: Array, line_mm: float) -> list[BudgetRow]:
    rows = [
        BudgetRow(
            "pixels and their noise", _NOISE_PX * pixel + _NOISE_SHARE * found.rough_mm, "Scan at 600 dots to the inch."
        ),
        BudgetRow("where in the blur the border lies", _BLUR_SHARE * blur, "Lay the thing flat on clean glass."),
        BudgetRow("arcs laid along the border", found.outline.max_error_mm, "Scan at 600 dots to the inch."),
    ]
    if line_mm > 0:
        rows.append(BudgetRow("width of the drawn line", _LINE_SHARE * line_mm, "Draw with a finer pen."))
    doubts = [float(np.hypot(_CORNER_SHARE * c.loss + _CORNER_ROUGH * found.rough_mm, c.doubt)) for c in found.corners]
    if doubts:
        far = max(c.loss for c in found.corners)
        words = f"corners and tip continued to where their sides meet, over {far:.2f} mm"
        rows.append(BudgetRow(words, max(doubts), "Scan at 600 dots to the inch."))
    if found.rounded_mm > 0:
        words = "a corner that was rounded: its sides cannot be told from the bend beside it"
        rows.append(BudgetRow(words, found.rounded_mm, "Scan at 600 dots to the inch, or set the corner in the file."))
    if len(weak):
        rows.append(
            BudgetRow(
                "places that hardly stand out",
                _WEAK_PX * pixel + blur,
                "Lay it on a ground that differs more, and scan again.",
            )
        )
    return rows


def _holes(curves: PixelCurves, scale: Scale) -> tuple[tuple[Hole, ...], int]:
    holes: list[Hole] = []
    unround = 0
    for curve in curves.holes:
        if len(curve.points) < 12:
            continue
        hole, rest = circle_of(scale.to_mm(curve.points), np.where(curve.weak, 0.02, 1.0))
        if hole[2] < _LEAST_HOLE_MM:
            continue
        if is_round(hole, rest) and hole[2] <= _MOST_HOLE_MM:
            holes.append(hole)
        else:
            unround += 1
    return tuple(holes[:MOST_HOLES]), unround


def refuse_small(outline: Outline) -> None:
    """Refuse an outline that is smaller than any part of a knife, or larger.

    Raises:
        RequestError: It is.
    """
    long = max(outline.size_mm)
    if not 5.0 <= long <= 2_500.0:
        raise RequestError(f"The thing comes out {long:.3g} mm long. Check --dpi, or the measured lengths.")


def length_note(outline: Outline) -> Line:
    """Return the size of a thing, to be checked with a rule."""
    return said("Check with a rule: {} long and {} high as it lies.", mm(outline.size_mm[0]), mm(outline.size_mm[1]))
