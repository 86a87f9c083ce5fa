"""Proving what was written: what is expected comes from the finished knife and its shop, never from what was drawn.

A check that is an error, whichever it is, refuses the whole set: no file is put in place.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import lru_cache
from pathlib import Path

from blankwright.base.errors import ProofError, Told
from blankwright.base.finding import Finding, finding
from blankwright.base.units import mm_per
from blankwright.cutting.delivery import Delivery
from blankwright.cutting.layout import Placed, program, program_name, run_of
from blankwright.proof.etch import ExpectedMarks, apart, mark_findings
from blankwright.proof.findings import file_findings
from blankwright.proof.holes import ExpectedHole
from blankwright.proof.played import Controller, play
from blankwright.proof.proof import Expected, Proof, prove
from blankwright.proof.reader import CutDrawing, read_dxf
from blankwright.proof.strokes import ROUNDED_MM, Slot
from blankwright.proof.styled import as_plain, part_in
from blankwright.shop.services import Service, Table

_ROUNDING_MM = 0.002
"""A part's box in the file is this much larger than the part."""

MARK_INSIDE_MM, MARK_CLEAR_MM = 1.0, 1.0
"""A mark keeps so far inside the finished outline, and off what is cut: rims are broken and filed (common practice)."""

_NOT_KEPT = "No file was kept, because the design does not pass its checks:"
_NOT_PROVEN = "The cutting file was not kept, because it does not prove right:"
_CHANGE = "Change the design until they hold, then make it again."
_REPORT = "Do not cut it. The design is not at fault but the writer: please report this with the command you ran."

_OF_THE_DESIGN = {"WORST-CASE"}
"""Codes of the proof that say what the design asked for too little of; all others are slips of the writer."""


def expected_of(sent: Delivery) -> Expected:
    """Return what a file of a knife for its shop must hold: from the finished knife and the shop's own figures.

    Args:
        sent: The delivery. Only its knife is looked at (finished outline and holes, allowance, shop), nothing that it
            draws.
    """
    knife, service = sent.knife, sent.knife.service
    return Expected(
        finished=knife.finished,
        asked_mm=knife.per_piece(knife.oversize.regions_mm),
        loss_mm=knife.per_piece(knife.oversize.loss_mm),
        holes=tuple(ExpectedHole(h.hole.x_mm, h.hole.y_mm, h.hole.diameter_mm, h.made.made_by) for h in knife.holes),
        unit=service.unit if service else "mm",
        marks=service is None or service.holes in ("cut and mark", "mark only"),
        deviation_mm=(service.deviation_mm or 0.0) if service else 0.0,
        slot=slot_of(service.table) if service and service.table else None,
    )


def slot_of(table: Table) -> Slot:
    """Return what a path for one's own table must leave."""
    return Slot(table.kerf_mm, table.tabs, table.tab_width_mm, clockwise=table.outside == "clockwise")


def prove_file(path: Path, parts: Sequence[Placed], *, marked: bool = False) -> list[Proof]:
    """Read a cutting file back and prove that every finished knife is inside it; `refuse` acts on what is found.

    What concerns the whole file stands with the first part. Marks, which a file of one part may have, are taken out
    first and proven by themselves: what is left is the same file as without them.

    Raises:
        ProofError: The file cannot be read as what it should be.
    """
    service = parts[0].sent.service
    whole = read_sent(path, service)
    if len(parts) == 1:
        whole, marks = apart(whole, etch_layer_of(service)) if marked else (whole, None)
        proof = prove(whole, expected_of(parts[0].sent))
        if marks is None:
            return [proof]
        unit_mm = mm_per(service.unit) if service is not None else 1.0
        wanted = ExpectedMarks(parts[0].sent.knife.finished.vertices, MARK_INSIDE_MM, MARK_CLEAR_MM)
        return [replace(proof, findings=(*proof.findings, *mark_findings(marks, whole, wanted, unit_mm)))]
    unit = service.unit if service else "mm"
    common = [f for f in file_findings(whole, unit) if f.level == "error"]
    return _each(whole, parts, mm_per(unit), common)


def etch_layer_of(service: Service | None) -> str:
    """Return the layer of marks in a file for a shop."""
    return service.etch_layer if service is not None else "ETCH"


def named(parts: Sequence[Placed], proofs: Sequence[Proof]) -> list[tuple[str, Proof]]:
    """Return proofs with the names of their parts; the only one needs none."""
    if len(parts) == 1:
        return [("", proofs[0])]
    return [
        (f"Part {i}, {part.sent.knife.design.name}", proof)
        for i, (part, proof) in enumerate(zip(parts, proofs, strict=True), start=1)
    ]


