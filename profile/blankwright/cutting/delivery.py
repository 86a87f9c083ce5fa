"""What goes to the shop: the file in its style, the cutter's path, the cover note, and what the shop cannot make."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import groupby
from typing import TYPE_CHECKING

import numpy as np

from blankwright.base.errors import RequestError
from blankwright.base.finding import Finding
from blankwright.base.units import MM_PER_INCH
from blankwright.cutting.note import NoteRow, note_text
from blankwright.cutting.style import PLAIN, FileStyle
from blankwright.design.tang import edge_distance_mm
from blankwright.geometry.chain import Chain
from blankwright.geometry.outline import Outline
from blankwright.knife.cautions import cautions
from blankwright.knife.knife import MadeHole, Workpiece, cut_outline
from blankwright.knife.words import size_in_words
from blankwright.shop.holes import HoleCut

if TYPE_CHECKING:
    from blankwright.cutting.path import CutterPath
    from blankwright.shop.services import Service

_SAFE_NAME = "-_."


@dataclass(frozen=True, eq=False)
class Delivery:
    """A workpiece as one shop wants it.

    Args:
        service: What the shop wants; None for the plain file.
        style: How the file is written.
        outline: The outline in the file: the cut outline, in chords where the shop wants those, or the cutter's path.
        more_mm: How much further out it lies than the cut outline: half the kerf of a path [mm].
        holes: Holes with what happens to each at this shop.
        path: The cutter's path, on one's own table.
        quantity: How many parts are wanted.
        findings: What this shop cannot make well.
    """

    service: Service | None
    style: FileStyle
    outline: Outline
    more_mm: float
    holes: tuple[MadeHole, ...]
    path: CutterPath | None
    quantity: int
    findings: tuple[Finding, ...]

    @property
    def drawn_holes(self) -> tuple[tuple[float, float, float | None], ...]:
        """x, y and diameter [mm] of every hole as it is drawn: the cutter's circle on a path, None for a mark."""
        less = 2 * self.more_mm
        return tuple(
            (h.hole.x_mm, h.hole.y_mm, h.made.cut_diameter_mm - less if h.made.cut_diameter_mm is not None else None)
            for h in self.holes
        )


def deliver(work: Workpiece, service: Service | None, quantity: int = 1) -> Delivery:
    """Fit a workpiece to what a shop wants.

    Args:
        work: The workpiece.
        service: What the shop wants; None for the plain file.
        quantity: How many parts are wanted.

    Raises:
        RequestError: The service has no row for this thickness, or the quantity cannot be.
        DesignError: The cutter's path does not go round this outline.
    """
    if not 1 <= quantity <= 999:
        raise RequestError(f"--quantity: {quantity} is out of range. Allowed: 1 to 999.")
    if service is None:
        return Delivery(None, PLAIN, work.cut, 0.0, work.holes, None, quantity, ())
    thickness = work.design.number("material.thickness")
    limit = service.limit_for(thickness)
    if limit is None:
        most = service.limits[-1].up_to_mm
        raise RequestError(
            f"{service.name}: its file has limits for stock up to {most:g} mm, not for {thickness:g} mm. "
            "Add a row to a copy of it."
        )
    from blankwright.cutting.path import cutter_path, smallest_hole_mm  # noqa: PLC0415 - a plain file has no path

    least = max(limit.smallest_hole_mm, smallest_hole_mm(service.table) if service.table else 0.0)
    holes = tuple(_made(h, service, least) for h in work.holes)
    path = None
    if service.table is not None:
        cut = [(h.hole.x_mm, h.hole.y_mm, h.made.cut_diameter_mm) for h in holes if h.made.cut_diameter_mm is not None]
        path = cutter_path(work.cut, cut, service.table)
    findings = [
        *_corners(work, service, limit.smallest_corner_mm),
        *_walls(work, holes, service, limit.smallest_wall_mm),
    ]
    if work.allowance.process != service.process:
        text = f"{service.title} cuts by {service.process}, but the allowance is for {work.allowance.process}."
        findings.append(Finding("SERVICE", "warning", text, None))
    outline = path.outline if path else _drawn(work, service.deviation_mm)
    more = path.kerf_mm / 2 if path else 0.0
    return Delivery(service, _style(service), outline, more, holes, path, quantity, tuple(findings))


