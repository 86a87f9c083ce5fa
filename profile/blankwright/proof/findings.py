"""What an inspection found, and what can be found in a drawing without knowing its design.

One finding is one sentence for the maker, with a stable code and a place.

Codes never change their meaning once released: scripts and the JSON report are read by them. An "ok"
finding carries the same code as the fault it excludes, so that a report shows what was looked at.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

import numpy as np

from blankwright.base.arrays import Array, Place
from blankwright.base.errors import GeometryError
from blankwright.base.finding import Finding, Level, finding
from blankwright.base.said import Line, Size, Spot, Value, exact_mm, mm, said
from blankwright.proof import distance
from blankwright.proof.reader import Contour, CutDrawing
from blankwright.proof.selfcontact import TOUCH_MM, self_contacts

CODES: dict[str, str] = {
    "UNIT": "The file names its unit, and the numbers are in that unit.",
    "EXTENTS": "The extents in the header are set and true.",
    "LAYERS": "Every layer that is used is declared, and the cutting layers are shown.",
    "CONTENT": "Layer CUT holds closed polylines and circles, layer DRILL holds points, and nothing else.",
    "CONTOUR-CLOSED": "Every contour to be cut is closed.",
    "CONTOUR-COUNT": "There is exactly one outer contour to be cut.",
    "DOUBLED": "No contour and no hole is there twice.",
    "CROSSING": "No contour crosses or touches itself or another one.",
    "SHORT-PIECE": "No line or arc of a contour is shorter than a cutter can use.",
    "PATH": "Every cut of a path comes and goes in the waste, goes round, and leaves the bridges that were asked for.",
    "SIZE": "The overall size of the cut outline is the one asked for.",
    "HOLES": "Every hole of the finished knife is there, in its place and inside its finished circle, and no other.",
    "HOLE-MISSING": "A hole that was asked for is not in the file.",
    "HOLE-EXTRA": "The file has a hole that was not asked for.",
    "HOLE-PLACE": "A hole is not where it should be.",
    "HOLE-DIAMETER": "A hole is not cut to its finished diameter, or not as far under it as a reamer wants.",
    "INSIDE": "The finished outline and all holes lie inside the cut outline.",
    "OVERSIZE": "Nowhere is more left outside the finished outline than was asked for.",
    "CLEARANCE": "Everywhere at least the asked allowance is left outside the finished outline.",
    "TWO-WAYS": "Two independent measurements of the clearance agree.",
    "WORST-CASE": "After all that the process may take away the finished outline is still whole.",
    "MARKS": "Marks lie on their own layer, inside the finished part, clear of its edge and of what is cut.",
    "FILE": "The file is a whole ASCII DXF file, and every number in it can be read.",
    "JOINT": "No more than two ends of lines or arcs meet at one place.",
    "NESTED": "Every hole lies in the part, and nothing lies in a hole.",
    "PIECES": "The contours have no more lines and arcs than a cutter runs through smoothly.",
    "FLATTENED": "Curves are arcs, not rows of short lines.",
    "ROUND": "Round holes are circles, not polygons.",
    "SPLINE": "There is no spline: many cutters cannot read one.",
    "ELLIPSE": "There is no ellipse: many cutters cannot read one.",
    "TEXT": "There is no text and no dimension among the cuts.",
    "HATCH": "There is no hatching and no filled area among the cuts.",
    "BLOCK": "Nothing to be cut stands in a block.",
    "THREE-D": "Everything lies flat in one plane, seen from above.",
    "LAYOUT": "Everything to be cut is in model space.",
    "POINTS": "There is no stray point; points are drill spots on layer DRILL.",
    "HOLE-SIZE": "Every hole is large enough for the process and the stock.",
    "WALL": "Enough steel is left between holes, and from a hole to the edge.",
    "INNER-RADIUS": "No inner bend is tighter than the cutter can follow.",
}
"""Code -> one line of what it is about."""

SAME_MM = 0.001
"""Two sizes or places are the same within this: a tenth of the finest cutting tolerance in the trade."""
SHORTEST_MM = 0.003
"""A shorter piece carries no shape and is a fault of the writer."""
SHORT_MM = 0.01
"""Some cutters stumble over pieces shorter than this; worth a look."""
MAX_PIECES = 3000
"""A knife needs a tenth of these pieces; beyond it the contour is refused, not measured slowly."""
MAX_CONTOURS, MAX_COMPARED, MAX_COMPARED_PIECES = 50, 5, 500
"""More than one contour is an error already: so many are measured, and so many compared with each other."""

MOST_SHOWN = 20
"""So many problems of one kind are told one by one."""

CUTTING_LAYERS = {"CUT": {"LWPOLYLINE", "POLYLINE", "CIRCLE"}, "DRILL": {"POINT"}}
BESIDE = {"FINISHED", "GRIND", "NOTES"}
"""Layers of ours that are not cut."""
OLD_RELEASE = "AC1009"
"""R12: knows no LWPOLYLINE and no $INSUNITS (DXF reference of that release); its header may hold one all the same."""
METRIC, IMPERIAL = {4, 5, 6, 13, 14}, {1, 2, 8, 9, 10}
INSUNITS = {"mm": 4, "in": 1}
SLIPS = {
    25.4: "inches and millimetres were mixed", 10.0: "centimetres and millimetres were mixed",
    1000.0: "metres and millimetres were mixed", 96 / 25.4: "screen points (96 to the inch) taken for mm",
}  # fmt: skip


def file_findings(drawing: CutDrawing, unit: str | None) -> tuple[Finding, ...]:
    """Check what can be checked without a design: unit, extents, layers and what lies on them.

    Args:
        drawing: From `reader.read_dxf`.
        unit: "mm" or "in" when the file must be in it, None when any named unit will do.
    """
    return (*_unit(drawing, unit), *_extents(drawing), *_layers(drawing), *_content(drawing))


def or_ok(problems: list[Finding], code: str, message: str | Line) -> list[Finding]:
    """Return the problems of a topic, at most twenty, or one "ok" when there are none."""
    if not problems:
        return [finding(code, message, level="ok")]
    if len(problems) > MOST_SHOWN:
        rest = problems[MOST_SHOWN:]
        worst: Level = "error" if any(f.level == "error" for f in rest) else "warning"
        return [*problems[:MOST_SHOWN], finding(code, f"and {len(rest)} more of this kind.", level=worst)]
    return problems


def spot(at: Iterable[float], digits: int = 2) -> Spot:
    """Return a place [mm] for a sentence."""
    x, y = (round(float(v), digits) + 0.0 for v in at)
    return Spot(x, y, digits)


def length(value_mm: float, digits: int = 3) -> Value:
    """Return a length that was measured in a file [mm] for a sentence; a broken file may hold one without end."""
    return mm(value_mm, digits) if math.isfinite(value_mm) else "no length that can be measured"


def sized(size_mm: Place) -> Value:
    """Return a width and height that were measured in a file [mm] for a sentence."""
    return Size(size_mm, 3) if all(map(math.isfinite, size_mm)) else "no size that can be measured"


def show_place(p: Iterable[float]) -> str:
    """Write a place in the file's own unit: "(12.500, -3.000)"."""
    return "({:.3f}, {:.3f})".format(*p)


