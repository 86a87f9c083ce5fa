"""The package run as a module, for machines whose PATH does not hold the command."""

from __future__ import annotations

import subprocess
import sys


def test_the_package_runs_as_a_module() -> None:
    ran = subprocess.run(
        [sys.executable, "-m", "blankwright", "--version"], capture_output=True, text=True, check=False, timeout=60
    )
    assert (ran.returncode, ran.stderr) == (0, "")
    assert ran.stdout.startswith("blankwright ")
