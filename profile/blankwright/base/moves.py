"""The moves by which a set of files comes to its places, and how each is undone: by who made it, or after a kill.

All older files are moved aside first, the first of the set before the others; then the new ones are moved in, the first
one last. What is to be moved is listed beside, so that the next run can bring back what a killed one left half done.
"""

from __future__ import annotations

import json
import os
import re
import shutil
from collections.abc import Callable, Sequence
from contextlib import suppress
from pathlib import Path

from blankwright.base.written import RECORD, digest, kept_name, kept_words, read_record, record_text

NEW = "new"
"""In the folder of a run: what is to stand."""
_OLD, _MOVES = "old", "moves.json"
"""There too: what stood before, and what is moved."""


class Moves:
    """The moves of one set.

    Args:
        folder: Where the set goes.
        temporary: The folder of the run; the new files lie in its `NEW`.
    """

    def __init__(self, folder: Path, temporary: Path) -> None:
        self._folder, self._temporary = folder, temporary
        self._done: list[tuple[Path, Path]] = []
        self.notes: list[str] = []
        """Remarks: which edited file was kept, and under what name, and what of an earlier run was taken away."""

    def make(self, names: Sequence[str], older: re.Pattern[str] | None, write: Callable[[str, str], None]) -> None:
        """Move a set in.

        Args:
            names: The files of the set.
            older: What files of such a set are called, of which those of an earlier run go; None for none.
            write: Writes the record beside the new files.

        Raises:
            OSError: A file cannot be moved; what is moved already is for `undo`.
        """
        for name in names:
            _plain_or_nothing(self._folder / name)
        record = read_record(self._folder / RECORD)
        new = {name: digest(self._temporary / NEW / name) for name in names}
        for name in names:
            self._keep(name, record.get(name), new[name])
        there = {name: value for name, value in record.items() if (self._folder / name).exists()}
        gone = [name for name in there if older is not None and older.fullmatch(name) and name not in new]
        for name in gone:
            _plain_or_nothing(self._folder / name)
            self._keep(name, there.pop(name), "")
            self.notes.append(f"{name} was of an earlier run and is taken away: this one does not make it")
        write(RECORD, record_text(there | new))
        self._move([*names, RECORD], gone)

    def _move(self, whole: list[str], gone: list[str]) -> None:
        """Move the older files aside and the new ones in."""
        listed = {name: digest(self._temporary / NEW / name) for name in whole} | dict.fromkeys(gone, "")
        (self._temporary / _MOVES).write_text(json.dumps(listed), encoding="utf-8")
        old = self._temporary / _OLD
        old.mkdir()
        for name in [*gone, *whole]:
            if os.path.lexists(self._folder / name):
                self._replace(self._folder / name, old / name)
        for name in [*whole[1:], whole[0]]:
            self._replace(self._temporary / NEW / name, self._folder / name)

    def _replace(self, source: Path, target: Path) -> None:
        source.replace(target)
        self._done.append((source, target))

    def _keep(self, name: str, written: str | None, new: str) -> None:
        """Keep a file that somebody edited: one that is neither as it was written nor as it is to be."""
        place = self._folder / name
        if not os.path.lexists(place):
            return
        content = digest(place) if place.is_file() else ""
        if content in (written, new):
            return
        kept, there = kept_name(self._folder, name, content)
        if not there:
            copy = self._temporary / kept.name
            shutil.copy2(place, copy)
            _put_new(copy, kept)
            self._done.append((copy, kept))
        self.notes.append(kept_words(name, kept.name))

    def undo(self) -> bool:
        """Undo what was done, the last step first, and say whether all was; the rest stays for the next run to mend."""
        self.notes.clear()
        whole = True
        for source, target in reversed(self._done):
            try:
                target.replace(source)
            except OSError:
                whole = False
        return whole


def move_one(source: Path, place: Path, *, over: bool) -> None:
    """Move one file to its place in a single step.

    Args:
        source: The file.
        place: Where it goes.
        over: Whether an older one may be replaced; if not, whatever has the name stays, be it made this moment.

    Raises:
        FileExistsError: The name is taken.
        OSError: It cannot be moved.
    """
    if over:
        source.replace(_no_folder(place))
    else:
        _put_new(source, place)


def _no_folder(place: Path) -> Path:
    if place.is_dir():
        raise IsADirectoryError(21, f"{place.name} is a folder", place.name)
    return place


def _plain_or_nothing(place: Path) -> None:
    """Refuse what cannot be kept if it was edited: a pipe or a device would be copied for ever."""
    if os.path.lexists(_no_folder(place)) and not place.is_file():
        raise OSError(22, f"{place.name} is there and is no plain file; move it away", place.name)


def _put_new(source: Path, place: Path) -> None:
    """Give a file a name that nothing has, in one step; it is never written through whatever has the name.

    Raises:
        FileExistsError: Something has the name.
    """
    try:
        os.link(source, place)
    except FileExistsError:
        raise
    except OSError:  # a file system without second names: made new, then filled
        with place.open("xb") as stream:
            stream.write(source.read_bytes())
    source.unlink()


def mend(folder: Path, left: Path) -> None:
    """Bring a set that a killed run left half moved to its older state, and remove what it left.

    Only what is ours is touched: a folder that another user put there stays.
    """
    about = left.lstat()
    if left.is_symlink() or not left.is_dir() or (hasattr(os, "getuid") and about.st_uid != os.getuid()):
        return
    old, new = left / _OLD, left / NEW
    if old.is_dir() and new.is_dir() and any(new.iterdir()):  # between two moves; else not begun, or through
        for name, content in read_record(left / _MOVES).items():
            place = folder / name
            ours = place.is_file() and not (new / name).exists() and digest(place) == content
            if os.path.lexists(old / name):
                if ours or not os.path.lexists(place):
                    (old / name).replace(place)
            elif ours:
                place.unlink()
    sweep(left)


def sweep(left: Path) -> None:
    """Remove what a run worked in; without its list of moves nobody takes what a kill leaves of it for half moved."""
    with suppress(OSError):
        (left / _MOVES).unlink()
    shutil.rmtree(left, ignore_errors=True)
