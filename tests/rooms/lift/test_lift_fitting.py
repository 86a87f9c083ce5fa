"""A family laid on an outline that exists: dimensions, family, nick, files."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

import blankwright as bw
from blankwright.base.errors import RequestError
from blankwright.commands.cli import _run
from blankwright.design import solve as solving
from blankwright.design.family import load_family
from blankwright.design.request import read_design
from blankwright.design.solve import solve_shape
from blankwright.geometry.outline import Outline
from blankwright.lift import fitting
from blankwright.lift.designed import fit_outline
from blankwright.lift.fits import Fit, Target
from blankwright.lift.fitting import fitted
from blankwright.lift.offness import Line, signed_mm
from blankwright.lift.stretches import place_words
from rooms.lift.noisy import shape_of, tried, with_noise
from rooms.often import elsewhere, repeated, seldom, share

SEED = 20261126


def _fit(outline: Outline, family: str) -> Fit:
    fit = fitted(Target.of(outline), load_family(family), "full")
    assert fit is not None
    return fit


@pytest.fixture(scope="module")
def chef() -> bw.Knife:
    return bw.solve("chef", blade_length_mm=205, heel_height_mm=46, handle_length_mm=118)


def test_finished_layer_to_design_and_back(tmp_path: Path, chef: bw.Knife, capsys: pytest.CaptureFixture[str]) -> None:
    """The layer of the finished line of a cutting file, lifted and fitted, is the design within 0.02 mm."""
    sizes = ["--set", "blade.length=205mm", "--set", "blade.heel_height=46mm", "--set", "handle.length=118mm"]
    assert _run(["cut", "chef", *sizes, "--with", "finished", "--out", str(tmp_path)]) == 0
    file = tmp_path / "chef" / "chef_cut_mm.dxf"
    capsys.readouterr()
    words = ["lift", str(file), "--layer", "FINISHED", "--fit", "chef", "--name", "back", "--out", str(tmp_path)]
    assert _run([*words, "--json"]) == 0
    told = capsys.readouterr()
    assert told.err == "  trying family chef, first steps\n  trying family chef, to the end\n"
    fit = json.loads(told.out)["fit"]
    assert fit["family"] == "chef" and fit["worst_mm"] < 0.02 and len(fit["at_mm"]) == 2
    for name, value in chef.core.shape.values_mm.items():
        assert fit["dimensions_mm"][name] == pytest.approx(value, abs=0.02), name
    again = read_design(tmp_path / "back" / "back.toml")
    shape = solve_shape(again.family, again.construction, again.dimensions_mm)
    shapely = pytest.importorskip("shapely")
    rings = [shapely.LinearRing(o.flattened(0.001)) for o in (shape.finished, chef.finished)]
    assert shapely.hausdorff_distance(*rings, densify=0.01) < 0.02  # GEOS, not our distances


@repeated
@elsewhere
def test_noisy_outlines_name_their_family_and_its_dimensions() -> None:
    """Families named in 95 of 100, dimensions within three times the noise or what the outline tells."""
    count = seldom(200, 4, 4)
    cases = [tried(number * 5 if count < 200 else number, SEED) for number in range(count)]
    wrong = [(c.number, c.shape.family.name) for c in cases if not c.right]
    missed = [(c.number, c.missed) for c in cases if c.missed]
    dimensions = sum(len(c.fit.driven) for c in cases)
    print(f"seed {SEED}: wrong {wrong}, missed {missed} of {dimensions}")
    assert len(wrong) <= 0.05 * count, wrong
    assert sum(len(m) for _, m in missed) <= 0.05 * dimensions, missed


@repeated
@elsewhere
def test_scallops_are_counted_and_the_length_beside_them_is_told() -> None:
    """A change of the pitch moves the last of thirty scallops thirty times as far: none is off by more than told."""
    for number in (4, 19, 34):
        shape = shape_of(number, SEED)
        fit = _fit(with_noise(shape.finished, np.random.default_rng([SEED, number, 1])), "curved-bread")
        known, found = fit.known_to_mm, fit.dimensions_mm
        off = {name: (found[name] - value, known[name]) for name, value in shape.values_mm.items() if name in known}
        assert all(abs(by) <= told for by, told in off.values()), (number, off)
        assert abs(off["scallop_pitch"][0]) < 0.02, (number, off)  # thirty of them within half a millimetre


@repeated
@elsewhere
def test_a_hidden_tang_is_found_and_its_block_is_not_guessed() -> None:
    """The block over a hidden tang is drawn by no line: its length stays the family's, and is told as unknown."""
    petty = load_family("petty")
    shape = solve_shape(petty, "hidden", {"tang_length": 70, "handle_gap": 12})
    fit = fitted(Target.of(with_noise(shape.finished, np.random.default_rng(3), 0.05)), petty, "hidden")
    assert fit is not None
    for name in ("blade_length", "heel_height", "handle_gap", "tang_length", "tang_front"):
        assert fit.dimensions_mm[name] == pytest.approx(shape.values_mm[name], abs=0.2), name
    assert fit.known_to_mm["handle_length"] > 10


