"""Writing files: whole or not at all, and never over a user's file unasked. Every file of the product goes this way."""

from __future__ import annotations

import tempfile
from pathlib import Path

from blankwright.base.errors import RequestError


class staging:  # noqa: N801 - used as a context, like tempfile's own
    """A hidden folder beside the target; on any failure nothing of it stays, not even a new target folder.

    Args:
        folder: Where the files go; made when it is not there.
        said: What a message names as not written, and what to do; None for the folder, which --out chooses.
    """

    def __init__(self, folder: Path, said: tuple[str, str] | None = None) -> None:
        self._folder = folder
        self._said, self._advice = said or (str(folder), " Choose another --out.")
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
            raise self._refused(error, self._advice) from None
        self.path = Path(self._temporary.name)
        return self

    def write(self, name: str, content: str | bytes) -> None:
        """Write a file that is to be put in place.

        Raises:
            RequestError: It cannot be written.
        """
        try:
            (self.path / name).write_bytes(content if isinstance(content, bytes) else content.encode("utf-8"))
        except OSError as error:
            raise self._refused(error) from None

    def put_in_place(self, names: list[str]) -> None:
        """Move finished files to their places: all of them, or the folder is left as it was.

        Raises:
            RequestError: One cannot be moved.
        """
        done: list[str] = []
        try:
            for name in names:
                place = self._folder / name
                if place.is_dir():
                    raise IsADirectoryError(21, f"{name} is a folder", name)
                if name != names[-1]:  # the last goes over the older one in a single step: nothing fails after it
                    if place.exists():
                        place.replace(self.path / f"before-{name}")
                    done.append(name)
                (self.path / name).replace(place)
        except OSError as error:
            for name in reversed(done):
                before = self.path / f"before-{name}"
                if before.exists():
                    before.replace(self._folder / name)
                else:
                    (self._folder / name).unlink(missing_ok=True)
            raise self._refused(error) from None
        self._made.clear()

    def __exit__(self, *_: object) -> None:
        self._temporary.cleanup()
        self._remove_made()

    def _refused(self, error: OSError, advice: str = "") -> RequestError:
        return RequestError(f"{self._said}: cannot be written ({error.strerror or error}).{advice}")

    def _remove_made(self) -> None:
        for folder in reversed(self._made):
            try:
                folder.rmdir()
            except OSError:  # somebody else put something in it meanwhile; theirs stays
                break


def write_files(folder: Path, files: dict[str, str | bytes]) -> list[str]:
    """Write a set of files into a folder, which is made when needed: all of them, or none.

    Returns:
        Their names.

    Raises:
        RequestError: The folder or a file cannot be written.
    """
    with staging(folder) as stage:
        for name, content in files.items():
            stage.write(name, content)
        stage.put_in_place(list(files))
    return list(files)


def write_over(path: Path, content: str | bytes, *, new_folder: bool) -> None:
    """Write one file of a name that the user chose or that is ours; an older one is replaced in a single step.

    Args:
        path: The file.
        content: What it holds.
        new_folder: Whether its folder is made when it is not there.

    Raises:
        RequestError: It cannot be written.
    """
    if not new_folder and not path.parent.is_dir():
        raise RequestError(f"{path}: cannot be written (there is no folder {path.parent}).")
    with staging(path.parent, (str(path), "")) as stage:
        stage.write(path.name, content)
        stage.put_in_place([path.name])


def refuse_taken(path: Path, *, force: bool, before: str = "") -> None:
    """Refuse a name that is taken, unless the user said that it may be written over.

    Args:
        path: The file to be written.
        force: Whether --force was given.
        before: What stands before the message, such as "--mend: ".

    Raises:
        RequestError: The file is there already.
    """
    if path.exists() and not force:
        raise RequestError(f"{before}{path} is there already and was not touched. Choose another, or add --force.")


def write_new(path: Path, text: str, *, force: bool, new_folder: bool = False) -> None:
    """Write a new design file; an existing one is kept unless forced.

    Args:
        path: The file.
        text: What it holds.
        force: Whether an older one may be written over.
        new_folder: Whether its folder is made when it is not there.

    Raises:
        RequestError: The file is there already, its name does not end in .toml, or it cannot be written.
    """
    if path.suffix != ".toml":
        raise RequestError(f"{path}: a design file's name ends in .toml.")
    refuse_taken(path, force=force)
    write_over(path, text, new_folder=new_folder)
