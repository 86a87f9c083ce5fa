"""Several parts in one cutting file, one below the other, for a shop that wants them together; every part is proven."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from blankwright.base.errors import RequestError
from blankwright.base.files import staging
from blankwright.base.finding import Finding, finding
from blankwright.base.units import MM_PER_INCH
from blankwright.cutting.covernote import cover_note, length
from blankwright.cutting.delivery import Delivery, deliver
from blankwright.cutting.dxf import CutFile, CutHole, dxf_text
from blankwright.cutting.names import name_by_rule
from blankwright.cutting.note import NoteRow
from blankwright.cutting.order import SentFile
from blankwright.design.request import Design
from blankwright.desk.make import short_name
from blankwright.desk.proving import expected_of, read_sent, refuse
from blankwright.desk.readback import check_print, sent_file
from blankwright.geometry.outline import Outline
from blankwright.knife.code import common_code
from blankwright.knife.knife import Knife, finish
from blankwright.proof.findings import file_findings
from blankwright.proof.proof import Proof, prove
from blankwright.proof.reader import CutDrawing
from blankwright.proof.styled import part_in
from blankwright.report.data import Report
from blankwright.shop.services import Service
from blankwright.shop.tables import process
from blankwright.template.checkprint import check_pdf
from blankwright.template.scenes import wishes

FOLDER = "together"

LEAST_GAP_MM = 10.0
"""Least space between two parts; plasma wants 5 mm or 2 kerfs and 2 thicknesses (common practice)."""

MOST_PARTS = 100
"""More parts than this lie on more than one sheet."""

_ROUNDING_MM = 0.002


@dataclass(frozen=True, eq=False)
class Placed:
    """One part in the file: which knife, and how far it is moved [mm]."""

    knife: Knife
    sent: Delivery
    dx_mm: float
    dy_mm: float


@dataclass(frozen=True, eq=False)
class Together:
    """One file of several parts.

    Args:
        works: The knives, each once.
        shown: Their reports, to be shown to a reader.
        folder: Where the files are.
        parts: Every part in its place.
        notes: Remarks, such as a name that had to be shortened.
    """

    works: tuple[Knife, ...]
    shown: tuple[Report, ...]
    folder: Path
    parts: tuple[Placed, ...]
    notes: tuple[str, ...] = ()

    @property
    def reports(self) -> tuple[dict[str, Any], ...]:
        """Their reports as data."""
        return tuple(one.data for one in self.shown)


def cut_together(designs: Sequence[Design], out: Path, service: Service, quantity: int) -> Together:
    """Solve designs, write them into one cutting file in out/together/ and prove every part of it.

    Args:
        designs: The requests.
        out: Folder that receives the folder "together".
        service: What the shop wants.
        quantity: How many there shall be of each.

    Raises:
        RequestError: The parts cannot lie on one sheet, or the folder cannot be written.
        DesignError: Dimensions or holes do not go together.
        ProofError: The written file does not hold what it must; nothing is left behind.
    """
    works = [finish(design, service=service) for design in designs]
    sent = [deliver(knife, quantity) for knife in works]
    _same_sheet(works)
    if len(works) * quantity > MOST_PARTS:
        raise RequestError(
            f"--quantity: {len(works) * quantity} parts in one file; at most {MOST_PARTS} are laid out. Write one of "
            "each and say the quantity in the order."
        )
    gap = gap_mm(works)
    parts = _column(works, sent, quantity, gap)
    codes = [knife.code for knife in works]
    slug = works[0].design.slug if len(works) == 1 else FOLDER
    name = name_by_rule(works[0], service, quantity, slug, common_code(codes))
    folder, names = out / FOLDER, [name.name, f"{slug}_note.txt", f"{slug}_check_mm.pdf"]
    with staging(folder) as stage:
        stage.write(name.name, dxf_text(_file(parts, codes)))
        proofs = prove_together(stage.path / name.name, parts)
        file = sent_file(stage.path / name.name, name, sent[0])
        refuse(
            [f for knife, one in zip(works, sent, strict=True) for f in (*knife.findings, *one.findings)],
            [(f"Part {i + 1}, {parts[i].knife.design.name}", proof) for i, proof in enumerate(proofs)],
            lambda: _shown(works, sent, proofs, [], folder, file),
        )
        stage.write(names[1], cover_note(sent, file, _layout(parts, gap)))
        title = ", ".join(design.name for design in designs)
        printed = check_print(stage.path / name.name, file, sent[0], title, common_code(codes))
        stage.write(names[2], check_pdf(printed, wishes()))
        stage.put_in_place(names)
    shown = _shown(works, sent, proofs, names, folder, file)
    return Together(tuple(works), shown, folder, tuple(parts), tuple(short_name(name, service)))


def _shown(
    works: Sequence[Knife],
    sent: Sequence[Delivery],
    proofs: Sequence[Proof],
    names: Sequence[str],
    folder: Path,
    file: SentFile,
) -> tuple[Report, ...]:
    """Return the report of every part, each once; a part that is there several times with its first proof."""
    each = len(proofs) // len(works)
    return tuple(
        Report(knife, proofs[i * each], one, tuple(names), folder.as_posix(), (), file)
        for i, (knife, one) in enumerate(zip(works, sent, strict=True))
    )


def _same_sheet(works: Sequence[Knife]) -> None:
    """Refuse parts that do not come out of one sheet."""
    first = works[0]
    for other in works[1:]:
        for what, a, b in (
            ("material", first.material.title, other.material.title),
            ("thickness", _thick(first), _thick(other)),
        ):
            if a != b:
                raise RequestError(
                    f"{first.design.name} and {other.design.name} cannot be in one file: {what} {a} and {b}. Cut them "
                    "by two commands, or give them the same."
                )


def _thick(knife: Knife) -> str:
    return f"{knife.stock_mm:g} mm"


def gap_mm(works: Sequence[Knife]) -> float:
    """Return the space between parts: at least 10 mm, and twice kerf and thickness (common practice) [mm]."""
    return max(
        LEAST_GAP_MM,
        *(2 * process(w.oversize.process).kerf_mm.value + 2 * w.stock_mm for w in works),
    )


def _column(works: Sequence[Knife], sent: Sequence[Delivery], quantity: int, gap: float) -> list[Placed]:
    """Place the parts one below the other, their butts in line; the first stays where it is."""
    parts: list[Placed] = []
    left, low = sent[0].outline.bounds_mm[0], sent[0].outline.bounds_mm[3]
    for knife, one in zip(works, sent, strict=True):
        x0, y0, _, y1 = one.outline.bounds_mm
        for _ in range(quantity):
            dy = low - y1
            parts.append(Placed(knife, one, left - x0, dy))
            low = y0 + dy - gap
    return parts


def _file(parts: Sequence[Placed], codes: Sequence[str]) -> CutFile:
    outlines = [_moved(part) for part in parts]
    holes = [CutHole(x + part.dx_mm, y + part.dy_mm, cut) for part in parts for x, y, cut in part.sent.drawn_holes]
    # a file of several designs is of none of them: its head names one code only where there is one
    comment = f"design {codes[0]}" if len(codes) == 1 else f"designs {' '.join(codes)}"
    return CutFile(
        cut=outlines[0],
        holes=tuple(holes),
        finished=None,
        notes=(),
        comment=comment,
        style=parts[0].sent.style,
        others=tuple(outlines[1:]),
    )


def _moved(part: Placed) -> Outline:
    return part.sent.outline.moved(part.dx_mm, part.dy_mm)


def prove_together(path: Path, parts: Sequence[Placed]) -> list[Proof]:
    """Read a file of several parts back and prove each of them; what concerns the whole file stands with the first.

    Raises:
        ProofError: The file cannot be read as what it should be.
    """
    service = parts[0].sent.service
    named = service.unit if service else "mm"
    unit = 1.0 if named == "mm" else MM_PER_INCH
    whole = read_sent(path, service)
    pieces = [_part(whole, part, unit) for part in parts]
    proofs = [prove(piece, expected_of(part.sent)) for piece, part in zip(pieces, parts, strict=True)]
    common: list[Finding] = [f for f in file_findings(whole, named) if f.level == "error"]
    if sum(map(_count, pieces)) != _count(whole):
        text = "The file holds something that belongs to none of its parts, or a part is missing."
        common.append(finding("CONTOUR-COUNT", text))
    return [replace(proofs[0], findings=(*proofs[0].findings, *common)), *proofs[1:]]


def _part(whole: CutDrawing, part: Placed, unit: float) -> CutDrawing:
    x0, y0, x1, y1 = _moved(part).bounds_mm
    box = (x0 - _ROUNDING_MM, y0 - _ROUNDING_MM, x1 + _ROUNDING_MM, y1 + _ROUNDING_MM)
    a, b, c, d = (v / unit for v in box)
    return part_in(whole, (a, b, c, d), (part.dx_mm / unit, part.dy_mm / unit))


def _count(drawing: CutDrawing) -> int:
    return len(drawing.contours) + len(drawing.circles) + len(drawing.points)


def _layout(parts: Sequence[Placed], gap: float) -> list[NoteRow]:
    """Say how the parts lie in the file."""
    unit = parts[0].sent.style.unit
    apart = length(gap, unit)
    return [NoteRow("Parts", f"{len(parts)} in this file, one below the other, {apart} apart: cut the file once.")]
