"""What would do where a knife does not fit: changes to the design, each solved anew and placed before it is told."""

from __future__ import annotations

from math import ceil

import numpy as np

from blankwright.base.said import exact_mm, said
from blankwright.design.keys import BY_KEY
from blankwright.shop.tables import processes
from blankwright.stock.bench import Search, plate_of
from blankwright.stock.nearest import THICKNESS, Offer, nearest, proven
from blankwright.stock.never import never_fits, out_of_reach
from blankwright.stock.place import Placed, Wish, allowed_of, through_holes
from blankwright.stock.variants import Turned, changed, down, lengths_of, warmly

MOST_OFFERS = 4
"""So many changes are told: those that change least first."""

ENOUGH_OFFERS = 2
"""With so many the lengths that change the knife less are not tried any more."""

LANYARD, BEVEL = "tang.lanyard_diameter", "grind.height"

_FIRST = ("blade.length", "handle.length", "blade.heel_height")
"""Lengths that make a knife shorter or lower as a whole; tried together where none does alone."""

_ROUND_MM = 0.5
"""A hole is drilled to this."""

_WIDER_MM = 1.0
"""A lanyard hole that is so much wider than the piece's takes it away with some room to move."""


def offers(placed: Placed, wish: Wish) -> list[Offer]:
    """Return what would do, the least change first; each was solved anew and placed as the maker's next run will.

    Args:
        placed: A knife that does not fit, where it nearly does.
        wish: What was asked beside.
    """
    if placed.sideless:
        return []
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
    found += _lower_ground(placed, wish)
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
    """Offer the greatest thickness that the piece has where the knife then lies."""
    wanted, piece = placed.wanted, placed.piece
    lost = 0.0 if wanted.knife.found is None else 2 * wanted.knife.found.loss.value
    if placed.thin_mm:  # it lies where it is thin by least
        here = down(min(limit.least_mm for limit in placed.verdict.lacking) - lost)
        offer = proven(placed, wish, {THICKNESS: here})
        if offer is not None:
            return [offer]
    least = down(piece.least_thickness_mm - lost)
    found = nearest(placed, wish, {THICKNESS: (least, wanted.knife.stock_mm)}, anywhere=True)
    return [] if found is None else [found[1]]


def _shorter(placed: Placed, wish: Wish, length: Turned) -> list[tuple[float, Offer]]:
    """Offer the value of one length that is nearest to what was asked and fits, and how large a change it is."""
    span = {length.key: (length.least_mm, length.now_mm)}
    found = nearest(placed, wish, span, anywhere=length.key in _FIRST)
    return [] if found is None else [((length.now_mm - found[0]) / length.now_mm, found[1])]


def _lower_ground(placed: Placed, wish: Wish) -> list[tuple[float, Offer]]:
    """Offer a lower bevel where too little of what is to be kept comes onto the flat above it."""
    flat = [placed.piece.words_of(zone) for zone in placed.piece.kept if zone.part == "flat"]
    if not any(limit.kind == "keep" and limit.name in flat for limit in placed.verdict.lacking):
        return []
    knife = placed.wanted.knife
    high = knife.ground.bevels.height_mm or knife.shape.values_mm["heel_height"]
    found = nearest(placed, wish, {BEVEL: (float(BY_KEY[BEVEL].least), high)}, anywhere=True)
    return [] if found is None else [((high - found[0]) / high, found[1])]


def _smaller(placed: Placed, wish: Wish) -> list[tuple[float, Offer]]:
    """Offer a knife that is smaller in several lengths alike, where no single one is enough."""
    spans = {one.key: (one.least_mm, one.now_mm) for one in lengths_of(placed.wanted) if one.key in _FIRST}
    found = nearest(placed, wish, spans, anywhere=True)
    return [] if found is None else [(1.0, found[1])]


def _own_hole(placed: Placed, wish: Wish) -> list[tuple[float, Offer]]:
    """Offer to make a hole of the piece the knife's lanyard hole."""
    lanyard, piece, known = BY_KEY[LANYARD], placed.piece, placed.wanted.knife.holes
    search = Search(plate_of(piece, placed.wanted), placed.wanted)
    for zone in piece.avoided:
        if zone.circle is None or not lanyard.least <= zone.circle[2] <= lanyard.greatest:
            continue
        least = ceil(zone.circle[2] / _ROUND_MM - 1e-6) * _ROUND_MM
        for across in (least, min(least + _WIDER_MM, lanyard.greatest)):
            words = said("{} as its lanyard hole of {}", piece.words_of(zone), exact_mm(across))
            settings = {LANYARD: f"{across:g} mm"}
            one = changed(placed.wanted.knife.design, dict(settings))
            if one is None or not np.array_equal(one.cut.vertices, placed.wanted.cut.vertices):
                offer = proven(placed, wish, settings, words)
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
        offer = proven(placed, wish, {"cutting.process": way.name}, said(f"{way.title}, which needs less room"))
        found += [] if offer is None else [(0.0 if offer.placed.wanted.kerf_mm else 1.0, offer)]
    return found[:1]