@repeated
@elsewhere
def test_a_round_tip_is_no_longer_sharp_one() -> None:
    """Beyond a round tip there are no places: a sharp one 2 mm further ahead is not what the outline tells."""
    paring = load_family("paring")
    shape = solve_shape(paring, "full", {"blade_length": 76.3, "tip_radius": 1.55})
    noisy = with_noise(shape.finished, np.random.default_rng(7))
    fit = _fit(noisy, "paring")
    assert fit.dimensions_mm["blade_length"] == pytest.approx(76.3, abs=0.6)
    assert fit.dimensions_mm["tip_radius"] == pytest.approx(1.55, abs=0.6)


@repeated
@elsewhere
def test_solves_of_a_fit_begin_with_those_before_and_lead_to_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    """A rounded tip takes five solves by itself. Dimensions are the same to 1e-6 mm, for less than half the steps."""
    boning, steps, read = load_family("boning"), [], solving._readings
    shape = solve_shape(boning, "full", {"blade_length": 152.3, "tip_radius": 1.55})
    target = Target.of(with_noise(shape.finished, np.random.default_rng(7)))
    monkeypatch.setattr(solving, "_readings", lambda *args, **kw: steps.append(1) or read(*args, **kw))
    found, taken = [], []
    for solve in (solve_shape, lambda *args, near=None, **kw: solve_shape(*args, **kw)):
        monkeypatch.setattr(fitting, "solve_shape", solve)
        steps.clear()
        fit = fitting.fitted(target, boning, "full")
        assert fit is not None
        found.append(fit.dimensions_mm)
        taken.append(len(steps))
    assert found[0] == pytest.approx(found[1], abs=1e-6)
    assert taken[0] < 0.5 * taken[1], taken


def test_distances_by_a_row_of_places_are_those_of_the_arcs(chef: bw.Knife) -> None:
    """Past the end of an arc of a hundredth of a millimetre as well: its bend ends with it."""
    square = np.array([[0, 0, 0], [50, 0, 0.4], [50.005, 0.01, 0], [50, 20, 0], [0, 20, 0]], dtype=float)
    for outline in (Outline(square), chef.finished):
        around = (
            np.random.default_rng(5).uniform(-3, 3, (400, 2)) + outline.sampled(outline.perimeter_mm / 400)[0][:400]
        )
        near, exact = Line(outline).off(around)[0], signed_mm(outline, around)
        assert (np.abs(near) <= np.abs(exact) + 0.05).all()
        flat = np.abs(np.abs(near) - np.abs(exact)) < 0.02
        assert flat.mean() > 0.9  # beside a corner it is the distance from its sides' lines


@repeated
def test_a_nick_moves_no_dimension(chef: bw.Knife) -> None:
    """A nick 1 mm deep and 3 mm long, at the edge and at the spine, moves no dimension by 0.1 mm."""
    shapely = pytest.importorskip("shapely")
    whole = shapely.Polygon(chef.finished.flattened(0.002))
    for x, y in share(((60.0, 0.0), (120.0, 1.3), (80.0, 45.0)), 1):
        top = whole.intersection(shapely.LineString([(x, -10), (x, 60)])).bounds
        at = top[1] if y < 20 else top[3]
        nicked = whole.difference(shapely.box(x - 1.5, at - 1.0, x + 1.5, at + 1.0))
        ring = np.array(shapely.geometry.polygon.orient(nicked).exterior.coords)[:-1]
        regions = ["spine"] * len(ring)
        fit = _fit(Outline(np.column_stack([ring, np.zeros(len(ring))]), tuple(regions), 0.0), "chef")
        for name, value in chef.core.shape.values_mm.items():
            assert fit.dimensions_mm[name] == pytest.approx(value, abs=0.1), (x, y, name)
        # the nick is a box and the line slopes: at its ends it is deeper by up to 0.12 mm
        assert fit.worst_mm == pytest.approx(1.0, abs=0.15)
        assert fit.worst_off_mm < 0 and fit.at_mm[0] == pytest.approx(x, abs=2)


