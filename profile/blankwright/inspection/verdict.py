"""Can this file be cut as it is? The verdict on a cutting file of any origin."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from blankwright.base.arrays import Array, Place
from blankwright.base.errors import GeometryError
from blankwright.base.finding import LEVELS, Finding, Level, finding
from blankwright.base.frozen import dataclass
from blankwright.base.said import said
from blankwright.inspection import content, sizing, texture, walls
from blankwright.inspection.budget import PAIR, Budget
from blankwright.inspection.cutpath import CutPath, path_in
from blankwright.inspection.drawing import Drawing
from blankwright.inspection.lines import ALL, Lines, lengths_of, lines_of
from blankwright.inspection.nesting import MAX_CONTOURS, RunArea, areas_of, contains, is_hole
from blankwright.inspection.roles import Choice
from blankwright.inspection.sizing import Slip, WantedSize
from blankwright.proof.chains import JOINED_MM, Doubled, Gap, Run, as_circle, bridged, gaps, joined, without_doubles
from blankwright.proof.contacts import ALONG_MM, Chain, Crossing, Index, crossings, near_pairs, overlaps
from blankwright.proof.distance import Pieces, pieces_of
from blankwright.proof.findings import SHORT_MM, length, or_ok, spot
from blankwright.shop.records import Process

Near = Callable[[Pieces, float], tuple[Index, Index]]
"""Finds the pieces of all whose boxes come within a margin."""

MOST_CROSSINGS = 60
MOST_LOOKED_AT = 500
"""Of a tangle so many entities are looked at one by one."""
LOOKED_OVER_MM = 1.0
"""Gaps up to this are closed for looking at what lies in what, so that one fault is not told as five."""
SAME_PLACE_MM = 0.01
STRAY_SHARE = 0.3
"""A contour beside the part that is less than this of its length is a stray hole, not a second part."""


@dataclass(frozen=True)
class Wanted:
    """What the file is judged against.

    Args:
        size: The size that the part should have, or None.
        process: How it is cut, or None: then holes and walls are not judged.
        thickness_mm: Thickness of the stock [mm], or None.
        parts: How many parts the file should hold.
        choice: What is to be cut and what is a mark, where that was said.
    """

    size: WantedSize | None
    process: Process | None
    thickness_mm: float | None
    parts: int = 1
    choice: Choice = ALL


@dataclass(frozen=True, eq=False)
class Verdict:
    """What was found in a file.

    Args:
        drawing: The drawing as read.
        lines: What of it is to be cut.
        runs: Contours, closed and open, doubles left out.
        shapes: The same as areas, the largest first.
        size_mm: Length and height of the part [mm], None without a contour.
        slip: The slip of the unit that the size speaks of; one that is sure is put right in all but the drawing.
        as_expected: Whether the size is the expected one.
        doubled: What is drawn twice.
        gaps: Loose ends.
        joints: Where more than two ends meet.
        findings: Everything that was looked at.
        path: The cutter's path that the file holds; None where it holds contours.
    """

    drawing: Drawing
    lines: Lines
    runs: tuple[Run, ...]
    shapes: tuple[RunArea, ...]
    size_mm: Place | None
    slip: Slip | None
    as_expected: bool
    doubled: tuple[Doubled, ...]
    gaps: tuple[Gap, ...]
    joints: tuple[tuple[Place, int], ...]
    findings: tuple[Finding, ...]
    path: CutPath | None = None

    @property
    def level(self) -> Level:
        """The worst of all findings."""
        return LEVELS[max((LEVELS.index(f.level) for f in self.findings), default=0)]

    def of(self, level: Level) -> list[Finding]:
        """Return the findings of one level."""
        return [f for f in self.findings if f.level == level]


@dataclass(frozen=True, eq=False)
class _Measured:
    """The contours of a drawing, and where they meet what they should not."""

    runs: list[Run]
    shapes: list[RunArea]
    doubled: list[Doubled]
    joints: list[tuple[Place, int]]
    loose: list[Gap]
    crossing: list[Crossing]
    tangled: list[Finding]


def judge(drawing: Drawing, wanted: Wanted) -> Verdict:
    """Judge a drawing.

    Args:
        drawing: From `entities.read_drawing`.
        wanted: What it is judged against.

    Raises:
        RequestError: A layer or colour that was named is not in the file.
    """
    lines = lines_of(drawing, SHORT_MM, wanted.choice)
    path = path_in(lines.strands)
    if path is not None:
        lines = replace(lines, strands=path.strands)
    found = _measured(lines, drawing.budget)
    as_read = size = sizing.part_size(found.shapes)
    slip = sizing.slip_of(drawing, size, wanted.size)
    if slip is not None and slip.sure and path is None:  # what follows from a wrong unit is no fault of its own
        lines = lines_of(drawing, SHORT_MM, wanted.choice, lines.unit_mm * slip.right)
        found = _measured(lines, drawing.budget)
        size = sizing.part_size(found.shapes)
    told = content.file_findings(drawing) + ([path.finding] if path else [])
    if drawing.items or not drawing.faults:
        told += sizing.unit_findings(drawing, as_read, wanted.size, slip)
        told += _of_contours(drawing, found, lines, wanted)
        told += texture.short_findings(lines, found.runs) + texture.piece_findings(found.runs)
        told += texture.curve_findings(lines.followed, lines) + texture.flat_findings(found.shapes)
        kerf_mm = None if wanted.process is None else wanted.process.kerf_mm.value
        told += texture.inner_findings(found.shapes, kerf_mm, drawing.design)
        if wanted.process is not None and wanted.thickness_mm is not None:
            told += walls.hole_findings(found.shapes, wanted.process, wanted.thickness_mm)
            told += walls.wall_findings(found.shapes, wanted.process, wanted.thickness_mm, drawing.budget)
        told += content.content_findings(drawing, lines) + sizing.extent_findings(drawing)
    return Verdict(
        drawing=drawing,
        lines=lines,
        runs=tuple(found.runs),
        shapes=tuple(found.shapes),
        size_mm=size,
        slip=slip,
        as_expected=wanted.size is not None and size is not None and sizing.fits(size, wanted.size),
        doubled=tuple(found.doubled),
        gaps=tuple(found.loose),
        joints=tuple(found.joints),
        findings=tuple(told),
        path=path,
    )


def _measured(lines: Lines, budget: Budget) -> _Measured:
    def near(pieces: Pieces, margin_mm: float) -> tuple[Index, Index]:
        found = near_pairs(pieces, margin_mm, int(max(budget.left, 0) / PAIR))
        budget.spend(PAIR * len(found[0]) + len(pieces), "lines over each other")
        return found

    runs: list[Run] = []
    doubled: list[Doubled] = []
    joints: list[tuple[Place, int]] = []
    loose: list[Gap] = []
    crossing: list[Crossing] = []
    tangled: list[Finding] = []
    try:
        strands, doubled = without_doubles(lines.strands, near)
        runs, joints = joined(strands)
        runs = [as_circle(run) for run in runs]
        loose = gaps(runs)
        crossing = _crossings(runs, joints, near)
    except GeometryError as error:
        tangled = [finding("CROSSING", f"{str(error)[:1].upper()}{str(error)[1:]}. Redraw the outline.")]
        loose = []  # they are ends of runs that are given up here
        runs = [
            Run(s.vertices, s.closed, s.layer, frozenset({s.kind}), s.circle) for s in lines.strands[:MOST_LOOKED_AT]
        ]
    shapes = areas_of(bridged(runs, LOOKED_OVER_MM)[0] if loose else runs, budget)
    return _Measured(runs, shapes, doubled, joints, loose, crossing, tangled)


def _of_contours(drawing: Drawing, found: _Measured, lines: Lines, wanted: Wanted) -> list[Finding]:
    out = _contours(found.runs, found.loose, lines)
    if len(found.runs) > MAX_CONTOURS:
        text = f"{len(found.runs)} contours; only the {MAX_CONTOURS} largest were compared. No knife needs that many."
        out.append(finding("CONTOUR-COUNT", text))
    unplaced = sum(s.unplaced for s in found.shapes)
    if unplaced:
        text = f"{unplaced} contours were not compared: the drawing takes more work than any cutting file needs."
        out.append(finding("CONTOUR-COUNT", text))
    out += _joints(found.joints, found.runs) + _doubles(found.doubled)
    out += [*found.tangled, *_crossing_findings(found.crossing, tangled=bool(found.tangled))]
    return out + _nesting(found.shapes, content.spots(drawing, lines), wanted.parts)


def _contours(runs: Sequence[Run], loose: Sequence[Gap], lines: Lines) -> list[Finding]:
    if not runs:
        hint = "" if not lines.hidden else " What is drawn is switched off or frozen."
        return [finding("CONTOUR-COUNT", f"There is no contour to be cut.{hint}")]
    out = []
    unread = [p for f in lines.followed if f.deviation_mm is None for p in (lines.place(f.item),) if p is not None]
    for gap in sorted(loose, key=lambda g: g.size_mm):
        ends = [runs[r].vertices[-k, :2] for r, k in gap.ends]
        if any(np.hypot(*(end - p)) <= SAME_PLACE_MM for end in ends for p in unread):
            continue  # it is open where a curve cannot be read, and that is told
        where = spot(gap.at_mm)
        if len(gap.ends) == 1:
            text = said("A loose end at {} meets nothing: the contour is open.", where)
        elif gap.size_mm > 1.0:
            words = "The contour is open: its ends are {} apart, near {}. Draw what is missing."
            text = said(words, length(gap.size_mm, 2), where)
        else:
            words = "The contour is open: a gap of {} at {}. Ends have to touch."
            text = said(words, length(gap.size_mm, 4), where)
        out.append(finding("CONTOUR-CLOSED", text, gap.at_mm))
    if loose and not out:
        return []
    closed = sum(r.closed for r in runs)
    return or_ok(out, "CONTOUR-CLOSED", f"{closed} contour{'' if closed == 1 else 's'}, all closed.")


def _joints(joints: Sequence[tuple[Place, int]], runs: Sequence[Run]) -> list[Finding]:
    if not runs:
        return []
    out = [
        finding("JOINT", said(f"{n} ends meet at {{}}; a contour has two. Delete what is extra.", spot(at)), at)
        for at, n in joints
    ]
    return or_ok(out, "JOINT", "No more than two ends meet anywhere.")


def _doubles(doubled: Sequence[Doubled]) -> list[Finding]:
    out = []
    for d in doubled:
        what, which = said("A"), f"{d.kind} (line {d.line})"
        if not d.whole:
            what = said("{} of a", length(d.length_mm, 2))
        text = what.then(" {} at {} is drawn twice: it would be cut twice. Delete one.", which, spot(d.at_mm))
        out.append(finding("DOUBLED", text, d.at_mm))
    return or_ok(out, "DOUBLED", "Nothing is drawn twice.")


def _crossings(runs: Sequence[Run], joints: Sequence[tuple[Place, int]], near: Near) -> list[Crossing]:
    """Return where contours meet themselves or each other, known joints and doubled stretches left out."""
    if not runs:
        return []
    chain, rows = _chain(runs)
    pieces = pieces_of(rows, closed=False).take(np.flatnonzero(_real(runs)))
    i, j = near(pieces, ALONG_MM)
    along = {
        (min(o), max(o))
        for p in overlaps(pieces, i, j)
        for o in [(int(chain.owner[p.first]), int(chain.owner[p.second]))]
    }
    if along:
        a, b = np.minimum(chain.owner[i], chain.owner[j]), np.maximum(chain.owner[i], chain.owner[j])
        keep = np.array([(int(x), int(y)) not in along for x, y in zip(a, b, strict=True)], dtype=bool)
        i, j = i[keep], j[keep]
    found = crossings(pieces, chain, i, j, MOST_CROSSINGS + len(joints) * 10)
    places = np.array([at for at, _ in joints]).reshape(-1, 2)
    return [c for c in found if not len(places) or np.hypot(*(places - c.at_mm).T).min() > 10 * JOINED_MM]


def _real(runs: Sequence[Run]) -> NDArray[np.bool_]:
    """Say which steps between the rows of all runs, one after the other, are pieces."""
    return np.concatenate([np.arange(r.pieces + 1) < r.pieces for r in runs])[:-1]


def _chain(runs: Sequence[Run]) -> tuple[Chain, Array]:
    """Return to which run each piece belongs, and all vertices; closed runs with their first vertex again."""
    rows = [np.vstack([r.vertices, r.vertices[:1]]) if r.closed else r.vertices for r in runs]
    lengths = [lengths_of(r.vertices, r.closed) for r in runs]
    count = np.array([r.pieces for r in runs])
    owner = np.repeat(np.arange(len(runs)), count)
    from_start = np.concatenate([np.cumsum(v) - v for v in lengths])
    whole = np.array([float(v.sum()) for v in lengths])
    closed = np.array([r.closed for r in runs])
    number = np.concatenate([np.arange(n) for n in count])
    return Chain(owner, number, count[owner], closed[owner], from_start, whole[owner]), np.concatenate(rows)


def _crossing_findings(found: Sequence[Crossing], *, tangled: bool) -> list[Finding]:
    out = []
    for c in found:
        if c.first == c.second:
            text = "The contour touches itself" if c.end else "The contour crosses itself"
        else:
            text = "Two contours touch" if c.end else "Two contours cross"
        out.append(finding("CROSSING", said(f"{text} at {{}}. Redraw it there.", spot(c.at_mm)), c.at_mm))
    return [] if tangled and not out else or_ok(out, "CROSSING", "Nothing crosses or touches.")


def _nesting(shapes: Sequence[RunArea], spots: Sequence[Place], wanted: int) -> list[Finding]:
    """The largest contour is the part, all else a hole in it, and nothing lies in a hole; unless more are expected."""
    areas = [s for s in shapes if s.depth is not None]
    if not areas:
        return []
    part = areas[0]
    out: list[Finding] = []
    parts = [part]
    for s in areas[1:]:
        at = s.centre_mm
        share = float(contains(part.ring, s.ring[:: max(1, len(s.ring) // 50)]).mean())
        if 0 < share < 1:
            continue  # it crosses the part's outline, and that is told
        if wanted > 1:  # whoever expects several parts may lay small ones beside and into large ones
            if not is_hole(s):
                parts.append(s)
        elif s.depth == 0 and max(s.size_mm) < STRAY_SHARE * max(part.size_mm):
            words = "A contour of {} by {} at {} lies outside the part. Move it in or delete it."
            text = said(words, length(s.size_mm[0], 2), length(s.size_mm[1], 2), spot(at))
            out.append(finding("NESTED", text, at))
        elif s.depth == 0:
            parts.append(s)
        elif s.depth is not None and s.depth > 1:
            text = said("A contour at {} lies in a hole: it would fall out with the waste. Delete it.", spot(at))
            out.append(finding("NESTED", text, at))
    if len(part.ring) and spots:
        inside = np.any([contains(one.ring, np.array(spots)) for one in parts], axis=0)
        out += [
            finding("NESTED", said("The drill spot at {} lies outside the part. Move it.", spot(at)), at)
            for at, ok in zip(spots, inside, strict=True)
            if not ok
        ]
    count: list[Finding] = []
    if wanted > 1 and len(parts) != wanted:
        outer = f"{len(parts)} outer contour{'s' if len(parts) > 1 else ''}; {wanted} parts were expected."
        count.append(finding("CONTOUR-COUNT", outer, parts[-1].centre_mm))
    elif wanted == 1 and len(parts) > 1:
        several = (
            f"{len(parts)} outer contours: many services hold an order with several parts in one file. Send one part "
        )
        several += f"a file, or say --parts {sum(not is_hole(s) for s in areas)}."
        count.append(finding("CONTOUR-COUNT", several, parts[1].centre_mm))
    holes = sum(s.depth == 1 for s in areas)
    return [
        *or_ok(count, "CONTOUR-COUNT", "One outer contour." if wanted == 1 else f"{wanted} parts, as expected."),
        *or_ok(out, "NESTED", f"{holes} hole{'' if holes == 1 else 's'}, all in the part."),
    ]
