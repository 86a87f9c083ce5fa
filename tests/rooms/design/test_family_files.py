"""Broken family files: each is refused with the file, the table and the key; a redrawn copy works by path."""

# ruff: noqa: E501 - one wrong line in each row of the tables

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from blankwright.base.errors import BlankwrightError, RequestError
from blankwright.base.library import families_dir
from blankwright.design.family import load_family
from blankwright.design.parts import NEEDED_DIMENSIONS
from blankwright.design.request import build_design, read_design
from blankwright.desk.script import Knife, solve
from rooms.design.cases import FAMILIES, all_curves, curve, family_table, write_family
from rooms.every import cases

NAME = "chef"

Spoil = Callable[[dict[str, Any]], object]


def refused(path: Path) -> str:
    """Read and solve a family file and return why it was refused."""
    with pytest.raises(RequestError) as caught:
        Knife(read_design(path))
    text = str(caught.value)
    assert len(text) < 900
    return text


@cases("key", ["format", "name", "title", "use", "points", "defaults", "dimension", "curve", "construction"])
def test_a_missing_key_of_the_file_is_named(tmp_path: Path, key: str) -> None:
    table = family_table(NAME)
    del table[key]
    text = refused(write_family(tmp_path, table))
    if key not in ("curve", "construction"):  # without either it is a design file, and is told so
        assert "drawn.toml" in text
        assert f"'{key}'" in text


@cases("key", ["name", "region", "frame", "joint", "points"])
def test_a_missing_key_of_a_curve_is_named(tmp_path: Path, key: str) -> None:
    table = family_table(NAME)
    del curve(table, "spine")[key]
    text = refused(write_family(tmp_path, table))
    assert "drawn.toml" in text
    assert "[[curve]]" in text
    assert key in text


@cases("key", ["key", "name", "default", "least", "greatest", "meaning", "source", "measure"])
def test_a_missing_key_of_a_dimension_is_named(tmp_path: Path, key: str) -> None:
    table = family_table(NAME)
    del table["dimension"][1][key]
    text = refused(write_family(tmp_path, table))
    assert "drawn.toml" in text
    assert "[[dimension]]" in text
    assert f"'{key}'" in text


@cases("name", NEEDED_DIMENSIONS)
def test_a_missing_dimension_is_named(tmp_path: Path, name: str) -> None:
    table = family_table(NAME)
    table["dimension"] = [d for d in table["dimension"] if d["name"] != name]
    text = refused(write_family(tmp_path, table))
    assert "drawn.toml" in text
    assert name in text


MISSPELT: dict[str, tuple[Spoil, str, str]] = {
    "file": (lambda t: t.update(tilte=t.pop("title")), "tilte", "title"),
    "curve": (lambda t: curve(t, "edge").update(jiont=curve(t, "edge").pop("joint")), "jiont", "joint"),
    "region": (lambda t: curve(t, "spine").update(region="spien"), "spien", "spine"),
    "frame": (lambda t: curve(t, "edge").update(frame="egde"), "egde", "edge"),
    "dimension": (lambda t: t["dimension"][0].update(defualt=t["dimension"][0].pop("default")), "defualt", "default"),
    "measure": (lambda t: t["dimension"][0]["measure"].update(kind="ahed"), "ahed", "ahead"),
    "measured curve": (lambda t: t["dimension"][1]["measure"].update(curve="spnie"), "spnie", "spine"),
    "followed": (lambda t: t["dimension"][1].update(follows={"of": "blade_lenght", "power": 1}), "blade_lenght", "blade_length"),
    "construction": (lambda t: t["construction"].update(ful=t["construction"].pop("full")), "ful", "full"),
    "points": (lambda t: t["points"].update(frnt=t["points"].pop("front")), "frnt", "front"),
    "default": (lambda t: t["defaults"]["pins"]["count"].update(vlaue=2), "vlaue", "value"),
}  # fmt: skip


@cases("what", MISSPELT)
def test_a_misspelt_word_is_answered_with_the_nearest(tmp_path: Path, what: str) -> None:
    spoil, wrong, right = MISSPELT[what]
    table = family_table(NAME)
    spoil(table)
    text = refused(write_family(tmp_path, table))
    assert "drawn.toml" in text
    assert f"'{wrong}'" in text
    assert f"'{right}'" in text


