"""Does the written file hold what the design asked for? Checked on what was read back, and on nothing else.

The clearance between the finished outline and the cut contour is measured twice: in closed form
(`distance`), and with GEOS on fine polylines. A file passes only when both agree.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from blankwright.base.arrays import Array, Place
from blankwright.base.errors import GeometryError, unknown
from blankwright.base.finding import Finding, finding
from blankwright.base.frozen import dataclass
from blankwright.base.said import mm, said
from blankwright.base.units import MM_PER_INCH
from blankwright.geometry.outline import Outline
from blankwright.proof import distance
from blankwright.proof.excess import excess
from blankwright.proof.findings import (
    INSUNITS,
    contour_findings,
    file_findings,
    length,
    or_ok,
    size_findings,
    spot,
)
from blankwright.proof.holes import ExpectedHole, hole_findings, holes_inside
from blankwright.proof.reader import Contour, CutDrawing
from blankwright.proof.strokes import Slot, what_is_left

AT_LEAST_MM = 1e-6
"""What "at least" may miss: written coordinates have finite digits, and nobody can measure a nanometre."""
AGREE_MM = 0.002
"""The two measurements must agree within this: twice what two polylines can err together."""
FLAT_MM = 0.0005
"""Largest distance between an arc and its chord in the polylines given to GEOS."""
STEP_MM = 0.25
"""Largest step along the finished outline in those polylines."""
SPARE_MM = 0.0045
"""How much further out than asked the contour may run: it is drawn 0.004 mm out, so that rounding errs safely."""
MAX_POINTS = 200_000
LONGEST_MM = 10_000.0
"""Limits on what is measured; a knife needs a tenth. Beyond them the file is refused, not measured slowly."""


_Measured = tuple[float | None, Place | None, float | None, Place | None]
"""Least clearance and where, least margin over the loss and where."""
NOT_MEASURED: _Measured = (None, None, None, None)


@dataclass(frozen=True, eq=False)
class Expected:
    """What the file must hold, said of the finished knife alone: nothing of it comes from whoever drew the file.

    Args:
        finished: The finished outline.
        asked_mm: (n,) least clearance asked for, for each finished piece [mm].
        loss_mm: (n,) what cutting and finishing may take, for each finished piece [mm].
        holes: All holes of the finished knife, with how each is made.
        unit: "mm" or "in", the unit the file must name.
        marks: Whether holes that are drilled are marked by a point; else they are not in the file.
        deviation_mm: Greatest distance of chords from an arc, 0 for arcs [mm].
        slot: What the path of the cutter's middle must leave; None when the file holds the part itself.

    Raises:
        GeometryError: An array of the wrong length, a negative or not finite number, an endless outline.
        RequestError: An unknown unit.
    """

    finished: Outline
    asked_mm: Array
    loss_mm: Array
    holes: tuple[ExpectedHole, ...]
    unit: str
    marks: bool
    deviation_mm: float
    slot: Slot | None = None

    def __post_init__(self) -> None:
        for name in ("asked_mm", "loss_mm"):
            values = np.array(getattr(self, name), dtype=np.float64)
            if values.shape != (len(self.finished),) or not (np.isfinite(values) & (values >= 0)).all():
                raise GeometryError(f"{name} needs one length of 0 or more for each of {len(self.finished)} pieces")
            values.setflags(write=False)
            object.__setattr__(self, name, values)
        if not (math.isfinite(self.deviation_mm) and self.deviation_mm >= 0):
            raise GeometryError("deviation_mm needs a length of 0 or more")
        if self.finished.perimeter_mm > LONGEST_MM:
            raise GeometryError(f"the finished outline is longer than {LONGEST_MM / 1000:.0f} m; no knife is")
        if self.unit not in INSUNITS:
            raise unknown("unit", self.unit, INSUNITS)

    @property
    def kerf_mm(self) -> float:
        """Full width of the slot on a cutter's path, 0 when the file holds the part itself [mm]."""
        return self.slot.kerf_mm if self.slot else 0.0

    @property
    def clear_mm(self) -> Array:
        """(n,) least distance of the contour in the file: what is asked, and half the slot on a path [mm]."""
        return self.asked_mm + self.kerf_mm / 2

    @property
    def taken_mm(self) -> Array:
        """(n,) what of that distance the cut may take at its worst: the loss, and half the slot on a path [mm]."""
        return self.loss_mm + self.kerf_mm / 2

    @property
    def spare_mm(self) -> float:
        """How much further out the contour may run [mm]; chords of a hollow stand twice their deviation out."""
        return SPARE_MM + 2 * self.deviation_mm

    @property
    def sizes_mm(self) -> tuple[Place, Place]:
        """Least and greatest width and height that the contour may have [mm]."""
        low, high = distance.boxes(distance.pieces_of(self.finished.vertices, closed=True))
        own, most = self.clear_mm[:, None], 2 * (float(self.clear_mm.max()) + self.spare_mm)
        least = (high + own).max(axis=0) - (low - own).min(axis=0)
        return _pair(least), _pair(high.max(axis=0) - low.min(axis=0) + most)


