"""What a maker should know about grind and handle block: cut through, edge too thin to harden, wood too thin."""

from __future__ import annotations

import numpy as np

from blankwright.base.errors import GeometryError
from blankwright.base.finding import Finding, finding
from blankwright.base.said import exact_mm, mm, said
from blankwright.design.block import wood_around_mm
from blankwright.design.shape import Shape
from blankwright.geometry.outline import Outline
from blankwright.knife.handle import Handle
from blankwright.shop.woodblades import wood_blade
from blankwright.solid.blade import lay_out
from blankwright.solid.ground import Ground
from blankwright.solid.section import cuts_through

LEAST_WALL_MM = 3.0
"""Thinner wood around a tang splits easily (common practice)."""

EDGE_LEAST_MM, EDGE_MOST_MM = 0.4, 1.2
"""An edge before hardening: thinner warps and burns, thicker is long to grind hard (common practice: 0.5 to 0.8 mm)."""


def block_findings(shape: Shape, handle: Handle | None) -> list[Finding]:
    """Say how much wood is left around a hidden tang; nothing without a block."""
    if handle is None or handle.kind != "block":
        return []
    walls = {
        "above or below the tang": (wood_around_mm(shape, handle.outline), "a higher block or a lower tang"),
        "beside the tang": ((handle.swell.thickness_mm - handle.slot_mm) / 2, "a wider block"),
    }
    out = [
        finding("BLOCK-WALL", said(words, mm(left), exact_mm(LEAST_WALL_MM)), level="warning")
        for words, left in (
            (f"Only {{}} of wood {where}; below {{}} it splits easily (common practice). Use {advice}.", left)
            for where, (left, advice) in walls.items()
        )
        if left < LEAST_WALL_MM - 1e-9
    ]
    if out:
        return out
    least = min(left for left, _ in walls.values())
    return [finding("BLOCK-WALL", said("At least {} of wood is left around the tang.", mm(least)), level="ok")]


def grind_findings(outline: Outline, ground: Ground, *, wooden: bool) -> list[Finding]:
    """Say whether the grind cuts through, and leaves an edge that can be hardened, or that holds in wood.

    Args:
        outline: The outline that is ground: of a scalloped edge the line of its points.
        ground: How the blade is ground.
        wooden: Whether it is of wood.
    """
    edge = _wooden_edge(ground) if wooden else _edge(ground)
    out = [*_through(outline, ground), *edge, *_thin(outline, ground)]
    return out or [finding("GRIND", "The grind cuts through nowhere.", level="ok")]


def _through(outline: Outline, ground: Ground) -> list[Finding]:
    """Say where a hollow cuts through."""
    if ground.bevels.wheel_mm is None:
        return []
    try:
        laid = lay_out(outline, ground.taper, [ground.bevels], ground.plunge)
    except GeometryError as error:
        return [finding("GRIND", f"Whether the hollow grind cuts through is not known: {error}.", level="warning")]
    begin = ground.plunge.at_mm if ground.plunge else 0.0
    ahead = laid.x > begin
    met = cuts_through(laid.height, ground.taper.at(laid.x), ground.bevels) & ahead
    if not met.any():
        return []
    first, last = float(laid.x[met].min()), float(laid.x[met].max())
    where = said("at {}", mm(first, 0)) if last - first < 1 else said("from {}", mm(first, 0, upto=last))
    text = said(
        f"The hollow grind cuts through {where.words} ahead of the heel. Use a larger wheel, a lower grind or thicker "
        "stock.", *where.values,
    )  # fmt: skip
    return [finding("GRIND", text, (first, float(laid.low[met][np.argmin(laid.x[met])])), level="warning")]


def _edge(ground: Ground) -> list[Finding]:
    if ground.before is None:
        return []
    left = ground.before.behind_edge_mm
    if EDGE_LEAST_MM - 1e-9 <= left <= EDGE_MOST_MM + 1e-9:
        return []
    how = "is thin: it may warp or burn in the quench" if left < EDGE_LEAST_MM else "is thick: much to grind off hard"
    text = said(f"The edge left {{}} before hardening {how}. Common practice: {{}}.", mm(left), mm(0.5, 1, upto=0.8))
    return [finding("GRIND", text, level="warning")]


def _wooden_edge(ground: Ground) -> list[Finding]:
    """Say when a wooden edge is thinner than wood holds."""
    least, edge = wood_blade().edge_mm, ground.bevels.behind_edge_mm
    if edge >= least.value - 1e-9:
        return []
    words = f"The wooden edge is {{}} thick: below {{}} it breaks out ({least.status}). Use a thicker behind_edge."
    return [finding("GRIND", said(words, mm(edge), exact_mm(least.value)), level="warning")]


def _thin(outline: Outline, ground: Ground) -> list[Finding]:
    """Say where the finished spine is thinner than the edge is left before hardening."""
    if ground.before is None:
        return []
    left, end = ground.before.behind_edge_mm, outline.bounds_mm[2]
    places = np.array([0.0, *(x for x in ground.taper.x_mm if 0 < x < end), end])
    thick = ground.taper.at(places)
    if float(thick.min()) >= left - 1e-9:
        return []
    at = float(places[int(np.argmin(thick))])
    text = said(
        "The spine thins to {} at {} ahead of the heel, thinner than the edge is left before hardening ({}). Thin it "
        "after hardening, or use a thicker tip_thickness.", mm(float(thick.min())), mm(at, 0), mm(left),
    )  # fmt: skip
    return [finding("GRIND", text, level="warning")]