BAD: dict[str, tuple[Spoil, list[str]]] = {
    "point not a number": (lambda t: curve(t, "edge")["points"].__setitem__(3, [float("nan"), 0.0]), ["[[curve]]", "point 4"]),
    "endless point": (lambda t: curve(t, "edge")["points"].__setitem__(3, [float("inf"), 0.0]), ["[[curve]]", "point 4"]),
    "point of text": (lambda t: curve(t, "edge")["points"].__setitem__(3, ["5", "6"]), ["[[curve]]", "point 4"]),
    "point in space": (lambda t: curve(t, "edge")["points"].__setitem__(3, [1.0, 2.0, 3.0]), ["[[curve]]", "point 4"]),
    "point a mile away": (lambda t: curve(t, "edge")["points"].__setitem__(3, [1e9, 0.0]), ["[[curve]]", "point 4"]),
    "no points": (lambda t: curve(t, "edge").update(points=[]), ["[[curve]]", "points"]),
    "too few points": (lambda t: curve(t, "edge").update(points=curve(t, "edge")["points"][:3], joint="sharp"), ["curve 'edge'", "point is missing"]),
    "two thousand points": (lambda t: curve(t, "edge").update(points=curve(t, "edge")["points"] * 200), ["[[curve]]", "points", "200"]),
    "two equal points": (lambda t: curve(t, "edge")["points"].insert(2, curve(t, "edge")["points"][2]), ["curve 'edge'", "same"]),
    "open at the end": (lambda t: all_curves(t)[-1]["points"].__setitem__(-1, [-1.0, 2.0]), ["not closed", "[0, 0]"]),
    "open at the start": (lambda t: curve(t, "edge")["points"].__setitem__(0, [1.0, 0.0]), ["heel corner", "[0, 0]"]),
    "two curves of one name": (lambda t: curve(t, "spine").update(name="edge"), ["'edge'"]),
    "bare length": (lambda t: t["dimension"][0].update(default=210), ["[[dimension]]", "default", "unit"]),
    "wrong unit": (lambda t: t["dimension"][0].update(default="210 furlongs"), ["[[dimension]]", "default", "furlongs"]),
    "angle for a length": (lambda t: t["dimension"][0].update(least="15 deg"), ["[[dimension]]", "least", "deg"]),
    "default out of range": (lambda t: t["dimension"][0].update(default="2 m"), ["[[dimension]]", "default"]),
    "wild joint": (lambda t: curve(t, "edge").update(joint="500 mm"), ["[[curve]]", "joint"]),
    "joint no word": (lambda t: curve(t, "edge").update(joint="welded"), ["[[curve]]", "joint"]),
    "later format": (lambda t: t.update(format=2), ["format"]),
    "degree": (lambda t: t.update(degree=12), ["degree"]),
    "handle behind its butt": (lambda t: t["points"].update(front=t["points"]["butt"]), ["[points]", "butt"]),
    "power of text": (lambda t: t["dimension"][1].update(follows={"of": t["dimension"][0]["name"], "power": "much"}), ["power"]),
    "key without a table": (lambda t: t["dimension"][1].update(key="heel_height"), ["[[dimension]]", "key"]),
    "unknown construction": (lambda t: t["dimension"][1].update(constructions=["half"]), ["constructions"]),
    "table for a list": (lambda t: t.update(curve={"name": "edge"}), ["[[curve]]"]),
    "default without unit": (lambda t: t["defaults"]["material"].update(thickness={"value": 3, "source": "ours"}), ["thickness", "unit"]),
    "default not known": (lambda t: t["defaults"]["material"].update(color={"value": "blue", "source": "ours"}), ["color"]),
}  # fmt: skip


@cases("what", BAD)
def test_a_bad_value_is_refused_with_its_place(tmp_path: Path, what: str) -> None:
    spoil, words = BAD[what]
    table = family_table(NAME)
    spoil(table)
    text = refused(write_family(tmp_path, table))
    for word in ["drawn.toml", *words]:
        assert word in text, text


