"""The tables as shipped, and what the loader says of a table that is wrong."""

import tomllib
from importlib.resources import files

import pytest

from blankwright.base.errors import RequestError
from blankwright.base.fields import Fields, read_one_table
from blankwright.base.readrows import read_row
from blankwright.base.said import TABLED
from blankwright.shop import tables
from blankwright.shop.records import REGIONS, Figure, Fit, Material, Process
from rooms.every import cases

DATA = files("blankwright.shop") / "data"
NAMES = ("steels", "woods", "laminates", "metals", "bones", "processes", "fits")
GRADES = [  # the grades that makers of kitchen knives ask for
    "1075", "1084", "1095", "15N20", "5160", "52100", "O1", "W2",
    "80CrV2", "A2", "D2", "440C", "13C26", "AEB-L", "14C28N", "1.4116", "unknown",
]  # fmt: skip


def figures_in(row, path=()):
    """Yield every table that looks like a figure, wherever it is nested."""
    if "value" in row:
        yield path, row
        return
    for key, value in row.items():
        if isinstance(value, dict):
            yield from figures_in(value, (*path, key))


@cases("name", ["hardening", "processes", *tables.MATERIALS])
def test_one_table_of_a_file_is_what_it_is_in_the_whole(name):
    whole = tomllib.loads((DATA / f"{name}.toml").read_text(encoding="utf-8"))
    for key, table in whole.items():
        assert read_one_table(tables.DATA / f"{name}.toml", key) == {key: table}
    for key in ("", "none", "water", "laser.clean_up", "1.4116.temper", "temper", "laser]\n[trace"):
        assert key not in read_one_table(tables.DATA / f"{name}.toml", key)


@cases("name", NAMES)
def test_every_figure_has_value_unit_source_and_status(name):
    found = list(figures_in(tomllib.loads((DATA / f"{name}.toml").read_text(encoding="utf-8"))))
    assert found
    for path, row in found:
        assert set(row) == {"value", "unit", "source", "status"}, path
        assert row["status"] in TABLED, path
        assert len(row["source"]) >= 10, path


@cases("name", NAMES)
def test_the_tables_name_no_address(name):
    text = (DATA / f"{name}.toml").read_text(encoding="utf-8")
    for forbidden in ("http", "www.", ".com", ".org", "TODO"):
        assert forbidden not in text


def test_every_grade_is_there_and_is_steel():
    assert [entry.name for entry in tables.materials() if entry.kind in ("steel", "stainless")] == GRADES


def test_every_kind_of_material_is_there():
    kinds = {entry.kind for entry in tables.materials()}
    assert kinds == {"steel", "stainless", "wood", "laminate", "metal", "bone"}


def test_the_processes_of_the_design_file_are_there():
    names = {entry.name for entry in tables.processes()}
    assert names == {"plasma-table", "plasma-hand", "oxy-fuel", "water-jet", "laser", "saw", "trace"}


def test_no_name_occurs_twice():
    names = [key.lower() for entry in tables.materials() for key in (entry.name, *entry.aliases)]
    assert len(names) == len(set(names))


def test_densities_are_sane_by_kind():
    ranges = {
        "steel": (7600, 7900),
        "stainless": (7600, 7900),
        "wood": (350, 1200),
        "laminate": (1100, 1900),
        "metal": (7000, 9000),
        "bone": (1200, 2100),
    }
    for entry in tables.materials():
        low, high = ranges[entry.kind]
        assert low <= entry.density_kg_m3.value <= high, entry.name


def test_process_figures_are_sane():
    for entry in tables.processes():
        assert 0 < entry.kerf_mm.value <= 3.5, entry.name
        assert 0 <= entry.burnt_layer_mm.value <= 2.5, entry.name
        for region in REGIONS:
            assert 0.1 <= entry.clean_up_mm[region].value <= 1.0, entry.name
        assert entry.clean_up_mm["edge"].value >= entry.clean_up_mm["spine"].value, entry.name


def test_a_flame_or_an_arc_never_cuts_wood():
    for name in ("plasma-table", "plasma-hand"):
        assert tables.process(name).materials == ("steel", "stainless")
    assert tables.process("oxy-fuel").materials == ("steel",)  # common practice: a flame does not cut stainless
    assert [p.name for p in tables.processes() if "wood" in p.materials] == ["water-jet", "saw", "trace"]


