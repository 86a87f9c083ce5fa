"""Writing files: whole or not at all, and never over a user's file unasked. Every file of the product goes this way.

What a file system allows: one file replaces another in a single step. A set of files does not, so a set is moved in
while signals wait and no other run of ours writes into the folder, and moved back whatever goes wrong. First all older
files are moved aside, the first of the set (the cutting file) before the others; then the new ones are moved in, the
first one last. A process that is killed outright (SIGKILL) between two moves therefore leaves a folder in which some
files are missing, never a new one beside an older one, and the next run into that folder moves the older ones back
before it begins. What this cannot promise: that a set survives a loss of power (nothing is forced to the disk); that
a file system without locks keeps two makers apart; that a folder which no run visits again is tidied.
"""

from __future__ import annotations

import json
import os
import re
import shutil
import tempfile
import time
from collections.abc import Callable, Sequence
from pathlib import Path

from blankwright.base.deferred import deferred
from blankwright.base.errors import RequestError
from blankwright.base.leftover import MOVES, NEW, OLD, mend, sweep
from blankwright.base.lock import FolderLock
from blankwright.base.written import RECORD, digest, kept_name, kept_words, read_record, record_text

_PREFIX = ".writing-"
_PATIENCE_S, _PAUSE_S = 60.0, 0.05
_VANISHED = 20
"""How often a folder may vanish under our hands, taken back by another run that failed, before it is told."""


class staging:  # noqa: N801 - used as a context, like tempfile's own
    """A hidden folder beside the target; on any failure nothing of it stays, not even a new target folder.

    From entering to leaving no other run of ours writes into the target; what a killed one left there is mended first.

    Args:
        folder: Where the files go; made when it is not there.
        said: What a message names as not written, and what to do; None for the folder, which --out chooses.
    """

    def __init__(self, folder: Path, said: tuple[str, str] | None = None) -> None:
        self._folder = folder
        self._said, self._advice = said or (str(folder)[:200], " Choose another --out.")
        self._made: list[Path] = []
        self._lock = FolderLock()
        self._temporary: Path | None = None
        self._stuck = False
        self._written: set[str] = set()
        self.path = folder
        self.notes: list[str] = []
        """Remarks: which edited file was kept, and under what name."""

    def __enter__(self) -> staging:
        try:
            self._wait()
        except OSError as error:
            self._leave()
            raise self._refused(error, self._advice) from None
        except BaseException:
            self._leave()
            raise
        return self

    def _wait(self) -> None:
        """Enter as soon as no other run is in the folder; signals are let through between two tries.

        Patience is counted in pauses in which the other run wrote nothing, not by the clock: on a machine with too
        much to do, or one that stood still, both runs get on slowly, and neither is at fault.
        """
        seen: list[object] | None = None
        idle = vanished = 0
        while True:
            with deferred():
                try:
                    if self._entered():
                        return
                except FileNotFoundError:
                    vanished += 1
                    if vanished > _VANISHED:
                        raise
            before, seen = seen, self._begun()
            idle = idle + 1 if seen == before else 0
            if idle * _PAUSE_S > _PATIENCE_S:
                break
            time.sleep(_PAUSE_S)
        raise RequestError(
            f"{self._said}: another run is writing into this folder and has not moved on for {_PATIENCE_S:g} s. Wait "
            "for it to end, stop it, or choose another folder."
        )

    def _begun(self) -> list[object]:
        """Return what runs in the folder have prepared so far; what vanishes meanwhile is passed over."""
        _, names, _ = next(os.walk(self._folder), ("", [], []))
        return [list(os.walk(self._folder / name)) for name in names if name.startswith(_PREFIX)]

    def _entered(self) -> bool:
        """Make and lock the folder, and begin; False while another run has it."""
        for parent in reversed([self._folder, *self._folder.parents]):
            if not parent.exists():
                try:
                    parent.mkdir()
                except FileExistsError:  # another run was quicker, or it is no folder
                    if not parent.is_dir():
                        raise NotADirectoryError(20, f"{parent.name} is there and is no folder", parent.name) from None
                else:
                    self._made += [] if parent in self._made else [parent]
        if not self._lock.take(self._folder):
            return False
        for left in self._folder.glob(f"{_PREFIX}*"):
            mend(self._folder, left)
        self._temporary = Path(tempfile.mkdtemp(prefix=_PREFIX, dir=self._folder))
        self.path = self._temporary / NEW
        self.path.mkdir()
        return True

    def write(self, name: str, content: str | bytes) -> None:
        """Write a file that is to be put in place.

        Raises:
            RequestError: It cannot be written, or two files of the set have this name.
        """
        if name.casefold() in self._written:  # some systems know no capitals in a file's name
            raise RequestError(
                f"{name}: two files would have this name. Change a rule for names, or the design's name."
            )
        self._written.add(name.casefold())
        try:
            (self.path / name).write_bytes(content if isinstance(content, bytes) else content.encode("utf-8"))
        except UnicodeEncodeError:
            raise RequestError(f"{self._said}: what is to be written in {name} is not text in UTF-8.") from None
        except OSError as error:
            raise self._refused(error) from None

    def put_in_place(self, names: list[str], older: re.Pattern[str] | None = None) -> None:
        """Move a finished set to its places: all of it, or the folder is left as it was.

        A file in the folder that is not as it was last written is kept beside, under its name with .kept behind.

        Args:
            names: The files of the set.
            older: What files of such a set are called; those of an earlier run that are not of this set are taken away.

        Raises:
            RequestError: One cannot be moved.
        """
        with deferred():
            moved: list[tuple[Path, Path]] = []
            try:
                self._move(names, moved, older)
            except BaseException as error:
                self._undo(moved)
                if isinstance(error, OSError):
                    raise self._refused(error) from None
                raise
            self._made.clear()
            self._leave()  # before a signal is let through

    def put_one(self, name: str, *, over: bool) -> None:
        """Move one finished file to its place in a single step.

        Args:
            name: Its name.
            over: Whether an older one may be replaced; if not, whatever has the name stays, be it made this moment.

        Raises:
            FileExistsError: The name is taken.
            RequestError: It cannot be moved.
        """
        with deferred():
            try:
                if over:
                    (self.path / name).replace(_no_folder(self._folder / name))
                else:
                    _put_new(self.path / name, self._folder / name)
            except FileExistsError:
                raise
            except OSError as error:
                raise self._refused(error) from None
            self._made.clear()
            self._leave()

    def _move(self, names: Sequence[str], moved: list[tuple[Path, Path]], older: re.Pattern[str] | None) -> None:
        """Move a set in; each step done is added to `moved`, so that it can be undone."""
        for name in names:
            _plain_or_nothing(self._folder / name)
        assert self._temporary is not None
        record = read_record(self._folder / RECORD)
        new = {name: digest(self.path / name) for name in names}
        for name in names:
            self._keep(name, record.get(name), new[name], moved)
        there = {name: value for name, value in record.items() if (self._folder / name).exists()}
        gone = [name for name in there if older is not None and older.fullmatch(name) and name not in new]
        for name in gone:
            _plain_or_nothing(self._folder / name)
            self._keep(name, there.pop(name), "", moved)
            self.notes.append(f"{name} was of an earlier run and is taken away: this one does not make it")
        self.write(RECORD, record_text(there | new))
        whole = [*names, RECORD]
        moves = {name: digest(self.path / name) for name in whole} | dict.fromkeys(gone, "")
        (self._temporary / MOVES).write_text(json.dumps(moves), encoding="utf-8")
        old = self._temporary / OLD
        old.mkdir()
        for name in [*gone, *whole]:
            if os.path.lexists(self._folder / name):
                _moved(self._folder / name, old / name, moved)
        for name in [*whole[1:], whole[0]]:
            _moved(self.path / name, self._folder / name, moved)

    def _keep(self, name: str, written: str | None, new: str, moved: list[tuple[Path, Path]]) -> None:
        """Keep a file that somebody edited: one that is neither as it was written nor as it is to be."""
        assert self._temporary is not None
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
            moved.append((copy, kept))
        self.notes.append(kept_words(name, kept.name))

    def _undo(self, moved: list[tuple[Path, Path]]) -> None:
        """Undo what was done of a set, the last step first; what cannot be undone stays for the next run to mend."""
        self.notes.clear()
        for source, target in reversed(moved):
            try:
                target.replace(source)
            except OSError:
                self._stuck = True

    def __exit__(self, *_: object) -> None:
        with deferred():
            self._leave()

    def _leave(self) -> None:
        if self._temporary is not None and not self._stuck:
            sweep(self._temporary)
        self._lock.release()
        self._remove_made()

    def _refused(self, error: OSError, advice: str = "") -> RequestError:
        left = f" The older files are in {self._temporary}." if self._stuck else ""
        return RequestError(f"{self._said}: cannot be written ({error.strerror or error}).{left}{advice}")

    def _remove_made(self) -> None:
        for folder in reversed(self._made):
            try:
                folder.rmdir()
            except OSError:  # somebody else put something in it meanwhile; theirs stays
                break