def _unit(drawing: CutDrawing, unit: str | None) -> list[Finding]:
    names, measure = drawing.insunits, drawing.measurement
    out: list[Finding] = []
    if drawing.unit_mm is None:
        if drawing.release == OLD_RELEASE:
            text = "release R12 cannot name a unit: say it in the file name and in the order."
            return [finding("UNIT", f"The file names no unit; {text}", level="warning")]
        out.append(finding("UNIT", f"The file names no unit that is known ($INSUNITS is {names}); set it to 4 for mm."))
    elif unit is not None and names != INSUNITS[unit]:
        out.append(
            finding(
                "UNIT",
                f"The file says $INSUNITS {names}, it must be {INSUNITS[unit]} ({unit}): set the unit.",
            )
        )
    if measure is None:
        level: Level = "warning" if unit is None else "error"
        out.append(finding("UNIT", "$MEASUREMENT is missing; set it to 1 for mm, 0 for inches.", level=level))
    elif (names in METRIC and measure != 1) or (names in IMPERIAL and measure != 0):
        out.append(finding("UNIT", f"$INSUNITS {names} and $MEASUREMENT {measure} contradict each other."))
    return or_ok(out, "UNIT", f"The file names its unit ($INSUNITS {names}, $MEASUREMENT {measure}).")


