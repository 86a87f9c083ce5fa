"""Figures of a layout: how much of the steel becomes blanks, what it weighs, how long is cut, what it costs."""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np

from blankwright.base.frozen import dataclass
from blankwright.knife.knife import Knife
from blankwright.shop.records import Material
from blankwright.stock.blank import Blank
from blankwright.stock.layout import Laid, Layout, Sheet
from blankwright.stock.offcuts import offcuts
from blankwright.stock.piece import round_zone
from blankwright.stock.underneath import volume_mm3

_KG_MM3 = 1e-9
_G = 1000.0


@dataclass(frozen=True)
class Prices:
    """What the maker pays.

    Args:
        currency: As it is printed.
        stock: Amount, and per what: kg or piece; None where the file has none.
        cutting: Amount for cutting a blank; None where the file has none.
        source: Name of the file.
    """

    currency: str
    stock: tuple[float, str] | None
    cutting: float | None
    source: str


@dataclass(frozen=True)
class SheetFigures:
    """Figures of one piece.

    Args:
        yielded: Share of the piece that becomes blanks [0 to 1].
        without_offcuts: The same of what is not saved as an offcut.
        used_mm: How far along the piece the blanks reach [mm].
        stock_g: What the piece weighs, of its material [g]; None where neither it nor a knife says one.
        blanks_g: What the blanks weigh as they are cut [g]; None where one is no knife.
        offcuts_g: What the offcuts weigh [g].
        cut_mm: Length of all cuts, holes in [mm].
        pierces: How often the cutter starts.
        cost: Share of the stock's price for what is not saved, and the cutting; None without prices.
    """

    yielded: float
    without_offcuts: float
    used_mm: float
    stock_g: float | None
    blanks_g: float | None
    offcuts_g: float | None
    cut_mm: float
    pierces: int
    cost: float | None


def sheet_figures(layout: Layout, sheet: Sheet, prices: Prices | None) -> SheetFigures:
    """Return the figures of a piece."""
    job, piece = layout.job, layout.job.pieces[sheet.piece]
    blanks = [job.blanks[one.blank] for one in sheet.laid]
    whole, cut = piece.outline.area_mm2, sum(blank.area_mm2 for blank in blanks)
    left = offcuts(layout, sheet)
    saved = sum(one.outline.area_mm2 for one in left)
    volume, saved_mm3 = volume_mm3(piece, piece.outline), sum(volume_mm3(one, one.outline) for one in left)
    steel = job.material_of(piece)
    stock_g = None if steel is None else _weight_g(volume, steel)
    offcuts_g = None if steel is None else _weight_g(saved_mm3, steel)
    weights = [mass_as_cut_g(layout, sheet, one, b.knife) for one, b in zip(sheet.laid, blanks, strict=True) if b.knife]
    holes = [hole_diameters(blank) for blank in blanks]
    return SheetFigures(
        yielded=cut / whole,
        without_offcuts=cut / max(whole - saved, 1e-9),
        used_mm=layout.used_mm(sheet),
        stock_g=stock_g,
        blanks_g=sum(weights) if len(weights) == len(blanks) else None,
        offcuts_g=offcuts_g,
        cut_mm=sum(b.outline.perimeter_mm for b in blanks) + math.pi * sum(map(sum, holes)),
        pierces=len(blanks) + sum(map(len, holes)),
        cost=_cost(prices, stock_g, offcuts_g, saved_mm3 / volume, len(blanks)),
    )


def mass_as_cut_g(layout: Layout, sheet: Sheet, one: Laid, knife: Knife) -> float:
    """Return what a blank weighs as it is cut, as thick as its piece is where it lies [g].

    Args:
        layout: The layout.
        sheet: The piece.
        one: The blank.
        knife: The knife that it becomes.
    """
    piece = layout.job.pieces[sheet.piece]
    volume = volume_mm3(piece, layout.outline(one))
    for made in knife.holes:
        if made.made.cut_diameter_mm is not None:
            x, y = one.pose.points(np.array([[made.hole.x_mm, made.hole.y_mm]]))[0].tolist()
            volume -= volume_mm3(piece, round_zone(x, y, made.made.cut_diameter_mm))
    return _weight_g(volume, knife.material)


def _weight_g(mm3: float, steel: Material) -> float:
    return mm3 * steel.density_kg_m3.value * _KG_MM3 * _G


def hole_diameters(blank: Blank) -> list[float]:
    """Return the diameters of the holes that are cut [mm]."""
    if blank.knife is None:
        return []
    return [h.made.cut_diameter_mm for h in blank.knife.holes if h.made.cut_diameter_mm is not None]


def _cost(
    prices: Prices | None, stock_g: float | None, offcuts_g: float | None, saved: float, count: int
) -> float | None:
    """Return what a piece costs: what is saved as an offcut is not paid for by this job."""
    if prices is None or (prices.stock is None and prices.cutting is None):
        return None
    total = (prices.cutting or 0.0) * count
    if prices.stock is not None:
        amount, per = prices.stock
        if per == "piece":
            total += amount * (1 - saved)
        elif stock_g is None or offcuts_g is None:
            return None
        else:
            total += amount * (stock_g - offcuts_g) / _G
    return total


def total_cost(figures: Mapping[int, SheetFigures]) -> float | None:
    """Return what all pieces cost together; None where one has no cost."""
    costs = [one.cost for one in figures.values()]
    return None if not costs or any(cost is None for cost in costs) else sum(c for c in costs if c is not None)
