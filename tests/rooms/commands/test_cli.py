"""The command line: exit codes, messages, machine-readable output, and no traceback for any wrong line."""

# ruff: noqa: E501 - one wrong line in each row of the tables

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from blankwright.base.errors import BlankwrightError
from blankwright.design.family import load_family
from rooms.design.cases import FAMILIES, family_table, write_family
from rooms.every import cases
from rooms.written import in_folder

Command = Callable[..., "object"]
LINE = [
    "make",
    "chef",
    "--set",
    "blade.length=210mm",
    "--set",
    "blade.heel_height=48mm",
    "--process",
    "water-jet",
]


def run(*args: str, cwd: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "blankwright", *args], cwd=cwd, capture_output=True, text=True, encoding="utf-8",
        env=os.environ | {"PYTHONIOENCODING": "utf-8"}, check=False,
    )  # fmt: skip


def test_the_main_job_in_a_process_of_its_own(tmp_path: Path) -> None:
    done = run(*LINE, cwd=tmp_path)
    assert (done.returncode, done.stderr) == (0, "")
    for word in (
        "210.00 mm",
        "48.00 mm",
        "The part is",
        "allowance",
        "least clearance",
        "checks",
        "out/chef/chef_cut_mm.dxf",
    ):
        assert word in done.stdout
    assert sorted(p.name for p in in_folder(tmp_path / "out" / "chef")) == [
        "chef.json",
        "chef_card_a4.pdf",
        "chef_check_mm.pdf",
        "chef_cut_mm.dxf",
        "chef_drawing_mm.svg",
        "chef_note.txt",
        "chef_sheet.html",
        "chef_template_a4.pdf",
    ]


def test_a_wrong_line_in_a_process_of_its_own(tmp_path: Path) -> None:
    done = run("make", "chfe", cwd=tmp_path)
    assert (done.returncode, done.stdout) == (2, "")
    assert "'chef'" in done.stderr
    assert "Traceback" not in done.stderr
    assert list(tmp_path.iterdir()) == []


def test_linear_algebra_has_one_thread_unless_the_user_says_otherwise(
    monkeypatch: pytest.MonkeyPatch, command: Command
) -> None:
    for given, kept in (("", "1"), ("4", "4")):
        monkeypatch.setenv("OPENBLAS_NUM_THREADS", given)
        if not given:
            del os.environ["OPENBLAS_NUM_THREADS"]
        command("--version")
        assert os.environ["OPENBLAS_NUM_THREADS"] == kept


def test_a_reader_that_hangs_up_is_no_fault(tmp_path: Path) -> None:
    line = f'"{sys.executable}" -m blankwright families --json | head -c 10'
    done = subprocess.run(["sh", "-c", line], cwd=tmp_path, capture_output=True, text=True, check=False)
    assert done.stderr == ""


def test_json_on_stdout_is_the_report_file(tmp_path: Path, command: Command) -> None:
    ran = command(*LINE, "--json", "--out", tmp_path)
    assert (ran.code, ran.err) == (0, "")
    assert json.loads(ran.out) == json.loads((tmp_path / "chef" / "chef.json").read_text(encoding="utf-8"))
    assert json.loads(ran.out)["dimensions_mm"]["blade_length"] == pytest.approx(210, abs=1e-6)


def test_units_change_the_words_but_not_the_files(tmp_path: Path, command: Command) -> None:
    metric = command(*LINE, "--out", tmp_path / "a")
    inch = command(*LINE, "--out", tmp_path / "b", "--units", "in")
    assert "8.268 in" in inch.out
    assert "8.268 in" not in metric.out
    for name in ("chef_cut_mm.dxf", "chef.json", "chef_drawing_mm.svg"):
        assert (tmp_path / "a/chef" / name).read_bytes() == (tmp_path / "b/chef" / name).read_bytes()


def test_lengths_in_inches_are_the_same_knife(tmp_path: Path, command: Command) -> None:
    asked = {"a": "8 1/4 in", "b": '8.25"', "c": "209.55 mm", "d": "20.955cm"}
    for folder, length in asked.items():
        assert command("cut", "chef", "--set", f"blade.length={length}", "--out", tmp_path / folder).code == 0
    files = {(tmp_path / folder / "chef" / "chef_cut_mm.dxf").read_bytes() for folder in asked}
    assert len(files) == 1


