"""A blank that exists as a design: the finished outline is the lifted one, dimensions are measured and never asked."""

from __future__ import annotations

import pickle
from pathlib import Path

import numpy as np
import pytest

from blankwright.base.errors import RequestError
from blankwright.design.bought import BoughtFamily
from blankwright.design.check import wrong
from blankwright.design.designfile import design_file, design_text
from blankwright.design.lifted import lifted_text, read_lifted
from blankwright.design.named import family_or_blank
from blankwright.design.request import Design, read_design
from blankwright.design.settings import Value
from blankwright.knife.code import design_code
from blankwright.knife.knife import Knife, finish
from rooms.blanks import WITHIN_MM, blank_file, knife_of, row_of_holes
from rooms.every import cases, every

STEEL_MM = {"material.thickness": "3 mm", "material.grade": "80CrV2"}
FAMILIES = ("chef", "paring", "santoku", "spreader", "boning")


@pytest.fixture(scope="module")
def chef() -> Knife:
    return knife_of("chef", {"pins.count": "3", "start.from": "hardened-blank"})


@pytest.fixture(scope="module")
def chefs_blank(chef: Knife, tmp_path_factory: pytest.TempPathFactory) -> Path:
    return blank_file(tmp_path_factory.mktemp("chef"), chef)


def bought(path: Path, **changes: str) -> Design:
    return read_design(path, STEEL_MM | {key.replace("__", "."): value for key, value in changes.items()})


def settings_of(knife: Knife) -> dict[str, str]:
    """Return what a family gave its knife, to be asked of the blank: the blank knows no family."""

    def shown(key: str, value: Value) -> str:
        return value if isinstance(value, str) else f"{value:g} deg" if "angle" in key else f"{value:g} mm"

    kept = ("grind.", "scales.", "block.", "material.")
    return {key: shown(key, value) for key, value in knife.design.settings.items() if key.startswith(kept)}


def test_the_finished_outline_is_the_lifted_one(chefs_blank: Path) -> None:
    knife, lifted = finish(bought(chefs_blank)), read_lifted(chefs_blank)
    assert knife.finished == lifted.outline
    assert [made.circle for made in knife.holes] == [(h.x_mm, h.y_mm, h.diameter_mm) for h in lifted.holes]
    assert wrong(knife.shape) == ()


def test_what_is_measured_is_what_the_knife_was_made_to(chef: Knife, chefs_blank: Path) -> None:
    """The solver's dimensions, which the outline was drawn to, found again on the outline by other means."""
    found, made = finish(bought(chefs_blank, handle__gap="14 mm")).shape, chef.shape
    for name in ("blade_length", "heel_height", "tip_height", "flat_length", "handle_length", "tang_front",
                 "tang_middle", "tang_butt"):  # fmt: skip
        assert found.values_mm[name] == pytest.approx(made.values_mm[name], abs=0.012), name
    assert found.overall_length_mm == pytest.approx(made.overall_length_mm, abs=0.01)
    assert all(s.asked_mm is None for s in found.solved if s.dimension.measured)


@cases("bevel", [{}, {"grind__bevel": "single", "grind__right_share": "100 %"}])
@cases("construction", ["full", "hidden"])
def test_weights_and_sections_are_those_of_the_knife_it_was_cut_as(
    construction: str, bevel: dict[str, str], tmp_path: Path
) -> None:
    asked = {key.replace("__", "."): value for key, value in bevel.items()}
    made = knife_of("chef", {"handle.construction": construction, "start.from": "hardened-blank", **asked})
    own = settings_of(made) | asked | {"handle.gap": "14 mm", "handle.construction": construction}
    if construction == "hidden":
        own["handle.length"] = f"{made.shape.values_mm['handle_length']:.6f} mm"
    found = finish(read_design(blank_file(tmp_path, made), own))
    for part in ("ground_blade", "handle", "finished_knife"):
        assert getattr(found.weights, part).mass_g == pytest.approx(getattr(made.weights, part).mass_g, abs=0.02)
    assert found.weights.balance_mm == pytest.approx(made.weights.balance_mm, abs=0.02)
    for one, other in zip(found.stations, made.stations, strict=True):
        assert one.bevel_deg == pytest.approx(other.bevel_deg, abs=0.01)
        assert (one.height_mm, one.spine_mm) == pytest.approx((other.height_mm, other.spine_mm), abs=0.02)


