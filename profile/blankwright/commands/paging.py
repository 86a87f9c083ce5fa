"""The page: shape a knife in the browser, on one's own machine."""

from __future__ import annotations

from typing import Annotated

import typer


def page(
    design: Annotated[
        str | None, typer.Argument(metavar="DESIGN", help="A family's name, or a design file in this folder.")
    ] = None,
    port: Annotated[
        int,
        typer.Option(
            "--port", metavar="N", help="Port on this machine.  [default: any that is free]", show_default=False
        ),
    ] = 0,
    no_browser: Annotated[bool, typer.Option("--no-browser", help="Print the address, open no browser.")] = False,
) -> None:
    """Shape a knife in your browser, until Ctrl-C."""
    from blankwright.page.run import page as serve

    serve(design, port, browser=not no_browser)
