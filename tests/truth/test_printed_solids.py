"""The written solids, read back by a mesh library that knows nothing of ours, against the weights of the same knife."""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import manifold3d
import numpy as np
import pytest
import trimesh

from blankwright.base.errors import DesignError, RequestError
from blankwright.design.request import read_design
from blankwright.desk.make import Made, make
from blankwright.desk.script import Knife, solve
from blankwright.knife.weights import KnifePart
from blankwright.print3d.printable import solids
from blankwright.print3d.stl import stl_bytes
from rooms.design.cases import family_table, write_family
from rooms.every import cases
from rooms.often import EVERY_CASE, elsewhere, repeated, share
from rooms.written import in_folder

SOURCE = "trimesh (reading, closedness, volume, centre of mass) and manifold3d (genus), from the package index."
TOLERANCE = 1e-3
TOLERANCE_MM = 0.1
TOLERANCE_BOUNDS_MM = 0.003
REASON = (
    "Chords at most 0.002 mm inside the outline, 32 steps on a curved bevel, points of 32 bits; pins filed flush "
    "with a rounded handle weigh a few hundredths of a gram less than cylinders of full length."
)

PINNED = {"pins.count": 1, "pins.diameter": "2.5 mm", "pins.material": "brass", "pins.fit": "glued"}
ALL: dict[str, tuple[str, str, dict[str, object]]] = {
    **{f"{name} {kind}": (name, kind, {}) for name in ("chef", "utility", "paring", "spreader")
       for kind in ("full", "hidden", "one-piece")},
    "single hollow, ricasso, swell, thin butt": ("chef", "full", {
        "grind.bevel": "single", "grind.right_share": "100 %", "grind.kind": "hollow", "grind.wheel": "600 mm",
        "grind.height": "12 mm", "grind.ricasso": "8 mm", "grind.plunge_radius": "12 mm", "scales.section": "oval",
        "scales.swell": "3 mm", "tang.lanyard_diameter": "5 mm", "tang.butt_thickness": "1.5 mm",
    }),
    "uneven convex, lightened tang": ("utility", "full", {
        "grind.bevel": "uneven", "grind.right_share": "70 %", "grind.kind": "convex", "tang.butt_thickness": "1 mm",
        "tang.lightening_count": 2, "tang.lightening_diameter": "6 mm", "grind.spine_heel": "1.8 mm",
    }),
    "rounded, palm swell": ("paring", "full", {
        "scales.section": "rounded", "scales.swell": "2 mm", "grind.ricasso": "5 mm", "grind.plunge_radius": "0.5 mm",
    }),
    "slab with a swell": ("spreader", "full", {
        "scales.section": "slab", "scales.swell": "1 mm", "grind.taper": "late", "grind.kind": "convex",
    }),
    "oval block, pin": ("chef", "hidden", {
        **PINNED, "block.section": "oval", "block.swell": "4 mm", "tang.butt_thickness": "1.5 mm",
    }),
    "slab block": ("utility", "hidden", {"block.section": "slab", "block.swell": "4 mm", "grind.ricasso": "10 mm"}),
    "rounded block, pin": ("paring", "hidden", {**PINNED, "pins.diameter": "1.5 mm", "block.section": "rounded",
                                                "grind.plunge_radius": "5 mm"}),
    "thick wood": ("spreader", "one-piece", {"grind.kind": "convex", "grind.behind_edge": "0.8 mm"}),
}  # fmt: skip
WILD = [case for case, (_, _, settings) in ALL.items() if settings]
CASES = {case: ALL[case] for case in (*share([name for name in ALL if name not in WILD], 2), *share(WILD, 3))}


@cache
def knife(case: str) -> Knife:
    name, construction, settings = ALL[case]
    return solve(name, construction=construction, settings=settings)


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> Callable[[str], Made]:
    """Make a case with its solids, once for all tests of it."""
    return cache(lambda case: make(knife(case).design, tmp_path_factory.mktemp("solids"), ("stl",)))


@pytest.fixture(scope="module")
def read(written: Callable[[str], Made]) -> Any:
    """Return the solids of a case as the mesh library reads them, from what `make` wrote or from the same bytes."""

    @cache
    def run(case: str) -> dict[str, trimesh.Trimesh]:
        if not EVERY_CASE and case != next(iter(CASES)):  # the papers of the others take as long as their solids
            return {
                name: trimesh.load(io.BytesIO(stl_bytes(mesh.vertices, mesh.faces, name)), file_type="stl")
                for name, mesh in solids(knife(case).core).items()
            }
        made = written(case)
        names = [str(n) for n in made.report["files"] if str(n).endswith(".stl")]
        return {name.rsplit("_", 2)[1]: trimesh.load(made.folder / name, file_type="stl") for name in names}

    return run


