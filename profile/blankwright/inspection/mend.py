"""What of a spoiled file can be mended without guessing, and what was done? The mended drawing as plain data."""

from __future__ import annotations

from collections import Counter

import numpy as np

from blankwright.base.arrays import Array, Place
from blankwright.base.errors import GeometryError
from blankwright.base.frozen import dataclass
from blankwright.base.said import Line, exact_mm, said
from blankwright.geometry.outline import Outline
from blankwright.geometry.weld import without_short_pieces
from blankwright.inspection import content, sizing
from blankwright.inspection.drawing import SOLIDS, Item
from blankwright.inspection.nesting import areas_of
from blankwright.inspection.verdict import Verdict
from blankwright.proof.chains import JOINED_MM, Run, as_circle, bridged
from blankwright.proof.distance import pieces_of
from blankwright.proof.findings import SHORT_MM, length, spot


@dataclass(frozen=True, eq=False)
class Mended:
    """A drawing that can be cut.

    Args:
        contours: (n, 3) x [mm], y [mm] and bulge of each closed contour; outer ones counter-clockwise, holes
            clockwise.
        circles: Centre x, y and diameter of each round hole [mm].
        spots: Drill spots [mm].
        done: What was done, one clause each.
    """

    contours: tuple[Array, ...]
    circles: tuple[tuple[float, float, float], ...]
    spots: tuple[Place, ...]
    done: tuple[Line, ...]


def hindrances(verdict: Verdict) -> list[Line]:
    """Return why a file cannot be mended at all, one sentence each; empty when it can be tried."""
    drawing, lines = verdict.drawing, verdict.lines
    out = [said("The file was not read as a whole: {}", fault) for fault in drawing.faults[:3]]
    if verdict.path is not None:
        out.append(said("It is the path of a cutter: a copy as contours would lose its order, ways in and bridges."))
    many = sum(len(run.vertices) for run in verdict.runs)
    if many > MOST_VERTICES:
        out.append(said(f"It has {many} vertices, more than {MOST_VERTICES}: no slip. Draw the outline with fewer."))
    doubt = _unit_in_doubt(verdict)
    if doubt is not None:
        out.append(said(f"Which unit is meant must be settled first. {doubt.words}", *doubt.values))
    out += [
        said("A {} cannot be followed by arcs: it {}.", f"{f.item.kind} (line {f.item.line})", f.why or f.item.trouble)
        for f in lines.followed
        if f.deviation_mm is None
    ]
    out += [
        said("A {} lies in space; how it is meant to be flattened is not ours to guess.", f"{i.kind} (line {i.line})")
        for i in drawing.items
        if not i.on_paper and (i.kind in SOLIDS or i.tilted or i.heights[1] - i.heights[0] > content.FLAT_MM)
    ][:5]
    return out


def _unit_in_doubt(verdict: Verdict) -> Line | None:
    """Return what speaks against the unit; a copy in mm would set it for good."""
    told = [f for f in verdict.findings if f.code in {"UNIT", "SIZE"}]
    if verdict.slip is not None or any(f.code == "SIZE" and f.level == "error" for f in told):
        return next(f.line for f in told if f.level != "ok")
    unnamed = not verdict.drawing.unit_named and not verdict.as_expected
    if unnamed and not (verdict.size_mm is not None and sizing.like_a_knife(verdict.size_mm)):
        return next((f.line for f in told), said("The file names no unit."))
    return None


def mend(verdict: Verdict, gap_mm: float) -> Mended:
    """Mend what can be mended safely: the result is to be judged again.

    Args:
        verdict: The verdict on the spoiled file, with no `hindrances`.
        gap_mm: Gaps up to this are closed [mm].
    """
    runs, closed_gaps = bridged(verdict.runs, gap_mm)
    runs = [as_circle(run) for run in runs]
    done: list[Line] = []
    contours: list[Array] = []
    welded = 0
    for shape in areas_of([r for r in runs if r.circle is None]):
        v = shape.run.vertices
        if shape.run.closed:
            v, less = _welded(v)
            welded += less
            clockwise = shape.depth is not None and shape.depth % 2 == 1
            v = v if shape.clockwise == clockwise else _turned(v)
        contours.append(v if shape.run.closed else np.vstack([v, v[::-1]]))
    _say(done, len(closed_gaps), "gap", "closed", _widest(closed_gaps))
    _say(done, welded, "piece", "joined to a neighbour", said(" for being too short"))
    done = _history(verdict, runs) + done
    return Mended(
        contours=tuple(contours),
        circles=tuple(r.circle for r in runs if r.circle is not None),
        spots=tuple(content.spots(verdict.drawing, verdict.lines)),
        done=tuple(done),
    )