def _extents(drawing: CutDrawing) -> list[Finding]:
    if drawing.extents is None:
        return [finding("EXTENTS", "The header gives no extents ($EXTMIN, $EXTMAX); some viewers open on nothing.")]
    true = _bounds(drawing)
    if true is None:
        return [finding("EXTENTS", "The drawing holds no line, arc, circle or point.")]
    stated = np.array(drawing.extents)
    tolerance = 10 * SAME_MM / (drawing.unit_mm or 1.0)  # viewers only need it roughly, but a slip must show
    off = stated - true
    if drawing.others:  # text and the like may reach further than what was measured
        off = np.array([max(off[0], 0), max(off[1], 0), min(off[2], 0), min(off[3], 0)])
    if np.abs(off).max() > tolerance:
        header, drawn = (f"{show_place(v[:2])} to {show_place(v[2:])}" for v in (stated, true))
        text = f"The header's extents are {header}, the drawing's {drawn}, in the file's unit."
        return [finding("EXTENTS", text)]
    return [finding("EXTENTS", "The header's extents are those of the drawing.", level="ok")]


def _bounds(drawing: CutDrawing) -> Array | None:
    """Return least x, least y, greatest x, greatest y of all that was read [file units], None when empty."""
    corners = [np.array([[p.x, p.y] for p in drawing.points]).reshape(-1, 2)]
    circles = np.array([[c.x, c.y, c.diameter / 2] for c in drawing.circles]).reshape(-1, 3)
    corners += [circles[:, :2] - circles[:, 2:], circles[:, :2] + circles[:, 2:]]
    rows: list[Array] = []
    for contour in drawing.contours:
        v = contour.vertices
        rows.append(np.vstack([v, v[:1]]) if contour.closed else v.copy())
        rows[-1][-1, 2] = 0.0  # a straight step to the next contour: cannot reach outside of the box
    if rows:
        corners += distance.boxes(distance.pieces_of(np.concatenate(rows), closed=False))
    points = np.concatenate(corners)
    return np.concatenate([points.min(axis=0), points.max(axis=0)]) if len(points) else None


def _layers(drawing: CutDrawing) -> list[Finding]:
    used = {item.layer for group in (drawing.contours, drawing.circles, drawing.points) for item in group}
    used |= {layer for _, layer in (*drawing.others, *drawing.in_blocks)}
    declared = {layer.upper() for layer in drawing.layers}
    out = [
        finding("LAYERS", f"Layer '{name[:40]}' is used but not declared in the layer table.")
        for name in sorted(used)
        if name.upper() not in declared and name != "0"  # layer 0 is in every drawing by the reference
    ]
    out += [
        finding("LAYERS", f"Layer '{name}' is switched off or frozen: nobody will see what is to be cut.")
        for name in drawing.hidden_layers
        if name.upper() in CUTTING_LAYERS
    ]
    return or_ok(out, "LAYERS", _declared(len(used)))


def _declared(count: int) -> str:
    return "The one layer in use is declared." if count == 1 else f"All {count} layers in use are declared."


