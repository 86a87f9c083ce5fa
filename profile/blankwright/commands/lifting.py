"""An outline from a thing that exists."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Annotated

import typer

from blankwright.commands.shared import OutOption, Shown, grouped, say


@grouped
def lift(
    file: Annotated[
        Path,
        typer.Argument(metavar="FILE", help="A drawing (DXF, SVG), a scan (PNG, JPEG, TIFF, PDF) or points (CSV)."),
    ],
    *,
    dpi: Annotated[float | None, typer.Option("--dpi", metavar="N", help="Dots to the inch of a picture.")] = None,
    measured_x: Annotated[
        str | None,
        typer.Option(
            "--measured-x",
            metavar="LENGTH",
            help="Measured across the picture: the whole thing, or a 100 mm bar in it.",
        ),
    ] = None,
    measured_y: Annotated[
        str | None, typer.Option("--measured-y", metavar="LENGTH", help="The same down the picture.")
    ] = None,
    tip: Annotated[
        str | None, typer.Option("--tip", metavar="left|right", help="Where the tip is seen, if it is not found.")
    ] = None,
    edge: Annotated[
        str | None, typer.Option("--edge", metavar="down|up", help="Where the edge is seen, if it is not found.")
    ] = None,
    layer: Annotated[
        list[str] | None,
        typer.Option("--layer", metavar="NAME", help="Layer of a drawing with the outline. Repeatable."),
    ] = None,
    page: Annotated[int, typer.Option("--page", metavar="N", help="Page of a PDF.")] = 1,
    reading: Annotated[
        str | None,
        typer.Option("--reading", metavar="LENGTH", help="What each measured point may be off.  [default: 0.5mm]"),
    ] = None,
    name: Annotated[
        str | None, typer.Option("--name", metavar="NAME", help="Name of the thing, and of its files.")
    ] = None,
    out: OutOption = Path("out"),
    force: Annotated[bool, typer.Option("--force", help="Overwrite files that are there.")] = False,
    shown: Shown,
) -> None:
    """Lift an outline from a drawing, a scan or measured points."""
    from blankwright.lift.run import lift as lifted_from
    from blankwright.lift.run import lift_lines, report_of, request, write

    units = shown.in_words()
    asked = request(
        file,
        name=name,
        dpi=dpi,
        measured_x=measured_x,
        measured_y=measured_y,
        tip=tip,
        edge=edge,
        layers=tuple(layer or ()),
        page=page,
        reading=reading,
    )
    done = lifted_from(asked)
    files = write(done, out / asked.slug, asked.slug, force=force)
    if shown.as_json:
        say(json.dumps(report_of(done) | {"files": files}, indent=1, ensure_ascii=False, allow_nan=False))
        return
    for line in lift_lines(done):
        say(line.text(units))
    for path in files:
        say(f"  wrote {path}")
