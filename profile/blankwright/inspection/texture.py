"""Are the pieces such that a cutter runs through them smoothly? Too short, too many, flattened curves, polygons."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from blankwright.base.arrays import Array
from blankwright.base.finding import Finding, Level, finding
from blankwright.base.frozen import dataclass
from blankwright.base.said import exact_mm, mm, said
from blankwright.inspection.lines import Followed, Lines
from blankwright.inspection.nesting import RunArea
from blankwright.proof import distance
from blankwright.proof.chains import JOINED_MM, Run
from blankwright.proof.findings import SHORT_MM, SHORTEST_MM, length, or_ok, spot

MANY_PIECES = 500
"""A knife of tangent arcs needs 40 to 120; beyond this a machine's look-ahead stutters (common practice)."""
FLAT_ROW = 12
FLAT_TURN_DEG = (0.02, 15.0)
FLAT_CHORD_MM = 25.0
"""So many lines in a row that turn the same way by such angles, none longer: a curve that was flattened."""
POLYGON_SIDES = 8
POLYGON_SHARE = 0.005
"""A closed row of at least so many lines whose corners are equally far from the middle is meant as a circle."""
SHARP_DEG = 15.0
"""An inner corner that turns by more is sharp: no cutter makes it."""


def short_findings(lines: Lines, runs: Sequence[Run]) -> list[Finding]:
    """Return pieces of no length and pieces that are too short."""
    out: list[Finding] = []
    for tiny in lines.shortest:
        where, which = spot(tiny.at_mm), f"({tiny.kind}, line {tiny.line})"
        if tiny.length_mm <= JOINED_MM:
            text = said("A piece of no length at {} {}: leave it out.", where, which)
            out.append(finding("SHORT-PIECE", text, tiny.at_mm))
            continue
        level: Level = "warning" if tiny.length_mm >= SHORTEST_MM else "error"
        text = said(
            "A piece is only {} long at {} {}; cutters want at least {}.",
            length(tiny.length_mm, 4), where, which, exact_mm(SHORT_MM),
        )  # fmt: skip
        out.append(finding("SHORT-PIECE", text, tiny.at_mm, level))
    if not runs:
        return out
    return or_ok(out, "SHORT-PIECE", said("The shortest piece is {} long.", length(shortest_mm(runs))))


def shortest_mm(runs: Sequence[Run]) -> float:
    """Return the length of the shortest piece of all runs [mm]."""
    return min(float(distance.pieces_of(r.vertices, r.closed).length.min()) for r in runs)


def piece_findings(runs: Sequence[Run]) -> list[Finding]:
    """Return contours with more pieces than a cutter likes."""
    if not runs:
        return []
    out = []
    for run in runs:
        if run.pieces > MANY_PIECES:
            text = f"A contour has {run.pieces} pieces; above {MANY_PIECES} some machines jerk. Fit arcs to it."
            out.append(finding("PIECES", text, run.vertices[0, :2], "warning"))
    return or_ok(out, "PIECES", f"{sum(r.drawn for r in runs)} lines and arcs in all.")


def curve_findings(followed: Sequence[Followed], lines: Lines) -> list[Finding]:
    """Return splines and ellipses: many cutters cannot read them."""
    out: list[Finding] = []
    for code, kind, word in (("SPLINE", "SPLINE", "spline"), ("ELLIPSE", "ELLIPSE", "ellipse")):
        found = []
        for f in followed:
            if f.item.kind != kind:
                continue
            how = f"({f.item.kind}, line {f.item.line})"
            text = f"A {word} {how}: many cutters cannot read one; it must become arcs."
            if word == "ellipse":
                text = f"An ellipse {how}: many cutters cannot read one; it must become arcs."
            if f.deviation_mm is None:
                text += f" It {f.why}: draw it again." if f.item.trouble else f" It cannot be followed: {f.why}."
            elif f.item.trouble:
                text += f" It {f.item.trouble}, for which some readers refuse the whole file."
            found.append(finding(code, text, lines.place(f.item)))
        out += or_ok(found, code, f"No {word}." if word == "spline" else "No ellipse.")
    for f in followed:
        if f.item.kind not in {"SPLINE", "ELLIPSE"} and (f.why or f.item.trouble):
            text = f"{f.item.kind} (line {f.item.line}) {f.why or f.item.trouble}."
            out.append(finding("CONTENT", text, lines.place(f.item)))
    return out


def flat_findings(shapes: Sequence[RunArea]) -> list[Finding]:
    """Return curves that were flattened to short lines, and polygons that are meant as round holes."""
    flat: list[Finding] = []
    rounds: list[Finding] = []
    for shape in shapes:
        circle = _polygon_circle(shape)
        if circle is not None:
            text = said(
                f"A round of {{}} diameter at {{}} is a polygon of {shape.run.pieces} lines; draw a circle.",
                length(2 * circle), spot(shape.centre_mm),
            )  # fmt: skip
            rounds.append(finding("ROUND", text, shape.centre_mm, "warning"))
            continue
        row = _flattened(shape.run)
        if row is not None:
            text = said(
                f"{row.lines} short lines in a row stand for a curve, from {{}} on: the cut comes out with facets. "
                "Export arcs, not lines.", spot(row.at),
            )  # fmt: skip
            flat.append(finding("FLATTENED", text, row.at, "warning"))
    if not shapes:
        return []
    return [*or_ok(flat, "FLATTENED", "No curve was flattened to lines."), *or_ok(rounds, "ROUND", "No round polygon.")]


