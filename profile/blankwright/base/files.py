"""Writing files: whole or not at all, and never over a user's file unasked."""

from __future__ import annotations

import tempfile
from pathlib import Path

from blankwright.base.errors import RequestError


class staging:  # noqa: N801 - used as a context, like tempfile's own
    """A hidden folder beside the target; on any failure nothing of it stays, not even a new target folder."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._made: list[Path] = []
        self.path = folder

    def __enter__(self) -> staging:
        try:
            for parent in reversed([self._folder, *self._folder.parents]):
                if not parent.exists():
                    parent.mkdir()
                    self._made.append(parent)
            self._temporary = tempfile.TemporaryDirectory(prefix=".writing-", dir=self._folder)
        except OSError as error:
            self._remove_made()
            raise RequestError(
                f"{self._folder}: cannot be written ({error.strerror or error}). Choose another --out."
            ) from None
        self.path = Path(self._temporary.name)
        return self

    def put_in_place(self, names: list[str]) -> None:
        """Move finished files to their places: all of them, or the folder is left as it was."""
        done: list[str] = []
        try:
            for name in names:
                place = self._folder / name
                if place.is_dir():
                    raise IsADirectoryError(21, f"{name} is a folder", name)
                if place.exists():
                    place.replace(self.path / f"before-{name}")
                done.append(name)
                (self.path / name).replace(self._folder / name)
        except OSError as error:
            for name in reversed(done):
                before = self.path / f"before-{name}"
                if before.exists():
                    before.replace(self._folder / name)
                else:
                    (self._folder / name).unlink(missing_ok=True)
            raise RequestError(f"{self._folder}: cannot be written ({error.strerror or error}).") from None
        self._made.clear()

    def __exit__(self, *_: object) -> None:
        self._temporary.cleanup()
        self._remove_made()

    def _remove_made(self) -> None:
        for folder in reversed(self._made):
            try:
                folder.rmdir()
            except OSError:  # somebody else put something in it meanwhile; theirs stays
                break


def write_file(path: Path, content: str | bytes) -> None:
    """Write a file into a folder that is being prepared.

    Raises:
        RequestError: It cannot be written.
    """
    try:
        path.write_bytes(content if isinstance(content, bytes) else content.encode("utf-8"))
    except OSError as error:
        raise RequestError(f"{path.parent.parent}: cannot be written ({error.strerror or error}).") from None


def write_new(path: Path, text: str, *, force: bool) -> None:
    """Write a new file, whole or not at all; an existing one is kept unless forced.

    Raises:
        RequestError: The file is there already, its name does not end in .toml, or it cannot be written.
    """
    if path.suffix != ".toml":
        raise RequestError(f"{path}: a design file's name ends in .toml.")
    if path.exists() and not force:
        raise RequestError(f"{path} is there already and was not touched. Choose another name, or add --force.")
    temporary = path.with_name(f".{path.name}.writing")
    try:
        with temporary.open("w", encoding="utf-8", newline="\n") as stream:
            stream.write(text)
        temporary.replace(path)
    except OSError as error:
        temporary.unlink(missing_ok=True)
        raise RequestError(f"{path}: cannot be written ({error.strerror or error}).") from None