def test_further_layers(tmp_path: Path, command: Command) -> None:
    import ezdxf

    assert command("make", "chef", "--out", tmp_path, "--with", "finished, notes").code == 0
    doc = ezdxf.readfile(tmp_path / "chef" / "chef_cut_mm.dxf")
    layers = {e.dxf.layer for e in doc.modelspace()}
    assert {"FINISHED", "NOTES"} <= layers
    assert command("make", "chef", "--out", tmp_path).code == 0
    doc = ezdxf.readfile(tmp_path / "chef" / "chef_cut_mm.dxf")
    assert {e.dxf.layer for e in doc.modelspace()} <= {"CUT", "DRILL"}


def test_cut_writes_the_cutting_file_alone(tmp_path: Path, command: Command) -> None:
    assert command("cut", "chef", "--out", tmp_path).code == 0
    assert [p.name for p in in_folder(tmp_path / "chef")] == ["chef_cut_mm.dxf"]


def test_families_lists_every_file(command: Command) -> None:
    ran = command("families", "--json")
    listed = {f["name"]: f for f in json.loads(ran.out)["families"]}
    assert sorted(listed) == FAMILIES
    for name in FAMILIES:
        assert [d["name"] for d in listed[name]["dimensions"]] == [d.name for d in load_family(name).dimensions]
        assert listed[name]["constructions"] == list(load_family(name).curves)
    text = command("families", "--units", "in").out
    assert all(name in text for name in FAMILIES)
    assert " in " in text


@cases("page", [[], ["families"], ["new"], ["make"], ["cut"]])
def test_every_command_explains_itself_with_an_example(command: Command, page: list[str]) -> None:
    ran = command(*page, "--help")
    assert ran.code == 0
    assert "Usage" in ran.out
    if page:
        assert "Example: blankwright" in ran.out


