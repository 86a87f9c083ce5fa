"""Writing: whole or not at all, one way for every file of the product."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

import blankwright
from blankwright.base.errors import RequestError
from blankwright.base.files import write_files
from blankwright.base.onefile import write_new, write_over
from blankwright.base.written import RECORD
from rooms.source import nodes

PACKAGE = Path(blankwright.__file__).parent
WRITERS = {PACKAGE / "base" / f"{name}.py" for name in ("files", "moves", "filled")}
WRITES = {"write_text", "write_bytes", "mkstemp", "NamedTemporaryFile", "TemporaryDirectory", "rename", "mkdir"}


def contents(folder: Path) -> dict[str, str]:
    """Return all files but the record of what was written."""
    found = {p.relative_to(folder).as_posix(): p.read_text() for p in folder.rglob("*") if p.is_file()}
    return {name: text for name, text in found.items() if not name.endswith(RECORD)}


def fails_on(monkeypatch: pytest.MonkeyPatch, number: int) -> None:
    """Let the disk be full at the given move of a file."""
    moved, replace = [], Path.replace

    def full(self: Path, target: Path) -> Path:
        moved.append(target)
        if len(moved) == number:
            raise OSError(28, "No space left on device")
        return replace(self, target)

    monkeypatch.setattr(Path, "replace", full)


@pytest.mark.parametrize("number", range(1, 9))
def test_a_disk_that_is_full_at_any_move_leaves_all_as_it_was(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, number: int
) -> None:
    write_files(tmp_path, {"a": "old", "b": "old", "c": "old"})
    fails_on(monkeypatch, number)  # eight moves: three older files and the record aside, the new ones in
    with pytest.raises(RequestError, match="No space left"):
        write_files(tmp_path, {"a": "new", "b": "new", "c": "new"})
    assert contents(tmp_path) == {"a": "old", "b": "old", "c": "old"}
    assert len(list(tmp_path.iterdir())) == 4, "no hidden folder is left"


def test_one_file_replaces_another_in_a_single_step(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write_over(tmp_path / "a", "old", new_folder=False)
    fails_on(monkeypatch, 2)  # there is no second move: at no time is the file missing
    write_over(tmp_path / "a", "new", new_folder=False)
    assert contents(tmp_path) == {"a": "new"}


def test_a_folder_is_made_where_that_was_asked_for_and_taken_back_on_failure(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with pytest.raises(RequestError, match=r"a\.toml: cannot be written \(there is no folder"):
        write_new(tmp_path / "no/where/a.toml", "x", force=False)
    write_new(tmp_path / "some/where/a.toml", "x", force=False, new_folder=True)
    assert contents(tmp_path) == {"some/where/a.toml": "x"}
    fails_on(monkeypatch, 1)
    with pytest.raises(RequestError, match=r"b\.toml: cannot be written \(No space"):
        write_new(tmp_path / "an/other/b.toml", "x", force=True, new_folder=True)
    assert not (tmp_path / "an").exists()


@pytest.mark.parametrize("at", ["/dev/zero", "/nowhere/at/all"])
def test_what_is_no_plain_file_is_neither_kept_nor_written_over(at: str, tmp_path: Path) -> None:
    """A link to a device was copied for ever, to be kept as an edited file."""
    (tmp_path / "b.txt").symlink_to(at)
    with pytest.raises(RequestError, match=r"b\.txt is there and is no plain file; move it away"):
        write_files(tmp_path, {"a.txt": "new a", "b.txt": "new b"})
    assert [p.name for p in tmp_path.iterdir()] == ["b.txt"]
    assert (tmp_path / "b.txt").readlink() == Path(at)


def test_nothing_else_in_the_product_writes_a_file() -> None:
    for path in PACKAGE.rglob("*.py"):
        text = path.read_text(encoding="utf-8")
        if path in WRITERS or not any(word in text for word in WRITES):
            continue
        called = {
            node.func.attr
            for node in nodes(path)
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute)
        }
        assert not called & WRITES, path.name
