"""From a family and the asked dimensions to a solved shape.

The control points are first placed by their frames (layout.py), then moved as little as possible, and as
alike as possible to their neighbours, until every dimension holds: Newton steps on the dimensions, each
the least correction in the metric of layout.py (a least-norm step through the inverse metric).
"""

from __future__ import annotations

from collections.abc import Mapping, Set
from dataclasses import replace
from functools import cached_property, lru_cache

import numpy as np

from blankwright.base.arrays import Array, pairs
from blankwright.base.errors import DesignError, GeometryError, ToleranceNotMetError
from blankwright.base.frozen import dataclass
from blankwright.design.layout import Frame, Sink, SplinePlan, plan
from blankwright.design.measure import PLACED, Reader, Reading
from blankwright.design.parts import Dimension, Family
from blankwright.design.shape import FINE, Shape, Solved
from blankwright.design.sizes import resolve
from blankwright.geometry.arcfit import fit_arcs, split_at
from blankwright.geometry.fairness import Fairness, fairness
from blankwright.geometry.fillet import round_corner
from blankwright.geometry.outline import Outline
from blankwright.geometry.spline import Spline
from blankwright.geometry.steady import product, solution

HOLDS_MM = 1e-9
"""Dimensions are driven this close; the promise is 1e-6 mm and Newton passes it in one more step."""

FINISHED_TOLERANCE_MM = 0.005
"""Arcs follow the finished curve this closely: a twentieth of what a careful hand can file."""

_ROUNDING_MM = 2e-6
"""Kept of the tolerance for rounding to the grid."""

_AT_REST_MM = 2e-10
"""The points are where they belong when the next step will move none of them further. Steps shrink by a like share."""

_STEPS = 80

_REMEMBERED = 3
"""Steps before the last one that say where they lead to."""

_TRUST = 0.6
"""Power of the last step's share of the one before that the next is trusted to be: with 1 the first two steps, which
shrink as a Newton step does, were taken for those that follow, and points ended 1e-8 mm from where others did."""

_APART = 1e-12
"""Kept between directions that are nearly one, as a share of their length."""

_TIP = ("blade_length", "tip_height")
"""What a rounded tip moves: it is asked of its foremost place, not of the corner that is rounded."""

_TIP_STEPS, _TIP_MM = 25, 1e-8
"""The corner is moved until the round is this near; the promise is 1e-6 mm, and the file's grid too."""
_SAME_PLACE_MM = 1e-6
"""Two vertices nearer than this are one: ten thousand times the rounding of coordinates."""


@dataclass(frozen=True, eq=False)
class SolvedShape(Shape):
    """A solved outline: splines that hold every dimension, and their arcs.

    Args:
        splines: The smooth stretches, from the heel corner counter-clockwise.
    """

    splines: tuple[Spline, ...]

    @cached_property
    def plans(self) -> tuple[SplinePlan, ...]:
        """The stretches' plans (curves, ranges, joints)."""
        plans, values = fair_plan(self.family, self.construction), self.values_mm
        return tuple(replace(p, joint=values[p.joint]) if p.joint in values else p for p in plans)

    @cached_property
    def smooth(self) -> Outline:
        """The outline before rounding; errors are those of finished."""
        plain, values = self.plain, self.values_mm
        if "scallop_pitch" not in values:
            return plain
        from blankwright.design.scallops import scalloped  # noqa: PLC0415 - few edges have them

        return scalloped(plain, values["scallop_pitch"], values["scallop_depth"])

    @cached_property
    def plain(self) -> Outline:
        """The outline without scallops; errors are those of finished."""
        # a tolerance finer than the grid is not lost in it; max_error_mm says what came out
        least = self.tolerance_mm / 2
        return _assembled(self.splines, self.plans, max(self.tolerance_mm - _ROUNDING_MM, least))

    @property
    def edge_health(self) -> Fairness:
        """How fair the cutting edge is, by its spline."""
        edge = next(c.name for c in self.family.curves[self.construction] if c.region == "edge")
        return fairness(*self.stretch_of(edge))

    def bend(self, curve: str, count: int) -> Array:
        """Return how a curve bends, by its spline and not by the arcs that stand for it."""
        spline, first, last = self.stretch_of(curve)
        t = np.linspace(first, last, count)
        fine = spline.at(np.linspace(first, last, (count - 1) * FINE + 1))
        steps = np.hypot(*np.diff(fine, axis=0).T).reshape(-1, FINE).sum(axis=1)
        along = np.concatenate([[0.0], np.cumsum(steps)])
        return np.column_stack([along, spline.at(t), spline.curvature(t)])

    def stretch_of(self, curve: str) -> tuple[Spline, float, float]:
        """Return the spline that holds a curve and the parameters that bound it."""
        for spline, stretch in zip(self.splines, self.plans, strict=True):
            for part, (t0, t1) in zip(stretch.curves, stretch.ranges, strict=True):
                if part.name == curve:
                    return spline, t0, t1
        raise GeometryError(f"the family has no curve '{curve}'")


