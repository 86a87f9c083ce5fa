"""The tables of the trade, to read."""

from __future__ import annotations

import json
from typing import Annotated

import typer

from blankwright.commands.shared import JsonOption, say


def tables(
    name: Annotated[
        str | None,
        typer.Argument(
            metavar="NAME",
            help="steels, woods, processes, fits, starts and so on, or a table file of your own; without "
            "it the tables are listed.",
        ),
    ] = None,
    row: Annotated[
        str | None, typer.Argument(metavar="ROW", help="One row of it, such as 1095, with all of it.")
    ] = None,
    as_json: JsonOption = False,
) -> None:
    """Show a table of the trade, or a row of it, with sources."""
    from blankwright.report.tables import table_data, table_text, tables_data, tables_text

    if as_json:
        found = tables_data() if name is None else table_data(name, row)
        say(json.dumps(found, indent=1, ensure_ascii=False))
    else:
        say(tables_text() if name is None else table_text(name, row))
