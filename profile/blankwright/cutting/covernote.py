"""What the cover note says to the shop, part by part, on one page; what concerns the maker stands in the report."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import groupby

from blankwright.base.finding import Finding
from blankwright.base.said import Line, said
from blankwright.base.units import MM_PER_INCH
from blankwright.cutting.delivery import Delivery
from blankwright.cutting.handnote import ASK, hand_rows
from blankwright.cutting.layout import Placed, check_table, gap_mm, run_of
from blankwright.cutting.note import Note, NoteRow
from blankwright.cutting.onsheet import OnSheet, Thick
from blankwright.cutting.order import CALL, LayerUse, PartFigures, SentFile, by_machine, part_figures
from blankwright.knife.cautions import GENERAL_CAUTION
from blankwright.knife.code import design_code
from blankwright.knife.holes import MadeHole
from blankwright.knife.words import size_in_words
from blankwright.shop.tolerance import Tolerance

G_PER_LB = 453.59237

_BREAK = NoteRow("", "")


def cover_note(parts: Sequence[Delivery], file: SentFile, layout: Sequence[NoteRow] = ()) -> str:
    """Return the cover note of a file.

    Args:
        parts: What lies in it, each design once.
        file: The file, read back.
        layout: How several parts lie in it; nothing for one.
    """
    return note_of(parts, file, layout).text


def note_of(
    parts: Sequence[Delivery], file: SentFile, layout: Sequence[NoteRow] = (), sheet: OnSheet | None = None
) -> Note:
    """Return the cover note of a file, row by row.

    Args:
        parts: What lies in it, each design once.
        file: The file, read back.
        layout: How several parts lie in it; nothing for one.
        sheet: What they are laid out on; None where the shop chooses.
    """
    first, many = parts[0], len(parts) > 1
    figures = _figures(parts, sheet)
    title = sheet.title if sheet else ", ".join(part.knife.design.name for part in parts)
    if not by_machine(first.knife):
        return _note_by_hand(parts, figures, file, layout, title, sheet)
    held = ", all in the file" if any(row.about == "Parts" for row in layout) else ""
    unit = first.style.unit
    code = "Please quote the codes above." if many or sheet else f"{first.knife.code}. Please quote it."
    rows = [
        *_for_rows(first),
        *_file_rows(first, file, unit),
        *layout,
        *_layer_rows(file.layers),
        _BREAK,
        _material_row(first, sheet),
        NoteRow("Grain", sheet.grain) if sheet else _grain_row(figures[0]),
    ]
    for number, (part, figure) in enumerate(zip(parts, figures, strict=True)):
        headed = many or sheet is not None
        rows += [_BREAK, _heading(part, number, sheet)] if headed else [NoteRow("Quantity", f"{part.quantity}{held}.")]
        rows += _part_rows(part, figure, unit, _thick(part, number, sheet))
    rows += [
        _BREAK,
        *_tolerance_rows(figures, unit),
        NoteRow("Edges", figures[0].edges),
        *_kerf_rows(first),
        _BREAK,
        NoteRow("Questions", f"Does size, thickness, layer or tolerance not fit? {CALL}"),
        NoteRow("Design", code),
    ]
    return Note(f"{title}: cover note", tuple(rows), _closing(first))


def _figures(parts: Sequence[Delivery], sheet: OnSheet | None) -> list[PartFigures]:
    figures = [part_figures(part) for part in parts]
    if sheet is None:
        return figures
    return [replace(one, mass_g=mass) for one, mass in zip(figures, sheet.masses_g, strict=True)]


def _thick(part: Delivery, number: int, sheet: OnSheet | None) -> Thick:
    """Return how thick a part is as it is cut."""
    return Thick(part.knife.stock_mm, part.knife.stock_mm) if sheet is None else sheet.under[number]


def _material_row(part: Delivery, sheet: OnSheet | None) -> NoteRow:
    """Say what is cut and how thick it is; of a piece that tapers, from where to where."""
    thick, unit = _thick(part, 0, None) if sheet is None else sheet.thick, part.style.unit
    words = length(thick.least_mm, unit, 3, bare=True)
    if thick.tapers:
        units = ("in", "mm") if unit == "in" else ("mm", "in")
        words = f"{thick.shown(units[0])} ({thick.shown(units[1])}): it tapers, see each part"
    return NoteRow("Material", f"{_first_up(part.knife.material.title)}, {words}.")


def _size_row(part: Delivery, thick: Thick) -> NoteRow:
    upto_mm = thick.most_mm if thick.tapers else None
    return NoteRow("Size", size_in_words(part.size_mm, thick.least_mm, part.style.unit, upto_mm))


def _note_by_hand(
    parts: Sequence[Delivery],
    figures: Sequence[PartFigures],
    file: SentFile,
    layout: Sequence[NoteRow],
    title: str,
    sheet: OnSheet | None,
) -> Note:
    """Return the note of parts that a hand cuts; it speaks to that hand."""
    rows = [
        NoteRow("Papers", "Cut by the template or the drawing, at true size. "
                f"{file.name} ({_release(parts[0])}) is the same line, for a plotter."),
        *layout,
    ]  # fmt: skip
    for number, (part, figure) in enumerate(zip(parts, figures, strict=True)):
        unit = part.style.unit
        rows += [
            _BREAK,
            _heading(part, number, sheet),
            _material_row(part, sheet),
            NoteRow("Grain", sheet.grain) if sheet else _grain_row(figure, "the part"),
            _size_row(part, _thick(part, number, sheet)),
            NoteRow("Weight", f"{_weight(figure.mass_g, unit)}; {_run(figure.cut_mm, unit)} of cut."),
            *hand_rows(part, figure),
        ]
    rows += [_BREAK, NoteRow("Questions", ASK)]
    return Note(f"{title}: note for the hand that cuts", tuple(rows), _closing(parts[0]))


def length(value_mm: float, unit: str, digits: int = 1, *, bare: bool = False) -> str:
    """Return a length for a shop: in mm, and where it works in inches in inches first.

    Args:
        value_mm: The length [mm].
        unit: mm or in.
        digits: Decimals of mm; inches get two more, three at most.
        bare: Whether inches follow in brackets for a shop that works in mm, too.

    >>> length(345.42, "mm"), length(0.25, "in", 2), length(3, "mm", 3, bare=True)
    ('345.4 mm', '0.010 in (0.25 mm)', '3 mm (0.118 in)')
    """
    metric = f"{round(value_mm, digits):g} mm" if bare else f"{value_mm:.{digits}f} mm"
    inches = f"{value_mm / MM_PER_INCH:.{min(digits + 2, 3)}f} in"
    if unit == "in":
        return f"{inches} ({metric})"
    return f"{metric} ({inches})" if bare else metric


def _sizes(sizes_mm: Sequence[float], unit: str) -> str:
    """Return a size in both units, so that a wrong unit is noticed."""
    metric = " x ".join(f"{v:.1f}" for v in sizes_mm) + " mm"
    inches = " x ".join(f"{v / MM_PER_INCH:.2f}" for v in sizes_mm) + " in"
    return f"{inches} ({metric})" if unit == "in" else f"{metric} ({inches})"


def _weight(mass_g: float, unit: str) -> str:
    metric = f"{mass_g:.0f} g" if mass_g < 999.5 else f"{mass_g / 1000:.2f} kg"
    return f"{mass_g / G_PER_LB:.2f} lb ({metric})" if unit == "in" else metric


def _run(mm: float, unit: str) -> str:
    metric = f"{mm / 1000:.2f} m"
    return f"{mm / MM_PER_INCH:.0f} in ({metric})" if unit == "in" else metric


def _for_rows(part: Delivery) -> list[NoteRow]:
    service = part.service
    return [] if service is None else [NoteRow("For", f"{_sentence(service.title)} {service.ask}".rstrip())]


def _sentence(words: str) -> str:
    return f"{_first_up(words).removesuffix('.')}."


def _first_up(words: str) -> str:
    return f"{words[:1].upper()}{words[1:]}"


def _heading(part: Delivery, number: int, sheet: OnSheet | None) -> NoteRow:
    name = part.knife.design.name if sheet is None else sheet.names[number]
    return NoteRow("Part", f"{part.quantity} x {name}, design {part.knife.code}.")


def _file_rows(part: Delivery, file: SentFile, unit: str) -> list[NoteRow]:
    """Say how a file is written and what its numbers are; a release that knows no unit says so."""
    style = part.style
    one = "millimetre" if unit == "mm" else "inch"
    rows = [NoteRow("File", f"{file.name}: {_release(part)}.")]
    if file.name != file.full_name:
        rows.append(NoteRow("", f"Its name is short for {file.full_name}."))
    if style.release == "R12":
        where = "; its header names it all the same" if style.unit_in_header else ""
        rows.append(NoteRow("", f"This release knows no unit{where}. One unit is one {one}."))
    rows.append(NoteRow("", f"All that is cut is {_sizes(file.size_mm, unit)} overall."))
    return rows


def _release(part: Delivery) -> str:
    numbers = "millimetres" if part.style.unit == "mm" else "inches"
    return f"DXF {part.style.release}, numbers are {numbers}"


def _layer_rows(layers: Sequence[LayerUse]) -> list[NoteRow]:
    """Say of each layer in the file what is done with it, in columns."""
    names, uses = (max((len(v) for v in column), default=0) for column in (
        [layer.name for layer in layers], [layer.use for layer in layers]
    ))  # fmt: skip
    texts = [f"{layer.name:<{names}}  {layer.use:<{uses}}  {layer.holds}" for layer in layers]
    return [NoteRow("Layers" if i == 0 else "", text) for i, text in enumerate(texts)]


def _grain_row(figure: PartFigures, part: str = "the part (x in the file)") -> NoteRow:
    if figure.forged:
        return NoteRow("Grain", "Forged to shape: lay the part inside the forging, tip to tip.")
    if not figure.along:
        return NoteRow("Grain", f"Its direction is not known here: where the piece shows one, lay it along {part}.")
    return NoteRow("Grain", f"{figure.direction} along the length of {part}.")


def _part_rows(part: Delivery, figure: PartFigures, unit: str, thick: Thick) -> list[NoteRow]:
    count = part.quantity
    weight, run = _weight(figure.mass_g, unit), _run(figure.cut_mm, unit)
    all_weight, all_run = _weight(figure.mass_g * count, unit), _run(figure.cut_mm * count, unit)
    starts = figure.pierces
    one = "" if starts is None else f", {_counted(starts, 'pierce')}"
    every = "" if starts is None else f", {starts * count} pierces"
    rows = [
        _size_row(part, thick),
        NoteRow(
            "Weight",
            f"{weight}{' on average' if thick.tapers else ''}, {count} parts {all_weight}."
            if count > 1
            else f"{weight}.",
        ),
        NoteRow("Cut", f"{run} of cut{one}; {count} parts {all_run}{every}." if count > 1 else f"{run} of cut{one}."),
        NoteRow("Inside", _inside(figure.inside_mm, unit)),
        *hole_rows(part),
    ]
    return rows + [NoteRow("To mind" if i == 0 else "", f.text(unit)) for i, f in enumerate(_for_the_shop(part))]


def _for_the_shop(part: Delivery) -> list[Finding]:
    """Return what the shop cannot make well; what else was found is the maker's."""
    return [f for f in part.findings if f.code in ("SERVICE-CORNER", "SERVICE-WALL")]