def _drawn(work: Workpiece, deviation_mm: float | None) -> Outline:
    """Return the outline as it is drawn: arcs, or chords that are nowhere nearer to the knife than the arcs."""
    if deviation_mm is None:
        return work.cut
    further = {region: mm + deviation_mm for region, mm in work.allowance.regions_mm.items()}
    points = cut_outline(work.shape.smooth, further).outline.flattened(deviation_mm)
    return Outline(np.column_stack([points, np.zeros(len(points))]))


def _style(service: Service) -> FileStyle:
    return FileStyle(
        release=service.release,
        unit=service.unit,
        exploded=service.contours == "exploded",
        deviation_mm=service.deviation_mm,
        cut_layer=service.cut_layer,
        mark_layer=service.mark_layer,
        marks=service.holes in ("cut and mark", "mark only"),
    )


def _made(made: MadeHole, service: Service, least_mm: float) -> MadeHole:
    """Return what happens to a hole at this shop."""
    diameter = made.made.cut_diameter_mm
    if diameter is None:
        return made
    if service.holes in ("mark only", "none"):
        reason = "Drill (steel: before hardening): this service is not asked to cut holes."
    elif diameter < least_mm:
        reason = f"Drill (steel: before hardening): the smallest hole of {service.title} here is {least_mm:g} mm."
    else:
        return made
    return replace(made, made=HoleCut("drill", None, reason))


def _corners(work: Workpiece, service: Service, least_mm: float) -> list[Finding]:
    """Say where an inner corner is tighter than the shop can cut."""
    bends = work.cut.curvatures
    inner = np.flatnonzero(bends < -1e-9)
    sharp = _sharp_inside(work)
    if sharp is not None:
        text = f"The inner corner is sharp; {service.title} makes no less than a radius of {least_mm:g} mm."
        return [Finding("SERVICE-CORNER", "warning", text, sharp)]
    if not len(inner):
        return []
    at = int(inner[np.argmin(bends[inner])])
    radius = -1 / float(bends[at])
    if radius >= least_mm:
        return []
    text = f"The tightest inner corner has a radius of {radius:.2f} mm; {service.title} makes no less than "
    text += f"{least_mm:g} mm."
    return [Finding("SERVICE-CORNER", "warning", text, (float(work.cut.starts[at, 0]), float(work.cut.starts[at, 1])))]


def _sharp_inside(work: Workpiece) -> tuple[float, float] | None:
    """Return where two pieces of the cut outline meet in a sharp inner corner, or None."""
    cut = work.cut
    half = 2 * np.arctan(cut.bulges)
    chord = np.arctan2(*(cut.ends - cut.starts).T[::-1])
    turn = np.roll(chord - half, -1) - (chord + half)
    turn = (turn + np.pi) % (2 * np.pi) - np.pi
    at = np.flatnonzero(turn < -np.radians(5))
    return (float(cut.ends[at[0], 0]), float(cut.ends[at[0], 1])) if len(at) else None


def _walls(work: Workpiece, holes: Sequence[MadeHole], service: Service, least_mm: float) -> list[Finding]:
    """Say where a hole that is cut stands too near to the cut edge."""
    out = []
    for h in holes:
        if h.made.cut_diameter_mm is None:
            continue
        wall = edge_distance_mm(work.cut, h.hole) - h.made.cut_diameter_mm / 2
        if wall < least_mm:
            text = f"The {h.hole.purpose} hole at x = {h.hole.x_mm:.1f} mm leaves {wall:.2f} mm to the cut edge; "
            text += f"{service.title} wants {least_mm:g} mm."
            out.append(Finding("SERVICE-WALL", "warning", text, (h.hole.x_mm, h.hole.y_mm)))
    return out


