"""Where a knife goes on a piece of stock, and many on several."""

from __future__ import annotations

import json
import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from blankwright.base.errors import unknown
from blankwright.commands.shared import (
    OutOption,
    Print,
    ProcessOption,
    SetOption,
    Shown,
    designs_from,
    grouped,
    say,
    say_kept,
)

if TYPE_CHECKING:
    from blankwright.stock.figures import Prices
    from blankwright.stock.trying import Progress


@grouped
def place(
    source: Annotated[
        str, typer.Argument(metavar="DESIGN", help="A family's name, or a design or family file (.toml).")
    ],
    stock: Annotated[
        str, typer.Argument(metavar="STOCK", help="A stock file (.toml), or a shipped one, such as leaf_spring.")
    ],
    *,
    piece: Annotated[
        str | None, typer.Option("--piece", metavar="NAME", help="Only this piece of the stock file.")
    ] = None,
    largest: Annotated[
        str | None,
        typer.Option("--largest", metavar="KEY", help="Find the largest value that fits, such as blade.length."),
    ] = None,
    grain: Annotated[
        str | None, typer.Option("--grain", metavar="ANGLE", help="Greatest angle between blade and grain, as 15deg.")
    ] = None,
    no_flip: Annotated[bool, typer.Option("--no-flip", help="Do not turn the knife over.")] = False,
    sets: SetOption = None,
    process: ProcessOption = None,
    out: OutOption = Path("out"),
    paper: Print,
    shown: Shown,
) -> None:
    """Find where on a piece of steel a knife goes."""
    from blankwright.base.units import angle_deg
    from blankwright.knife.knife import finish
    from blankwright.stock.files import placing_files, write_placing
    from blankwright.stock.place import Wish
    from blankwright.stock.run import placed_on, told_data, told_lines
    from blankwright.stock.stockfile import pieces_of

    units, wishes = shown.in_words(), paper.wishes()
    wish = Wish(None if grain is None else angle_deg(grain, "--grain"), False if no_flip else None)
    design = designs_from([source], sets, process)[0]
    knife = finish(design)
    pieces = pieces_of(stock, piece)
    told = placed_on(knife, pieces, wish, largest)
    folder, names, kept = write_placing(out, design.slug, placing_files(told, wishes))
    if shown.as_json:
        data = told_data(told, pieces) | {"files": names}
        say(json.dumps(data, indent=1, ensure_ascii=False, allow_nan=False))
    else:
        say(f"{design.name}  design {knife.code}")
        rows = [line.text(units) for line in told_lines(told, pieces)]
        rows += [f"wrote {folder.as_posix()}/{name}" for name in names]
        say("\n".join(f"  {row}" for row in rows))
    say_kept(kept, shown=not shown.as_json)
    if not told.fits:
        sys.exit(1)


@grouped
def nest(
    source: Annotated[
        str,
        typer.Argument(metavar="JOB", help="A job file (.toml): stock, gap and parts; or a shipped one: galley_set."),
    ],
    *,
    seconds: Annotated[
        float, typer.Option("--seconds", metavar="N", help="How long to look; Ctrl-C keeps the best so far.")
    ] = 20.0,
    seed: Annotated[int, typer.Option("--seed", metavar="N", help="Another number takes other chances.")] = 1,
    files: Annotated[
        str, typer.Option("--files", metavar="sheet|part", help="A cutting file for each sheet, or for each part.")
    ] = "sheet",
    prices: Annotated[
        Path | None, typer.Option("--prices", metavar="FILE.toml", help="Prices per kg or piece, for the costs.")
    ] = None,
    paper: Annotated[str, typer.Option("--paper", metavar="NAME|WxH", help="Paper of the layout and the map.")] = "A4",
    out: OutOption = Path("out"),
    shown: Shown,
) -> None:
    """Lay several blanks out on sheets and bars."""
    from blankwright.ink.papers import paper as named_paper
    from blankwright.stock.jobfile import read_job
    from blankwright.stock.nest import check_search, nested
    from blankwright.stock.nestfiles import SPLITS, write_layout
    from blankwright.stock.nestreport import Report

    units = shown.in_words()
    split = next((one for one in SPLITS if one == files), None)
    if split is None:
        raise unknown("word", files, SPLITS, "--files")
    check_search(seconds, seed)
    sheet, priced = named_paper(paper), _prices(prices)
    job = read_job(source)
    found = nested(job, seconds, seed=seed, told=_tell, workers=max(os.cpu_count() or 1, 1))
    report = Report(found, priced)
    folder, names, kept = write_layout(out, report, sheet, split)
    if shown.as_json:
        say(json.dumps(report.data | {"files": names}, indent=1, ensure_ascii=False, allow_nan=False))
    else:
        say(job.name)
        say("\n".join(f"  {line.text(units)}" for line in report.lines()))
        say("\n".join(f"  wrote {folder.as_posix()}/{name}" for name in names))
    say_kept(kept, shown=not shown.as_json)
    if not report.complete:
        sys.exit(1)


def _tell(progress: Progress) -> None:
    """Say on the side how far the search is."""
    on = f"{progress.sheets} piece{'s' if progress.sheets != 1 else ''}"
    sys.stderr.write(
        f"  {progress.seconds:5.1f} s: {progress.placed} of {progress.wanted} blanks on {on}, the last one used to "
        f"{progress.used_mm:.1f} mm\n"
    )
    sys.stderr.flush()


def _prices(path: Path | None) -> Prices | None:
    if path is None:
        return None
    from blankwright.sheet.prices import read_prices
    from blankwright.stock.figures import Prices as Paid

    read = read_prices(path)
    stock, cutting = read.by_item.get("stock"), read.by_item.get("cutting")
    return Paid(
        read.currency,
        None if stock is None else (stock.amount, stock.per),
        None if cutting is None else cutting.amount,
        read.source,
    )
