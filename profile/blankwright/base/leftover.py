"""What a run that was killed left of a set of files: brought to its older state, and swept."""

from __future__ import annotations

import os
import shutil
from contextlib import suppress
from pathlib import Path

from blankwright.base.written import digest, read_record

OLD, NEW, MOVES = "old", "new", "moves.json"
"""In the folder of a run: what stood before, what is to stand, and what is moved."""


def mend(folder: Path, left: Path) -> None:
    """Bring a set that a killed run left half moved to its older state, and remove what it left.

    Only what is ours is touched: a folder that another user put there stays.
    """
    about = left.lstat()
    if left.is_symlink() or not left.is_dir() or (hasattr(os, "getuid") and about.st_uid != os.getuid()):
        return
    old, new = left / OLD, left / NEW
    if old.is_dir() and new.is_dir() and any(new.iterdir()):  # between two moves; else not begun, or through
        for name, content in read_record(left / MOVES).items():
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
        (left / MOVES).unlink()
    shutil.rmtree(left, ignore_errors=True)
