"""The inspector shares no code with the writer, and starts without heavy libraries."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

from blankwright.proof import proof
from rooms.every import cases

ROOM = sorted(Path(str(proof.__file__)).parent.glob("*.py"))


@cases("path", ROOM, ids=lambda path: path.stem)
def test_imports_of_the_whole_room(path: Path) -> None:
    names: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom):
            names.add(str(node.module))
        elif isinstance(node, ast.Import):
            names.update(alias.name for alias in node.names)
    own = {name for name in names if name.startswith("blankwright")}
    assert {name.split(".")[1] for name in own} <= {"proof", "base", "geometry"}
    assert {name for name in own if "geometry" in name} <= {"blankwright.geometry.outline"}
    assert not names & {"ezdxf", "svgwrite"}


def test_nothing_heavy_is_loaded_with_it() -> None:
    heavy = {"shapely", "scipy", "ezdxf"}
    code = f"import sys, blankwright.proof.proof; print([m for m in {heavy} if m in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