@dataclass(frozen=True)
class Proof:
    """What was measured on the file, and what follows. None where something could not be measured.

    Args:
        least_mm: Least clearance between finished outline and cut contour [mm]; negative when outside.
        at_mm: Where on the finished outline [mm].
        worst_case_part_mm: Least of clearance minus what the process may take [mm].
        worst_at_mm: Where on the finished outline [mm].
        size_mm: Overall width and height of the cut contour [mm].
        contour_count: Contours and circles on the layer CUT.
        piece_count: Lines and arcs in the outer contour.
        shortest_piece_mm: Shortest of them [mm].
        unit: "mm", "in" or another unit's $INSUNITS number as the file names it; None when it names none.
        findings: All findings, at least one for each topic that could be checked.
    """

    least_mm: float | None
    at_mm: Place | None
    worst_case_part_mm: float | None
    worst_at_mm: Place | None
    size_mm: Place | None
    contour_count: int
    piece_count: int
    shortest_piece_mm: float | None
    unit: str | None
    findings: tuple[Finding, ...]

    @property
    def ok(self) -> bool:
        """Whether nothing is wrong and everything was measured."""
        flat = [self.least_mm, self.worst_case_part_mm, self.shortest_piece_mm]
        for pair in (self.at_mm, self.worst_at_mm, self.size_mm):
            flat += [None] if pair is None else list(pair)
        measured = all(v is not None and math.isfinite(v) for v in flat)
        return measured and not any(f.level == "error" for f in self.findings)


def prove(drawing: CutDrawing, expected: Expected, *, of_file: bool = True) -> Proof:
    """Check a drawing that was read back from a file against what it must hold.

    Args:
        drawing: From `reader.read_dxf`, or the cuts of a program from `played.play`.
        expected: From the design.
        of_file: Whether unit, extents and layers of a drawing's file are judged as well; a program has none.

    Returns:
        Measurements and findings; a broken drawing gives error findings, never an exception.
    """
    factor = drawing.unit_mm or (MM_PER_INCH if expected.unit == "in" else 1.0)
    found = list(file_findings(drawing, expected.unit)) if of_file else []
    scale = np.array([factor, factor, 1.0])
    contours = [replace(c, vertices=c.vertices * scale) for c in drawing.contours if c.layer.upper() == "CUT"]
    cut = [(c.x, c.y, c.diameter) for c in drawing.circles if c.layer.upper() == "CUT"]
    drill = [(p.x, p.y) for p in drawing.points if p.layer.upper() == "DRILL"]
    circles, spots = factor * np.reshape(cut, (-1, 3)), factor * np.reshape(drill, (-1, 2))
    bridged: NDArray[np.bool_] | None = None
    if expected.slot is not None:
        contours, circles, bridged, problems = _ways(contours, circles, expected, expected.slot)
        found += problems
    sound, problems = contour_findings(contours)
    found += problems
    outer = max(sound, key=lambda v: float(np.prod(_size(v))), default=None)
    if bridged is not None and outer is not None and len(bridged) != len(outer):
        outer = None  # a piece of no length, which is told already: bridges are no longer known
    size: Place | None = None
    measured = NOT_MEASURED
    if outer is not None:
        size = _size(outer)
        slip, problems = size_findings(size, *expected.sizes_mm)
        found += problems
        if not slip:  # with a wrong unit every place is wrong for one and the same reason
            found += hole_findings(circles, spots, expected.holes, marks=expected.marks, kerf_mm=expected.kerf_mm)
            found += holes_inside(circles, spots, outer, _polygon(outer))
            measured, problems = _cleared(outer, expected, None if bridged is None else ~bridged)
            found += problems
    lengths = None if outer is None else distance.pieces_of(outer, closed=True).length
    return Proof(
        least_mm=measured[0],
        at_mm=measured[1],
        worst_case_part_mm=measured[2],
        worst_at_mm=measured[3],
        size_mm=size,
        contour_count=len(contours) + len(circles),
        piece_count=0 if outer is None else len(outer),
        shortest_piece_mm=None if lengths is None else float(lengths.min()),
        unit={4: "mm", 1: "in", None: None}.get(drawing.insunits, str(drawing.insunits)),
        findings=tuple(found),
    )


