"""Cutting files of the parts beside the blade: written, read back, proven, and put in place together or not at all."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from blankwright.base.errors import ProofError, RequestError
from blankwright.base.files import staging
from blankwright.base.finding import Finding
from blankwright.base.frozen import dataclass
from blankwright.cutting.dxf import dxf_text
from blankwright.cutting.parts.catalogue import all_parts, asked_parts
from blankwright.cutting.parts.marks import why_not_marked, with_marks
from blankwright.cutting.parts.part import CutPart
from blankwright.cutting.parts.sent import (
    makers_note,
    part_file,
    part_file_name,
    part_style,
    parts_note,
    service_findings,
    why_not,
)
from blankwright.design.request import Design
from blankwright.desk.partproving import prove_part_file
from blankwright.desk.proving import refuse
from blankwright.knife.knife import Knife, finish
from blankwright.report.data import Report
from blankwright.report.parts import parts_data

if TYPE_CHECKING:
    from blankwright.proof.part import PartProof
    from blankwright.shop.services import Service


MOST = 999
"""The most knives that parts are asked for at once."""


@dataclass(frozen=True, eq=False)
class PartFiles:
    """What is to be written of a knife's parts.

    Args:
        knife: The knife.
        parts: Each part with the name of its file.
        service: Who cuts them, or None.
        notes: Why a part is not among them.
        quantity: For how many knives.
    """

    knife: Knife
    parts: tuple[tuple[CutPart, str], ...]
    service: Service | None
    notes: tuple[str, ...]
    quantity: int

    @property
    def files(self) -> dict[str, str | bytes]:
        """The files by name, the notes to shop and maker last; none without parts."""
        if not self.parts:
            return {}
        style = part_style(self.service)
        out: dict[str, str | bytes] = {
            name: dxf_text(part_file(part, style, self.knife.code)) for part, name in self.parts
        }
        slug = self.knife.design.slug
        return out | {
            f"{slug}_parts_note.txt": parts_note(self.knife, self.parts, self.service, self.quantity),
            f"{slug}_parts_maker.txt": makers_note(self.knife, self.parts),
        }

    def prove(self, folder: Path) -> tuple[PartProof, ...]:
        """Read every written file back and prove it.

        Args:
            folder: Where they are.

        Raises:
            ProofError: One does not hold what it must; the message names file and fault.
        """
        proofs = []
        for part, name in self.parts:
            proof = prove_part_file(folder / name, self.knife, part, self.service, marked=bool(part.marks))
            if not proof.ok:
                faults = [f"{f.code}: {f.message}" for f in proof.findings if f.level == "error"]
                raise ProofError(
                    f"{name}: the file was not kept, because it does not prove right: "
                    f"{' '.join(faults) or 'Something could not be measured.'} Do not cut it. Change the figures of "
                    "[parts] where they cannot hold together; else please report this with the command you ran."
                )
            proofs.append(proof)
        return tuple(proofs)

    def told(self, report: Report, proofs: Sequence[PartProof]) -> Report:
        """Return a knife's report with its parts in it.

        Args:
            report: The report.
            proofs: The proof of each part.
        """
        data = parts_data(self.parts, proofs, ())
        return replace(report, cut_parts=tuple(data), beside=(*report.beside, *self.findings))

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What is in doubt, of the parts and of what their shop can make."""
        return tuple(f for part, _ in self.parts for f in (*part.findings, *service_findings(part, self.service)))


def part_files(
    knife: Knife, words: Sequence[str], service: Service | None, *, marks: bool = False, quantity: int = 1
) -> PartFiles:
    """Return what is to be written of the parts that were asked for.

    Args:
        knife: The knife.
        words: Words of the catalogue; none for every part that the knife has and the service can be sent.
        service: Who cuts them, or None.
        marks: Whether they are marked; of all parts only those that can be.
        quantity: For how many knives.

    Raises:
        RequestError: The quantity cannot be, or a part that was named cannot be had, not from this service, or not
            with marks.
    """
    if not 1 <= quantity <= MOST:
        raise RequestError(f"--quantity: {quantity} is out of range. Allowed: 1 to {MOST}.")
    parts, notes = (asked_parts(knife, words), ()) if words else all_parts(knife)
    notes = tuple(f"not written: {why}" for why in notes)
    parts, told = _kept(parts, lambda part: why_not(part, service), "--service" if words else "", "not written")
    notes += told
    if marks:
        good, told = _kept(parts, lambda p: why_not_marked(p, service), "--with marks" if words else "", "not marked")
        notes += told
        parts = tuple(with_marks(knife, part) if part in good else replace(part, marks=()) for part in parts)
    else:
        parts = tuple(replace(part, marks=()) for part in parts)
    named = tuple((part, part_file_name(knife.design.slug, knife.code, part, service)) for part in parts)
    return PartFiles(knife, named, service, notes, quantity)


def _kept(
    parts: Sequence[CutPart], why: Callable[[CutPart], str | None], option: str, what: str
) -> tuple[tuple[CutPart, ...], tuple[str, ...]]:
    """Return the parts against which nothing speaks, and one note for each reason with the parts that it keeps out.

    Raises:
        RequestError: Something speaks against a part, and it was asked for by its name: an option is given.
    """
    against: dict[str, list[str]] = {}
    kept = []
    for part in parts:
        reason = why(part)
        if reason is None:
            kept.append(part)
        elif option:
            raise RequestError(f"{option}: {part.title}: {reason}")
        else:
            against.setdefault(reason, []).append(part.title)
    return tuple(kept), tuple(f"{what}: {'; '.join(titles)}: {reason}" for reason, titles in against.items())


@dataclass(frozen=True, eq=False)
class MadeParts:
    """Parts that were written.

    Args:
        files: What was to be written.
        proofs: The proof of each part.
        folder: Where the files are.
        names: Names of all files.
        kept: Remarks on files that had been edited and are kept.
    """

    files: PartFiles
    proofs: tuple[PartProof, ...]
    folder: Path
    names: tuple[str, ...]
    kept: tuple[str, ...] = ()

    @property
    def data(self) -> dict[str, Any]:
        """The report as data."""
        knife = self.files.knife
        parts = parts_data(self.files.parts, self.proofs, self.files.findings)
        return {
            "format": 1, "design_code": knife.code, "name": knife.design.name, "cut_parts": parts,
            "files": list(self.names),
        }  # fmt: skip


def cut_parts(
    design: Design, out: Path, words: Sequence[str], service: Service | None, *, marks: bool = False, quantity: int = 1
) -> MadeParts:
    """Solve a design, write the cutting files of parts beside its blade into out/<slug>/, and prove each.

    Args:
        design: The request.
        out: Folder that receives a folder named after the design.
        words: Words of the catalogue.
        service: Who cuts them, or None.
        marks: Whether they are marked.
        quantity: For how many knives.

    Raises:
        RequestError: A part cannot be had or not be marked, or the folder cannot be written.
        DesignError: Dimensions or holes do not go together.
        ProofError: A check of the design or of a written file is an error; nothing is left behind.
    """
    knife = finish(design)
    refuse(knife.findings, [])
    wanted = part_files(knife, words, service, marks=marks, quantity=quantity)
    folder, files = out / design.slug, wanted.files
    with staging(folder) as stage:
        for name, content in files.items():
            stage.write(name, content)
        proofs = wanted.prove(stage.path)
        stage.put_in_place(list(files))
    return MadeParts(wanted, proofs, folder, tuple(files), tuple(stage.notes))
