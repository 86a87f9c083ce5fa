"""One maker at a time in a folder: a lock of the operating system, which ends with the process that holds it."""

from __future__ import annotations

import contextlib
import os
import sys
from pathlib import Path

if sys.platform == "win32":
    import msvcrt

    def _opened(folder: Path) -> int:
        # gone as soon as it is closed, however the process ends
        return os.open(folder / ".lock", os.O_RDWR | os.O_CREAT | os.O_TEMPORARY | os.O_NOINHERIT)

    def _locked(number: int) -> None:
        msvcrt.locking(number, msvcrt.LK_NBLCK, 1)

    def _unlocked(number: int) -> None:
        msvcrt.locking(number, msvcrt.LK_UNLCK, 1)

    BUSY: tuple[type[OSError], ...] = (BlockingIOError, PermissionError)

else:
    import fcntl

    def _opened(folder: Path) -> int:
        return os.open(folder, os.O_RDONLY | os.O_DIRECTORY | os.O_CLOEXEC)

    def _locked(number: int) -> None:
        fcntl.flock(number, fcntl.LOCK_EX | fcntl.LOCK_NB)

    def _unlocked(number: int) -> None:
        fcntl.flock(number, fcntl.LOCK_UN)  # a process forked meanwhile has a second hold on it

    BUSY: tuple[type[OSError], ...] = (BlockingIOError,)


class FolderLock:
    """A folder that no other run of ours writes into.

    A file system that knows no locks, or a folder that may be written but not listed, is written without one: two
    makers at once are then not kept apart.
    """

    def __init__(self) -> None:
        self._number: int | None = None

    def take(self, folder: Path) -> bool:
        """Take the lock if it is free, and say whether this run may go on.

        Raises:
            FileNotFoundError: The folder is gone, taken back by the run that had made it.
        """
        self.release()
        try:
            self._number = _opened(folder)
        except FileNotFoundError:
            raise
        except OSError:
            return True
        try:
            _locked(self._number)
        except BUSY:
            os.close(self._number)
            self._number = None
            return False
        except OSError:  # no locks here
            self.release()
            return True
        return sys.platform == "win32" or self._is(folder)

    def _is(self, folder: Path) -> bool:
        """Whether what is locked is still what has that name: a run that failed takes back the folder it made."""
        if self._number is None:
            return False
        mine, there = os.fstat(self._number), folder.stat()
        if (mine.st_dev, mine.st_ino) == (there.st_dev, there.st_ino):
            return True
        self.release()
        return False

    def release(self) -> None:
        """Give the folder free."""
        number, self._number = self._number, None
        if number is not None:
            with contextlib.suppress(OSError):  # no locks here
                _unlocked(number)
            os.close(number)