def _ways(
    contours: list[Contour], circles: Array, expected: Expected, slot: Slot
) -> tuple[list[Contour], Array, NDArray[np.bool_] | None, list[Finding]]:
    """Return what the cuts of a path go round, as the contour and the circles that a plain file would hold."""
    found = []
    whole = [c for c in contours if c.closed]
    for c in whole:
        text = f"The {c.kind} in line {c.line} is closed: on a path every cut is open, with its way in and out."
        found.append(finding("PATH", text, c.vertices[0, :2]))
    strokes = [c.vertices for c in contours if not c.closed]
    left = what_is_left(strokes, slot, expected.finished, expected.clear_mm)
    ring = [] if left.outline is None else [Contour("LWPOLYLINE", "CUT", left.outline, True, contours[0].line)]
    bridged = None if left.outline is None else left.bridged
    return [*whole, *ring], np.vstack([circles, left.holes]), bridged, [*found, *left.findings]


def _size(vertices: Array) -> Place:
    low, high = distance.boxes(distance.pieces_of(vertices, closed=True))
    width, height = high.max(axis=0) - low.min(axis=0)
    return float(width), float(height)


def _polygon(outer: Array) -> Any:
    """Return the GEOS polygon of a contour, prepared; None when it is no simple polygon or too large."""
    import shapely  # noqa: PLC0415 - heavy

    points, _ = distance.flatten(outer, FLAT_MM, math.inf, MAX_POINTS)
    if len(points) < 3:
        return None
    polygon = shapely.Polygon(points)
    if not polygon.is_valid:
        return None
    shapely.prepare(polygon)
    return polygon


def _lines(outer: Array, cut: NDArray[np.bool_]) -> Any:
    """Return the pieces of a contour that are cut, as GEOS lines: a bridge between them is none."""
    import shapely  # noqa: PLC0415 - heavy

    points, piece = distance.flatten(outer, FLAT_MM, math.inf, MAX_POINTS)
    steps = np.stack([points, np.roll(points, -1, axis=0)], axis=1)
    return shapely.multilinestrings(shapely.linestrings(steps[cut[piece]]))


def _by_geos(finished: Outline, polygon: Any, ring: Any) -> tuple[Array, Array, Array]:
    """Measure with GEOS, for each finished piece: distance to the contour, how far it is outside, and where.

    Both outlines are polylines no further than FLAT_MM from their arcs. A sample counts as outside when it
    is not in the polygon and further from it than the two polylines can err together.
    """
    import shapely  # noqa: PLC0415 - heavy

    points, piece = distance.flatten(finished.vertices, FLAT_MM, STEP_MM, MAX_POINTS)
    shapely.prepare(ring)
    last = np.flatnonzero(np.diff(piece, append=-1))  # each piece's polyline ends where the next one begins
    rows = np.insert(np.arange(len(points)), last + 1, (last + 1) % len(points))
    owner = np.insert(piece, last + 1, piece[last])
    least = shapely.distance(ring, shapely.linestrings(points[rows], indices=owner))
    outside, where = np.zeros(len(finished)), np.zeros((len(finished), 2))
    out = np.flatnonzero(~shapely.contains_xy(polygon, points[:, 0], points[:, 1]))
    depth = shapely.distance(ring, shapely.points(points[out]))
    for row in np.argsort(depth, kind="stable"):  # the deepest of each piece comes last and stays
        if depth[row] > 2 * FLAT_MM:
            outside[piece[out[row]]], where[piece[out[row]]] = depth[row], points[out[row]]
    return np.asarray(least), outside, where


def _cleared(outer: Array, expected: Expected, cut: NDArray[np.bool_] | None) -> tuple[_Measured, list[Finding]]:
    """Measure the clearance twice and judge it against what was asked and what the process may take."""
    polygon = _polygon(outer)
    if polygon is None:
        return _unmeasured("the cut contour is no simple outline")
    closed_form, places = distance.clearance(expected.finished, outer, cut)
    ring = polygon.exterior if cut is None else _lines(outer, cut)
    by_geos, outside, deepest = _by_geos(expected.finished, polygon, ring)
    places = np.where((outside > 0)[:, None], deepest, places)
    least = np.where(outside > 0, -outside, closed_form)
    margin = least - expected.taken_mm
    if not (np.isfinite(least).all() and np.isfinite(places).all()):
        return _unmeasured("the contour holds unusable numbers")
    i, j = int(distance.first_of_least(least, places)), int(distance.first_of_least(margin, places))
    measured = (float(least[i]), _pair(places[i]), float(margin[j]), _pair(places[j]))
    regions = expected.finished.regions
    findings = _inside(outside, places, regions) + _two_ways(closed_form, by_geos, places)
    short = least - expected.clear_mm
    problems = []
    for row in _worst_of_each(short, short < -AT_LEAST_MM, regions):
        text = said(
            "{}: {} is left at {}, asked for is {}.",
            _name(regions[row]), mm(least[row], 4), spot(places[row], 3), mm(expected.clear_mm[row], 4),
        )  # fmt: skip
        problems.append(finding("CLEARANCE", text, places[row]))
    text = said("The finished outline keeps at least {} inside the cut outline.", mm(least[i], 4))
    ok = or_ok(problems, "CLEARANCE", text)
    findings += ok if problems else [finding("CLEARANCE", text, places[i], level="ok")]
    return measured, [*findings, *_oversize(outer, expected, cut), *_worst_case(margin, expected, places)]


