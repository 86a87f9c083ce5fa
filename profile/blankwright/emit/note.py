"""The cover note that goes with a cutting file: plain text, ASCII where the words allow, nothing to be guessed."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from dataclasses import dataclass

_WIDE, _KEY = 88, 12


@dataclass(frozen=True)
class NoteRow:
    """One line of the note: what it is about, and what is said."""

    about: str
    words: str


def note_text(title: str, rows: Sequence[NoteRow], closing: str) -> str:
    """Return the cover note.

    Args:
        title: Name of the part and its design code.
        rows: What is said, in order; a row without "about" goes on under the one before.
        closing: The usual cautions, and what is not promised.
    """
    lines = [title, "=" * min(len(title), _WIDE), ""]
    for row in rows:
        head = f"{row.about:<{_KEY}}"
        lines += textwrap.wrap(row.words, _WIDE, initial_indent=head, subsequent_indent=" " * _KEY) or [head.rstrip()]
    lines += ["", *textwrap.wrap(closing, _WIDE)]
    return "\n".join(lines) + "\n"
