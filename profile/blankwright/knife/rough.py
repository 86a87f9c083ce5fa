"""What the work begins with where no bar of the finished thickness is bought: found steel, or a bar to forge."""

from __future__ import annotations

from blankwright.base.finding import Finding, finding
from blankwright.base.frozen import dataclass
from blankwright.base.said import Line, mm, said
from blankwright.design.request import Design
from blankwright.knife.forging import Bar, Forging, bar_of, drawn_out
from blankwright.knife.start import Start
from blankwright.shop.records import Figure
from blankwright.shop.rough import Piece, piece

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
        elif bar.forged_mm > forging.length_mm:
            words = "[start] bar: {} are needed for a forging {} long: it would have to be upset. Take a thinner bar."
            line = said(words, mm(bar.forged_mm), mm(forging.length_mm))
            out.append(finding("START", line, level="warning"))
        elif bar.forged_mm * forging.loss.drawn.value > forging.length_mm + _ROUND_MM:
            out.append(finding("START", _little_to_spare(forging, bar), level="warning"))
    return out


def _little_to_spare(forging: Forging, bar: Bar) -> Line:
    """Say that a bar is hardly drawn out, and which usual one of a larger section is."""
    usual = [bar_of(forging, w, t, bar.handling_mm) for w, t in forging.loss.bars]
    better = drawn_out(usual, forging)
    words = "[start] bar: {} are needed for a forging {} long: nothing is left for an end that is lost. "
    if not better:
        return said(f"{words}Take a wider or thicker bar.", mm(bar.forged_mm), mm(forging.length_mm))
    words += "Take a larger bar, such as {} x {}, of which {} are needed."
    one = better[0]
    return said(
        words, mm(bar.forged_mm), mm(forging.length_mm), *map(mm, (one.width_mm, one.thickness_mm, one.forged_mm))
    )
