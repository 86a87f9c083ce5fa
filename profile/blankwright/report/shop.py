"""What a shop wants to know, as data: the figures of the cover note, and no others."""

from __future__ import annotations

from typing import Any

from blankwright.cutting.covernote import kerf_words
from blankwright.cutting.delivery import Delivery
from blankwright.cutting.order import CALL, SentFile, part_figures
from blankwright.shop.tolerance import Tolerance


def shop_table(sent: Delivery, file: SentFile | None) -> dict[str, Any]:
    """Return the figures of a cover note.

    Args:
        sent: The delivery.
        file: The cutting file, read back; None when none was written.
    """
    figures, knife, path = part_figures(sent), sent.knife, sent.path
    long, high = knife.cut.size_mm
    layers = [{"name": one.name, "use": one.use, "holds": one.holds} for one in file.layers] if file else None
    return {
        "file": file.name if file else None,
        "full_name": file.full_name if file else None,
        "layers": layers,
        "file_size_mm": list(file.size_mm) if file else None,
        "unit": sent.style.unit,
        "quantity": sent.quantity,
        "part_size_mm": [long, high, knife.stock_mm],
        "part_tolerance": _tolerance(figures.part_tolerance),
        "hole_tolerance": _tolerance(figures.hole_tolerance),
        "edges": {"words": figures.edges, "status": "common practice"},
        "grain": {"along": "x", "why": figures.along, "status": "common practice"} if figures.along else None,
        "mass_g": figures.mass_g,
        "mass_all_g": figures.mass_g * sent.quantity,
        "cut_mm": figures.cut_mm,
        "cut_all_mm": figures.cut_mm * sent.quantity,
        "pierces": figures.pierces,
        "pierces_all": None if figures.pierces is None else figures.pierces * sent.quantity,
        "tightest_inside_mm": figures.inside_mm,
        "kerf": {"in_file_mm": path.kerf_mm if path else 0.0, "words": kerf_words(sent)},
        "if_it_does_not_fit": CALL,
    }


def _tolerance(one: Tolerance | None) -> dict[str, Any] | None:
    if one is None:
        return None
    return {"plus_minus_mm": one.plus_minus_mm, "source": one.source, "status": one.status}
