"""Where a knife goes on a piece of stock."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Annotated

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


@grouped
def place(
    source: Annotated[
        str, typer.Argument(metavar="DESIGN", help="A family's name, or a design or family file (.toml).")
    ],
    stock: Annotated[
        str, typer.Argument(metavar="STOCK", help="A stock file (.toml), or a shipped one: leaf_spring, mill_file.")
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
    """Find where a knife goes on a piece of steel, or what is missing."""
    from blankwright.base.units import angle_deg
    from blankwright.knife.knife import finish
    from blankwright.stock.files import placing_files, write_placing
    from blankwright.stock.place import Wish
    from blankwright.stock.run import placed_on
    from blankwright.stock.stockfile import read_stock

    units, wishes = shown.in_words(), paper.wishes()
    wish = Wish(None if grain is None else angle_deg(grain, "--grain"), False if no_flip else None)
    design = designs_from([source], sets, process)[0]
    pieces = read_stock(stock)
    if piece is not None:
        named = [one for one in pieces if one.name == piece]
        if not named:
            raise unknown("piece", piece, [one.name for one in pieces], "--piece")
        pieces = tuple(named)
    told = placed_on(finish(design), pieces, wish, largest)
    folder, names, kept = write_placing(out, design.slug, placing_files(told, wishes))
    if shown.as_json:
        say(json.dumps(told.data | {"files": names}, indent=1, ensure_ascii=False, allow_nan=False))
    else:
        say(f"{told.placed.wanted.knife.design.name}  design {told.placed.wanted.knife.code}")
        say("\n".join(f"  {line.text(units)}" for line in told.lines()))
        say("\n".join(f"  wrote {folder.as_posix()}/{name}" for name in names))
    say_kept(kept, shown=not shown.as_json)
    if not told.fits:
        sys.exit(1)