def _inside(radius_mm: float | None, unit: str) -> str:
    if radius_mm is None:
        return "No inside corner."
    if radius_mm == 0:
        return "A sharp inside corner: as tight as you can."
    return f"Tightest inside corner: radius {length(radius_mm, unit)}."


def _tolerance_rows(figures: Sequence[PartFigures], unit: str) -> list[NoteRow]:
    """Say how far off the parts and their holes may be, with source and standing, or that it is not known."""
    part = min((f.part_tolerance for f in figures if f.part_tolerance), key=_width, default=None)
    hole = min((f.hole_tolerance for f in figures if f.hole_tolerance), key=_width, default=None)
    texts = [f"part {_tolerance(part, 'on any size', unit)}"]
    if any(f.holes_cut for f in figures):
        texts.append(f"holes {_tolerance(hole, 'on the diameter', unit)}")
    known = [one for one in (part, hole) if one]
    # where a figure comes from; how it came about is the maker's
    where = dict.fromkeys(f"{one.source.rpartition(': ')[2]}, {one.status}" for one in known)
    source = f" ({'; '.join(where)})" if where else ""
    asked = "" if len(known) == len(texts) else " Please tell us what you hold."
    words = ", ".join(texts)
    return [NoteRow("Tolerance", f"{words[:1].upper()}{words[1:]}{source}.{asked}")]