def open_ends(verdict: Verdict, gap_mm: float) -> list[Line]:
    """Return the gaps that are too wide to be closed, one sentence each."""
    wide = [g for g in verdict.gaps if g.size_mm > gap_mm]
    words = "The contour is open by {} at {}; only gaps up to {} are closed. "
    words += "Draw what is missing, or allow more with --gap."
    return [said(words, length(g.size_mm), spot(g.at_mm), exact_mm(gap_mm)) for g in wide[:5]]


def _widest(closed_gaps: list) -> Line | None:  # type: ignore[type-arg]
    if not closed_gaps:
        return None
    return said(", the widest {}", length(max(g.size_mm for g in closed_gaps), 4))


def _welded(v: Array) -> tuple[Array, int]:
    """Join pieces too short for a cutter to their neighbours; return the rows and how many went."""
    short = int((pieces_of(v, closed=True).length < SHORT_MM).sum())
    if len(v) < 4 or not 0 < short <= _MOST_WELDED:
        return v, 0
    try:
        out = without_short_pieces(Outline(v), SHORT_MM).vertices
    except GeometryError:
        return v, 0
    return out, len(v) - len(out)


def _turned(v: Array) -> Array:
    return np.column_stack([v[::-1, :2], -np.roll(v[::-1, 2], -1)])


MOST_VERTICES = 20_000
"""So many vertices are copied; a knife takes some hundred, and a fine polyline of it a few thousand."""
_MOST_WELDED = 2000
"""More short pieces are no slips: such a polyline stays as it is, and what is wrong with it stays told."""
_MANY = {"entity": "entities", "doubled stretch": "doubled stretches"}


def _say(done: list[Line], count: int, noun: str, verb: str, more: Line | None = None) -> None:
    if count:
        line = said(f"{count} {noun if count == 1 else _MANY.get(noun, f'{noun}s')} {verb}")
        done.append(line if more is None else line.then(more.words, *more.values))


def _history(verdict: Verdict, runs: list[Run]) -> list[Line]:
    """Return what was done to come from the file to its contours."""
    drawing, lines, done = verdict.drawing, verdict.lines, list[Line]()
    if not drawing.unit_named:
        size = "the expected one" if verdict.as_expected else "that of a knife"
        done.append(said(f"unit written as mm, as which the size is {size}"))
    elif drawing.name_unit_mm is not None:
        done.append(said("unit of the file's name written as mm"))
    elif drawing.insunits != 4:
        done.append(said(f"turned from {sizing.UNIT_NAMES.get(drawing.insunits or 0, 'its unit')} to mm"))
    model = [i for i in drawing.items if not i.on_paper]
    _say(done, sum(i.insert is not None and not i.in_block for i in model), "block", "exploded")
    for kinds, noun in (({"SPLINE"}, "spline"), ({"ELLIPSE"}, "ellipse"), (content.SHAPES, "curve")):
        near = [f.deviation_mm for f in lines.followed if f.item.kind in kinds and f.deviation_mm is not None]
        _say(done, len(near), noun, "turned into arcs", said(", within {}", length(max(near, default=0.0), 4)))
    _say(done, sum(t.length_mm <= JOINED_MM for t in lines.shortest), "piece", "of no length left out")
    _say(done, len(verdict.doubled), "doubled stretch", "left out")
    loose = sum(not s.closed for s in lines.strands)
    _say(done, loose, "loose piece", "joined", said(f" to {sum(r.closed for r in runs)} closed contours"))
    _say(done, sum(i.below and i.line_work for i in model), "entity", "drawn from below turned up")
    raised = sum(abs(i.heights[0]) > content.FLAT_MM and i.line_work for i in model)
    _say(done, raised, "entity", "brought down to z 0")
    left = [*_dropped(model), *lines.aside, *lines.hidden, *lines.paper]
    if left:
        told = ", ".join(f"{n} {kind}" for kind, n in sorted(Counter(i.kind for i in left).items()))
        done.append(said("left out: {}", told))
    return done


def _dropped(model: list[Item]) -> list[Item]:
    """Return what is no line work and no drill spot."""
    return [
        i
        for i in model
        if not i.line_work and i.insert is None and not (i.kind == "POINT" and i.layer.upper() == content.DRILL_LAYER)
    ]
