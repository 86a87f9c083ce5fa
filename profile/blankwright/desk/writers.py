"""What `make` writes beside the cutting file: a list of writers, each one function of the job. One more is one line.

The words of --with, the names in the report, and what is noticed as older in a folder all follow from the list.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from blankwright.base.frozen import dataclass
from blankwright.cutting.covernote import cover_note, layout_rows
from blankwright.cutting.layout import Placed, program_name
from blankwright.cutting.order import SentFile
from blankwright.ink.papers import paper
from blankwright.knife.knife import Knife
from blankwright.template.scenes import Wishes

if TYPE_CHECKING:
    from blankwright.desk.partfiles import PartFiles

GRIND = "grind"

MARKS = "marks"

LAYERS = ("finished", GRIND, "notes", MARKS)
"""Layers that can be added to the cutting file."""

SECTIONS, SOLIDS, PROGRAM, PARTS = "sections", "stl", "program", "parts"
"""What else can be asked for: sections on the drawing, solids to print and hold, a program for one's own table, the
cutting files of what is cut beside the blade."""

Files = dict[str, str | bytes]


@dataclass(frozen=True, eq=False)
class Job:
    """What is to be written.

    Args:
        knife: The knife.
        extras: What was asked for beside the usual files, out of EXTRAS.
        parts: What lies in the cutting file; nothing for a blank that is bought.
        file: The cutting file, read back; None as before.
        written: Where the cutting file was written; None as before.
        only_cut: Whether the cutting file and what goes with it to the shop is all that is written.
        wanted: What the printed template shall be.
        beside: What is cut beside the blade; None where it was not asked for.
    """

    knife: Knife
    extras: tuple[str, ...]
    parts: tuple[Placed, ...]
    file: SentFile | None
    written: Path | None
    only_cut: bool
    wanted: Wishes
    beside: PartFiles | None = None


@dataclass(frozen=True)
class Writer:
    """One kind of file.

    Args:
        files: Its files by name for a job; none where it has no part in it.
        patterns: Endings, behind the slug, that such files have in a folder.
        word: The word of --with that asks for it; None where it is always written.
        with_cut: Whether it goes with the cutting file alone as well.
        name: What it writes, in words.
        must: Whether all is withheld when it cannot be written; the report tells of any other.
    """

    files: Callable[[Job], Files]
    patterns: tuple[str, ...]
    word: str | None = None
    with_cut: bool = False
    name: str = ""
    must: bool = True


def _drawing(job: Job) -> Files:
    from blankwright.drawing.content import part_drawing  # noqa: PLC0415
    from blankwright.drawing.svg import drawing_svg  # noqa: PLC0415

    drawing = part_drawing(job.knife, sections=SECTIONS in job.extras)
    return {f"{job.knife.design.slug}_drawing_mm.svg": drawing_svg(drawing)}


def _template(job: Job) -> Files:
    from blankwright.template.scenes import template_pdf  # noqa: PLC0415

    name = f"{job.knife.design.slug}_template_{job.wanted.paper.name.lower()}.pdf"
    return {name: template_pdf(job.knife, job.wanted)}


def _sheet(job: Job) -> Files:
    """Return the sheet's page and the bench card; `sheet` prints the page as well."""
    from blankwright.sheet.files import PAPERS, SheetWishes, card_file, sheet_data, sheet_page  # noqa: PLC0415

    wishes = SheetWishes(job.wanted.paper if job.wanted.paper.name in PAPERS else paper(PAPERS[0]))
    data = sheet_data(job.knife, wishes)
    return {**sheet_page(job.knife, wishes, data), **card_file(job.knife, wishes, data)}


def _solids(job: Job) -> Files:
    from blankwright.print3d.printable import solids  # noqa: PLC0415
    from blankwright.print3d.stl import stl_bytes  # noqa: PLC0415 - only who prints a solid needs them

    slug, title = job.knife.design.slug, f"unit mm, design {job.knife.code}"
    return {
        f"{slug}_{name}_mm.stl": stl_bytes(mesh.vertices, mesh.faces, f"{name}, {title}")
        for name, mesh in solids(job.knife).items()
    }


def _program(job: Job) -> Files:
    from blankwright.desk.proving import proven_program  # noqa: PLC0415 - only a program needs to be played back

    return dict(proven_program(job.parts, job.knife.design.slug)) if job.parts else {}


def _note(job: Job) -> Files:
    if not job.parts or job.file is None or (job.only_cut and job.knife.service is None):
        return {}
    slug = job.knife.design.slug
    program = program_name(job.parts, slug) if PROGRAM in job.extras else None
    sent = job.parts[0].sent
    return {f"{slug}_note.txt": cover_note([sent], job.file, layout_rows(job.parts, program))}


def _check(job: Job) -> Files:
    if job.file is None or job.written is None or (job.only_cut and job.knife.service is None):
        return {}
    from blankwright.desk.readback import check_print  # noqa: PLC0415
    from blankwright.template.checkprint import check_pdf  # noqa: PLC0415

    shown = check_print(job.written, job.file, job.parts[0].sent, job.knife.design.name, job.knife.code)
    return {f"{job.knife.design.slug}_check_mm.pdf": check_pdf(shown, job.wanted)}


def _beside(job: Job) -> Files:
    return job.beside.files if job.beside else {}


PART_NAMES = ("scale-*", "liner-*", "template", "spacer", "filing-guide", "sheath-*")
"""Names of files of what is cut beside the blade, behind the slug."""

WRITERS: tuple[Writer, ...] = (
    Writer(_drawing, ("_drawing_mm.svg",)),
    Writer(_template, ("_template_*.pdf", "_template_mm.svg")),
    Writer(_sheet, ("_sheet.html", "_sheet_*.pdf", "_card_*.pdf"), name="build sheet", must=False),
    Writer(_solids, tuple(f"_{name}_mm.stl" for name in ("blade", "handle", "knife")), SOLIDS),
    Writer(_beside, (*(f"_{name}_*.dxf" for name in PART_NAMES), "_parts_note.txt", "_parts_maker.txt"), PARTS),
    Writer(_program, ("_path_mm.*", "_path_in.*"), PROGRAM, with_cut=True),
    Writer(_note, ("_note.txt",), with_cut=True),
    Writer(_check, ("_check_mm.pdf",), with_cut=True, name="check print", must=False),
)
"""In the order in which a report lists their files."""


def chosen(job: Job) -> list[Writer]:
    """Return the writers that have a part in a job."""
    return [w for w in WRITERS if (w.with_cut or not job.only_cut) and (w.word is None or w.word in job.extras)]


def words(*, only_cut: bool) -> tuple[str, ...]:
    """Return the words that --with takes."""
    asked = [w.word for w in WRITERS if w.word is not None and (w.with_cut or not only_cut)]
    return (*LAYERS, *(() if only_cut else (SECTIONS,)), *asked)


def patterns() -> tuple[str, ...]:
    """Return the endings, behind the slug, of all files that are ours."""
    return ("_cut_mm.dxf", ".json", *(pattern for writer in WRITERS for pattern in writer.patterns))
