"""Is a text one that can be shown and written anywhere? Asked once, where a name or a value enters."""

from __future__ import annotations

import hashlib
import json
import re
import unicodedata
from collections.abc import Iterator, Mapping
from typing import Any

from blankwright.base.errors import RequestError

_LAST_TWO = "".join(chr(plane << 16 | 0xFFFE) + chr(plane << 16 | 0xFFFF) for plane in range(17))
_UNFIT = re.compile(
    "[\x00-\x1f\x7f-\x9f"  # controls: a line break in a name would begin a line of its own in a note or a cutting file
    "\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069"  # marks of direction: they show a text in another order than it has
    "\u00ad\u200b\u2028\u2029\u2060-\u2065\u206a-\u206f\ufeff\ufff9-\ufffb\U000e0000-\U000e007f"  # not to be seen
    f"\ud800-\udfff\ufdd0-\ufdef{_LAST_TWO}]"  # no characters: XML and UTF-8 know none of them
)

RESERVED = frozenset({"con", "prn", "aux", "nul", *(f"{p}{i}" for p in ("com", "lpt") for i in range(10))})
"""Names that one operating system keeps for its devices, whatever stands behind a dot."""

MOST_WHOLE = 2**63 - 1
"""The largest whole number of a text file (TOML 1.0, "Integer": 64 bits)."""


def plain_text(text: str, where: str) -> str:
    """Return a text as it is.

    Args:
        text: The text.
        where: File, table and key, or option, for the message.

    Raises:
        RequestError: It holds a character that cannot be shown: a control, a line break, a mark of direction, or what
            is no character at all.

    >>> plain_text("Ägäis 刃", "name")
    'Ägäis 刃'
    """
    found = _UNFIT.search(text)
    if found is None:
        return text
    sign = found[0]
    if "\ud800" <= sign <= "\udfff":
        raise RequestError(f"{where}: is not text in UTF-8. Rename it with plain letters.")
    if sign in "\n\r":
        raise RequestError(f"{where}: holds a line break. Write it on one line.")
    name = unicodedata.name(sign, "a control character" if sign < "\xa0" else "no character").lower()
    raise RequestError(f"{where}: holds a character that cannot be shown (U+{ord(sign):04X}, {name}). Leave it out.")


def plain_value(value: Any, where: str) -> Any:
    """Return a value as it is; every text in it is plain, and no whole number is longer than a text file's.

    Args:
        value: A value of a text file or of a script: a text, a number, or a table or list of them.
        where: File, or option, for the message.

    Raises:
        RequestError: As plain_text; or a whole number is longer.
    """
    for place, one in _walked(value, where):
        if isinstance(one, str):
            plain_text(one, place)
        elif isinstance(one, int) and abs(one) > MOST_WHOLE:
            raise RequestError(f"{place}: a whole number of {one.bit_length() * 3 // 10 + 1} digits is beyond any use.")
    return value


def _walked(value: Any, where: str) -> Iterator[tuple[str, Any]]:
    waiting = [(where, value)]
    while waiting:
        place, one = waiting.pop()
        if isinstance(one, Mapping):
            for key, inner in one.items():
                yield f"{where} a key", key
                waiting.append((f"{place} {str(key)[:60]}", inner))
        elif isinstance(one, (list, tuple)):
            waiting += [(place, inner) for inner in one]
        else:
            yield place, one


def quoted(text: str) -> str:
    """Return a plain text as TOML writes it: JSON's way is TOML's too where there are no control characters.

    >>> quoted("Bûche")
    '"Bûche"'
    """
    return json.dumps(text, ensure_ascii=False)


def slug_of(name: str) -> str:
    """Return a name in lower case with hyphens, safe as a file name.

    >>> slug_of("Käse & Brot")
    'kase-brot'
    """
    plain = unicodedata.normalize("NFKD", name).lower().replace("ß", "ss")
    kept = "".join(c for c in plain if not unicodedata.combining(c))
    slug = re.sub(r"[^a-z0-9]+", "-", kept).strip("-")
    if any(c.isalnum() and not c.isascii() for c in kept):  # letters were lost: two names must not become one
        slug = f"{slug or 'knife'}-{hashlib.sha256(name.encode()).hexdigest()[:6]}"
    return f"{slug}-knife" if slug in RESERVED else slug or "knife"
