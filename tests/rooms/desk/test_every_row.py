"""Every row of every table, and every setting, goes through `make` once; all that fail are told together."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

import pytest

from blankwright.base.errors import BlankwrightError
from blankwright.design.designfile import written
from blankwright.design.keys import SETTINGS, Setting
from blankwright.design.partkeys import EXAMPLES
from blankwright.design.request import read_design
from blankwright.desk.make import Made, make
from blankwright.ink.papers import papers
from blankwright.sheet import files
from blankwright.shop.services import service, service_names
from blankwright.shop.tables import fits, materials, process, processes
from blankwright.template.scenes import wishes
from rooms.often import repeated, share
from rooms.source import nodes

ALL = {"cut_mm.dxf", "drawing_mm.svg", "note.txt", "sheet.html"}
"""Files of a whole set, without the knife's name."""


def made(folder: Path, family: str, changes: Mapping[str, object], **more: Any) -> tuple[Made, list[str]]:
    """Make a whole set, and say what of it is missing or in doubt."""
    found = make(read_design(family, changes), folder, **more)
    names = {name.removeprefix(f"{found.knife.design.slug}_") for name in found.report["files"]}
    bought = found.knife.start.bought
    wanted = ALL - ({"cut_mm.dxf", "note.txt"} if bought else set())
    missing = [] if more else [f"no {name}" for name in wanted - names]
    missing += [check["message"] for check in found.report["checks"] if check["code"] == "PAPER"]
    return found, missing + ([] if bought or (found.proof and found.proof.ok) else ["not proven"])


def each(folder: Path, cases: Mapping[str, tuple[str, dict[str, object], dict[str, Any]]]) -> None:
    """Make every case; fail once, with all that went wrong."""
    wrong = []
    for name, (family, changes, more) in cases.items():
        try:
            wrong += [f"{name}: {what}" for what in made(folder, family, changes, **more)[1]]
        except (BlankwrightError, ArithmeticError, LookupError, TypeError, ValueError) as error:
            wrong.append(f"{name}: {type(error).__name__}: {error}")
    assert not wrong, "\n".join(wrong)
    assert cases


def turn(rows: Sequence[Any], i: int) -> str:
    """Return the name of a row, round and round."""
    return str(rows[i % len(rows)].name)


@repeated
def test_every_steel_thin_and_thick_with_every_laminate_and_pin(tmp_path: Path) -> None:
    """Quench and soak go by the thickness. Each case holds a row of several tables: a full tang, or a hidden one.

    In the suite some steels are thin, and others are thick.
    """
    steels, pins = materials("steels"), (*materials("metals"), *materials("laminates"))
    handles = (*materials("bones"), *materials("laminates"), *materials("woods"))
    cases = {}
    for i, steel in enumerate(steels):
        changes: dict[str, object] = {"material.grade": steel.name, "pins.material": turn(pins, i)}
        changes |= {"scales.material": turn(handles, i), "pins.fit": turn(fits(), i)}
        cases[f"{i} full {changes}"] = ("paring", changes, {})
        changes = {"material.grade": steel.name, "material.thickness": "6 mm", "handle.construction": "hidden"}
        changes |= {"block.material": turn(handles, i), "block.width": "24 mm"}
        cases[f"{i} hidden {changes}"] = ("utility", changes, {})
    assert len(steels) >= max(len(pins), len(fits()))
    each(tmp_path, dict(share(cases.items(), 5)))


@repeated
def test_every_wood_as_blade_or_as_handle(tmp_path: Path) -> None:
    """Every other wood as a blade, its neighbour as that blade's scales."""
    woods = materials("woods")
    cases = {}
    for i, wood in share(list(enumerate(woods))[::2], 2):
        changes: dict[str, object] = {"material.grade": wood.name, "material.thickness": "4 mm"}
        changes |= {"handle.construction": "full", "scales.material": turn(woods, i + 1), "cutting.process": "saw"}
        cases[f"{wood.name} {changes}"] = ("paring", changes, {})
    each(tmp_path, cases)
    each(tmp_path, {"a board": ("spreader", {"material.grade": woods[0].name}, {})})