BAD_LINES: dict[str, tuple[list[str], list[str]]] = {
    "a drawing of thousands of letters": (["inspect", "x" * 5000 + ".dxf"], ["xxx...", "too long"]),
    "unknown family": (["make", "chfe"], ["chfe", "'chef'", "Allowed"]),
    "unknown command": (["mkae", "chef"], ["mkae"]),
    "no design": (["make"], ["DESIGN"]),
    "unknown option": (["make", "chef", "--lenght", "3"], ["--lenght"]),
    "option without a value": (["make", "chef", "--process"], ["--process"]),
    "absent file": (["make", "absent.toml"], ["absent.toml"]),
    "a folder for a file": (["make", "folder.toml"], ["folder.toml"]),
    "binary design": (["make", "binary.toml"], ["binary.toml", "UTF-8"]),
    "not toml": (["make", "broken.toml"], ["broken.toml", "TOML"]),
    "empty design": (["make", "empty.toml"], ["empty.toml", "family"]),
    "huge design": (["make", "huge.toml"], ["huge.toml", "larger"]),
    "unknown table": (["make", "table.toml"], ["table.toml", "balde", "'blade'"]),
    "unknown key in a file": (["make", "key.toml"], ["key.toml", "[blade]", "heel_hight", "'heel_height'"]),
    "bare number in a file": (["make", "bare.toml"], ["bare.toml", "[blade] length", "210 mm"]),
    "family absent": (["make", "orphan.toml"], ["nowhere.toml"]),
    "family with a missing point": (["make", "point.toml"], ["point.toml", "point is missing", "'edge'"]),
    "set without a value": (["make", "chef", "--set", "blade.length"], ["--set", "KEY=VALUE"]),
    "set with an empty value": (["make", "chef", "--set", "blade.length="], ["--set", "KEY=VALUE"]),
    "set without a key": (["make", "chef", "--set", "=210mm"], ["--set", "KEY=VALUE"]),
    "misspelt key": (["make", "chef", "--set", "blade.lenght=210mm"], ["lenght", "'length'", "[blade]"]),
    "misspelt table": (["make", "chef", "--set", "balde.length=210mm"], ["balde.length", "blade.length"]),
    "key too deep": (["make", "chef", "--set", "blade.length.mm=210"], ["blade.length.mm"]),
    "key too short": (["make", "chef", "--set", "length=210mm"], ["length"]),
    "a table's bare name": (["make", "chef", "--set", "blade=210mm"], ["blade"]),
    "bare number": (["make", "chef", "--set", "blade.length=210"], ["[blade] length", "unit", "210 mm"]),
    "no number": (["make", "chef", "--set", "blade.length=long"], ["[blade] length", "'long'"]),
    "unknown unit": (["make", "chef", "--set", "blade.length=210 ells"], ["[blade] length", "ells", "mm"]),
    "negative length": (["make", "chef", "--set", "blade.length=-210mm"], ["blade.length", "-210.00 mm", "140.00 mm"]),
    "zero length": (["make", "chef", "--set", "blade.length=0mm"], ["blade.length", "0.00 mm"]),
    "absurd length": (["make", "chef", "--set", "blade.length=3m"], ["blade.length", "3000.00 mm", "360.00 mm"]),
    "length beyond floats": (["make", "chef", "--set", "blade.length=1e30m"], ["blade.length"]),
    "a number no machine holds": (["make", "chef", "--set", "blade.length=1e999mm"], ["blade"]),
    "no such fraction": (["make", "chef", "--set", "blade.length=8 1/0 in"], ["blade"]),
    "not a number": (["make", "chef", "--set", "blade.length=nan mm"], ["blade", "nan"]),
    "endless text": (["make", "chef", "--set", "blade.length=" + "9" * 5000 + "mm"], ["blade"]),
    "overall out of reach": (["make", "chef", "--set", "blade.overall_length=900mm"], ["overall", "works"]),
    "overall against the parts": (
        ["make", "chef", "--set", "blade.overall_length=300mm", "--set", "blade.length=210mm", "--set", "handle.length=120mm"],
        ["overall", "blade.length", "handle.length"],
    ),
    "unknown construction": (["make", "chef", "--set", "handle.construction=half"], ["half", "full"]),
    "a dimension of another construction": (["make", "chef", "--set", "tang.length=100mm"], ["[tang]", "length"]),
    "five pins": (["make", "chef", "--set", "pins.count=5"], ["[pins] count", "0 to 4"]),
    "half a pin": (["make", "chef", "--set", "pins.count=1.5"], ["[pins] count", "0 to 4"]),
    "pins that do not fit": (["make", "chef", "--set", "pins.diameter=12mm"], ["pin hole", "At most"]),
    "pins too far apart": (["make", "chef", "--set", "pins.spacing=120mm"], ["apart", "at most"]),
    "pin outside the tang": (["make", "chef", "--set", "pins.positions=-5mm,-60mm"], ["-5 mm", "tang"]),
    "pins by hand, miscounted": (["make", "chef", "--set", "pins.positions=-40mm", "--set", "pins.count=2"], ["pins.count", "pins.positions"]),
    "no pins, and pins by hand": (["make", "chef", "--set", "pins.positions=-40mm", "--set", "pins.count=0"], ["pins.count=1", "pins.positions"]),
    "pins in one piece": (["make", "chef", "--set", "handle.construction=one-piece", "--set", "pins.count=2"], ["one-piece", "pins.count=0"]),
    "a pin without a unit": (["make", "chef", "--set", "pins.diameter=5"], ["[pins] diameter", "unit"]),
    "unknown fit": (["make", "chef", "--set", "pins.fit=welded"], ["[pins] fit", "glued"]),
    "unknown steel": (["make", "chef", "--set", "material.grade=80CrV3"], ["80CrV3", "80CrV2"]),
    "steel as thin as foil": (["make", "chef", "--set", "material.thickness=0.01mm"], ["[material] thickness", "0.5 mm"]),
    "steel too thick to pin": (["make", "chef", "--set", "material.thickness=25mm"], ["wall"]),
    "unknown process": (["make", "chef", "--process", "water-jett"], ["water-jett", "water-jet"]),
    "a process that does not cut wood": (["make", "chef", "--set", "material.grade=beech", "--process", "oxy-fuel"], ["oxy-fuel", "wood", "saw"]),
    "allowance without a unit": (["make", "chef", "--set", "allowance.edge=1"], ["[allowance] edge", "unit"]),
    "absurd allowance": (["make", "chef", "--set", "allowance.edge=1m"], ["[allowance] edge", "25 mm"]),
    "unknown region": (["make", "chef", "--set", "allowance.belly=1mm"], ["belly", "edge"]),
    "unknown units": (["make", "chef", "--units", "cm"], ["--units", "mm, in"]),
    "unknown layer": (["make", "chef", "--with", "kerf"], ["kerf", "finished"]),
    "a name of nothing": (["make", "chef", "--set", "name= "], ["--set"]),
    "an endless name": (["make", "chef", "--set", "name=" + "x" * 300], ["name", "100"]),
    "a file for the folder": (["make", "chef", "--out", "broken.toml"], ["broken.toml", "cannot be written"]),
    "new of an unknown family": (["new", "chfe", "x.toml"], ["chfe", "'chef'"]),
    "new without a file": (["new", "chef"], ["FILE"]),
    "new that is no toml": (["new", "chef", "x.txt"], ["x.txt", ".toml"]),
    "new over an older file": (["new", "chef", "broken.toml"], ["broken.toml", "--force"]),
    "new in no folder": (["new", "chef", "no/where/x.toml"], ["x.toml", "cannot be written"]),
    "families in cubits": (["families", "--units", "cubits"], ["cubits", "mm, in"]),
    "text with odd letters": (["make", "chef", "--set", "blade.length=２１０ｍｍ\x00\u202e"], ["cannot be shown"]),
}  # fmt: skip


