"""The shipped examples run as they are: scripts in templates/scripts and designs in templates/designs."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from blankwright.base.library import templates_dir
from blankwright.design.request import read_design
from blankwright.desk.make import make
from rooms.often import EVERY_CASE, repeated

SCRIPTS = sorted((templates_dir() / "scripts").glob("*.py"))
DESIGNS = sorted((templates_dir() / "designs").glob("*.toml"))
FEWER = {} if EVERY_CASE else {"sweep_with_workers.py": ["12"]}
"""What is asked of a script in the suite, where it takes long."""


@repeated
@pytest.mark.parametrize("path", SCRIPTS, ids=lambda p: p.name)
def test_a_script_runs(tmp_path: Path, path: Path) -> None:
    done = subprocess.run(
        [sys.executable, str(path), *FEWER.get(path.name, [])], cwd=tmp_path, capture_output=True, text=True,
        check=False, timeout=60, env=os.environ | {"PYTHONWARNINGS": "error", "PYTHONIOENCODING": "utf-8"},
    )  # fmt: skip
    assert done.returncode == 0, done.stderr[-2000:]
    assert done.stdout.strip(), "an example shows something"


@pytest.mark.parametrize("path", DESIGNS, ids=lambda p: p.name)
def test_a_design_makes_proven_files(tmp_path: Path, path: Path) -> None:
    made = make(read_design(path), tmp_path)
    assert made.proof.ok
    assert not [f for f in made.knife.findings if f.level == "error"]
