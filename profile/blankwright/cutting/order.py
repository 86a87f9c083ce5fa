"""What a shop wants to know of an order: layers, tolerances, edges, grain, weight, length of cut, inside corners."""

from __future__ import annotations

import math
from typing import Literal

from blankwright.base.finding import Finding, finding
from blankwright.base.frozen import dataclass
from blankwright.base.said import mm, said
from blankwright.cutting.corners import tightest_inside
from blankwright.cutting.delivery import Delivery
from blankwright.cutting.tolerances import cut_hole_tolerance, part_tolerance
from blankwright.knife.knife import Knife
from blankwright.shop.services import Service
from blankwright.shop.tolerance import Tolerance

Use = Literal["cut", "mark", "do not cut"]

NOT_CUT = {
    "FINISHED": "the finished line",
    "GRIND": "grind lines",
    "NOTES": "words",
}
"""Layers of ours that nobody cuts, and what is on them."""

CALL = "Call before changing anything."
"""What a shop is to do where something does not fit."""

EDGES = "Burr and dross off; no chamfer, no rounding: we work every edge."
WOOD_EDGES = "Leave them as cut: we work every edge."
"""What is done to the edges (common practice: a blank is worked on all sides)."""

_WOOD_ALONG = "wood breaks along its grain"


@dataclass(frozen=True)
class LayerUse:
    """A layer of the file and what is done with it.

    Args:
        name: As in the file.
        use: What is done with it.
        holds: What is on it, in words.
    """

    name: str
    use: Use
    holds: str


@dataclass(frozen=True)
class SentFile:
    """A file as it was written, read back.

    Args:
        name: What it is called.
        full_name: What it would be called if the shop took longer names.
        layers: Every layer with something on it.
        size_mm: Overall width and height of all that is cut [mm].
    """

    name: str
    full_name: str
    layers: tuple[LayerUse, ...]
    size_mm: tuple[float, float]


@dataclass(frozen=True)
class PartFigures:
    """What a shop wants to know of one part.

    Args:
        mass_g: Its weight as cut [g].
        cut_mm: Length of all cuts, with leads where the path has them [mm].
        pierces: How often the cutter starts; None where a hand cuts.
        inside_mm: Radius of the tightest inside corner [mm]; 0 for a sharp one, None where nothing is hollow.
        part_tolerance: How far off its size may be; None where nothing is known.
        hole_tolerance: How far off the diameter of a hole that is cut may be; None where nothing is known.
        holes_cut: How many holes are cut.
        along: Why grain or rolling direction run along the part (common practice); empty where nothing is known.
        wooden: Whether it is a board.
        forged: Whether it is cut from a forging, which has no rolling direction.
    """

    mass_g: float
    cut_mm: float
    pierces: int | None
    inside_mm: float | None
    part_tolerance: Tolerance | None
    hole_tolerance: Tolerance | None
    holes_cut: int
    along: str
    wooden: bool
    forged: bool

    @property
    def edges(self) -> str:
        """What is to be done to the edges, in words."""
        return WOOD_EDGES if self.wooden else EDGES

    @property
    def direction(self) -> str:
        """What the direction is called that a part has from how its material was made or grew."""
        return "Grain" if self.wooden else "Rolling direction"


def layer_use(name: str, cut_layer: str, mark_layer: str, etch_layer: str) -> tuple[Use, str]:
    """Return what is done with a layer, and what is on it where nobody cuts it.

    Args:
        name: As in the file.
        cut_layer: Layer of what is cut.
        mark_layer: Layer of the marks to drill at.
        etch_layer: Layer of what is marked and not cut.
    """
    if name.upper() == cut_layer.upper():
        return "cut", ""
    if name.upper() == mark_layer.upper():
        return "mark", "centres of holes that we drill"
    if name.upper() == etch_layer.upper():
        return "mark", "lines to mark, not to cut through"
    return "do not cut", NOT_CUT.get(name.upper(), "not part of the order")


def counted_words(shut: int, loose: int, holes: int) -> str:
    """Return what is on the layer that is cut.

    Args:
        shut: Closed contours.
        loose: Open cuts.
        holes: Round holes.
    """
    counts = ((shut, "closed contour"), (loose, "open cut"), (holes, "round hole"))
    return ", ".join(f"{count} {word}{'' if count == 1 else 's'}" for count, word in counts if count)


def by_machine(knife: Knife) -> bool:
    """Whether the cutting file drives the cutter."""
    return knife.process is None or knife.process.machine_cut


def part_figures(sent: Delivery) -> PartFigures:
    """Return what a shop wants to know of one part of a delivery."""
    knife, path = sent.knife, sent.path
    cut = [h.made.cut_diameter_mm for h in knife.holes if h.made.cut_diameter_mm is not None]
    length = path.run.cut_mm if path else sent.outline.perimeter_mm + math.pi * sum(cut)
    inside, forged = tightest_inside(knife.cut), knife.start.name == "forged"
    return PartFigures(
        mass_g=knife.cut_blank.mass_g,
        cut_mm=length,
        pierces=(len(path.passes) if path else 1 + len(cut)) if by_machine(knife) else None,
        inside_mm=inside.radius_mm if inside else None,
        part_tolerance=part_tolerance(knife),
        hole_tolerance=cut_hole_tolerance(knife, min(cut)) if cut else None,
        holes_cut=len(cut),
        along=_WOOD_ALONG if knife.material.kind == "wood" else "" if forged else knife.material.along,
        wooden=knife.material.kind == "wood",
        forged=forged,
    )


def layer_findings(file: SentFile, service: Service | None, least_mm: float | None) -> list[Finding]:
    """Say when a file for a shop holds layers that nobody cuts: some shops cut every layer.

    Args:
        file: The file, read back.
        service: Who cuts; nothing is said of the plain file.
        least_mm: How far inside the cut the finished line lies at least [mm], as measured; None where it was not.
    """
    more = [layer.name for layer in file.layers if layer.use == "do not cut"]
    if service is None or not more:
        return []
    words = "{} in the file and is not to be cut: the note says so, but some shops cut every layer."
    if len(more) > 1:
        words = "{} in the file and are not to be cut: the note says so, but some shops cut every layer."
    names = f"Layers {', '.join(more[:-1])} and {more[-1]} stand" if len(more) > 1 else f"Layer {more[0]} stands"
    text = said(words, names)
    if "FINISHED" in more and least_mm is not None:
        inside = " FINISHED is a closed contour {} inside the cut; cut as well, it spoils the part."
        text = said(words + inside, names, mm(least_mm))
    return [finding("SERVICE-LAYERS", text, level="warning")]
