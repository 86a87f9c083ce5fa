"""Rooms know each other in one direction only; the table here is the one in DEVELOPERS.md."""

from __future__ import annotations

import ast
from functools import cache
from pathlib import Path

import blankwright
from blankwright.commands.cli import _COMMANDS
from rooms.every import every
from rooms.source import nodes

PACKAGE = Path(blankwright.__file__).parent
MODULES = sorted(p for p in PACKAGE.rglob("*.py") if "templates" not in p.relative_to(PACKAGE).parts)

FLOORS: tuple[tuple[str, str], ...] = (
    ("base", ""),
    ("geometry, shop", "base"),
    ("design, ink", "base, geometry"),
    ("proof", "base, geometry.outline"),
    ("solid", "base, geometry, design"),
    ("knife", "base, geometry, shop, design, solid"),
    ("cutting, drawing, template, print3d", "base, geometry, shop, design, ink, solid, knife"),
    ("stock", "base, geometry, shop, design, ink, solid, knife, cutting, template"),
    ("inspection", "base, geometry, shop, ink, proof, cutting"),
    ("lift", "base, geometry, shop, design, ink, solid, knife, inspection"),
    ("report, sheet", "base, geometry, shop, design, ink, proof, solid, knife, cutting, drawing"),
    ("desk", "every room above"),
    ("page", "every room above"),
    ("commands", "every room above"),
    ("__main__", "commands"),
)
"""Rooms, and what they may import beside themselves; from the ground up. DEVELOPERS.md prints it."""


def _allowed() -> dict[str, set[str]]:
    found: dict[str, set[str]] = {}
    for rooms, may in FLOORS:
        names = set(found) if may == "every room above" else set(filter(None, may.split(", ")))
        found |= dict.fromkeys(rooms.split(", "), names)
    return found


ALLOWED = _allowed()
"""Room -> the rooms, or single modules, it may import."""


def module_name(path: Path) -> str:
    parts = path.relative_to(PACKAGE.parent).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def room(module: str) -> str:
    return module.split(".")[1] if "." in module else ""


def imported(path: Path, names: set[str]) -> set[str]:
    """Return every module of the package that a file imports, at its top or inside a function."""
    found: set[str] = set()
    for node in nodes(path):
        if isinstance(node, ast.Import):
            found |= {a.name for a in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path.name}: imports are written in full"
            source = node.module or ""
            # "from blankwright.geometry import moments" names a module, "... .units import show_mm" a member
            found |= {f"{source}.{a.name}" if f"{source}.{a.name}" in names else source for a in node.names}
    return {name for name in found if name.split(".")[0] == "blankwright"}


NAMED = {module_name(p): p for p in MODULES if p.parent != PACKAGE or p.name != "__init__.py"}


@cache
def graph() -> dict[str, set[str]]:
    """Return what each module imports; read when first asked, so that collecting tests reads no source."""
    names = {module_name(p) for p in MODULES}
    return {name: imported(path, names) for name, path in NAMED.items()}


def test_the_walk_sees_the_package() -> None:
    assert len(graph()) > 30
    assert "blankwright.geometry.outline" in graph()["blankwright.knife.knife"]
    assert "blankwright.desk.make" in graph()["blankwright.desk.script"], "imports inside functions are seen too"


@every(sorted(NAMED))
def test_a_module_imports_only_what_its_room_may(module: str) -> None:
    here = room(module)
    assert here in ALLOWED, f"{here} is a new room: say in this table what it may import"
    for other in graph()[module]:
        if other == "blankwright":
            continue  # the version
        single = other.removeprefix("blankwright.")
        assert room(other) == here or {room(other), single} & ALLOWED[here], f"{module} imports {other}"


def test_the_developers_page_prints_this_table() -> None:
    page = (PACKAGE.parents[1] / "DEVELOPERS.md").read_text(encoding="utf-8")
    rows = [f"| {rooms} | {may or 'nothing of ours'} |" for rooms, may in FLOORS]
    assert "\n".join(rows) in page


def test_at_most_three_modules_lie_loose() -> None:
    assert len([p for p in MODULES if p.parent == PACKAGE]) <= 3


@every(sorted(m for m in NAMED if room(m) == "proof"))
def test_the_proof_trusts_nobody(module: str) -> None:
    """The whole room: from outside it knows the outline's vertices and the foundation, whatever file it reads."""
    others = {other for other in graph()[module] if room(other) != "proof"}
    assert not {other for other in others if room(other) != "base"} - {"blankwright.geometry.outline"}


def test_the_command_line_knows_the_foundation_and_loads_a_command_by_its_name() -> None:
    others = graph()["blankwright.commands.cli"] - {"blankwright"}
    assert {room(other) for other in others} == {"base"}
    named = {f"blankwright.commands.{holder}" for holder, _ in _COMMANDS.values()}
    assert named <= graph().keys()
    assert graph()["blankwright.__main__"] == {"blankwright.commands.cli"}


def test_drawing_a_sheet_needs_its_model_only() -> None:
    writers = {f"blankwright.sheet.{name}" for name in ("html", "style", "pdf", "picture")}
    drawn = {other for module in writers for other in graph()[module] if room(other) == "sheet"} - writers
    assert drawn == {"blankwright.sheet.model"}


def test_no_module_imports_itself_round_a_corner() -> None:
    done: set[str] = set()

    def walk(module: str, path: list[str]) -> None:
        assert module not in path, " -> ".join([*path[path.index(module) :], module])
        if module in done:
            return
        for other in graph().get(module, ()):
            walk(other, [*path, module])
        done.add(module)

    for module in graph():
        walk(module, [])


KNIFE_WORDS = {
    "blade", "heel", "tang", "knife", "handle", "pin", "pins", "choil", "ricasso", "bevel", "butt", "scales",
    "grind",     "steel", "hilt",
}  # fmt: skip


def names_in(path: Path) -> set[str]:
    found: set[str] = set()
    for node in nodes(path):
        if isinstance(node, ast.Name):
            found.add(node.id)
        elif isinstance(node, ast.Attribute):
            found.add(node.attr)
        elif isinstance(node, (ast.FunctionDef, ast.ClassDef)):
            found.add(node.name)
        elif isinstance(node, ast.arg):
            found.add(node.arg)
    return found


@every(p for p in MODULES if p.parent.name == "geometry")
def test_geometry_has_no_word_for_a_part_of_a_knife(path: Path) -> None:
    words = {part for name in names_in(path) for part in name.lower().split("_")}
    assert not words & KNIFE_WORDS
