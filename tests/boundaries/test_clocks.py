"""No test reads a clock: a busy machine would fail it. Work is counted (`rooms/counting.py`); speed is for `bench/`."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

TESTS = Path(__file__).resolve().parents[1]
CLOCKS = {"time", "timeit"}
"""Modules of the standard library that tell how late it is; `time.sleep` is no clock, and no test needs it either."""


def clocks(tree: ast.AST) -> Iterator[str]:
    """Yield every import of a clock."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (a.name for a in node.names if a.name in CLOCKS)
        elif isinstance(node, ast.ImportFrom) and node.module in CLOCKS:
            yield node.module


def test_no_test_reads_a_clock() -> None:
    files = [p for p in TESTS.rglob("*.py") if not {"bench", "corpus"} & set(p.relative_to(TESTS).parts)]
    assert len(files) > 100
    texts = {p.name: p.read_text(encoding="utf-8") for p in files}
    word = re.compile(rf"\b(?:{'|'.join(CLOCKS)})\b")  # what is imported is named: other files need not be parsed
    assert [name for name, text in texts.items() if word.search(text) and any(clocks(ast.parse(text)))] == []


def test_the_scan_sees_a_clock() -> None:
    assert list(clocks(ast.parse("import time\ndef f():\n    from timeit import timeit\n"))) == ["time", "timeit"]
    assert any(clocks(ast.parse((TESTS / "bench" / "speed.py").read_text(encoding="utf-8"))))
