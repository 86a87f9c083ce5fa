"""A family that does not draw what it says is refused by name, dimension, both figures and place."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from blankwright.base.errors import FamilyError
from blankwright.design.check import measured, wrong
from blankwright.design.drawn import DRAWN_MM, drawing_faults, drawn_shape
from blankwright.design.family import family_from_table, load_family
from blankwright.design.judge import judge
from blankwright.design.nearest import solve_sound
from blankwright.design.parts import Family
from blankwright.design.request import read_design
from blankwright.design.shape import Solved
from blankwright.design.solve import SolvedShape, solve_shape
from blankwright.design.sound import check_sound
from blankwright.knife.knife import finish
from blankwright.knife.rules import design_findings
from rooms.design.cases import KINDS, curve, family_table, solved, write_family
from rooms.every import cases
from rooms.often import repeated, share

Table = dict[str, Any]


def spine_ahead_of_tip(table: Table) -> None:
    """Move two points of the spine so that it stands 12.67 mm ahead of the tip, which stays at 210 mm."""
    curve(table, "spine")["points"][:1] = [[226.0, 19.5], [224.0, 26.0]]


def flat_of_another_drawing(table: Table) -> None:
    """State a flat of 73.5 mm where 52.5 mm are drawn."""
    (flat,) = [d for d in table["dimension"] if d["name"] == "flat_length"]
    flat["default"] = "73.5 mm"


def spoiled(spoil: Callable[[Table], None]) -> Family:
    table = family_table("chef")
    spoil(table)
    return family_from_table(table, "drawn.toml")


SPOILED: dict[str, tuple[Callable[[Table], None], tuple[str, ...]]] = {
    "spine ahead of the tip": (
        spine_ahead_of_tip,
        ("[[dimension]] blade_length", "blade.length", "210.00 mm", "points of the spine", "222.91 mm"),
    ),
    "flat of another drawing": (
        flat_of_another_drawing,
        ("[[dimension]] flat_length", "blade.flat_length", "73.50 mm", "52.50 mm"),
    ),
}


@pytest.mark.parametrize("what", SPOILED)
def test_the_solver_alone_does_not_see_it(what: str) -> None:
    """Why the check is there: the solver calls both sound and reaches every dimension."""
    family = spoiled(SPOILED[what][0])
    shape = solve_shape(family, "full", {})
    check_sound(shape)
    assert shape.values_mm["blade_length"] == pytest.approx(210.0)


@pytest.mark.parametrize("what", SPOILED)
def test_a_family_that_does_not_draw_what_it_says_is_refused(what: str) -> None:
    spoil, words = SPOILED[what]
    family = spoiled(spoil)
    with pytest.raises(FamilyError) as caught:
        solve_sound(family, "full", {})
    for word in ("drawn.toml", *words):
        assert word in str(caught.value)
    assert any(all(word in fault for word in words) for fault in judge(family))


@pytest.mark.parametrize("what", SPOILED)
def test_the_commands_refuse_it_and_leave_no_file(tmp_path: Path, command: Any, what: str) -> None:
    spoil, words = SPOILED[what]
    table = family_table("chef")
    spoil(table)
    file = write_family(tmp_path, table)
    out = tmp_path / "out"
    for name in ("make", "cut", "template", "sheet"):
        ran = command(name, file, "--out", out)
        assert ran.code == 1
        assert all(word in ran.err for word in words)
        assert not out.exists()
    ran = command("families", file)
    assert (ran.code, ran.err) == (1, "")
    assert "does not hold" in ran.out
    assert all(word in ran.out for word in words)
    told = json.loads(command("families", file, "--json").out)
    assert told["holds"] is False
    assert any(all(word in fault for word in words) for fault in told["faults"])


@repeated
@pytest.mark.parametrize("name", share(sorted({n for n, _ in KINDS}), 2))
def test_the_shipped_families_hold(command: Any, name: str) -> None:
    ran = command("families", name)  # says so when the judge has found nothing
    assert (ran.code, ran.err) == (0, "")
    assert f"{name}: holds" in ran.out


@cases(("name", "construction"), KINDS)
def test_the_shipped_points_measure_their_defaults(name: str, construction: str) -> None:
    """Closer than is granted: three decimals are written, and the arcs follow within 0.005 mm."""
    for one in measured(drawn_shape(load_family(name), construction)):
        if "part" not in one.key:
            assert one.found_mm == pytest.approx(one.stated_mm, abs=0.02)


@cases(("off_mm", "faults"), [(DRAWN_MM - 0.02, 0), (DRAWN_MM + 0.02, 1)])
@cases("sign", [-1, 1])
def test_how_far_a_drawing_may_be_off(off_mm: float, faults: int, sign: int) -> None:
    table = family_table("chef")
    (flat,) = [d for d in table["dimension"] if d["name"] == "flat_length"]
    flat["default"] = f"{52.5 + sign * off_mm} mm"
    assert len(drawing_faults(family_from_table(table, "drawn.toml"), "full")) == faults


@pytest.mark.parametrize("key", ["front", "butt"])
def test_a_named_point_that_is_not_where_the_defaults_put_it(key: str) -> None:
    table = family_table("chef")
    table["points"][key][0] -= 0.2
    (fault,) = drawing_faults(family_from_table(table, "drawn.toml"), "full")
    assert f"[points] {key}" in fault


def test_a_curve_that_does_not_reach_its_station_is_said() -> None:
    table = family_table("chef")
    (drop,) = [d for d in table["dimension"] if d["name"] == "spine_drop"]
    drop["measure"]["to"] = {"from": "tip", "toward": "heel", "mm": -30}
    assert any("does not reach" in fault for fault in drawing_faults(family_from_table(table, "drawn.toml"), "full"))


def told_otherwise(shape: SolvedShape, name: str, by_mm: float) -> SolvedShape:
    """Return the shape with one dimension reported wrong, as a solver that reads its own points wrong would."""
    rows = tuple(
        Solved(s.dimension, s.value_mm + (by_mm if s.dimension.name == name else 0.0), s.asked_mm) for s in shape.solved
    )
    return replace(shape, solved=rows)


DRAWN = {"tip_height": 0.02, "flat_length": 0.02, "heel_height": 0.02, "spine_drop": 0.02, "tang_front": 0.03,
         "tang_middle": 0.03, "tang_butt": 0.04, "handle_length": 0.02, "blade_length": 0.02}  # fmt: skip


@cases("name", DRAWN)
@cases("sign", [-1, 1])
def test_a_dimension_reported_wrong_is_an_error_that_names_it_and_both_figures(name: str, sign: int) -> None:
    shape = told_otherwise(solved("chef", "full", "default"), name, sign * DRAWN[name])
    key = shape.family.dimension(name, "full").key
    assert key in [one.key for one in wrong(shape)]
    found = design_findings(shape, [], finish(read_design("chef")).ground, None, None, None, wooden=False)
    errors = [f.message for f in found if f.code == "DIMENSIONS" and f.level == "error"]
    assert any(message.startswith(f"{key}: stated {shape.values_mm[name]:.3f} mm, measured ") for message in errors)


def test_what_the_arcs_confirm_is_one_ok() -> None:
    shape = solved("chef", "full", "default")
    found = design_findings(shape, [], finish(read_design("chef")).ground, None, None, None, wooden=False)
    (one,) = [f for f in found if f.code == "DIMENSIONS"]
    assert one.level == "ok"
