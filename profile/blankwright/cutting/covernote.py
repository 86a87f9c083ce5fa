"""What the cover note says to the shop, part by part; what concerns the maker stands in the report."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby

from blankwright.base.said import Line, said
from blankwright.base.units import MM_PER_INCH
from blankwright.cutting.delivery import Delivery
from blankwright.cutting.note import NoteRow, note_text
from blankwright.knife.holes import MadeHole
from blankwright.knife.words import part_words


def cover_note(parts: Sequence[Delivery], file: str, layout: Sequence[NoteRow] = ()) -> str:
    """Return the cover note of a file.

    Args:
        parts: What lies in it, each design once.
        file: Its name.
        layout: How several parts lie in it; nothing for one.
    """
    first = parts[0]
    knife, many = first.knife, len(parts) > 1 or any(row.about == "Parts" for row in layout)
    thickness = knife.stock_mm
    rows = [
        *_file_rows(first, file),
        NoteRow("Material", f"{knife.material.title}, {thickness:g} mm ({thickness / MM_PER_INCH:.3f} in)."),
        *_kerf_rows(first),
        *layout,
    ]
    for part in parts:
        rows += [NoteRow("", ""), _heading(part)] if many else []
        rows += _part_rows(part)
        rows += [] if many else [NoteRow("Quantity", f"{part.quantity}.")]
    rows += [NoteRow("", "")] if many else []
    rows.append(NoteRow("Design", _codes(first, many)))
    if first.service is not None:
        rows.append(NoteRow("For", f"{first.service.title}. {first.service.ask}".rstrip()))
    names = ", ".join(part.knife.design.name for part in parts)
    return note_text(f"{names}: cover note", rows, max((part.knife.cautions for part in parts), key=len))


def _heading(part: Delivery) -> NoteRow:
    return NoteRow("Part", f"{part.quantity} x {part.knife.design.name}, design {part.knife.code}.")


def _codes(first: Delivery, many: bool) -> str:
    papers = "drawing, template, build sheet and report"
    return f"The same codes stand on {papers}." if many else f"{first.knife.code}: the same code stands on {papers}."


def _part_rows(part: Delivery) -> list[NoteRow]:
    knife = part.knife
    rows = [NoteRow("Size", part_words(knife)), *hole_rows(part)]
    return rows + [NoteRow("To mind" if i == 0 else "", f.message) for i, f in enumerate(part.findings)]


def to_maker(delivery: Delivery) -> list[Line]:
    """Return what the maker should know of an order, one sentence each; nothing of it concerns the shop."""
    knife, out = delivery.knife, []
    if delivery.service is not None:
        out.append(said("{}", delivery.service.note))
    if knife.start.heated:
        out.append(
            said("The heel notch carries allowance to be ground after hardening.")
            if knife.design.cutting.notch_after_hardening
            else said("Finish the heel notch to the line before hardening; hardened steel is slow to file.")
        )
    return out


def _file_rows(part: Delivery, file: str) -> list[NoteRow]:
    """Say how a file is written and what its numbers are; a release that carries no unit says so."""
    style = part.style
    one, many = ("millimetre", "millimetres") if style.unit == "mm" else ("inch", "inches")
    rows = [NoteRow("File", f"{file}: DXF {style.release}, numbers are {many}.")]
    if style.release == "R12":
        rows.append(NoteRow("", f"This release carries no unit. One unit is one {one}."))
    return rows


def kerf_words(delivery: Delivery) -> str:
    """Say whose business the kerf is."""
    way = delivery.knife.process
    if way is not None and not way.machine_cut:
        return "Drawn at the size of the part: cut outside the line."
    if delivery.path is None:
        return "Drawn at the size of the part; please compensate for your kerf."
    return f"A kerf of {delivery.path.kerf_mm:g} mm is in this path: do not compensate again."


def _kerf_rows(part: Delivery) -> list[NoteRow]:
    """Say whose business the kerf is and where to start; a path begins where it begins."""
    if part.service is not None and part.service.table is not None:
        source = part.service.table.source
        return [NoteRow("Kerf", f"{kerf_words(part)} {source[:1].upper()}{source[1:]}.")]
    start = "Start at the butt or on the spine, never at the tip, the heel corner or the edge."
    return [NoteRow("Kerf", kerf_words(part)), NoteRow("Start", start)]


def hole_rows(delivery: Delivery) -> list[NoteRow]:
    """Return one row for each kind of hole: how many, how each is made, and where it is in the file."""
    if not delivery.knife.holes:
        return [NoteRow("Holes", "None.")]
    rows: list[NoteRow] = []

    def kind(h: MadeHole) -> tuple[str, str]:
        return (h.name, h.words)

    for (name, words), group in groupby(sorted(delivery.knife.holes, key=kind), key=kind):
        many = list(group)
        text = f"{len(many)} x {name}: {words}. {_for_shop(delivery, many)}"
        rows.append(NoteRow("Holes" if not rows else "", text))
    return rows


def _for_shop(delivery: Delivery, alike: Sequence[MadeHole]) -> str:
    """Say what the shop does with holes of one kind, and what is done afterwards by us."""
    made = alike[0].made.made_by
    if made == "cut":
        return "Cut as drawn."
    if made == "ream":
        return "Cut as drawn; we ream."
    if delivery.style.marks:
        return f"Not cut: marked by a point on layer {delivery.style.mark_layer}; we drill."
    places = ", ".join(f"({h.hole.x_mm:.1f}, {h.hole.y_mm:.1f})" for h in alike)
    return f"Not cut and not in the file; we drill. Centres in mm from the heel: {places}."
