"""A part as a file for a shop: its style, its name, what is written, and the note that goes with all of them."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from blankwright.base.errors import RequestError
from blankwright.base.finding import Finding, finding
from blankwright.base.said import exact_mm, said
from blankwright.cutting.delivery import style_of
from blankwright.cutting.dxf import CutFile, CutHole
from blankwright.cutting.names import slugs
from blankwright.cutting.note import NoteRow, note_text
from blankwright.cutting.parts.figures import Given
from blankwright.cutting.parts.part import CutPart
from blankwright.cutting.style import PLAIN, FileStyle
from blankwright.geometry.offset import parallel
from blankwright.geometry.outline import Outline
from blankwright.knife.cautions import GENERAL_CAUTION
from blankwright.knife.knife import Knife
from blankwright.knife.words import size_in_words
from blankwright.shop.services import Service


def part_style(service: Service | None) -> FileStyle:
    """Return how a part's file is written."""
    return PLAIN if service is None else style_of(service)


def part_file_name(slug: str, code: str, part: CutPart, service: Service | None) -> str:
    """Return the name of a part's file, which names part and unit; only the knife's name gives way to a shop's limit.

    Args:
        slug: The knife's name in lower case.
        code: The design code.
        part: The part.
        service: Who cuts it, or None.

    Raises:
        RequestError: It is longer than the shop takes.
    """
    end = f"_{part.name}_{service.unit if service else 'mm'}.dxf"
    if service is None:
        return slug + end
    tail = "".join(c for c in code if c.isalnum())
    for short in slugs(slug, tail, service.longest_name - len(end)):
        if len(short + end) <= service.longest_name:
            return short + end
    raise RequestError(
        f"{slug}{end}: {service.title} takes file names of at most {service.longest_name} characters. Leave --service "
        "out, or let a copy of its file take longer names."
    )


def why_not(part: CutPart, service: Service | None) -> str | None:
    """Return why a service cannot be sent a part, a sentence without the part's name, or None when it can.

    Args:
        part: The part.
        service: Who cuts it, or None.
    """
    if service is None:
        return None
    if service.table is not None:
        return (
            f"{service.title} is sent the path of the cutter's middle, which is laid round the blade "
            "only. Leave --service out; the file is drawn at the size of the part."
        )
    if service.parts == "together":
        return f"{service.title} wants all parts in one file; files of parts hold one each."
    if service.process not in part.stock.cut_by:
        ways = ", ".join(part.stock.cut_by)
        return f"{part.stock.title} is not cut by {service.process} (the table sheets has: {ways})."
    if service.limit_for(part.thickness_mm) is None:
        most = service.limits[-1].up_to_mm
        return f"{service.title} has limits for stock up to {most:g} mm, not for {part.thickness_mm:g} mm."
    return None


def service_findings(part: CutPart, service: Service | None) -> tuple[Finding, ...]:
    """Return where a part asks for more than its shop can make.

    Args:
        part: The part.
        service: Who cuts it, or None.
    """
    limit = service.limit_for(part.thickness_mm) if service else None
    if service is None or limit is None:
        return ()
    out = []
    for x, y, d in part.holes:
        if d < limit.smallest_hole_mm:
            words = "{}: a hole of {} is smaller than {}, the smallest of {}."
            text = said(words, part.title, exact_mm(d), exact_mm(limit.smallest_hole_mm), service.title)
            out.append(finding("SERVICE-HOLE", text, (x, y), "warning"))
    return tuple(out)


def part_file(part: CutPart, style: FileStyle, code: str) -> CutFile:
    """Return the content of a part's file.

    Args:
        part: The part.
        style: How the file is written.
        code: The design code.
    """
    return CutFile(
        contours=(
            _drawn(part.outline, style.deviation_mm),
            *(_chords(opening, style.deviation_mm) for opening in part.openings),
        ),
        holes=tuple(CutHole(*hole) for hole in part.holes),
        comment=f"design {code}, {part.name}",
        style=style,
        etch=part.marks,
    )


def _drawn(outline: Outline, deviation_mm: float | None) -> Outline:
    """Return an outline as it is drawn: arcs, or chords that nowhere run inside of the arcs."""
    return outline if deviation_mm is None else _chords(parallel(outline, deviation_mm).outline, deviation_mm)


