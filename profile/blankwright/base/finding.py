"""One thing that was looked at, and what came out: a sentence for the maker, with a stable code and a place.

The sentence is data, words and quantities, until it is printed: in mm for a script, in the reader's units otherwise.
What can come out wrong is a finding; what only tells is a figure.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from typing import Literal

from blankwright.base.arrays import Place
from blankwright.base.errors import GeometryError
from blankwright.base.frozen import dataclass
from blankwright.base.said import COMPUTED, Line

Level = Literal["ok", "warning", "error"]

LEVELS: tuple[Level, ...] = ("ok", "warning", "error")

_CODE = re.compile(r"[A-Z][A-Z0-9]*(-[A-Z0-9]+)*")


@dataclass(frozen=True)
class Finding:
    """One thing that was looked at, and what came out.

    Args:
        code: Stable upper-case word with hyphens, such as "CONTOUR-CLOSED"; see CODES.
        level: "ok", "warning" (the maker decides) or "error" (do not cut).
        line: Plain sentence for the maker, its numbers as quantities.
        at_mm: Place x, y in the drawing [mm], or None when it concerns the whole.

    Raises:
        GeometryError: A malformed code, an unknown level, an empty message or a place that is not finite.
    """

    code: str
    level: Level
    line: Line
    at_mm: Place | None

    def __post_init__(self) -> None:
        _check(self)
        if self.level not in LEVELS:
            raise GeometryError(f"finding level '{self.level}' is not one of {', '.join(LEVELS)}")

    @property
    def message(self) -> str:
        """The sentence in mm, as scripts read it."""
        return self.line.text()

    def text(self, units: str) -> str:
        """Return the sentence in the reader's units."""
        return self.line.text(units)


@dataclass(frozen=True)
class Figure:
    """Something worth knowing of a design that cannot be wrong, such as how far the edge is straight.

    Args:
        code: Stable upper-case word with hyphens, such as "EDGE-FLAT".
        line: Plain sentence for the maker, its numbers as quantities.
        at_mm: Place x, y in the drawing [mm], or None when it concerns the whole.

    Raises:
        GeometryError: A malformed code, an empty sentence or a place that is not finite.
    """

    code: str
    line: Line
    at_mm: Place | None = None

    def __post_init__(self) -> None:
        _check(self)


def _check(one: Finding | Figure) -> None:
    if not _CODE.fullmatch(one.code):
        raise GeometryError(f"finding code '{one.code}' is not upper-case words with hyphens")
    if not one.line.words.strip():
        raise GeometryError(f"finding {one.code} says nothing")
    if one.at_mm is not None and not all(math.isfinite(v) for v in one.at_mm):
        raise GeometryError(f"finding {one.code} has a place that is not finite")


def finding(code: str, told: Line | str, at: Iterable[float] | None = None, level: Level = "error") -> Finding:
    """Return a finding.

    Args:
        code: Its code.
        told: The sentence; a plain text, which holds no length, is taken as it is.
        at: Its place, any pair of numbers [mm].
        level: What came out.
    """
    place = None if at is None else tuple(float(v) for v in at)
    line = told if isinstance(told, Line) else Line("{}", (told,), COMPUTED) if told.strip() else Line(told)
    return Finding(code, level, line, None if place is None else (place[0], place[1]))
