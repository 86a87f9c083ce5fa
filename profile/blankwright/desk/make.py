"""Writing files: everything is prepared beside the target, proven from what was written, and only then put in place."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from blankwright.base.errors import ProofError, RequestError, unknown
from blankwright.base.files import staging, write_file
from blankwright.base.units import MM_PER_INCH
from blankwright.cutting.delivery import Delivery, cover_note, deliver, file_name, kerf_words, leads, program
from blankwright.cutting.dxf import CutFile, CutHole, dxf_text
from blankwright.cutting.style import FileStyle
from blankwright.design.request import Design
from blankwright.drawing.content import plate_of
from blankwright.drawing.svg import drawing_svg
from blankwright.ink.papers import Paper, paper
from blankwright.knife.code import design_code
from blankwright.knife.face import grind_chains
from blankwright.knife.knife import Workpiece, prepare
from blankwright.knife.words import size_in_words
from blankwright.proof.proof import Expected, ExpectedHole, Proof, prove
from blankwright.proof.reader import CutDrawing, read_dxf
from blankwright.proof.styled import as_plain
from blankwright.report.data import document, dumps
from blankwright.sheet.files import PAPERS as SHEET_PAPERS
from blankwright.sheet.files import SheetWishes, sheet_data, sheet_files, sheet_page
from blankwright.sheet.model import Sheet
from blankwright.template.scenes import Wishes, template_pdf, template_svg, wishes

if TYPE_CHECKING:
    from blankwright.shop.services import Service

LAYERS = ("finished", "grind", "notes")
"""Layers that can be added to the cutting file."""

SECTIONS, SOLIDS, PROGRAM = "sections", "stl", "ngc"
"""What else can be asked for: sections on the drawing, solids to print and hold, a program for one's own table."""

EXTRAS = (*LAYERS, SECTIONS, SOLIDS, PROGRAM)


@dataclass(frozen=True, eq=False)
class Made:
    """A workpiece with its files.

    Args:
        work: The workpiece.
        proof: What was measured on the cutting file.
        folder: Where the files are.
        report: The report as data.
        older: Files of ours in the folder that were not written now.
    """

    work: Workpiece
    proof: Proof
    folder: Path
    report: dict[str, Any]
    older: tuple[str, ...]


def make(
    design: Design,
    out: Path,
    extras: tuple[str, ...] = (),
    only_cut: bool = False,
    wanted: Wishes | None = None,
    service: Service | None = None,
    quantity: int = 1,
) -> Made:
    """Solve a design, write its files into out/<slug>/ and prove the cutting file.

    Args:
        design: The request.
        out: Folder that receives a folder named after the design.
        extras: Further layers of the cutting file, out of LAYERS; SECTIONS on the drawing; SOLIDS to print; PROGRAM
            for one's own table.
        only_cut: Write the cutting file alone, with its cover note when it goes to a service.
        wanted: What the printed template shall be; None for A4, nothing added.
        service: What the shop wants of the file; None for the plain one.
        quantity: How many parts the cover note asks for.

    Raises:
        RequestError: The request is wrong, or the folder cannot be written.
        DesignError: Dimensions or holes do not go together, or the cutter's path does not go round them.
        ProofError: The written file does not hold what it must; nothing is left behind.
    """
    _check(extras, only_cut, service)
    work = prepare(design)
    delivery, code = deliver(work, service, quantity), design_code(design)
    folder, slug = out / design.slug, design.slug
    name = file_name(work, delivery, code)
    with staging(folder) as stage:
        write_file(stage.path / name, dxf_text(cut_file(work, extras, delivery)))
        proof = prove_file(work, stage.path / name, delivery)
        files: dict[str, str | bytes] = {}
        if not only_cut:
            files |= _shown(work, extras, wanted or wishes())
        if PROGRAM in extras:
            files[f"{slug}_path_mm.ngc"] = program(work, delivery, code)
        if service is not None or not only_cut:
            files[f"{slug}_note.txt"] = cover_note(work, delivery, name, code)
        names = [name, *files, *([] if only_cut else [f"{slug}.json"])]
        report = document(work, proof, names, delivery)
        if not only_cut:
            files[f"{slug}.json"] = dumps(report)
        for each, content in files.items():
            write_file(stage.path / each, content)
        stage.put_in_place(names)
    return Made(work, proof, folder, report, _older(folder, slug, names, report["design_code"]))