def _chords(outline: Outline, deviation_mm: float | None) -> Outline:
    if deviation_mm is None:
        return outline
    points = outline.flattened(deviation_mm)
    return Outline(np.column_stack([points, np.zeros(len(points))])).on_grid()


def parts_note(knife: Knife, parts: Sequence[tuple[CutPart, str]], service: Service | None, quantity: int) -> str:
    """Return the note that goes to the shop with all parts of a knife.

    Args:
        knife: The knife.
        parts: Each part with the name of its file.
        service: Who cuts them, or None.
        quantity: For how many knives.
    """
    style = part_style(service)
    one = "millimetre" if style.unit == "mm" else "inch"
    rows = [
        NoteRow("Files", f"DXF {style.release}, one unit is one {one}; layer {style.cut_layer} is cut."),
        NoteRow("Kerf", "Drawn at the size of the part; please compensate for your kerf."),
    ]
    if style.release == "R12":
        rows.insert(1, NoteRow("", "This release carries no unit."))
    for part, name in parts:
        rows += [
            NoteRow("", ""),
            NoteRow("Part", f"{part.pieces * quantity} x {part.title}: {name}"),
            NoteRow("Material", f"{part.material}, {part.thickness_mm:g} mm."),
            NoteRow("Size", size_in_words(part.outline.size_mm, part.thickness_mm)),
            NoteRow("Holes", _holes(part)),
        ]
        if part.stock.kind == "wood":
            rows.append(NoteRow("Grain", "Along the length of the part (x in the file)."))
        if part.marks:
            rows.append(NoteRow("Marks", f"Layer {style.etch_layer} is marked, not cut through."))
    rows += [NoteRow("", ""), NoteRow("Design", f"{knife.code}: the same code stands on the knife's other papers.")]
    if service is not None:
        rows.append(NoteRow("For", service.title))
    way = None if service is None else service.process
    cautions = dict.fromkeys(part.stock.cautions(way) for part, _ in parts)
    return note_text(f"{knife.design.name}: parts beside the blade", rows, " ".join([*cautions, GENERAL_CAUTION]))


def makers_note(knife: Knife, parts: Sequence[tuple[CutPart, str]]) -> str:
    """Return what the maker should know of the parts, and where each of their figures comes from.

    Args:
        knife: The knife.
        parts: Each part with the name of its file.
    """
    rows: list[NoteRow] = []
    for word in dict.fromkeys(part.of for part, _ in parts):
        first = next(part for part, _ in parts if part.of == word)
        rows += [NoteRow("", "")] if rows else []
        rows.append(NoteRow(f"{word}:", ""))
        rows += [NoteRow("know" if i == 0 else "", line.text()) for i, line in enumerate(first.lines)]
        rows.append(NoteRow("cut by", f"{', '.join(first.stock.cut_by)}. {first.stock.note}"))
        rows += [NoteRow("figures" if i == 0 else "", _figure(one)) for i, one in enumerate(first.figures)]
    rows += [
        NoteRow("", ""),
        NoteRow("change", "Each figure is a key of the table [parts] in the design file. Cut a trial piece first."),
        NoteRow(
            "sheet",
            "Rough sizes on the build sheet and oversize on the template are for pieces sawn by hand; these "
            "files hold the sizes above.",
        ),
        NoteRow(
            "own table",
            "No path of a cutter's middle is made for these parts, only for the blade. On your own table cut the files "
            "with the controller's compensation for the kerf switched on.",
        ),
        NoteRow("design", f"{knife.code}: the same code stands on the knife's other papers."),
    ]
    return note_text(f"{knife.design.name}: parts beside the blade, for the maker", rows, GENERAL_CAUTION)


def _figure(one: Given) -> str:
    shown = one.shown if isinstance(one.shown, str) else one.shown.shown()
    return f"{one.key} = {shown}: {one.what} ({one.standing.status}: {one.standing.source})."


def _holes(part: CutPart) -> str:
    if not part.holes:
        return "None."
    sizes = [f"{round(d, 2):g}" for _, _, d in part.holes]
    words = [f"{sizes.count(d)} x {d} mm" for d in dict.fromkeys(sizes)]
    return f"{', '.join(words)}, cut as drawn."