@pytest.fixture
def bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with files that are wrong in every way."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "folder.toml").mkdir()
    (tmp_path / "binary.toml").write_bytes(b"\x89PNG\x00\xff" * 50)
    (tmp_path / "broken.toml").write_text("family = = chef", encoding="utf-8")
    (tmp_path / "empty.toml").write_text("", encoding="utf-8")
    (tmp_path / "huge.toml").write_text("# long\n" * 200_000, encoding="utf-8")
    (tmp_path / "table.toml").write_text('family = "chef"\n[balde]\nlength = "210 mm"\n', encoding="utf-8")
    (tmp_path / "key.toml").write_text('family = "chef"\n[blade]\nheel_hight = "48 mm"\n', encoding="utf-8")
    (tmp_path / "bare.toml").write_text('family = "chef"\n[blade]\nlength = 210\n', encoding="utf-8")
    (tmp_path / "orphan.toml").write_text('family = "nowhere.toml"\n', encoding="utf-8")
    table = family_table("chef")
    table["curve"][0]["points"] = table["curve"][0]["points"][:3]
    write_family(tmp_path, table, "point.toml")
    return tmp_path


def test_there_are_enough_wrong_lines() -> None:
    assert len(BAD_LINES) >= 60


@pytest.mark.parametrize("what", BAD_LINES)
def test_a_wrong_line_gets_a_clear_answer_and_exit_code_2(bench: Path, command: Command, what: str) -> None:
    line, words = BAD_LINES[what]
    before = sorted(bench.iterdir())
    ran = command(*line)
    assert ran.code == 2, ran.err
    assert ran.out == ""
    for word in words:
        assert word in ran.err
    assert "Traceback" not in ran.err
    assert "internal error" not in ran.err
    assert len(ran.err) < 1500
    assert sorted(bench.iterdir()) == before, "nothing may be written"


def test_a_fault_of_ours_is_said_calmly(command: Command, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    def broken(*_: object) -> None:
        raise ZeroDivisionError("a slip")

    monkeypatch.setattr("blankwright.drawing.svg.drawing_svg", broken)
    ran = command("make", "chef", "--out", tmp_path / "o")
    assert ran.code == 1
    assert "ZeroDivisionError" in ran.err
    assert "Traceback" not in ran.err
    assert list(tmp_path.iterdir()) == []


def test_exit_codes_travel_with_the_errors() -> None:
    from blankwright.base import errors

    assert errors.ProofError.exit_code == 1
    assert {errors.RequestError.exit_code, errors.DesignError.exit_code, BlankwrightError.exit_code} == {2}
