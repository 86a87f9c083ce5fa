"""Papers that lie beside a thing while it is photographed."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from blankwright.commands.shared import JsonOption, OutOption, print_json, say, say_kept


def frame(
    paper: Annotated[
        str,
        typer.Option(
            "--paper", metavar="NAME|WxH", help="A4, A3, Letter, Legal, Tabloid, or a size such as 300x420mm."
        ),
    ] = "A4",
    sheets: Annotated[
        int, typer.Option("--sheets", metavar="1|2", help="2: two halves, for a thing longer than the paper.")
    ] = 1,
    out: OutOption = Path("out"),
    as_json: JsonOption = False,
) -> None:
    """Print a frame of markers, to lift a thing from a photo."""
    from blankwright.base.files import write_files
    from blankwright.ink.papers import paper as paper_of
    from blankwright.lift.framepage import printed_frame

    printed = printed_frame(paper_of(paper), sheets)
    names, kept = write_files(out, {printed.name: printed.pdf})
    if as_json:
        print_json([printed.data | {"files": names}])
    else:
        say("\n".join(f"wrote {out.as_posix()}/{name}" for name in names))
        say(printed.words)
    say_kept(kept, shown=not as_json)
