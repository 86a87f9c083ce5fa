"""Printers that were measured."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Annotated

import typer

from blankwright.base.errors import RequestError
from blankwright.commands.shared import JsonOption, say, say_notes

if TYPE_CHECKING:
    from blankwright.template.printers import Printer


def printer(
    name: Annotated[
        str | None, typer.Argument(metavar="NAME", help="A name for the printer; without it all are listed.")
    ] = None,
    measured_x: Annotated[
        str | None, typer.Option("--measured-x", metavar="LENGTH", help="What the level 100 mm bar measures on paper.")
    ] = None,
    measured_y: Annotated[
        str | None,
        typer.Option("--measured-y", metavar="LENGTH", help="What the upright 100 mm bar measures on paper."),
    ] = None,
    forget: Annotated[bool, typer.Option("--forget", help="Remove the printer.")] = False,
    as_json: JsonOption = False,
) -> None:
    """Remember how long a printer prints 100 mm, and correct for it."""
    from blankwright.template import printers

    measured = measured_x is not None or measured_y is not None
    if name is None and (measured or forget):
        raise RequestError("printer: name the printer, such as: blankwright printer office --measured-x 99.2mm ...")
    if forget and measured:
        raise RequestError("printer: --forget and a measured length do not go together. Give one or the other.")
    if name is None:
        shown = printers.all_printers()
    elif forget:
        printers.forget(name)
        say(json.dumps({"forgotten": name}) if as_json else f"forgot {name}")
        return
    elif not measured:
        shown = (printers.recall(name),)
    else:
        shown = (_measured(name, measured_x, measured_y),)
        printers.remember(shown[0])
    if as_json:
        rows = [{"name": p.name, "measured_x_mm": p.measured_x_mm, "measured_y_mm": p.measured_y_mm} for p in shown]
        say(json.dumps({"printers": rows}, indent=1, ensure_ascii=False))
    elif not shown:
        say("No printer is kept. Print a template, measure its bars, then: blankwright printer NAME --measured-x ...")
    for p in () if as_json else shown:
        x, y = p.stretch
        say(f"{p.name}: 100 mm printed as {p.measured_x_mm:g} x {p.measured_y_mm:g} mm; corrected by {x:.4f} x {y:.4f}")
        if p.alike:
            say_notes([
                "both bars are off by the same factor: that is how a viewer scales, seldom a printer. Print once more "
                "at actual size (100 %, no fit to page) and measure again before you trust this"
            ])  # fmt: skip


def _measured(name: str, x: str | None, y: str | None) -> Printer:
    from blankwright.base.units import length_mm
    from blankwright.template.printers import Printer

    if x is None or y is None:
        raise RequestError("printer: give both --measured-x and --measured-y; the two axes of a printer differ.")
    return Printer(name, length_mm(x, "--measured-x"), length_mm(y, "--measured-y"))
