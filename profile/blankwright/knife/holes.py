"""The holes of a knife, and how each is made: by the start, the process and, where there is one, the service."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from blankwright.base.frozen import dataclass
from blankwright.base.said import Line, exact_mm, said
from blankwright.design.request import Design
from blankwright.design.shape import Shape
from blankwright.design.tang import Hole, place_holes
from blankwright.knife.start import Start
from blankwright.shop import holes as shop_holes
from blankwright.shop.holes import HoleCut
from blankwright.shop.services import Service

_THERE = HoleCut("there", None, said("In the bought blank already: measure it, make nothing."))

_WORDS = {"cut": "cut to size", "drill": "drill", "there": "in the blank"}


@dataclass(frozen=True)
class MadeHole:
    """A hole with what the shop does to it."""

    hole: Hole
    made: HoleCut

    @property
    def circle(self) -> tuple[float, float, float]:
        """x, y and finished diameter [mm]."""
        return self.hole.x_mm, self.hole.y_mm, self.hole.diameter_mm

    @property
    def name(self) -> str:
        """What it is called on every paper, such as "pin 5.1 mm"."""
        return f"{self.hole.purpose} {round(self.hole.diameter_mm, 2):g} mm"

    @property
    def words(self) -> str:
        """How it is made, the same on every paper: "cut 4.85 mm, ream", "cut to size", "drill" or "in the blank"."""
        return self.how.text()

    @property
    def how(self) -> Line:
        """How it is made, for a reader in mm or inches."""
        if self.made.made_by == "ream" and self.made.cut_diameter_mm is not None:
            return said("cut {}, ream", exact_mm(round(self.made.cut_diameter_mm, 2)))
        return said(_WORDS[self.made.made_by])


def made_holes(design: Design, shape: Shape, start: Start, service: Service | None) -> tuple[MadeHole, ...]:
    """Return the holes of a knife and how each is made.

    Args:
        design: The request.
        shape: The solved shape.
        start: How the work starts: a bought blank has its holes.
        service: Who cuts, when a service or an own table does; it may leave holes to the drill.

    Raises:
        RequestError: A setting of the pins is missing.
        DesignError: A hole does not fit; the message says what would.
    """
    placed = _placed(design, shape)
    if start.bought:
        return tuple(MadeHole(hole, _THERE) for hole in placed)
    by, thickness = design.cutting.process, design.stock.thickness_mm
    made = [
        MadeHole(h, shop_holes.decide(by, thickness_mm=thickness, diameter_mm=h.diameter_mm, purpose=h.purpose))
        for h in placed
    ]
    return tuple(made if service is None else _at(service, made, thickness))


def _placed(design: Design, shape: Shape) -> Sequence[Hole]:
    if shape.there is not None:
        from blankwright.knife.blankholes import named_holes  # noqa: PLC0415 - few knives begin with a blank

        return named_holes(design, shape)
    pins, tang = design.pins, design.tang
    hole_mm = shop_holes.finished_hole_mm(pins.diameter_mm, pins.fit)[0] if pins else 0.0
    return place_holes(
        shape,
        pin_count=pins.count if pins else 0,
        pin_hole_mm=hole_mm,
        pin_positions_mm=pins.positions_mm if pins else (),
        pin_spacing_mm=pins.spacing_mm if pins else None,
        lightening_count=tang.lightening_count,
        lightening_mm=tang.lightening_diameter_mm,
        lanyard_mm=tang.lanyard_diameter_mm,
        thickness_mm=design.stock.thickness_mm,
    )


def _at(service: Service, made: Sequence[MadeHole], thickness_mm: float) -> list[MadeHole]:
    """Return the holes as a service makes them: what it is not asked for, or cannot cut, is left to the drill."""
    limit = service.limit_for(thickness_mm)
    least = max(limit.smallest_hole_mm if limit else 0.0, service.table.smallest_hole_mm if service.table else 0.0)
    out = []
    for one in made:
        cut = one.made.cut_diameter_mm
        why = None
        if cut is not None and service.holes in ("mark only", "none"):
            why = said("this service is not asked to cut holes")
        elif cut is not None and cut < least:
            why = said("the smallest hole of {} here is {}", service.title, exact_mm(least))
        out.append(replace(one, made=HoleCut("drill", None, shop_holes.drilled_because(why))) if why else one)
    return out
