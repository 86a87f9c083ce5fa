"""What a reader of the source meets: short modules, no machine's own paths, sourced tests."""

from __future__ import annotations

import ast
import doctest
import importlib
import re
from pathlib import Path

import blankwright
from rooms.every import every

PACKAGE = Path(blankwright.__file__).parent
ROOT = Path(__file__).resolve().parents[2]
MODULES = sorted(PACKAGE.rglob("*.py"))
TRUTH = sorted((ROOT / "tests" / "truth").glob("test_*.py"))
MOST_LINES = 420

ABSOLUTE = re.compile(r"""(?:(?<=["'\s(=])/(?:home|work|tmp|usr|root|opt|mnt|Users|var)/|\b[A-Z]:\\\\?[A-Za-z])""")


@every(MODULES)
def test_a_module_is_short_enough_to_be_read_at_once(path: Path) -> None:
    assert len(path.read_text(encoding="utf-8").splitlines()) <= MOST_LINES


@every(MODULES)
def test_every_module_says_what_it_is_for(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    assert re.match(r'"""\S', text) or not text


def shipped_texts() -> list[Path]:
    templates = ROOT / "templates"
    data = [*PACKAGE.rglob("*.toml"), *templates.rglob("*.toml"), *templates.rglob("*.py")]
    return [*MODULES, *(p for p in data if p.is_file())]


@every(shipped_texts())
def test_no_absolute_path_is_written_into_the_project(path: Path) -> None:
    assert not ABSOLUTE.findall(path.read_text(encoding="utf-8"))


def test_the_scan_sees_an_absolute_path() -> None:
    # written with | for the stroke, so that this file itself holds no absolute path
    for text in ('open("|home|x|y")', "p = '|tmp|a'"):
        assert ABSOLUTE.search(text.replace("|", "/"))
    assert ABSOLUTE.search('"C:||Users"'.replace("|", "\\"))


def test_no_web_address_in_the_tables() -> None:
    for path in shipped_texts():
        assert "http://" not in path.read_text(encoding="utf-8").replace("http://www.w3.org", ""), path.name
        assert "https://" not in path.read_text(encoding="utf-8"), path.name


def module_name(path: Path) -> str:
    return ".".join(path.relative_to(PACKAGE.parent).with_suffix("").parts).removesuffix(".__init__")


@every(p for p in MODULES if ">>> " in p.read_text(encoding="utf-8"))
def test_the_examples_in_docstrings_run(path: Path) -> None:
    result = doctest.testmod(importlib.import_module(module_name(path)), verbose=False)
    assert result.attempted > 0
    assert result.failed == 0


@every(TRUTH)
def test_a_check_against_the_outside_names_source_tolerance_and_reason(path: Path) -> None:
    names: set[str] = set()
    for node in ast.parse(path.read_text(encoding="utf-8")).body:
        if isinstance(node, ast.Assign):
            names |= {t.id for t in node.targets if isinstance(t, ast.Name)}
        elif isinstance(node, ast.AnnAssign) and isinstance(node.target, ast.Name):
            names.add(node.target.id)
    assert "SOURCE" in names
    assert "REASON" in names
    assert [n for n in names if n.startswith("TOLERANCE")]


def test_there_are_checks_against_the_outside() -> None:
    assert len(TRUTH) >= 5


def test_test_files_have_names_of_their_own() -> None:
    names = [p.name for p in (ROOT / "tests").rglob("test_*.py")]
    assert len(names) == len(set(names))
    assert not list((ROOT / "tests").rglob("__init__.py"))
