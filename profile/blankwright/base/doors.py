"""What a script hands in, checked where it enters: the words of a wrong request instead of a fault from within."""

from __future__ import annotations

import math
import operator
import os
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any, TypeVar

from blankwright.base.errors import RequestError, told

T = TypeVar("T")


def a_table(value: object, where: str) -> dict[str, Any]:
    """Return a table of values by name; None is an empty one.

    Raises:
        RequestError: It is none, or a name is no text.
    """
    if value is None:
        return {}
    if not isinstance(value, Mapping) or not all(isinstance(key, str) for key in value):
        raise RequestError(f'{where}: expected values by name, such as {{"pins.count": 3}}, got {told(value)}.')
    return dict(value)


def some_words(value: object, where: str) -> tuple[str, ...]:
    """Return a list of words; a single word is one of them.

    Raises:
        RequestError: It is no list, or something in it is no text.
    """
    if isinstance(value, str):
        return (value,)
    if not isinstance(value, (Sequence, set, frozenset)) or not all(isinstance(word, str) for word in value):
        raise RequestError(f"{where}: expected a list of words, got {told(value)}.")
    return tuple(value)


def a_number(value: object, where: str, least: float = -math.inf, greatest: float = math.inf) -> float:
    """Return a finite number.

    Args:
        value: The number; one of numpy is one.
        where: What it is, with its unit, for the message.
        least: The smallest it may be.
        greatest: The largest it may be.

    Raises:
        RequestError: It is none (True and False are none), or out of its range.
    """
    number = math.nan
    if hasattr(value, "__float__") and type(value).__name__ not in ("bool", "bool_"):  # numpy's has either name
        try:
            number = float(value)
        except (TypeError, ValueError, OverflowError):  # an array of several, or hundreds of digits
            number = math.nan
    if not math.isfinite(number) or not least <= number <= greatest:
        ends = f" {least:g} to {greatest:g}" if math.isfinite(least + greatest) else ""
        raise RequestError(f"{where}: expected a number{ends}, got {told(value)}.")
    return number


def a_whole_number(value: object, where: str, least: int, greatest: int) -> int:
    """Return a whole number; one of numpy is one, 2.0 is none.

    Raises:
        RequestError: It is none, or out of its range.
    """
    if isinstance(value, bool) or not hasattr(value, "__index__") or not least <= operator.index(value) <= greatest:
        raise RequestError(f"{where}: expected a whole number {least} to {greatest}, got {told(value)}.")
    return operator.index(value)


def a_path(value: object, where: str) -> Path:
    """Return a path.

    Raises:
        RequestError: It is no text and no path, or holds a zero byte, which no system takes.
    """
    text = os.fspath(value) if isinstance(value, (str, os.PathLike)) else None
    if not isinstance(text, str) or "\0" in text:
        raise RequestError(f"{where}: expected a path, got {told(value)}.")
    return Path(text)


def many(value: Iterable[T], where: str) -> Iterable[T]:
    """Return what can be gone through, one after the other.

    Raises:
        RequestError: It cannot, or it is a text.
    """
    if isinstance(value, (str, bytes)) or not isinstance(value, Iterable):
        raise RequestError(f"{where}: expected a list, got {told(value)}.")
    return value


def one_of(value: object, kind: type[T], where: str) -> T:
    """Return a value of a kind.

    Raises:
        RequestError: It is of another.
    """
    if not isinstance(value, kind):
        raise RequestError(f"{where}: expected a {kind.__name__}, got {told(value)}.")
    return value
