"""The cover note of a sheet of several blanks: what its shop has to know, in the words of a single one's note."""

from __future__ import annotations

from collections import Counter
from typing import Literal

import numpy as np

from blankwright.base.plain import slug_of
from blankwright.cutting.covernote import note_of
from blankwright.cutting.delivery import Delivery
from blankwright.cutting.note import Note, NoteRow
from blankwright.cutting.onsheet import OnSheet, sheet_grain
from blankwright.cutting.order import LayerUse, SentFile, by_machine, counted_words, layer_use, part_figures
from blankwright.cutting.style import PLAIN
from blankwright.knife.knife import Knife
from blankwright.stock.blank import Blank
from blankwright.stock.cutorder import WHY
from blankwright.stock.figures import mass_as_cut_g
from blankwright.stock.grain import across
from blankwright.stock.layout import Layout, Sheet
from blankwright.stock.nestpicture import sheet_name
from blankwright.stock.underneath import thick_in, thick_under

Split = Literal["sheet", "part"]


def slug(layout: Layout) -> str:
    """Return the name of the job as its files have it."""
    return slug_of(layout.job.name) or "job"


def sheet_note(layout: Layout, sheet: Sheet, split: Split) -> Note | None:
    """Return the cover note of a piece; None where no knife lies on it.

    Args:
        layout: The layout, its blanks in the order of cutting.
        sheet: The piece.
        split: "sheet" for one cutting file of it, "part" for one a blank.
    """
    job, piece = layout.job, layout.job.pieces[sheet.piece]
    counts = Counter(one.blank for one in sheet.laid)
    blanks = [(job.blanks[k], knife, n) for k, n in counts.items() if (knife := job.blanks[k].knife) is not None]
    if not blanks:
        return None
    blanks.sort(key=lambda one: not by_machine(one[1]))  # a note of both speaks to the machine
    sent = [Delivery(knife, PLAIN, blank.outline, None, count, ()) for blank, knife, count in blanks]
    most = across(layout, sheet)
    lies = [[one for one in sheet.laid if job.blanks[one.blank] is blank] for blank, _, _ in blanks]
    on = OnSheet(
        title=f"{job.name}, {sheet_name(layout, sheet)}",
        thick=thick_in(piece, piece.outline),
        grain=sheet_grain(part_figures(sent[0]), piece.grain_deg, 0.0 if most is None else most.deg),
        names=tuple(blank.name for blank, _, _ in blanks),
        under=tuple(thick_under(piece, [layout.outline(one) for one in alike]) for alike in lies),
        masses_g=tuple(
            sum(mass_as_cut_g(layout, sheet, one, knife) for one in alike) / count
            for alike, (_, knife, count) in zip(lies, blanks, strict=True)
        ),
    )
    return note_of(sent, _file(layout, sheet, split), _rows(layout, sheet, blanks, split), on)


def _file(layout: Layout, sheet: Sheet, split: Split) -> SentFile:
    """Return the cutting file as it is written."""
    number = layout.sheets.index(sheet) + 1
    name = f"{slug(layout)}_{number}_{'cut' if split == 'sheet' else '*_cut'}_mm.dxf"
    boxes = np.array([layout.outline(one).bounds_mm for one in sheet.laid])
    wide, high = (boxes[:, 2:].max(axis=0) - boxes[:, :2].min(axis=0)).tolist()
    knives = [knife for one in sheet.laid if (knife := layout.job.blanks[one.blank].knife) is not None]
    holes = [h.made.cut_diameter_mm is None for knife in knives for h in knife.holes]
    layers = [_layer("CUT", counted_words(len(sheet.laid), 0, holes.count(False)))]
    layers += [_layer("DRILL", "")] if any(holes) else []
    return SentFile(name, name, tuple(layers), (wide, high))


def _layer(name: str, counts: str) -> LayerUse:
    use, holds = layer_use(name, PLAIN.cut_layer, PLAIN.mark_layer, PLAIN.etch_layer)
    return LayerUse(name, use, holds or counts)


def _rows(layout: Layout, sheet: Sheet, blanks: list[tuple[Blank, Knife, int]], split: Split) -> list[NoteRow]:
    """Say how the parts lie on their piece, in which order they are cut, and what is in the lines."""
    job, piece = layout.job, layout.job.pieces[sheet.piece]
    wide, high = (f"{v:.1f}" for v in piece.outline.size_mm)
    where, files = sheet_name(layout, sheet), ("all in this file" if split == "sheet" else "a file each")
    apart, them = "", "it where it lies"
    if len(sheet.laid) > 1:
        apart, them = f", at least {job.gap_mm:g} mm apart", "them where they lie"
    rows = [
        NoteRow("Parts", f"{len(sheet.laid)}, {files}, at true size, laid out on {where}, {wide} x {high} mm{apart}: "
                f"cut {them}. x 0, y 0 is its lower left corner."),
        NoteRow("Order", f"{WHY}; held {job.held}."),
    ]  # fmt: skip
    ground = [blank.name for blank, knife, _ in blanks if blank.outline is knife.finished]
    every = "every outline" if not ground else "every other outline"
    inside = [] if len(ground) == len(blanks) else [f"What we grind off later is in {every} already; add none."]
    inside += [f"{', '.join(ground)}: the finished line, nothing added."] if ground else []
    rows += [NoteRow("Allowance" if k == 0 else "", words) for k, words in enumerate(inside)]
    ways = {knife.oversize.process: list[str]() for _, knife, _ in blanks}
    for blank, knife, _ in blanks:
        ways[knife.oversize.process].append(blank.name)
    if len(ways) > 1:
        rows.append(NoteRow("Cut by", "; ".join(f"{way}: {', '.join(names)}" for way, names in ways.items()) + "."))
    return rows
