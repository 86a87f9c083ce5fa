"""The values nearest to what was asked with which a knife fits, each solved anew and placed before it is told."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from blankwright.base.frozen import dataclass
from blankwright.base.said import Line, exact_mm, said
from blankwright.design.request import Design
from blankwright.stock.bench import Search, plate_of
from blankwright.stock.judge import judged
from blankwright.stock.never import never_fits
from blankwright.stock.place import Placed, Wish, placed_if_fits
from blankwright.stock.through import pose_through_like
from blankwright.stock.variants import STEP_MM, changed, down, narrowed, warmly
from blankwright.stock.wanted import Wanted

THICKNESS = "material.thickness"

_STEPS_BACK_MM = (0.0, 0.1, 0.3, 1.0, 3.0, 1000.0)
"""Where the whole search does not find what just fits near by, so much less is tried."""


@dataclass(frozen=True, eq=False)
class Offer:
    """A change with which the knife fits.

    Args:
        settings: Values by key, as --set takes them.
        words: The change in words.
        placed: The changed knife on the piece.
    """

    settings: dict[str, str]
    words: Line
    placed: Placed


@dataclass(frozen=True, eq=False)
class _Alike:
    """Lengths that become smaller alike, told by the one that can most.

    Args:
        design: The design.
        spans: The least value and what was asked, by key [mm].
    """

    design: Design
    spans: dict[str, tuple[float, float]]

    @property
    def span(self) -> tuple[float, float]:
        """The least value and what was asked of the length that tells of all [mm]."""
        return max(self.spans.values(), key=lambda span: span[1] - span[0])

    def sizes(self, value_mm: float) -> dict[str, object]:
        """Return the lengths where that one is so long, to STEP_MM [mm]."""
        least, now = self.span
        share = (value_mm - least) / (now - least)
        return {key: max(low, down(low + share * (high - low))) for key, (low, high) in self.spans.items()}

    def knife(self, value_mm: float) -> Wanted | None:
        """Return the knife where that one is so long; None where that is no knife."""
        return changed(self.design, self.sizes(value_mm))

    def smallest_mm(self) -> float:
        """Return the smallest value that makes a knife, to a millimetre [mm]: no blade is lower than its tang."""
        none, some = self.span
        if self.knife(none) is not None:
            return none
        while some - none > 1.0:
            middle = down((none + some) / 2)
            none, some = (none, middle) if self.knife(middle) is not None else (middle, some)
        return some


def nearest(
    placed: Placed, wish: Wish, spans: dict[str, tuple[float, float]], *, anywhere: bool
) -> tuple[float, Offer] | None:
    """Return the values nearest to what was asked that fit, to STEP_MM: that of the length that tells, and the offer.

    They are followed near the refused placing and near the last that fitted; the whole search proves what that finds,
    and where it finds more room elsewhere they are followed on from there.

    Args:
        placed: The knife that does not fit.
        wish: What was asked beside.
        spans: The least value and what was asked, by key [mm].
        anywhere: Whether the smallest is looked for everywhere where it does not fit near the refused placing.
    """
    alike, first = _Alike(placed.wanted.knife.design, spans), [placed]
    least, high = alike.span
    if high - least < 1e-6:
        return None
    least = alike.smallest_mm()
    smallest = alike.knife(least)
    if smallest is None or never_fits(smallest, placed.piece):
        return None

    def near(value: float) -> Placed | None:
        one = alike.knife(value)
        found = None if one is None else _followed(one, wish, first)
        if found is not None and found.fits:
            first[:] = [found]
        return found

    low, best = near(least), None
    if low is None or not low.fits:
        low = placed_if_fits(smallest, placed.piece, wish) if anywhere else None
        first[:] = [] if low is None else [low]
    while low is not None and low.fits:
        value, _ = narrowed((least, low), high, near)
        for off in _STEPS_BACK_MM if best is None else _STEPS_BACK_MM[:2]:
            tried = max(down(value - off), least)
            offer = proven(placed, wish, alike.sizes(tried))
            if offer is not None or tried <= least:
                break
            high = tried
        if offer is None:
            return best
        best, least = (tried, offer), down(tried + STEP_MM)
        first[:] = [offer.placed]
        low = near(least) if least < high else None
    return best


def _followed(wanted: Wanted, wish: Wish, last: Sequence[Placed]) -> Placed | None:
    """Return a knife where the last one lay or near by; about a hole of the piece where that was one of the knife's."""
    if not last:
        return None
    (one,) = last
    if any(limit.kind == "hole" for limit in one.verdict.limits):
        pose = pose_through_like(Search(plate_of(one.piece, wanted), wanted), one.wanted, one.pose)
        if pose is not None:
            return Placed(wanted, one.piece, pose.rounded(), judged(wanted, one.piece, pose.rounded()), one.why_sides)
    return warmly(wanted, one.piece, wish, [one.pose])


def proven(placed: Placed, wish: Wish, sizes: Mapping[str, object], words: Line | None = None) -> Offer | None:
    """Solve a change and place it as the maker's next run will; None where it does not fit after all."""
    settings = {key: f"{value:g} mm" if isinstance(value, float) else str(value) for key, value in sizes.items()}
    one = changed(placed.wanted.knife.design, dict(settings))
    again = None if one is None else placed_if_fits(one, placed.piece, wish)
    return None if again is None else Offer(settings, words or _words(sizes), again)


def _words(sizes: Mapping[str, object]) -> Line:
    """Return lengths in words."""
    words = " and ".join("a thickness of {}" if key == THICKNESS else f"{key} {{}}" for key in sizes)
    return said(words, *(exact_mm(mm) for mm in sizes.values() if isinstance(mm, float)))
