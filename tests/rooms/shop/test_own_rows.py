"""A maker's own steel, wood or way of cutting, by path: used by every paper, and refused with file, key and range."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from blankwright.base.errors import RequestError
from blankwright.base.library import templates_dir
from blankwright.base.said import joined
from blankwright.design.request import read_design
from blankwright.knife.knife import finish
from blankwright.report.tables import table_data, table_text
from blankwright.sheet.stages import sheet_of
from blankwright.shop.allowance import allowance
from blankwright.shop.hardening import hardening
from rooms.every import cases

TABLES = templates_dir() / "tables"
KEYS = {"steel": "material.grade", "wood": "scales.material", "process": "cutting.process"}


def copied(folder: Path, name: str, *changes: tuple[str, str]) -> str:
    """Write a shipped starting point with changes, and return its path."""
    text = (TABLES / f"{name}.toml").read_text(encoding="utf-8")
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new, 1)
    (folder / f"my_{name}.toml").write_text(text, encoding="utf-8")
    return str(folder / f"my_{name}.toml")


def test_the_starting_points_are_used_by_every_paper() -> None:
    knife = finish(read_design("chef", {key: str(TABLES / f"{name}.toml") for name, key in KEYS.items()}))
    assert knife.material.title == "Galley steel"
    assert knife.process is not None
    assert (knife.process.title, knife.process.kerf_mm.value) == ("abrasive band saw, own fence", 1.1)
    assert knife.oversize.regions_mm == {"edge": 0.8, "spine": 0.8, "heel": 0.7, "tang": 0.8, "butt": 0.8}
    assert knife.handle is not None
    assert knife.handle.material.density_kg_m3.value == 690
    stages = {stage.code: stage for stage in sheet_of(knife).stages}
    assert "abrasive band saw" in stages["cut"].title
    harden = next(row for row in stages["harden"].rows if row.label == "Harden at")
    assert joined(harden.values, "mm", "").startswith("800 to 830 °C")
    assert "Wood from the ferry's old deck" in str(stages["list"].tables)


def test_a_path_is_looked_up_beside_the_design_and_a_folder_can_move(tmp_path: Path) -> None:
    codes = []
    for name in ("one", "two"):
        folder = tmp_path / name
        folder.mkdir()
        copied(folder, "steel")
        (folder / "k.toml").write_text('name = "k"\nfamily = "chef"\n[material]\ngrade = "my_steel.toml"\n', "utf-8")
        knife = finish(read_design(folder / "k.toml"))
        assert knife.material.title == "Galley steel"
        codes.append(knife.code)
    assert codes[0] == codes[1], "the code is that of what the file says, not of where it lies"
    copied(tmp_path / "two", "steel", ("7850", "7851"))
    assert finish(read_design(tmp_path / "two" / "k.toml")).code != codes[0]


def test_a_file_that_was_changed_is_read_anew(tmp_path: Path) -> None:
    path = copied(tmp_path, "steel")
    known = hardening(path)
    assert known is not None
    assert known.harden.low == 800
    copied(
        tmp_path,
        "steel",
        ('low = 800, high = 830, printed = "800 to 830 C"', 'low = 850, high = 860, printed = "850 to 860 C"'),
    )
    changed = hardening(path)
    assert changed is not None
    assert changed.harden.low == 850


@cases(
    ("name", "old", "new", "says"),
    [
        ("steel", "value = 7850", "value = 78500", r"my_steel\.toml: density 78500 kg/m3 is outside 100 to 20000"),
        ("steel", 'unit = "kg/m3"', 'unit = "lb"', r"my_steel\.toml \[density\]: unit 'lb' must be kg/m3"),
        ("steel", 'kind = "steel"', 'kind = "stel"', r"my_steel\.toml: unknown kind 'stel'. Did you mean 'steel'"),
        ("steel", 'kind = "steel"', 'kind = "wood"', r"my_steel\.toml \[hardening\]: only steel is hardened"),
        ("steel", "title = ", "titel = ", r"my_steel\.toml: unknown key 'titel'. Did you mean 'title'"),
        (
            "steel",
            "low = 800",
            "low = 80",
            r"my_steel\.toml \[hardening\] .*low: expected a number 100 to 1300, got 80",
        ),
        ("steel", "temper_from", "temper_form", r"my_steel\.toml \[hardening\]: unknown key 'temper_form'"),
        ("steel", '"fast oil"]', '"milk"]', r"my_steel\.toml \[hardening\].*milk"),
        ("wood", "690", "-690", r"my_wood\.toml.*-690"),
        ("wood", 'status = "not checked against a source"', 'status = "sure"', r"my_wood\.toml.*sure"),
        ("process", "kerf = { value = 1.1", "kerf = { value = -1.1", r"my_process\.toml.*-1\.1"),
        ("process", 'pin_holes = "drill"', 'pin_holes = "bore"', r"my_process\.toml.*bore.*drill"),
        ("process", "[clean_up]\nedge", "[clean_up]\nrim", r"my_process\.toml.*clean_up"),
    ],
)
def test_what_is_wrong_is_told_with_file_key_and_range(
    tmp_path: Path, name: str, old: str, new: str, says: str
) -> None:
    path = copied(tmp_path, name, (old, new))
    with pytest.raises(RequestError, match=says):
        sheet_of(finish(read_design("chef", {KEYS[name]: path})))


@cases(
    ("key", "name", "says"),
    [
        ("material.grade", "process", "this is a way of cutting. It goes where"),
        ("cutting.process", "wood", "this is a material. It goes where"),
        ("material.grade", "none", r"\[material\] grade: .*none\.toml: there is no such table file"),
        (
            "scales.material",
            "steel",
            r"\[scales\] material: .* is a blade steel. Allowed here: woods or laminates or bones",
        ),
        ("pins.material", "wood", r"\[pins\] material: .* is a wood. Allowed here: metals"),
    ],
)
def test_a_table_in_a_place_that_is_not_its_own(key: str, name: str, says: str) -> None:
    with pytest.raises(RequestError, match=says):
        finish(read_design("chef", {key: str(TABLES / f"{name}.toml")}))


@cases("name", KEYS)
def test_it_is_read_like_a_shipped_table(name: str, command: Callable) -> None:  # type: ignore[type-arg]
    path = str(TABLES / f"{name}.toml")
    rows = table_data(path)["rows"]
    assert rows[0]["figures"][0]["source"]
    assert rows[0]["title"] in table_text(path)
    assert command("tables", path).code == 0


def test_a_file_that_is_no_table_is_told(tmp_path: Path) -> None:
    (tmp_path / "x.toml").write_text('title = "x"\n', encoding="utf-8")
    with pytest.raises(RequestError, match="neither a material, which says its kind"):
        table_text(str(tmp_path / "x.toml"))


def test_a_process_file_that_changes_changes_the_allowance(tmp_path: Path) -> None:
    """A script that works on its own process reads it again and again in one run."""
    found = []
    for value in ("0.4", "0.9"):
        file = copied(tmp_path, "process", ("spine = { value = 0.4", f"spine = {{ value = {value}"))
        asked = allowance(file, thickness_mm=3, size_mm=300, material_kind="steel", overrides={})
        found.append(asked.regions_mm["spine"])
    assert found[1] == pytest.approx(found[0] + 0.5)