def test_a_lift_that_is_off_is_off_by_no_more_in_weight(chef: Knife, tmp_path: Path) -> None:
    """An outline further out by d weighs at most perimeter x d x thickness x density more (geometry)."""
    path = blank_file(tmp_path, chef)
    lifted = read_lifted(path)
    grown = lifted.outline.vertices.copy()
    grown[:, :2] *= 1 + WITHIN_MM / float(np.hypot(*grown[:, :2].T).max())
    off = type(lifted.outline)(grown, lifted.outline.regions, lifted.outline.max_error_mm)
    path.write_text(lifted_text(type(lifted)(lifted.name, lifted.source, off, lifted.holes, lifted.budget)))
    own = settings_of(chef) | {"handle.gap": "14 mm"}
    found = finish(read_design(path, own)).weights
    most = chef.finished.perimeter_mm * WITHIN_MM * chef.stock_mm * 7.85e-3
    assert found.ground_blade is not None
    assert chef.weights.ground_blade is not None
    assert 0 < abs(found.ground_blade.mass_g - chef.weights.ground_blade.mass_g) < most


@every([(family, construction) for family in FAMILIES for construction in ("full", "hidden")])
def test_the_construction_is_seen_and_the_front_is_found(family: str, construction: str) -> None:
    import tempfile

    made = knife_of(family, {"handle.construction": construction, "material.grade": "80CrV2"})
    with tempfile.TemporaryDirectory() as folder:
        found = finish(read_design(blank_file(Path(folder), made), STEEL_MM))
    assert found.construction == construction
    gap = made.shape.values_mm["handle_gap"]
    if construction == "hidden":  # the shoulders are seen
        assert found.shape.values_mm["handle_gap"] == pytest.approx(gap, abs=0.11)
        assert found.shape.values_mm["tang_length"] == pytest.approx(made.shape.values_mm["tang_length"], abs=0.12)
    assert all(-made.hole.x_mm >= found.shape.values_mm["handle_gap"] + 8 - 1e-6 for made in found.pins)


@cases(
    ("key", "value", "said"),
    [
        ("blade.length", "200 mm", "the blank is as it is: 210.00 mm is measured on its outline"),
        ("blade.heel_height", "50 mm", "48.00 mm is measured on its outline"),
        ("handle.length", "120 mm", "measured on its outline"),
        ("tang.front", "20 mm", "measured on its outline"),
        ("blade.overall_length", "340 mm", "its outline stands"),
        ("blade.choil_radius", "6 mm", "its outline stands"),
        ("handle.gap", "60 mm", r"handle.gap: 60.00 mm is out of range. Allowed: 0.00 mm to"),
    ],
)
def test_what_the_blank_has_cannot_be_asked_for(chefs_blank: Path, key: str, value: str, said: str) -> None:
    with pytest.raises(RequestError, match=said):
        finish(read_design(chefs_blank, STEEL_MM | {key: value}))


def test_a_script_cannot_ask_for_it_either(chefs_blank: Path) -> None:
    with pytest.raises(RequestError, match="the blank is as it is"):
        finish(bought(chefs_blank).replace(blade_length_mm=200.0))
    with pytest.raises(RequestError, match="its outline stands"):
        finish(bought(chefs_blank).replace(overall_length_mm=300.0))


def test_the_thickness_is_never_guessed(chefs_blank: Path) -> None:
    with pytest.raises(RequestError, match=r"\[material\] thickness is missing: an outline shows none. Measure"):
        read_design(chefs_blank)


