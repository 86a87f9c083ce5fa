"""Is a piece enough to forge a knife from? Its longest sound stretch against the length that its section takes."""

from __future__ import annotations

from collections.abc import Sequence
from math import floor
from typing import Any, Literal

import numpy as np

from blankwright.base.frozen import dataclass
from blankwright.base.said import Line, Quantity, exact_mm, mm, said
from blankwright.design.request import Design
from blankwright.knife.forging import Bar, Forging, bar_of, heights
from blankwright.knife.knife import Knife
from blankwright.stock.piece import Piece
from blankwright.stock.variants import as_asked, changed, down

_STEPS = 400
_ROUND_MM = 0.5
_ALIKE = 0.005
"""Halves of a bar that differ by less than this share are as heavy."""

_SHARES = tuple(range(5, 101, 5))
"""How much of the bevels is offered to be forged where the bar is too short."""


@dataclass(frozen=True)
class Stretch:
    """The longest part of a piece that nothing is to be cut away of.

    Args:
        from_mm: Where it begins, along the piece [mm].
        length_mm: How long it is [mm].
        width_mm: How wide on average [mm].
        thickness_mm: How thick on average [mm].
        heavier: At which end more steel is, "left" (where x is 0) or "right"; empty where both have as much.
    """

    from_mm: float
    length_mm: float
    width_mm: float
    thickness_mm: float
    heavier: Literal["", "left", "right"] = ""


@dataclass(frozen=True, eq=False)
class ForgedTold:
    """Whether a piece is enough.

    Args:
        knife: The knife that is forged.
        forging: What is forged.
        piece: The piece.
        stretch: Its longest sound stretch.
        bar: How much of it is needed.
        would_do: Changes with which it is enough, each solved anew: values by key.
    """

    knife: Knife
    forging: Forging
    piece: Piece
    stretch: Stretch
    bar: Bar
    would_do: tuple[dict[str, str], ...] = ()

    @property
    def thin_mm(self) -> float:
        """How much too thin it is [mm]; 0 where it is not: a bar is drawn out, not made thicker."""
        return max(0.0, self.forging.thickness_mm - self.stretch.thickness_mm)

    @property
    def short_mm(self) -> float:
        """How much too short, or else too thin, it is [mm]; 0 where it is enough."""
        return max(0.0, self.bar.length_mm - self.stretch.length_mm) or self.thin_mm

    @property
    def fits(self) -> bool:
        """Whether it is enough."""
        return self.short_mm == 0

    @property
    def data(self) -> dict[str, Any]:
        """The answer as data."""
        bar = self.bar
        return {
            "format": 1, "fits": self.fits, "piece": self.piece.name, "x_mm": None, "y_mm": None, "turn_deg": None,
            "flipped": None, "margin_mm": None, "short_mm": round(self.short_mm, 4),
            "would_do": [{"set": dict(one)} for one in self.would_do],
            "forging": {
                "net_mm3": round(self.forging.net_mm3, 1), "mass_g": round(self.forging.mass_g, 1),
                "bar_mm": [round(bar.width_mm, 3), round(bar.thickness_mm, 3)], "cut_off_mm": bar.cut_off_mm,
                "range_mm": [round(bar.least_mm, 1), round(bar.most_mm, 1)],
                "sound_mm": round(self.stretch.length_mm, 2),
                "shoulder_mm": round(bar.tang_mm, 1), "handling_mm": bar.handling_mm, "heats": self.forging.heats,
                "scale_percent": round(bar.scale_percent, 2),
            },
            "design": self.knife.design.name, "design_code": self.knife.code,
        }  # fmt: skip

    def lines(self) -> list[Line]:
        """Return the answer in sentences."""
        bar, there = self.bar, self.stretch
        enough = "Enough to forge from" if self.fits else "Not enough to forge from"
        lines = [
            said(
                f"{enough}: {{}}, {{}} of it sound, {{}} x {{}} on average.", self.piece.name, mm(there.length_mm, 1),
                mm(there.width_mm, 1), mm(there.thickness_mm, 1),
            ),
            said(
                "Cut off {}; {} as fire and hand are. {} heats, {} of the weight burns off.", mm(bar.cut_off_mm, 0),
                mm(bar.least_mm, 0, upto=bar.most_mm), str(self.forging.heats), Quantity(bar.scale_percent, "%", 0),
            ),
            said("Shoulder mark {} from the end that becomes the tang; tongs hold {}.", mm(bar.tang_mm, 0),
                 exact_mm(bar.handling_mm)),
        ]  # fmt: skip
        if there.heavier and self.fits and bar.length_mm < there.length_mm:
            end_mm = there.from_mm if there.heavier == "left" else there.from_mm + there.length_mm
            words = (
                f"Cut it off at the {there.heavier} end of the sound stretch, {{}} from the left: it is the heavier. "
                "The length is reckoned with the average; at the other end it would be too little steel."
            )
            lines.append(said(words, mm(end_mm, 0)))
        if self.thin_mm:
            words = "It is {} thick and the forging {}: a bar is drawn out, not made thicker."
            lines.append(said(words, mm(there.thickness_mm), mm(self.forging.thickness_mm)))
        if bar.length_mm > there.length_mm:
            lines.append(said("It is {} short.", mm(bar.length_mm - there.length_mm, 1)))
        elif self.fits and bar.most_mm > there.length_mm + 1.0:
            words = "to look at: where fire and hand take most of it, it is {} short."
            lines.append(said(words, mm(bar.most_mm - there.length_mm, 0)))
        lines += [
            said("to look at: {}: forging leaves nothing of it.", self.piece.words_of(z)) for z in self.piece.kept
        ]
        if not self.fits and not self.would_do:
            lines.append(said("Neither a thinner or shorter blade nor bevels that are forged further make it enough."))
        return lines + [said(f"Would do: {as_asked(one)}") for one in self.would_do]