@repeated
@elsewhere
def test_what_stands_in_the_way_is_no_wall() -> None:
    """A low blade, whose inner corner is as wide as it may be, is found from a begin where that corner does not fit."""
    utility = load_family("utility")
    asked = {"blade_length": 150, "heel_height": 22, "handle_length": 100, "handle_gap": 10.5}
    shape = solve_shape(utility, "full", asked)
    names = [d.name for d in utility.offered("full")]
    off = {"handle_gap": 7.5, "handle_length": -7.5, "heel_height": 2.0, "choil_radius": 1.2}
    begin = np.array([shape.values_mm[n] + off.get(n, 0.0) for n in names] + [0.0] * 3)
    noisy = with_noise(shape.finished, np.random.default_rng(3), 0.05)
    fit = fitted(Target.of(noisy), utility, "full", begin)
    assert fit is not None
    assert fit.dimensions_mm["handle_gap"] == pytest.approx(10.5, abs=0.5)  # 1.4 mm off where a wall stops the search
    assert fit.dimensions_mm["handle_length"] == pytest.approx(100, abs=0.5)
    assert fit.dimensions_mm["tip_height"] == pytest.approx(shape.values_mm["tip_height"], abs=0.04)


@repeated
@elsewhere
def test_an_own_spine_is_found() -> None:
    """A spine that was asked to fall otherwise than the family's is told from one that was not."""
    own = solve_shape(load_family("chef"), "full", {"blade_length": 210, "spine_drop": 7.0})
    fit = _fit(own.finished, "chef")
    assert "spine_drop" in fit.driven and fit.dimensions_mm["spine_drop"] == pytest.approx(7.0, abs=0.05)
    usual = solve_shape(load_family("chef"), "full", {"blade_length": 210})
    assert "spine_drop" not in _fit(usual.finished, "chef").driven


@repeated
@elsewhere
def test_a_family_of_its_own_comes_within_what_is_asked(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A chef's knife that only the utility knife may lie on gets a family file within 0.3 mm, and a design of it."""
    pattern = {"handle.pattern": "straight"}
    outline = bw.solve("chef", settings=pattern).finished
    done = fit_outline(outline, "mine", "utility", 0.3)
    assert done.best.worst_mm > 0.3 and done.own is not None and done.own.worst_mm <= 0.3
    from blankwright.lift.designed import files_of, fit_lines

    for name, text in files_of(done, "mine").items():
        (tmp_path / name).write_text(str(text), encoding="utf-8")
    design = read_design(tmp_path / "mine_own.toml")
    assert design.family.name == "mine"
    shape = solve_shape(design.family, design.construction, design.dimensions_mm)
    shapely = pytest.importorskip("shapely")
    blade = shapely.box(5, -50, 500, 100)
    a, b = (shapely.LinearRing(o.flattened(0.001)).intersection(blade) for o in (shape.finished, outline))
    assert shapely.hausdorff_distance(a, b, densify=0.01) < 0.35
    behind = shapely.box(-500, -50, 0, 100)  # the handle is the family's own, and how far it is off is told beside it
    a, b = (shapely.LinearRing(o.flattened(0.001)).intersection(behind) for o in (shape.finished, outline))
    assert done.behind is not None and done.behind.mm > 0.35
    assert done.behind.mm == pytest.approx(shapely.hausdorff_distance(a, b, densify=0.01), abs=0.05)
    words = [line.text() for line in fit_lines(done)]
    assert words[words.index(done.behind.line.text()) - 1].startswith("A family file of its own: its blade is within")
    assert done.behind.line.text() in (tmp_path / "mine_own.toml").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--fit", "cheff"], "chef"),
        (["--within", "0.3mm"], "--fit"),
        (["--fit", "any", "--within", "0.3"], "mm"),
        (["--fit", "any", "--within", "90mm"], "0.02 to 20 mm"),
    ],
)
def test_slips_are_told(words: list[str], told: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A wrong family or length says what would do."""
    points = tmp_path / "points.csv"
    points.write_text("0,0\n100,0\n100,20\n0,20\n")
    assert _run(["lift", str(points), "--out", str(tmp_path), *words]) == 2
    assert told in capsys.readouterr().err


def test_places_in_words() -> None:
    """A place is told by its region and how far from the heel."""
    assert place_words(204.0, "spine", 205.0) == ("at the tip", ())
    words, values = place_words(-40.0, "tang", 205.0)
    assert words.format(*(v.shown() for v in values)) == "on the tang 40 mm behind the heel"


def test_a_family_that_is_none_is_refused() -> None:
    """A name that is no family is refused before anything is fitted."""
    with pytest.raises(RequestError, match="santoku"):
        fit_outline(bw.solve("chef").finished, "x", "santuko")
