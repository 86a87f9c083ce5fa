"""Rooms know each other in one direction only; the table here is the one in DEVELOPERS.md."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

import blankwright

PACKAGE = Path(blankwright.__file__).parent
MODULES = sorted(p for p in PACKAGE.rglob("*.py") if "templates" not in p.relative_to(PACKAGE).parts)

FOUNDATION = {"errors", "units", "library", "fields"}
BASE = FOUNDATION | {"geometry"}
TRADE = BASE | {"design", "shop", "solid", "paper", "table"}
WORK = TRADE | {"audit", "emit", "workpiece", "cautions", "weights", "moves", "knobs"}
VIEWS = {
    "document",
    "delivery",
    "grindview",
    "sections",
    "drawing",
    "handlescenes",
    "template",
    "printers",
    "printable",
    "sheet",
    "buildsheet",
}
MAKING = WORK | VIEWS | {"make", "inspection", "together"}
ALLOWED: dict[str, set[str]] = {
    "errors": set(),
    "units": {"errors"},
    "library": {"errors"},
    "fields": {"errors"},
    "geometry": FOUNDATION,
    "design": BASE,
    "shop": BASE,
    "solid": BASE | {"design"},
    "table": BASE | {"shop"},
    "intake": BASE,
    "stock": TRADE,
    "audit": TRADE - {"paper"},
    "emit": TRADE | {"sheet"},  # its model only: see below
    "sheet": TRADE | {"workpiece", "weights", "cautions"},
    "buildsheet": WORK | {"sheet", "document", "drawing", "sections"},
    "paper": BASE,
    "printers": {"errors", "units"},
    "handlescenes": WORK | {"grindview"},
    "template": WORK | {"document", "grindview", "handlescenes", "drawing", "printers"},
    "workpiece": TRADE | {"audit", "emit"},
    "cautions": TRADE | {"workpiece"},
    "weights": TRADE | {"workpiece"},
    "knobs": TRADE | {"workpiece", "weights"},
    "moves": TRADE | {"workpiece", "weights"},
    "printable": TRADE | {"workpiece", "weights"},
    "document": WORK | {"delivery", "drawing"},
    "delivery": WORK | {"drawing", "grindview", "sections"},
    "grindview": WORK,
    "sections": WORK,
    "drawing": WORK | {"grindview", "sections"},
    "make": WORK | {"document", "delivery", "grindview", "drawing", "template", "printable", "sheet", "buildsheet"},
    "together": WORK | {"document", "delivery", "drawing", "make"},
    "inspection": WORK | {"document", "drawing", "template"},
    "aim": MAKING | {"stock"},
    "script": MAKING | {"stock", "intake", "aim"},
    "commands": MAKING | {"stock", "intake", "aim"},
    "cli": {"errors", "commands"},
    "bench": MAKING | {"stock", "intake", "aim", "script"},
}
"""Room -> the rooms it may import, beside itself."""


def module_name(path: Path) -> str:
    parts = path.relative_to(PACKAGE.parent).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def room(module: str) -> str:
    return module.split(".")[1] if "." in module else ""


def imported(path: Path) -> set[str]:
    """Return every module of the package that a file imports, at its top or inside a function."""
    names = {module_name(p) for p in MODULES}
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {a.name for a in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path.name}: imports are written in full"
            source = node.module or ""
            # "from blankwright.geometry import moments" names a module, "... .units import show_mm" a member
            found |= {f"{source}.{a.name}" if f"{source}.{a.name}" in names else source for a in node.names}
    return {name for name in found if name.split(".")[0] == "blankwright"}


GRAPH = {module_name(p): imported(p) for p in MODULES if p.parent != PACKAGE or p.name != "__init__.py"}


def test_the_walk_sees_the_package() -> None:
    assert len(GRAPH) > 30
    assert "blankwright.geometry.outline" in GRAPH["blankwright.workpiece"]
    assert "blankwright.make" in GRAPH["blankwright.script"], "imports inside functions are seen too"


@pytest.mark.parametrize("module", sorted(GRAPH))
def test_a_module_imports_only_what_its_room_may(module: str) -> None:
    here = room(module)
    assert here in ALLOWED, f"{here} is a new room: say in this table what it may import"
    for other in GRAPH[module]:
        if other == "blankwright":
            continue  # the version
        assert room(other) == here or room(other) in ALLOWED[here], f"{module} imports {other}"


@pytest.mark.parametrize(
    ("here", "never"),
    [
        ("shop", {"design", "solid", "audit", "emit"}),
        ("audit", {"emit"}),
        ("emit", {"audit"}),
        ("design", {"shop", "solid", "audit", "emit"}),
        ("geometry", {"design", "shop", "solid", "audit", "emit"}),
    ],
)
def test_rooms_that_must_never_meet(here: str, never: set[str]) -> None:
    assert not ALLOWED[here] & never
    for module, others in GRAPH.items():
        if room(module) == here:
            assert not {room(o) for o in others} & never, module


def test_drawing_a_sheet_needs_its_model_only() -> None:
    drawn = {other for module in GRAPH if room(module) == "emit" for other in GRAPH[module] if room(other) == "sheet"}
    assert drawn == {"blankwright.sheet.model"}
    assert not {room(o) for o in GRAPH["blankwright.sheet.model"]} - {"errors", "units", "shop"}


def test_no_module_imports_itself_round_a_corner() -> None:
    done: set[str] = set()

    def walk(module: str, path: list[str]) -> None:
        assert module not in path, " -> ".join([*path[path.index(module) :], module])
        if module in done:
            return
        for other in GRAPH.get(module, ()):
            walk(other, [*path, module])
        done.add(module)

    for module in GRAPH:
        walk(module, [])


KNIFE_WORDS = {
    "blade", "heel", "tang", "knife", "handle", "pin", "pins", "choil", "ricasso", "bevel", "butt", "scales",
    "grind",     "steel", "hilt",
}  # fmt: skip


def names_in(path: Path) -> set[str]:
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Name):
            found.add(node.id)
        elif isinstance(node, ast.Attribute):
            found.add(node.attr)
        elif isinstance(node, (ast.FunctionDef, ast.ClassDef)):
            found.add(node.name)
        elif isinstance(node, ast.arg):
            found.add(node.arg)
    return found


@pytest.mark.parametrize("path", [p for p in MODULES if p.parent.name == "geometry"], ids=lambda p: p.name)
def test_geometry_has_no_word_for_a_part_of_a_knife(path: Path) -> None:
    words = {part for name in names_in(path) for part in name.lower().split("_")}
    assert not words & KNIFE_WORDS