def _shown(work: Workpiece, extras: tuple[str, ...], wanted: Wishes) -> dict[str, str | bytes]:
    """Return drawing, template, build sheet (its page; `sheet` prints it as well) and solids by name."""
    slug = work.design.slug
    shown: dict[str, str | bytes] = {
        f"{slug}_drawing_mm.svg": drawing_svg(plate_of(work, sections=SECTIONS in extras)),
        f"{slug}_template_{wanted.paper.name.lower()}.pdf": template_pdf(work, wanted),
        **sheet_page(work, SheetWishes(_sheet_paper(wanted))),
    }
    return shown | (_solid_files(work) if SOLIDS in extras else {})


def _sheet_paper(wanted: Wishes) -> Paper:
    """Return the template's paper, or A4 where a build sheet has no use for it."""
    return wanted.paper if wanted.paper.name in SHEET_PAPERS else paper(SHEET_PAPERS[0])


def _check(extras: tuple[str, ...], only_cut: bool, service: Service | None) -> None:
    """Refuse words that --with does not know, or not for the cutting file alone, or not for this service."""
    for extra in extras:
        if extra not in EXTRAS:
            raise unknown("word", extra, (*LAYERS, PROGRAM) if only_cut else EXTRAS, "--with")
        if only_cut and extra in (SECTIONS, SOLIDS):
            raise RequestError(
                f"--with: '{extra}' is no part of the cutting file, which is all that cut writes. Use blankwright make "
                f"DESIGN --with {extra}. Allowed for cut: {', '.join((*LAYERS, PROGRAM))}."
            )
    if PROGRAM in extras and (service is None or service.table is None):
        raise RequestError(
            f"--with {PROGRAM}: a program needs a table with its kerf and speeds. Add --service own-table, or a copy "
            "of it with your own figures."
        )


def _solid_files(work: Workpiece) -> dict[str, bytes]:
    """Return the files of the solids to print, by name."""
    from blankwright.print3d.printable import solids  # noqa: PLC0415
    from blankwright.print3d.stl import stl_bytes  # noqa: PLC0415 - only who prints a solid needs them

    title = f"unit mm, design {design_code(work.design)}"
    return {
        f"{work.design.slug}_{name}_mm.stl": stl_bytes(mesh.vertices, mesh.faces, f"{name}, {title}")
        for name, mesh in solids(work).items()
    }


def _older(folder: Path, slug: str, names: list[str], code: str) -> tuple[str, ...]:
    """Return our files in the folder that were not written now and may show another state of the design."""
    ours = [f"{slug}_cut_mm.dxf", f"{slug}_drawing_mm.svg", f"{slug}_template_mm.svg", f"{slug}.json"]
    ours += [f"{slug}_note.txt", f"{slug}_path_mm.ngc"]
    ours += [f"{slug}_{name}_mm.stl" for name in ("blade", "handle", "knife")]
    ours += [f"{slug}_sheet.html"]
    ours += [path.name for kind in ("template", "sheet") for path in sorted(folder.glob(f"{slug}_{kind}_*.pdf"))]
    left = tuple(name for name in ours if name not in names and (folder / name).is_file())
    return () if f"{slug}.json" in left and _code_of(folder / f"{slug}.json") == code else left


def _code_of(path: Path) -> str | None:
    try:
        table = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return None
    code = table.get("design_code") if isinstance(table, dict) else None
    return code if isinstance(code, str) else None


def make_template(design: Design, out: Path, wanted: Wishes) -> tuple[Workpiece, Path, list[str]]:
    """Solve a design and write only its template: PDF to print, SVG to cut from board.

    Returns:
        The workpiece, the folder and the names of the files.

    Raises:
        RequestError: The request is wrong, or the folder cannot be written.
        DesignError: Dimensions or holes do not go together.
    """
    work = prepare(design)
    folder = out / design.slug
    names = [f"{design.slug}_template_{wanted.paper.name.lower()}.pdf", f"{design.slug}_template_mm.svg"]
    with staging(folder) as stage:
        write_file(stage.path / names[0], template_pdf(work, wanted))
        write_file(stage.path / names[1], template_svg(work))
        stage.put_in_place(names)
    return work, folder, names


