"""Writing one paper of a knife and nothing else: its template, its build sheet or its drawing."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from blankwright.base.files import write_files
from blankwright.design.request import Design
from blankwright.desk.proving import refuse
from blankwright.knife.knife import Knife, finish

if TYPE_CHECKING:
    from blankwright.sheet.files import SheetWishes
    from blankwright.sheet.model import Sheet
    from blankwright.template.scenes import Wishes


def _sound(design: Design) -> Knife:
    """Solve a design for a paper of its own, and refuse it when a check of the design is an error."""
    knife = finish(design)
    refuse(knife.findings, [])
    return knife


def make_template(design: Design, out: Path, wanted: Wishes) -> tuple[Knife, Path, list[str], list[str]]:
    """Solve a design and write only its template: PDF to print, SVG to cut from board.

    Returns:
        The knife, the folder, the names of the files, and remarks on edited ones that are kept.

    Raises:
        RequestError: The request is wrong, or the folder cannot be written.
        DesignError: Dimensions or holes do not go together.
        ProofError: A check of the design is an error.
    """
    from blankwright.template.scenes import template_pdf, template_svg  # noqa: PLC0415 - as in all three: one is written

    knife = _sound(design)
    folder = out / design.slug
    files: dict[str, str | bytes] = {
        f"{design.slug}_template_{wanted.paper.name.lower()}.pdf": template_pdf(knife, wanted),
        f"{design.slug}_template_mm.svg": template_svg(knife),
    }
    return knife, folder, *write_files(folder, files)


def make_sheet(design: Design, out: Path, wanted: SheetWishes) -> tuple[Sheet, Path, list[str], list[str]]:
    """Solve a design and write only its build sheet: a page and a PDF.

    Returns:
        The sheet as data, the folder, the names of the files, and remarks on edited ones that are kept.

    Raises:
        RequestError: The request is wrong, or the folder cannot be written.
        DesignError: Dimensions or holes do not go together.
        ProofError: A check of the design is an error.
    """
    from blankwright.sheet.files import sheet_data, sheet_files  # noqa: PLC0415

    knife = _sound(design)
    folder, data = out / design.slug, sheet_data(knife, wanted)
    return data, folder, *write_files(folder, sheet_files(knife, wanted, data))


def make_drawing(knife: Knife, out: Path) -> tuple[Path, list[str], list[str]]:
    """Write only a knife's drawing, with its sections.

    Returns:
        The folder, the names of the files, and remarks on an edited one that is kept.

    Raises:
        RequestError: A setting of grind or handle is missing, or the folder cannot be written.
        ProofError: A check of the design is an error.
    """
    from blankwright.drawing.content import part_drawing  # noqa: PLC0415
    from blankwright.drawing.svg import drawing_svg  # noqa: PLC0415

    refuse(knife.findings, [])
    folder = out / knife.design.slug
    drawn = drawing_svg(part_drawing(knife, sections=True))
    return folder, *write_files(folder, {f"{knife.design.slug}_drawing_mm.svg": drawn})