def _content(drawing: CutDrawing) -> list[Finding]:
    """Only closed polylines and circles on CUT, points on DRILL; nothing hidden in blocks or mirrored."""
    out: list[Finding] = []
    items: list[tuple[str, str, Place | None]] = [(c.kind, c.layer, tuple(c.vertices[0, :2])) for c in drawing.contours]
    items += [("CIRCLE", c.layer, (c.x, c.y)) for c in drawing.circles]
    items += [("POINT", p.layer, (p.x, p.y)) for p in drawing.points]
    items += [(kind, layer, None) for kind, layer in drawing.others]
    for kind, layer, at in items:
        allowed = CUTTING_LAYERS.get(layer.upper())
        if allowed is None and layer.upper() in BESIDE:
            continue
        if allowed is None:
            text = f"{kind} on layer '{layer[:40]}': a cutter may take it for a cut; use FINISHED, GRIND, NOTES."
            out.append(finding("CONTENT", text, at))
        elif kind not in allowed or (kind == "POLYLINE" and drawing.release != OLD_RELEASE):
            names = " and ".join(sorted(allowed - {"POLYLINE"}))
            text = f"{kind} on layer {layer[:40]}: only {names} belong there."
            out.append(finding("CONTENT", text, at))
    for kind, layer in drawing.mirrored:
        if layer.upper() in CUTTING_LAYERS:
            out.append(
                finding("CONTENT", f"{kind} on layer {layer} is drawn from below: some readers cut it mirrored.")
            )
    if drawing.in_blocks:
        cut = any(layer.upper() in CUTTING_LAYERS for _, layer in drawing.in_blocks)
        text = f"{len(drawing.in_blocks)} entities stand in block definitions; a cutter may miss or add them."
        out.append(finding("CONTENT", text, level="error" if cut else "warning"))
    return or_ok(out, "CONTENT", "Only closed polylines and circles on CUT and points on DRILL.")


def contour_findings(contours: list[Contour]) -> tuple[list[Array], list[Finding]]:
    """Return the closed contours that can be measured, and the findings on all of them."""
    out: list[Finding] = []
    closed: list[Array] = []
    for c in contours:
        gap = float(np.hypot(*(c.vertices[0, :2] - c.vertices[-1, :2])))
        if c.closed:
            closed.append(c.vertices)
        elif gap <= SAME_MM:
            ends = f"The ends of the {c.kind} in line {c.line} meet, but it is not marked as closed (flag 70)."
            out.append(finding("CONTOUR-CLOSED", ends, c.vertices[0, :2]))
        else:
            text = said("The {} in line {} is open: {} from its end to its start.", c.kind, str(c.line), length(gap))
            out.append(finding("CONTOUR-CLOSED", text, c.vertices[-1, :2]))
    findings = or_ok(out, "CONTOUR-CLOSED", f"{len(closed)} contour(s) on CUT, all closed.") if contours else []
    count: list[Finding] = []
    if len(closed) != 1:
        count.append(finding("CONTOUR-COUNT", f"{len(closed)} closed contours on layer CUT; there must be one."))
    findings += or_ok(count, "CONTOUR-COUNT", "One outer contour on CUT.")
    small = [v for v in closed[:MAX_CONTOURS] if len(v) <= MAX_PIECES]
    if any(len(v) > MAX_PIECES for v in closed):
        findings.append(finding("CONTOUR-COUNT", f"A contour has more than {MAX_PIECES} pieces; fit arcs to it first."))
    clean = [_without_points(v) for v in small]
    sound = [v for v in clean if len(v) >= 2]
    return sound, [*findings, *_short(small), *_doubled(sound), *_crossing(sound)]


def _without_points(vertices: Array) -> Array:
    """Drop vertices that repeat their successor; they are reported as short pieces already."""
    step = np.roll(vertices[:, :2], -1, axis=0) - vertices[:, :2]
    return vertices[np.hypot(step[:, 0], step[:, 1]) > 0]


