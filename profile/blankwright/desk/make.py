"""Writing files: everything is prepared beside the target, proven from what was written, and only then put in place."""

from __future__ import annotations

import json
from collections.abc import Collection, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from blankwright.base.errors import BlankwrightError, RequestError, unknown
from blankwright.base.files import staging
from blankwright.base.finding import Finding, finding
from blankwright.base.frozen import dataclass
from blankwright.base.reading import read_text
from blankwright.cutting.covernote import kerf_words
from blankwright.cutting.delivery import deliver
from blankwright.cutting.dxf import CutFile, dxf_text
from blankwright.cutting.layout import Placed, check_table, column, file_of
from blankwright.cutting.names import FileName, file_name
from blankwright.cutting.order import layer_findings
from blankwright.design.request import Design
from blankwright.desk.proving import named, prove_file, refuse
from blankwright.desk.readback import sent_file
from blankwright.desk.writers import GRIND, LAYERS, MARKS, PARTS, PROGRAM, Job, Writer, chosen, patterns, words
from blankwright.knife.knife import Knife, finish
from blankwright.knife.start import idle_words
from blankwright.knife.words import part_words
from blankwright.proof.proof import Proof
from blankwright.report.data import Report, dumps
from blankwright.template.scenes import Wishes, wishes

if TYPE_CHECKING:
    from blankwright.cutting.etch import Etched
    from blankwright.desk.partfiles import PartFiles
    from blankwright.shop.services import Service

FAULTS = (BlankwrightError, ArithmeticError, LookupError, TypeError, ValueError)
"""What may go wrong in a paper without harm to the cutting file."""


_MOST_BYTES = 50_000_000


@dataclass(frozen=True, eq=False)
class Made:
    """A knife with its files.

    Args:
        knife: The knife.
        proof: What was measured on the cutting file; None for a bought blank.
        folder: Where the files are.
        shown: The report, to be shown to a reader.
        older: Files of ours in the folder that were not written now.
        notes: Remarks: what was asked for and not used, the older files, and the kept ones.
        kept: Remarks on files that had been edited and are kept.
    """

    knife: Knife
    proof: Proof | None
    folder: Path
    shown: Report
    older: tuple[str, ...]
    notes: tuple[str, ...]
    kept: tuple[str, ...] = ()

    @property
    def files_for_shop(self) -> tuple[str, ...]:
        """Names that no other file at the same shop may have."""
        return (self.shown.file.name,) if self.shown.file else ()

    @property
    def report(self) -> dict[str, Any]:
        """The report as data."""
        return self.shown.data


def make(
    design: Design,
    out: Path,
    extras: tuple[str, ...] = (),
    only_cut: bool = False,
    wanted: Wishes | None = None,
    service: Service | None = None,
    quantity: int = 1,
    taken: Collection[str] = (),
) -> Made:
    """Solve a design, write its files into out/<slug>/ and prove the cutting file; a bought blank has none.

    Args:
        design: The request.
        out: Folder that receives a folder named after the design.
        extras: Further layers of the cutting file, sections on the drawing, solids to print, a program for one's own
            table: the words of `writers.words`.
        only_cut: Write the cutting file alone, with its cover note when it goes to a service.
        wanted: What the printed template shall be; None for A4, nothing added.
        service: What the shop wants of the file; None for the plain one.
        quantity: How many parts the cover note asks for.
        taken: Names of cutting files that other designs of the same run have at the same shop.

    Raises:
        RequestError: The request is wrong, or the folder cannot be written.
        DesignError: Dimensions or holes do not go together, or the cutter's path does not go round them.
        ProofError: A check of the design or of the written file is an error; nothing is left behind.
    """
    _check(extras, only_cut, service)
    knife = finish(design, service=service)
    cut = not knife.start.bought or only_cut or service is not None or bool({*extras} & {*LAYERS, PROGRAM})
    delivery = deliver(knife, quantity) if cut else None
    name = file_name(delivery, taken) if delivery else None
    # a shop lays out what it is sent; on one's own table the file holds all of them
    parts = column([delivery], quantity if delivery.path else 1) if delivery else ()
    folder, slug = out / design.slug, design.slug
    cut_parts = _cut_parts(knife, service, quantity, marks=MARKS in extras) if PARTS in extras else None
    etched = _etched(knife, len(parts)) if MARKS in extras else None
    with staging(folder) as stage:
        proofs: list[Proof] = []
        file = written = None
        if delivery is not None and name is not None:
            content = replace(cut_file(parts, extras), etch=etched.chains if etched else ())
            stage.write(name.name, dxf_text(content))
            written = stage.path / name.name
            proofs = prove_file(written, parts, marked=etched is not None)
            file = sent_file(written, name, delivery)
        proof = proofs[0] if proofs else None
        job = Job(knife, extras, parts, file, written, only_cut, wanted or wishes(), cut_parts)
        refuse(
            [*knife.findings, *(delivery.findings if delivery else ())],
            named(parts, proofs) if proofs else [],
            lambda: [Report(knife, proof, delivery)],
        )
        files: dict[str, str | bytes] = {}
        beside = layer_findings(file, service, proof.least_mm if proof else None) if file else []
        for writer in chosen(job):
            try:
                files |= writer.files(job)
            except FAULTS as error:
                if writer.must:
                    raise
                beside.append(_missing(writer, error))
        for each, text in files.items():
            stage.write(each, text)
        names = [*([name.name] if name else []), *files, *([] if only_cut else [f"{slug}.json"])]
        marks = etched.lines if etched else ()
        report = Report(knife, proof, delivery, tuple(names), folder.as_posix(), tuple(beside), file, marks=marks)
        if cut_parts is not None:
            report = cut_parts.told(report, cut_parts.prove(stage.path))
        if not only_cut:
            stage.write(f"{slug}.json", dumps(report.data))
        stage.put_in_place(names)
    older = _older(folder, slug, names, knife.code)
    notes = [*idle_words(design), *_unused(knife, extras, quantity, noted=f"{slug}_note.txt" in files)]
    notes += short_name(name, service) if name else []
    notes += [f"marks: {line.text()}" for line in etched.lines] if etched else []
    notes += cut_parts.notes if cut_parts else ()
    if older:
        notes.append(f"{', '.join(older)} in the same folder may show another state of this design")
    kept = tuple(stage.notes)
    return Made(knife, proof, folder, report, older, (*notes, *kept), kept)


