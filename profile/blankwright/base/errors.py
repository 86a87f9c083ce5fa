"""Every error a maker can meet, and the nearest-name hint they share.

A message says what is wrong, where (file, table, key), what is allowed, and what to do. The exit code
travels with the class so that no command has to decide it again: 1 when a design or a file fails a
check, 2 when the request itself is wrong.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Protocol, TypeVar

T = TypeVar("T")


class BlankwrightError(Exception):
    """Root of all errors raised on purpose; its text is meant to be read by a maker."""

    exit_code = 2


class RequestError(BlankwrightError):
    """The request is wrong: an unknown name, a bad value, a file that cannot be read or written."""

    exit_code = 2


class DesignError(RequestError):
    """The asked dimensions cannot all hold, or something does not fit. Says what would work."""


class FamilyError(DesignError):
    """The points of a family do not draw what the family says. Names file, dimension and both figures."""

    exit_code = 1


class Told(Protocol):
    """A report that can be had as data."""

    @property
    def data(self) -> dict[str, Any]:
        """The report as data."""


class ProofError(BlankwrightError):
    """A check of the design or of the written file is an error; nothing is left behind.

    Args:
        message: Which checks, and what to do.
        shown: The report of each part, with every finding and no file; empty where there is none.
    """

    exit_code = 1

    def __init__(self, message: str, shown: Sequence[Told] = ()) -> None:
        super().__init__(message)
        self.shown = tuple(shown)

    @property
    def reports(self) -> tuple[dict[str, Any], ...]:
        """The report of each part as data."""
        return tuple(one.data for one in self.shown)


class GeometryError(BlankwrightError):
    """An outline or a curve is not what the operation needs (open, crossing, empty)."""


class ToleranceNotMetError(GeometryError):
    """An approximation could not reach the asked tolerance.

    Args:
        message: What was tried.
        achieved_mm: The best error reached [mm].
    """

    def __init__(self, message: str, achieved_mm: float) -> None:
        super().__init__(message)
        self.achieved_mm = achieved_mm


def told(value: object) -> str:
    """Return a value for a message, as it would stand in a script, at most 60 characters of it.

    >>> told("a" * 100)[-6:], told(3.5)
    ('aaa...', '3.5')
    """
    try:
        text = repr(value)
    except (ValueError, RecursionError):  # thousands of digits, or nested without end
        text = f"{type(value).__name__} without end"
    return text if len(text) <= 60 else f"{text[:57]}..."


def nearest_name(name: str, allowed: Iterable[str]) -> str | None:
    """Return the allowed name closest to a misspelt one, or None when none is near.

    >>> nearest_name("heel_hight", ["length", "heel_height"])
    'heel_height'
    """
    found = difflib.get_close_matches(name[:60].lower(), list(allowed), n=1, cutoff=0.55)
    return found[0] if found else None


def nearest_names(name: str, allowed: Iterable[str], most: int = 3) -> list[str]:
    """Return the allowed names closest to another, the nearest first.

    >>> nearest_names("mapel", ["red-maple", "oak", "sugar-maple"], 2)
    ['red-maple', 'sugar-maple']
    """
    return difflib.get_close_matches(name[:60].lower(), sorted(allowed), n=most, cutoff=0.0)


def unknown(kind: str, name: str, allowed: Iterable[str], where: str = "", listed: str = "") -> RequestError:
    """Build the error for a name that is not in a list.

    Args:
        kind: What was named, such as "family" or "key".
        name: The name as given.
        allowed: The names that would do.
        where: File and table, when there is one.
        listed: Where a long list can be read, in a sentence; then only the nearest three are named.
    """
    names, place = sorted(allowed), f"{where}: " if where else ""
    near = nearest_names(name, names) if listed else [each for each in [nearest_name(name, names)] if each]
    hint = f" Did you mean {' or '.join(map(repr, near))}?" if near else ""
    return RequestError(f"{place}unknown {kind} '{name[:60]}'.{hint} {listed or 'Allowed: ' + ', '.join(names) + '.'}")


def named(kind: str, name: str, known: Mapping[str, T], where: str = "") -> T:
    """Return what has a name in a table.

    Raises:
        RequestError: Nothing has; the message is that of unknown.
    """
    if name not in known:
        raise unknown(kind, name, known, where)
    return known[name]
