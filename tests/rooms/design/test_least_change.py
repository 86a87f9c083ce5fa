"""The points of a solve are the nearest to the placed ones that hold every dimension, whatever the way to them."""

from __future__ import annotations

from itertools import permutations

import numpy as np
import pytest

import blankwright as bw
from blankwright.base.arrays import Array
from blankwright.design.family import load_family
from blankwright.design.layout import HOLD, Frame, Sink, SplinePlan, plan
from blankwright.design.leading import led
from blankwright.design.parts import Family
from blankwright.design.sizes import resolve
from blankwright.design.solve import fair_plan, nearest_splines, solve_shape
from rooms.design.cases import SOME_KINDS
from rooms.often import repeated

pytestmark = repeated

ALIKE_MM = 1e-9
"""What is promised of two ways to one knife."""

SETTLED_MM = 1e-7
"""The same of a rounded tip, whose corner is moved until the round is within 1e-8 mm."""

every_kind = pytest.mark.parametrize(("name", "construction"), SOME_KINDS)


def placed(family: Family, construction: str, values: dict[str, float]) -> list[Array]:
    frame = Frame(family, construction, values)
    return [frame.place(p.points, p.frames, p.notch_weights) for p in plan(family, construction)]


def points_from(
    family: Family, construction: str, values: dict[str, float], start: list[Array], sinks: tuple[Sink, ...] = ()
) -> list[Array]:
    there = placed(family, construction, values)
    splines, _ = nearest_splines(family, construction, values, there, start, sinks=sinks)
    return [s.points for s in splines]


def most_apart_mm(one: list[Array], other: list[Array]) -> float:
    return max(float(np.abs(a - b).max()) for a, b in zip(one, other, strict=True))


def some_sizes(family: Family, construction: str) -> dict[str, float]:
    """Return a request a third of the way to the ends of the ranges, to and fro."""
    return {
        d.name: d.default_mm + ((d.greatest_mm if i % 2 else d.least_mm) - d.default_mm) / 3
        for i, d in enumerate(family.offered(construction))
        if d.name not in ("tang_length", "belly_height")
    }


def aside(points: list[Array], plans: tuple[SplinePlan, ...], size_mm: float, rng: np.random.Generator) -> list[Array]:
    """Return points moved at random, save what is held: corners and the board line."""
    free = [p.loosening.any(axis=1).T for p in plans]
    return [p + size_mm * rng.standard_normal(p.shape) * f for p, f in zip(points, free, strict=True)]


@every_kind
def test_from_any_start_the_points_are_the_same(name: str, construction: str) -> None:
    family = load_family(name)
    plans = plan(family, construction)
    values = resolve(family, construction, some_sizes(family, construction), None)
    here = placed(family, construction, values)
    sinks = Frame(family, construction, values).sinks(plans, here, values.keys())
    rng = np.random.default_rng(8)
    other = resolve(
        family, construction, {"blade_length": family.dimension("blade_length", construction).least_mm}, None
    )
    starts = [
        aside(here, plans, 0.2, rng),
        points_from(family, construction, other, placed(family, construction, other)),
        [p.points for p in plans],
    ]
    for sunk in ((), sinks) if sinks else ((),):
        found = points_from(family, construction, values, here, sunk)
        for start in starts:
            assert most_apart_mm(points_from(family, construction, values, start, sunk), found) <= ALIKE_MM


def cost(moves: list[Array], plans: tuple[SplinePlan, ...]) -> float:
    """Return what the solve makes least: |d|^2 by HOLD, and the second differences of d, over what is free."""
    total = 0.0
    for move, stretch in zip(moves, plans, strict=True):
        if stretch.loosening.any():
            total += HOLD * float((move**2).sum()) + float((np.diff(move, 2, axis=0) ** 2).sum())
    return total


@every_kind
def test_no_knife_of_these_dimensions_is_nearer(name: str, construction: str) -> None:
    """Judged by the definition: what is nearest to points placed aside holds the dimensions too, and is further."""
    family = load_family(name)
    plans = plan(family, construction)
    values = resolve(family, construction, some_sizes(family, construction), None)
    here = placed(family, construction, values)
    least = cost([a - b for a, b in zip(points_from(family, construction, values, here), here, strict=True)], plans)
    rng = np.random.default_rng(3)
    for size in (1e-3, 1e-2, 1e-1):
        start = aside(here, plans, size, rng)
        splines, _ = nearest_splines(family, construction, values, start, start)
        assert cost([s.points - p for s, p in zip(splines, here, strict=True)], plans) > least


def test_the_way_a_request_was_made_leaves_no_trace() -> None:
    """In any order of dimensions, by replacing, by settings with units, by way of another knife, and after others."""
    asked = {"blade_length_mm": 223.0, "heel_height_mm": 50.5, "spine_drop_mm": 4.0, "tang_middle_mm": 21.5}
    direct = bw.solve("chef", **asked).finished.vertices
    for order in list(permutations(asked))[::5]:
        assert np.array_equal(bw.solve("chef", **{k: asked[k] for k in order}).finished.vertices, direct)
    far = bw.request("chef", blade_length_mm=190, tang_middle_mm=26)
    keys = {
        "blade.length": "223 mm",
        "blade.heel_height": "50.5mm",
        "blade.spine_drop": "4 mm",
        "tang.middle": "21.5 mm",
    }
    for way in (bw.solve(far, **asked), bw.solve(far.replace(keys)), bw.solve("chef", settings=keys)):
        assert np.abs(way.finished.vertices - direct).max() <= ALIKE_MM


@every_kind
def test_asking_what_a_dimension_is_by_itself_changes_nothing(name: str, construction: str) -> None:
    family = load_family(name)
    asked = {k: v for k, v in some_sizes(family, construction).items() if not family.dimension(k, construction).free}
    for request in ({}, asked):
        shape = solve_shape(family, construction, request)
        for one in shape.solved:
            if one.asked_mm is None:
                again = solve_shape(family, construction, {**request, one.dimension.name: one.value_mm})
                points = ([s.points for s in knife.splines] for knife in (shape, again))
                assert most_apart_mm(*points) <= SETTLED_MM, one.dimension.key


def test_a_solve_begins_near_its_end() -> None:
    """What is placed misses by some thousandths; what the changed dimensions lead to, by their squares."""
    family, asked = load_family("chef"), {"blade_length": 218.0, "heel_height": 47.0}
    shape, plans = solve_shape(family, "full", asked), fair_plan(family, "full")
    values, free = resolve(family, "full", asked, None), {d.name for d in family.offered("full") if d.free}
    frame = Frame(family, "full", values)
    there = [frame.place(p.points, p.frames, p.notch_weights) for p in plans]
    end = [s.points for s in shape.splines]
    assert most_apart_mm(led(family, "full", plans, free, values, there), end) < 0.05 * most_apart_mm(there, end)