def file_name(work: Workpiece, delivery: Delivery, code: str) -> str:
    """Return the name of the cutting file.

    Raises:
        RequestError: It is longer than the shop takes.
    """
    service = delivery.service
    if service is None:
        return f"{work.design.slug}_cut_mm.dxf"
    return name_by_rule(work, service, delivery.quantity, work.design.slug, code)


def name_by_rule(work: Workpiece, service: Service, quantity: int, slug: str, code: str) -> str:
    """Return a file name by the rule of a service.

    Args:
        work: The workpiece, or the first of several.
        service: Whose rule.
        quantity: How many parts are wanted.
        slug: Name of the part in lower case.
        code: Its design code.

    Raises:
        RequestError: It is longer than the shop takes.
    """
    name = service.file_name.format(
        slug=slug,
        thickness=f"{work.design.number('material.thickness'):g}".replace(".", "-"),
        unit=service.unit,
        process=work.allowance.process,
        quantity=quantity,
        code=code,
    )
    name = "".join(c if c.isalnum() or c in _SAFE_NAME else "-" for c in name) + ".dxf"
    if len(name) > service.longest_name:
        raise RequestError(
            f"{name}: {service.title} takes file names of at most {service.longest_name} characters, this one has "
            f"{len(name)}. Give the design a shorter name."
        )
    return name


def leads(path: CutterPath) -> tuple[Chain, ...]:
    """Return where the cutter comes and goes, as open chains."""
    out = []
    for one in path.passes:
        out += [Chain(one.chain[: one.lead_in + 1]), Chain(one.chain[-one.lead_out - 1 :])]
    return tuple(out)


def program(work: Workpiece, delivery: Delivery, code: str) -> str:
    """Return the cutter's path as a program for one's own table; the delivery must hold a path."""
    path, service = delivery.path, delivery.service
    assert path is not None and service is not None and service.table is not None
    table = service.table
    x0, y0, x1, y1 = path.bounds_mm
    head = (
        f"{work.design.name}, design {code}, {work.material.title}, {work.design.number('material.thickness'):g} mm",
        f"path {x1 - x0:.1f} x {y1 - y0:.1f} mm with leads; X0 Y0 is its lower left corner",
        f"kerf {path.kerf_mm:g} mm is in the path: switch the controller's compensation off",
        f"{path.cut_mm:.0f} mm of cut, about {path.time_s(table, (x0, y0)):.0f} s",
        "run it once with the cutter off",
    )
    names = [f"{one.kind} {i + 1} of {len(path.passes)}" for i, one in enumerate(path.passes)]
    from blankwright.cutting.program import ngc_text  # noqa: PLC0415 - only a program needs it

    return ngc_text(
        [one.chain for one in path.passes],
        (x0, y0),
        feed_mm_min=table.feed_mm_min,
        pierce_s=table.pierce_s,
        head=head,
        names=names,
    )


def kerf_words(delivery: Delivery) -> str:
    """Say whose business the kerf is."""
    if delivery.path is None:
        return "Drawn at the size of the part; please compensate for your kerf."
    return f"A kerf of {delivery.path.kerf_mm:g} mm is in this path: do not compensate again."


def cover_note(work: Workpiece, delivery: Delivery, file: str, code: str) -> str:
    """Return the cover note of a delivery."""
    thickness = work.design.number("material.thickness")
    rows = [
        *file_rows(file, delivery.style),
        NoteRow("Size", size_in_words(work.cut.size_mm, thickness)),
        NoteRow("Material", f"{work.material.title}, {thickness:g} mm ({thickness / MM_PER_INCH:.3f} in)."),
        NoteRow("Quantity", f"{delivery.quantity}."),
        *kerf_rows(delivery),
        *hole_rows(delivery),
        *_notch_rows(work),
        NoteRow("Design", f"{code}: the same code stands on drawing, template and report."),
    ]
    if delivery.service is not None:
        rows.append(NoteRow("For", f"{delivery.service.title}. {delivery.service.note}"))
    rows += [NoteRow("To mind" if i == 0 else "", f.message) for i, f in enumerate(delivery.findings)]
    return note_text(f"{work.design.name}: cover note", rows, cautions(work))


