"""Proving what was written: what is expected comes from the finished knife and its shop, never from what was drawn.

A check that is an error, whichever it is, refuses the whole set: no file is put in place.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from blankwright.base.errors import ProofError, Told
from blankwright.base.finding import Finding
from blankwright.base.units import MM_PER_INCH
from blankwright.cutting.delivery import Delivery
from blankwright.proof.holes import ExpectedHole
from blankwright.proof.proof import Expected, Proof, prove
from blankwright.proof.reader import CutDrawing, read_dxf
from blankwright.proof.styled import as_plain

if TYPE_CHECKING:
    from blankwright.shop.services import Service

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
        kerf_mm=service.table.kerf_mm if service and service.table else 0.0,
        deviation_mm=(service.deviation_mm or 0.0) if service else 0.0,
    )


def prove_file(path: Path, sent: Delivery) -> Proof:
    """Read a cutting file back and prove that the finished knife is inside it; `refuse` acts on what it finds.

    Raises:
        ProofError: The file cannot be read as what it should be.
    """
    return prove(read_sent(path, sent.service), expected_of(sent))


def read_sent(path: Path, service: Service | None) -> CutDrawing:
    """Read a file for a shop back, as if it were plain; its layers, unit and pieces are those the shop asks for."""
    if service is None:
        return read_dxf(path)
    return as_plain(
        read_dxf(path),
        cut_layer=service.cut_layer,
        mark_layer=service.mark_layer,
        exploded=service.contours == "exploded",
        unit_mm=1.0 if service.unit == "mm" else MM_PER_INCH,
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