def _oversize(outer: Array, expected: Expected, cut: NDArray[np.bool_] | None) -> list[Finding]:
    """Nowhere may more be left than was asked for: a part that is scaled or drawn too far out."""
    over, places, nearest = excess(outer, expected.finished.vertices, expected.clear_mm)
    over = over - expected.spare_mm
    if cut is not None:  # two places on each piece
        over = np.where(np.repeat(cut, 2), over, -np.inf)
    names = tuple(expected.finished.regions[i] for i in nearest)
    out = []
    for row in _worst_of_each(-over, ~(over <= 0), names):
        more = length(over[row] + expected.spare_mm, 4)
        text = said("{}: {} more than asked for is left at {}.", _name(names[row]), more, spot(places[row], 3))
        out.append(finding("OVERSIZE", text, places[row]))
    return or_ok(out, "OVERSIZE", "Nowhere is more left than was asked for.")


def _unmeasured(why: str) -> tuple[_Measured, list[Finding]]:
    return NOT_MEASURED, [finding("CLEARANCE", f"The clearance cannot be measured: {why}.")]


def _worst_case(margin: Array, expected: Expected, places: Array) -> list[Finding]:
    """The part that the process makes at its worst must still contain the finished outline."""
    regions, out = expected.finished.regions, []
    for row in _worst_of_each(margin, margin < -AT_LEAST_MM, regions):
        taken = mm(expected.loss_mm[row], 3)
        text = said(
            "{}: the process may take {}, but {} were asked for: up to {} may be missing at {}. Ask for more than {} "
            "there, or choose a finer process.",
            _name(regions[row]), taken, mm(expected.asked_mm[row], 3), mm(-margin[row], 3), spot(places[row], 3), taken,
        )  # fmt: skip
        out.append(finding("WORST-CASE", text, places[row]))
    row = int(distance.first_of_least(margin, places))
    text = said("After all that the process may take at least {} is left.", mm(margin[row], 3))
    return out or [finding("WORST-CASE", text, places[row], level="ok")]


def _inside(outside: Array, places: Array, regions: tuple[str, ...]) -> list[Finding]:
    out = []
    for row in _worst_of_each(-outside, outside > 0, regions):
        text = said("{} reaches {} out of the cut outline.", _name(regions[row]), mm(outside[row], 3))
        out.append(finding("INSIDE", text, places[row]))
    return or_ok(out, "INSIDE", "The finished outline lies inside the cut outline.")


def _two_ways(closed_form: Array, by_geos: Array, places: Array) -> list[Finding]:
    apart = np.abs(closed_form - by_geos)
    row = int(np.where(np.isfinite(apart), apart, np.inf).argmax())
    if not apart[row] <= AGREE_MM:
        text = said(
            "Two measurements of the clearance disagree at {}: {} and {}. Do not cut; please report this.",
            spot(places[row], 3), length(closed_form[row], 4), length(by_geos[row], 4),
        )  # fmt: skip
        return [finding("TWO-WAYS", text, places[row])]
    text = said("Closed form and polylines agree on the clearance within {}.", mm(apart[row], 4))
    return [finding("TWO-WAYS", text, level="ok")]


def _worst_of_each(value: Array, bad: NDArray[np.bool_], regions: tuple[str, ...]) -> list[int]:
    """Return the row of the least value among the bad ones of each region."""
    worst: dict[str, int] = {}
    for row in np.flatnonzero(bad):
        name = regions[row]
        if name not in worst or value[row] < value[worst[name]]:
            worst[name] = int(row)
    return list(worst.values())


def _name(region: str) -> str:
    return region.capitalize() or "Outline"


def _pair(row: Array) -> Place:
    return float(row[0]), float(row[1])
