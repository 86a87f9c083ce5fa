"""The tables of the trade, to read."""

from __future__ import annotations

import json
from typing import Annotated

import typer

from blankwright.commands.shared import JsonOption, say


def tables(
    name: Annotated[
        str | None,
        typer.Argument(metavar="NAME", help="steels, woods, processes and so on; without it the tables are listed."),
    ] = None,
    as_json: JsonOption = False,
) -> None:
    """Show a table of the trade, with sources. Every figure says how far it can be trusted."""
    from blankwright.report.tables import table_data, table_text, tables_data, tables_text

    if as_json:
        found = tables_data() if name is None else table_data(name)
        say(json.dumps(found, indent=1, ensure_ascii=False))
    else:
        say(tables_text() if name is None else table_text(name))
