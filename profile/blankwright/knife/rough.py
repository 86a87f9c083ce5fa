"""What the work begins with where no bar of the finished thickness is bought: found steel, or a bar to forge."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

from blankwright.base.finding import Finding, finding
from blankwright.base.said import Line, mm, said
from blankwright.design.request import Design
from blankwright.geometry.outline import Outline
from blankwright.knife.start import Start
from blankwright.shop.records import Figure
from blankwright.shop.rough import ForgingLoss, Piece, forging_loss, piece
from blankwright.solid.mass import G_PER_MM3_PER_KG_M3

MOST_BARS = 3
"""So many usual bars are offered to forge from."""

_ROUND_MM = 1e-9


@dataclass(frozen=True)
class FoundStock:
    """A found piece of which is known what it was.

    Args:
        piece: What it was.
        loss: What goes from each face [mm].
        wanted_mm: Thickness that the design asks for [mm].
        found_mm: Its thickness as found; None where nobody measured it.
    """

    piece: Piece
    loss: Figure
    wanted_mm: float
    found_mm: float | None

    @property
    def least_mm(self) -> float:
        """How thick it must be as found [mm]."""
        return self.wanted_mm + 2 * self.loss.value

    @property
    def left_mm(self) -> float | None:
        """What is left of it [mm]; None where nobody measured it."""
        return None if self.found_mm is None else self.found_mm - 2 * self.loss.value


@dataclass(frozen=True)
class Bar:
    """A bar to forge from: its section and how much of it is cut off [mm]."""

    width_mm: float
    thickness_mm: float
    length_mm: float

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
        thickness_mm: How thick, at least [mm].
        volume_mm3: Steel to begin with, scale included [mm3].
        mass_g: The same [g].
        bars: Bars it may be forged from, each with its length; the maker's own alone where it was given.
        loss: What it loses on the way.
    """

    length_mm: float
    height_mm: float
    thickness_mm: float
    volume_mm3: float
    mass_g: float
    bars: tuple[Bar, ...]
    loss: ForgingLoss


def found_stock(design: Design, start: Start) -> FoundStock | None:
    """Return what is known of a found piece; None where nothing is, or none is found."""
    asked = design.settings.get("start.piece")
    if start.name != "found" or not isinstance(asked, str):
        return None
    one, own, thick = piece(asked), design.settings.get("start.loss"), design.settings.get("start.thickness")
    loss = one.loss_mm
    if isinstance(own, (int, float)):
        loss = Figure(float(own), "mm", "measured on your own piece, [start] loss", "given by the design")
    return FoundStock(one, loss, design.stock.thickness_mm, float(thick) if isinstance(thick, (int, float)) else None)


def forging_of(design: Design, start: Start, cut: Outline, density_kg_m3: float) -> Forging | None:
    """Return what is forged and from how much steel; None where nothing is.

    Args:
        design: The request.
        start: How the work starts.
        cut: The outline that the forging must hold.
        density_kg_m3: Density of the steel [kg/m3].
    """
    if start.name != "forged":
        return None
    loss = forging_loss()
    skin = loss.skin_mm.value
    thick = design.stock.thickness_mm + 2 * skin
    # a parallel outline's area by the law of Steiner; a hollow that closes makes it a little too much
    volume = (cut.area_mm2 + cut.perimeter_mm * skin) * thick / (1 - loss.scale.value / 100)
    own = design.settings.get("start.bar")
    long, high = (size + 2 * skin for size in cut.size_mm)
    sections = [(own[0], own[1])] if isinstance(own, tuple) else list(loss.bars)
    bars = [Bar(w, t, volume / (w * t) + loss.kerf_mm.value) for w, t in sections]
    if own is None:
        bars = _drawn_out(bars, long, thick, loss)
    return Forging(long, high, thick, volume, volume * density_kg_m3 * G_PER_MM3_PER_KG_M3, tuple(bars), loss)


def _drawn_out(bars: list[Bar], long_mm: float, thick_mm: float, loss: ForgingLoss) -> list[Bar]:
    """Return those that are drawn out, with steel to spare, into a forging of this length and thickness [mm]."""
    most = long_mm / loss.drawn.value
    return [bar for bar in bars if bar.thickness_mm >= thick_mm and bar.length_mm <= most][:MOST_BARS]


def rough_findings(found: FoundStock | None, forging: Forging | None) -> list[Finding]:
    """Say when what the work begins with does not hold the knife."""
    out = []
    if found is not None and found.left_mm is not None and found.left_mm < found.wanted_mm - _ROUND_MM:
        words = "[start] thickness: of {}, {} thick as found, {} are left; the knife is {}. Ask for a thinner knife."
        given = (found.piece.title, mm(found.found_mm or 0.0), mm(found.left_mm), mm(found.wanted_mm))
        out.append(finding("START", said(words, *given), level="error"))
    if forging is not None and forging.bars:
        bar = forging.bars[0]
        if bar.thickness_mm < forging.thickness_mm:
            words = "[start] bar: {} is thinner than the forging, {}. A bar is drawn out, not made thicker."
            line = said(words, mm(bar.thickness_mm), mm(forging.thickness_mm))
            out.append(finding("START", line, level="error"))
        elif bar.length_mm > forging.length_mm:
            words = "[start] bar: {} are needed for a forging {} long: it would have to be upset. Take a thinner bar."
            line = said(words, mm(bar.length_mm), mm(forging.length_mm))
            out.append(finding("START", line, level="warning"))
        elif bar.length_mm * forging.loss.drawn.value > forging.length_mm + _ROUND_MM:
            out.append(finding("START", _little_to_spare(forging, bar), level="warning"))
    return out


def _little_to_spare(forging: Forging, bar: Bar) -> Line:
    """Say that a bar is hardly drawn out, and which usual one of a larger section is."""
    held, loss = (bar.length_mm - forging.loss.kerf_mm.value) * bar.width_mm * bar.thickness_mm, forging.loss
    usual = [Bar(w, t, held / (w * t) + loss.kerf_mm.value) for w, t in loss.bars]
    better = _drawn_out(usual, forging.length_mm, forging.thickness_mm, loss)
    words = "[start] bar: {} are needed for a forging {} long: nothing is left for an end that is lost. "
    if not better:
        return said(f"{words}Take a wider or thicker bar.", mm(bar.length_mm), mm(forging.length_mm))
    words += "Take a larger bar, such as {} x {}, of which {} are needed."
    one = better[0]
    return said(
        words, mm(bar.length_mm), mm(forging.length_mm), *map(mm, (one.width_mm, one.thickness_mm, one.length_mm))
    )
