"""Writing files into a folder: whole or not at all, one run of ours at a time. Every file of the product goes this way.

What a file system allows: one file replaces another in a single step. A set of files does not, so a set is moved in
(`moves`) while signals wait and no other run of ours writes into the folder, and moved back whatever goes wrong. The
first of the set (the cutting file) is moved aside before the others, and moved in after them. A process that is killed
outright (SIGKILL) between two moves therefore leaves a folder in which some files are missing, never a new one beside
an older one, and the next run into that folder moves the older ones back before it begins. What this cannot promise:
that a set survives a loss of power (nothing is forced to the disk); that a file system without locks keeps two makers
apart; that a folder which no run visits again is tidied.
"""

from __future__ import annotations

import os
import re
import tempfile
import time
from pathlib import Path

from blankwright.base.deferred import deferred
from blankwright.base.errors import RequestError
from blankwright.base.lock import FolderLock
from blankwright.base.moves import NEW, Moves, mend, move_one, sweep

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
        assert self._temporary is not None
        moves = Moves(self._folder, self._temporary)
        with deferred():
            try:
                moves.make(names, older, self.write)
            except BaseException as error:
                self._stuck = not moves.undo()
                if isinstance(error, OSError):
                    raise self._refused(error) from None
                raise
            self.notes = moves.notes
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
                move_one(self.path / name, self._folder / name, over=over)
            except FileExistsError:
                raise
            except OSError as error:
                raise self._refused(error) from None
            self._made.clear()
            self._leave()

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
