"""Several parts in one cutting file, one below the other, for a shop that wants them together; every part is proven."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from blankwright.base.errors import RequestError
from blankwright.base.files import staging
from blankwright.base.frozen import dataclass
from blankwright.cutting.covernote import cover_note, layout_rows
from blankwright.cutting.delivery import Delivery, deliver
from blankwright.cutting.dxf import dxf_text
from blankwright.cutting.layout import Placed, column, file_of
from blankwright.cutting.names import name_by_rule
from blankwright.cutting.order import SentFile
from blankwright.design.request import Design
from blankwright.desk.make import short_name
from blankwright.desk.proving import named, prove_file, proven_program, refuse
from blankwright.desk.readback import check_print, sent_file
from blankwright.desk.writers import PROGRAM
from blankwright.knife.code import common_code
from blankwright.knife.knife import Knife, finish
from blankwright.proof.proof import Proof
from blankwright.report.data import Report
from blankwright.shop.services import Service
from blankwright.template.checkprint import check_pdf
from blankwright.template.scenes import wishes

FOLDER = "together"


@dataclass(frozen=True, eq=False)
class Together:
    """One file of several parts.

    Args:
        works: The knives, each once.
        shown: Their reports, to be shown to a reader.
        folder: Where the files are.
        parts: Every part in its place.
        notes: Remarks, such as a name that had to be shortened.
        kept: Remarks on files that had been edited and are kept.
    """

    works: tuple[Knife, ...]
    shown: tuple[Report, ...]
    folder: Path
    parts: tuple[Placed, ...]
    notes: tuple[str, ...] = ()
    kept: tuple[str, ...] = ()

    @property
    def reports(self) -> tuple[dict[str, Any], ...]:
        """Their reports as data."""
        return tuple(one.data for one in self.shown)


def cut_together(
    designs: Sequence[Design], out: Path, service: Service, quantity: int, extras: tuple[str, ...] = ()
) -> Together:
    """Solve designs, write them into one cutting file in out/together/ and prove every part of it.

    Args:
        designs: The requests.
        out: Folder that receives the folder "together".
        service: What the shop wants.
        quantity: How many there shall be of each.
        extras: "program" for the same as a program for one's own table, or nothing.

    Raises:
        RequestError: The parts cannot lie on one sheet, or the folder cannot be written.
        DesignError: Dimensions or holes do not go together.
        ProofError: The written file does not hold what it must; nothing is left behind.
    """
    if any(word != PROGRAM for word in extras):
        raise RequestError("--with: a file of several parts holds what is cut and marked, no further layers.")
    works = [finish(design, service=service) for design in designs]
    sent = [deliver(knife, quantity) for knife in works]
    _same_sheet(works)
    parts = column(sent, quantity)
    slug = works[0].design.slug if len(works) == 1 else FOLDER
    code = common_code([knife.code for knife in works])
    name = name_by_rule(works[0], service, quantity, slug, code)
    folder, names = out / FOLDER, [name.name]
    with staging(folder) as stage:
        written = stage.path / name.name
        stage.write(name.name, dxf_text(file_of(parts)))
        proofs = prove_file(written, parts)
        file = sent_file(written, name, sent[0])
        refuse(
            [f for knife, one in zip(works, sent, strict=True) for f in (*knife.findings, *one.findings)],
            named(parts, proofs),
            lambda: _shown(works, sent, proofs, [], folder, file),
        )
        files: dict[str, str | bytes] = dict(proven_program(parts, slug)) if PROGRAM in extras else {}
        files[f"{slug}_note.txt"] = cover_note(sent, file, layout_rows(parts, next(iter(files), None)))
        title = works[0].design.name if len(works) == 1 else f"{len(parts)} parts"
        files[f"{slug}_check_mm.pdf"] = check_pdf(
            check_print(written, file, sent[0], title, code, alone=len(parts) == 1), wishes()
        )
        for each, content in files.items():
            stage.write(each, content)
        names += files
        stage.put_in_place(names)
    shown = _shown(works, sent, proofs, names, folder, file)
    kept = tuple(stage.notes)
    return Together(tuple(works), shown, folder, parts, (*short_name(name, service), *kept), kept)


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
