"""Where the holes go: pins along the middle of the tang, lightening holes between them, a lanyard hole.

Rules, all common practice: centre to the finished edge at least 1.5 times the hole (2 times preferred), a wall
of at least the stock's thickness and 2 mm, holes at least 2.5 diameters apart, the first pin at
least 8 mm behind the handle front.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from functools import lru_cache

import numpy as np

from blankwright.base.arrays import evenly
from blankwright.base.errors import DesignError
from blankwright.base.frozen import dataclass
from blankwright.base.units import show_mm
from blankwright.design.shape import Shape
from blankwright.geometry.clip import upright_crossings
from blankwright.geometry.distance import points_to_pieces
from blankwright.geometry.outline import Outline

EDGE_FACTOR = 1.5
EDGE_FACTOR_PREFERRED = 2.0
LEAST_WALL_MM = 2.0
PITCH_FACTOR = 2.5
FRONT_MM = 8.0

FRONT_SHARE, REAR_SHARE, ALONE_SHARE = 0.2, 0.76, 0.42
"""Our layout: first and last pin as a share of the tang behind the handle front; a single pin near its middle."""

LANYARD_FROM_END_MM = 9.0
"""Our layout: from the tang's end to the rim of the lanyard hole."""


@dataclass(frozen=True)
class Hole:
    """A round hole in the finished blank; purpose is "pin", "lightening" or "lanyard"."""

    x_mm: float
    y_mm: float
    diameter_mm: float
    purpose: str


def place_holes(
    shape: Shape,
    *,
    pin_count: int,
    pin_hole_mm: float,
    pin_positions_mm: Sequence[float],
    pin_spacing_mm: float | None,
    lightening_count: int,
    lightening_mm: float | None,
    lanyard_mm: float | None,
    thickness_mm: float,
) -> tuple[Hole, ...]:
    """Place all holes of a knife and check that they fit.

    Args:
        shape: The solved shape.
        pin_count: Number of pins, 0 to 4.
        pin_hole_mm: Finished pin hole in the tang [mm].
        pin_positions_mm: x of each pin by hand [mm]; empty to space them.
        pin_spacing_mm: Distance between neighbouring pins [mm], or None.
        lightening_count: Number of lightening holes.
        lightening_mm: Their diameter [mm]; needed when there are any.
        lanyard_mm: Diameter of the lanyard hole [mm], or None.
        thickness_mm: Thickness of the stock, for the least wall [mm].

    Raises:
        DesignError: A hole does not fit; the message says what would.
    """
    if shape.construction == "one-piece" and (pin_count or pin_positions_mm):
        raise DesignError("A one-piece knife has no pins: blade and handle are one board. Set pins.count=0.")
    stations = _pin_stations(shape, pin_count, pin_positions_mm, pin_spacing_mm)
    holes = [_on_middle(shape, x, pin_hole_mm, "pin") for x in stations]
    if lightening_count:
        if lightening_mm is None:
            raise DesignError("[tang] lightening_diameter is missing; give it with lightening_count, such as 8 mm.")
        holes += [
            _on_middle(shape, x, lightening_mm, "lightening") for x in _between(shape, stations, lightening_count)
        ]
    if lanyard_mm is not None:
        x = shape.tang_end_x_mm + LANYARD_FROM_END_MM + lanyard_mm / 2
        holes.append(_on_middle(shape, x, lanyard_mm, "lanyard"))
    holes.sort(key=lambda h: -h.x_mm)
    for hole in holes:
        _check_hole(shape, hole, thickness_mm)
    for a, b in itertools.pairwise(holes):
        _check_pitch(a, b)
    return tuple(holes)


def _pin_stations(shape: Shape, count: int, by_hand: Sequence[float], spacing: float | None) -> list[float]:
    front, reach = shape.front_x_mm, shape.front_x_mm - shape.tang_end_x_mm
    if by_hand:
        if count != len(by_hand):
            raise DesignError(
                f"pins.count is {count} but pins.positions names {len(by_hand)}. Set pins.count={len(by_hand)}."
            )
        for x in by_hand:
            if not shape.tang_end_x_mm < x < front:
                raise DesignError(
                    f"A pin at x = {x:g} mm is not in the tang, which runs from {shape.tang_end_x_mm:.1f} "
                    f"to {front:.1f} mm."
                )
        return sorted(by_hand, reverse=True)
    if count == 0:
        return []
    first, last = front - FRONT_SHARE * reach, front - REAR_SHARE * reach
    if count == 1:
        return [front - ALONE_SHARE * reach]
    if spacing is not None:
        middle, half = (first + last) / 2, spacing * (count - 1) / 2
        if middle - half < shape.tang_end_x_mm + FRONT_MM or middle + half > front - FRONT_MM:
            fits = 2 * min(middle - shape.tang_end_x_mm - FRONT_MM, front - FRONT_MM - middle) / (count - 1)
            raise DesignError(f"{count} pins {show_mm(spacing)} apart do not fit; at most {show_mm(fits)} does.")
        return [middle + half - spacing * i for i in range(count)]
    return [float(x) for x in evenly(first, last, count)]


