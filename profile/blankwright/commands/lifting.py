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
        typer.Argument(
            metavar="FILE", help="A drawing (DXF, SVG), a scan or photo (PNG, JPEG, TIFF, PDF), or points (CSV)."
        ),
    ],
    *,
    dpi: Annotated[float | None, typer.Option("--dpi", metavar="N", help="Dots to the inch of a picture.")] = None,
    measured_x: Annotated[
        str | None,
        typer.Option(
            "--measured-x",
            metavar="LENGTH",
            help="Measured across the picture: the whole thing, a 100 mm bar in it, or the frame's level bar.",
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
    frame: Annotated[
        str | None, typer.Option("--frame", metavar="PAPER", help="A photo in a frame printed on this paper.")
    ] = None,
    thick: Annotated[
        str | None, typer.Option("--thickness", metavar="LENGTH", help="With --frame: how thick the thing is.")
    ] = None,
    camera_height: Annotated[
        str | None,
        typer.Option("--camera-height", metavar="LENGTH", help="With --frame: lens above the paper, if measured."),
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
        frame=frame,
        thick=thick,
        camera_height=camera_height,
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
