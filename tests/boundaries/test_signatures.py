"""No physical quantity has a silent default: not in a function, not in a record."""

from __future__ import annotations

import ast
from collections.abc import Iterable, Iterator
from pathlib import Path

import blankwright
from rooms.every import every
from rooms.source import nodes

PACKAGE = Path(blankwright.__file__).parent
MODULES = sorted(PACKAGE.rglob("*.py"))
QUANTITIES = ("density", "thickness", "kerf")


def defaulted(found: Iterable[ast.AST]) -> Iterator[str]:
    """Yield every parameter and record field with a default."""
    for node in found:
        if isinstance(node, (ast.FunctionDef, ast.Lambda)):
            a = node.args
            plain = [*a.posonlyargs, *a.args]
            yield from (p.arg for p in plain[len(plain) - len(a.defaults) :])
            yield from (p.arg for p, d in zip(a.kwonlyargs, a.kw_defaults, strict=True) if d is not None)
        elif isinstance(node, ast.ClassDef):
            for line in node.body:
                if isinstance(line, ast.AnnAssign) and line.value is not None and isinstance(line.target, ast.Name):
                    yield line.target.id


@every(MODULES)
def test_thickness_density_and_kerf_are_always_given(path: Path) -> None:
    names = set(defaulted(nodes(path)))
    assert not [n for n in names if n.split("_")[0] in QUANTITIES]


def test_the_scan_sees_a_default() -> None:
    tree = ast.parse(
        "def f(a, thickness_mm=3): ...\nclass C:\n    kerf_mm: float = 1.0\ndef g(*, density_kg_m3=7850): ..."
    )
    assert set(defaulted(ast.walk(tree))) == {"thickness_mm", "kerf_mm", "density_kg_m3"}


@every(MODULES)
def test_lengths_in_public_functions_carry_their_unit(path: Path) -> None:
    bare = {
        "length",
        "width",
        "diameter",
        "radius",
        "height",
        "thickness",
        "mass",
        "weight",
        "density",
        "kerf",
    }
    for node in nodes(path):
        if isinstance(node, ast.FunctionDef) and not node.name.startswith("_"):
            names = {p.arg for p in [*node.args.args, *node.args.kwonlyargs]}
            assert not names & bare, f"{node.name}: {names & bare} without a unit"