def _between(shape: Shape, pins: list[float], count: int) -> list[float]:
    """Spread holes over the gaps between pins, always into the gap with most room."""
    reach = shape.front_x_mm - shape.tang_end_x_mm
    ends = pins if len(pins) >= 2 else [shape.front_x_mm - 0.1 * reach, *pins, shape.tang_end_x_mm + 0.2 * reach]
    gaps = [(a, b) for a, b in itertools.pairwise(sorted(ends, reverse=True))]
    held = [0] * len(gaps)
    for _ in range(count):
        room = [(a - b) / (n + 1) for (a, b), n in zip(gaps, held, strict=True)]
        held[int(np.argmax(room))] += 1
    return [a - (a - b) * (i + 1) / (n + 1) for (a, b), n in zip(gaps, held, strict=True) for i in range(n)]


@lru_cache(maxsize=256)
def chord_at(outline: Outline, x_mm: float) -> tuple[float, float] | None:
    """Return the lowest and highest y of an outline at a station [mm], or None when it does not reach there; kept."""
    _, _, y = upright_crossings(outline, x_mm)
    return (float(y.min()), float(y.max())) if len(y) else None


def _on_middle(shape: Shape, x: float, diameter: float, purpose: str) -> Hole:
    chord = chord_at(shape.finished, x)
    if chord is None:
        raise DesignError(f"A {purpose} hole at x = {x:.1f} mm lies outside the knife.")
    return Hole(x, (chord[0] + chord[1]) / 2, diameter, purpose)


def edge_distance_mm(outline: Outline, hole: Hole) -> float:
    """Return the distance from a hole's centre to the finished outline [mm]."""
    return _to_edge_mm(outline, hole.x_mm, hole.y_mm)


@lru_cache(maxsize=256)
def _to_edge_mm(outline: Outline, x_mm: float, y_mm: float) -> float:
    point = np.array([[x_mm, y_mm]])
    return float(points_to_pieces(point, outline.starts, outline.ends, outline.bulges).min())


def _check_hole(shape: Shape, hole: Hole, thickness_mm: float) -> None:
    edge = edge_distance_mm(shape.finished, hole)
    wall = max(LEAST_WALL_MM, thickness_mm)
    # a lightening hole carries no load, so only its wall counts
    largest = 2 * (edge - wall) if hole.purpose == "lightening" else min(edge / EDGE_FACTOR, 2 * (edge - wall))
    if hole.diameter_mm > largest + 1e-9:
        rule = "" if hole.purpose == "lightening" else f"{EDGE_FACTOR:g} x its diameter and "
        fits = f"At most {show_mm(_down(largest))} fits there." if largest > 0 else "No hole fits there."
        if hole.purpose == "pin" and largest > 0:
            fits += " That is the hole; its pin is thinner by the fit."
        raise DesignError(
            f"A {hole.purpose} hole of {show_mm(hole.diameter_mm)} at x = {hole.x_mm:.1f} mm does not fit: "
            f"its centre is {show_mm(edge)} from the finished edge; it needs {rule}a wall of {show_mm(wall)}. {fits}"
        )
    ahead = shape.front_x_mm - hole.x_mm - hole.diameter_mm / 2
    if hole.purpose == "pin" and ahead < FRONT_MM - hole.diameter_mm / 2 - 1e-9:
        raise DesignError(
            f"A pin at x = {hole.x_mm:.1f} mm is {show_mm(ahead + hole.diameter_mm / 2)} behind the handle front; "
            f"it needs {show_mm(FRONT_MM)}, or the scale splits there."
        )


def _down(value_mm: float) -> float:
    """Round down to what is printed: what is printed must fit."""
    return math.floor(value_mm * 100) / 100


def _check_pitch(a: Hole, b: Hole) -> None:
    need = PITCH_FACTOR * max(a.diameter_mm, b.diameter_mm)
    apart = float(np.hypot(a.x_mm - b.x_mm, a.y_mm - b.y_mm))
    if {a.purpose, b.purpose} != {"pin"}:
        need = (a.diameter_mm + b.diameter_mm) / 2 + max(LEAST_WALL_MM, 0.3 * max(a.diameter_mm, b.diameter_mm))
    if apart < need - 1e-9:
        raise DesignError(
            f"The {a.purpose} hole at x = {a.x_mm:.1f} mm and the {b.purpose} hole at x = {b.x_mm:.1f} mm are "
            f"{show_mm(apart)} apart; they need {show_mm(need)}. Use fewer or smaller holes."
        )
