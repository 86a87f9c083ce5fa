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
    knife, many = first.knife, len(parts) > 1 or bool(layout)
    thickness = knife.stock_mm
    rows = [
        *_file_rows(first, file),
        *layout,
        NoteRow("Material", f"{knife.material.title}, {thickness:g} mm ({thickness / MM_PER_INCH:.3f} in)."),
        *_kerf_rows(first),
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


def _kerf_rows(delivery: Delivery) -> list[NoteRow]:
    """Say whose business the kerf is and where to start; on one's own table, what the path does."""
    start = "Start at the butt or on the spine, never at the tip, the heel corner or the edge."
    path, service = delivery.path, delivery.service
    if path is None or service is None or service.table is None:
        return [NoteRow("Kerf", kerf_words(delivery)), NoteRow("Start", start)]
    table = service.table
    x0, y0, x1, y1 = path.bounds_mm
    first = ", holes first" if len(path.passes) > 1 else ""
    return [
        NoteRow("Kerf", f"{kerf_words(delivery)} {table.source[:1].upper()}{table.source[1:]}."),
        NoteRow("Path", f"{_counted(len(path.passes), 'cut')}{first}; the outline runs {table.outside} from the "
                f"{table.enter}, {_counted(len(path.tabs_mm), 'tab')}."),
        NoteRow("Zero", f"In the program X0 Y0 is the lower left corner of the path, which is {x1 - x0:.1f} x "
                f"{y1 - y0:.1f} mm with its leads."),
        NoteRow("Length", f"{path.cut_mm / 1000:.2f} m of cut, about {path.time_s(table, (x0, y0)):.0f} s at "
                f"{table.feed_mm_min:g} mm/min, without speeding up and slowing down."),
    ]  # fmt: skip


def _counted(count: int, word: str) -> str:
    return f"{count or 'no'} {word}{'' if count == 1 else 's'}"


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
