"""Service files: every wrong key or value is named with file, table and key; limits go by thickness."""

from __future__ import annotations

import random
import re
from pathlib import Path
from typing import Any

import pytest

from blankwright.base.errors import RequestError
from blankwright.base.library import templates_dir
from blankwright.shop.services import service, service_from, service_names
from rooms.every import cases
from rooms.often import often, repeated
from truth.services_by_hand import changed, plain_table

SHIPPED = ("jet", "laser", "own-table", "plasma")


def test_every_shipped_file_reads_and_is_called_what_it_says() -> None:
    assert tuple(service_names()) == SHIPPED
    for name in SHIPPED:
        assert service(name).name == name
        assert (service(name).table is not None) == (name == "own-table")
        assert all(row.source for row in service(name).limits)


WRONG: list[tuple[str, dict[str, Any], str]] = [
    ("jet", {"format": 2}, "x.toml format: expected a whole number 1 to 1"),
    ("jet", {"format": True}, "x.toml format: expected a whole number"),
    ("jet", {"name": None}, "x.toml: the key 'name' is missing"),
    ("jet", {"title": 3}, "x.toml title: expected a text, got 3"),
    ("jet", {"note": "  "}, "x.toml note: expected a text"),
    ("jet", {"notes": "x"}, "x.toml: unknown key 'notes'. Did you mean 'note'?"),
    ("jet", {"process": "water-jit"}, "x.toml process: unknown process 'water-jit'. Did you mean 'water-jet'?"),
    ("jet", {"file": 3}, "x.toml: 'file' must be a table"),
    ("jet", {"file": None}, "x.toml: the key 'file' is missing"),
    ("jet", {"file.colour": "red"}, "x.toml [file]: unknown key 'colour'"),
    ("jet", {"file.release": "R13"}, "x.toml [file]: unknown release 'R13'"),
    ("jet", {"file.release": None}, "x.toml [file]: the key 'release' is missing"),
    ("jet", {"file.unit": "cm"}, "x.toml [file]: unknown unit 'cm'"),
    ("jet", {"file.contours": "polylines"}, "Did you mean 'polyline'?"),
    ("jet", {"file.curves": "splines"}, "x.toml [file]: unknown curves 'splines'"),
    ("jet", {"file.deviation": "0.01 mm"}, 'x.toml [file] deviation: goes with curves = "chords"'),
    ("jet", {"file.curves": "chords"}, "x.toml [file]: the key 'deviation' is missing"),
    ("jet", {"file.curves": "chords", "file.deviation": "1 mm"}, "x.toml [file] deviation: 1 mm is out of range"),
    ("jet", {"file.curves": "chords", "file.deviation": "0.01"}, "x.toml [file] deviation: '0.01' has no unit"),
    ("jet", {"file.name": "{slug}"}, "x.toml [file] name: the rule must hold {unit}"),
    ("jet", {"file.name": "{slug}_{units}"}, "x.toml [file] name: unknown field of a file name 'units'"),
    ("jet", {"file.name": "{slug_{unit}"}, "x.toml [file] name: "),
    ("jet", {"file.name": "{slug}}_{unit}"}, "x.toml [file] name: '{slug}}_{unit}' has a brace too many"),
    ("jet", {"file.name": "{slug!r}_{unit}"}, "x.toml [file] name: "),
    ("jet", {"file.name": "{slug:>99999999}_{unit}"}, "x.toml [file] name: "),
    ("jet", {"file.name": "../{slug}_{unit}"}, "x.toml [file] name: only letters, digits"),
    ("jet", {"file.name": "{unit.__class__}_{unit}"}, "x.toml [file] name: unknown field"),
    ("jet", {"file.longest_name": 7}, "x.toml [file] longest_name: expected a whole number 8 to 200"),
    ("jet", {"file.longest_name": "60"}, "x.toml [file] longest_name: expected a whole number"),
    ("jet", {"file.parts": "two"}, "x.toml [file]: unknown parts 'two'"),
    ("jet", {"file.cut_layer": "two words"}, "x.toml [file] cut_layer: a layer's name has"),
    ("jet", {"file.mark_layer": "x" * 32}, "x.toml [file] mark_layer: a layer's name has"),
    ("jet", {"file.mark_layer": "CUT"}, "x.toml [file] mark_layer: "),
    ("jet", {"file.mark_layer": "cut"}, "x.toml [file] mark_layer: "),
    ("jet", {"holes.policy": "drill"}, "x.toml [holes]: unknown policy 'drill'"),
    ("jet", {"holes.way": "x"}, "x.toml [holes]: unknown key 'way'"),
    ("jet", {"limits": []}, "x.toml: 'limits' must be a list of tables, each headed [[limits]]"),
    ("jet", {"limits": {"up_to": "3 mm"}}, "x.toml: 'limits' must be a list of tables"),
    ("own-table", {"table.kerf": "9 mm"}, "x.toml [table] kerf: 9 mm is out of range. Allowed: 0.02 to 8 mm"),
    ("own-table", {"table.kerf": 1.5}, "x.toml [table] kerf: expected a text, got 1.5"),
    ("own-table", {"table.lead": "0 mm"}, "x.toml [table] lead: 0 mm is out of range"),
    ("own-table", {"table.enter": "tip"}, "x.toml [table]: unknown enter 'tip'"),
    ("own-table", {"table.outside": "left"}, "x.toml [table]: unknown outside 'left'"),
    ("own-table", {"table.tabs": 9}, "x.toml [table] tabs: expected a whole number 0 to 8, got 9"),
    ("own-table", {"table.tab_width": "30 mm"}, "x.toml [table] tab_width: 30 mm is out of range"),
    ("own-table", {"table.feed": "0 mm/min"}, "x.toml [table] feed: 0 cannot be"),
    ("own-table", {"table.travel": "fast"}, "x.toml [table] travel: 'fast' is not a quantity"),
    ("own-table", {"table.pierce": "-1 s"}, "x.toml [table] pierce: -1 cannot be"),
    ("own-table", {"table.speed": "1 m/min"}, "x.toml [table]: unknown key 'speed'"),
    ("own-table", {"table.source": None}, "x.toml [table]: the key 'source' is missing"),
    ("own-table", {"file.curves": "chords", "file.deviation": "0.01 mm"}, "x.toml [file] curves: a path"),
    ("own-table", {"file.cut_layer": "GRIND"}, "x.toml [file] cut_layer: "),
    ("own-table", {"table.dialect": "rs275"}, "[table] dialect: unknown dialect 'rs275'. Did you mean 'rs274'"),
    (
        "own-table",
        {"table.dialect": "mine.toml"},
        "mine.toml: there is no such dialect file",
    ),
    ("own-table", {"process": "trace"}, "x.toml process: trace is not cut on a table"),
]


