"""What a maker should know about a design before steel is cut: dimensions, curve health, holes, hand, allowance."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from blankwright.base.finding import Figure, Finding, Level, finding
from blankwright.base.said import Spot, exact_mm, mm, said
from blankwright.design.check import wrong
from blankwright.design.shape import Shape
from blankwright.design.tang import EDGE_FACTOR_PREFERRED, Hole, edge_distance_mm
from blankwright.geometry.fairness import SEEN_MM
from blankwright.geometry.offset import Parallel
from blankwright.geometry.outline import Outline
from blankwright.knife.grind_rules import block_findings, grind_findings
from blankwright.knife.handle import Handle, drawn_above_board, for_the_board, knuckle_room_mm, lowest_of_handle
from blankwright.shop.allowance import Allowance
from blankwright.shop.hand import finger_room, grip_over_breadth, percentile_hand
from blankwright.solid.ground import Ground

if TYPE_CHECKING:
    from blankwright.design.lifted import Lifted

PROMISE_MM = 1e-6
"""Asked dimensions hold to this."""

TOOTHED = 6
"""An edge with so many hollows was made so."""

KNOWN_MM = 0.01
"""Nothing that was measured is known better than this."""

ON_BOARD_MM = 0.05
"""A handle this little below the board line lifts no heel that anyone sees."""

AT_HEEL_MM = 0.5
"""A straight that begins nearer than this begins at the heel."""

LEAST_NOTCH_RADIUS_MM = 3.0
"""A drum or round file of 6 mm is the smallest that grinds a notch (common practice)."""

LEAST_SHOULDER_RADIUS_MM = 1.5
"""Below this an inner corner is where a tang breaks (common practice)."""

DESIGN_CODES: dict[str, str] = {
    "DIMENSIONS": "Every asked dimension is reached, and every one measures the same on the arcs that are cut.",
    "RANGE": "Dimensions that followed are within the family's range.",
    "EDGE-BUMP": "The edge curves steadily: it nowhere bends less and then more again.",
    "NOTCH-RADIUS": "Tightest inner bend of the outline, which a wheel must reach.",
    "HOLE-EDGE": "Holes are far enough from the finished edge of the tang.",
    "GRIND": "The grind cuts through nowhere, and the edge is left as thick as hardening, or wood, wants.",
    "HARDNESS": "A hardness that is wished for stands in the temper chart of the steel.",
    "START": "What the work begins with, found steel or a bar to forge, holds the knife after its losses.",
    "PIN-PLAY": "The rod has the play in the holes of a blank that its fit wants.",
    "HANDLE-BOARD": "The handle of a knife for the board hangs nowhere below the board line.",
    "BLOCK-WALL": "Wood around a hidden tang inside its block.",
    "PAPER": "Every paper could be written.",
    "ALLOWANCE": "The allowance covers what the cut may take.",
    "ALLOWANCE-MERGED": "The cut outline closes a notch or loses an inner bend.",
}
"""Code -> one line of what is checked; `findings.CODES` has those of the written file."""

FIGURE_CODES: dict[str, str] = {
    "EDGE-FLAT": "Length of the straight part of the edge, from the heel.",
    "BELLY-RADIUS": "Tightest bend of the edge.",
    "GRIP": "Handle length against a broad hand.",
    "KNUCKLES": "Room under the handle for the knuckles on a board.",
}
"""Code -> one line of what a figure tells; a figure cannot be wrong."""

BLANK_FIGURES: dict[str, str] = {
    "LIFTED": "What outline and holes of a blank were measured on, and what they may be off.",
    "ROD": "The rod that goes through the holes of a blank.",
}
"""The same, of a blank that exists."""


def design_findings(
    shape: Shape,
    holes: Sequence[Hole],
    ground: Ground,
    handle: Handle | None,
    oversize: Allowance | None,
    outward: Parallel | None,
    *,
    wooden: bool,
) -> list[Finding]:
    """Return everything the rules say about a design.

    Args:
        shape: The solved shape.
        holes: Its holes.
        ground: How the blade is ground.
        handle: Its handle, or None for a hidden tang whose block is not described.
        oversize: The allowance; None for a bought blank.
        outward: The cut outline and what happened on the way to it; None for a bought blank.
        wooden: Whether the blade is of wood.
    """
    return [
        *_dimensions(shape),
        *_edge(shape),
        *_notch(shape),
        *_holes(shape, holes),
        *_above_board(shape, handle),
        *block_findings(shape, handle),
        *grind_findings(shape.edge_line, ground, wooden=wooden),
        *(_allowance(oversize.regions_mm, oversize.loss_mm) if oversize else ()),
        *(_merged(shape, outward.others, outward.collapsed) if outward else ()),
    ]


def design_figures(shape: Shape, handle: Handle | None) -> list[Figure]:
    """Return what is worth knowing of a design and cannot be wrong: how its edge runs and how it lies in the hand.

    Args:
        shape: The solved shape.
        handle: Its handle, or None for a hidden tang whose block is not described.
    """
    health = shape.edge_health
    flat, seen = health.longest_flat_mm, _seen(shape)
    straight = Figure("EDGE-FLAT", said("No part of the edge is straight; it rocks all along."))
    if seen:
        text = said("How far the edge is straight, what was seen of it does not tell: lay the blade on a flat board.")
        straight = Figure("EDGE-FLAT", text)
    elif flat > 0:
        begin = health.flat_from_mm[0]
        text = said("The edge is straight for {} from ", mm(flat, 1))
        text = text.then("the heel.") if begin < AT_HEEL_MM else text.then("{} ahead of the heel.", mm(begin, 1))
        straight = Figure("EDGE-FLAT", text, health.flat_from_mm)
    bend = said("The edge is drawn as straight lines with corners between them.")
    if math.isfinite(health.least_radius_mm):
        about = "Tightest bend of the edge: radius about {}, {} from the heel." if seen else (
            "Tightest bend of the edge: radius {}, {} from the heel."
        )  # fmt: skip
        bend = said(about, mm(health.least_radius_mm, 0), mm(health.least_at_mm[0], 0))
    found = [straight, Figure("BELLY-RADIUS", bend, health.least_at_mm), _grip(shape), _knuckles(shape, handle)]
    return found if shape.there is None else [_lifted(shape.there), *found]


def _lifted(there: Lifted) -> Figure:
    """Say what a blank was measured on, and how well it is known."""
    off = exact_mm(max(round(there.within_mm, 2), KNOWN_MM))
    text = said("Outline and holes are those of {}: a place may be off by {}, in 95 of 100 cases.", there.source, off)
    return Figure("LIFTED", text)


def _grip(shape: Shape) -> Figure:
    length = shape.values_mm["handle_length"]
    men, women = (percentile_hand(f"{sex} 50").breadth_mm for sex in ("men", "women"))
    text = said(
        "Handle {}: serves a hand up to {} broad (half of men have {} or less, half of women {}; ANSUR II, 2012).",
        mm(length, 0), mm(length - grip_over_breadth().low, 0), exact_mm(men), exact_mm(women),
    )  # fmt: skip
    return Figure("GRIP", text)


def _knuckles(shape: Shape, handle: Handle | None) -> Figure:
    room, wanted = knuckle_room_mm(shape, handle), finger_room()
    if room is None:
        text = said("Room for the knuckles depends on the handle's block, which is not drawn.")
    elif room <= 0:
        text = said("Halfway along, the handle reaches down to the board: a knife for the hand, not for the board.")
    else:
        text = said("Halfway along the handle its underside is {} above the board", mm(room, 0))
        need = mm(wanted.low, 0, upto=wanted.high)
        if not for_the_board(room):
            text = text.then(", less than the {} knuckles need (rule of thumb): a knife for the hand.", need)
        else:
            text = text.then("; knuckles need {} (rule of thumb).", need)
    return Figure("KNUCKLES", text)


def _dimensions(shape: Shape) -> list[Finding]:
    worst = max((abs(s.value_mm - s.asked_mm) for s in shape.solved if s.asked_mm is not None), default=0.0)
    out = []
    if worst > PROMISE_MM:
        out.append(finding("DIMENSIONS", said("Asked dimensions miss by {}.", mm(worst, 6))))
    for one in wrong(shape):
        text = one.line.then(" on the arcs, which can tell it to {}. ", mm(one.within_mm, 3))
        text = text.then("The drawing is not the knife that is reported: do not cut it; ")
        out.append(finding("DIMENSIONS", text.then("judge its family with blankwright families FILE.")))
    if not out and shape.there is not None:
        out = [finding("DIMENSIONS", "All dimensions are measured on the outline of the blank.", level="ok")]
    if not out:
        text = said("Asked dimensions hold to {}, and all of them measure the same on the arcs.", mm(worst, 6))
        out = [finding("DIMENSIONS", text, level="ok")]
    for s in shape.solved:
        d = s.dimension
        if s.asked_mm is None and not d.measured and not d.least_mm - 1e-3 <= s.value_mm <= d.greatest_mm + 1e-3:
            text = said(f"{d.key} followed to {{}}, outside the family's {{}}.", mm(s.value_mm),
                        mm(d.least_mm, upto=d.greatest_mm))  # fmt: skip
            out.append(finding("RANGE", text, level="warning"))
    return out


def _edge(shape: Shape) -> list[Finding]:
    health = shape.edge_health
    if shape.there is not None and len(health.hollows_mm) >= TOOTHED:
        text = said(
            "The edge has {} hollows, scallops or teeth: no stone reaches into them. Sharpen each with a round rod.",
            str(len(health.hollows_mm)),
        )  # fmt: skip
        return [finding("EDGE-BUMP", text, health.hollows_mm[0], "warning")]
    bump = "The edge has a bump near {} from the heel: it bends less there than on both sides."
    hollow = "The edge turns hollow at {} from the heel."
    out = [
        finding("EDGE-BUMP", said(words, mm(x, 0)), (x, y), "warning")
        for words, places in ((bump, health.bumps_mm), (hollow, health.hollows_mm))
        for x, y in places
    ]
    if out:
        return out
    if shape.there is not None and _seen(shape):
        text = said(
            "No hollow deeper than {} is seen on the edge; feel for bumps with a thumb.", mm(shape.there.within_mm)
        )
        return [finding("EDGE-BUMP", text, level="ok")]
    steady = "The edge curves steadily, without bump or hollow."
    if math.isinf(health.least_radius_mm):
        steady = "An edge of straight lines is not looked at for bumps."
    return [finding("EDGE-BUMP", steady, level="ok")]


def _seen(shape: Shape) -> bool:
    """Whether the outline is known no better than a picture or measured points tell it."""
    return shape.there is not None and shape.there.within_mm > SEEN_MM


def _notch(shape: Shape) -> list[Finding]:
    """Judge inner bends that are still to be made; those of a blank are there."""
    if shape.there is not None:
        return []
    outline = shape.finished
    notch = np.array([r == "heel" for r in outline.regions])
    out = _inner_bend(outline, notch, LEAST_NOTCH_RADIUS_MM, "of the notch")
    if shape.construction == "hidden":
        out += _inner_bend(outline, ~notch, LEAST_SHOULDER_RADIUS_MM, "at the shoulders")
    return out


def _inner_bend(outline: Outline, where: NDArray[np.bool_], need: float, name: str) -> list[Finding]:
    inner = np.flatnonzero((outline.curvatures < -1e-9) & where)
    if not len(inner):
        return [finding("NOTCH-RADIUS", f"No inner bend {name}.", level="ok")]
    at = int(inner[np.argmin(outline.curvatures[inner])])
    radius = -1 / float(outline.curvatures[at])
    text = said(f"Tightest inner bend {name}: radius {{}}.", mm(radius, 1))
    level: Level = "ok"
    if radius < need - 0.01:
        level = "warning"
        text = text.then(" A drum or file below {} is hard to find; make it wider.", exact_mm(2 * need))
    return [finding("NOTCH-RADIUS", text, outline.starts[at], level)]


def _above_board(shape: Shape, handle: Handle | None) -> list[Finding]:
    """Say where a handle hangs below the board line, unless its family is drawn so: a knife for the hand alone."""
    if not drawn_above_board(shape.family) or (handle is None and shape.construction == "hidden"):
        return []
    (x, y), near = lowest_of_handle(shape, handle), max(shape.tolerance_mm, ON_BOARD_MM)
    if y >= -near:
        return [finding("HANDLE-BOARD", said("The handle stays {} above the board line.", mm(y, 1)), level="ok")]
    text = said("The handle hangs {} below the board line: with the edge on a board its heel is in the air. Use a "
                "higher heel, or a handle that is less high at its butt.", mm(-y, 1))  # fmt: skip
    return [finding("HANDLE-BOARD", text, (x, y), "warning")]


def _holes(shape: Shape, holes: Sequence[Hole]) -> list[Finding]:
    out = []
    for hole in holes:
        edge = edge_distance_mm(shape.finished, hole)
        if shape.there is None and hole.purpose != "lightening" and edge < EDGE_FACTOR_PREFERRED * hole.diameter_mm:
            text = said(
                f"The {hole.purpose} hole at x = {{}} is {edge / hole.diameter_mm:.2f} diameters from the finished "
                f"edge; {EDGE_FACTOR_PREFERRED:g} is preferred.", mm(hole.x_mm, 1),
            )  # fmt: skip
            out.append(finding("HOLE-EDGE", text, (hole.x_mm, hole.y_mm), "warning"))
    if holes and not out:
        least = min(edge_distance_mm(shape.finished, h) for h in holes)
        text = said("Hole centres are at least {} from the finished edge.", mm(least))
        out.append(finding("HOLE-EDGE", text, level="ok"))
    return out


def _allowance(regions_mm: Mapping[str, float], loss_mm: Mapping[str, float]) -> list[Finding]:
    short = [r for r in regions_mm if regions_mm[r] <= loss_mm[r]]
    if not short:
        left = min(regions_mm[r] - loss_mm[r] for r in regions_mm)
        text = said("After all the cut may take, at least {} is left to finish.", mm(left))
        return [finding("ALLOWANCE", text, level="ok")]
    words = "Allowance of the {} is {}, but the cut may take {}: the part can come out too small."
    return [finding("ALLOWANCE", said(words, r, mm(regions_mm[r]), mm(loss_mm[r])), level="warning") for r in short]


def _merged(shape: Shape, pockets: Sequence[Outline], collapsed: Sequence[int]) -> list[Finding]:
    closes = "The allowance closes a notch near {}; open it by hand."
    wider = "The allowance is wider than an inner bend near {}; more is left there than asked."
    told = [(closes, pocket.centroid_mm) for pocket in pockets]
    told += [(wider, (float(x), float(y))) for x, y in shape.finished.starts[list(collapsed[:1])]]
    return [finding("ALLOWANCE-MERGED", said(words, Spot(*at, 0)), at, "warning") for words, at in told]