def centre(parts: tuple[KnifePart, ...]) -> tuple[float, np.ndarray]:
    volume = sum(p.volume_mm3 for p in parts)
    return volume, sum(np.array(p.body.centre_mm) * p.volume_mm3 for p in parts) / volume


def genus(mesh: trimesh.Trimesh) -> int:
    body = manifold3d.Manifold(
        manifold3d.Mesh64(np.asarray(mesh.vertices, dtype=np.float64), np.asarray(mesh.faces, dtype=np.uint64))
    )
    assert body.status() == manifold3d.Error.NoError
    return sum(piece.genus() for piece in body.decompose())


@repeated
@pytest.mark.parametrize("case", CASES)
def test_the_files_are_closed_solids(read: Any, case: str) -> None:
    found = read(case)
    wanted = {"blade", "knife"} if CASES[case][1] == "one-piece" else {"blade", "handle", "knife"}
    assert set(found) == wanted
    for name, mesh in found.items():
        print(name, len(mesh.faces))
        assert mesh.is_watertight, name
        assert mesh.is_volume, name
        assert mesh.is_winding_consistent, name
        assert mesh.nondegenerate_faces().all(), name
        assert len(mesh.faces) < 60_000
    assert found["blade"].body_count == found["knife"].body_count == 1


@repeated
@pytest.mark.parametrize("case", CASES)
def test_they_are_as_large_as_weighed(read: Any, case: str) -> None:
    parts = knife(case).core.weights.parts
    found = read(case)
    for name, some in (("blade", parts[:1]), ("handle", parts[1:])):
        if not some:
            continue
        volume, middle = centre(some)
        print(case, name, found[name].volume / volume - 1, np.abs(found[name].center_mass - middle).max())
        assert found[name].volume == pytest.approx(volume, rel=TOLERANCE), name
        assert found[name].center_mass == pytest.approx(middle, abs=TOLERANCE_MM), name


@repeated
@pytest.mark.parametrize("case", CASES)
def test_the_knife_is_its_parts_and_the_filled_gaps(read: Any, case: str) -> None:
    """What the handle hides is filled in the knife: gaps round pins and lightening holes, whose size is known."""
    one = knife(case)
    volume = sum(p.volume_mm3 for p in one.core.weights.parts)
    stock = one.design.stock.thickness_mm
    filled = {"pin": 0.0, "lightening": 0.0, "lanyard": 0.0}
    for h in one.core.holes:
        filled[h.hole.purpose] += np.pi / 4 * h.hole.diameter_mm**2 * stock
    gap = one.core.holes and filled["pin"] - sum(
        np.pi / 4 * one.design.pins.diameter_mm**2 * stock for h in one.core.holes if h.hole.purpose == "pin"
    )
    knife_mm3 = read(case)["knife"].volume
    print(case, knife_mm3 / volume - 1)
    # pins in the scales have gaps too, a few times as long; a tapering tang's holes are a little shorter
    most = volume + 12 * float(gap or 0.0) + filled["lightening"]
    assert volume * (1 - TOLERANCE) < knife_mm3 < most * (1 + TOLERANCE)


@repeated
@pytest.mark.parametrize("case", CASES)
def test_holes_go_through(read: Any, case: str) -> None:
    one, found = knife(case), read(case)
    purposes = [h.hole.purpose for h in one.core.holes]
    pins, lanyards = purposes.count("pin"), purposes.count("lanyard")
    assert genus(found["blade"]) == len(purposes)
    assert genus(found["knife"]) == lanyards
    if "handle" not in found:
        return
    if one.design.construction == "full":
        assert genus(found["handle"]) == 2 * (pins + lanyards)
        assert found["handle"].body_count == 2 + pins
    else:
        # a pin crosses the slot: its bore opens both walls, one loop more for each wall
        assert genus(found["handle"]) == 2 * pins
        assert found["handle"].body_count == 1 + pins


@repeated
@cases("case", CASES)
def test_bounds_are_the_outlines(read: Any, case: str) -> None:
    one, found = knife(case), read(case)
    low, high = found["blade"].bounds
    assert [*low[:2], *high[:2]] == pytest.approx(one.finished.bounds_mm, abs=TOLERANCE_BOUNDS_MM)
    half = one.design.stock.thickness_mm / 2
    assert (low[2], high[2]) == pytest.approx((-half, half), abs=1e-5)
    if "handle" in found:
        low, high = found["handle"].bounds
        assert [*low[:2], *high[:2]] == pytest.approx(one.core.handle.outline.bounds_mm, abs=TOLERANCE_BOUNDS_MM)
        assert low[2] == pytest.approx(-high[2], abs=1e-4)


