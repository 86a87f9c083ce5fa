"""What is not saved yet, kept in a hidden file beside the designs: closing browser or server loses nothing."""

from __future__ import annotations

import hashlib
import json
from pathlib import Path

from blankwright.base.errors import RequestError
from blankwright.base.frozen import dataclass
from blankwright.base.onefile import write_over
from blankwright.base.reading import is_plain_file, read_text
from blankwright.page.history import History

ENDING = ".unsaved.json"
UNNAMED = "~"
"""Before the name of a design that is no file yet."""

_FORMAT = 1
_MOST_BYTES = 20_000_000


def digest(text: str) -> str:
    """Return what tells a text from others."""
    return hashlib.sha256(text.encode("utf-8")).hexdigest()


def draft_path(name: str) -> Path:
    """Return where what is not saved of a design is kept: beside it, hidden.

    Args:
        name: The design file, relative to the started folder; or a name with UNNAMED before it.
    """
    path = Path(name.removeprefix(UNNAMED))
    return path.parent / f".{path.name}{ENDING}"


@dataclass(frozen=True)
class Draft:
    """A design that was not saved.

    Args:
        history: Its text and steps.
        base: Digest of the file that it began from; empty where it was no file.
    """

    history: History
    base: str


def keep(name: str, draft: Draft) -> None:
    """Write a draft, whole or not at all.

    Raises:
        RequestError: It cannot be written.
    """
    text = draft.history.as_json(format=_FORMAT, base=draft.base)
    write_over(draft_path(name), text + "\n", new_folder=False)


def kept(name: str) -> Draft | None:
    """Return the draft of a design; None without one, or where it is not whole: then the file stands.

    Args:
        name: As for draft_path.
    """
    path = draft_path(name)
    if not is_plain_file(path) or path.is_symlink():
        return None
    try:
        table = json.loads(read_text(path, _MOST_BYTES, "a draft"))
        if not isinstance(table, dict) or table.get("format") != _FORMAT or not isinstance(table.get("base"), str):
            return None
        return Draft(History.from_table(table), table["base"])
    except (RequestError, ValueError, RecursionError):
        return None


def drop(name: str) -> None:
    """Remove a draft: it is saved."""
    draft_path(name).unlink(missing_ok=True)


def unnamed(root: Path) -> list[str]:
    """Return the names of drafts that are no file yet, with UNNAMED before them."""
    found = [path.name[1 : -len(ENDING)] for path in sorted(root.glob(f".*{ENDING}"))]
    return [UNNAMED + name for name in found if not name.endswith(".toml")]
