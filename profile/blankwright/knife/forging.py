"""What is forged before it is cut to the line, and how long a bar that takes: volume, scale, shoulders, range.

The forging holds the cut outline with its skin all round. Where bevels are forged in part, its blade is a wedge: at a
place x, of height h, thickness T and bevel height b, the hammer has moved

    share ((stock - T) h + (T - edge) b / 2)

of the full section away; the rest is ground. The tang is drawn to its own taper by the same share.
"""

from __future__ import annotations

from dataclasses import replace
from math import ceil

import numpy as np

from blankwright.base.arrays import Array, evenly
from blankwright.base.frozen import dataclass
from blankwright.design.request import Design
from blankwright.geometry.outline import Outline
from blankwright.knife.start import Start
from blankwright.shop.rough import ForgingLoss, forging_loss
from blankwright.solid.ground import Ground
from blankwright.solid.mass import G_PER_MM3_PER_KG_M3

MOST_BARS = 3
"""So many usual bars are offered to forge from."""

_STATIONS = 600
_FLAT_MM = 0.01


@dataclass(frozen=True)
class Bar:
    """A bar to forge from: its section and how much of it is cut off [mm].

    Args:
        width_mm: Width of its section [mm].
        thickness_mm: Thickness of its section [mm].
        length_mm: How much of it is used, cut and tongs included [mm].
        least_mm: The same with few heats and a thin scale [mm].
        most_mm: The same with many heats and a thick scale [mm].
        scale_percent: What burns off, of the weight [%].
        tang_mm: How much of it becomes the tang, from one end to the mark of the shoulders [mm].
        handling_mm: How much of it the tongs hold, cut off afterwards [mm].
        volume_mm3: Steel of the forging with what burns off [mm3].
    """

    width_mm: float
    thickness_mm: float
    length_mm: float
    least_mm: float
    most_mm: float
    scale_percent: float
    tang_mm: float
    handling_mm: float
    volume_mm3: float

    @property
    def forged_mm(self) -> float:
        """How much of it is forged, what the tongs hold left out [mm]."""
        return self.length_mm - self.handling_mm

    @property
    def cut_off_mm(self) -> float:
        """What is cut off by the rule: the next whole millimetre, never less than is needed [mm]."""
        return float(ceil(self.length_mm))


@dataclass(frozen=True)
class Forging:
    """What is forged before it is cut to the line.

    Args:
        length_mm: How long it is drawn out, at least [mm].
        height_mm: How high, at least [mm].
        thickness_mm: How thick at the spine, at least [mm].
        net_mm3: Its volume, cold, scale gone [mm3].
        tang_mm3: The tang's part of it, behind the shoulders [mm3].
        share_percent: How much of bevels and tapers is forged [%].
        heats: How often it is heated.
        bars: Bars it may be forged from, each with its length; the maker's own alone where it was given.
        density_kg_m3: Density of the steel [kg/m3].
        loss: What it loses on the way.
    """

    length_mm: float
    height_mm: float
    thickness_mm: float
    net_mm3: float
    tang_mm3: float
    share_percent: float
    heats: int
    bars: tuple[Bar, ...]
    density_kg_m3: float
    loss: ForgingLoss

    @property
    def volume_mm3(self) -> float:
        """Steel to begin with, scale included: of the first bar, or of the usual scale where no bar goes [mm3]."""
        if self.bars:
            return self.bars[0].volume_mm3
        return self.net_mm3 / (1 - scale_share(self.heats, self.loss.layer_mm.value, [self.section_mm]))

    @property
    def section_mm(self) -> tuple[float, float]:
        """Height and thickness of a bar as long as the forging that holds as much [mm]."""
        return self.net_mm3 / self.length_mm / self.thickness_mm, self.thickness_mm

    @property
    def mass_g(self) -> float:
        """Steel to begin with [g]."""
        return self.volume_mm3 * self.density_kg_m3 * G_PER_MM3_PER_KG_M3


@dataclass(frozen=True)
class Lump:
    """Volume of a forging.

    Args:
        net_mm3: All of it [mm3].
        tang_mm3: What lies behind the shoulders [mm3].
    """

    net_mm3: float
    tang_mm3: float


def forging_of(
    design: Design, start: Start, cut: Outline, ground: Ground, front_x_mm: float, density_kg_m3: float
) -> Forging | None:
    """Return what is forged and from how much steel; None where nothing is.

    Args:
        design: The request.
        start: How the work starts.
        cut: The outline that the forging must hold.
        ground: How the blade is ground; a part of it may be forged.
        front_x_mm: x of the handle's front, where the shoulders stand [mm].
        density_kg_m3: Density of the steel [kg/m3].
    """
    if start.name != "forged":
        return None
    loss = forging_loss()
    share, heats, handling = (
        _asked(design, key, usual)
        for key, usual in (
            ("start.forged_bevels", loss.bevels.value),
            ("start.heats", loss.heats.value),
            ("start.handling", loss.handling_mm.value),
        )
    )
    skin, stock = loss.skin_mm.value, design.stock.thickness_mm
    held = lump(cut, ground, front_x_mm, stock_mm=stock, skin_mm=skin, share=share / 100)
    long, high = (size + 2 * skin for size in cut.size_mm)
    found = Forging(
        length_mm=long,
        height_mm=high,
        thickness_mm=stock + 2 * skin,
        net_mm3=held.net_mm3,
        tang_mm3=held.tang_mm3,
        share_percent=share,
        heats=round(heats),
        bars=(),
        density_kg_m3=density_kg_m3,
        loss=loss,
    )
    own = design.settings.get("start.bar")
    sections = [(float(own[0]), float(own[1]))] if isinstance(own, tuple) else list(loss.bars)
    bars = [bar_of(found, w, t, handling) for w, t in sections]
    if own is None:
        bars = drawn_out(bars, found)
    return replace(found, bars=tuple(bars))


