"""One thing that was looked at, and what came out: a sentence for the maker, with a stable code and a place."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from blankwright.base.errors import GeometryError

Place = tuple[float, float]

Level = Literal["ok", "warning", "error"]

LEVELS: tuple[Level, ...] = ("ok", "warning", "error")

_CODE = re.compile(r"[A-Z][A-Z0-9]*(-[A-Z0-9]+)*")


@dataclass(frozen=True)
class Finding:
    """One thing that was looked at, and what came out.

    Args:
        code: Stable upper-case word with hyphens, such as "CONTOUR-CLOSED"; see CODES.
        level: "ok", "warning" (the maker decides) or "error" (do not cut).
        message: Plain sentence for the maker, with the numbers.
        at_mm: Place x, y in the drawing [mm], or None when it concerns the whole.

    Raises:
        GeometryError: A malformed code, an unknown level, an empty message or a place that is not finite.
    """

    code: str
    level: Level
    message: str
    at_mm: tuple[float, float] | None

    def __post_init__(self) -> None:
        if not _CODE.fullmatch(self.code):
            raise GeometryError(f"finding code '{self.code}' is not upper-case words with hyphens")
        if self.level not in LEVELS:
            raise GeometryError(f"finding level '{self.level}' is not one of {', '.join(LEVELS)}")
        if not self.message.strip():
            raise GeometryError(f"finding {self.code} says nothing")
        if self.at_mm is not None and not all(math.isfinite(v) for v in self.at_mm):
            raise GeometryError(f"finding {self.code} has a place that is not finite")


def finding(code: str, message: str, at: Iterable[float] | None = None, level: Level = "error") -> Finding:
    """Return a finding; the place may be any pair of numbers [mm]."""
    place = None if at is None else tuple(float(v) for v in at)
    return Finding(code, level, message, None if place is None else (place[0], place[1]))
