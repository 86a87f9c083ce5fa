"""From a family and the asked dimensions to a solved shape.

The control points are first placed by their frames (layout.py), then moved as little as possible, and as
alike as possible to their neighbours, until every dimension holds: Newton steps on the dimensions, each
the least correction (correction.py).
"""

from __future__ import annotations

from collections.abc import Mapping, Set
from dataclasses import replace
from functools import cached_property, lru_cache

import numpy as np

from blankwright.base.arrays import Array
from blankwright.base.errors import DesignError, GeometryError, ToleranceNotMetError
from blankwright.base.frozen import dataclass
from blankwright.design.assembled import Arcs
from blankwright.design.correction import corrected
from blankwright.design.layout import Frame, Sink, SplinePlan, plan, spline_of
from blankwright.design.leading import led
from blankwright.design.measure import Reader, Reading, driven
from blankwright.design.parts import Dimension, Family
from blankwright.design.shape import FINE, Shape, Solved
from blankwright.design.sizes import resolve
from blankwright.geometry.fairness import Fairness, fairness
from blankwright.geometry.outline import Outline
from blankwright.geometry.spline import Spline
from blankwright.geometry.steady import product, solution

HOLDS_MM = 1e-9
"""Dimensions are driven this close; the promise is 1e-6 mm and Newton passes it in one more step."""

FINISHED_TOLERANCE_MM = 0.005
"""Arcs follow the finished curve this closely: a twentieth of what a careful hand can file."""

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


@dataclass(frozen=True, eq=False)
class Found:
    """Where a solve ended.

    Args:
        placed: Control points of each stretch as their frames placed them [mm].
        points: Where they came to [mm].
        corner_mm: How far the corner of a rounded tip stands from the foremost place of its round, by the dimension
            that says where that is [mm]; nothing where none is rounded.
        answer: (2, 2) how that corner is moved for what its round misses [unitless].
    """

    placed: list[Array]
    points: list[Array]
    corner_mm: dict[str, float]
    answer: Array

    def from_placed(self, placed: list[Array]) -> list[Array]:
        """Return where the steps of a solve nearby begin: as far from where its points are placed as these ended."""
        return [p + (a - b) for p, a, b in zip(placed, self.points, self.placed, strict=True)]

    def changed_as(self, before: Found, after: Found) -> Found:
        """Return it changed by as much as another one was."""
        return Found(
            self.placed,
            [
                p + (b - a)
                for p, a, b in zip(
                    self.points, before.from_placed(self.placed), after.from_placed(self.placed), strict=True
                )
            ],
            {n: mm + after.corner_mm.get(n, mm) - before.corner_mm.get(n, mm) for n, mm in self.corner_mm.items()},
            self.answer,
        )


