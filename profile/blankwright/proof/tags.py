"""The tags of a DXF file: pairs of lines, a group code and a value, gathered into records.

A record is everything from one code 0 to the next (DXF reference, "Group codes in numerical order"). Every
number is checked where it is read; the file may come from anywhere.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import count, zip_longest

from blankwright.base.errors import ProofError

MAX_LINES = 4_000_000
MAX_COORDINATE = 1e9
"""Limits on a file from anywhere; a knife with its notes needs a thousandth of them."""

_CODE = re.compile(r"\s*(-?[0-9]{1,4})\s*")
_INTEGER = re.compile(r"\s*([+-]?[0-9]{1,10})\s*")


@dataclass
class Record:
    """All tags from one code 0 to the next."""

    file: str
    kind: str
    line: int
    tags: list[tuple[int, str, int]]  # code, value, line of the value
    padded: bool = False  # whether blanks stand around the kind in the file

    def fail(self, text: str, line: int | None = None) -> ProofError:
        """Return the error for a fault in this record."""
        return ProofError(f"{self.file}, line {line or self.line}: {text}")

    def find(self, code: int) -> tuple[str, int] | None:
        """Return the first value of a group code and its line, or None."""
        for found, value, line in self.tags:
            if found == code:
                return value, line
        return None

    def text(self, code: int, default: str) -> str:
        """Return the first value of a group code as text."""
        hit = self.find(code)
        return default if hit is None else hit[0].strip()

    def number(self, code: int, value: str, line: int) -> float:
        """Read a value as a finite number."""
        text = value.strip()
        try:
            number = float(text) if text.isascii() and "_" not in text and len(text) <= 64 else math.nan
        except ValueError:
            number = math.nan
        if not math.isfinite(number):
            raise self.fail(f"{self.kind} needs a number for group code {code}, found {value[:40]!r}.", line)
        return number

    def coordinate(self, code: int, value: str, line: int) -> float:
        """Read a value as a coordinate within MAX_COORDINATE."""
        number = self.number(code, value, line)
        if abs(number) > MAX_COORDINATE:
            raise self.fail(f"{self.kind}: {value.strip()[:40]} is larger than anything to be cut.", line)
        return number

    def length(self, code: int, default: float | None) -> float:
        """Return the first value of a group code as a length; without a default it must be there."""
        hit = self.find(code)
        if hit is None and default is None:
            raise self.fail(f"{self.kind} has no group code {code}; the file is incomplete.")
        return self.coordinate(code, *hit) if hit is not None else float(default or 0.0)

    def integer(self, code: int, default: int) -> int:
        """Return the first value of a group code as a whole number."""
        hit = self.find(code)
        if hit is None:
            return default
        match = _INTEGER.fullmatch(hit[0])
        if match is None:
            text = f"{self.kind} needs a whole number for group code {code}, found {hit[0][:40]!r}."
            raise self.fail(text, hit[1])
        return int(match[1])

    @property
    def layer(self) -> str:
        """The layer's name."""
        return self.text(8, "0")


def records(text: str, name: str) -> Iterator[Record]:
    """Split a file into records; the number of lines is bounded before anything is built."""
    text = text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n").rstrip("\n\x1a \t")
    if text.count("\n") > MAX_LINES:
        raise ProofError(f"{name}: more than {MAX_LINES} lines; no cutting file needs that.")
    lines = text.split("\n")
    record: Record | None = None
    known: dict[str, int] = {}  # a file has few codes, each written thousands of times
    for at, (code_line, value) in zip(count(1, 2), zip_longest(lines[::2], lines[1::2])):
        code = known.get(code_line)
        if code is None:
            code = known[code_line] = _code(code_line, name, at)
        if value is None:
            raise ProofError(f"{name}, line {at}: code {code_line.strip()} has no value; the file is cut short.")
        if code == 0:
            if record is not None:
                yield record
            tags: list[tuple[int, str, int]] = []
            kind = value.strip()
            record = Record(name, kind, at + 1, tags, padded=kind != value)
            add = tags.append
        elif record is not None:
            add((code, value, at + 1))
        elif code != 999:  # a comment
            raise ProofError(f"{name}, line {at}: a DXF file begins with group code 0, found {code}.")
    if record is not None:
        yield record


def _code(line: str, name: str, number: int) -> int:
    """Return the group code in a line."""
    match = _CODE.fullmatch(line)
    if match is None:
        text = f"expected a group code, found {line[:40]!r}. The file is damaged or no ASCII DXF."
        raise ProofError(f"{name}, line {number}: {text}")
    return int(match[1])


def header_variables(record: Record) -> dict[str, Record]:
    """Return the variables in a record of the header: each begins with its name, group code 9."""
    found: dict[str, Record] = {}
    variable: Record | None = None
    for code, value, line in record.tags:
        if code == 9:
            variable = Record(record.file, value.strip(), line, [])
            found[variable.kind] = variable
        elif variable is not None:
            variable.tags.append((code, value, line))
    return found
