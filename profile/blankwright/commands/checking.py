"""A verdict on any cutting file."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Annotated

import typer

from blankwright.commands.shared import JsonOption, ProcessOption, UnitsOption, say, shown_units


def inspect(
    file: Annotated[Path, typer.Argument(metavar="FILE.dxf", help="Any cutting file, ours or not.")],
    expect: Annotated[
        str | None, typer.Option("--expect", metavar="LxH", help="Size that the part should have, such as 345x60mm.")
    ] = None,
    process: ProcessOption = None,
    stock: Annotated[
        str | None,
        typer.Option("--thickness", metavar="LENGTH", help="Thickness of the stock: judges holes and walls."),
    ] = None,
    parts: Annotated[int, typer.Option("--parts", metavar="N", help="How many parts the file should hold.")] = 1,
    picture: Annotated[
        Path | None, typer.Option("--picture", metavar="FILE.svg", help="Draw the contours, a number at each fault.")
    ] = None,
    mend: Annotated[
        Path | None, typer.Option("--mend", metavar="OUT.dxf", help="Write a mended copy, where that is safe.")
    ] = None,
    gap: Annotated[str, typer.Option("--gap", metavar="LENGTH", help="Widest gap that --mend closes.")] = "0.1mm",
    units: UnitsOption = "mm",
    as_json: JsonOption = False,
    force: Annotated[bool, typer.Option("--force", help="Overwrite a picture or copy that is there.")] = False,
) -> None:
    """Judge a cutting file: fit to cut or not, what is wrong and where. Exit code 1 when it has faults."""
    from blankwright.inspection.run import look, report_of, request

    shown = shown_units(units)
    asked = request(
        file,
        expect=expect,
        process=process,
        stock=stock,
        picture=picture,
        mended=mend,
        gap=gap,
        force=force,
        parts=parts,
    )
    seen = look(asked)
    if as_json:
        say(json.dumps(report_of(seen), indent=1, ensure_ascii=False, allow_nan=False))
    else:
        from blankwright.inspection.inspected import inspected_text

        say(inspected_text(seen, shown).rstrip("\n"))
    if seen.verdict.level == "error" or seen.not_mended:
        sys.exit(1)