@cases(
    ("asked", "name"),
    [("80crv2", "80CrV2"), (" o1 ", "O1"), ("AEBL", "AEB-L"), ("Sugar Maple", "sugar-maple"),
     ("black_walnut", "black-walnut"), ("walnut", "black-walnut"), ("G10", "glass-epoxy"),
     ("1.4116", "1.4116")],
)  # fmt: skip
def test_a_material_is_found_whatever_its_capitals_and_blanks(asked, name):
    assert tables.material(asked).name == name


def test_an_unknown_material_names_the_place_and_the_nearest():
    with pytest.raises(RequestError, match=r"my\.toml \[scales\]: unknown material 'sugar-mapel'.*'sugar-maple'"):
        tables.material("sugar-mapel", "my.toml [scales]")


def test_an_unknown_process_names_the_nearest():
    with pytest.raises(RequestError, match="Did you mean 'water-jet'"):
        tables.process("waterjet")
    with pytest.raises(RequestError, match="unknown fit 'pressed'"):
        tables.fit("pressed")


@cases("bad", [None, 1084, 1.4116, ["O1"]])
def test_a_name_that_is_no_text_is_refused(bad):
    with pytest.raises(RequestError, match="must be a name in quotes"):
        tables.material(bad, "my.toml [material] grade")


def test_tables_are_read_once():
    assert tables.material("O1") is tables.material("o1")


# A table that is wrong ------------------------------------------------------------------------------------

FIGURE = {"value": 1.0, "unit": "mm", "source": "bench notes", "status": "common practice"}
DENSITY = FIGURE | {"value": 7850, "unit": "kg/m3"}


def changed(row, **changes):
    return {key: value for key, value in (row | changes).items() if value is not ...}


@cases(
    ("change", "message"),
    [
        ({"value": -1}, "value: expected a number of 0 or more, got -1"),
        ({"value": float("nan")}, "value: expected a number of 0 or more, got nan"),
        ({"value": "1"}, "value: expected a number"),
        ({"value": True}, "value: expected a number"),
        ({"unit": " "}, "unit: expected a text"),
        ({"source": ""}, "source: expected a text"),
        ({"source": 3}, "source: expected a text, got 3"),
        ({"status": "guess"}, "unknown status 'guess'"),
        ({"status": "asked"}, "unknown status 'asked'"),
        ({"status": ...}, "the key 'status' is missing"),
        ({"extra": 1}, "unknown key 'extra'"),
    ],
)
def test_a_bad_figure_is_refused_with_its_place(change, message):
    with pytest.raises(RequestError, match=message) as caught:
        read_row(Figure, Fields(changed(FIGURE, **change), "x.toml [a] [kerf]"))
    assert str(caught.value).startswith("x.toml [a] [kerf]")


@cases(
    ("change", "message"),
    [
        ({"title": ...}, "title"),
        ({"title": " "}, "title: expected a text"),
        ({"density": 7850}, "'density' must be a table"),
        ({"density": DENSITY | {"unit": "g/cm3"}}, "must be kg/m3"),
        ({"density": DENSITY | {"value": 7.85}}, "outside 100 to 20000"),
        ({"aliases": "AEB-L"}, "'aliases' must be a list"),
        ({"note": 1}, "note: expected a text"),
    ],
)
def test_a_bad_material_is_refused(change, message):
    row = changed({"title": "O1", "density": DENSITY}, **change)
    with pytest.raises(RequestError, match=message) as caught:
        tables.read_material("O1", Fields(row, "steels.toml [O1]"), "steel")
    assert "steels.toml [O1]" in str(caught.value)


def test_a_materials_other_keys_are_left_to_whoever_knows_them():
    row = {"title": "O1", "density": DENSITY, "harden": {"temperature": 800}}
    assert tables.read_material("O1", Fields(row, "steels.toml [O1]"), "steel").density_kg_m3.value == 7850


def test_an_unknown_kind_is_refused():
    with pytest.raises(RequestError, match="unknown kind 'stone'"):
        tables.read_material("O1", Fields({"title": "O1", "density": DENSITY}, "x"), "stone")


