"""A verdict on any cutting file."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from blankwright.base.frozen import dataclass
from blankwright.commands.shared import ProcessOption, Shown, grouped, say, say_notes

if TYPE_CHECKING:
    from blankwright.inspection.roles import Choice

GAP = "0.1mm"
"""Widest gap that is closed when nothing is said."""


@dataclass(frozen=True)
class Layers:
    """What is to be cut and what is a mark."""

    cut_layer: Annotated[
        list[str] | None,
        typer.Option("--cut-layer", metavar="NAME", help="A layer to be cut, and no other. Repeatable."),
    ] = None
    mark_layer: Annotated[
        list[str] | None, typer.Option("--mark-layer", metavar="NAME", help="A layer that is marked only. Repeatable.")
    ] = None
    cut_colour: Annotated[
        list[str] | None,
        typer.Option("--cut-colour", metavar="N|#RRGGBB", help="A colour to be cut, and no other. Repeatable."),
    ] = None
    mark_colour: Annotated[
        list[str] | None,
        typer.Option("--mark-colour", metavar="N|#RRGGBB", help="A colour that is marked only. Repeatable."),
    ] = None

    def choice(self) -> Choice:
        """Return what was said of layers and colours.

        Raises:
            RequestError: A colour is none.
        """
        from blankwright.inspection.run import chosen

        return chosen(self.cut_layer or (), self.mark_layer or (), self.cut_colour or (), self.mark_colour or ())


@grouped
def inspect(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="Any cutting file, DXF or SVG, ours or not.")],
    *,
    expect: Annotated[
        str | None, typer.Option("--expect", metavar="LxH", help="Size that the part should have, such as 345x60mm.")
    ] = None,
    process: ProcessOption = None,
    stock: Annotated[
        str | None,
        typer.Option("--thickness", metavar="LENGTH", help="Thickness of the stock: judges holes and walls."),
    ] = None,
    parts: Annotated[int, typer.Option("--parts", metavar="N", help="How many parts the file should hold.")] = 1,
    layers: Layers,
    picture: Annotated[
        Path | None, typer.Option("--picture", metavar="FILE.svg", help="Draw the contours, a number at each fault.")
    ] = None,
    mend: Annotated[
        Path | None, typer.Option("--mend", metavar="OUT.dxf", help="Write a mended copy, where that is safe.")
    ] = None,
    gap: Annotated[
        str | None, typer.Option("--gap", metavar="LENGTH", help=f"Widest gap that --mend closes.  [default: {GAP}]")
    ] = None,
    force: Annotated[bool, typer.Option("--force", help="Overwrite a picture or copy that is there.")] = False,
    shown: Shown,
) -> None:
    """Judge a cutting file: fit to cut, or what is wrong and where."""
    from blankwright.inspection.run import look, report_of, request

    units = shown.in_words()
    asked = request(
        file,
        expect=expect,
        process=process,
        stock=stock,
        picture=picture,
        mended=mend,
        gap=gap or GAP,
        force=force,
        parts=parts,
        choice=layers.choice(),
    )
    seen = look(asked)
    if shown.as_json:
        say(json.dumps(report_of(seen), indent=1, ensure_ascii=False, allow_nan=False))
    else:
        from blankwright.inspection.inspected import inspected_text

        say(inspected_text(seen, units).rstrip("\n"))
        if gap is not None and mend is None:
            say_notes(["not used: --gap (it is what --mend closes)"])
    if seen.verdict.level == "error" or seen.not_mended:
        sys.exit(1)