@dataclass(frozen=True, eq=False)
class SolvedShape(Shape):
    """A solved outline: splines that hold every dimension, and their arcs.

    Args:
        arcs: The smooth stretches, from the heel corner counter-clockwise, and their arcs.
        found: Where the steps ended, for a solve nearby to begin with; None of a drawing that was not solved.
    """

    arcs: Arcs
    found: Found | None = None

    @property
    def splines(self) -> tuple[Spline, ...]:
        """The smooth stretches."""
        return self.arcs.splines

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
        return self.arcs.outline([p.joint for p in self.plans])

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
    near: Found | None = None,
) -> SolvedShape:
    """Solve a family for the asked dimensions.

    Args:
        family: The family.
        construction: full, hidden or one-piece.
        asked_mm: Dimensions by script name [mm]; the others follow.
        overall_mm: Overall length, butt to tip, when asked [mm].
        tolerance_mm: Largest distance between the curves and their arcs [mm].
        near: Where the solve of a shape that differs little ended: what the steps begin with. The end does
            not depend on it by more than they stop at, but its last digits do, so what is made begins with none.

    Raises:
        RequestError: Unknown dimension or construction, or a value out of the family's range.
        DesignError: The dimensions cannot all hold.
    """
    values = resolve(family, construction, asked_mm, overall_mm)
    offered, plans = family.offered(construction), fair_plan(family, construction)
    free = {d.name for d in offered if d.free and d.name not in asked_mm}
    rounded, begin = bool(values.get("tip_radius")), near
    # the corner that is rounded, what the tip misses, and how the corner is moved for that
    corner, off, answer, step = values, None, np.eye(2), np.zeros((2, 1))
    if rounded and begin is not None:
        corner, answer = corner | {name: corner[name] + mm for name, mm in begin.corner_mm.items()}, begin.answer
    for _ in range(_TIP_STEPS if rounded else 1):
        splines, readings, placed = _solved_splines(
            family, construction, corner, plans, free, values, asked_mm.keys(), begin
        )
        solved = tuple(Solved(d, r.value_mm, asked_mm.get(d.name)) for d, r in zip(offered, readings, strict=True))
        stands = {name: corner[name] - values[name] for name in _TIP} if rounded else {}
        found = Found(placed, [s.points for s in splines], stands, answer)
        arcs = Arcs(splines, plans, tolerance_mm)
        shape = SolvedShape(family, construction, solved, overall_mm, tolerance_mm, arcs, found)
        if not rounded:
            return shape
        try:
            from blankwright.design.tip import foremost, learned, round_tip  # noqa: PLC0415 - few tips are rounded

            scalloped = "scallop_pitch" in values
            place = foremost(shape.smooth) if scalloped else round_tip(arcs, values["tip_radius"])
            tip = dict(zip(_TIP, place, strict=True))
        except (GeometryError, ToleranceNotMetError):
            return shape  # what does not fit is told by check_sound
        before, off = off, np.array([[values[name] - mm] for name, mm in tip.items()])
        if before is not None:
            answer = learned(answer, step, before - off)
        if np.abs(off).max() <= _TIP_MM:
            reached = tuple(replace(s, value_mm=tip.get(s.dimension.name, s.value_mm)) for s in solved)
            return replace(shape, solved=reached, found=replace(found, answer=answer))
        step = product(answer, off)
        corner = corner | {name: corner[name] + mm for name, mm in zip(_TIP, step[:, 0].tolist(), strict=True)}
        begin = None if near is None else found
    raise DesignError(f"A tip of radius {values['tip_radius']:g} mm does not settle.")


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
    splines, _, _ = _solved_splines(family, construction, stated, plans)
    return tuple(replace(p, points=s.points) for p, s in zip(plans, splines, strict=True))


def _solved_splines(
    family: Family,
    construction: str,
    values: dict[str, float],
    plans: tuple[SplinePlan, ...],
    free: Set[str] = frozenset(),
    seen: dict[str, float] | None = None,
    asked: Set[str] = frozenset(),
    begin: Found | None = None,
) -> tuple[tuple[Spline, ...], list[Reading], list[Array]]:
    """Return the splines, their readings, and where their control points were placed."""
    frame = Frame(family, construction, values)
    placed = [frame.place(p.points, p.frames, p.notch_weights) for p in plans]
    sinks = frame.sinks(plans, placed, asked)
    if begin is not None:
        points = begin.from_placed(placed)
    elif asked and not sinks:
        points = led(family, construction, plans, free, values, placed)
    else:
        points = placed
    splines, readings = nearest_splines(family, construction, values, placed, points, free, seen, sinks)
    return splines, readings, placed


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
    sought = driven(dimensions, free)
    sinking = {i: sink for i, d in enumerate(sought) for sink in sinks if sink.name == d.name}
    reader = Reader(plans, Frame(family, construction, seen or values).places_mm)
    worst = moved = ahead = np.inf
    known: list[tuple[list[Array], Array]] = []
    splines, drawn = [spline_of(p, family) for p in points], points
    for _ in range(_STEPS):
        splines = [s if p is q else spline_of(p, family) for p, q, s in zip(points, drawn, splines, strict=True)]
        drawn = points
        resting = ahead <= _AT_REST_MM
        readings = _readings(reader, splines, sought, values, pulling=not resting)
        gaps = np.array([values[d.name] - r.value_mm for d, r in zip(sought, readings, strict=True)])
        worst = float(np.abs(gaps).max())
        if worst <= HOLDS_MM and resting:
            read = dict(zip((d.name for d in sought), readings, strict=True))
            return tuple(splines), [read.get(d.name) or reader.read(d, values[d.name]) for d in dimensions]
        if resting:  # and yet something does not hold
            readings = _readings(reader, splines, sought, values)
        image = corrected(placed, points, plans, readings, gaps, sinking)
        shift = np.concatenate([a - b for a, b in zip(image, points, strict=True)])
        before, moved = moved, float(np.abs(shift).max())
        ahead = moved if not known or moved == 0 else moved * min(moved / before, 1.0) ** _TRUST
        known = [*known[-_REMEMBERED:], (image, shift)]
        points = _hastened(known)
    at = sought[int(np.abs(gaps).argmax())]
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
