"""The cover note that goes with a cutting file: plain ASCII text, nothing to be guessed."""

from __future__ import annotations

import textwrap
import unicodedata
from collections.abc import Sequence

from blankwright.base.frozen import dataclass

_WIDE, _KEY = 80, 12


@dataclass(frozen=True)
class NoteRow:
    """One line of the note: what it is about, and what is said; runs of blanks in it keep columns in line."""

    about: str
    words: str


@dataclass(frozen=True)
class Note:
    """A note as it is written.

    Args:
        title: What stands above it.
        rows: What is said.
        closing: The usual cautions.
    """

    title: str
    rows: tuple[NoteRow, ...]
    closing: str

    @property
    def text(self) -> str:
        """The note as plain text."""
        return note_text(self.title, self.rows, self.closing)


def note_text(title: str, rows: Sequence[NoteRow], closing: str) -> str:
    """Return the cover note.

    Args:
        title: Name of the part and its design code.
        rows: What is said, in order; a row without "about" goes on under the one before.
        closing: The usual cautions, and what is not promised.
    """
    heading = textwrap.wrap(_plain(title), _WIDE)
    lines = [*heading, "=" * max(map(len, heading), default=0), ""]
    for row in rows:
        head = f"{row.about:<{_KEY}}"
        lines += textwrap.wrap(_plain(row.words), _WIDE, initial_indent=head, subsequent_indent=" " * _KEY) or [
            head.rstrip()
        ]
    lines += ["", *textwrap.wrap(_plain(closing), _WIDE)]
    return "\n".join(lines) + "\n"


def _plain(text: str) -> str:
    """Return a text in ASCII: accents left off, other letters as question marks, whatever a shop opens it with."""
    kept = unicodedata.normalize("NFKD", text.replace("ß", "ss"))
    return "".join(c for c in kept if not unicodedata.combining(c)).encode("ascii", "replace").decode("ascii")