THIN = {"material.thickness": "3 mm"}


@repeated
def test_every_process_in_every_kind_it_cuts(tmp_path: Path) -> None:
    grade = {"steel": "80CrV2", "stainless": "440C", "wood": "beech"}
    cases = {
        f"{p.name} {kind}": (
            "spreader" if kind == "wood" else "chef",
            {"cutting.process": p.name, "material.grade": grade[kind], **({} if kind == "wood" else THIN)},
            {},
        )
        for p in processes()
        for kind in p.materials
    }
    each(tmp_path, dict(share(cases.items(), 4)))


@repeated
def test_every_service(tmp_path: Path) -> None:
    for name in share(service_names(), 3):
        shop = service(name)
        if shop.parts == "together":
            continue
        extras = ("program",) if shop.table else ()
        changes: dict[str, object] = {"cutting.process": shop.process}
        each(tmp_path, {name: ("paring", changes, {"service": shop, "extras": extras})})


def test_every_paper(tmp_path: Path) -> None:
    each(tmp_path, {p.name: ("paring", {}, {"wanted": wishes(p.name)}) for p in papers()})


# Every setting --------------------------------------------------------------------------------------------

FULL: list[dict[str, object]] = [
    {
        "pins.count": 2, "pins.diameter": "4 mm", "pins.material": "copper", "pins.fit": "peened",
        "pins.spacing": "45 mm", "tang.lanyard_diameter": "5 mm", "material.grade": "1084",
        "material.hardened": "yes", "material.hardness": "60 HRC", "grind.edge": "sharp",
        "material.thickness": "2.5 mm", "grind.kind": "flat",
        "grind.bevel": "double", "grind.height": "full", "grind.taper": "none", "scales.material": "beech",
        "scales.thickness": "8 mm", "scales.section": "slab", "start.from": "bar", "cutting.process": "laser",
        "cutting.nozzle_radius": "9 mm",
        "cutting.heel_notch": "before hardening", "allowance.edge": "1.2 mm",
    },
    {
        "pins.positions": "-30 mm, -95 mm", "pins.fit": "bolted", "tang.lightening_count": 1,
        "tang.lightening_diameter": "6 mm", "grind.kind": "hollow", "grind.wheel": "250 mm", "grind.height": "15 mm",
        "grind.bevel": "uneven", "grind.right_share": "70 %", "grind.edge_angle": "16 deg",
        "grind.edge_angle_left": "12 deg", "grind.taper": "straight", "grind.tip_thickness": "1 mm",
        "scales.section": "rounded", "scales.swell": "1 mm", "start.from": "found",
        "start.piece": "file", "start.thickness": "6 mm", "start.loss": "0.4 mm",
        "cutting.heel_notch": "after hardening", "allowance.spine": "2 mm", "allowance.heel": "2 mm",
    },
    {
        "grind.kind": "convex", "grind.bevel": "single", "grind.right_share": "100 %",
        "grind.behind_edge": "0.3 mm", "grind.edge_before_hardening": "0.6 mm", "grind.spine_heel": "2.6 mm",
        "grind.spine_middle": "2 mm", "grind.spine_near_tip": "1.5 mm", "grind.ricasso": "4 mm",
        "grind.plunge_radius": "5 mm", "pins.fit": "glued", "scales.section": "oval", "scales.weighed": "40 g",
        "scales.weighed_size": "130 mm, 40 mm, 10 mm", "start.from": "forged",
        "start.bar": "25 mm, 8 mm", "start.heats": 5, "start.forged_bevels": "40 %", "start.handling": "20 mm",
        "allowance.tang": "2 mm",
        "allowance.butt": "2 mm", "tang.butt_thickness": "2 mm",
    },
    {"start.from": "blank", "grind.taper": "late", "grind.edge": "blunt", "material.hardened": "no"},
    {"start.from": "hardened-blank", "grind.taper": "early", "start.piece": "rasp", "start.ground": "no"},
    {"start.from": "hardened-blank", "start.ground": "yes"},
    {"start.from": "found", "start.piece": "leaf-spring", "start.thickness": "7 mm"},
    {"start.from": "found", "start.piece": "saw-blade"},
    {"start.from": "found", "start.piece": "rasp", "material.hardened": "no"},
]  # fmt: skip
HIDDEN: list[dict[str, object]] = [
    {
        "block.material": "walnut", "block.width": "22 mm", "block.front_height": "26 mm", "block.butt_height": "28 mm",
        "block.section": "slab", "block.swell": "2 mm",
    },
    {"block.section": "rounded", "block.weighed": "100 g", "block.weighed_size": "130 mm, 40 mm, 30 mm"},
    {"block.section": "oval", "block.material": "G10"},
    {"block.section": "octagon"},
]  # fmt: skip
"""Chef's knives that together set every setting, each choice to each of its words."""
MARKED: list[dict[str, object]] = [
    {"cutting.process": "laser", "grind.height": "15 mm", "mark.text": "GALLEY", "mark.height": "3 mm",
     "mark.at": "-70 mm, 33 mm", "mark.reads": "along", "mark.lines": "etched"},
    {"cutting.process": "laser", "mark.file": "mark.svg", "mark.height": "6 mm", "mark.reads": "across",
     "mark.lines": "left out", **{f"parts.{key}": value for key, value in EXAMPLES.items()}},
]  # fmt: skip
"""The same for what is marked and for what is cut beside the blade."""
MARK = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="10mm" height="6mm" viewBox="0 0 10 6">'
    '<path d="M0 6 L5 0 L10 6" fill="none" stroke="black"/></svg>'
)


