"""What goes to the shop: the file in its style, the cutter's path, the cover note, and what the shop cannot make."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from blankwright.base.errors import DesignError, RequestError
from blankwright.base.finding import Finding, finding
from blankwright.base.frozen import dataclass
from blankwright.base.said import exact_mm, mm, said
from blankwright.base.units import decimals_apart, show_mm
from blankwright.cutting.corners import tightest_inside
from blankwright.cutting.style import PLAIN, FileStyle
from blankwright.cutting.tolerances import tolerance_findings
from blankwright.design.sizes import SAME_MM
from blankwright.design.tang import edge_distance_mm
from blankwright.geometry.outline import Outline
from blankwright.knife.blank import cut_outline
from blankwright.knife.knife import Knife

if TYPE_CHECKING:
    from blankwright.cutting.path import CutterPath
    from blankwright.shop.allowance import Allowance
    from blankwright.shop.services import Service


@dataclass(frozen=True, eq=False)
class Delivery:
    """A knife as one shop wants it.

    Args:
        knife: The knife; its holes are made as this shop makes them.
        style: How the file is written.
        outline: The outline in the file: the cut outline, in chords where the shop wants those, or the cutter's path.
        path: The cutter's path, on one's own table.
        quantity: How many parts are wanted.
        findings: What this shop cannot make well.
    """

    knife: Knife
    style: FileStyle
    outline: Outline
    path: CutterPath | None
    quantity: int
    findings: tuple[Finding, ...]

    @property
    def service(self) -> Service | None:
        """Who cuts; None for the plain file."""
        return self.knife.service

    @property
    def size_mm(self) -> tuple[float, float]:
        """Length and height of the part itself [mm]: as cut, or finished where that line is in the file."""
        finished = self.outline is self.knife.finished
        return (self.knife.finished if finished else self.knife.cut).size_mm

    @property
    def drawn_holes(self) -> tuple[tuple[float, float, float | None], ...]:
        """x, y and diameter [mm] of every hole as it is cut, None for a mark; a path has them among its passes."""
        return tuple((h.hole.x_mm, h.hole.y_mm, h.made.cut_diameter_mm) for h in self.knife.holes)


def deliver(knife: Knife, quantity: int = 1) -> Delivery:
    """Fit a knife to what its shop wants.

    Args:
        knife: The knife, with its service.
        quantity: How many parts are wanted.

    Raises:
        RequestError: The blank is bought, the service has no row for this thickness, or the quantity cannot be.
        DesignError: An allowance is less than the cut may take, or the cutter's path does not go round this outline.
    """
    if not 1 <= quantity <= 999:
        raise RequestError(f"--quantity: {quantity} is out of range. Allowed: 1 to 999.")
    service, oversize = knife.service, knife.oversize  # a bought blank is told at once
    check_allowance(oversize)
    if service is None:
        return Delivery(knife, PLAIN, knife.cut, None, quantity, ())
    thickness = knife.stock_mm
    limit = service.limit_for(thickness)
    if limit is None:
        most = service.limits[-1].up_to_mm
        raise RequestError(
            f"{service.name}: its file has limits for stock up to {most:g} mm, not for {thickness:g} mm. "
            "Add a row to a copy of it."
        )
    path = _path(knife, service)
    findings = (
        *_corners(knife, service, limit.smallest_corner_mm),
        *_walls(knife, service, limit.smallest_wall_mm),
        *tolerance_findings(knife),
    )
    outline = path.outline if path else _drawn(knife, service.deviation_mm)
    return Delivery(knife, style_of(service), outline, path, quantity, findings)


def check_allowance(oversize: Allowance) -> None:
    """Refuse an allowance that the cut may take whole; the file would fail its proof, so it is not written.

    Raises:
        DesignError: The cut may take all of it somewhere.
    """
    short = [r for r, asked in oversize.regions_mm.items() if asked < oversize.loss_mm[r] - SAME_MM]
    if short:
        pairs = [(r, oversize.regions_mm[r], oversize.loss_mm[r]) for r in short]
        each = ", ".join(
            f"{r} {show_mm(asked, digits=decimals_apart(asked, loss))} where the cut may take {show_mm(loss)}"
            for r, asked, loss in pairs
        )
        raise DesignError(
            f"[allowance] {each}: the part can come out too small. Ask for more than that, or choose a finer process "
            f"than {oversize.process}."
        )


def _path(knife: Knife, service: Service) -> CutterPath | None:
    """Return the way of the cutter's middle on one's own table."""
    if service.table is None:
        return None
    from blankwright.cutting.path import cutter_path  # noqa: PLC0415 - a plain file has no path

    circles = [
        (h.hole.x_mm, h.hole.y_mm, h.made.cut_diameter_mm) for h in knife.holes if h.made.cut_diameter_mm is not None
    ]
    # a path is laid around the outline before rounding, whose pieces are tangent: a corner of a hair would open there
    smooth = cut_outline(knife.shape.smooth, knife.oversize.regions_mm, rounded=False).outline
    return cutter_path(smooth, circles, service.table)


def _drawn(knife: Knife, deviation_mm: float | None) -> Outline:
    """Return the outline as it is drawn: arcs, or chords that are nowhere nearer to the knife than the arcs."""
    if deviation_mm is None:
        return knife.cut
    further = {region: mm + deviation_mm for region, mm in knife.oversize.regions_mm.items()}
    points = cut_outline(knife.shape.smooth, further).outline.flattened(deviation_mm)
    return Outline(np.column_stack([points, np.zeros(len(points))]))


def style_of(service: Service) -> FileStyle:
    """Return how a service wants a file to be written."""
    return FileStyle(
        release=service.release,
        unit=service.unit,
        exploded=service.contours == "exploded",
        deviation_mm=service.deviation_mm,
        cut_layer=service.cut_layer,
        mark_layer=service.mark_layer,
        marks=service.holes in ("cut and mark", "mark only"),
        unit_in_header=service.unit_in_header,
        etch_layer=service.etch_layer,
    )


def _corners(knife: Knife, service: Service, least_mm: float) -> list[Finding]:
    """Say where an inner corner is tighter than the shop can cut."""
    inside = tightest_inside(knife.cut)
    if inside is None or inside.radius_mm >= least_mm:
        return []
    name, least = service.title, exact_mm(least_mm)
    if inside.radius_mm:
        words = "The tightest inner corner has a radius of {}; {} makes no less than {}."
        text = said(words, mm(inside.radius_mm), name, least)
    else:
        text = said("The inner corner is sharp; {} makes no less than a radius of {}.", name, least)
    return [finding("SERVICE-CORNER", text, inside.at_mm, "warning")]


def _walls(knife: Knife, service: Service, least_mm: float) -> list[Finding]:
    """Say where a hole that is cut stands too near to the cut edge."""
    out = []
    for h in knife.holes:
        if h.made.cut_diameter_mm is None:
            continue
        wall = edge_distance_mm(knife.cut, h.hole) - h.made.cut_diameter_mm / 2
        if wall < least_mm:
            text = said(
                "The {} hole at x = {} leaves {} to the cut edge; {} wants {}.",
                h.hole.purpose, mm(h.hole.x_mm, 1), mm(wall), service.title, exact_mm(least_mm),
            )  # fmt: skip
            out.append(finding("SERVICE-WALL", text, (h.hole.x_mm, h.hole.y_mm), "warning"))
    return out