@cases(("base", "change", "said"), WRONG, ids=lambda v: str(v)[:60])
def test_what_is_wrong_is_named(base: str, change: dict[str, Any], said: str) -> None:
    with pytest.raises(RequestError, match=re.escape(said)):
        service_from(changed(base, change), "x.toml")


@cases(
    ("key", "value", "said"),
    [
        ("up_to", "0 mm", "x.toml [[limits]] number 1 up_to: 0 mm is out of range"),
        ("smallest_hole", "big", "x.toml [[limits]] number 1 smallest_hole: 'big' is not a quantity"),
        ("smallest_corner", "51 mm", "x.toml [[limits]] number 1 smallest_corner: 51 mm is out of range"),
        ("smallest_wall", 3, "x.toml [[limits]] number 1 smallest_wall: expected a text, got 3"),
        ("source", "", "x.toml [[limits]] number 1 source: expected a text"),
        ("sauce", "x", "x.toml [[limits]] number 1: unknown key 'sauce'. Did you mean 'source'?"),
        ("up_to", "11 mm", "x.toml [[limits]]: rows go from thin to thick stock"),
    ],
)
def test_a_wrong_limit_is_named_with_its_row(key: str, value: object, said: str) -> None:
    table = changed("jet", {})
    table["limits"][0][key] = value
    with pytest.raises(RequestError, match=re.escape(said)):
        service_from(table, "x.toml")


