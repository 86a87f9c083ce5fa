"""The inspector shares no code with the writer, and starts without heavy libraries."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import pytest

from blankwright.audit import distance, findings, proof, reader


@pytest.mark.parametrize("module", [distance, findings, proof, reader])
def test_imports_of_the_inspector(module: object) -> None:
    path = Path(str(getattr(module, "__file__", "")))
    names: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.ImportFrom):
            names.add(str(node.module))
        elif isinstance(node, ast.Import):
            names.update(alias.name for alias in node.names)
    own = {name for name in names if name.startswith("blankwright")}
    assert {name.split(".")[1] for name in own} <= {"audit", "errors", "units", "geometry"}
    assert {name for name in own if "geometry" in name} <= {"blankwright.geometry.outline"}
    assert not names & {"ezdxf", "svgwrite"}


def test_nothing_heavy_is_loaded_with_it() -> None:
    heavy = {"shapely", "scipy", "ezdxf"}
    code = f"import sys, blankwright.audit.proof; print([m for m in {heavy} if m in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