def _notch_rows(work: Workpiece) -> list[NoteRow]:
    if work.material.kind == "wood":
        return []
    if work.design.settings.get("cutting.heel_notch") == "after hardening":
        return [NoteRow("Notch", "The heel notch carries allowance to be ground after hardening.")]
    return [
        NoteRow("Notch", "For the maker: finish the heel notch to the line before hardening; hard, it is slow work.")
    ]


def file_rows(file: str, style: FileStyle) -> list[NoteRow]:
    """Say how a file is written and what its numbers are; a release that carries no unit says so."""
    one, many = ("millimetre", "millimetres") if style.unit == "mm" else ("inch", "inches")
    rows = [NoteRow("File", f"{file}: DXF {style.release}, numbers are {many}.")]
    if style.release == "R12":
        rows.append(NoteRow("", f"This release carries no unit. One unit is one {one}."))
    return rows


def kerf_rows(delivery: Delivery) -> list[NoteRow]:
    """Say whose business the kerf is and where to start; on one's own table, what the path does."""
    start = "Start at the butt or on the spine, never at the tip, the heel corner or the edge."
    path, service = delivery.path, delivery.service
    if path is None or service is None or service.table is None:
        return [
            NoteRow("Kerf", kerf_words(delivery)),
            NoteRow("Start", start),
        ]
    table = service.table
    x0, y0, x1, y1 = path.bounds_mm
    return [
        NoteRow("Kerf", f"{kerf_words(delivery)} {table.source[:1].upper()}{table.source[1:]}."),
        NoteRow("Path", f"{_counted(len(path.passes), 'cut')}, holes first; the outline runs {table.outside} from the "
                f"{table.enter}, with {_counted(len(path.tabs_mm), 'tab')}."),
        NoteRow("Zero", f"In the program X0 Y0 is the lower left corner of the path, which is {x1 - x0:.1f} x "
                f"{y1 - y0:.1f} mm with its leads."),
        NoteRow("Length", f"{path.cut_mm / 1000:.2f} m of cut, about {path.time_s(table, (x0, y0)):.0f} s at "
                f"{table.feed_mm_min:g} mm/min, without speeding up and slowing down."),
    ]  # fmt: skip


def _counted(count: int, word: str) -> str:
    return f"{count or 'no'} {word}{'' if count == 1 else 's'}"


def hole_rows(delivery: Delivery) -> list[NoteRow]:
    """Return one row for each kind of hole: how many, what is cut and why, or why not."""
    if not delivery.holes:
        return [NoteRow("Holes", "None.")]
    rows: list[NoteRow] = []

    def kind(h: MadeHole) -> tuple[str, float, float, str]:
        return (h.hole.purpose, h.hole.diameter_mm, h.made.cut_diameter_mm or 0.0, h.made.reason)

    for (purpose, diameter, cut, reason), group in groupby(sorted(delivery.holes, key=kind), key=kind):
        many = list(group)
        what = f"{len(many)} x {purpose}, finished {diameter:.2f} mm: "
        if cut:
            what += f"cut {cut:.2f} mm. {reason}"
        elif delivery.style.marks:
            what += f"not cut, marked by a point on layer {delivery.style.mark_layer}. {reason}"
        else:
            places = ", ".join(f"({h.hole.x_mm:.1f}, {h.hole.y_mm:.1f})" for h in many)
            what += f"not cut and not in the file; centres in mm from the heel: {places}. {reason}"
        rows.append(NoteRow("Holes" if not rows else "", what))
    return rows