def make_sheet(design: Design, out: Path, wanted: SheetWishes) -> tuple[Sheet, Path, list[str]]:
    """Solve a design and write only its build sheet: a page and a PDF.

    Returns:
        The sheet as data, the folder and the names of the files.

    Raises:
        RequestError: The request is wrong, or the folder cannot be written.
        DesignError: Dimensions or holes do not go together.
    """
    work = prepare(design)
    folder, data = out / design.slug, sheet_data(work, wanted)
    files = sheet_files(work, wanted, data)
    with staging(folder) as stage:
        for name, content in files.items():
            write_file(stage.path / name, content)
        stage.put_in_place(list(files))
    return data, folder, list(files)


def make_drawing(work: Workpiece, out: Path) -> tuple[Path, list[str]]:
    """Write only a workpiece's drawing, with its sections.

    Returns:
        The folder and the names of the files.

    Raises:
        RequestError: A setting of grind or handle is missing, or the folder cannot be written.
    """
    folder = out / work.design.slug
    names = [f"{work.design.slug}_drawing_mm.svg"]
    with staging(folder) as stage:
        write_file(stage.path / names[0], drawing_svg(plate_of(work, sections=True)))
        stage.put_in_place(names)
    return folder, names


def cut_file(work: Workpiece, extras: tuple[str, ...] = (), delivery: Delivery | None = None) -> CutFile:
    """Return the content of the cutting file."""
    sent = delivery or deliver(work, None)
    notes: tuple[str, ...] = ()
    if "notes" in extras:
        thickness = work.design.number("material.thickness")
        notes = (
            f"{work.design.name}: {work.material.title}, {thickness:g} mm. One unit is one "
            f"{'mm' if sent.style.unit == 'mm' else 'inch'}.",
            size_in_words(work.cut.size_mm, thickness),
            kerf_words(sent),
        )
    return CutFile(
        cut=sent.outline,
        holes=tuple(CutHole(x, y, cut) for x, y, cut in sent.drawn_holes),
        finished=work.finished if "finished" in extras else None,
        notes=notes,
        grind=grind_chains(work) if "grind" in extras else (),
        comment=f"design {design_code(work.design)}",
        style=sent.style,
        leads=leads(sent.path) if sent.path else (),
        tabs_mm=sent.path.tabs_mm if sent.path else (),
    )


def prove_file(work: Workpiece, path: Path, delivery: Delivery | None = None) -> Proof:
    """Read a cutting file back and prove that the finished knife is inside it.

    Raises:
        ProofError: It is not, or the file is not what it should be; the message lists every fault.
    """
    sent = delivery or deliver(work, None)
    return proven(read_sent(path, sent.style), expected_of(work, sent))


def read_sent(path: Path, style: FileStyle) -> CutDrawing:
    """Read a file in a shop's style back, as if it were plain."""
    return as_plain(
        read_dxf(path),
        cut_layer=style.cut_layer,
        mark_layer=style.mark_layer,
        exploded=style.exploded,
        unit_mm=1.0 if style.unit == "mm" else MM_PER_INCH,
    )


def proven(drawing: CutDrawing, expected: Expected, part: str = "") -> Proof:
    """Return the proof of a part.

    Args:
        drawing: The file as read back, or what of it belongs to one part.
        expected: What it must hold.
        part: Which part of several, for the message.

    Raises:
        ProofError: It does not prove right; the message lists every fault.
    """
    proof = prove(drawing, expected)
    if not proof.ok:
        faults = [f.message for f in proof.findings if f.level == "error"] or ["something could not be measured"]
        which = f" {part}:" if part else ""
        raise ProofError(f"The cutting file was not kept, because it does not prove right:{which} " + " ".join(faults))
    return proof


def expected_of(work: Workpiece, sent: Delivery) -> Expected:
    """Return what a delivered file must hold."""
    return Expected(
        finished=work.finished,
        asked_mm=work.per_piece(work.allowance.regions_mm) + sent.more_mm,
        loss_mm=work.per_piece(work.allowance.loss_mm) + sent.more_mm,
        holes=tuple(ExpectedHole(x, y, cut) for x, y, cut in sent.drawn_holes if cut is not None or sent.style.marks),
        size_mm=sent.outline.size_mm,
        unit=sent.style.unit,
    )