def proven_program(parts: Sequence[Placed], slug: str) -> dict[str, str]:
    """Return the program of parts for one's own table by its name: played back and proven like the cutting file.

    Raises:
        RequestError: There is no table.
        ProofError: What it cuts is not what it must.
    """
    name, text = program_name(parts, slug), program(parts)
    told = [
        (" ".join(filter(None, (name, part))), proof) for part, proof in named(parts, prove_program(text, name, parts))
    ]
    refuse([], told)
    return {name: text}


def prove_program(text: str, name: str, parts: Sequence[Placed]) -> list[Proof]:
    """Play a program back and prove its cuts like those of a cutting file.

    Raises:
        ProofError: It holds what a plain controller does not know, or would do wrong.
    """
    service = parts[0].sent.service
    assert service is not None and service.dialect is not None
    by = Controller(service.dialect.from_zero, service.dialect.on, service.dialect.off, service.unit)
    played = play(text, name, by, run_of(parts).zero_mm)
    return _each(played, parts, 1.0, [], of_program=True)


def _each(
    whole: CutDrawing, parts: Sequence[Placed], unit_mm: float, common: list[Finding], *, of_program: bool = False
) -> list[Proof]:
    """Prove every part of a drawing, and that there is nothing in it beside the parts."""
    pieces = [_part(whole, part, unit_mm) for part in parts]
    proofs = []
    for piece, part in zip(pieces, parts, strict=True):
        expected = expected_of(part.sent)
        if of_program and expected.slot is not None:
            expected = replace(expected, marks=False, slot=replace(expected.slot, rounded_mm=ROUNDED_MM))
        proofs.append(prove(piece, expected, of_file=not of_program))
    if sum(map(_count, pieces)) != _count(whole):
        text = "The file holds something that belongs to none of its parts, or a part is missing."
        common = [*common, finding("CONTOUR-COUNT", text)]
    return [replace(proofs[0], findings=(*proofs[0].findings, *common)), *proofs[1:]]


def _part(whole: CutDrawing, part: Placed, unit_mm: float) -> CutDrawing:
    x0, y0, x1, y1 = part.bounds_mm
    box = (x0 - _ROUNDING_MM, y0 - _ROUNDING_MM, x1 + _ROUNDING_MM, y1 + _ROUNDING_MM)
    a, b, c, d = (v / unit_mm for v in box)
    return part_in(whole, (a, b, c, d), (part.dx_mm / unit_mm, part.dy_mm / unit_mm))


def _count(drawing: CutDrawing) -> int:
    return len(drawing.contours) + len(drawing.circles) + len(drawing.points)


def read_written(path: Path) -> CutDrawing:
    """Read a written file, once for the proof, the note and the check print; a file that changed is read again.

    Raises:
        ProofError: It is no sound DXF.
    """
    seen = path.stat()
    return _read(path, seen.st_mtime_ns, seen.st_size, seen.st_ino)


@lru_cache(maxsize=2)
def _read(path: Path, _changed: int, _size: int, _file: int) -> CutDrawing:
    return read_dxf(path)


def read_sent(path: Path, service: Service | None) -> CutDrawing:
    """Read a file for a shop back, as if it were plain; its layers, unit and pieces are those the shop asks for."""
    if service is None:
        return read_written(path)
    return as_plain(
        read_written(path),
        cut_layer=service.cut_layer,
        mark_layer=service.mark_layer,
        exploded=service.contours == "exploded",
        path=service.table is not None,
        unit_mm=mm_per(service.unit),
    )


def refuse(
    design: Sequence[Finding],
    proofs: Sequence[tuple[str, Proof]],
    reports: Callable[[], Sequence[Told]] = tuple,
) -> None:
    """Refuse a set of files of which any check is an error.

    Args:
        design: What the rules say of the design and of its shop.
        proofs: The proof of each part with its name; the name is empty for the only one.
        reports: Makes what is printed all the same; asked only when something is refused.

    Raises:
        ProofError: A check is an error; the message names each, and says what to do.
    """
    words = []
    broken = [f"{f.code}: {f.message}" for f in design if f.level == "error"]
    if broken:
        words += [_NOT_KEPT, *broken, _CHANGE]
    wrong = [(name, proof) for name, proof in proofs if not proof.ok]
    if wrong:
        words.append(_NOT_PROVEN)
    for name, proof in wrong:
        faults = [f"{f.code}: {f.message}" for f in proof.findings if f.level == "error"]
        words += [f"{name}:" if name else "", *(faults or ["Something could not be measured."])]
    codes = {f.code for _, proof in wrong for f in proof.findings if f.level == "error"}
    if wrong and not (codes and codes <= _OF_THE_DESIGN):
        words.append(_REPORT)
    if words:
        raise ProofError(" ".join(filter(None, words)), reports())
