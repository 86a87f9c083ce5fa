"""The source root, and what a fresh process loads: start-up is quick because heavy libraries wait."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

import blankwright

PACKAGE = Path(blankwright.__file__).parent
ROOT = Path(__file__).resolve().parents[2]
HEAVY = {"numpy", "scipy", "shapely", "ezdxf", "svgwrite", "manifold3d"}


def fresh(code: str, cwd: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-c", code],
        cwd=cwd,
        capture_output=True,
        text=True,
        check=False,
        env=os.environ | {"PYTHONUTF8": "1"},
    )


def loaded(code: str, cwd: Path) -> set[str]:
    """Return the heavy libraries that a fresh process has loaded after running a piece of code."""
    done = fresh(f"{code}\nimport sys; sys.stderr.write('@' + ' '.join(sys.modules))", cwd)
    assert done.returncode == 0, done.stderr[-500:]
    return {name.split(".")[0] for name in done.stderr.rsplit("@", 1)[1].split()} & HEAVY


def test_the_source_root_is_a_plain_folder_that_holds_the_package_alone() -> None:
    if not (ROOT / "profile").is_dir():
        pytest.skip("no source tree here")
    inside = {p.name for p in (ROOT / "profile").iterdir()} - {"__pycache__"}
    assert inside == {"blankwright"}, "profile/ must never become a package: the standard library has one of that name"


@pytest.mark.parametrize("module", ["profile", "cProfile"])
def test_the_standard_librarys_profile_is_not_hidden(module: str) -> None:
    done = fresh(f"import {module}; print({module}.run)", ROOT)
    assert done.returncode == 0, done.stderr


def test_importing_the_package_loads_nothing_heavy(tmp_path: Path) -> None:
    assert loaded("import blankwright", tmp_path) == set()


@pytest.mark.parametrize("line", [["--help"], ["make", "--help"], ["new", "--help"], ["families", "--help"]])
def test_help_and_lists_load_nothing_heavy(tmp_path: Path, line: list[str]) -> None:
    code = (
        f"import sys; sys.argv = {['blankwright', *line]!r}\n"
        "from blankwright.commands.cli import main\n"
        "try:\n    main()\nexcept SystemExit as end:\n    assert not end.code, end.code\n"
    )
    assert loaded(code, tmp_path) == set()


def test_the_list_of_families_loads_numbers_only(tmp_path: Path) -> None:
    """What a family measures is read off the points it is drawn with: that takes arrays, and nothing else."""
    code = (
        "import sys; sys.argv = ['blankwright', 'families']\n"
        "from blankwright.commands.cli import main\ntry:\n    main()\nexcept SystemExit:\n    pass\n"
    )
    assert loaded(code, tmp_path) == {"numpy"}


MOST_MODULES = 910
"""Of all modules, the interpreter's own among them; 902 are loaded, 680 of them by the libraries alone."""


MAKING = """
import sys
sys.argv = ["blankwright", "make", "chef"]
from blankwright.commands.cli import main
try:
    main()
except SystemExit as end:
    open("count", "w").write(f"{end.code} {len(sys.modules)}")
"""


def modules_of_make(folder: Path) -> int:
    """Return how many modules a plain make has loaded at its end, heavy ones only where it needs them."""
    assert loaded(MAKING, folder) == HEAVY - {"scipy", "manifold3d"}
    ended, modules = map(int, (folder / "count").read_text(encoding="utf-8").split())
    assert ended == 0
    return modules


def test_making_a_knife_does_without_what_it_does_not_need(tmp_path: Path) -> None:
    assert modules_of_make(tmp_path) <= MOST_MODULES


def test_the_package_says_it_is_typed() -> None:
    assert (PACKAGE / "py.typed").is_file()
