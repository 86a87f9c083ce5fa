"""What would do where a knife does not fit: changes to the design, each solved anew and placed before it is told."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import ceil, floor

import numpy as np

from blankwright.base.frozen import dataclass
from blankwright.base.said import Line, exact_mm, said
from blankwright.design.keys import BY_KEY
from blankwright.shop.tables import processes
from blankwright.stock.bench import Search, plate_of
from blankwright.stock.never import never_fits, out_of_reach
from blankwright.stock.place import Placed, Wish, allowed_of, placed_if_fits, through_holes
from blankwright.stock.variants import Turned, changed, lengths_of, narrowed, warmly
from blankwright.stock.wanted import Wanted

MOST_OFFERS = 4
"""So many changes are told: those that change least first."""

ENOUGH_OFFERS = 2
"""With so many the lengths that change the knife less are not tried any more."""

LANYARD = "tang.lanyard_diameter"

_FIRST = ("blade.length", "handle.length", "blade.heel_height")
"""Lengths that make a knife shorter or lower as a whole; tried together where none does alone."""

_COARSE_MM, _FINE_MM = 0.5, 0.1

_WIDER_MM = 1.0
"""A lanyard hole that is so much wider than the piece's takes it away with some room to move."""


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


def offers(placed: Placed, wish: Wish) -> list[Offer]:
    """Return what would do, the least change first; each was solved anew and placed as the maker's next run will.

    Args:
        placed: A knife that does not fit, where it nearly does.
        wish: What was asked beside.
    """
    lacking = {limit.kind for limit in placed.verdict.lacking}
    thin = _thinner(placed, wish) if "thickness" in lacking else []
    if "thickness" in lacking and _thick_nowhere(placed):
        return thin
    if any(out_of_reach(placed.piece, zone, 0.0) for zone in placed.piece.kept):  # whatever the knife is
        return thin
    lengths = sorted(lengths_of(placed.wanted), key=lambda one: one.key not in _FIRST)
    found = [(0.0, offer) for offer in thin]
    for length in lengths:
        if length.key in _FIRST or len(found) < ENOUGH_OFFERS:
            found += _shorter(placed, wish, length)
    found += _otherwise_cut(placed, wish)
    found += _own_hole(placed, wish)
    if not found:
        found = _smaller(placed, wish)
    return [offer for _, offer in sorted(found, key=lambda pair: pair[0])[:MOST_OFFERS]]


def _thick_nowhere(placed: Placed) -> bool:
    """Whether the piece is too thin wherever the knife lies: then no other length of it helps."""
    need_mm = placed.wanted.thickness_mm(placed.wanted.cut.sampled(1.0)[0][:, 0])
    return max(mm for _, mm in placed.piece.thickness) < float(need_mm.max())


def _thinner(placed: Placed, wish: Wish) -> list[Offer]:
    """Offer the thickness that the piece has: where the knife lies, if that is all, else where it is thinnest."""
    wanted, piece = placed.wanted, placed.piece
    lost = 0.0 if wanted.knife.found is None else 2 * wanted.knife.found.loss.value
    here = [limit.least_mm for limit in placed.verdict.lacking if placed.thin_mm]
    for there in (*here, piece.least_thickness_mm, max(mm for _, mm in piece.thickness)):
        value = floor((there - lost) / _FINE_MM + 1e-6) * _FINE_MM
        offer = _proven(
            placed, wish, {"material.thickness": f"{value:g} mm"}, said("a thickness of {}", exact_mm(value))
        )
        if offer is not None:
            return [offer]
    return []


def _shorter(placed: Placed, wish: Wish, length: Turned) -> list[tuple[float, Offer]]:
    """Offer the largest smaller value of one length that fits, and how large a change it is."""
    design, piece = placed.wanted.knife.design, placed.piece
    if length.least_mm >= length.now_mm - _FINE_MM:
        return []
    least = changed(design, {length.key: length.least_mm})
    if least is None or never_fits(least, piece):
        return []
    near = _tracker(placed, wish, lambda mm: changed(design, {length.key: round(mm, 6)}))
    low = near(length.least_mm)
    if low is None or not low.fits:
        low = placed_if_fits(least, piece, wish) if length.key in _FIRST else None
    if low is None:
        return []
    value, _ = narrowed((length.least_mm, low), length.now_mm, near)
    for rounded in _rounded(value, length):
        settings = {length.key: f"{rounded:g} mm"}
        offer = _proven(placed, wish, settings, said(f"{length.key} {{}}", exact_mm(rounded)))
        if offer is not None:
            return [((length.now_mm - rounded) / length.now_mm, offer)]
    return []


