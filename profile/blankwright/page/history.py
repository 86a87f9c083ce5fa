"""The text of a design through all its changes: undo and redo without end, each step kept as what differs."""

from __future__ import annotations

import json
import zlib
from base64 import b64decode, b64encode

from blankwright.base.errors import RequestError
from blankwright.base.frozen import dataclass

_PACK = 200
"""Steps that are put into one pack when twice as many lie open: 5,000 of a hand that drags are some 30 kB."""

_MOST_PACK = 100_000_000


@dataclass(frozen=True)
class Step:
    """One change of the text.

    Args:
        words: What was changed, for the button that undoes it.
        at: Where the texts begin to differ [characters].
        old: What stood there.
        new: What stands there now.
    """

    words: str
    at: int
    old: str
    new: str

    def done(self, text: str) -> str:
        """Return the text with the change."""
        return self._swapped(text, self.old, self.new)

    def undone(self, text: str) -> str:
        """Return the text without the change."""
        return self._swapped(text, self.new, self.old)

    def _swapped(self, text: str, there: str, then: str) -> str:
        end = self.at + len(there)
        if text[self.at : end] != there:
            raise RequestError("the kept steps do not belong to this text.")
        return text[: self.at] + then + text[end:]


def step(words: str, before: str, after: str) -> Step:
    """Return the change from one text to another."""
    at, most = 0, min(len(before), len(after))
    while at < most and before[at] == after[at]:
        at += 1
    end = 0
    while end < most - at and before[-1 - end] == after[-1 - end]:
        end += 1
    return Step(words, at, before[at : len(before) - end], after[at : len(after) - end])


class History:
    """A text and the steps that led to it, the old ones in packs, as a draft holds them.

    Args:
        text: The text to begin with.
    """

    def __init__(self, text: str) -> None:
        self.text = text
        self._packs: list[str] = []
        self._lines: list[str] = []
        self._here = 0

    @property
    def undo_words(self) -> str | None:
        """What undo would undo; None for nothing."""
        return self._step(self._here - 1).words if self._here else None

    @property
    def redo_words(self) -> str | None:
        """What redo would do again; None for nothing."""
        return self._step(self._here).words if self._here < self._end else None

    @property
    def count(self) -> int:
        """How many steps can be undone."""
        return self._here

    @property
    def _end(self) -> int:
        return self._opened + len(self._lines)

    @property
    def _opened(self) -> int:
        """How many steps lie in packs."""
        return _PACK * len(self._packs)

    def _step(self, index: int) -> Step:
        if index >= self._opened:
            return _read_step(json.loads(self._lines[index - self._opened]))
        return _read_step(json.loads(_unpacked(self._packs[index // _PACK])[index % _PACK]))

    def _add(self, line: str) -> None:
        """Put a step after those that were done; what was undone is gone."""
        while self._here < self._opened:
            self._lines = _unpacked(self._packs.pop())
        self._lines[self._here - self._opened :] = [line]
        self._here += 1
        if len(self._lines) >= 2 * _PACK:
            self._packs.append(_packed(self._lines[:_PACK]))
            self._lines = self._lines[_PACK:]

    def change(self, words: str, text: str) -> None:
        """Take a new text as one step; what was undone before is gone. The same text is no step."""
        if text == self.text:
            return
        self._add(_line(step(words, self.text, text)))
        self.text = text

    def undo(self) -> bool:
        """Undo a step; False when there is none."""
        if not self._here:
            return False
        self.text = self._step(self._here - 1).undone(self.text)
        self._here -= 1
        return True

    def redo(self) -> bool:
        """Do again what was undone; False when there is nothing."""
        if self._here == self._end:
            return False
        self.text = self._step(self._here).done(self.text)
        self._here += 1
        return True

    def as_json(self, **beside: str | int) -> str:
        """Return text and steps as a JSON object, with what stands beside them."""
        head = json.dumps({**beside, "text": self.text, "here": self._here})
        return f'{head[:-1]}, "steps": [{",".join([*map(json.dumps, self._packs), *self._lines])}]}}'

    @classmethod
    def from_table(cls, table: object) -> History:
        """Return what as_json gave, read.

        Raises:
            RequestError: It is nothing that as_json gave, or its steps do not lead to its text.
        """
        if not isinstance(table, dict) or not isinstance(table.get("text"), str):
            raise RequestError("holds no text of a design.")
        found, rows, here = cls(table["text"]), table.get("steps"), table.get("here")
        steps = [one for row in rows for one in _read_steps(row)] if isinstance(rows, list) else []
        if not isinstance(here, int) or not 0 <= here <= len(steps):
            raise RequestError("its steps are not whole.")
        text = found.text
        for one in reversed(steps[:here]):
            text = one.undone(text)
        for one in steps:
            text = one.done(text)
        for one in steps:
            found._add(_line(one))
        found._here = here
        return found


def _line(one: Step) -> str:
    return json.dumps([one.words, one.at, one.old, one.new], separators=(",", ":"))


def _packed(lines: list[str]) -> str:
    return b64encode(zlib.compress("\n".join(lines).encode("utf-8"))).decode("ascii")


def _unpacked(pack: str) -> list[str]:
    return zlib.decompressobj().decompress(b64decode(pack), _MOST_PACK).decode("utf-8").split("\n")


def _read_steps(row: object) -> list[Step]:
    """Read a step, or a pack of them.

    Raises:
        RequestError: It is neither.
    """
    if not isinstance(row, str):
        return [_read_step(row)]
    try:
        return [_read_step(json.loads(line)) for line in _unpacked(row)]
    except (ValueError, RecursionError, zlib.error):
        raise RequestError("its steps are not whole.") from None


def _read_step(row: object) -> Step:
    match row:
        case [str(words), int(at), str(old), str(new)] if at >= 0:
            return Step(words, at, old, new)
    raise RequestError("its steps are not whole.")
