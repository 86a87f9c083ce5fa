"""Writing one file, of a name that the user chose or of ours: what has the name stays unless it may be replaced."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

from blankwright.base.errors import RequestError
from blankwright.base.files import staging


def write_over(path: Path, content: str | bytes | Callable[[], str], *, new_folder: bool) -> None:
    """Write one file of a name that the user chose or that is ours; an older one is replaced in a single step.

    Args:
        path: The file.
        content: What it holds, or what makes that from the older one, asked while no other run writes here.
        new_folder: Whether its folder is made when it is not there.

    Raises:
        RequestError: It cannot be written.
    """
    _write_one(path, content, new_folder=new_folder, over=True)


def _write_one(path: Path, content: str | bytes | Callable[[], str], *, new_folder: bool, over: bool) -> None:
    if not new_folder and not path.parent.is_dir():
        raise RequestError(f"{path}: cannot be written (there is no folder {path.parent}).")
    with staging(path.parent, (str(path), "")) as stage:
        stage.write(path.name, content() if callable(content) else content)
        stage.put_one(path.name, over=over)


def write_chosen(path: Path, content: str | bytes, *, force: bool, new_folder: bool = False, before: str = "") -> None:
    """Write one file of a name that the user chose; what has the name already stays unless it is forced.

    Args:
        path: The file.
        content: What it holds.
        force: Whether --force was given.
        new_folder: Whether its folder is made when it is not there.
        before: What stands before a refusal, such as "--mend: ".

    Raises:
        RequestError: The name is taken, be it by a link that leads nowhere or since this moment; or it cannot be
            written.
    """
    refuse_taken(path, force=force, before=before)
    try:
        _write_one(path, content, new_folder=new_folder, over=force)
    except FileExistsError:
        refuse_taken(path, force=False, before=before)
        raise


def refuse_taken(path: Path, *, force: bool, before: str = "") -> None:
    """Refuse a name that is taken, unless the user said that it may be written over.

    Args:
        path: The file to be written.
        force: Whether --force was given.
        before: What stands before the message, such as "--mend: ".

    Raises:
        RequestError: The file is there already.
    """
    if os.path.lexists(path) and not force:
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
    write_chosen(path, text, force=force, new_folder=new_folder)