def _polygon_circle(shape: RunArea) -> float | None:
    """Return the radius [mm] of the circle that a polygon stands for, or None."""
    v = shape.run.vertices
    if not shape.run.closed or len(v) < POLYGON_SIDES or np.abs(v[:, 2]).max() > 1e-9:
        return None
    radii = np.hypot(*(v[:, :2] - v[:, :2].mean(axis=0)).T)
    sides = np.hypot(*(np.roll(v[:, :2], -1, axis=0) - v[:, :2]).T)
    even = np.ptp(radii) <= POLYGON_SHARE * radii.mean() and sides.max() <= 1.2 * sides.min()
    return float(radii.mean()) if even else None


@dataclass(frozen=True)
class _Row:
    lines: int
    at: tuple[float, float]


def _flattened(run: Run) -> _Row | None:
    """Return the longest row of short lines that turn the same way, when it is long enough."""
    pieces = distance.pieces_of(run.vertices, run.closed)
    n = len(pieces)
    if n < FLAT_ROW:
        return None
    after = np.roll(np.arange(n), -1)
    turn = np.degrees(
        np.arctan2(_cross(pieces.leaving, pieces.tangent[after]), _dot(pieces.leaving, pieces.tangent[after]))
    )
    short = (pieces.curvature == 0) & (pieces.length < FLAT_CHORD_MM)
    size = np.abs(turn)
    gentle = short & short[after] & (size > FLAT_TURN_DEG[0]) & (size < FLAT_TURN_DEG[1])
    if not run.closed:
        gentle[-1] = False
    state = np.where(gentle, np.sign(turn), 0)
    best, begin, count = (0, 0), 0, 0
    for k, s in enumerate(np.concatenate([state, state]) if run.closed else state):
        if s != 0 and count and s == state[(k - 1) % n]:
            count += 1
        else:
            begin, count = k, int(s != 0)
        best = max(best, (min(count, n), begin))
    if best[0] < FLAT_ROW:
        return None
    x, y = run.vertices[best[1] % n, :2]
    return _Row(best[0] + 1, (float(x), float(y)))


def _cross(a: Array, b: Array) -> Array:
    return np.asarray(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0])


def _dot(a: Array, b: Array) -> Array:
    return np.asarray((a * b).sum(axis=1))


def _of_design(one: Finding, design: str) -> Finding:
    """Return a finding with what a maker of that design should know."""
    more = f" The file says that it is of design {design}; in the allowance of that it would be ground away."
    return replace(one, line=one.line.then(more))


def inner_findings(shapes: Sequence[RunArea], kerf_mm: float | None, design: str | None) -> list[Finding]:
    """Return inner corners and bends that a cutter of this kerf cannot follow.

    Args:
        shapes: The contours.
        kerf_mm: Full width of the slot [mm]; None when the process is not known: then sharp corners only.
        design: Code of the design that the file says it was made from, or None.
    """
    least, where, out = np.inf, (0.0, 0.0), []
    half_kerf_mm = 0.0 if kerf_mm is None else kerf_mm / 2
    for shape in shapes:
        if shape.depth is None or not shape.run.closed or shape.run.circle is not None or _polygon_circle(shape):
            continue
        pieces = distance.pieces_of(shape.run.vertices, closed=True)
        # the steel lies inside of an outer contour and outside of a hole
        sign = (-1.0 if shape.clockwise else 1.0) * (1.0 if shape.depth % 2 == 0 else -1.0)
        before = np.roll(pieces.leaving, 1, axis=0)
        turn = np.degrees(np.arctan2(_cross(before, pieces.tangent), _dot(before, pieces.tangent))) * sign
        sharp = np.flatnonzero(turn < -SHARP_DEG)
        if len(sharp):
            x, y = pieces.start[sharp[0]]
            more = f" and {len(sharp) - 1} more" if len(sharp) > 1 else ""
            text = said(f"A sharp inner corner at {{}}{more}: a cutter leaves a radius of ", spot((x, y)))
            text = text.then("half its kerf") if kerf_mm is None else text.then("about {}", mm(half_kerf_mm))
            text = text.then(", and steel cracks from a corner. Round it.")
            out.append(finding("INNER-RADIUS", text, (x, y), "warning"))
        inner = np.flatnonzero(pieces.curvature * sign < -1e-9)
        if len(inner):
            at = int(inner[np.argmax(np.abs(pieces.curvature[inner]))])
            radius, place = 1 / abs(float(pieces.curvature[at])), pieces.start[at]
            if radius < least:
                least, where = radius, (float(place[0]), float(place[1]))
            if radius < half_kerf_mm - 1e-6:
                text = said(
                    "The inner bend at {} has a radius of {}; half the kerf is {}. Widen it.",
                    spot(place), length(radius), mm(half_kerf_mm, 3),
                )  # fmt: skip
                out.append(finding("INNER-RADIUS", text, place, "warning"))
    if not shapes:
        return []
    if design is not None:  # a comment in a file proves nothing: it may add words, and changes no level
        out = [_of_design(one, design) for one in out]
    ok = said("There is no inner bend.")
    if np.isfinite(least):
        ok = said("The tightest inner bend has a radius of {}.", mm(least))
    done = or_ok(out, "INNER-RADIUS", ok)
    return done if out or not np.isfinite(least) else [finding("INNER-RADIUS", ok, where, "ok")]