def solve_shape(
    family: Family,
    construction: str,
    asked_mm: Mapping[str, float],
    overall_mm: float | None = None,
    tolerance_mm: float = FINISHED_TOLERANCE_MM,
) -> SolvedShape:
    """Solve a family for the asked dimensions.

    Args:
        family: The family.
        construction: full, hidden or one-piece.
        asked_mm: Dimensions by script name [mm]; the others follow.
        overall_mm: Overall length, butt to tip, when asked [mm].
        tolerance_mm: Largest distance between the curves and their arcs [mm].

    Raises:
        RequestError: Unknown dimension or construction, or a value out of the family's range.
        DesignError: The dimensions cannot all hold.
    """
    values = resolve(family, construction, asked_mm, overall_mm)
    free = {d.name for d in family.offered(construction) if d.free and d.name not in asked_mm}
    plans, corner = fair_plan(family, construction), values
    off, answer, step = None, np.eye(2), np.zeros((2, 1))  # what the tip misses, and how its corner is moved for that
    for _ in range(_TIP_STEPS):
        splines, readings = _solved_splines(family, construction, corner, plans, free, values, asked_mm.keys())
        found = {d.name: r.value_mm for d, r in zip(family.offered(construction), readings, strict=True)}
        shape = _shape(family, construction, splines, found, asked_mm, overall_mm, tolerance_mm)
        if not values.get("tip_radius"):
            return shape
        try:
            from blankwright.design.tip import foremost, learned  # noqa: PLC0415 - few tips are rounded

            tip = foremost(shape.smooth)
        except (GeometryError, ToleranceNotMetError):
            return shape  # what does not fit is told by check_sound
        before, off = off, np.array([[values[name] - mm] for name, mm in zip(_TIP, tip, strict=True)])
        if np.abs(off).max() <= _TIP_MM:
            found |= zip(_TIP, tip, strict=True)
            return _shape(family, construction, splines, found, asked_mm, overall_mm, tolerance_mm)
        if before is not None:
            answer = learned(answer, step, before - off)
        step = product(answer, off)
        corner = corner | {name: corner[name] + mm for name, mm in zip(_TIP, step[:, 0].tolist(), strict=True)}
    raise DesignError(f"A tip of radius {values['tip_radius']:g} mm does not settle.")


def _shape(
    family: Family, construction: str, splines: tuple[Spline, ...], found: Mapping[str, float],
    asked_mm: Mapping[str, float], overall_mm: float | None, tolerance_mm: float,
) -> SolvedShape:  # fmt: skip
    solved = tuple(Solved(d, found[d.name], asked_mm.get(d.name)) for d in family.offered(construction))
    return SolvedShape(family, construction, solved, overall_mm, tolerance_mm, splines)


