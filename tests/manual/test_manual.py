"""The manual is true: it builds without a warning, what it shows runs, and its references name all there is."""

from __future__ import annotations

import importlib.util
import json
import re
import shlex
import subprocess
import sys
from functools import cache
from pathlib import Path

import jsonschema
import pytest

from blankwright.commands.cli import app
from blankwright.design.family import family_names
from blankwright.design.keys import SETTINGS
from blankwright.design.pattern import handle_names
from blankwright.knife.rules import BLANK_FIGURES, DESIGN_CODES, FIGURE_CODES
from blankwright.proof.findings import CODES
from rooms.every import cases
from rooms.often import EVERY_CASE, often, repeated

DOCS = Path(__file__).resolve().parents[2] / "docs"


@cache
def made():
    """Return the module that makes the references."""
    found = importlib.util.spec_from_file_location("made", DOCS / "made.py")
    module = importlib.util.module_from_spec(found)
    found.loader.exec_module(module)
    return module


def blocks(kind: str):
    """Return (page, name, whether it fails, text) of every block of a kind, in the order of the pages."""
    shown = []
    for page in sorted(DOCS.glob("*.md")):
        for name, fails, text in re.findall(
            rf"```{{{kind}}} (\S+)( fails)?\n(.*?)```", page.read_text(encoding="utf-8"), re.DOTALL
        ):
            shown.append((page.stem, name, bool(fails), text.strip()))
    return shown


@repeated
def test_every_line_of_the_manual_runs(tmp_path, monkeypatch, command):
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    monkeypatch.chdir(tmp_path)
    shown = blocks("run")
    assert len(shown) >= 12
    for page, name, fails, text in shown[: often(len(shown), 4)]:
        for line in text.splitlines():
            words = shlex.split(line)
            assert words[0] == "blankwright", (page, name)
            ran = command(*words[1:])
            assert (ran.code != 0) == fails, (page, name, ran.err)


@repeated
def test_every_script_of_the_manual_runs(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    shown = blocks("script")
    assert len(shown) >= 3
    for page, name, _, text in shown:
        if name == "place" and not EVERY_CASE:  # three placings, two refused: as long as all others ten times
            continue
        exec(compile(text, f"{page}.md, {name}", "exec"), {"__name__": "__main__"})  # what a maker types
        assert capsys.readouterr().out, (page, name)


@repeated
@pytest.mark.skipif(not EVERY_CASE, reason="it takes as long as forty other tests; the run of every case builds it")
def test_it_builds_without_a_warning_and_loads_nothing_from_elsewhere(tmp_path):
    done = subprocess.run(
        [sys.executable, "-m", "sphinx", "-q", "-E", "-W", "--keep-going", "-b", "html", str(DOCS), str(tmp_path)],
        capture_output=True, text=True,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    pages = list(tmp_path.rglob("*.html"))
    assert len(pages) >= 15
    for page in pages:
        for tag in re.findall(r"<(?:script|link|img|iframe)[^>]*>", page.read_text(encoding="utf-8")):
            assert "//" not in re.sub(r'xmlns="[^"]*"', "", tag), (page.name, tag)


@cases(
    ("reference", "names"),
    [
        ("design_keys", [f"`{s.key.split('.', 1)[1]}`" for s in SETTINGS]),
        ("families", [f"### {name}" for name in family_names()]),
        ("handles", [f"`{name}`" for name in handle_names()]),
        ("finding_codes", [f"`{code}`" for code in (*DESIGN_CODES, *CODES, *FIGURE_CODES, *BLANK_FIGURES)]),
        ("commands", [f"## {command.name or command.callback.__name__}".replace("_", "-")
                      for command in app().registered_commands]),
    ],
)  # fmt: skip
def test_a_reference_names_all_there_is(reference, names):
    text = made().MADE[reference]()
    assert [name for name in names if name not in text] == []


def strict(schema):
    """Return the schema with no keys beside those it names, so that a key nobody described is found."""
    if isinstance(schema, dict):
        if "properties" in schema:
            schema.setdefault("additionalProperties", False)
        for value in schema.values():
            strict(value)
    return schema


REPORTS = (
    ("make", "chef"),
    ("make", "paring", "--set", "start.from=hardened-blank"),
    ("make", "chef", "--service", "own-table", "--with", "program"),
    ("make", "utility", "--set", "handle.construction=hidden", "--service", "plasma"),
    ("make", "paring", "--set", "start.from=forged", "--process", "trace"),
    ("make", "chef", "--with", "parts"),
    ("weigh", "chef"),
)  # fmt: skip


@repeated
def test_every_report_is_as_the_schema_says(tmp_path, monkeypatch, command):
    monkeypatch.chdir(tmp_path)
    schema = strict(json.loads((DOCS / "reference" / "report.schema.json").read_text(encoding="utf-8")))
    judge = jsonschema.Draft202012Validator(schema)
    for words in REPORTS[: often(len(REPORTS), 2)]:
        report = json.loads(command(*words, "--json").out)
        assert [f"{e.json_path}: {e.message[:80]}" for e in judge.iter_errors(report)] == [], words
    del report["balance_mm"]
    report["a_key_nobody_described"] = 1
    assert len(list(judge.iter_errors(report))) == 2