def _width(one: Tolerance) -> float:
    return one.plus_minus_mm


def _tolerance(one: Tolerance | None, on: str, unit: str) -> str:
    return f"+/- {length(one.plus_minus_mm, unit, 2)} {on}" if one else "not known to us"


def to_maker(delivery: Delivery) -> list[Line]:
    """Return what the maker should know of an order, one sentence each; nothing of it concerns the shop."""
    knife, out = delivery.knife, []
    if delivery.service is not None:
        out.append(said("{}", delivery.service.note))
        if knife.asked.cutting.process != knife.design.cutting.process:  # by shop
            words = (
                "The code of this cut is {}. Papers made without --service bear {} and another allowance: make those "
                "for this part with --service too."
            )
            out.append(said(words, knife.code, design_code(knife.asked)))
    if knife.start.heated:
        out.append(
            said("The heel notch carries allowance to be ground after hardening.")
            if knife.design.cutting.notch_after_hardening
            else said("Finish the heel notch to the line before hardening; hardened steel is slow to file.")
        )
    return out


def kerf_words(delivery: Delivery) -> str:
    """Say whose business the kerf is."""
    if not by_machine(delivery.knife):
        return "Drawn at the size of the part: cut outside the line."
    if delivery.path is None:
        return "Drawn at the size of the part; please compensate for your kerf."
    kerf = length(delivery.path.kerf_mm, delivery.style.unit, 2) if delivery.style.unit == "in" else None
    return f"A kerf of {kerf or f'{delivery.path.kerf_mm:g} mm'} is in this path: do not compensate again."