def _short(contours: list[Array]) -> list[Finding]:
    out: list[Finding] = []
    shortest = math.inf
    for vertices in contours:
        lengths = distance.pieces_of(vertices, closed=True).length
        shortest = min(shortest, float(lengths.min()))
        for i in np.flatnonzero(~(lengths >= SHORT_MM)):
            text = said(
                "A piece is {} long at {}; cutters want at least {}.",
                length(lengths[i], 6), spot(vertices[i, :2], 3), exact_mm(SHORT_MM),
            )  # fmt: skip
            level: Level = "warning" if lengths[i] >= SHORTEST_MM else "error"
            out.append(finding("SHORT-PIECE", text, vertices[i, :2], level))
    return or_ok(out, "SHORT-PIECE", said("The shortest piece is {} long.", length(shortest))) if contours else []


def _doubled(contours: list[Array]) -> list[Finding]:
    """Compare each closed contour with the ones before it; more than a few are an error already."""
    out: list[Finding] = []
    few = _few(contours)
    for i, one in enumerate(few):
        for other in few[:i]:
            apart = max(distance.from_points(a[:, :2], b).max() for a, b in ((one, other), (other, one)))
            if apart < 10 * SAME_MM:
                text = said("A contour is there twice (apart by at most {}): it would be cut twice.", length(apart, 4))
                out.append(finding("DOUBLED", text, one[0, :2]))
    return or_ok(out, "DOUBLED", "No contour is there twice.") if contours else []


def _crossing(contours: list[Array]) -> list[Finding]:
    out: list[Finding] = []
    few = _few(contours)
    for vertices in contours[:MAX_COMPARED]:
        try:
            contacts = self_contacts(vertices)
        except GeometryError as error:
            out.append(finding("CROSSING", f"The contour cannot be cut: {error}.", vertices[0, :2]))
            continue
        for i, j, at in contacts:
            text = said(f"The contour meets itself at {{}} (pieces {i + 1} and {j + 1}).", spot(at, 3))
            out.append(finding("CROSSING", text, at))
    for i, one in enumerate(few):
        for other in few[:i]:
            least, places = distance.between_pieces(one, other)
            if least.min() < TOUCH_MM:
                where = places[least.argmin()]
                out.append(finding("CROSSING", said("Two contours meet at {}.", spot(where, 3)), where))
    return or_ok(out, "CROSSING", "No contour crosses or touches itself.") if contours else []


def _few(contours: list[Array]) -> list[Array]:
    return [v for v in contours if len(v) <= MAX_COMPARED_PIECES][:MAX_COMPARED]


def size_findings(size: Place, least: Place, most: Place) -> tuple[bool, list[Finding]]:
    """Compare the overall width and height with what the finished knife and its allowance give.

    Args:
        size: What was read [mm].
        least: Least width and height [mm].
        most: Greatest width and height [mm].

    Returns:
        Whether the unit has slipped, and the findings.
    """
    got = sized(size)
    if all(low - SAME_MM <= v <= high for v, low, high in zip(size, least, most, strict=True)):
        text = said("The cut outline measures {}, as the finished knife asks for.", got)
        return False, [finding("SIZE", text, level="ok")]
    asked = sized(least), sized(most)
    out = [finding("SIZE", said("The cut outline measures {}, the finished knife asks for {} to {}.", got, *asked))]
    for factor, why in SLIPS.items():
        for slip, word in ((factor, "large"), (1 / factor, "small")):
            if all(0.999 * low <= v / slip <= 1.001 * high for v, low, high in zip(size, least, most, strict=True)):
                times = f"The part is {factor:.4g} times too {word}"
                text = said(f"{times} ({{}} instead of {{}} to {{}}): {why}.", got, *asked)
                return True, [finding("UNIT", text), *out]
    return False, out
