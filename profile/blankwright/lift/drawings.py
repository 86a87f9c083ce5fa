"""The outline in a drawing (DXF, SVG), by the inspection's tolerant reading: its largest part and the holes in it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from blankwright.base.arrays import Array
from blankwright.base.errors import GeometryError, RequestError
from blankwright.base.said import Line, Quantity, mm, said
from blankwright.base.units import MM_PER_INCH
from blankwright.design.lifted import FARTHEST_MM, MOST_HOLES, MOST_PIECES, BudgetRow
from blankwright.geometry.outline import Outline
from blankwright.inspection.entities import read_drawing
from blankwright.inspection.lines import lengths_of
from blankwright.inspection.nesting import RunArea
from blankwright.inspection.parts import Part
from blankwright.inspection.roles import Choice
from blankwright.inspection.sizing import UNIT_NAMES, like_a_knife, part_size
from blankwright.inspection.sniff import read_bytes
from blankwright.inspection.verdict import Verdict, Wanted, judge
from blankwright.lift.circles import circle_of, is_round
from blankwright.lift.seen import Backdrop, Hole, Seen
from blankwright.lift.trace import border, traced

_DIGITS_MM = 0.0005
"""Half of the last digit that drawings are written with, as a rule."""
_PLACES = 20_000
_SHORT_MM = 1e-6
_MOST_LINES = 400
_CORNER_MM = 0.01
_LONG = 1.5
"""No knife is shorter for its height, a cleaver without its handle included (common practice)."""


def drawn(path: Path, layers: Sequence[str] = ()) -> Seen:
    """Return what a drawing shows.

    Args:
        path: A DXF or SVG file.
        layers: The layers that hold the outline; none for those that the inspection takes for cut.

    Raises:
        RequestError: It cannot be read, or holds no closed contour; says what the inspection found.
    """
    verdict = judge(read_drawing(read_bytes(path), path.name), Wanted(None, None, None, choice=Choice(tuple(layers))))
    shapes, frames = unframed(verdict.shapes)
    parts = _parts(shapes)
    if not parts:
        raise RequestError(f"{path}: holds no closed contour. {_told(verdict)}".rstrip())
    part = parts[0]
    notes = [said("A rectangle round all the rest, {} by {}, is no knife: it was passed over.", *f) for f in frames]
    if len(parts) > 1:
        notes.append(said(f"The drawing holds {len(parts)} parts; the largest was lifted."))
    of_frames = {"UNIT", "NESTED"} if frames else {"UNIT"}
    faults = sum(f.code not in of_frames for f in verdict.of("error"))
    if faults:
        are = "1 fault is" if faults == 1 else f"{faults} faults are"
        words = f"{are} in the drawing; its largest contour was lifted as it is. See them: "
        notes.append(said(words + "blankwright inspect"))
    outline, rows, more = _outline(part, verdict, path)
    holes, unround = _holes(part)
    if unround:
        were = "1 opening that is not round was" if unround == 1 else f"{unround} openings that are not round were"
        notes.append(said(f"{were} left out."))
    notes += more
    return Seen(outline, holes, rows, tuple(notes), Backdrop(None, lambda places: places, _lines(verdict)))


def unframed(shapes: Sequence[RunArea]) -> tuple[list[RunArea], list[tuple[Quantity, Quantity]]]:
    """Return the contours of a drawing without its frames or backgrounds, and the sizes of those [mm].

    A frame is an upright rectangle of four lines with all other closed contours in it, the largest of which is as large
    as a knife and longer than high: a plate with a round hole or a slot in it stays.
    """
    rest, frames = list(shapes), list[tuple[Quantity, Quantity]]()
    while True:
        closed = [k for k, s in enumerate(rest) if len(s.ring)]
        if len(closed) < 2:
            return rest, frames
        first, others = rest[closed[0]], [rest[k] for k in closed[1:]]
        size = part_size(others)
        if not _rectangle(first) or size is None or not like_a_knife(size) or size[0] < _LONG * size[1]:
            return rest, frames
        if not all((s.low >= first.low).all() and (s.high <= first.high).all() for s in others):
            return rest, frames
        frames.append((mm(first.size_mm[0]), mm(first.size_mm[1])))
        rest = [_out_of(s, closed[0]) for k, s in enumerate(rest) if k != closed[0]]


def _rectangle(shape: RunArea) -> bool:
    rows = shape.run.vertices
    corner = np.isclose(rows[:, :2], shape.low, atol=_CORNER_MM) | np.isclose(rows[:, :2], shape.high, atol=_CORNER_MM)
    wide, high = shape.size_mm
    whole = math.isclose(shape.area_mm2, wide * high, rel_tol=1e-6)
    return bool(4 <= len(rows) <= 5 and corner.all() and not rows[:, 2].any() and whole)


def _out_of(shape: RunArea, frame: int) -> RunArea:
    """Return a contour as it is without the frame of that number round it."""
    depth = None if shape.depth is None else shape.depth - 1
    inside = shape.inside
    if inside is not None:
        inside = None if inside == frame else inside - (inside > frame)
    return replace(shape, depth=depth, inside=inside)


def _parts(shapes: Sequence[RunArea]) -> list[Part]:
    from blankwright.inspection.parts import parts_of  # noqa: PLC0415 - beside its type alone

    found = [p for p in parts_of(shapes, ()) if len(p.outline.ring)]
    return sorted(found, key=lambda p: -_ring_area(p.outline.ring))


def _ring_area(ring: Array) -> float:
    x, y = ring.T
    return abs(float((x * np.roll(y, -1) - np.roll(x, -1) * y).sum())) / 2


def _told(verdict: Verdict) -> str:
    return " ".join(f.message for f in verdict.of("error")[:3])


def _outline(part: Part, verdict: Verdict, path: Path) -> tuple[Outline, tuple[BudgetRow, ...], list[Line]]:
    run = part.outline.run
    rows = np.array(run.vertices, dtype=np.float64)
    if not np.isfinite(rows).all() or np.abs(rows[:, :2]).max() > 100 * FARTHEST_MM:
        raise RequestError(f"{path}: its numbers are beyond any knife. Check the unit of the drawing.")
    gap = 0.0
    if not run.closed:
        gap = float(np.hypot(*(rows[-1, :2] - rows[0, :2])))
        rows[-1, 2] = 0.0
    ends = np.roll(rows[:, :2], -1, axis=0)
    rows = rows[np.hypot(*(ends - rows[:, :2]).T) > _SHORT_MM]
    try:
        outline = Outline(rows, max_error_mm=_deviation(verdict))
    except GeometryError as error:
        raise RequestError(f"{path}: the contour makes no outline ({error}).") from None
    outline = outline if outline.area_mm2 > 0 else outline.reversed()
    if max(outline.size_mm) > FARTHEST_MM or min(outline.size_mm) < 0.5:
        wide, high = outline.size_mm
        raise RequestError(f"{path}: the part is {wide:.3g} x {high:.3g} mm, no knife. Check the unit of the drawing.")
    budget = [BudgetRow("digits of the drawing", _DIGITS_MM, "")]
    if outline.max_error_mm > 0:
        budget.append(BudgetRow("splines and ellipses followed by arcs", outline.max_error_mm, ""))
    notes: list[Line] = []
    if gap > _DIGITS_MM:
        budget.append(BudgetRow("gap in the contour that was closed", gap, "Close the contour in the drawing."))
        notes.append(said("A gap of {} was closed by a line.", mm(gap, 3)))
    notes += _unit_notes(verdict, max(outline.size_mm))
    if len(outline) > MOST_PIECES:
        outline, rough = _fewer(outline)
        budget.append(BudgetRow("many short pieces followed by arcs", outline.max_error_mm + 2 * rough, ""))
        notes.append(said("The contour has very many short pieces; arcs were laid along them."))
    return outline, tuple(budget), notes


def _unit_notes(verdict: Verdict, long_mm: float) -> list[Line]:
    """Say which unit was taken where the drawing leaves it open or its size speaks against it, and why."""
    slip, unit_mm = verdict.slip, verdict.drawing.unit_mm
    names = (
        "no unit" if unit_mm is None else verdict.drawing.unit_words or UNIT_NAMES.get(verdict.drawing.insunits or 0)
    )
    if slip is None:
        words = "The drawing names no unit; mm were taken. Check the length: {}."
        return [] if unit_mm is not None else [said(words, mm(long_mm))]
    if not slip.sure:
        stands = "no unit, and mm were taken;" if unit_mm is None else f"{names or 'its unit'}, and that stands;"
        words = f"The drawing names {stands} for a knife it is {slip.factor:.4g} times too "
        words += (
            f"{'small' if slip.small else 'large'}, as if {slip.why}: it would be {{}} long. Check the length: {{}}."
        )
        return [said(words, mm(long_mm * slip.right), mm(long_mm))]
    inches = unit_mm is None and slip.right == MM_PER_INCH
    taken = "inches were taken" if inches else f"its numbers were taken {slip.right:.4g} times as large"
    as_it_is = "in mm" if unit_mm is None else "by that"
    words = (
        f"The drawing names {names or 'its unit'}; {taken}, for {as_it_is} it would be {long_mm / slip.right:.4g} mm "
    )
    words += "long, which no knife is. Check the length: {}."
    return [said(words, mm(long_mm))]


def _deviation(verdict: Verdict) -> float:
    return max((f.deviation_mm or 0.0 for f in verdict.lines.followed), default=0.0)


def _fewer(outline: Outline) -> tuple[Outline, float]:
    points, _ = outline.sampled(outline.perimeter_mm / _PLACES)
    found = traced(border(points, np.zeros(len(points), dtype=bool), 0.0, blurred=False))
    return found.outline, found.rough_mm


def _holes(part: Part) -> tuple[tuple[Hole, ...], int]:
    holes: list[Hole] = []
    unround = 0
    for shape in part.holes:
        run = shape.run
        if run.circle is not None:
            holes.append(run.circle)
            continue
        found, rest = circle_of(shape.ring) if len(shape.ring) >= 8 else ((0.0, 0.0, 0.0), np.inf)
        if is_round(found, rest) and run.closed:
            holes.append(found)
        else:
            unround += 1
    holes = [h for h in holes if 0.1 <= h[2] <= 500][:MOST_HOLES]
    return tuple(holes), unround


def _lines(verdict: Verdict) -> tuple[Array, ...]:
    """Return what the drawing holds, to be shown in grey."""
    kept: list[Array] = []
    longest = sorted(verdict.runs, key=lambda r: -float(lengths_of(r.vertices, r.closed).sum()))
    for run in longest[:_MOST_LINES]:
        rows: Any = np.vstack([run.vertices, run.vertices[:1]]) if run.closed else run.vertices
        kept.append(np.asarray(rows, dtype=np.float64))
    return tuple(kept)
