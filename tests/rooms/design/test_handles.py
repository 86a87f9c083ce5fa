"""Any blade takes any handle that its height allows; blade and handle are two files."""

from __future__ import annotations

import itertools
import json
from pathlib import Path

import pytest
from shapely.geometry import Polygon

from blankwright.base.errors import DesignError, RequestError
from blankwright.base.library import templates_dir
from blankwright.design.blade import hands
from blankwright.design.family import load_family
from blankwright.design.nearest import solve_sound
from blankwright.design.pattern import handle_names, load_handle_table
from blankwright.design.request import build_design, read_design
from blankwright.knife.knife import finish
from blankwright.solid.handlebodies import flat_corners, section_share
from rooms.design.cases import FAMILIES, family_table, write_family
from rooms.every import every
from rooms.often import repeated, share

HANDLES = handle_names()
LINES = 120
"""Of a file that a maker reads and changes."""


@every(sorted(path.relative_to(templates_dir()).as_posix() for path in templates_dir().glob("[fh]*/*.toml")))
def test_a_file_of_a_family_or_a_handle_is_short(name: str) -> None:
    assert len((templates_dir() / name).read_text(encoding="utf-8").splitlines()) <= LINES


@repeated
@every(share(itertools.product(FAMILIES, HANDLES), 30))
def test_any_blade_takes_any_handle(name: str, handle: str) -> None:
    family = load_family(name, handle=handle)
    construction = next(iter(family.curves))
    assert family.patterns[construction] == handle
    assert construction in load_handle_table(handle, "test")["constructions"]
    shape = solve_sound(family, construction, {})
    polygon = Polygon(shape.finished.flattened(0.01))
    assert polygon.is_valid
    for solved in shape.solved:
        assert solved.value_mm == pytest.approx(solved.dimension.default_mm, abs=1e-6), solved.dimension.key


def test_a_handle_keeps_the_size_of_its_hand_on_every_blade() -> None:
    """The hand is said once: all blades for one hand have one handle, whatever their size."""
    found: dict[str, set[float]] = {}
    for name in FAMILIES:
        family = load_family(name, handle="swell")
        hand = json.loads(family.source)["blade"]["handle"]["hand"]
        found.setdefault(hand, set()).add(family.dimension("handle_length", "full").default_mm)
    assert set(found) <= set(hands())
    assert all(len(lengths) == 1 for lengths in found.values()), found


def test_a_low_blade_lowers_a_handle_that_nobody_asked_for() -> None:
    family = load_family("paring")
    low = solve_sound(family, "full", {"heel_height": 14.0})
    assert low.values_mm["tang_front"] < family.dimension("tang_front", "full").default_mm - 4
    with pytest.raises(DesignError, match=r"tang\.front 17\.00 mm is too high for a blade of 14\.00 mm") as caught:
        solve_sound(family, "full", {"heel_height": 14.0, "tang_front": 17.0})
    front = float(str(caught.value).split("tang.front ")[2].split(" mm instead")[0])
    worked = solve_sound(family, "full", {"heel_height": 14.0, "tang_front": front})
    assert worked.values_mm["tang_front"] == pytest.approx(front, abs=1e-6)


def test_a_handle_asked_for_decides_the_construction() -> None:
    design = read_design("santoku", {"handle.pattern": "octagon"})
    assert (design.construction, design.pattern) == ("hidden", "octagon")
    assert design.block is not None
    assert design.block.section == "octagon"
    knife = finish(design)
    assert knife.handle is not None
    assert knife.handle.section == "octagon"


def test_a_handle_of_ones_own_is_found_beside_the_design(tmp_path: Path) -> None:
    text = (templates_dir() / "handles" / "beak.toml").read_text(encoding="utf-8")
    (tmp_path / "mine.toml").write_text(text.replace('name = "beak"', 'name = "mine"'), encoding="utf-8")
    file = tmp_path / "knife.toml"
    file.write_text('name = "one"\nfamily = "chef"\n[handle]\npattern = "mine.toml"\n', encoding="utf-8")
    own, shipped = finish(read_design(file)), finish(read_design("chef", {"handle.pattern": "beak"}))
    assert own.finished.vertices.tolist() == shipped.finished.vertices.tolist()
    assert own.design.pattern == str((tmp_path / "mine.toml").resolve())


def test_wrong_handles_are_answered(tmp_path: Path) -> None:
    with pytest.raises(RequestError, match="beak"):
        read_design("chef", {"handle.pattern": "baek"})
    whole = write_family(tmp_path, family_table("chef"))
    with pytest.raises(RequestError, match=r"written whole .*drawn\.toml.*Leave pattern out"):
        read_design(str(whole), {"handle.pattern": "beak"})
    with pytest.raises(RequestError, match="expected a handle's name"):
        build_design({"family": "chef", "handle": {"pattern": 3}}, {}, "mine.toml", None)


def test_an_octagon_is_the_regular_one_stretched() -> None:
    """Area of a regular octagon in a square of side a: 2 (sqrt 2 - 1) a^2 (any table of plane figures)."""
    assert section_share("octagon") == pytest.approx(2 * (2**0.5 - 1), rel=1e-12)
    upper = flat_corners("octagon")
    whole = Polygon([*upper, *((y, -z) for y, z in reversed(upper[1:-1]))])
    assert whole.area / 4 == pytest.approx(section_share("octagon"), rel=1e-12)
