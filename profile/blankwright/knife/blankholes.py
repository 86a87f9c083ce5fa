"""The holes of a blank that exists: which of them take pins, and which rod goes through those."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from blankwright.base.errors import RequestError
from blankwright.base.finding import Figure, Finding, finding
from blankwright.base.said import mm, said
from blankwright.base.units import show_mm
from blankwright.design.lifted import LiftedHole
from blankwright.design.request import Design
from blankwright.design.settings import Value
from blankwright.design.shape import Shape
from blankwright.design.tang import Hole
from blankwright.knife.kinds import with_given
from blankwright.knife.start import BOUGHT
from blankwright.shop.holes import finished_hole_mm, pins_for_mm, widest_hole_mm
from blankwright.shop.rods import goes_through, largest_rod

MOST_PINS = 4
"""As many pins as a design holds."""
ALIKE_MM = 0.35
"""Holes that differ by less are of one size: a scan tells no hole better, and drills wander."""
WIDEST_PIN_MM = 10.5
"""A wider hole takes no rod that is sold for pins."""
NEAR_MM = 0.015
"""A lifted hole and a rod are known no better: play that differs by less is not told."""
_NEAR_MM = 3.0
"""A pin placed by hand is the hole nearer than this."""


def with_its_holes(design: Design, shape: Shape) -> Design:
    """Return the design of a blank that exists with as many pins as it has holes for, and the rod that goes through.

    Args:
        design: The request.
        shape: Its shape; one that is to be made leaves the design as it is.

    Raises:
        RequestError: The work shall start from something else than a blank, pins are placed where no hole is, or the
            rod asked for does not go through.
    """
    if shape.there is None:
        return design
    if design.start not in BOUGHT:
        raise RequestError(
            f"[start] from: '{design.start}' does not go with a blank that exists. Allowed: {', '.join(BOUGHT)}. For a "
            "new knife of its shape fit a family to it: blankwright lift FILE --fit any"
        )
    pins = [hole for hole in named_holes(design, shape) if hole.purpose == "pin"]
    given: dict[str, tuple[Value, str]] = {"pins.count": (len(pins), "measured: the holes of the blank")}
    fit = design.settings.get("pins.fit")
    if pins and isinstance(fit, str):
        least = min(hole.diameter_mm for hole in pins)
        asked = design.settings.get("pins.diameter")
        _check_rod(asked, least, fit)
        rod = largest_rod(least, fit)
        if asked is None and rod is None:
            raise RequestError(f"[pins]: no rod goes through a hole of {show_mm(least)}. {_POSITIONS}")
        if rod is not None:
            why = f"{rod.name}, the largest usual rod through a hole of {show_mm(least)}"
            given["pins.diameter"] = (round(rod.diameter_mm, 4), why)
    counted = with_given(design, given)
    return counted if pins or not design.pins else replace(counted, settings={**counted.settings, "pins.count": 0})


def rod_figure(design: Design) -> Figure | None:
    """Say which rod was found for the holes of a blank; None without pins, or where a rod was asked for."""
    if not design.pins or design.asked("pins.diameter"):
        return None
    return Figure("ROD", said("Pins: {}. Try it before anything is sawn.", design.sources["pins.diameter"]))


def play_findings(design: Design, holes: Sequence[Hole]) -> list[Finding]:
    """Say where the rod has more or less play in the holes of a blank than its fit wants, and what would do.

    Args:
        design: The request.
        holes: The holes of the blank.
    """
    pins, sizes = design.pins, sorted(hole.diameter_mm for hole in holes if hole.purpose == "pin")
    if pins is None or not sizes:
        return []
    ends = (sizes[0], sizes[-1])
    fitting = [pins_for_mm(hole, pins.fit, "tang") for hole in ends]
    least, most = fitting[1][0], fitting[0][1]
    if least - NEAR_MM <= pins.diameter_mm <= most + NEAR_MM:
        return []
    wide = pins.diameter_mm < least
    hole = ends[1] if wide else ends[0]
    close, loose = finished_hole_mm(pins.diameter_mm, pins.fit)[0], widest_hole_mm(pins.diameter_mm, pins.fit, "tang")
    text = said(
        "The rod of {} has {} of play in the blank's {} hole; {} is the rule for its fit ({}). ",
        mm(pins.diameter_mm, 2), mm(hole - pins.diameter_mm, 2), mm(hole, 2),
        mm(close - pins.diameter_mm, 2, upto=loose - pins.diameter_mm), pins.fit,
    )  # fmt: skip
    band = (mm(least, 2, upto=most),) if most - least >= NEAR_MM else (mm(most, 2),)
    text = text.then("Measure rods for one of {}", *band)
    return [finding("PIN-PLAY", text.then(", or put a sleeve over it." if wide else "."), level="warning")]


_POSITIONS = "Say which holes take pins with pins.positions, or pins.count=0."


def _check_rod(asked: Value | None, hole_mm: float, fit: str) -> None:
    """Refuse a rod that does not go through."""
    if not isinstance(asked, float) or goes_through(asked, hole_mm, fit):
        return
    rod = largest_rod(hole_mm, fit)
    raise RequestError(
        f"[pins] diameter: a rod of {show_mm(asked)}, {fit}, does not go through the blank's {show_mm(hole_mm)} hole. "
        + (f"The largest usual one that does is {rod.name}." if rod else _POSITIONS)
    )


def named_holes(design: Design, shape: Shape) -> tuple[Hole, ...]:
    """Return the holes that are in a blank, from its front back, each with what it is for.

    Pins go through holes of the size that most have, a wider one near the butt takes a cord, all others stay open.
    `pins.positions` says which take pins, `pins.count` how many, `tang.lanyard_diameter` which takes the cord.

    Raises:
        RequestError: Something was asked for that no hole of the blank is.
    """
    assert shape.there is not None
    holes = sorted(shape.there.holes, key=lambda hole: -hole.x_mm)
    inside = [hole for hole in holes if shape.tang_end_x_mm < hole.x_mm < shape.front_x_mm]
    cord = _cord(design, inside)
    pins = _pins(design, [hole for hole in inside if hole is not cord])
    if cord is None and not design.asked("pins.positions"):
        cord = _wider_behind(inside, pins)
    purposes = {id(hole): "pin" for hole in pins} | ({id(cord): "lanyard"} if cord else {})
    return tuple(Hole(h.x_mm, h.y_mm, round(h.diameter_mm, 2), purposes.get(id(h), "lightening")) for h in holes)


def _cord(design: Design, holes: Sequence[LiftedHole]) -> LiftedHole | None:
    """Return the hole that was asked for a cord: the rearmost of its size."""
    wanted = design.tang.lanyard_diameter_mm
    if wanted is None:
        return None
    fitting = [hole for hole in holes if abs(hole.diameter_mm - wanted) < ALIKE_MM]
    if not fitting:
        raise RequestError(f"[tang] lanyard_diameter: no hole of {show_mm(wanted)} in the handle. {_there(holes)}")
    return fitting[-1]


def _pins(design: Design, holes: Sequence[LiftedHole]) -> list[LiftedHole]:
    by_hand, count = design.settings.get("pins.positions"), design.settings.get("pins.count")
    if isinstance(by_hand, tuple):
        return [_nearest(holes, x) for x in sorted(by_hand, reverse=True)]
    alike = _most_alike([hole for hole in holes if hole.diameter_mm <= WIDEST_PIN_MM])
    if not isinstance(count, int):
        count = min(len(alike), MOST_PINS)
    elif count > len(alike):
        raise RequestError(f"[pins] count: {count} pins, but {len(alike)} holes of one size. {_there(holes)}")
    if count == 0:
        return []
    if count == 1:
        return [alike[len(alike) // 2]]
    return [alike[round(i)] for i in np.linspace(0, len(alike) - 1, count).tolist()]


def _most_alike(holes: Sequence[LiftedHole]) -> list[LiftedHole]:
    """Return the holes of the size that most of them have; of two such sizes that of the foremost hole."""
    groups = [[h for h in holes if abs(h.diameter_mm - one.diameter_mm) < ALIKE_MM] for one in holes]
    return max(groups, key=len, default=[])


def _nearest(holes: Sequence[LiftedHole], x_mm: float) -> LiftedHole:
    near = min(holes, key=lambda hole: abs(hole.x_mm - x_mm), default=None)
    if near is None or abs(near.x_mm - x_mm) > _NEAR_MM:
        raise RequestError(f"[pins] positions: the blank has no hole at x = {x_mm:g} mm. {_there(holes)}")
    return near


def _wider_behind(inside: Sequence[LiftedHole], pins: Sequence[LiftedHole]) -> LiftedHole | None:
    """Return the rearmost hole, where it is wider than the pins' and lies behind them all."""
    if not pins or not inside or inside[-1] in pins:
        return None
    last = inside[-1]
    return last if last.diameter_mm > max(p.diameter_mm for p in pins) + ALIKE_MM else None


def _there(holes: Sequence[LiftedHole]) -> str:
    found = ", ".join(f"{show_mm(h.diameter_mm)} at x = {h.x_mm:.1f} mm" for h in holes)
    return f"In the handle there are: {found}." if found else "There is none in the handle."