@lru_cache(maxsize=64)
def fair_plan(family: Family, construction: str) -> tuple[SplinePlan, ...]:
    """Return the stretches of a family's outline; a handle from a file of its own fits its blade and hand exactly.

    Such a handle is stretched from another size, so its points measure the hand to some hundredths of a millimetre:
    the fine solve brings them there once, and every size starts from that.

    Raises:
        DesignError: Blade and handle do not go together.
    """
    plans = plan(family, construction)
    if not family.patterns:
        return plans
    stated = {d.name: d.default_mm for d in family.offered(construction)}
    splines, _ = _solved_splines(family, construction, stated, plans)
    return tuple(replace(p, points=s.points) for p, s in zip(plans, splines, strict=True))


def _solved_splines(
    family: Family,
    construction: str,
    values: dict[str, float],
    plans: tuple[SplinePlan, ...],
    free: Set[str] = frozenset(),
    seen: dict[str, float] | None = None,
    asked: Set[str] = frozenset(),
) -> tuple[tuple[Spline, ...], list[Reading]]:
    frame = Frame(family, construction, values)
    placed = [frame.place(p.points, p.frames, p.notch_weights) for p in plans]
    return nearest_splines(family, construction, values, placed, placed, free, seen, frame.sinks(plans, placed, asked))


def nearest_splines(
    family: Family, construction: str, values: dict[str, float], placed: list[Array], points: list[Array],
    free: Set[str] = frozenset(), seen: dict[str, float] | None = None, sinks: tuple[Sink, ...] = (),
) -> tuple[tuple[Spline, ...], list[Reading]]:  # fmt: skip
    """Return the splines nearest to the placed points that hold every dimension, and their readings.

    Where the spine sinks, the placed points do so by what makes the dimension right that is asked for: then nothing is
    left for the correction to pull there, and what is asked as it is by itself changes nothing.

    Args:
        family: The family.
        construction: full, hidden or one-piece.
        values: Every dimension [mm].
        placed: Control points of each stretch as their frames place them [mm].
        points: Where the steps begin [mm]; the end does not depend on it.
        free: Names of dimensions that are only measured.
        seen: Dimensions of the finished knife, whose tip may be rounded: stations lie between its places [mm].
        sinks: How the placed points move for dimensions that the spine as a whole follows.
    """
    plans = plan(family, construction)
    dimensions = family.offered(construction)
    driven = [d for d in dimensions if d.name not in free and d.measure.kind not in PLACED]
    sinking = {i: sink for i, d in enumerate(driven) for sink in sinks if sink.name == d.name}
    reader = Reader(plans, Frame(family, construction, seen or values).places_mm)
    worst = moved = ahead = np.inf
    known: list[tuple[list[Array], Array]] = []
    splines, drawn = [_spline(p, family) for p in points], points
    for _ in range(_STEPS):
        splines = [s if p is q else _spline(p, family) for p, q, s in zip(points, drawn, splines, strict=True)]
        drawn = points
        resting = ahead <= _AT_REST_MM
        readings = _readings(reader, splines, driven, values, pulling=not resting)
        gaps = np.array([values[d.name] - r.value_mm for d, r in zip(driven, readings, strict=True)])
        worst = float(np.abs(gaps).max())
        if worst <= HOLDS_MM and resting:
            read = dict(zip((d.name for d in driven), readings, strict=True))
            return tuple(splines), [read.get(d.name) or reader.read(d, values[d.name]) for d in dimensions]
        if resting:  # and yet something does not hold
            readings = _readings(reader, splines, driven, values)
        image = _projected(placed, points, plans, readings, gaps, sinking)
        shift = np.concatenate([a - b for a, b in zip(image, points, strict=True)])
        before, moved = moved, float(np.abs(shift).max())
        ahead = moved if not known or moved == 0 else moved * min(moved / before, 1.0) ** _TRUST
        known = [*known[-_REMEMBERED:], (image, shift)]
        points = _hastened(known)
    at = driven[int(np.abs(gaps).argmax())]
    raise DesignError(f"These dimensions cannot hold together: {at.key} stays {worst:.3g} mm off.")


