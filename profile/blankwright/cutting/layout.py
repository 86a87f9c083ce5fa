"""How parts lie in one file: one below the other, with room between them; and the file's content."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property

from blankwright.base.errors import RequestError
from blankwright.base.frozen import dataclass
from blankwright.base.units import MM_PER_INCH
from blankwright.cutting.delivery import Delivery
from blankwright.cutting.dxf import CutFile, CutHole
from blankwright.cutting.path import Pass, Run
from blankwright.cutting.program import program_text
from blankwright.geometry.chain import Chain
from blankwright.geometry.outline import Outline
from blankwright.shop.services import Service, Table
from blankwright.shop.tables import process

LEAST_GAP_MM = 10.0
"""Least space between two parts; plasma wants 5 mm or 2 kerfs and 2 thicknesses (common practice)."""

MOST_PARTS = 100
"""More parts than this lie on more than one sheet."""


@dataclass(frozen=True, eq=False)
class Placed:
    """One part in the file: what goes to the shop, and how far it is moved [mm]."""

    sent: Delivery
    dx_mm: float
    dy_mm: float

    @cached_property
    def outline(self) -> Outline:
        """Its outline, or its path's, where it lies."""
        return self.sent.outline.moved(self.dx_mm, self.dy_mm)

    @cached_property
    def passes(self) -> tuple[Pass, ...]:
        """Its cuts on one's own table, where it lies; none where the shop makes the path."""
        path = self.sent.path
        return tuple(one.moved(self.dx_mm, self.dy_mm) for one in path.passes) if path else ()

    @property
    def bounds_mm(self) -> tuple[float, float, float, float]:
        """Least x, least y, greatest x, greatest y of all that is cut for it, leads as well [mm]."""
        return Run(self.passes).bounds_mm if self.passes else self.outline.bounds_mm


def column(sent: Sequence[Delivery], quantity: int) -> tuple[Placed, ...]:
    """Place parts one below the other, their left ends in line; the first stays where it is.

    Raises:
        RequestError: There are more than lie on a sheet.
    """
    if len(sent) * quantity > MOST_PARTS:
        raise RequestError(
            f"--quantity: {len(sent) * quantity} parts in one file; at most {MOST_PARTS} are laid out. Write one of "
            "each and say the quantity in the order."
        )
    parts: list[Placed] = []
    boxes = [Placed(one, 0.0, 0.0).bounds_mm for one in sent]
    gap = gap_mm(sent)
    left, low = boxes[0][0], boxes[0][3]
    for one, (x0, y0, _, y1) in zip(sent, boxes, strict=True):
        for _ in range(quantity):
            dy = low - y1
            parts.append(Placed(one, left - x0, dy))
            low = y0 + dy - gap - (one.path.kerf_mm if one.path else 0.0)  # of which half lies on each side
    return tuple(parts)


def gap_mm(sent: Sequence[Delivery]) -> float:
    """Return the space between parts: at least 10 mm, and twice kerf and thickness (common practice) [mm]."""
    return max(LEAST_GAP_MM, *(2 * _kerf_mm(one) + 2 * one.knife.stock_mm for one in sent))


def _kerf_mm(one: Delivery) -> float:
    return one.path.kerf_mm if one.path else process(one.knife.oversize.process).kerf_mm.value


def run_of(parts: Sequence[Placed]) -> Run:
    """Return all cuts of a file for one's own table, part after part."""
    return Run(tuple(one for part in parts for one in part.passes))


def file_of(
    parts: Sequence[Placed], *, finished: bool = False, grind: bool = False, notes: tuple[str, ...] = ()
) -> CutFile:
    """Return the content of a cutting file.

    Args:
        parts: What lies in it.
        finished: Whether the finished outlines stand on a layer of their own.
        grind: Whether grind and plunge lines do.
        notes: Lines of text; none to leave them out.
    """
    codes = list(dict.fromkeys(part.sent.knife.code for part in parts))
    return CutFile(
        contours=() if parts[0].passes else tuple(part.outline for part in parts),
        strokes=tuple(Chain(one.chain) for one in run_of(parts).passes),
        holes=tuple(
            CutHole(x + part.dx_mm, y + part.dy_mm, diameter)
            for part in parts
            for x, y, diameter in part.sent.drawn_holes
            if diameter is None or not part.passes
        ),
        finished=tuple(p.sent.knife.finished.moved(p.dx_mm, p.dy_mm) for p in parts) if finished else (),
        grind=tuple(c.moved(p.dx_mm, p.dy_mm) for p in parts for c in p.sent.knife.face.chains) if grind else (),
        notes=notes,
        # a file of several designs is of none of them: its head names one code only where there is one
        comment=f"design{'s' if len(codes) > 1 else ''} {' '.join(codes)}",
        style=parts[0].sent.style,
    )


def program_name(parts: Sequence[Placed], slug: str) -> str:
    """Return the name of the program, with the unit that it is in."""
    service, table = _table(parts)
    return f"{slug}_path_{service.unit}{table.suffix}"


def program(parts: Sequence[Placed]) -> str:
    """Return the path of all parts as a program for one's own table."""
    (service, table), run = _table(parts), run_of(parts)
    assert service.dialect is not None  # every table has one
    knives = {part.sent.knife.code: part.sent.knife for part in parts}
    x0, y0, x1, y1 = run.bounds_mm
    unit, one_mm, digits = (service.unit, 1.0, 1) if service.unit == "mm" else ("in", 1 / MM_PER_INCH, 3)
    wide, high, long = (f"{v * one_mm:.{digits}f}" for v in (x1 - x0, y1 - y0, run.cut_mm))
    first, many = parts[0].sent.knife, f"{len(parts)} x " if len(parts) > 1 and len(knives) == 1 else ""
    head = (
        *(f"{many}{knife.design.name}, design {code}" for code, knife in knives.items()),
        f"{first.material.title}, {first.stock_mm:g} mm; numbers are {'mm' if service.unit == 'mm' else 'inches'}",
        f"path {wide} x {high} {unit} with leads; X0 Y0 is its lower left corner",
        f"kerf {table.kerf_mm * one_mm:.4g} {unit} is in the path: switch the controller's compensation off",
        f"{long} {unit} of cut, about {run.time_s(table):.0f} s",
        "run it once with the cutter off",
    )
    return program_text(run, table, service.dialect, service.unit, head)


def _table(parts: Sequence[Placed]) -> tuple[Service, Table]:
    return check_table(parts[0].sent.service)


def check_table(service: Service | None) -> tuple[Service, Table]:
    """Return a service with its table.

    Raises:
        RequestError: There is no table, so there can be no program.
    """
    if service is None or service.table is None:
        raise RequestError(
            "--with program: a program needs a table with its kerf and speeds. Add --service own-table, or a copy "
            "of it with your own figures."
        )
    return service, service.table
