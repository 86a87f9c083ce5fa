"""How a controller wants its program: one text file each, general ones shipped, none of a real controller."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Annotated, Literal

from blankwright.base.fields import Fields, read_toml
from blankwright.base.frozen import dataclass
from blankwright.base.library import shipped_names, template_file
from blankwright.base.readrows import In, TableRow, need, read_row
from blankwright.base.said import Status

_WORDS = re.compile(r"[A-Z][0-9]+(\.[0-9]+)?( [A-Z][0-9]+(\.[0-9]+)?)*")
_WAIT = re.compile(r"[A-Z][0-9]+(\.[0-9]+)? [A-Z]")


@dataclass(frozen=True)
class Dialect(TableRow):
    """How a controller wants its program.

    Args:
        format: 1.
        name: Name in a service file.
        title: The name in words.
        begin: Words of the first line, before the unit.
        mm: Word for millimetres.
        inch: Word for inches.
        arc_centres: Where the centre of an arc is counted from.
        arc_word: Word that sets this, empty where a controller knows one way only.
        on: Words that start the cutter.
        off: Words that stop it.
        wait: Words of a wait, followed by the time.
        wait_unit: Unit of that time.
        end: Word at the end.
        comments: How a comment is written.
        source: Where this comes from.
        status: How far it can be trusted.
    """

    format: Annotated[int, In(1, 1)]
    name: str
    title: str
    begin: str
    mm: str
    inch: str
    arc_centres: Literal["from the start of the arc", "from zero"]
    on: str
    off: str
    wait: str
    wait_unit: Literal["s", "ms"]
    end: str
    comments: Literal["brackets", "semicolon", "none"]
    source: str
    status: Status
    arc_word: str = ""

    def check(self) -> None:
        """Refuse words that are no words."""
        for key in ("begin", "mm", "inch", "on", "off", "end"):
            text = getattr(self, key)
            need(_WORDS.fullmatch(text) is not None, f"{key}: capital letters with numbers, such as M3, got '{text}'.")
        good = not self.arc_word or _WORDS.fullmatch(self.arc_word) is not None
        need(good, f"arc_word: a word such as G91.1 or nothing, got '{self.arc_word}'.")
        need(_WAIT.fullmatch(self.wait) is not None, f"wait: a word and a letter, such as G4 P, got '{self.wait}'.")

    @property
    def words(self) -> str:
        """Its words in one line."""
        arcs = f"centres {self.arc_centres}{f' ({self.arc_word})' if self.arc_word else ''}"
        return f"{self.begin}; {self.on} on, {self.off} off, {self.end} end; {arcs}; {self.wait} in {self.wait_unit}"

    @property
    def from_zero(self) -> bool:
        """Whether centres of arcs are counted from the zero point."""
        return self.arc_centres == "from zero"


def dialect_names() -> list[str]:
    """Return the names of the shipped dialects."""
    return shipped_names("dialects")


def dialect(source: str, beside: Path | None = None) -> Dialect:
    """Read a dialect by name or file.

    Args:
        source: A shipped name, or a file ending in .toml.
        beside: Folder that a relative path is looked up in first.

    Raises:
        RequestError: No such dialect, or something in its file is wrong.
    """
    path = template_file("dialect", source, "[table] dialect", beside)
    return read_row(Dialect, Fields(read_toml(path), path.name))