def test_a_point_on_the_wrong_side_that_makes_the_outline_cross_itself_is_refused(tmp_path: Path) -> None:
    table = family_table(NAME)
    edge = curve(table, "edge")["points"]
    edge[len(edge) // 2][1] += 120.0  # far above the spine
    text = refused(write_family(tmp_path, table))
    assert "cross" in text or "board" in text or "hollow" in text or "hold together" in text


def test_a_missing_curve_is_refused(tmp_path: Path) -> None:
    for region in ("edge", "spine", "butt", "heel"):
        table = family_table(NAME)
        gone = curve(table, region)
        for part in (table, *table["construction"].values()):
            if "curve" in part:
                part["curve"] = [c for c in part["curve"] if c is not gone]
        assert "drawn.toml" in refused(write_family(tmp_path, table)), region


def test_files_that_are_no_text_or_too_large_or_not_toml_are_refused(tmp_path: Path) -> None:
    path = tmp_path / "drawn.toml"
    for content, word in (
        (b"\x00\xff\xfe" * 400, "UTF-8"),
        (b"# a comment\n" * 200_000, "larger"),
        (b"format = = 1", "TOML"),
        (b"x = " + b"[" * 5000, "TOML"),
        (b"", "family"),
    ):
        path.write_bytes(content)
        text = refused(path)
        assert "drawn.toml" in text
        assert word in text


def test_a_file_that_is_not_there_is_named(tmp_path: Path) -> None:
    assert "absent.toml" in refused(tmp_path / "absent.toml")
    with pytest.raises(RequestError, match=r"absent\.toml"):
        load_family(str(tmp_path / "absent.toml"))


@cases("name", FAMILIES)
def test_a_copy_with_a_moved_point_works_by_path(tmp_path: Path, name: str) -> None:
    table = family_table(name)
    table["name"] = "mine"
    butt = next(c for c in table["construction"]["full"]["curve"] if c["region"] == "butt")
    butt["points"][len(butt["points"]) // 2][1] -= 0.4
    drawn, own = solve(name), solve(write_family(tmp_path, table))
    assert own.finished.area_mm2 != drawn.finished.area_mm2
    assert own.finished.area_mm2 == pytest.approx(drawn.finished.area_mm2, rel=0.01)
    assert own.design.name == "mine"


def test_a_design_finds_its_family_beside_itself(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = tmp_path / "shapes"
    folder.mkdir()
    write_family(folder, family_table(NAME), "mine.toml")
    design = folder / "knife.toml"
    design.write_text('name = "one"\nfamily = "mine.toml"\n', encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    assert solve(design).finished.area_mm2 == solve(NAME).finished.area_mm2
    assert solve(os.path.relpath(design)).finished.area_mm2 == solve(NAME).finished.area_mm2


def test_a_changed_file_is_read_again(tmp_path: Path) -> None:
    table = family_table(NAME)
    path = write_family(tmp_path, table)
    before = load_family(str(path)).title
    table["title"] = "Another title"
    write_family(tmp_path, table)
    os.utime(path, ns=(1, path.stat().st_mtime_ns + 10_000_000))
    assert (before, load_family(str(path)).title) == (family_table(NAME)["title"], "Another title")


def test_a_family_that_does_not_exist_names_those_that_do() -> None:
    with pytest.raises(RequestError) as caught:
        build_design({"family": NAME[:-1] + "xx"}, {}, "mine.toml", None)
    assert all(name in str(caught.value) for name in FAMILIES)
    assert isinstance(caught.value, BlankwrightError)


@cases("name", FAMILIES)
def test_a_copy_of_a_shipped_file_works_by_path(tmp_path: Path, name: str) -> None:
    """What the first line of each file promises."""
    copy = tmp_path / f"my_{name}.toml"
    copy.write_bytes((families_dir() / f"{name}.toml").read_bytes())
    ours, shipped = read_design(copy), read_design(name)
    assert (ours.family.path, ours.construction) == (str(copy), shipped.construction)
    assert Knife(ours).finished == Knife(shipped).finished