def forged_from(knife: Knife, forging: Forging, pieces: Sequence[Piece]) -> ForgedTold:
    """Return the smallest piece that is enough, or the one that nearly is with what would do.

    Args:
        knife: The knife.
        forging: What is forged of it.
        pieces: The pieces.
    """
    found = [_on(knife, forging, piece) for piece in pieces]
    best = min(found, key=lambda one: (not one.fits, one.piece.outline.area_mm2 if one.fits else one.short_mm))
    if best.fits:
        return best
    would_do = tuple(_would_do(knife.design, best))
    return ForgedTold(knife, forging, best.piece, best.stretch, best.bar, would_do)


def _on(knife: Knife, forging: Forging, piece: Piece) -> ForgedTold:
    there = sound_stretch(piece)
    handling = knife.design.settings.get("start.handling", forging.loss.handling_mm.value)
    held = float(handling) if isinstance(handling, (int, float)) else 0.0
    return ForgedTold(knife, forging, piece, there, bar_of(forging, there.width_mm, there.thickness_mm, held))


def sound_stretch(piece: Piece) -> Stretch:
    """Return the longest part of a piece along x that no zone to avoid touches."""
    low, _, high, _ = piece.outline.bounds_mm
    spans = sorted((z.outline.bounds_mm[0] - z.margin_mm, z.outline.bounds_mm[2] + z.margin_mm) for z in piece.avoided)
    free, at = [], low + piece.margin_mm
    for start, end in [*spans, (high - piece.margin_mm, high)]:
        if start > at:
            free.append((at, start))
        at = max(at, end)
    first, last = max(free, key=lambda one: one[1] - one[0], default=(low, low))
    x = first + (np.arange(_STEPS) + 0.5) * (last - first) / _STEPS
    wide = heights(piece.outline, x) - 2 * piece.margin_mm
    thick = piece.thickness_at(x)
    width = max(float(wide.mean()), 0.1)
    thickness = float((wide * thick).mean() / width) if width > 0.1 else 0.1
    left, right = (float(half.mean()) for half in np.split(wide * thick, 2))
    alike = abs(left - right) <= _ALIKE * max(left, right)
    return Stretch(first, last - first, width, thickness, "" if alike else "left" if left > right else "right")


def _would_do(design: Design, told: ForgedTold) -> list[dict[str, str]]:
    """Return changes with which a piece is enough: more of the bevels forged, a thinner blade, or a shorter one."""
    found, piece = [], told.piece
    thin = {"material.thickness": f"{down(told.knife.stock_mm - told.thin_mm):g} mm"}
    if told.thin_mm and _enough(design, piece, thin):
        return [thin]
    for share in _SHARES:
        settings = {"start.forged_bevels": f"{share} %"}
        if _enough(design, piece, settings):
            found.append(settings)
            break
    length = next((d for d in design.family.offered(design.construction) if d.key == "blade.length"), None)
    one = changed(design, {})
    if length is None or one is None:
        return found
    low, high = length.least_mm, one.knife.shape.values_mm["blade_length"]
    if not _enough(design, piece, {"blade.length": f"{low:g} mm"}):
        return found
    while high - low > _ROUND_MM:
        middle = floor((low + high) / 2 / _ROUND_MM) * _ROUND_MM
        if middle <= low:
            break
        low, high = (middle, high) if _enough(design, piece, {"blade.length": f"{middle:g} mm"}) else (low, middle)
    return [*found, {"blade.length": f"{low:g} mm"}]


def _enough(design: Design, piece: Piece, settings: dict[str, str]) -> bool:
    one = changed(design, dict(settings))
    return one is not None and one.knife.forging is not None and _on(one.knife, one.knife.forging, piece).fits