def told(setting: Setting) -> Iterator[object]:
    yield from (changes[setting.key] for changes in (*FULL, *HIDDEN, *MARKED) if setting.key in changes)


@repeated
def test_every_setting(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for setting in SETTINGS:
        found = list(told(setting))
        assert found, f"{setting.key} is set by no knife here"
        assert set(setting.choices) <= set(found), f"{setting.key}: not every word is used"
    cases = {f"full {i}": ("chef", changes, {}) for i, changes in enumerate(FULL)}
    cases |= {
        f"hidden {i}": ("chef", {"handle.construction": "hidden", **changes}, {}) for i, changes in enumerate(HIDDEN)
    }
    cases |= {f"marked {i}": ("chef", changes, {"extras": ("marks", "parts")}) for i, changes in enumerate(MARKED)}
    (tmp_path / "mark.svg").write_text(MARK, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    each(tmp_path, dict(share(cases.items(), 5)))


def test_a_setting_that_was_made_is_in_the_report(tmp_path: Path) -> None:
    found, wrong = made(tmp_path, "chef", {"allowance.edge": "1.2 mm"})
    assert not wrong
    page = (found.folder / "chef_sheet.html").read_text(encoding="utf-8")
    assert "given by the design" in page
    assert found.knife.oversize.regions_mm["edge"] == 1.2
    assert written("length", 1.2) == '"1.2 mm"'


# What fails beside the cutting file -----------------------------------------------------------------------


def test_a_sheet_that_fails_withholds_no_cutting_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: object, **__: object) -> dict[str, str]:
        raise ValueError("a row of the sheet is broken")

    monkeypatch.setattr(files, "sheet_page", broken)
    found = make(read_design("paring"), tmp_path)
    assert found.proof is not None
    assert found.proof.ok
    assert (found.folder / "paring_cut_mm.dxf").is_file()
    assert not (found.folder / "paring_sheet.html").exists()
    assert "paring_sheet.html" not in found.report["files"]
    (told,) = [check for check in found.report["checks"] if check["code"] == "PAPER"]
    assert told["level"] == "warning"
    assert "a row of the sheet is broken" in told["message"]


# One row more ---------------------------------------------------------------------------------------------


@pytest.fixture
def more_rows(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Any:
    """Return a way to append rows to a table, in a copy of all tables that this test alone reads."""
    import shutil

    from blankwright.shop import hardening, tables

    copy = tmp_path / "data"
    shutil.copytree(tables.DATA, copy)
    caches = [
        tables.materials,
        tables.processes,
        tables._materials,
        tables._processes,
        tables._process,
        tables._material,
    ]
    caches += [hardening.hardenings, hardening._shipped]

    def fresh() -> None:
        for cached in caches:
            cached.cache_clear()

    def add(stem: str, text: str) -> None:
        with (copy / f"{stem}.toml").open("a", encoding="utf-8") as stream:
            stream.write(text)
        fresh()

    monkeypatch.setattr(tables, "DATA", copy)
    monkeypatch.setattr(hardening, "_TABLE", copy / "hardening.toml")
    yield add
    monkeypatch.undo()
    fresh()


def test_a_process_is_one_row(tmp_path: Path, more_rows: Any) -> None:
    """A wire saw, made up: its row alone brings allowance, holes, cautions, walls, note and sheet."""
    figure = '{{ value = {}, unit = "mm", source = "our scenario", status = "common practice" }}'
    names = (
        "thickness_min",
        "thickness_max",
        "kerf",
        "deviation",
        "squareness",
        "burnt_layer",
        "smallest_hole",
        "wall",
    )
    sizes = (0.5, 20, 0.4, 0.1, 0.05, 0, 3, 4)
    rows = [f"{name} = {figure.format(size)}" for name, size in zip(names, sizes, strict=True)]
    text = "\n".join(
        [
            '\n[wire-saw]\ntitle = "diamond wire"\nmaterials = ["steel"]\nmachine_cut = true', *rows,
            'smallest_hole_per_thickness = { value = 1, unit = "x thickness", source = "s", status = "computed" }',
            'pin_holes = "drill"\nhole_note = "a wire has to be threaded"\nnote = "Slow."\ncaution = "Mind the wire."',
            'cautions = [{ text = "Guard the wire.", source = "our scenario", status = "common practice" }]',
            "[wire-saw.clean_up]", *(f"{r} = {figure.format(0.2)}" for r in ("edge", "spine", "heel", "tang", "butt")),
        ]
    )  # fmt: skip
    more_rows("processes", text + "\n")
    found, wrong = made(tmp_path, "chef", {"cutting.process": "wire-saw"})
    assert not wrong
    assert found.knife.oversize.regions_mm["spine"] == pytest.approx(0.05 + 0.05 + 0.2)  # half of 0.1, lean, clean-up
    assert process("wire-saw").wall_for_mm(3.0) == 4
    page = (found.folder / "chef_sheet.html").read_text(encoding="utf-8")
    assert "Guard the wire." in page
    assert "diamond wire" in page


def test_a_steel_is_one_row_and_its_sheet_says_what_is_not_known(tmp_path: Path, more_rows: Any) -> None:
    density = '{ value = 7800, unit = "kg/m3", source = "our scenario", status = "common practice" }'
    more_rows("steels", f'\n[galley-steel]\ntitle = "galley steel"\ndensity = {density}\n')
    found, wrong = made(tmp_path, "chef", {"material.grade": "galley-steel"})
    assert not wrong
    page = (found.folder / "chef_sheet.html").read_text(encoding="utf-8")
    assert "galley steel" in page
    assert "Nothing is known here of hardening this steel" in page


def test_no_process_is_named_in_the_code() -> None:
    """A process is a row; a line of code that knows one by name would be a second place. Examples may name one."""
    import ast

    import blankwright

    root, names = Path(blankwright.__file__).parent, {p.name for p in processes()}
    found = [
        f"{path.relative_to(root)}:{node.lineno}: {node.value}"
        for path in sorted(root.rglob("*.py"))
        if any(name in path.read_text(encoding="utf-8") for name in names)  # most need no tree
        for node in nodes(path)
        if isinstance(node, ast.Constant) and node.value in names
    ]
    assert not found, "\n".join(found)
