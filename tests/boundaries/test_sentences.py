"""A sentence on a design or a file carries its lengths as quantities: none has mm baked into its words."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path

import blankwright
from rooms.every import cases

PACKAGE = Path(blankwright.__file__).parent
SENTENCES = [
    *(PACKAGE / "proof").glob("*.py"), *(PACKAGE / "inspection").glob("*.py"), *(PACKAGE / "report").glob("*.py"),
    *(PACKAGE / name for name in ("knife/rules.py", "knife/grind_rules.py", "knife/moves.py", "knife/aim.py",
                                  "cutting/delivery.py", "shop/holes.py", "solid/stations.py")),
]  # fmt: skip
NO_SENTENCES = {"faults.py", "tables.py"}
"""A picture in mm, and tables that are shown as they are written."""
IN_BOTH, TO_A_MACHINE = {"in_words"}, {"program"}
"""Sizes that stand in both units, to be compared with an order; comments in a cutter's program, which is in mm."""
_UNIT = re.compile(r" mm\b(?![²2])")


def baked_in(tree: ast.AST) -> Iterator[int]:
    """Yield the lines of texts that put a number before the word mm, outside of errors."""
    for node in ast.iter_child_nodes(tree):
        if isinstance(node, ast.Raise):
            continue
        if isinstance(node, ast.FunctionDef) and node.name in IN_BOTH | TO_A_MACHINE:
            continue
        if isinstance(node, ast.JoinedStr):
            for before, after in pairwise(node.values):
                behind = after.value if isinstance(after, ast.Constant) else ""
                if isinstance(before, ast.FormattedValue) and _UNIT.match(str(behind)):
                    yield node.lineno
        yield from baked_in(node)


@cases("path", sorted(p for p in SENTENCES if p.name not in NO_SENTENCES), ids=lambda p: f"{p.parent.name}/{p.stem}")
def test_no_length_is_baked_into_a_sentence(path: Path) -> None:
    assert list(baked_in(ast.parse(path.read_text(encoding="utf-8")))) == []


def test_a_baked_length_would_be_seen() -> None:
    assert list(baked_in(ast.parse('text = f"at {x:.1f} mm"'))) == [1]
    assert list(baked_in(ast.parse('raise ValueError(f"at {x:.1f} mm")'))) == []
