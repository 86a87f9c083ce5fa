"""What a maker should know about a design before steel is cut: dimensions, curve health, holes, hand, allowance."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from blankwright.base.finding import Finding, Level
from blankwright.base.units import show_mm
from blankwright.design.check import wrong
from blankwright.design.solve import Shape
from blankwright.design.sound import edge_fairness
from blankwright.design.tang import EDGE_FACTOR_PREFERRED, Hole, chord_at, edge_distance_mm
from blankwright.geometry.offset import Parallel
from blankwright.geometry.outline import Outline
from blankwright.knife.grind_rules import block_findings, grind_findings
from blankwright.knife.handle import Handle
from blankwright.shop.allowance import Allowance
from blankwright.shop.hand import finger_room, grip_over_breadth, percentile_hand
from blankwright.solid.ground import Ground

PROMISE_MM = 1e-6
"""Asked dimensions hold to this."""

LEAST_NOTCH_RADIUS_MM = 3.0
"""A drum or round file of 6 mm is the smallest that grinds a notch (common practice)."""

LEAST_SHOULDER_RADIUS_MM = 1.5
"""Below this an inner corner is where a tang breaks (common practice)."""

DESIGN_CODES: dict[str, str] = {
    "DIMENSIONS": "Every asked dimension is reached, and every one measures the same on the arcs that are cut.",
    "RANGE": "Dimensions that followed are within the family's range.",
    "EDGE-BUMP": "The edge curves steadily: it nowhere bends less and then more again.",
    "EDGE-FLAT": "Length of the true straight of the edge.",
    "BELLY-RADIUS": "Tightest bend of the edge.",
    "NOTCH-RADIUS": "Tightest inner bend of the outline, which a wheel must reach.",
    "HOLE-EDGE": "Holes are far enough from the finished edge of the tang.",
    "KNUCKLES": "Room under the handle for the knuckles on a board.",
    "GRIP": "Handle length against a broad hand.",
    "GRIND": "The grind cuts through nowhere, and the edge is left as thick as hardening wants.",
    "BLOCK-WALL": "Wood around a hidden tang inside its block.",
    "PAPER": "Every paper could be written.",
    "ALLOWANCE": "The allowance covers what the cut may take.",
    "ALLOWANCE-MERGED": "The cut outline closes a notch or loses an inner bend.",
}
"""Code -> one line of what it is about; `findings.CODES` has those of the written file."""


def design_findings(
    shape: Shape,
    holes: Sequence[Hole],
    ground: Ground,
    handle: Handle | None,
    oversize: Allowance | None,
    outward: Parallel | None,
) -> list[Finding]:
    """Return everything the rules say about a design.

    Args:
        shape: The solved shape.
        holes: Its holes.
        ground: How the blade is ground.
        handle: Its handle, or None for a hidden tang whose block is not described.
        oversize: The allowance; None for a bought blank.
        outward: The cut outline and what happened on the way to it; None for a bought blank.
    """
    return [
        *_dimensions(shape),
        *_edge(shape),
        *_notch(shape),
        *_holes(shape, holes),
        *_hand(shape, handle),
        *block_findings(shape, handle),
        *grind_findings(shape.finished, ground),
        *(_allowance(oversize.regions_mm, oversize.loss_mm) if oversize else ()),
        *(_merged(shape, outward.others, outward.collapsed) if outward else ()),
    ]


def _dimensions(shape: Shape) -> list[Finding]:
    worst = max((abs(s.value_mm - s.asked_mm) for s in shape.solved if s.asked_mm is not None), default=0.0)
    out = []
    if worst > PROMISE_MM:
        out.append(Finding("DIMENSIONS", "error", f"Asked dimensions miss by {worst:.1e} mm.", None))
    out += [
        Finding(
            "DIMENSIONS", "error",
            f"{one.words} on the arcs, which can tell it to {one.within_mm:.3f} mm. The drawing is not the knife that "
            "is reported: do not cut it; judge its family with blankwright families FILE.", None,
        )
        for one in wrong(shape)
    ]  # fmt: skip
    if not out:
        text = f"Asked dimensions hold to {worst:.1e} mm, and all of them measure the same on the arcs."
        out = [Finding("DIMENSIONS", "ok", text, None)]
    for s in shape.solved:
        d = s.dimension
        if s.asked_mm is None and not d.least_mm - 1e-3 <= s.value_mm <= d.greatest_mm + 1e-3:
            out.append(
                Finding(
                    "RANGE", "warning",
                    f"{d.key} followed to {show_mm(s.value_mm)}, outside the family's {show_mm(d.least_mm)} to "
                    f"{show_mm(d.greatest_mm)}.", None,
                )
            )  # fmt: skip
    return out


def _edge(shape: Shape) -> list[Finding]:
    health = edge_fairness(shape)
    out = [
        Finding(
            "EDGE-BUMP",
            "warning",
            f"The edge has a bump near {x:.0f} mm from the heel: it bends less there than on both sides.",
            (x, y),
        )
        for x, y in health.bumps_mm
    ]
    out += [
        Finding("EDGE-BUMP", "warning", f"The edge turns hollow at {x:.0f} mm from the heel.", (x, y))
        for x, y in health.hollows_mm
    ]
    if not out:
        out = [Finding("EDGE-BUMP", "ok", "The edge curves steadily, without bump or hollow.", None)]
    flat = health.longest_flat_mm
    text = (
        f"The edge is truly straight for {flat:.1f} mm."
        if flat > 0
        else "The edge has no true straight; it rocks all along."
    )
    out.append(Finding("EDGE-FLAT", "ok", text, health.flat_from_mm if flat > 0 else None))
    x = health.least_at_mm[0]
    out.append(
        Finding(
            "BELLY-RADIUS",
            "ok",
            f"Tightest bend of the edge: radius {health.least_radius_mm:.0f} mm, {x:.0f} mm from the heel.",
            health.least_at_mm,
        )
    )
    return out


def _notch(shape: Shape) -> list[Finding]:
    outline = shape.finished
    notch = np.array([r == "heel" for r in outline.regions])
    out = _inner_bend(outline, notch, LEAST_NOTCH_RADIUS_MM, "of the notch")
    if shape.construction == "hidden":
        out += _inner_bend(outline, ~notch, LEAST_SHOULDER_RADIUS_MM, "at the shoulders")
    return out


def _inner_bend(outline: Outline, where: NDArray[np.bool_], need: float, name: str) -> list[Finding]:
    inner = np.flatnonzero((outline.curvatures < -1e-9) & where)
    if not len(inner):
        return [Finding("NOTCH-RADIUS", "ok", f"No inner bend {name}.", None)]
    at = int(inner[np.argmin(outline.curvatures[inner])])
    radius = -1 / float(outline.curvatures[at])
    place = (float(outline.starts[at, 0]), float(outline.starts[at, 1]))
    level: Level = "ok" if radius >= need - 0.01 else "warning"
    advice = "" if level == "ok" else f" A drum or file below {2 * need:g} mm is hard to find; make it wider."
    return [Finding("NOTCH-RADIUS", level, f"Tightest inner bend {name}: radius {radius:.1f} mm.{advice}", place)]


def _holes(shape: Shape, holes: Sequence[Hole]) -> list[Finding]:
    out = []
    for hole in holes:
        edge = edge_distance_mm(shape.finished, hole)
        place = (hole.x_mm, hole.y_mm)
        if hole.purpose != "lightening" and edge < EDGE_FACTOR_PREFERRED * hole.diameter_mm:
            text = f"The {hole.purpose} hole at x = {hole.x_mm:.1f} mm is {edge / hole.diameter_mm:.2f} diameters "
            text += f"from the finished edge; {EDGE_FACTOR_PREFERRED:g} is preferred."
            out.append(Finding("HOLE-EDGE", "warning", text, place))
    if holes and not out:
        least = min(edge_distance_mm(shape.finished, h) for h in holes)
        out.append(
            Finding("HOLE-EDGE", "ok", f"Hole centres are at least {show_mm(least)} from the finished edge.", None)
        )
    return out


def _hand(shape: Shape, handle: Handle | None) -> list[Finding]:
    length = shape.values_mm["handle_length"]
    palm = length - grip_over_breadth().low
    men, women = (percentile_hand(f"{sex} 50").breadth_mm for sex in ("men", "women"))
    grip = f"Handle {show_mm(length, digits=0)}: serves a hand up to {palm:.0f} mm broad (half of men have "
    grip += f"{men:g} mm or less, half of women {women:g} mm; ANSUR II, 2012)."
    return [Finding("GRIP", "ok", grip, None), _knuckles(shape, handle)]


def _knuckles(shape: Shape, handle: Handle | None) -> Finding:
    middle = (shape.front_x_mm + shape.butt_x_mm) / 2
    if handle is not None and handle.kind == "block":
        chord = chord_at(handle.outline, middle)
    else:
        chord = chord_at(shape.finished, max(middle, shape.tang_end_x_mm + 1.0))
    room = chord[0] if chord else 0.0
    if shape.construction == "hidden" and handle is None:
        text = "Room for the knuckles depends on the handle's block, which is not drawn."
    elif room > 0:
        text = f"Halfway along the handle its underside is {show_mm(room, digits=0)} above the board; "
        room_for = finger_room()
        text += f"knuckles want {room_for.low:g} to {room_for.high:g} mm."
    else:
        text = "Halfway along, the handle reaches down to the board: a knife for the hand, not for the board."
    return Finding("KNUCKLES", "ok", text, None)


def _allowance(regions_mm: Mapping[str, float], loss_mm: Mapping[str, float]) -> list[Finding]:
    short = [r for r in regions_mm if regions_mm[r] <= loss_mm[r]]
    if not short:
        left = min(regions_mm[r] - loss_mm[r] for r in regions_mm)
        return [
            Finding(
                "ALLOWANCE",
                "ok",
                f"After all the cut may take, at least {show_mm(left)} is left to finish.",
                None,
            )
        ]
    return [
        Finding(
            "ALLOWANCE", "warning",
            f"Allowance of the {r} is {show_mm(regions_mm[r])}, but the cut may take {show_mm(loss_mm[r])}: the part "
            "can come out too small.", None,
        )
        for r in short
    ]  # fmt: skip


def _merged(shape: Shape, pockets: Sequence[Outline], collapsed: Sequence[int]) -> list[Finding]:
    out = []
    for pocket in pockets:
        x, y = pocket.centroid_mm
        out.append(
            Finding(
                "ALLOWANCE-MERGED",
                "warning",
                f"The allowance closes a notch near ({x:.0f}, {y:.0f}) mm; open it by hand.",
                (x, y),
            )
        )
    if collapsed:
        x, y = shape.finished.starts[collapsed[0]]
        text = f"The allowance is wider than an inner bend near ({x:.0f}, {y:.0f}) mm; more is left there than asked."
        out.append(Finding("ALLOWANCE-MERGED", "warning", text, (float(x), float(y))))
    return out
