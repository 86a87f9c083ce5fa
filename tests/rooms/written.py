"""The files of a folder as a maker counts them: all but the hidden record of what was written there."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from blankwright.base.written import RECORD


def in_folder(folder: Path) -> Iterator[Path]:
    """Yield what lies in a folder; anything else that is hidden counts."""
    return (path for path in folder.iterdir() if path.name != RECORD)


def under(folder: Path) -> Iterator[Path]:
    """Yield every file under a folder."""
    return (path for path in folder.rglob("*") if path.is_file() and path.name != RECORD)
