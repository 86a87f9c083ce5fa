"""What is told of a placing: as data for scripts, and in sentences for the maker."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from blankwright.base.arrays import Place
from blankwright.base.frozen import dataclass
from blankwright.base.said import Line, Quantity, Spot, Value, exact_mm, mm, range_mm, said
from blankwright.stock.grain import across_deg, placed_line
from blankwright.stock.judge import Limit
from blankwright.stock.nearest import Offer
from blankwright.stock.piece import Piece
from blankwright.stock.place import Placed, Wish
from blankwright.stock.scarce import CUT_WORDS, also_scarce, also_words, place_words, side_by_side, thick_words
from blankwright.stock.shown import shown, shown_data
from blankwright.stock.variants import Largest, as_asked

_DIGITS = 4


@dataclass(frozen=True, eq=False)
class Told:
    """Everything that is told of one request.

    Args:
        placed: The knife where it lies best.
        others: The same on the other pieces of the stock file.
        wish: What was asked beside.
        offers: What would do where it does not fit.
        largest: The largest knife, where it was asked for.
    """

    placed: Placed
    others: tuple[Placed, ...]
    wish: Wish
    offers: tuple[Offer, ...] = ()
    largest: Largest | None = None

    @property
    def fits(self) -> bool:
        """Whether what was asked for can be cut."""
        return self.placed.fits if self.largest is None else self.largest.value_mm is not None

    @property
    def data(self) -> dict[str, Any]:
        """The placing as data."""
        one = self.placed
        table: dict[str, Any] = {
            "format": 1,
            "fits": self.fits,
            "piece": one.piece.name,
            "x_mm": one.pose.x_mm,
            "y_mm": one.pose.y_mm,
            "turn_deg": one.pose.turn_deg,
            "flipped": one.pose.flipped,
            "margin_mm": round(one.verdict.margin_mm, _DIGITS) if one.fits else None,
            "spare_mm": round(one.verdict.spare_mm, _DIGITS) if one.fits else None,
            "short_mm": round(one.short_mm, _DIGITS),
            "would_do": [{"set": offer.settings} for offer in self.offers],
            "limits": [_limit_data(one, limit) for limit in ([] if one.sideless else one.verdict.limits)],
            "kept": [shown_data(kept) for kept in shown(one)] if one.fits else [],
            "across_grain_deg": None if (deg := across_deg(one)) is None else round(deg, 3),
            "kerf_mm": one.wanted.kerf_mm,
            "design": one.wanted.knife.design.name,
            "design_code": one.wanted.knife.code,
        }
        if self.largest is not None:
            value = self.largest.value_mm
            table["largest"] = {"key": self.largest.key, "value_mm": value}
        return table

    def lines(self) -> list[Line]:
        """Return the placing in sentences."""
        one = self.placed
        lines = _largest_lines(one, self.largest) if self.largest is not None else []
        lines += [_head(one)]
        if one.fits:
            grain = placed_line(one)
            lines += [_lies(one), *([] if grain is None else [grain]), *_anchors(one)]
        lines += [] if one.sideless else [_limit_line(one, limit) for limit in one.verdict.limits]
        if one.fits:
            lines += [kept.advice() for kept in shown(one)]
        if one.why_sides and not one.sideless:
            lines.append(said("One side only: {}.", one.why_sides))
        lines += [_other_line(other) for other in self.others]
        if not one.fits and not one.sideless:
            lines += _offer_lines(one, self.offers)
        return lines


def _limit_data(one: Placed, limit: Limit) -> dict[str, Any]:
    share = limit.kind == "keep"
    unit = "" if share else "_mm"
    return {
        "kind": limit.kind,
        "name": limit.name,
        f"least{unit}": round(limit.least_mm, _DIGITS),
        f"need{unit}": round(limit.need, _DIGITS),
        "holds": limit.holds,
        "at_mm": [round(v, 3) for v in limit.at_mm],
        "also": [
            {"spare_mm": round(other.spare_mm, 2), "at_mm": [round(v, 3) for v in other.at_mm]}
            for other in also_scarce(one, limit)
        ],
    }


def _head(one: Placed) -> Line:
    long, wide = (exact_mm(round(v, 2)) for v in one.piece.outline.size_mm)
    where: tuple[Value, ...] = (one.piece.name, long, wide)
    words = f"on {{}}, {one.piece.kind}, {{}} x {{}}"
    if one.fits:
        return said(f"Fits {words}.", *where)
    if one.sideless:
        return said(
            f"Does not fit {words}: {{}}. Take one face out of the stock file, or grind both.", *where, one.why_sides
        )
    scarce = next((limit for limit in one.verdict.limits if not limit.holds and limit.kind != "keep"), None)
    if scarce is None:
        return said(
            f"Does not fit {words}: too little of {{}} comes where it is to be.", *where, one.verdict.lacking[0].name
        )
    what = "too thin by {}" if scarce.kind == "thickness" else "{} short"
    at = place_words(one.wanted, scarce.design_mm)
    line = said(f"Does not fit {words}: {what}, ", *where, mm(-scarce.spare, 2))
    return line.then(at.words, *at.values).then(" (on the piece {}).", Spot(*scarce.at_mm, digits=1))


def _lies(one: Placed) -> Line:
    pose = one.pose
    side = "turned over, its left face up" if pose.flipped else "as drawn, its right face up"
    heel, where = Spot(pose.x_mm, pose.y_mm), f"the {CUT_WORDS['heel']} at {{}} from the lower left corner."
    if not round(pose.turn_deg, 2):
        return said(f"It lies {side}, straight along; {where}", heel)
    turn = Quantity(pose.turn_deg, "deg", 2)
    return said(f"It lies {side}, turned by {{}}; {where}", turn, heel)


def anchors(one: Placed) -> list[tuple[str, Place, Place]]:
    """Return places of the blank by which it is chalked on: name, place on the piece and place of the design [mm]."""
    cut, knife = one.wanted.cut, one.wanted.knife
    points = cut.flattened(0.01)
    named = [
        ("heel", np.array([0.0, 0.0])),
        ("tip", points[points[:, 0].argmax()]),
        ("butt", points[points[:, 0].argmin()]),
        ("spine over the heel", np.array([0.0, knife.shape.values_mm["heel_height"]])),
    ]
    out = []
    for name, point in named:
        x, y = one.pose.points(point[None])[0].tolist()
        out.append((name, (x, y), (float(point[0]), float(point[1]))))
    return out


def _anchors(one: Placed) -> list[Line]:
    return [
        said(f"{CUT_WORDS[name]}: {{}} from the left, {{}} from below.", mm(x, 1), mm(y, 1))
        for name, (x, y), _ in anchors(one)
        if name in ("tip", "butt")
    ]


def keep_line(one: Placed, limit: Limit) -> Line:
    """Return how much of a zone to keep is where it is to be."""
    share, need = (Quantity(v * 100, "%", 0) for v in (limit.least_mm, limit.need))
    part = next(zone.part for zone in one.piece.kept if one.piece.words_of(zone) == limit.name)
    words = f"{{}}: {{}} of it on the {part}, {{}} wanted"
    return said(words + ("." if limit.holds else ": too little."), limit.name, share, need)


def _limit_line(one: Placed, limit: Limit) -> Line:
    if limit.kind == "keep":
        return keep_line(one, limit)
    if limit.kind == "hole":
        return said("{}.", limit.name)
    room = side_by_side(limit.least_mm, limit.need, by_rule=limit.kind == "thickness")
    if limit.kind == "thickness":
        thick = thick_words(one, limit)
        return said("thickness: ").then(room.words, *room.values).then(thick.words, *thick.values).then(".")
    what = "edge of the piece" if limit.kind == "edge" else limit.name
    where, also = place_words(one.wanted, limit.design_mm), also_words(one, limit)
    line = said("{} to the cut line: ", what).then(room.words, *room.values).then(", ")
    return line.then(where.words, *where.values).then(also.words, *also.values).then(".")


def _largest_lines(one: Placed, found: Largest) -> list[Line]:
    if found.value_mm is None:
        return [said(f"Even the smallest {found.key} that the family allows does not fit.")]
    end = ": as far as the family goes" if found.by_family else ""
    return [
        said(f"The largest {found.key} that fits is {{}}{end}.", exact_mm(found.value_mm)),
        said(f"That is design {one.wanted.knife.code}: --set {found.key}={found.value_mm:g}mm"),
    ]


def _other_line(other: Placed) -> Line:
    if other.fits:
        return said("It fits on {} too, with {} to spare.", other.piece.name, mm(other.verdict.spare_mm))
    if other.sideless:
        return said("On {} it does not fit: {}.", other.piece.name, other.why_sides)
    if other.thin_mm:
        return said("On {} it does not fit: too thin by {}.", other.piece.name, mm(other.thin_mm))
    return said("On {} it does not fit: {} short.", other.piece.name, mm(other.short_mm))


def _offer_lines(one: Placed, offers: Sequence[Offer]) -> list[Line]:
    if not offers:
        tried = "lengths, thickness, height of the bevel, way of cutting, lanyard hole"
        return [said(f"None of the single changes that were tried makes it fit: {tried}.")]
    lines = []
    for offer in offers:
        spare = offer.placed.verdict.spare_mm
        line = said("Would do: ").then(offer.words.words, *offer.words.values)
        lines.append(line.then(f" ({{}} to spare): {as_asked(offer.settings)}", mm(spare)))
    return lines


def piece_words(piece: Piece) -> Line:
    """Return a piece in words."""
    thick = range_mm(piece.least_thickness_mm, max(t for _, t in piece.thickness))
    wide, high = piece.outline.size_mm
    words = f"{{}}: {piece.kind}, {{}} x {{}} x {{}}"
    return said(words, piece.name, exact_mm(round(wide, 2)), exact_mm(round(high, 2)), thick)