@cases(("thickness", "hole"), [(0.5, 1.8), (3.5, 1.8), (3.5000001, 3.0), (10.0, 3.0), (10.1, None), (200.0, None)])
def test_the_first_row_that_is_thick_enough_counts(thickness: float, hole: float | None) -> None:
    row = service("jet").limit_for(thickness)
    assert (row.smallest_hole_mm if row else None) == hole


def test_unknown_services_and_files(tmp_path: Path) -> None:
    with pytest.raises(RequestError, match=r"unknown service 'plazma'\. Did you mean 'plasma'"):
        service("plazma")
    with pytest.raises(RequestError, match=r"there is no such service file. Shipped: jet, laser"):
        service(str(tmp_path / "none.toml"))
    (tmp_path / "mine.toml").write_bytes((templates_dir() / "services" / "jet.toml").read_bytes())
    assert service("mine.toml", tmp_path).name == "jet"


def random_edit(text: str, rng: random.Random) -> str:
    """Return a service file with one slip: a value, a key, a line, a byte, a number's sign or size."""
    lines = text.splitlines()
    rows = [i for i, line in enumerate(lines) if "=" in line and not line.startswith("#")]
    i = rng.choice(rows)
    key, _, value = lines[i].partition("=")
    way = rng.randrange(9)
    if way == 0:
        lines[i] = key + "= " + rng.choice(["", "-1", "1e999", "nan", "true", "[]", "{}", '""', '"0 mm"'])
    elif way == 1:
        at = rng.randrange(len(key.strip()) or 1)
        lines[i] = f"{key[:at]}{rng.choice('abcxyz_')}{key[at + 1 :]}={value}"
    elif way == 2:
        del lines[i]
    elif way == 3:
        lines.insert(rng.randrange(len(lines)), lines[i])
    elif way == 4:
        at = rng.randrange(len(value))
        lines[i] = f"{key}={value[:at]}{rng.choice('0159 {}_[]!é')}{value[at + 1 :]}"
    elif way == 5:
        lines[i] = f"{key}={value}".replace("mm", rng.choice(["in", "m", "", "furlongs", "µm"]))
    elif way == 6:
        lines[i] = re.sub(r"\d+", lambda _: str(rng.choice([0, 1, 99999, -5, 3])), lines[i], count=1)
    elif way == 7:
        lines.insert(rng.randrange(len(lines)), rng.choice(["[file]", "[[limits]]", "[table]", "[x]", "x = 1", "]"]))
    else:
        lines = lines[: rng.randrange(len(lines))]
    return "\n".join(lines) + "\n"


SEED = 20261125


@repeated
@pytest.mark.parametrize("part", range(often(6, 1)))
def test_random_slips_end_in_a_message_that_names_the_file(tmp_path: Path, command, part: int) -> None:  # type: ignore[no-untyped-def]
    """Three hundred edits, through the command line: no traceback, and the message names the file."""
    rng = random.Random(SEED + part)
    texts = [(templates_dir() / "services" / f"{name}.toml").read_text(encoding="utf-8") for name in SHIPPED]
    refused = 0
    for number in range(50):
        text = random_edit(rng.choice(texts), rng)
        file = tmp_path / "shop.toml"
        file.write_text(text, encoding="utf-8")
        print("seed", SEED + part, "edit", number)
        ran = command("cut", "spreader", "--service", file, "--out", tmp_path / "out")
        assert ran.code in (0, 2), ran.err
        assert "Traceback" not in ran.err + ran.out
        if ran.code:
            refused += 1
            assert (
                "shop.toml" in ran.err
                or "service" in ran.err
                or "file names of at most" in ran.err
                or ("kerf" in ran.err or "lead" in ran.err or "its file has limits" in ran.err)
            ), ran.err
            assert ran.err.count("\n") <= 6
    assert refused > 10


def test_the_plain_tables_are_untouched_by_changes() -> None:
    changed("jet", {"file.unit": "in"})
    assert plain_table("jet")["file"]["unit"] == "mm"