def good_process():
    return tomllib.loads((DATA / "processes.toml").read_text(encoding="utf-8"))["water-jet"]


@cases(
    ("change", "message"),
    [
        ({"kerfs": FIGURE}, "unknown key 'kerfs'.*'kerf'"),
        ({"kerf": ...}, "the key 'kerf' is missing"),
        ({"kerf": FIGURE | {"unit": "in"}}, "unit 'in' must be mm"),
        ({"materials": []}, "materials is empty"),
        ({"materials": ["cheese"]}, "unknown materials 'cheese'"),
        ({"materials": "steel"}, "'materials' must be a list"),
        ({"machine_cut": "yes"}, "true or false"),
        ({"thickness_min": FIGURE | {"value": 60}}, "thickness_min must be below"),
        ({"deviation_class": 1}, "either deviation_class or deviation"),
        ({"deviation": ...}, "either deviation_class or deviation"),
        ({"deviation": ..., "deviation_class": 3}, "deviation_class: expected a whole number 1 to 2, got 3"),
        ({"deviation": ..., "deviation_class": 1.0}, "whole number"),
        ({"squareness": ...}, "either squareness_range or squareness"),
        ({"squareness": ..., "squareness_range": 6}, "whole number 1 to 5, got 6"),
        ({"smallest_hole": ...}, "or neither"),
        ({"smallest_hole_per_thickness": FIGURE}, "must be 'x thickness'"),
        ({"wall_per_thickness": FIGURE}, "must be 'x thickness'"),
        ({"cautions": []}, "'cautions' must be a list of tables"),
        ({"cautions": [{"text": "x"}]}, "number 1: the key 'source' is missing"),
        ({"pin_holes": "punch"}, "unknown pin_holes 'punch'.*drill, ream"),
        ({"pin_undersize": ...}, "goes with pin_holes"),
        ({"clean_up": 0.3}, "'clean_up' must be a table"),
        ({"clean_up": {"edge": FIGURE}}, "needs each of"),
        ({"caution": ""}, "caution: expected a text"),
    ],
)
def test_a_bad_process_is_refused(change, message):
    row = Fields(changed(good_process(), **change), "processes.toml [water-jet]")
    with pytest.raises(RequestError, match=message) as caught:
        read_row(Process, row, name="water-jet")
    assert str(caught.value).startswith("processes.toml [water-jet]")


@cases(
    ("change", "message"),
    [
        ({"tang": ...}, "the key 'tang' is missing"),
        ({"tang": FIGURE | {"unit": "in"}}, "must be mm or 'x pin'"),
        ({"tang": FIGURE | {"unit": "x pin", "value": 0.9}}, "smaller than its pin"),
        ({"tang_most": FIGURE | {"value": FIGURE["value"] / 2}}, "widest hole must not be narrower"),
        ({"scale_most": FIGURE | {"unit": "x pin", "value": 1.3}}, "must have one unit"),
        ({"hole": FIGURE}, "unknown key 'hole'"),
        ({"title": ""}, "title: expected a text"),
    ],
)
def test_a_bad_fit_is_refused(change, message):
    row = changed({"title": "glued"} | dict.fromkeys(("tang", "tang_most", "scale", "scale_most"), FIGURE), **change)
    with pytest.raises(RequestError, match=message):
        read_row(Fit, Fields(row, "fits.toml [glued]"), name="glued")


def test_a_name_used_twice_is_refused():
    figure = Figure(7850.0, "kg/m3", "bench notes", "common practice")
    rows = [Material(name, name, "steel", figure, (), "") for name in ("O1", "o1")]
    with pytest.raises(RequestError, match="twice"):
        tables._by_key((entry.name, entry) for entry in rows)


def test_a_process_cannot_be_changed_after_loading():
    with pytest.raises(TypeError):
        tables.process("saw").clean_up_mm["edge"] = None


def test_a_process_without_holes_has_no_smallest_hole():
    assert tables.process("saw").smallest_hole_for_mm(3.0) is None
    assert tables.process("laser").smallest_hole_for_mm(3.0) == 3.0
    assert tables.process("laser").smallest_hole_for_mm(0.5) == 1.0
