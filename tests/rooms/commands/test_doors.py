"""The doors of the command line: what a terminal, a pipe or another program may hand in, and what cannot be printed."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from blankwright.base.library import templates_dir
from rooms.every import cases
from truth.services_by_hand import changed

LINE = [sys.executable, "-m", "blankwright"]
FULL = Path("/dev/full")


def shell(words: str, folder: Path) -> subprocess.CompletedProcess[str]:
    """Run words of a shell in which $B is the command, and print its exit code at the end."""
    program = f"B='{' '.join(LINE)}'; {words}"
    return subprocess.run(["sh", "-c", program], cwd=folder, capture_output=True, text=True, check=False)


@pytest.mark.skipif(not FULL.exists(), reason="no device that is always full here")
def test_a_report_that_cannot_be_printed_is_said(tmp_path: Path) -> None:
    for words in ("families", "--help", "cut chef"):
        done = shell(f"$B {words} > /dev/full", tmp_path)
        assert done.returncode == 2, done.stderr
        assert "the report cannot be printed (No space left on device)" in done.stderr
        assert "internal" not in done.stderr
        assert "Exception" not in done.stderr
    assert (tmp_path / "out" / "chef" / "chef_cut_mm.dxf").stat().st_size > 1000


@pytest.mark.skipif(os.name != "posix", reason="the shell of another system")
def test_a_reader_that_is_gone_and_streams_that_are_closed_change_no_verdict(tmp_path: Path) -> None:
    for words, code in (
        ("($B families --json; echo $? >&2) | true", "0"),
        ("($B --help; echo $? >&2) | true", "0"),
        ("$B families >&-; echo $? >&2", "0"),
        ("$B nothing 2>&-; echo $? >&2", "2"),
        ("$B nothing 2>/dev/full; echo $? >&2", "2"),
    ):
        done = shell(words, tmp_path)
        assert done.stderr.split() == [code], words


WORDS = {
    "a control in a name": ["make", "chef", "--set", "name=a\x1b[31mb"],
    "a line break in a name": ["cut", "chef", "--set", "name=a\n0\nEOF"],
    "a mark of direction": ["new", "chef", "a\u202eb.toml"],
    "no UTF-8": ["make", "\udcff.toml"],
    "a folder that is no UTF-8": ["make", "chef", "--out", "\udcff"],
    "a printer": ["printer", "a\x07", "--measured-x", "99mm", "--measured-y", "100.5mm"],
    "a file of a long name": ["make", "x" * 5000 + ".toml"],
    "a folder of a long name": ["cut", "chef", "--out", "x" * 5000],
    "a family of a long name": ["make", "x" * 5000],
    "digits without end": ["make", "chef", "--set", "pins.count=" + "9" * 5000],
    "a quantity without end": ["make", "chef", "--quantity", "9" * 5000],
    "a price from a device": ["sheet", "chef", "--prices", "/dev/zero"],
    "a price from a pipe": ["sheet", "chef", "--prices", "pipe.toml"],
    "a design from a pipe": ["make", "pipe.toml"],
    "a service from a pipe": ["make", "chef", "--service", "pipe.toml"],
    "a family from a pipe": ["families", "pipe.toml"],
    "a drawing from a device": ["inspect", "/dev/zero"],
    "less than the cut may take": ["cut", "chef", "--process", "water-jet", "--set", "allowance.edge=0.1mm"],
    "a hair beyond the range": ["make", "chef", "--set", "blade.length=360.00001mm"],
    "a weight that cannot be": ["aim", "chef", "--let", "heel_height", "--weight", "-5g"],
}


@pytest.mark.parametrize("what", WORDS)
def test_a_wrong_request_is_exit_code_2_and_writes_nothing(
    what: str, tmp_path: Path, command: Callable[..., Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    os.mkfifo("pipe.toml")
    ran = command(*WORDS[what])
    assert ran.code == 2, ran.err
    assert ran.err.rstrip("\n").isprintable()
    assert "internal error" not in ran.err
    assert len(ran.err) < 1500
    assert [p.name for p in tmp_path.iterdir()] == ["pipe.toml"]


def test_a_hair_beyond_is_shown_beyond(command: Callable[..., Any]) -> None:
    assert "360.00001 mm is out of range" in command("weigh", "chef", "--set", "blade.length=360.00001mm").err


@cases(
    "rule",
    [".{unit}", "-{unit}", "CON.{unit}", "com{quantity}.{unit}", "aux.{slug}.{unit}", "{slug:>99999999}{unit}",
     "{slug!r}_{unit}", "../{slug}_{unit}", "{slug}\u202e{unit}"],
)  # fmt: skip
def test_a_rule_that_makes_no_safe_name_is_refused(rule: str, tmp_path: Path, command: Callable[..., Any]) -> None:
    text = (templates_dir() / "services" / "jet.toml").read_text(encoding="utf-8")
    assert changed("jet", {})["file"]["name"] in text
    (tmp_path / "shop.toml").write_text(text.replace(changed("jet", {})["file"]["name"], rule), encoding="utf-8")
    ran = command("cut", "chef", "--service", tmp_path / "shop.toml", "--out", tmp_path / "out")
    assert ran.code == 2, ran.err
    assert not (tmp_path / "out").exists()


def test_two_files_of_a_set_never_have_one_name(tmp_path: Path, command: Callable[..., Any]) -> None:
    text = (templates_dir() / "services" / "own-table.toml").read_text(encoding="utf-8")
    rule = changed("own-table", {})["file"]["name"]
    text = text.replace(rule, "{slug}_path_{unit}").replace('suffix = ".nc"', 'suffix = ".dxf"')
    (tmp_path / "shop.toml").write_text(text, encoding="utf-8")
    line = ["cut", "chef", "--service", tmp_path / "shop.toml", "--with", "program", "--out", tmp_path / "out"]
    ran = command(*line)
    assert ran.code == 2, ran.out
    assert "chef_path_mm.dxf: two files would have this name" in ran.err
    assert not (tmp_path / "out").exists()


@cases("stem", ["x" * 150, "y " * 60, " "])
def test_a_new_design_of_any_file_name_can_be_made(stem: str, tmp_path: Path, command: Callable[..., Any]) -> None:
    file = tmp_path / f"{stem}.toml"
    assert command("new", "chef", file).code == 0
    assert command("weigh", file).code == 0
