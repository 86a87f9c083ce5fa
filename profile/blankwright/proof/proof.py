"""Does the written file hold what the design asked for? Checked on what was read back, and on nothing else.

The clearance between the finished outline and the cut contour is measured twice: in closed form
(`distance`), and with GEOS on fine polylines. A file passes only when both agree.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from blankwright.base.errors import GeometryError, unknown
from blankwright.base.finding import Finding, Place, finding
from blankwright.base.units import MM_PER_INCH
from blankwright.geometry.outline import Outline
from blankwright.proof import distance
from blankwright.proof.findings import (
    INSUNITS,
    SAME_MM,
    contour_findings,
    file_findings,
    or_ok,
    show_place,
    size_findings,
)
from blankwright.proof.reader import CutDrawing

Array = NDArray[np.float64]

AT_LEAST_MM = 1e-6
"""What "at least" may miss: written coordinates have finite digits, and nobody can measure a nanometre."""
AGREE_MM = 0.002
"""The two measurements must agree within this: twice what two polylines can err together."""
FLAT_MM = 0.0005
"""Largest distance between an arc and its chord in the polylines given to GEOS."""
STEP_MM = 0.25
"""Largest step along the finished outline in those polylines."""
SHIFT_MM = 10.0
"""A hole further than this from every asked place is another hole, not a shifted one."""
MAX_HOLES = 500
MAX_POINTS = 200_000
LONGEST_MM = 10_000.0
"""Limits on what is measured; a knife needs a tenth. Beyond them the file is refused, not measured slowly."""


_Measured = tuple[float | None, Place | None, float | None, Place | None]
"""Least clearance and where, least margin over the loss and where."""
NOT_MEASURED: _Measured = (None, None, None, None)


@dataclass(frozen=True)
class ExpectedHole:
    """A hole that must be in the file.

    Args:
        x_mm: Centre [mm].
        y_mm: Centre [mm].
        cut_diameter_mm: Diameter to be cut [mm]; None for a drill spot.
    """

    x_mm: float
    y_mm: float
    cut_diameter_mm: float | None

    def __post_init__(self) -> None:
        numbers = [self.x_mm, self.y_mm] + ([] if self.cut_diameter_mm is None else [self.cut_diameter_mm])
        if not all(map(math.isfinite, numbers)) or (self.cut_diameter_mm is not None and self.cut_diameter_mm <= 0):
            raise GeometryError(f"expected hole {self} needs finite numbers and a diameter above 0")


@dataclass(frozen=True, eq=False)
class Expected:
    """What the file must hold.

    Args:
        finished: The finished outline.
        asked_mm: (n,) least clearance asked for, for each finished piece [mm].
        loss_mm: (n,) what cutting and finishing may take, for each finished piece [mm].
        holes: All holes and drill spots.
        size_mm: Overall width and height of the cut outline [mm].
        unit: "mm" or "in", the unit the file must name.

    Raises:
        GeometryError: An array of the wrong length, a negative or not finite number, an endless outline.
        RequestError: An unknown unit.
    """

    finished: Outline
    asked_mm: Array
    loss_mm: Array
    holes: tuple[ExpectedHole, ...]
    size_mm: tuple[float, float]
    unit: str

    def __post_init__(self) -> None:
        for name in ("asked_mm", "loss_mm"):
            values = np.array(getattr(self, name), dtype=np.float64)
            if values.shape != (len(self.finished),) or not (np.isfinite(values) & (values >= 0)).all():
                raise GeometryError(f"{name} needs one length of 0 or more for each of {len(self.finished)} pieces")
            values.setflags(write=False)
            object.__setattr__(self, name, values)
        if self.finished.perimeter_mm > LONGEST_MM:
            raise GeometryError(f"the finished outline is longer than {LONGEST_MM / 1000:.0f} m; no knife is")
        if not all(math.isfinite(v) and v > 0 for v in self.size_mm):
            raise GeometryError(f"expected size {self.size_mm} needs two lengths above 0")
        if self.unit not in INSUNITS:
            raise unknown("unit", self.unit, INSUNITS)


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


def prove(drawing: CutDrawing, expected: Expected) -> Proof:
    """Check a drawing that was read back from a file against what it must hold.

    Args:
        drawing: From `reader.read_dxf`.
        expected: From the design.

    Returns:
        Measurements and findings; a broken drawing gives error findings, never an exception.
    """
    factor = drawing.unit_mm or (MM_PER_INCH if expected.unit == "in" else 1.0)
    found = list(file_findings(drawing, expected.unit))
    scale = np.array([factor, factor, 1.0])
    contours = [replace(c, vertices=c.vertices * scale) for c in drawing.contours if c.layer.upper() == "CUT"]
    sound, problems = contour_findings(contours)
    found += problems
    outer = max(sound, key=lambda v: float(np.prod(_size(v))), default=None)
    cut = [(c.x, c.y, c.diameter) for c in drawing.circles if c.layer.upper() == "CUT"]
    drill = [(p.x, p.y) for p in drawing.points if p.layer.upper() == "DRILL"]
    circles, spots = factor * np.reshape(cut, (-1, 3)), factor * np.reshape(drill, (-1, 2))
    size: Place | None = None
    measured = NOT_MEASURED
    if outer is not None:
        size = _size(outer)
        slip, problems = size_findings(size, expected.size_mm)
        found += problems
        if not slip:  # with a wrong unit every place is wrong for one and the same reason
            found += _holes(circles, spots, expected.holes)
            found += _holes_inside(circles, spots, outer)
            measured, problems = _cleared(outer, expected)
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


def _size(vertices: Array) -> Place:
    low, high = distance.boxes(distance.pieces_of(vertices, closed=True))
    width, height = high.max(axis=0) - low.min(axis=0)
    return float(width), float(height)


def _holes(circles: Array, spots: Array, wanted: tuple[ExpectedHole, ...]) -> list[Finding]:
    """Match what was asked for with what was read, nearest first."""
    if max(len(circles), len(spots), len(wanted)) > MAX_HOLES:
        return [finding("HOLES", f"More than {MAX_HOLES} holes; no knife needs that.")]
    out: list[Finding] = []
    for kind, found in (("hole", circles), ("drill spot", spots)):
        asked = [h for h in wanted if (h.cut_diameter_mm is None) == (kind == "drill spot")]
        pairs, missing, extra = _matched(np.array([[h.x_mm, h.y_mm] for h in asked]).reshape(-1, 2), found[:, :2])
        for i, j in pairs:
            off = float(np.hypot(*(found[j, :2] - (asked[i].x_mm, asked[i].y_mm))))
            place = show_place((asked[i].x_mm, asked[i].y_mm))
            if off > SAME_MM:
                text = f"The {kind} for {place} is {off:.3f} mm away, at {show_place(found[j, :2])}."
                out.append(finding("HOLE-PLACE", text, found[j, :2]))
            diameter = asked[i].cut_diameter_mm
            if diameter is not None and abs(found[j, 2] - diameter) > SAME_MM:
                text = f"The hole at {place} has {found[j, 2]:.3f} mm diameter, asked for is {diameter:.3f} mm."
                out.append(finding("HOLE-DIAMETER", text, found[j, :2]))
        for i in missing:
            at = (asked[i].x_mm, asked[i].y_mm)
            out.append(finding("HOLE-MISSING", f"The {kind} at {show_place(at)} is missing.", at))
        for j in extra:
            at = (float(found[j, 0]), float(found[j, 1]))
            out.append(finding("HOLE-EXTRA", f"A {kind} at {show_place(at)} was not asked for.", at))
    return or_ok(out, "HOLES", f"{len(circles)} holes and {len(spots)} drill spots, each in its place.")


def _matched(asked: Array, found: Array) -> tuple[list[tuple[int, int]], list[int], list[int]]:
    """Pair places, nearest first, none further apart than SHIFT_MM; return pairs, missing and extra rows."""
    apart = np.hypot(asked[:, None, 0] - found[None, :, 0], asked[:, None, 1] - found[None, :, 1])
    order = np.argsort(apart, axis=None, kind="stable")
    pairs: list[tuple[int, int]] = []
    free_asked, free_found = set(range(len(asked))), set(range(len(found)))
    for flat in order:
        i, j = divmod(int(flat), len(found))
        if apart[i, j] > SHIFT_MM:
            break
        if i in free_asked and j in free_found:
            pairs.append((i, j))
            free_asked.remove(i)
            free_found.remove(j)
    return pairs, sorted(free_asked), sorted(free_found)


def _holes_inside(circles: Array, spots: Array, outer: Array) -> list[Finding]:
    """Every hole and spot lies wholly inside the contour, and holes keep clear of each other."""
    import shapely  # noqa: PLC0415 - heavy

    holes = np.vstack([circles, np.column_stack([spots, np.zeros(len(spots))])])
    polygon = _polygon(outer)
    if not len(holes) or len(holes) > 2 * MAX_HOLES or polygon is None:
        return []
    out: list[Finding] = []
    inside = shapely.contains_xy(polygon, holes[:, 0], holes[:, 1])
    wall = distance.from_points(holes[:, :2], outer) - holes[:, 2] / 2
    for hole in holes[~inside | (wall <= 0)]:
        text = f"The hole or drill spot at {show_place(hole[:2])} is not wholly inside the cut outline."
        out.append(finding("INSIDE", text, hole[:2]))
    apart = np.hypot(*(circles[:, None, :2] - circles[None, :, :2]).transpose(2, 0, 1))
    overlap = apart <= (circles[:, None, 2] + circles[None, :, 2]) / 2
    for i, j in np.argwhere(np.triu(overlap, 1)):
        same = apart[i, j] < 10 * SAME_MM
        text = f"Two holes {'lie on' if same else 'cut into'} each other at {show_place(circles[i, :2])}."
        out.append(finding("DOUBLED" if same else "CROSSING", text, circles[i, :2]))
    return out


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


def _by_geos(finished: Outline, polygon: Any) -> tuple[Array, Array, Array]:
    """Measure with GEOS, for each finished piece: distance to the contour, how far it is outside, and where.

    Both outlines are polylines no further than FLAT_MM from their arcs. A sample counts as outside when it
    is not in the polygon and further from it than the two polylines can err together.
    """
    import shapely  # noqa: PLC0415 - heavy

    points, piece = distance.flatten(finished.vertices, FLAT_MM, STEP_MM, MAX_POINTS)
    ring = polygon.exterior
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


def _cleared(outer: Array, expected: Expected) -> tuple[_Measured, list[Finding]]:
    """Measure the clearance twice and judge it against what was asked and what the process may take."""
    polygon = _polygon(outer)
    if polygon is None:
        return _unmeasured("the cut contour is no simple outline")
    closed_form, places = distance.clearance(expected.finished, outer)
    by_geos, outside, deepest = _by_geos(expected.finished, polygon)
    places = np.where((outside > 0)[:, None], deepest, places)
    least = np.where(outside > 0, -outside, closed_form)
    margin = least - expected.loss_mm
    if not (np.isfinite(least).all() and np.isfinite(places).all()):
        return _unmeasured("the contour holds unusable numbers")
    i, j = int(distance.first_of_least(least, places)), int(distance.first_of_least(margin, places))
    measured = (float(least[i]), _pair(places[i]), float(margin[j]), _pair(places[j]))
    regions = expected.finished.regions
    findings = _inside(outside, places, regions) + _two_ways(closed_form, by_geos, places)
    short = least - expected.asked_mm
    problems = []
    for row in _worst_of_each(short, short < -AT_LEAST_MM, regions):
        text = f"{_name(regions[row])}: {least[row]:.4f} mm is left at {show_place(places[row])}, "
        text += f"asked for is {expected.asked_mm[row]:.4f} mm."
        problems.append(finding("CLEARANCE", text, places[row]))
    text = f"The finished outline keeps at least {least[i]:.4f} mm inside the cut outline."
    ok = or_ok(problems, "CLEARANCE", text)
    findings += ok if problems else [finding("CLEARANCE", text, places[i], level="ok")]
    return measured, findings + _worst_case(margin, expected, places)


def _unmeasured(why: str) -> tuple[_Measured, list[Finding]]:
    return NOT_MEASURED, [finding("CLEARANCE", f"The clearance cannot be measured: {why}.")]


def _worst_case(margin: Array, expected: Expected, places: Array) -> list[Finding]:
    """The part that the process makes at its worst must still contain the finished outline."""
    regions, out = expected.finished.regions, []
    for row in _worst_of_each(margin, margin < -AT_LEAST_MM, regions):
        text = f"{_name(regions[row])}: the process may take {expected.loss_mm[row]:.3f} mm, but "
        text += f"{expected.asked_mm[row]:.3f} mm "
        text += f"were asked for: up to {-margin[row]:.3f} mm may be missing at {show_place(places[row])}. "
        text += f"Ask for more than {expected.loss_mm[row]:.3f} mm there, or choose a finer process."
        out.append(finding("WORST-CASE", text, places[row]))
    row = int(distance.first_of_least(margin, places))
    text = f"After all that the process may take at least {margin[row]:.3f} mm is left."
    return out or [finding("WORST-CASE", text, places[row], level="ok")]


def _inside(outside: Array, places: Array, regions: tuple[str, ...]) -> list[Finding]:
    out = []
    for row in _worst_of_each(-outside, outside > 0, regions):
        text = f"{_name(regions[row])} reaches {outside[row]:.3f} mm out of the cut outline."
        out.append(finding("INSIDE", text, places[row]))
    return or_ok(out, "INSIDE", "The finished outline lies inside the cut outline.")


def _two_ways(closed_form: Array, by_geos: Array, places: Array) -> list[Finding]:
    apart = np.abs(closed_form - by_geos)
    row = int(np.where(np.isfinite(apart), apart, np.inf).argmax())
    if not apart[row] <= AGREE_MM:
        text = f"Two measurements of the clearance disagree at {show_place(places[row])}: "
        text += f"{closed_form[row]:.4f} and {by_geos[row]:.4f} mm. Do not cut; please report this."
        return [finding("TWO-WAYS", text, places[row])]
    text = f"Closed form and polylines agree on the clearance within {apart[row]:.4f} mm."
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