def _etched(knife: Knife, parts: int) -> Etched:
    from blankwright.cutting.etch import blade_marks  # noqa: PLC0415 - only who asks for marks needs letters
    from blankwright.desk.ownmark import own_mark  # noqa: PLC0415

    if parts > 1:
        raise RequestError(
            f"--with {MARKS}: a file of several parts holds what is cut, no marks. Leave --quantity out."
        )
    return blade_marks(knife, own_mark(knife.design))


def _cut_parts(knife: Knife, service: Service | None, quantity: int, *, marks: bool) -> PartFiles:
    from blankwright.desk.partfiles import part_files  # noqa: PLC0415 - only who asks for parts needs them

    return part_files(knife, (), service, marks=marks, quantity=quantity)


def _unused(knife: Knife, extras: tuple[str, ...], quantity: int, *, noted: bool) -> list[str]:
    """Say what was asked for and changed no file."""
    notes = []
    if GRIND in extras and not knife.face.chains:
        notes.append(
            f"--with {GRIND}: nothing to draw, the bevel runs over the whole face of the blade; there is no grind line"
        )
    if quantity != 1 and not noted:
        notes.append("not used: --quantity (no cover note is written here; cut writes one with --service)")
    return notes


def short_name(name: FileName, service: Service | None) -> list[str]:
    """Say that a file could not have its whole name."""
    if service is None or not name.shortened:
        return []
    return [
        f"the cutting file is called {name.name}, short for {name.full}: {service.title} takes at most "
        f"{service.longest_name} characters"
    ]


def _missing(writer: Writer, error: Exception) -> Finding:
    """Return the warning for a paper that could not be written: the proven cutting file is whole without it."""
    text = f"The {writer.name} could not be written, an internal error: {error} All other files are whole."
    return finding("PAPER", text, level="warning")


def _check(extras: tuple[str, ...], only_cut: bool, service: Service | None) -> None:
    """Refuse words that --with does not know, or not for the cutting file alone, or not for this service."""
    known, allowed = words(only_cut=False), words(only_cut=only_cut)
    for extra in extras:
        if extra not in known:
            raise unknown("word", extra, allowed, "--with")
        if extra not in allowed:
            raise RequestError(
                f"--with: '{extra}' is no part of the cutting file, which is all that cut writes. Use blankwright make "
                f"DESIGN --with {extra}. Allowed for cut: {', '.join(allowed)}."
            )
    if PROGRAM in extras:
        check_table(service)


def _older(folder: Path, slug: str, names: list[str], code: str) -> tuple[str, ...]:
    """Return our files in the folder that were not written now and may show another state of the design."""
    ours = [path.name for pattern in patterns() for path in sorted(folder.glob(f"{slug}{pattern}")) if path.is_file()]
    left = tuple(name for name in dict.fromkeys(ours) if name not in names)
    return () if f"{slug}.json" in left and _code_of(folder / f"{slug}.json") == code else left


def left_before(design: Design, out: Path) -> str:
    """Return what lies in a design's folder from an earlier run, in a sentence for whoever is refused; or nothing."""
    folder = out / design.slug
    left = _older(folder, design.slug, [], "")
    if not left:
        return ""
    more = f" and {len(left) - 3} more" if len(left) > 3 else ""
    names = f"{', '.join(left[:3])}{more}"
    return f"What an earlier run left in {folder.as_posix()} is unchanged and shows another state: {names}."


def _code_of(path: Path) -> str | None:
    try:
        table = json.loads(read_text(path, _MOST_BYTES, "a report"))
    except (RequestError, ValueError, RecursionError):
        return None
    code = table.get("design_code") if isinstance(table, dict) else None
    return code if isinstance(code, str) else None


def cut_file(parts: Sequence[Placed], extras: tuple[str, ...] = ()) -> CutFile:
    """Return the content of the cutting file."""
    sent = parts[0].sent
    knife = sent.knife
    notes: tuple[str, ...] = ()
    if "notes" in extras:
        notes = (
            f"{knife.design.name}: {knife.material.title}, {knife.stock_mm:g} mm. One unit is one "
            f"{'mm' if sent.style.unit == 'mm' else 'inch'}. Design {knife.code}.",
            part_words(knife),
            kerf_words(sent),
        )
    return file_of(parts, finished="finished" in extras, grind=GRIND in extras, notes=notes)