def _kerf_rows(part: Delivery) -> list[NoteRow]:
    """Say whose business the kerf is and where to start; a path begins where it begins."""
    if part.service is not None and part.service.table is not None:
        return [NoteRow("Kerf", f"{kerf_words(part)} {_sentence(part.service.table.source)}")]
    start = "At the butt or on the spine; never at the tip, heel corner or edge."
    return [NoteRow("Kerf", kerf_words(part)), NoteRow("Start", start)]


def layout_rows(parts: Sequence[Placed], program_file: str | None) -> list[NoteRow]:
    """Say how several parts lie in the file, and how a path for one's own table runs; nothing for one part without.

    Args:
        parts: What lies in the file.
        program_file: Name of the program, if there is one.
    """
    rows = []
    if len(parts) > 1:
        apart = length(gap_mm([part.sent for part in parts]), parts[0].sent.style.unit)
        text = f"{len(parts)} in this file, one below the other, at least {apart} of stock between: cut the file once."
        rows.append(NoteRow("Parts", text))
    return rows + (_path_rows(parts, program_file) if parts[0].passes else [])


def _path_rows(parts: Sequence[Placed], program_file: str | None) -> list[NoteRow]:
    (_, table), run = check_table(parts[0].sent.service), run_of(parts)
    tabs = sum(len(part.sent.path.tabs_mm) for part in parts if part.sent.path)
    first = ", holes first" if any(one.kind == "hole" for one in run.passes) else ""
    rows = [
        NoteRow("Path", f"{_counted(len(run.passes), 'cut')}{first}; the outline runs {table.outside} from the "
                f"{table.enter}, {_counted(tabs, 'tab')}. Every cut is one open line: way in, cut, way out."),
    ]  # fmt: skip
    if program_file is not None:
        rows.append(
            NoteRow(
                "Program",
                f"{program_file}: the same cuts; X0 Y0 is the lower left corner of them "
                "all. What is only marked stands in the drawing alone.",
            )
        )
    feed = f"{table.feed_mm_min:g} mm/min"
    if parts[0].sent.style.unit == "in":
        feed = f"{table.feed_mm_min / MM_PER_INCH:.1f} in/min ({feed})"
    text = f"About {run.time_s(table):.0f} s at {feed}, without speeding up and slowing down."
    return [*rows, NoteRow("Time", text)]


def _counted(count: int, word: str) -> str:
    return f"{count or 'no'} {word}{'' if count == 1 else 's'}"


def _closing(first: Delivery) -> str:
    """Return the usual caution of this way of cutting; a blank that is cut by hand is cut by the maker."""
    way = first.knife.process
    if way is None or not way.machine_cut:
        return first.knife.cautions
    return f"{way.caution_for(chromium=first.knife.chromium)} {GENERAL_CAUTION}"


def hole_rows(delivery: Delivery) -> list[NoteRow]:
    """Return one row for each kind of hole: how many, how each is made, and where it is in the file."""
    if not delivery.knife.holes:
        return [NoteRow("Holes", "None.")]
    rows: list[NoteRow] = []

    def kind(h: MadeHole) -> tuple[str, str]:
        return (h.name, h.words)

    for _, group in groupby(sorted(delivery.knife.holes, key=kind), key=kind):
        many = list(group)
        text = f"{len(many)} x {_hole_words(many[0], delivery.style.unit)}{_for_shop(delivery, many)}"
        rows.append(NoteRow("Holes" if not rows else "", text))
    return rows


def _hole_words(hole: MadeHole, unit: str) -> str:
    return hole.name if unit == "mm" else f"{hole.hole.purpose} {length(hole.hole.diameter_mm, unit, 2)}"


def _for_shop(delivery: Delivery, alike: Sequence[MadeHole]) -> str:
    """Say what the shop does with holes of one kind, and what is done afterwards by us."""
    made, unit = alike[0].made, delivery.style.unit
    if made.made_by == "cut":
        return ": cut to size, as drawn."
    if made.cut_diameter_mm is not None:
        cut = alike[0].words if unit == "mm" else f"cut {length(made.cut_diameter_mm, unit, 2)}, ream"
        return f": {cut}. Cut as drawn; we ream."
    if delivery.style.marks:
        return f": not cut, marked by a point on layer {delivery.style.mark_layer}; we drill."
    places = ", ".join(f"({h.hole.x_mm:.1f}, {h.hole.y_mm:.1f})" for h in alike)
    where = f"in mm from the heel: {places}."
    if unit == "in":
        inches = ", ".join(f"({h.hole.x_mm / MM_PER_INCH:.3f}, {h.hole.y_mm / MM_PER_INCH:.3f})" for h in alike)
        where = f"in inches from the heel: {inches}; in mm: {places}."
    return f": not cut and not in the file; we drill. Centres {where}"