def _rounded(value_mm: float, length: Turned) -> list[float]:
    """Return values to tell, the largest first: round ones, within the family's range."""
    steps = [floor(value_mm / step + 1e-6) * step for step in (_COARSE_MM, _FINE_MM, 2 * _COARSE_MM)]
    tried = [steps[0], steps[1] - _FINE_MM, steps[2] - 2 * _COARSE_MM, length.least_mm]
    return [round(mm, 6) for mm in dict.fromkeys(tried) if length.least_mm <= mm < length.now_mm]


def _own_hole(placed: Placed, wish: Wish) -> list[tuple[float, Offer]]:
    """Offer to make a hole of the piece the knife's lanyard hole."""
    lanyard, piece, known = BY_KEY[LANYARD], placed.piece, placed.wanted.knife.holes
    search = Search(plate_of(piece, placed.wanted), placed.wanted)
    for zone in piece.avoided:
        if zone.circle is None or not lanyard.least <= zone.circle[2] <= lanyard.greatest:
            continue
        least = ceil(zone.circle[2] / _COARSE_MM - 1e-6) * _COARSE_MM
        for across in (least, min(least + _WIDER_MM, lanyard.greatest)):
            words = said("{} as its lanyard hole of {}", zone.words, exact_mm(across))
            settings = {LANYARD: f"{across:g} mm"}
            one = changed(placed.wanted.knife.design, dict(settings))
            if one is None or not np.array_equal(one.cut.vertices, placed.wanted.cut.vertices):
                offer = _proven(placed, wish, settings, words)
            else:  # its outline fits nowhere as before: what is new is the hole
                allowed, why = allowed_of(one, piece, wish)
                again = through_holes(Search(search.plate, one, search), allowed, why, known)
                offer = None if again is None else Offer(settings, words, again)
            if offer is not None:
                return [(0.5, offer)]
    return []


def _otherwise_cut(placed: Placed, wish: Wish) -> list[tuple[float, Offer]]:
    """Offer ways of cutting that need less room; how much they change is told by none."""
    knife, found = placed.wanted.knife, []
    if knife.process is None:
        return []
    for way in processes():
        if way.name == knife.process.name or knife.material.kind not in way.materials:
            continue
        one = changed(knife.design, {"cutting.process": way.name})
        if one is None or never_fits(one, placed.piece):
            continue
        near = warmly(one, placed.piece, wish, [placed.pose])
        if near is None or not near.fits:
            continue
        offer = _proven(placed, wish, {"cutting.process": way.name}, said(f"{way.title}, which needs less room"))
        found += [] if offer is None else [(0.0 if offer.placed.wanted.kerf_mm else 1.0, offer)]
    return found[:1]


def _smaller(placed: Placed, wish: Wish) -> list[tuple[float, Offer]]:
    """Offer a knife that is smaller in several lengths alike, where no single one is enough."""
    design = placed.wanted.knife.design
    lengths = [length for length in lengths_of(placed.wanted) if length.key in _FIRST]

    def values(share: float) -> dict[str, object]:
        sizes = {one.key: one.least_mm + share / 1000 * (one.now_mm - one.least_mm) for one in lengths}
        return {
            key: max(round(floor(mm / _COARSE_MM + 1e-6) * _COARSE_MM, 6), _least(lengths, key))
            for key, mm in sizes.items()
        }

    least = changed(design, values(0.0))
    if least is None or never_fits(least, placed.piece):
        return []
    near = _tracker(placed, wish, lambda share: changed(design, values(share)))
    low = near(0.0)
    if low is None or not low.fits:
        low = placed_if_fits(least, placed.piece, wish)
    if low is None:
        return []
    share, _ = narrowed((0.0, low), 1000.0, near)
    for tried in (share, share - 15.0, share - 60.0, 0.0):
        sizes = {key: f"{mm:g} mm" for key, mm in values(max(tried, 0.0)).items()}
        words = " and ".join(f"{key} {{}}" for key in sizes)
        offer = _proven(placed, wish, sizes, said(words, *(exact_mm(float(v.split()[0])) for v in sizes.values())))
        if offer is not None:
            return [(1.0, offer)]
    return []


def _least(lengths: Sequence[Turned], key: str) -> float:
    return next(one.least_mm for one in lengths if one.key == key)


def _tracker(placed: Placed, wish: Wish, made: Callable[[float], Wanted | None]) -> Callable[[float], Placed | None]:
    """Return what places a changed knife near where the last one that fitted lay."""
    first = [placed.pose]

    def near(value: float) -> Placed | None:
        one = made(value)
        found = None if one is None else warmly(one, placed.piece, wish, first)
        if found is not None and found.fits:
            first[:] = [found.pose]
        return found

    return near


def _proven(placed: Placed, wish: Wish, settings: dict[str, str], words: Line) -> Offer | None:
    """Solve the change and place it as the maker's next run will; None where it does not fit after all."""
    one = changed(placed.wanted.knife.design, dict(settings))
    again = None if one is None else placed_if_fits(one, placed.piece, wish)
    return None if again is None else Offer(settings, words, again)