def _no_folder(place: Path) -> Path:
    if place.is_dir():
        raise IsADirectoryError(21, f"{place.name} is a folder", place.name)
    return place


def _plain_or_nothing(place: Path) -> Path:
    """Refuse what cannot be kept if it was edited: a pipe or a device would be copied for ever."""
    _no_folder(place)
    if os.path.lexists(place) and not place.is_file():
        raise OSError(22, f"{place.name} is there and is no plain file; move it away", place.name)
    return place


def _moved(source: Path, target: Path, moved: list[tuple[Path, Path]]) -> None:
    source.replace(target)
    moved.append((source, target))


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


def write_files(
    folder: Path, files: dict[str, str | bytes], older: re.Pattern[str] | None = None
) -> tuple[list[str], list[str]]:
    """Write a set of files into a folder, which is made when needed: all of them, or none.

    Args:
        folder: The folder.
        files: What is written, by name; nothing makes no folder.
        older: What files of such a set are called; those of an earlier run that are not of this set are taken away, and
            what somebody edited of them is kept. None leaves whatever else is there.

    Returns:
        Their names; and remarks on files that had been edited and are kept, and on those taken away.

    Raises:
        RequestError: The folder or a file cannot be written.
    """
    if not files and not folder.is_dir():
        return [], []
    with staging(folder) as stage:
        for name, content in files.items():
            stage.write(name, content)
        stage.put_in_place(list(files), older)
    return list(files), stage.notes


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


def filled_once(place: Path, fill: Callable[[Path], Path], before: str) -> None:
    """Fill a folder that the tool keeps for itself, whole or not at all; older ones of its kind go.

    Args:
        place: The folder; one that is there meanwhile stays.
        fill: Makes its content in a folder that is given, and returns the folder to keep.
        before: How the names of its kind begin.

    Raises:
        OSError: It cannot be written.
    """
    place.parent.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(prefix=".building-", dir=place.parent) as work:
        made = fill(Path(work))
        if not place.exists():
            made.replace(place)
    for old in place.parent.glob(f"{before}*"):
        if old != place:
            shutil.rmtree(old, ignore_errors=True)
