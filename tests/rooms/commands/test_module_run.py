"""The package run as a module, for machines whose PATH does not hold the command."""

from __future__ import annotations

import subprocess
import sys

import pytest


def test_the_package_runs_as_a_module() -> None:
    ran = subprocess.run(
        [sys.executable, "-m", "blankwright", "--version"], capture_output=True, text=True, check=False, timeout=60
    )
    assert (ran.returncode, ran.stderr) == (0, "")
    assert ran.stdout.startswith("blankwright ")


@pytest.mark.parametrize("loaded", ["blankwright.commands.cli", "blankwright.shop.tables", "at the end"])
def test_a_key_that_stops_a_run_is_answered_by_a_word_whatever_is_loaded(loaded: str) -> None:
    """For the first tenth of a second, and at the end, it was answered by a traceback; by nothing in between."""
    key = "signal.raise_signal(signal.SIGINT)"
    start = f"""
import atexit, runpy, signal, sys
signal.signal(signal.SIGINT, signal.default_int_handler)  # ignored where a shell starts us behind
class Key:
    def find_spec(self, name, path=None, target=None):
        if name == {loaded!r}: {key}
sys.meta_path.insert(0, Key())
sys.argv = ["blankwright", "tables", "steels"]
if {loaded!r} == "at the end":
    atexit.register(lambda: {key})
    sys.argv = ["blankwright", "--version"]
runpy.run_module("blankwright", run_name="__main__")
"""
    ran = subprocess.run([sys.executable, "-c", start], capture_output=True, text=True, check=False, timeout=60)
    assert (ran.returncode, ran.stderr) == (130, "blankwright: stopped\n")