@repeated
@pytest.mark.parametrize("case", share(["chef full", *WILD[:2], "oval block, pin"], 1))
def test_the_same_bytes_twice(written: Callable[[str], Made], tmp_path: Path, case: str) -> None:
    one, two = written(case).folder, make(knife(case).design, tmp_path, ("stl",)).folder
    names = sorted(p.name for p in two.glob("*.stl"))
    assert len(names) == 3
    for name in names:
        data = (two / name).read_bytes()
        assert data == (one / name).read_bytes()
        assert re.fullmatch(rb"(blade|handle|knife), unit mm, design [A-Z0-9]{4}-[A-Z0-9]{4} *", data[:80])


@elsewhere
@repeated
@pytest.mark.parametrize("seed", range(0, 16, 1 if EVERY_CASE else 7))
def test_random_knives_close(seed: int) -> None:
    """What once went wrong here: round tips, hollows beside the middle, tapering tangs that only touch."""
    rng = np.random.default_rng(seed)
    construction = ("full", "hidden", "one-piece")[seed // 4 % 3]
    kind = ("flat", "hollow", "convex")[int(rng.integers(3))]
    settings: dict[str, object] = {
        "grind.kind": kind, "grind.bevel": "uneven", "grind.right_share": f"{rng.uniform(5, 95):.1f} %",
        "grind.ricasso": f"{rng.uniform(0, 10):.2f} mm", "grind.plunge_radius": f"{rng.uniform(0, 20):.2f} mm",
        "grind.height": f"{rng.uniform(3, 8):.2f} mm", "grind.behind_edge": f"{rng.uniform(0.1, 0.5):.2f} mm",
        "grind.taper": ("none", "straight", "early", "late")[int(rng.integers(4))],
    }  # fmt: skip
    if kind == "hollow":
        settings["grind.wheel"] = f"{rng.uniform(500, 900):.0f} mm"
    if construction != "one-piece":
        settings |= {"tang.butt_thickness": f"{rng.uniform(0.8, 1.8):.2f} mm", "grind.spine_heel": "1.9 mm"}
    one = solve(("chef", "utility", "paring", "spreader")[seed % 4], construction=construction, settings=settings)
    parts = one.core.weights.parts
    for name, mesh in solids(one.core).items():
        seen = trimesh.Trimesh(mesh.vertices.astype(np.float32), mesh.faces)
        assert seen.is_volume, name
        assert seen.nondegenerate_faces().all(), name
        if name == "knife":
            assert seen.body_count == 1
        if name == "blade":
            assert seen.volume == pytest.approx(parts[0].volume_mm3, rel=TOLERANCE)


def test_tang_and_slot_fill_the_block() -> None:
    """Blade and slotted block together are the knife: nothing overlaps, nothing is missing."""
    found = solids(knife("slab block").core)
    one = knife("slab block")
    swollen = one.design.block.width_mm + one.design.block.swell_mm
    assert found["handle"].volume_mm3 < one.core.handle.outline.area_mm2 * swollen
    assert found["knife"].volume_mm3 == pytest.approx(
        found["blade"].volume_mm3 + found["handle"].volume_mm3, rel=TOLERANCE
    )


def test_a_block_that_is_not_described(tmp_path: Path) -> None:
    table = family_table("chef")
    del table["construction"]["hidden"]["defaults"]["block"]
    file = write_family(tmp_path, table, "mine.toml")
    design = read_design(file, {"handle.construction": "hidden"})
    with pytest.raises(DesignError, match=r"\[block\]"):
        make(design, tmp_path / "out", ("stl",))
    assert not (tmp_path / "out").exists()


def test_a_hollow_that_cuts_through(tmp_path: Path) -> None:
    settings = {"grind.kind": "hollow", "grind.wheel": "60 mm", "grind.height": "40 mm"}
    with pytest.raises(DesignError, match="cuts through"):
        make(read_design("chef", settings), tmp_path / "out", ("stl",))
    assert not (tmp_path / "out").exists()


def test_only_make_writes_solids(tmp_path: Path) -> None:
    with pytest.raises(RequestError, match="blankwright make"):
        make(read_design("chef"), tmp_path, ("stl",), True)
    with pytest.raises(
        RequestError, match=r"Did you mean 'stl'.*finished, grind, marks, notes, parts, program, sections, stl"
    ):
        make(read_design("chef"), tmp_path, ("slt",))
    with pytest.raises(RequestError, match=r"Allowed: finished, grind, marks, notes, program\.$"):
        make(read_design("chef"), tmp_path, ("slt",), True)
    assert list(tmp_path.iterdir()) == []


def test_older_solids_are_told_of(tmp_path: Path) -> None:
    made = make(read_design("chef"), tmp_path, ("stl",))
    assert made.report["files"][-1] == "chef.json"
    assert {p.name for p in in_folder(made.folder)} == set(made.report["files"])
    later = make(read_design("chef", {"blade.length": "200 mm"}), tmp_path)
    assert set(later.older) == {"chef_blade_mm.stl", "chef_handle_mm.stl", "chef_knife_mm.stl"}