def _readings(
    reader: Reader, splines: list[Spline], dimensions: list[Dimension], values: Mapping[str, float],
    pulling: bool = True,
) -> list[Reading]:  # fmt: skip
    reader.look_at(splines, pulling)
    try:
        return [reader.read(d, values[d.name]) for d in dimensions]
    except GeometryError as error:
        raise DesignError(f"These dimensions cannot hold together: {error}.") from None


def _spline(points: Array, family: Family) -> Spline:
    return Spline(points, min(family.degree, len(points) - 1))


def _hastened(known: list[tuple[list[Array], Array]]) -> list[Array]:
    """Return where the last steps lead to, if what they leave shrinks as it did (least squares on the shifts).

    Args:
        known: Images of the steps and how far each moved the points, the last one at the end.
    """
    image, shift = known[-1]
    grown = [(old, shift - moved) for old, moved in known[:-1]]
    sizes = [float(np.sqrt((g * g).sum())) for _, g in grown]
    grown = [(old, g / size) for (old, g), size in zip(grown, sizes, strict=True) if size > 0]
    sizes = [size for size in sizes if size > 0]
    if not grown:
        return image
    system = np.array([[float((a * b).sum()) for _, b in grown] for _, a in grown])
    system += _APART * np.eye(len(grown))
    right = np.array([[float((shift * g).sum())] for _, g in grown])
    shares = solution(system, right)[:, 0] / np.array(sizes)
    out = image
    for share, (old, _) in zip(shares.tolist(), grown, strict=True):
        out = [a if b is c else a - share * (b - c) for a, b, c in zip(out, image, old, strict=True)]
    return out


def _projected(
    placed: list[Array], points: list[Array], plans: tuple[SplinePlan, ...], readings: list[Reading], gaps: Array,
    sinking: Mapping[int, Sink],
) -> list[Array]:  # fmt: skip
    """Return the placed points moved by the least fair correction that closes all gaps to first order at the points.

    Dimensions that the spine sinks for, by their numbers, are held by that and not by a correction.
    """
    active = [i for i, r in enumerate(readings) if r.pulls]
    rows = len(active)
    slopes: dict[int, Array] = {}  # of the stretches that are pulled at all
    for row, i in enumerate(active):
        for number, first, on_x, on_y in readings[i].pulls:
            if number not in slopes:
                slopes[number] = np.zeros((rows, 2, len(points[number])))
            for axis, weights in ((0, on_x), (1, on_y)):
                if weights is not None:
                    slopes[number][row, axis, first : first + weights.size] += weights
    system = np.zeros((rows, rows))
    wanted = gaps[active][:, None]
    eased = []
    for number in sorted(slopes):
        slope, stretch = slopes[number], plans[number]
        used = (slope != 0).any(axis=(0, 1)).nonzero()[0]  # most control points lie far from every station
        # the axis (x, y) leads, so that each is a plain matrix; sums in one order, or last digits follow the processor
        pull = slope[:, :, used].transpose(1, 0, 2)
        ease = product(pull, stretch.loosening[:, used])
        x, y = product(ease[:, :, used], pull.transpose(0, 2, 1))
        system = system + (x + y)
        x, y = product(pull, (points[number] - placed[number])[used].T[:, :, None])
        wanted = wanted + (x + y)
        eased.append((number, ease))
    sinks = {row: sinking[i] for row, i in enumerate(active) if i in sinking}
    try:
        force, sunk = _held(system, wanted, slopes, sinks) if sinks else (solution(system, wanted)[:, 0], {})
    except GeometryError:
        raise DesignError("These dimensions cannot hold together: two of them measure the same thing.") from None
    out = list(placed)
    for number, rise in sunk.items():
        out[number] = placed[number] + rise
    for number, ease in eased:
        out[number] = out[number] + product(force[None, None, :], ease)[:, 0].T
    return out


