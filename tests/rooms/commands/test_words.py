"""The command line's own words: help without types, summaries that are whole, one voice, nothing asked for in vain."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest

from blankwright import __version__
from blankwright.base.library import families_dir
from rooms.every import cases

COMMANDS = (
    "families",
    "tables",
    "new",
    "new-family",
    "make",
    "cut",
    "weigh",
    "aim",
    "template",
    "sheet",
    "place",
    "nest",
    "inspect",
    "frame",
    "lift",
    "compare",
    "page",
    "printer",
)
Command = Callable[..., "object"]


@pytest.fixture(autouse=True)
def narrow(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """The usual terminal, and printers in a folder of the test's own."""
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "configuration"))


def test_every_summary_is_whole_and_short(command: Command) -> None:
    rows = command("--help").out.split("Commands:\n")[1].splitlines()
    assert [row.split()[0] for row in rows] == list(COMMANDS)
    for row in rows:
        summary = row.split(maxsplit=1)[1]
        assert summary.endswith("."), row
        assert not summary.endswith("..."), row
        assert len(summary) < 70


@cases("name", COMMANDS)
def test_help_names_what_to_write_and_no_type(command: Command, name: str) -> None:
    page = command(name, "--help").out
    assert not re.search(r"<\w+(\[\w+\])?>", page.replace("DIR/<name>/", ""))
    for words in ("TEXT", "INTEGER", "ngc", "what is let"):
        assert words not in page


def test_the_version_and_a_bare_line(command: Command) -> None:
    ran = command("--version")
    assert (ran.code, ran.err) == (0, "")
    assert ran.out.startswith(f"blankwright {__version__} ")
    assert command().out == command("--help").out


@cases(
    ("line", "said"),
    [
        (("make",), "blankwright: missing argument 'DESIGN'. See: blankwright make --help\n"),
        (("make", "chef", "--papr", "A4"), "blankwright: no such option: --papr. Did you mean --paper? See:"),
        (("mkae", "chef"), "blankwright: no such command 'mkae'. Did you mean 'make'? See: blankwright --help\n"),
        (("cut", "chef", "--quantity", "two"), "blankwright: --quantity: 'two' is not a whole number."),
        (("--nonsense",), "blankwright: no such option: --nonsense. See: blankwright --help\n"),
        (("make", "chfe"), "blankwright: unknown family 'chfe'. Did you mean 'chef'?"),
    ],
)  # fmt: skip
def test_one_voice_and_exit_code_2(command: Command, line: tuple[str, ...], said: str) -> None:
    ran = command(*line)
    assert (ran.code, ran.out) == (2, "")
    assert ran.err.startswith(said)
    assert "Error" not in ran.err
    assert ran.err.count("\n") == 1


BOUGHT = ("--set", "start.from=blank")
HARD = ("--set", "start.from=hardened-blank")
WOODEN = (
    "spreader", "--set", "handle.construction=one-piece", "--set", "material.grade=beech",
    "--set", "material.thickness=6mm", "--set", "cutting.process=saw",
)  # fmt: skip


@pytest.mark.parametrize(
    ("line", "said"),
    [
        (("make", "utility", *BOUGHT, "--process", "laser"), "not used: cutting.process (the blank is bought"),
        (("make", "utility", *BOUGHT, "--set", "allowance.edge=1mm"), "not used: allowance.edge (the blank is bought"),
        (("sheet", "utility", *BOUGHT, "--process", "laser"), "not used: cutting.process"),
        (("template", "utility", *HARD, "--process", "laser"), "not used: cutting.process"),
        (("weigh", "utility", *BOUGHT, "--process", "laser"), "not used: cutting.process"),
        (("cut", "chef", "--quantity", "3"), "not used: --quantity"),
        (("cut", "chef", "--with", "grind"), "--with grind: nothing to draw"),
    ],
)  # fmt: skip
def test_what_is_asked_for_in_vain_is_said_in_one_line(
    command: Command, tmp_path: Path, line: tuple[str, ...], said: str
) -> None:
    ran = command(*line, "--out", tmp_path / "o")
    assert ran.code == 0, ran.err
    assert ran.out.count("  note: ") == 1
    assert f"  note: {said}" in ran.out


@pytest.mark.parametrize(
    "line",
    [
        ("make", "utility", *BOUGHT), ("make", "utility", "--process", "laser"), ("sheet", "chef", "--hand", "88 mm"),
        ("make", "chef", "--quantity", "3"), ("cut", "chef", "--with", "grind", "--set", "grind.height=20mm"),
    ],
)  # fmt: skip
def test_what_is_used_is_not_said_to_be_idle(command: Command, tmp_path: Path, line: tuple[str, ...]) -> None:
    ran = command(*line, "--out", tmp_path / "o")
    assert ran.code == 0, ran.err
    assert "note:" not in ran.out


def test_aiming_makes_its_folder_like_make(command: Command, tmp_path: Path) -> None:
    line = ("aim", "chef", "--weight", "175g", "--let", "scales.thickness", "--out", tmp_path / "new" / "folder")
    assert command(*line).code == 0
    assert [p.name for p in (tmp_path / "new" / "folder").iterdir()] == ["chef-aimed.toml"]


def test_an_aimed_design_names_a_family_beside_it_shortly(
    command: Command, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """So that both can be moved or sent together; a file elsewhere is named by its whole path."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "our_petty.toml").write_bytes((families_dir() / "petty.toml").read_bytes())
    line = ("aim", "our_petty.toml", "--weight", "88g", "--let", "scales.thickness", "--nearest")
    for out, named in ((".", "our_petty.toml"), ("away", (tmp_path / "our_petty.toml").as_posix())):
        assert command(*line, "--out", out).code in (0, 1)
        text = (tmp_path / out / "petty-aimed.toml").read_text(encoding="utf-8")
        assert f'family = "{named}"' in text
        assert command("weigh", tmp_path / out / "petty-aimed.toml").code == 0


@cases(
    "line",
    [("--measured-x", "99mm", "--measured-y", "100mm"), ("--forget",), ("office", "--forget", "--measured-x", "99mm")],
)
def test_a_printer_is_named_and_asked_for_one_thing(command: Command, line: tuple[str, ...]) -> None:
    ran = command("printer", *line)
    assert ran.code == 2
    assert ran.err.startswith("blankwright: printer: ")


@cases(
    ("x", "y", "told"),
    [
        ("99", "99.2", True),
        ("98.1", "98.1", True),
        ("101", "101.3", True),
        ("99.8", "99.8", False),
        ("99", "99.5", False),
    ],
)
def test_the_mark_of_a_viewer_that_scales_is_told(command: Command, x: str, y: str, told: bool) -> None:
    ran = command("printer", "office", "--measured-x", f"{x}mm", "--measured-y", f"{y}mm")
    assert ran.code == 0
    assert ("actual size" in ran.out) == told