def drawn_out(bars: list[Bar], forging: Forging) -> list[Bar]:
    """Return those that are drawn out, with steel to spare, into a forging of this length and thickness."""
    most, thick = forging.length_mm / forging.loss.drawn.value, forging.thickness_mm
    return [b for b in bars if b.thickness_mm >= thick and b.forged_mm <= most][:MOST_BARS]


def _asked(design: Design, key: str, usual: float) -> float:
    value = design.settings.get(key)
    return float(value) if isinstance(value, (int, float)) else usual


def bar_of(forging: Forging, width_mm: float, thickness_mm: float, handling_mm: float) -> Bar:
    """Return how much of a bar of one section a forging takes.

    Args:
        forging: The forging.
        width_mm: Width of the section [mm].
        thickness_mm: Thickness of the section [mm].
        handling_mm: What the tongs hold and is cut off afterwards [mm].
    """
    loss, section = forging.loss, width_mm * thickness_mm
    sections = [(width_mm, thickness_mm), forging.section_mm]

    def volume(heats: float, layer_mm: float) -> float:
        return forging.net_mm3 / (1 - scale_share(heats, layer_mm, sections))

    def length(volume_mm3: float) -> float:
        return volume_mm3 / section + loss.kerf_mm.value + handling_mm

    usual = volume(forging.heats, loss.layer_mm.value)
    return Bar(
        width_mm=width_mm,
        thickness_mm=thickness_mm,
        length_mm=length(usual),
        least_mm=length(volume(max(1, forging.heats - loss.heats_more), loss.layer_least_mm)),
        most_mm=length(volume(forging.heats + loss.heats_more, loss.layer_most_mm)),
        scale_percent=100 * (1 - forging.net_mm3 / usual),
        tang_mm=usual / section * forging.tang_mm3 / forging.net_mm3,
        handling_mm=handling_mm,
        volume_mm3=usual,
    )


def scale_share(heats: float, layer_mm: float, sections_mm: list[tuple[float, float]]) -> float:
    """Return the share of the steel that burns off: a layer from every side at each heat.

    Args:
        heats: How often it is heated.
        layer_mm: What a heat takes from a face [mm].
        sections_mm: Sections that the steel has on its way, from bar to forging; each has as many of the heats.

    Returns:
        Share of the volume [0 to 1].

    >>> round(scale_share(1, 0.1, [(25.0, 10.0)]), 4)
    0.0278
    """
    kept = [max(0.2, (1 - 2 * layer_mm / w) * (1 - 2 * layer_mm / t)) for w, t in sections_mm]
    return 1 - float(np.exp(np.mean(np.log(kept)) * heats))


def lump(cut: Outline, ground: Ground, front_x_mm: float, *, stock_mm: float, skin_mm: float, share: float) -> Lump:
    """Return the volume of a forging.

    Args:
        cut: The outline that it must hold.
        ground: How the blade is ground.
        front_x_mm: x of the shoulders [mm].
        stock_mm: Thickness of the knife's steel before it is ground [mm].
        skin_mm: What is ground off every side of the forging [mm].
        share: How much of bevels and tapers is forged [0 to 1].
    """
    thick = stock_mm + 2 * skin_mm
    # a parallel outline's area by the law of Steiner; a hollow that closes makes it a little too much
    whole = (cut.area_mm2 + cut.perimeter_mm * skin_mm) * thick
    x, width = _stations(cut)
    height = heights(cut, x)
    at = ground.taper.at(x)
    moved = (stock_mm - at) * height
    full = height if ground.bevels.height_mm is None else np.minimum(height, ground.bevels.height_mm)
    begin = 0.0 if ground.plunge is None else max(ground.plunge.at_mm, 0.0)
    thinned = np.where(x > begin, np.maximum(at - ground.bevels.behind_edge_mm, 0.0), 0.0)
    plate = height * thick
    held = plate - share * (moved + thinned * full / 2)
    # the skin around the outline is as thick as what it lies on: the edge's below, the spine's above
    rim = whole - float((plate * width).sum()) - share * skin_mm * width * float((2 * (stock_mm - at) + thinned).sum())
    behind = x < front_x_mm
    tang = float((held * width)[behind].sum())
    part = tang / float((held * width).sum())
    net = float((held * width).sum()) + rim
    return Lump(net, tang + rim * part)


def _stations(outline: Outline) -> tuple[Array, float]:
    x0, _, x1, _ = outline.bounds_mm
    width = (x1 - x0) / _STATIONS
    return evenly(x0 + width / 2, x1 - width / 2, _STATIONS), width


def heights(outline: Outline, x_mm: Array) -> Array:
    """Return how much of upright lines lies inside an outline [mm]."""
    a = outline.flattened(_FLAT_MM)
    b = np.roll(a, -1, axis=0)
    low, high = np.minimum(a[:, 0], b[:, 0]), np.maximum(a[:, 0], b[:, 0])
    crossed = (low[None] <= x_mm[:, None]) & (x_mm[:, None] < high[None])
    run = b[:, 0] - a[:, 0]
    run[run == 0.0] = 1.0
    y = a[:, 1] + (b[:, 1] - a[:, 1]) * (x_mm[:, None] - a[:, 0]) / run
    # counter-clockwise: what runs back in x bounds the inside from above
    signed: Array = np.where(crossed, np.where(b[:, 0] < a[:, 0], y, -y), 0.0)
    total: Array = signed.sum(axis=1)
    return total