@cases(
    ("text", "said"),
    [
        ('family = "lifted"', 'needs the outline that was lifted. Write outline = "S_lifted.toml"'),
        ('family = "lifted"\noutline = "none.toml"', "none.toml.*Write one with: blankwright lift FILE"),
        ('family = "chef"\noutline = "OUT"', "outline: only a blank that was lifted has one"),
        ('family = "OUT"', "this is the outline of a blank, no family. Make a design of it: blankwright new"),
        ('family = "lifted"\noutline = "design.toml"', "this is no lifted outline"),
    ],
)
def test_a_design_that_names_no_blank_says_how(chefs_blank: Path, tmp_path: Path, text: str, said: str) -> None:
    design = tmp_path / "design.toml"
    design.write_text(f"{text.replace('OUT', chefs_blank.as_posix())}\n", encoding="utf-8")
    with pytest.raises(RequestError, match=said):
        read_design(design, STEEL_MM)


def test_a_pattern_names_section_and_block_and_leaves_the_tang(chefs_blank: Path) -> None:
    plain = finish(bought(chefs_blank))
    octagon = finish(bought(chefs_blank, handle__pattern="octagon"))
    assert octagon.construction == "hidden"  # an octagon is a block
    assert octagon.design.block is not None
    assert octagon.design.block.section == "octagon"
    assert octagon.finished == plain.finished
    assert octagon.design.pattern == "octagon"


def test_a_new_design_file_reads_back_and_says_what_was_measured(chefs_blank: Path, tmp_path: Path) -> None:
    family = family_or_blank(str(chefs_blank))
    assert isinstance(family, BoughtFamily)
    text = design_file(family, "galley", folder=chefs_blank.parent)
    assert f'outline = "{chefs_blank.name}"' in text
    assert "blade.length 210.00 mm" in text
    assert "[cutting]" not in text
    assert "[allowance]" not in text
    file = chefs_blank.with_name("galley.toml")
    file.write_text(text.replace('# thickness = "1 mm"', 'thickness = "2.5 mm"'), encoding="utf-8")
    knife = finish(read_design(file))
    assert knife.stock_mm == 2.5
    assert knife.start.name == "hardened-blank"
    again = tmp_path / "again.toml"
    again.write_text(design_text(read_design(file), [], {}), encoding="utf-8")
    assert design_code(read_design(again)) == design_code(read_design(file))


def test_the_code_hangs_on_the_outline_and_not_on_its_folder(chef: Knife, tmp_path: Path) -> None:
    folders = [tmp_path / name for name in ("a", "b")]
    for folder in folders:
        folder.mkdir()
    first, second = (blank_file(folder, chef) for folder in folders)
    assert finish(bought(first)).code == finish(bought(second)).code
    blank_file(folders[1], chef, row_of_holes(chef, 5.1, 5.1))
    assert finish(bought(first)).code != finish(bought(second)).code


def test_a_blank_goes_to_a_worker_and_comes_back(chefs_blank: Path) -> None:
    design = bought(chefs_blank)
    back = pickle.loads(pickle.dumps(design))
    assert back == design
    assert isinstance(back.family, BoughtFamily)
    assert finish(back).code == finish(design).code


def test_hollows_within_the_lift_are_not_told_and_deeper_ones_are(chef: Knife, tmp_path: Path) -> None:
    path = blank_file(tmp_path, chef)
    assert finish(bought(path)).shape.edge_health.hollows_mm == ()
    lifted = read_lifted(path)
    v = lifted.outline.vertices.copy()
    v[4, 2] = -2 * 0.4 / float(lifted.outline.chord_lengths[4])  # a hollow 0.4 mm deep
    hollow = type(lifted.outline)(v, lifted.outline.regions)
    path.write_text(lifted_text(type(lifted)(lifted.name, lifted.source, hollow, lifted.holes, lifted.budget)))
    found = finish(bought(path)).shape.edge_health.hollows_mm
    assert len(found) == 1
    assert found[0][0] == pytest.approx(float(v[4:6, 0].mean()), abs=1)


def test_a_bend_is_read_off_the_arcs(chef: Knife, chefs_blank: Path) -> None:
    """Against the family's own spline: length along the edge, and curvature away from the arcs' joints."""
    arcs, spline = (s.bend("edge", 40) for s in (finish(bought(chefs_blank)).shape, chef.shape))
    assert arcs[-1, 0] == pytest.approx(spline[-1, 0], abs=0.01)
    assert np.median(np.abs(arcs[12:, 3] - spline[12:, 3])) < 1e-3
