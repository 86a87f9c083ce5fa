"""The same knife with one thing changed, and the largest of it that a piece holds."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from math import floor

from blankwright.base.errors import BlankwrightError, unknown
from blankwright.base.frozen import dataclass
from blankwright.design.request import OVERALL_KEY, Design
from blankwright.geometry.pose import Pose
from blankwright.knife.knife import finish
from blankwright.stock.bench import Search, plate_of
from blankwright.stock.judge import judged
from blankwright.stock.piece import Piece
from blankwright.stock.place import Placed, Wish, allowed_of, place_on
from blankwright.stock.search import settled
from blankwright.stock.wanted import Wanted

STEP_MM = 0.1
"""The largest value is told to this: what a hand can file, and less than a family's own arcs and rules ask."""


@dataclass(frozen=True)
class Turned:
    """A length of the design that may be changed.

    Args:
        key: Its key in the design file.
        now_mm: Where it stands [mm].
        least_mm: The smallest that the family allows [mm].
        greatest_mm: The largest [mm].
    """

    key: str
    now_mm: float
    least_mm: float
    greatest_mm: float


def lengths_of(wanted: Wanted) -> list[Turned]:
    """Return the lengths of a design's outline that may be changed."""
    knife = wanted.knife
    return [
        Turned(d.key, knife.shape.values_mm[d.name], d.least_mm, d.greatest_mm)
        for d in knife.design.family.offered(knife.construction)
    ]


def length_named(wanted: Wanted, key: str) -> Turned:
    """Return the length that a key names.

    Raises:
        RequestError: It is none of the outline.
    """
    known = {one.key: one for one in lengths_of(wanted)}
    if key == OVERALL_KEY:
        long = wanted.knife.finished.size_mm[0]
        return Turned(key, long, long / 2, long * 2)
    if key not in known:
        raise unknown("length", key, [*known, OVERALL_KEY], "--largest")
    return known[key]


def as_asked(settings: Mapping[str, str]) -> str:
    """Return changes as a command line asks for them."""
    return " ".join(f"--set {key}={value.replace(' ', '')}" for key, value in settings.items())


def changed(design: Design, settings: dict[str, object]) -> Wanted | None:
    """Return a design with something changed, finished; None where that is no knife."""
    try:
        wanted = Wanted(finish(with_lengths(design, settings)))
        _ = wanted.cut
    except BlankwrightError:
        return None
    return wanted


def with_lengths(design: Design, settings: dict[str, object]) -> Design:
    """Return a design with values changed by dotted key; a number is a length in mm.

    Raises:
        RequestError: A value cannot be.
    """
    return design.replace({key: f"{v:g} mm" if isinstance(v, float) else v for key, v in settings.items()})


def warmly(wanted: Wanted, piece: Piece, wish: Wish, first: Sequence[Pose]) -> Placed | None:
    """Return the best of some placings moved to where they have the most room near by; None where none is allowed."""
    allowed, why = allowed_of(wanted, piece, wish)
    search = Search(plate_of(piece, wanted), wanted)
    found = [settled(search, pose, allowed, steps=12) for pose in first if pose.flipped in allowed.flips]
    if not found:
        return None
    pose = max(found, key=lambda one: one.slack_mm).pose.rounded()
    return Placed(wanted, piece, pose, judged(wanted, piece, pose), why)


@dataclass(frozen=True)
class Largest:
    """The largest value that fits.

    Args:
        key: What was made larger or smaller.
        value_mm: Its value [mm]; None where even the smallest does not fit.
        placed: The knife with that value on its piece; with the smallest one where none fits.
        by_family: Whether the family's own range ended it.
    """

    key: str
    value_mm: float | None
    placed: Placed | None
    by_family: bool = False


def largest(wanted: Wanted, pieces: Sequence[Piece], wish: Wish, key: str) -> Largest:
    """Return the largest value of a length with which the knife fits on one of some pieces.

    Raises:
        RequestError: The key names no length of the outline, or as allowed_of.
    """
    length = length_named(wanted, key)
    found = [_largest_on(wanted, piece, wish, length) for piece in pieces]
    return max(found, key=lambda one: -1.0 if one.value_mm is None else one.value_mm)


def _largest_on(wanted: Wanted, piece: Piece, wish: Wish, length: Turned) -> Largest:
    """Narrow the value down near the best placing known; then look everywhere just beyond, until nothing is there."""
    design, first, last = wanted.knife.design, list[Pose](), down(length.greatest_mm)

    def near(value_mm: float) -> Placed | None:
        one = changed(design, {length.key: value_mm})
        placed = None if one is None else warmly(one, piece, wish, first)
        if placed is not None and placed.fits:
            first[:] = [placed.pose]
        return placed

    def anywhere(value_mm: float) -> Placed | None:
        one = changed(design, {length.key: value_mm})
        placed = None if one is None else place_on(one, piece, wish)
        if placed is not None:
            first[:] = [placed.pose]
        return placed

    found = _some_value(length, anywhere)
    if found is None:
        return Largest(length.key, None, anywhere(_up(length.least_mm)))
    while found[0] < last:
        top = near(last)
        if top is not None and top.fits:
            return Largest(length.key, last, top, by_family=True)
        found = narrowed(found, last, near)
        beyond = round(found[0] + STEP_MM, 6)
        more = anywhere(beyond) if beyond < last else None
        if more is None or not more.fits:
            break
        found = (beyond, more)
    return Largest(length.key, *found, by_family=found[0] >= last)


def _some_value(length: Turned, tried: Callable[[float], Placed | None]) -> tuple[float, Placed] | None:
    """Return a value that fits, looked for from where the design stands downward."""
    for share in (1.0, 0.7, 0.4, 0.0):
        value = down(length.least_mm + share * (min(length.now_mm, length.greatest_mm) - length.least_mm))
        value = max(value, _up(length.least_mm))
        placed = tried(value)
        if placed is not None and placed.fits:
            return value, placed
    return None


def narrowed(
    low: tuple[float, Placed], high_mm: float, tried: Callable[[float], Placed | None]
) -> tuple[float, Placed]:
    """Return the largest value that fits, to STEP_MM, and its placing.

    Args:
        low: A value that fits, and how.
        high_mm: A value that does not fit [mm].
        tried: Places the knife with a value.
    """
    (value, placed), short = low, None
    while high_mm - value > STEP_MM * 1.5:
        share = 0.5
        if short is not None:  # what is over and what is missing, taken as straight between
            share = min(max(placed.verdict.spare_mm / max(placed.verdict.spare_mm + short, 1e-9), 0.1), 0.9)
        middle = down(value + share * (high_mm - value))
        middle = min(max(middle, value + STEP_MM), high_mm - STEP_MM)
        now = tried(round(middle, 6))
        if now is not None and now.fits:
            value, placed = round(middle, 6), now
        else:
            high_mm, short = round(middle, 6), None if now is None else now.short_mm
    return value, placed


def down(value_mm: float) -> float:
    """Return the next value that is told at or below a length [mm]."""
    return round(floor(value_mm / STEP_MM + 1e-6) * STEP_MM, 6)


def _up(value_mm: float) -> float:
    return round(-floor(-value_mm / STEP_MM + 1e-6) * STEP_MM, 6)
