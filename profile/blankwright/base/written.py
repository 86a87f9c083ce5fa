"""What was last written into a folder, by name: how a file that somebody edited is told from one of ours."""

from __future__ import annotations

import hashlib
import json
import stat
from collections.abc import Mapping
from pathlib import Path

RECORD = ".written.json"
"""The file beside a set that holds the sha256 of each file as it was written."""

_MOST_BYTES = 1_000_000


def digest(path: Path) -> str:
    """Return the sha256 of a file."""
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()


def read_record(path: Path) -> dict[str, str]:
    """Return what a record says; one that is missing or no record says nothing."""
    try:
        about = path.lstat()
        if not stat.S_ISREG(about.st_mode) or about.st_size > _MOST_BYTES:
            return {}
        table = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError):
        return {}
    rows = table.items() if isinstance(table, dict) else ()
    return {name: value for name, value in rows if plain(name) and isinstance(value, str)}


def record_text(record: Mapping[str, str]) -> str:
    """Return a record as text."""
    return json.dumps(dict(sorted(record.items())), indent=1) + "\n"


def plain(name: str) -> bool:
    """Whether a name is that of a file in the folder itself, and no way out of it."""
    return name not in ("", ".", "..") and not any(sign in name for sign in "/\\:\0")


def kept_name(folder: Path, name: str, content: str) -> tuple[Path, bool]:
    """Return where an edited file is kept, and whether it is there already.

    Args:
        folder: Where the file is.
        name: Its name.
        content: Its sha256; the same state is kept once.
    """
    number, path = 1, folder / f"{name}.kept"
    while path.is_symlink() or path.exists():
        if path.is_file() and digest(path) == content:
            return path, True
        number += 1
        path = folder / f"{name}.kept-{number}"
    return path, False


def kept_words(name: str, kept: str) -> str:
    """Return the remark on a file that was kept."""
    return f"{name} was not as it was last written here; what was in it is kept as {kept}"
