"""Reading what somebody names: plain files only, of a limited size, and text files whose nesting is limited."""

from __future__ import annotations

import re
import stat
import tomllib
from pathlib import Path
from typing import Any

from blankwright.base.errors import RequestError
from blankwright.base.plain import plain_value

MAX_BYTES = 200_000
"""A design or family file is a few kilobytes; anything larger is not one."""

_MOST_PARTS = 6
_DEEP = re.compile(rf"(?:\.[ \t]*[A-Za-z0-9_\"'-]+[ \t]*){{{_MOST_PARTS}}}")
_QUOTED = re.compile(r"\"(?:[^\"\\]|\\.)*+(?:\"|$)|'[^']*+(?:'|$)")
"""A text on one line; one that does not end takes the rest of the line, so that this is one pass."""
_SIGNS = ("\\", '"""', "'''", "0x", "0o", "0b")
_LONG = re.compile(r"[0-9_]{19}")
_UNSEEN = re.compile(r"[^\n -~\u00a1-\u00ac\u00ae-\u0600\u2010-\u2027\u2030-\u205f\u2070-\ud7ff]")


def is_plain_file(path: Path) -> bool:
    """Whether a path is a plain file, or a link to one; what cannot even be asked for is none."""
    try:
        return stat.S_ISREG(path.stat().st_mode)
    except (OSError, ValueError):
        return False


def why_no_file(path: Path, what: str) -> str:
    """Return in words why a path is no plain file.

    Args:
        path: The path.
        what: What it should be, such as "design file".
    """
    try:
        mode = path.stat().st_mode
    except (OSError, ValueError):
        return f"there is no such {what}"
    return f"a folder, not a {what}" if stat.S_ISDIR(mode) else f"no plain file; save what it gives as a {what}"


def read_limited(path: Path, most_bytes: int, what: str) -> bytes:
    """Return the bytes of a plain file.

    Args:
        path: The file.
        most_bytes: A larger file is refused unread.
        what: What it should be, for the message, such as "a design or family file".

    Raises:
        RequestError: Missing, unreadable, larger, or a folder, a pipe or a device, which might be read for ever.
    """
    try:
        mode = path.stat().st_mode
        if stat.S_ISDIR(mode):
            raise RequestError(f"{path}: is a folder. Name a file in it.")
        if not stat.S_ISREG(mode):
            raise RequestError(f"{path}: is no plain file. Save what it gives, and name that file.")
        with path.open("rb") as stream:
            data = stream.read(most_bytes + 1)
    except OSError as error:
        raise RequestError(f"{str(path)[:200]}: cannot be read ({error.strerror or error}).") from None
    if len(data) > most_bytes:
        raise RequestError(f"{path}: larger than {most_bytes // 1000} kB; this is not {what}.")
    return data


def read_text(path: Path, most_bytes: int, what: str) -> str:
    """Return the text of a plain file in UTF-8; arguments and errors are those of read_limited, or it is no text."""
    try:
        return read_limited(path, most_bytes, what).decode("utf-8-sig")
    except UnicodeDecodeError:
        raise RequestError(f"{path}: not a text file in UTF-8.") from None


def parse_toml(text: str, where: str) -> dict[str, Any]:
    """Return the tables of a TOML text.

    Args:
        text: The text.
        where: The file, for messages.

    Raises:
        RequestError: A key has too many parts, it is no TOML (with the line), or a value is one
            that plain_value refuses.
    """
    for number, line in enumerate(text.split("\n"), start=1):
        if line.count(".") >= _MOST_PARTS and _DEEP.search(_QUOTED.sub('""', line)):
            raise RequestError(f"{where} line {number}: a key has at most {_MOST_PARTS} parts with dots between them.")
    try:
        table = tomllib.loads(text)
    except RecursionError:
        raise RequestError(f"{where}: not valid TOML: its lists or tables are nested without end.") from None
    except ValueError as error:
        raise RequestError(f"{where}: not valid TOML: {error}") from None
    return plain_value(table, where) if _is_suspect(text) else table


def _is_suspect(text: str) -> bool:
    """Whether a text may become something that plain_value refuses; most hold nothing of it and are not walked."""
    return any(sign in text for sign in _SIGNS) or bool(_LONG.search(text) or _UNSEEN.search(text))
