"""The shipped examples run as they are: scripts in templates/scripts and designs in templates/designs."""

from __future__ import annotations

import os
import runpy
import subprocess
import sys
from pathlib import Path

import pytest

import blankwright as bw
from blankwright.base.library import templates_dir
from blankwright.design.request import read_design
from blankwright.desk.make import make
from blankwright.desk.script import sweep
from rooms.often import EVERY_CASE, repeated

SCRIPTS = sorted((templates_dir() / "scripts").glob("*.py"))
DESIGNS = sorted((templates_dir() / "designs").glob("*.toml"))
FEWER = {} if EVERY_CASE else {"sweep_with_workers.py": ["12"]}
"""What is asked of a script in the suite, where it takes long."""
APART = [path for path in SCRIPTS if EVERY_CASE or "ProcessPoolExecutor" in path.read_text(encoding="utf-8")]
"""What runs as a process of its own, as a user runs it: in the suite those that start processes themselves."""


@repeated
@pytest.mark.parametrize("path", APART, ids=lambda p: p.name)
def test_a_script_runs(tmp_path: Path, path: Path) -> None:
    done = subprocess.run(
        [sys.executable, str(path), *FEWER.get(path.name, [])], cwd=tmp_path, capture_output=True, text=True,
        check=False, timeout=60, env=os.environ | {"PYTHONWARNINGS": "error", "PYTHONIOENCODING": "utf-8"},
    )  # fmt: skip
    assert done.returncode == 0, done.stderr[-2000:]
    assert done.stdout.strip(), "an example shows something"


@pytest.mark.parametrize("path", [path for path in SCRIPTS if path not in APART], ids=lambda p: p.name)
def test_a_script_that_starts_no_process_runs_here(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], path: Path
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(sys, "argv", [str(path)])
    monkeypatch.setattr(bw, "sweep", lambda designs: sweep(list(designs)[::10]))  # of two hundred twenty
    runpy.run_path(str(path), run_name="__main__")
    assert capsys.readouterr().out.strip(), "an example shows something"


@pytest.mark.parametrize("path", DESIGNS, ids=lambda p: p.name)
def test_a_design_makes_proven_files(tmp_path: Path, path: Path) -> None:
    made = make(read_design(path), tmp_path)
    assert made.proof.ok
    assert not [f for f in made.knife.findings if f.level == "error"]
