"""The files of a layout: a cutting file for each piece, its picture, the papers, offcuts as stock, and the data."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from pathlib import Path
from typing import get_args

import numpy as np

from blankwright.base.files import write_files
from blankwright.base.plain import slug_of
from blankwright.cutting.dxf import CutFile, CutHole, dxf_text
from blankwright.ink.papers import Paper
from blankwright.stock.layout import Laid, Layout, Sheet
from blankwright.stock.nestnote import Split, sheet_note, slug
from blankwright.stock.nestpicture import layout_pdf, sheet_name, sheet_svg
from blankwright.stock.nestreport import Report
from blankwright.stock.offcuts import leftover
from blankwright.stock.stocktext import stock_text

_NAMES = r"\d+_(\d\d_.+_)?cut_mm\.dxf|\d+_layout_mm\.svg|\d+_note\.txt|layout_.+\.pdf|offcuts\.toml|nest\.json"
"""What the files of a layout are called."""

SPLITS: tuple[Split, ...] = get_args(Split)


def layout_files(report: Report, paper: Paper, split: Split) -> dict[str, str | bytes]:
    """Return the files by name, without the slug in front.

    Args:
        report: The layout with its figures.
        paper: On what the papers are printed.
        split: "sheet" for one cutting file a piece, "part" for one a blank, in the piece's coordinates.

    Raises:
        RequestError: The paper is too large for a page.
    """
    report = report if report.split == split else replace(report, split=split)
    layout = report.layout
    files: dict[str, str | bytes] = {}
    for number, sheet in enumerate(layout.sheets, start=1):
        if split == "sheet":
            files[f"{number}_cut_mm.dxf"] = sheet_dxf(layout, sheet)
        else:
            for k, one in enumerate(sheet.laid, start=1):
                name = slug_of(layout.job.blanks[one.blank].name) or "blank"
                files[f"{number}_{k:02d}_{name[:40]}_cut_mm.dxf"] = _dxf(layout, sheet, (one,))
        files[f"{number}_layout_mm.svg"] = sheet_svg(layout, sheet)
        note = sheet_note(layout, sheet, split)
        files |= {} if note is None else {f"{number}_note.txt": note.text}
    if layout.sheets:
        files[f"layout_{paper.name.lower()}.pdf"] = layout_pdf(layout, paper)
    left = leftover(layout)
    if left:
        head = [f"What job {layout.job.name} left over: offcuts, and pieces that it did not use.".replace("\n", " ")]
        files["offcuts.toml"] = stock_text(left, head)
    files["nest.json"] = json.dumps(report.data, indent=1, ensure_ascii=False, allow_nan=False) + "\n"
    return files


def write_layout(out: Path, report: Report, paper: Paper, split: Split) -> tuple[Path, list[str], list[str]]:
    """Write the files into out/<job>/; nothing is written where no blank has a place.

    Files of an earlier run of a job of this name that this one does not make are taken away: nobody shall cut by them.

    Returns:
        The folder, the names of the files, and remarks on edited ones that are kept and older ones that are gone.

    Raises:
        RequestError: As layout_files, or the folder cannot be written.
    """
    start = slug(report.layout)
    made = layout_files(report, paper, split) if report.layout.sheets else {}
    files = {f"{start}_{name}": text for name, text in made.items()}
    older = re.compile(rf"{re.escape(start)}_({_NAMES})")
    return out / start, *write_files(out / start, files, older)


def sheet_dxf(layout: Layout, sheet: Sheet) -> str:
    """Return the cutting file of a piece, in the coordinates of its stock file; holes first, outlines in order."""
    return _dxf(layout, sheet, sheet.laid)


def _dxf(layout: Layout, sheet: Sheet, laid: tuple[Laid, ...]) -> str:
    job = layout.job
    holes = []
    for one in laid:
        knife = job.blanks[one.blank].knife
        for made in knife.holes if knife is not None else ():
            x, y = one.pose.points(np.array([[made.hole.x_mm, made.hole.y_mm]]))[0].tolist()
            holes.append(CutHole(x, y, made.made.cut_diameter_mm))
    codes = sorted({b.knife.code for b in (job.blanks[one.blank] for one in laid) if b.knife is not None})
    comment = f"{job.name}, {sheet_name(layout, sheet)}; {len(laid)} blanks; design {', '.join(codes)}"
    plain = "".join(c if c.isprintable() and c.isascii() else "?" for c in comment)[:240]
    return dxf_text(CutFile(tuple(layout.outline(one) for one in laid), tuple(holes), plain))