def _held(
    system: Array, wanted: Array, slopes: Mapping[int, Array], sinks: Mapping[int, Sink]
) -> tuple[Array, dict[int, Array]]:
    """Return the pull of every row, none where the spine sinks for it, and how that moves the points of a stretch."""
    ways = {row: sink.falling for row, sink in sinks.items()}
    for _ in range(2):
        for row, way in ways.items():
            parts = [product(slopes[number][:, 1], way[number][:, None])[:, 0] for number in sorted(slopes)]
            system[:, row] = sum(parts[1:], parts[0])
        pull = solution(system, wanted)[:, 0]
        higher = [row for row in ways if pull[row] < 0]
        if not higher:
            break
        ways = ways | {row: sinks[row].rising for row in higher}
    sunk: dict[int, Array] = {}
    for row, way in ways.items():
        for number, rise in enumerate(way):
            if rise.any():
                sunk[number] = sunk.get(number, 0.0) + pull[row] * pairs(np.zeros(len(rise)), rise)
        pull[row] = 0.0
    return pull, sunk


def _assembled(splines: tuple[Spline, ...], plans: tuple[SplinePlan, ...], tolerance_mm: float) -> Outline:
    rows, regions, corners = [], [], []
    error = 0.0
    for spline, stretch in zip(splines, plans, strict=True):
        if len(spline.points) == 2:  # a line is one piece
            rows.append(np.array([[*spline.points[0], 0.0]]))
            regions.append(stretch.curves[-1].region)
            corners.append(len(regions))
            continue
        chain = fit_arcs(spline, (0.0, float(spline.spans)), tolerance_mm)
        error = max(error, chain.max_error_mm)
        limits = [r[1] for r in stretch.ranges[:-1]]
        changes = [t for j, t in enumerate(limits) if stretch.curves[j].region != stretch.curves[j + 1].region]
        chain = split_at(chain, changes)
        rows.append(np.concatenate([chain.points[:-1], chain.bulges[:, None]], axis=1))
        part = np.searchsorted(limits, (chain.params[1:] + chain.params[:-1]) / 2)
        regions += [stretch.curves[j].region for j in part]
        corners.append(len(regions))
    outline = Outline(np.concatenate(rows), tuple(regions), error)
    return _rounded(outline, corners, plans)


def _rounded(outline: Outline, corners: list[int], plans: tuple[SplinePlan, ...]) -> Outline:
    """Round the joints that ask for it; corners are found again by their place after each round."""
    standing = [outline.starts[c % len(outline)] for c in corners]  # and the ends of rounds already made
    asked = [(place, p.joint) for place, p in zip(standing, plans, strict=True)]
    rounds = [(place, joint) for place, joint in asked if isinstance(joint, float) and joint > 0]
    for number, (place, joint) in enumerate(rounds, start=1):
        corner = int((((outline.starts - place) ** 2).sum(axis=1)).argmin())
        before, outline = outline, round_corner(outline, corner, joint)
        standing = [p for p in standing if p is not place]
        _check_standing(outline, standing, place, joint)
        if number < len(rounds):
            standing += list(outline.starts[_apart_mm(before, outline.starts) > _SAME_PLACE_MM])
    return outline


def _apart_mm(outline: Outline, places: Array) -> Array:
    """Return how far each place is from the nearest vertex of an outline [mm]."""
    away = places[:, None] - outline.starts[None]
    nearest: Array = np.hypot(away[..., 0], away[..., 1]).min(axis=1)
    return nearest


def _check_standing(outline: Outline, places: list[Array], at: Array, radius_mm: float) -> None:
    """Refuse a round so large that it swallowed another corner or another round."""
    if places and (_apart_mm(outline, np.array(places)) > _SAME_PLACE_MM).any():
        x, y = at
        raise GeometryError(f"a radius of {radius_mm:.2f} mm does not fit at the corner ({x:.2f}, {y:.2f})")
